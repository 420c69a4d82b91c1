//! Printed diagrams: the board and men of this project as SVG.

use shakmaty::Piece;

/// The drawing of a man as SVG elements in a 0 0 45 45 view box, without the
/// `svg` element. Outline `currentColor`-free: uses `var(--ink)` and
/// `var(--paper)` so that it follows the page.
pub fn man(_piece: Piece) -> &'static str {
    todo!()
}

/// A whole diagram as a standalone SVG text. `id` makes its pattern ids
/// unique on the page; `black_below` turns the board.
pub fn diagram(_board: &shakmaty::Board, _id: &str, _black_below: bool) -> String {
    todo!()
}
