//! The command-line program: hands the arguments over and returns the exit code; everything else is in `cli`.

use std::process::ExitCode;

fn main() -> ExitCode {
    wherefore::internals::cli::run(std::env::args_os())
}
