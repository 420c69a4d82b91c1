//! A prover and a search for questions about why: what a pass would bring,
//! what a move leads to.

use shakmaty::{Chess, Move, Position};

use check::Evidence;
use prove::{Prover, Watch};
use search::{Grade, Limits, Line, Search, Value};
use tables::Tables;

/// Answers questions about why moves work or fail. Reuse it: what it learnt
/// helps the next question.
pub struct Analyst {
    pub(super) search: Search,
    pub(super) prover: Prover,
    /// For gains, whose table would push out what is known of mates.
    gains: Prover,
    /// Nodes that one question about one move may spend.
    pub budget: u64,
    pub(super) table_bytes: usize,
}

/// Nodes for one question about one move, where none are set.
const BUDGET: u64 = 60_000;

/// Gains that are asked for are short, and each is another question, so that a table of
/// them is hardly ever of use.
const GAINS_TABLE: usize = 1 << 14;

impl Analyst {
    /// An analyst whose tables take at most about `table_bytes` bytes.
    pub fn new(table_bytes: usize) -> Analyst {
        Analyst::with_tables(table_bytes, Tables::new())
    }

    /// The same with endgame tables from elsewhere.
    pub fn with_tables(table_bytes: usize, tables: Tables) -> Analyst {
        Analyst {
            search: Search::with_tables(table_bytes / 2, tables),
            prover: Prover::new(table_bytes / 2),
            gains: Prover::new(GAINS_TABLE),
            budget: BUDGET,
            table_bytes,
        }
    }

    /// Nodes spent over the life of the analyst.
    pub fn nodes(&self) -> u64 {
        self.prover.nodes + self.gains.nodes + self.search.nodes
    }

    /// The prover, allowed the budget for its next call.
    pub(super) fn prover(&mut self) -> &mut Prover {
        self.prover.budget = Some(self.budget);
        &mut self.prover
    }

    /// The same for gains of material.
    pub(super) fn prover_of_gains(&mut self) -> &mut Prover {
        self.gains.budget = Some(self.budget);
        &mut self.gains
    }

    /// The best line from a position for the side to move there.
    pub(super) fn best(
        &mut self,
        position: &Chess,
        only: Option<Vec<Move>>,
        watch: &mut dyn Watch,
    ) -> Option<Line> {
        self.best_within(self.budget, position, only, watch)
    }

    /// The same with another budget.
    pub(super) fn best_within(
        &mut self,
        budget: u64,
        position: &Chess,
        only: Option<Vec<Move>>,
        watch: &mut dyn Watch,
    ) -> Option<Line> {
        let limits = Limits {
            moves: only,
            ..Limits::nodes(budget)
        };
        let lines = self.search.lines(position, &[], &limits, watch);
        lines.into_iter().next()
    }
}

/// A value in hundredths of a pawn; mates lie beyond all others, sooner ones
/// farther out.
pub(super) fn hundredths(value: Value) -> i32 {
    match value {
        Value::Cp(value) => value,
        Value::MateIn(n) => MATE - i32::from(n),
        Value::MatedIn(n) => i32::from(n) - MATE,
    }
}

pub(super) const MATE: i32 = 100_000;

/// How a line is known.
pub(super) fn evidence(line: &Line) -> Evidence {
    match line.grade {
        Grade::Proved => Evidence::Proved,
        Grade::Table => Evidence::Table,
        Grade::Searched => Evidence::searched(line.depth),
    }
}

pub(super) fn played(position: &Chess, mv: Move) -> Chess {
    let mut after = position.clone();
    after.play_unchecked(mv);
    after
}

/// All positions of a legal line, the first one included.
pub(super) fn positions(position: &Chess, line: &[Move]) -> Vec<Chess> {
    let mut all = vec![position.clone()];
    for &mv in line {
        all.push(played(&all[all.len() - 1], mv));
    }
    all
}
