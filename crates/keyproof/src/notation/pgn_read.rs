//! Reading PGN, leniently: many games, nested variations, comments anywhere,
//! glyphs, escape lines, any line ends, UTF-8 or Latin-1.

use super::TextFault;
use crate::draft::Draft;

/// One game of a file: the draft with all that could be read, and the faults
/// met on the way. Faulty text never takes the neighbouring games down.
#[derive(Clone, Debug)]
pub struct Game {
    pub draft: Draft,
    pub faults: Vec<TextFault>,
}

/// Decodes a file: UTF-8 with or without a byte order mark, else Latin-1.
pub fn decode(_bytes: &[u8]) -> String {
    todo!()
}

/// Reads all games of a text.
pub fn read(_text: &str) -> Vec<Game> {
    todo!()
}
