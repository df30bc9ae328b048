//! Generates the parser of `grammar.js` (with node) and compiles it with the system's C compiler.

use std::path::PathBuf;
use tree_sitter_generate::{ABI_VERSION_MAX, generate_parser_in_directory};

fn main() {
    println!("cargo::rerun-if-changed=../grammar.js");
    let out = PathBuf::from(std::env::var_os("OUT_DIR").expect("cargo sets it"));
    let source = out.join("src");
    let grammar = std::fs::canonicalize("../grammar.js").expect("the grammar");
    let told = generate_parser_in_directory(&out, source.to_str(), grammar.to_str(), ABI_VERSION_MAX, None, Some("node"));
    told.expect("a parser");
    cc::Build::new().include(&source).file(source.join("parser.c")).std("c11").warnings(false).compile("wherefore-parser");
}
