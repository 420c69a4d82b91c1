//! The lines that a student has found, as they fill up: one for each defence
//! that was asked, or each solution of a helpmate. Plain Rust without a browser.

use shakmaty::{Chess, Color, Move, Position};

use crate::words;

/// A line from where it branches off.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Branch {
    /// How many moves of the puzzle stand before it.
    pub depth: usize,
    pub text: String,
    /// Whether it has been answered to its end.
    pub done: bool,
}

/// The lines found so far.
#[derive(Clone, Debug, Default)]
pub struct Answered {
    branches: Vec<Branch>,
}

impl Answered {
    pub fn branches(&self) -> &[Branch] {
        &self.branches
    }

    /// Adds a move to the line that is being played; a new one begins where
    /// none is. `passed` moves of the game are not counted.
    pub fn add(&mut self, start: &Chess, before: &Chess, mv: Move, passed: u32) {
        if self.branches.last().is_none_or(|branch| branch.done) {
            self.branches.push(Branch {
                depth: (half_move(before) - half_move(start)).div_ceil(2) as usize,
                text: String::new(),
                done: false,
            });
        }
        if let Some(branch) = self.branches.last_mut() {
            words::go_on(&mut branch.text, before, mv, passed);
        }
    }

    /// The line that is being played is done.
    pub fn close(&mut self) {
        if let Some(branch) = self.branches.last_mut() {
            branch.done = true;
        }
    }
}

fn half_move(position: &Chess) -> u32 {
    2 * position.fullmoves().get() + u32::from(position.turn() == Color::Black)
}
