//! The boards as components for Yew: the plain ones of this crate in a node of
//! their own.

mod drawing;
mod edit;
mod input;
mod play;

pub use drawing::{Drawing, DrawingProps};
pub use edit::{EditBoard, EditBoardProps};
pub use input::{MoveInput, MoveInputProps};
pub use play::{Board, BoardProps};
