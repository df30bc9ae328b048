//! Tests of rulings.
