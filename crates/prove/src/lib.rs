//! The mate prover: which moves force mate in n, exactly.
//!
//! Mate claims ignore repetition and the fifty-move rule. Answers are three:
//! proved, refuted, or unknown with the nodes spent. What a verdict means for
//! a puzzle is left to others.
//!
//! `bitboards`, `step` and `generate` are the rules on bitboards; `search` is the
//! exact depth-first search, helped by `mate_in_one` (the last move, never
//! played), `null_move` (most moves before it, never played) and `table` (what is
//! known of positions). `by_checks` looks for long mates by checks alone, and
//! `aims` proves selfmates, stalemates, helpmates and, with [`gain`], that material is
//! won. [`draw`] proves that a draw is held by checks without end, or by stalemate.
//! `lines` turns results into verdicts, `spend` counts what they cost,
//! `shortcuts` names what tests can switch off, and [`corpus`] makes positions
//! to test and measure with. All of it is compared with a search without
//! cleverness in `against_naive`, and by the campaign of `crates/campaign`.

#![deny(missing_docs)]

mod aims;
mod bitboards;
#[cfg(feature = "broken-prover")]
pub mod broken;
mod by_checks;
pub mod certificate;
pub mod corpus;
pub mod draw;
pub mod gain;
mod generate;
mod lines;
mod mate_in_one;
mod null_move;
mod search;
mod shortcuts;
mod spend;
mod step;
mod table;

pub use model::aim::{Aim, Gain};
pub use shortcuts::{Shortcut, Shortcuts};

use shakmaty::{Chess, Color, Move, Position};

use bitboards::Bitboards;
use search::Search;
use spend::{Spend, Stopped};
use table::Table;

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
    /// Forces mate, or what else is aimed at. `length` counts the solver's
    /// moves (half moves in a helpmate), this one included, and is the
    /// shortest. `line` starts with the move and runs to the end against the
    /// longest defence.
    Forces {
        /// Its moves to the aim.
        length: u8,
        /// The longest defence, the move first.
        line: Vec<Move>,
    },
    /// Does not force mate in time. `line` starts with the move; its second
    /// move, if any, is a reply that refutes it. A line of one move alone
    /// stalemates, or is the last move allowed and gives no mate.
    Fails {
        /// What shows it, the move first.
        line: Vec<Move>,
    },
    /// Not decided within the budget, or cancelled.
    Unknown {
        /// Positions looked at until then.
        nodes: u64,
    },
}

/// A prover with its table. Reuse it: what it learnt helps the next question.
pub struct Prover {
    /// Nodes spent over the life of the prover.
    pub nodes: u64,
    /// Nodes that one call may spend; `None` for no bound.
    pub budget: Option<u64>,
    /// All, but in tests.
    pub shortcuts: Shortcuts,
    table: Table,
    table_bytes: usize,
    subject: Subject,
}

/// What the facts of a table are about.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Subject {
    /// An aim, and who mates in a helpmate.
    Aim(Aim, Option<Color>),
    /// Who is to have how much more material than the other side.
    Gain(Color, i32),
}

/// The longest mate by checks that is looked for, in moves: each takes some
/// of the call stack.
const MOST_CHECKS: u8 = 60;

impl Prover {
    /// A prover whose table takes at most `table_bytes` bytes.
    pub fn new(table_bytes: usize) -> Prover {
        Prover {
            nodes: 0,
            budget: None,
            shortcuts: Shortcuts::default(),
            table: Table::new(table_bytes),
            table_bytes,
            subject: Subject::Aim(Aim::Mate, None),
        }
    }

