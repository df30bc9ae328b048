//! The language server, spoken to as an editor does: every feature over one small program, a file that is typed and cut
//! at random, and the program itself over its standard input and output.

mod adopted;
mod client;
mod features;
mod harmless;
mod process;
mod remedies;
mod typing;
