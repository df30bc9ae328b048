//! Tests of the interpreter.
