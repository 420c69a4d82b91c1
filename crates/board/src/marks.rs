//! Marks drawn over a board: lines and rings.

use shakmaty::Square;

/// What a line on the board stands for; told by how it is drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LineKind {
    /// Solid.
    Answer,
    /// Dashed.
    Try,
    /// Dotted.
    Threat,
}

/// A mark on the board.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Mark {
    /// A line with a head at `to`.
    Line {
        from: Square,
        to: Square,
        kind: LineKind,
    },
    /// A ring round a square.
    Ring { square: Square, kind: LineKind },
}
