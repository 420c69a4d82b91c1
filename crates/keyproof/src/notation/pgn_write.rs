//! Writing PGN in the standard's export format, lines under 80 columns.

use crate::draft::Draft;

/// Writes one game, ending in an empty line. Legal moves are written in SAN;
/// a move that is not legal is written as typed, so nothing is lost.
pub fn write(_draft: &Draft) -> String {
    todo!()
}
