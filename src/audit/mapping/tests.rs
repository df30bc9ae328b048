//! Tests of the mapping file that need its inside.
