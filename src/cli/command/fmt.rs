//! `wherefore fmt`: program files in canonical form, comments kept.

use crate::cli::args::Fmt;
use crate::cli::{Exit, print};

pub(in crate::cli) fn run(_args: &Fmt) -> Exit {
    print::error("not wired yet");
    Exit::Unusable
}
