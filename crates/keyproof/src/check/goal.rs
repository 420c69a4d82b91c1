//! What is asked of the solver's moves, and how it is said in words.

use super::Margins;
use crate::puzzle::{Puzzle, Stipulation};

/// What a move must do to be right.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(
    feature = "serde",
    derive(serde::Serialize, serde::Deserialize),
    serde(rename_all = "snake_case")
)]
pub enum Goal {
    /// Force mate within so many moves of the solver, itself included.
    Mate(u8),
    /// Keep a won game.
    Win(Margins),
    /// Hold the draw.
    Draw(Margins),
    /// Be as good as the best move.
    Best(Margins),
}

impl Goal {
    /// What the puzzle asks of its first move.
    pub fn of(puzzle: &Puzzle) -> Goal {
        let margins = puzzle.margins();
        match puzzle.stipulation() {
            Stipulation::Mate(n) => Goal::Mate(n),
            Stipulation::Win => Goal::Win(margins),
            Stipulation::Draw => Goal::Draw(margins),
            Stipulation::Best => Goal::Best(margins),
        }
    }

    /// What is asked of the solver's next move; `None` when no move is left.
    pub fn next(self) -> Option<Goal> {
        match self {
            Goal::Mate(n) => n.checked_sub(1).filter(|&n| n > 0).map(Goal::Mate),
            other => Some(other),
        }
    }

    /// The moves left to mate; `None` where no mate is asked.
    pub fn moves_left(self) -> Option<u8> {
        match self {
            Goal::Mate(n) => Some(n),
            _ => None,
        }
    }

    /// What a right move does: "mates in 2 moves", "wins".
    pub fn met(self, length: Option<u8>) -> String {
        match (self, length) {
            (_, Some(1)) => "mates in 1 move".to_owned(),
            (_, Some(n)) => format!("mates in {n} moves"),
            (Goal::Mate(_), None) => "mates in time".to_owned(),
            (Goal::Win(_), None) => "wins".to_owned(),
            (Goal::Draw(_), None) => "holds".to_owned(),
            (Goal::Best(_), None) => "is as good as the best".to_owned(),
        }
    }

    /// What a wrong move does not: "does not force mate in 2".
    pub fn missed(self) -> String {
        match self {
            Goal::Mate(1) => "does not mate".to_owned(),
            Goal::Mate(n) => format!("does not force mate in {n}"),
            Goal::Win(_) => "does not win".to_owned(),
            Goal::Draw(_) => "does not hold".to_owned(),
            Goal::Best(_) => "is not the best move".to_owned(),
        }
    }
}
