//! Everything has a limit, and what happens beyond it is told (design, section 8): each at the limit and one beyond, and the page
//! `docs/limits.md` against the constants and against these tests.

#[cfg(feature = "cli")]
mod files;
mod inputs;
mod page;
mod programs;
