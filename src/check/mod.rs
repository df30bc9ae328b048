//! Tree to program: names, types, units, dates, sources, adoption, lints.
