//! One file a command. Each takes its arguments as typed and returns how it ended; printing and files go through
//! `print` and `files`.

pub(super) mod ask;
#[cfg(feature = "audit")]
pub(super) mod audit;
pub(super) mod cases;
pub(super) mod check;
pub(super) mod compare;
pub(super) mod decode;
pub(super) mod facts;
pub(super) mod fmt;
pub(super) mod judge;
pub(super) mod next;
pub(super) mod programs;
pub(super) mod replay;
