//! The mate prover: which moves force mate in n, exactly.
//!
//! Mate claims ignore repetition and the fifty-move rule. Answers are three:
//! proved, refuted, or unknown with the nodes spent.

use shakmaty::{Chess, Move};

/// Told of progress, and asked whether to go on. Called about every few
/// thousand nodes.
pub trait Watch {
    /// `nodes` spent so far on this question; `share` of its first moves
    /// decided, 0 to 1. Returns `false` to cancel.
    fn go_on(&mut self, nodes: u64, share: f32) -> bool;
}

/// Goes on to the end.
pub struct Unwatched;

impl Watch for Unwatched {
    fn go_on(&mut self, _nodes: u64, _share: f32) -> bool {
        true
    }
}

/// What is known of one move of the solver.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// Forces mate. `length` counts the solver's moves, this one included,
    /// and is the shortest. `line` starts with the move and runs to the mate
    /// against the longest defence.
    Forces { length: u8, line: Vec<Move> },
    /// Does not force mate in time. `line` starts with the move; its second
    /// move, if any, is a reply that refutes it. A line of one move alone
    /// stalemates, or is the last move allowed and gives no mate.
    Fails { line: Vec<Move> },
    /// Not decided within the budget, or cancelled.
    Unknown { nodes: u64 },
}

/// A prover with its table. Reuse it: what it learnt helps the next question.
pub struct Prover {
    /// Nodes spent over the life of the prover.
    pub nodes: u64,
    /// Nodes that one call may spend; `None` for no bound.
    pub budget: Option<u64>,
}

impl Prover {
    /// A prover whose table takes at most `table_bytes` bytes.
    pub fn new(_table_bytes: usize) -> Prover {
        todo!()
    }
    /// Judges the given moves (all legal moves when `None`): does each force
    /// mate within `n` moves of the solver, itself included?
    pub fn judge(&mut self, _position: &Chess, _n: u8, _moves: Option<&[Move]>, _watch: &mut dyn Watch) -> Vec<(Move, Verdict)> {
        todo!()
    }
    /// The shortest forced mate within `n` moves, as one move and its verdict
    /// (`Forces`), or `None` if there is none, or `Err(nodes)` if undecided.
    pub fn mate(&mut self, _position: &Chess, _n: u8, _watch: &mut dyn Watch) -> Result<Option<(Move, Verdict)>, u64> {
        todo!()
    }
    /// All replies of the side to move after which the other side has no
    /// forced mate within `n` moves, each in order of how telling it is; empty
    /// if every reply loses. `Err(nodes)` if undecided.
    pub fn refutations(&mut self, _position: &Chess, _n: u8, _watch: &mut dyn Watch) -> Result<Vec<Move>, u64> {
        todo!()
    }
    /// The reply that holds out longest against mate in at most `n`, with the
    /// number of solver's moves still needed after it.
    pub fn longest_defence(&mut self, _position: &Chess, _n: u8, _watch: &mut dyn Watch) -> Option<(Move, u8)> {
        todo!()
    }
}
