//! The puzzle an empty desk offers to look at.

/// A puzzle of our own, as PGN.
pub const PGN: &str = "";
