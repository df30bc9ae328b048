//! What the measurements share: the policy, seeded records, and the same policy for general-purpose rule engines.

pub mod engines;
pub mod expr;
pub mod policy;
pub mod records;
pub mod whole;
