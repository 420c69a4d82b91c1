//! A student at work on a puzzle, as a plain state machine.

use shakmaty::{Chess, Move};

use crate::check::Known;
use crate::draft::NodeId;
use crate::prove::Prover;
use crate::puzzle::Puzzle;

/// What became of the student's move.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Judgement {
    /// The author's move.
    Right,
    /// Not listed first (or not at all), but meets the stipulation as well.
    AlsoRight,
    /// A listed try. `line` starts with the try and shows its refutation.
    Try { line: Vec<Move> },
    /// Fails. `line` starts with the move and shows its refutation.
    Wrong { line: Vec<Move> },
    /// Not a legal move here; nothing changed.
    Illegal,
    /// The prover could not tell in its budget; the move is taken back and
    /// not counted.
    Unknown,
}

/// What happens after a right move.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Next {
    /// The other side replies; the student is to move again.
    Defence(Move),
    /// Mate: this line is done, and another defence is asked. The board goes
    /// back to `back_to` (the position in which the defence is played), and
    /// the defence is played there.
    AnotherDefence { back_to: Box<Chess>, defence: Move },
    /// All that was asked is solved.
    Solved,
    /// The move was not right: the board is as it was before it.
    TryAgain,
}

/// The answer to a move of the student.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Reply {
    pub judgement: Judgement,
    /// The author's words for this move, if any.
    pub words: Vec<String>,
    pub next: Next,
    /// The author's words for the defence played next, if any.
    pub defence_words: Vec<String>,
}

/// A student's session with one puzzle.
pub struct Session {
    puzzle: Puzzle,
    known: Known,
    prover: Prover,
    node: Option<NodeId>,
    position: Chess,
}

impl Session {
    /// Starts at the puzzle's first position. `known` may hold what was
    /// proved at publishing; the rest is proved when needed.
    pub fn new(_puzzle: Puzzle, _known: Known) -> Session {
        todo!()
    }
    pub fn puzzle(&self) -> &Puzzle {
        &self.puzzle
    }
    /// The position on the board, the student to move (or solved).
    pub fn position(&self) -> &Chess {
        &self.position
    }
    /// The student's moves left, this one included.
    pub fn moves_left(&self) -> u8 {
        todo!()
    }
    pub fn solved(&self) -> bool {
        todo!()
    }
    /// Defences answered so far and defences asked in all (lines of the tree).
    pub fn progress(&self) -> (usize, usize) {
        todo!()
    }
    /// Wrong moves so far, and whether the solution was shown.
    pub fn mistakes(&self) -> u32 {
        todo!()
    }
    /// The student plays a move.
    pub fn play(&mut self, _mv: Move) -> Reply {
        todo!()
    }
    /// A right move here (the author's first), for "show the solution".
    pub fn show(&mut self) -> Option<Move> {
        todo!()
    }
    /// Back to the first position, all forgotten.
    pub fn restart(&mut self) {
        todo!()
    }
}
