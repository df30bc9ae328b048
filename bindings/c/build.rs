//! Writes the header beside the library: `include/wherefore.h`. A test compares it with what is kept.

use std::path::PathBuf;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let here = PathBuf::from(std::env::var("CARGO_MANIFEST_DIR")?);
    println!("cargo::rerun-if-changed=src");
    println!("cargo::rerun-if-changed=cbindgen.toml");
    println!("cargo::rerun-if-changed=include/wherefore.h");
    let config = cbindgen::Config::from_file(here.join("cbindgen.toml"))?;
    let made = cbindgen::Builder::new().with_crate(&here).with_config(config).generate()?;
    // Written only where it changed, so that a build leaves a clean tree as it was.
    made.write_to_file(here.join("include/wherefore.h"));
    Ok(())
}
