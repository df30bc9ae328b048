//! One call from a snapshot and a program to a ruling.
