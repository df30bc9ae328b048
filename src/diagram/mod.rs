//! Exact answers: a flat program as decision diagrams.
