//! What is typed and what is meant.
//!
//! Text becomes a [`draft::Draft`], which is anything an author may type, and a
//! draft becomes a [`puzzle::Puzzle`], which is legal throughout. What a move of
//! it is worth is left to others: nothing here proves, searches or judges.

#![deny(missing_docs)]

pub mod aim;
pub mod commands;
mod comment;
pub mod draft;
pub mod epd;
pub mod lesson;
pub mod line;
pub mod marks;
pub mod men;
pub mod mention;
pub mod notation;
pub mod pgn_read;
pub mod pgn_write;
pub mod players;
pub mod puzzle;
pub mod resolved;
#[cfg(test)]
mod round_trip;
pub mod short;
pub mod stream;
pub mod tongue;
pub mod transform;
pub mod worth;
