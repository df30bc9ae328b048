//! `wherefore-js-glue IN.wasm FOLDER`: writes the JavaScript module, its types and the WebAssembly that go together.

use std::process::ExitCode;
use wasm_bindgen_cli_support::Bindgen;

fn main() -> ExitCode {
    let mut arguments = std::env::args_os().skip(1);
    let (Some(wasm), Some(folder)) = (arguments.next(), arguments.next()) else { return ExitCode::from(2) };
    let mut bindgen = Bindgen::new();
    bindgen.input_path(wasm).out_name("wherefore").typescript(true);
    match bindgen.web(true).and_then(|bindgen| bindgen.generate(folder)) {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("{error:#}");
            ExitCode::FAILURE
        }
    }
}