    /// Judges the given moves (all legal moves when `None`): does each force
    /// mate within `n` moves of the solver, itself included? Answers in the
    /// order given; moves that are not legal in `position` are left out.
    pub fn judge(
        &mut self,
        position: &Chess,
        n: u8,
        moves: Option<&[Move]>,
        watch: &mut dyn Watch,
    ) -> Vec<(Move, Verdict)> {
        let moves: Vec<Move> = match moves {
            Some(moves) => moves
                .iter()
                .copied()
                .filter(|&m| position.is_legal(m))
                .collect(),
            None => position.legal_moves().into_iter().collect(),
        };
        let judged = self.run(n, watch, |search| search.judge(position, n, moves));
        #[cfg(feature = "broken-prover")]
        let judged = judged
            .into_iter()
            .map(|(mv, verdict)| (mv, broken::verdict(mv, n, verdict)))
            .collect();
        judged
    }

    /// The shortest forced mate within `n` moves, as one move and its verdict
    /// (`Forces`), or `None` if there is none.
    ///
    /// # Errors
    /// The positions looked at, if it is undecided.
    pub fn mate(
        &mut self,
        position: &Chess,
        n: u8,
        watch: &mut dyn Watch,
    ) -> Result<Option<(Move, Verdict)>, u64> {
        let found = self.run(n, watch, |search| {
            search
                .mate(position, n)
                .map_err(|Stopped| search.spend.nodes)
        });
        #[cfg(feature = "broken-prover")]
        let found = found.map(|found| {
            let first = position.legal_moves().first().copied();
            broken::mate(first, n, found)
        });
        found
    }

    /// All replies of the side to move after which the other side has no
    /// forced mate within `n` moves, the most telling first (mates, checks
    /// and captures before quiet moves); empty if every reply loses, or if
    /// there is none because the game is over.
    ///
    /// # Errors
    /// The positions looked at, if it is undecided.
    pub fn refutations(
        &mut self,
        position: &Chess,
        n: u8,
        watch: &mut dyn Watch,
    ) -> Result<Vec<Move>, u64> {
        self.run(n, watch, |search| {
            search
                .refutations(position, n)
                .map_err(|Stopped| search.spend.nodes)
        })
    }

    /// The reply that holds out longest against mate in at most `n`, with the
    /// number of solver's moves still needed after it. `None` if some reply
    /// is not mated in time, if there is no reply, or if undecided.
    pub fn longest_defence(
        &mut self,
        position: &Chess,
        n: u8,
        watch: &mut dyn Watch,
    ) -> Option<(Move, u8)> {
        self.run(n, watch, |search| {
            search.longest_defence(position, n).ok().flatten()
        })
    }

    /// A mate within `n` by checks alone, as a line against the longest
    /// defence of the proof found. Made for long mates that cannot be searched
    /// through; the mate need not be the shortest. `None` if there is no such
    /// mate, which tells nothing of mates with quiet moves.
    ///
    /// # Errors
    /// The positions looked at, if it is undecided.
    pub fn mate_by_checks(
        &mut self,
        position: &Chess,
        n: u8,
        watch: &mut dyn Watch,
    ) -> Result<Option<Vec<Move>>, u64> {
        let table_bytes = self.table_bytes;
        self.run(0, watch, |search| {
            search
                .by_checks(&Bitboards::of(position), n.min(MOST_CHECKS), table_bytes)
                .map_err(|Stopped| search.spend.nodes)
        })
    }

    /// Forgets what the table knows, so that what can be decided within a budget does
    /// not depend on what was asked before.
    pub fn forget(&mut self) {
        self.table = Table::new(self.table_bytes);
    }

    /// Makes the table one of facts about `subject`, and of no other.
    fn table_for(&mut self, subject: Subject) {
        if self.subject != subject {
            self.subject = subject;
            self.table = Table::new(self.table_bytes);
        }
    }

    fn run<T>(&mut self, n: u8, watch: &mut dyn Watch, ask: impl FnOnce(&mut Search) -> T) -> T {
        self.table_for(Subject::Aim(Aim::Mate, None));
        let spend = Spend::new(self.budget, watch);
        let mut search = Search::new(spend, self.shortcuts, &mut self.table, n);
        let answer = ask(&mut search);
        self.nodes += search.spend.nodes;
        answer
    }
}

#[cfg(test)]
mod tests;

#[cfg(test)]
mod against_naive;
