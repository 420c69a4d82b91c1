//! The board that both pages share: to play on, to set up on, and the line in
//! which a move can be typed.
//!
//! What a hand on the board means is decided in [`hand`], and what is drawn in
//! [`drawing`], both in plain Rust. [`PlayBoard`] and [`TypedMove`] put that
//! into the browser without a framework, which the student's page needs to stay
//! small; [`Board`], [`EditBoard`] and [`MoveInput`] are the same as components
//! for Yew. Rules are left to the caller, who hands in the legal moves.

pub mod dom;
pub mod drawing;
pub mod hand;
mod play;
pub mod sheet;
mod typed;
#[cfg(feature = "yew")]
mod yew;

pub use model::marks::{LineKind, Mark};
pub use play::{PlayBoard, Shown};
pub use typed::TypedMove;

#[cfg(feature = "yew")]
pub use self::yew::{
    Board, BoardProps, Drawing, DrawingProps, EditBoard, EditBoardProps, MoveInput, MoveInputProps,
};
