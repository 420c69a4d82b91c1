//! Moves as text: SAN, UCI, and lenient reading of what people type.

use shakmaty::{Chess, Move};

use crate::draft::MoveFault;

/// Reads a move as people type it: SAN with or without check marks, `0-0`,
/// `e7e8q`, `e8Q`, `e8(Q)`, `Ng1-f3`, `exd6e.p.`, figurines, and lower-case
/// piece letters where nothing else fits.
pub fn read(_position: &Chess, _text: &str) -> Result<Move, MoveFault> {
    todo!()
}

/// The move in SAN with its check or mate mark.
pub fn san(_position: &Chess, _mv: Move) -> String {
    todo!()
}

/// The move in UCI notation (`e1g1` for castling).
pub fn uci(_mv: Move) -> String {
    todo!()
}

/// A line of UCI moves in SAN with move numbers: `1.Qh7+ Kf8 2.Qh8#`.
/// `first` is the number of the first move; stops at the first illegal one.
pub fn line(_position: &Chess, _line: &[Move], _first: u32) -> String {
    todo!()
}

/// The move in words for a screen reader: "queen takes h7, check".
pub fn spoken(_position: &Chess, _mv: Move) -> String {
    todo!()
}
