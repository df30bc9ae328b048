//! Tests of the diagrams.
