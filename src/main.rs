//! The command-line program: hands the arguments over and returns the exit code; everything else is in `cli`.

use std::process::ExitCode;

/// The page for a browser, which `bindings/page/build` builds. It is no part of the crate: the program has it where it was built
/// with `--cfg wherefore_page` and with the absolute path of the file in `WHEREFORE_PAGE`.
#[cfg(wherefore_page)]
const PAGE: Option<&str> = Some(include_str!(env!("WHEREFORE_PAGE")));
#[cfg(not(wherefore_page))]
const PAGE: Option<&str> = None;

fn main() -> ExitCode {
    wherefore::internals::cli::run(std::env::args_os(), PAGE)
}
