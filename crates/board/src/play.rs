//! A board to play on.

use shakmaty::{Move, Square};
use yew::prelude::*;

use crate::Mark;

/// What a [`Board`] shows and takes.
#[derive(Properties, PartialEq)]
pub struct BoardProps {
    /// Unique among the boards of the page; element ids start with it.
    pub id: AttrValue,
    /// The board's name for a screen reader: "Position after 1...Kf8".
    pub label: AttrValue,
    /// The men. A change glides into place when it is that of one move or one
    /// move taken back.
    pub position: shakmaty::Board,
    /// Whether Black's side is below.
    #[prop_or_default]
    pub black_below: bool,
    /// The moves the user may play; empty: the board only shows.
    #[prop_or_default]
    pub moves: Vec<Move>,
    /// The last move, in brackets.
    #[prop_or_default]
    pub last: Option<Move>,
    /// The square of a king in check, in a double ring.
    #[prop_or_default]
    pub check: Option<Square>,
    /// Lines and rings over the men.
    #[prop_or_default]
    pub marks: Vec<Mark>,
    /// Takes no moves for now, and looks the same.
    #[prop_or_default]
    pub disabled: bool,
    /// A move of `moves` was played.
    #[prop_or_default]
    pub on_move: Callback<Move>,
}

/// A board to play on by dragging, by clicking from and to, and by keyboard.
#[component]
pub fn Board(props: &BoardProps) -> Html {
    html! { <div class="kp-board" id={props.id.clone()} aria-label={props.label.clone()} /> }
}
