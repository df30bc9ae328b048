//! Tests of the vocabulary.
