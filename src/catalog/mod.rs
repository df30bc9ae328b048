//! The built-in programs, and programs found beside a file.
