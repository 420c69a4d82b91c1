//! FEN in and out, and in words what is wrong with a position.

use shakmaty::Chess;

/// What is wrong with a FEN. Holds all that can be said, one sentence each.
#[derive(Clone, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct FenFault {
    /// The text as given.
    pub text: String,
    /// One sentence per fault: "White has no king."
    pub reasons: Vec<String>,
}

/// Reads a FEN of four to six fields (missing clocks are taken as `0 1`).
pub fn read(_text: &str) -> Result<Chess, FenFault> {
    todo!()
}

/// Writes a position as a FEN; the en passant square only where a capture is
/// legal.
pub fn write(_position: &Chess) -> String {
    todo!()
}
