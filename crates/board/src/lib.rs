//! The board that both pages share: to play on, to set up on, and the line in
//! which a move can be typed.
//!
//! What a hand on the board means is decided in [`hand`], in plain Rust; the
//! components only draw and pass events on. Rules are left to the caller, who
//! hands in the legal moves.

mod edit;
pub mod hand;
mod input;
mod marks;
mod play;
mod view;

pub use edit::{EditBoard, EditBoardProps};
pub use input::{MoveInput, MoveInputProps, fault_text};
pub use marks::{LineKind, Mark};
pub use play::{Board, BoardProps};
