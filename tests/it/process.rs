//! The command-line program as another process: what the tests that look at it from outside share.

use std::io::Write;
use std::process::{Command, Output, Stdio};

/// The folder of the package, from which the program is run.
pub const ROOT: &str = env!("CARGO_MANIFEST_DIR");

/// The program with arguments, an empty environment and nothing to read.
pub fn command(arguments: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_wherefore"));
    command.args(arguments).current_dir(ROOT).env_clear().stdin(Stdio::null());
    command.stdout(Stdio::piped()).stderr(Stdio::piped());
    command
}

/// What a command comes to that is given something to read.
pub fn run_with_input(mut command: Command, input: &[u8]) -> Output {
    let mut child = command.stdin(Stdio::piped()).spawn().unwrap();
    let mut pipe = child.stdin.take().unwrap();
    let input = input.to_vec();
    // A program that refuses its input early closes the pipe; that is for its answer to say.
    let writer = std::thread::spawn(move || drop(pipe.write_all(&input)));
    let output = child.wait_with_output().unwrap();
    writer.join().unwrap();
    output
}
