//! FEN, SAN and UCI: lenient in, strict out, every fault with its place.

pub mod fen;
pub mod moves;

use crate::tongue::marked;

/// A place in a text: line and column, both from 1; columns count characters.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Place {
    /// From 1.
    pub line: u32,
    /// From 1, in characters.
    pub column: u32,
}

/// A fault in a text: where it is, what stands there, and what was expected.
#[derive(Clone, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct TextFault {
    /// Where it is wrong.
    pub place: Place,
    /// The text at fault on one line, at most 40 characters of it.
    pub text: String,
    /// What was expected there, as a phrase: "a tag value in quotes".
    pub expected: String,
}

impl TextFault {
    /// What was expected, in the language that is spoken.
    pub fn wanted(&self) -> &str {
        marked(&self.expected)
    }
}

/// The text at fault on one line, at most 40 characters of it.
pub(crate) fn excerpt(text: &str) -> String {
    let on_one_line = |c: char| if c.is_whitespace() { ' ' } else { c };
    text.chars().take(40).map(on_one_line).collect()
}
