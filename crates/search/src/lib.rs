//! Tactical search: the best lines of a position and their values, and
//! whether a single move keeps a given value.
//!
//! Iterative deepening to a budget counted in nodes. The same calls in the
//! same order on a [`Search`] of the same size give the same answers on every
//! machine. Values are searched, never proved, but for mates, which are
//! handed to [`prove`], and positions of up to four men, which are
//! looked up in [`tables`]. What a value means for a puzzle is left to
//! others.

#![deny(missing_docs)]

mod evaluate;
mod evaluation;
mod exchange;
mod moves;
mod network;
mod node;
mod order;
mod root;
mod squares;
mod table;
mod tree;

use std::sync::Arc;

use shakmaty::{Chess, Move};

use evaluation::{Evaluation, Reference};
use network::Learned;
pub use network::{Network, NetworkFault};
use order::Order;
use prove::{Prover, Watch};
use table::Table;
use tables::Tables;

/// What a position is worth to the side to move.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum Value {
    /// Hundredths of a pawn. At or beyond [`KNOWN_WIN`], either way, the line
    /// reaches an ending that a table knows to be won.
    Cp(i32),
    /// The side to move mates in this many of its moves.
    MateIn(u16),
    /// The side to move is mated in this many of the other side's moves.
    MatedIn(u16),
}

/// From this value on, in centipawns, a win is known from an endgame table.
pub const KNOWN_WIN: i32 = tree::KNOWN;

/// How a claim is known.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "serde", serde(rename_all = "snake_case"))]
pub enum Grade {
    /// By searching to a depth: likely, not certain.
    Searched,
    /// By an exact endgame table.
    Table,
    /// By trying every defence.
    Proved,
}

/// One of the best lines.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Line {
    /// The move and what is expected after it. Never empty.
    pub moves: Vec<Move>,
    /// What it is worth to the side to move.
    pub value: Value,
    /// Plies that were searched, extensions not counted.
    pub depth: u8,
    /// How the value is known.
    pub grade: Grade,
    /// How often another move took this place from one depth to the next.
    pub changes: u8,
    /// How far its value went up and down over the last depths, in hundredths of
    /// a pawn; mates count as the search counts them.
    pub swing: i32,
}

/// How far to search.
#[derive(Clone, Debug)]
pub struct Limits {
    /// Nodes to spend. Confirming mates may take a quarter more.
    pub nodes: u64,
    /// The greatest depth in plies, 1 to [`MOST_DEPTH`].
    pub depth: u8,
    /// How many lines are wanted, 1 or more.
    pub lines: usize,
    /// Only these first moves; all legal ones when `None`.
    pub moves: Option<Vec<Move>>,
}

/// The greatest depth that is ever searched, in plies.
pub const MOST_DEPTH: u8 = 100;

impl Limits {
    /// One line, to a budget in nodes.
    pub fn nodes(nodes: u64) -> Limits {
        Limits {
            nodes,
            depth: MOST_DEPTH,
            lines: 1,
            moves: None,
        }
    }
}

/// What a test of a move against a bound says: whether it keeps that value.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum BoundTest {
    /// The move is worth the bound or more.
    Keeps,
    /// It is worth less.
    Fails,
    /// Not even the first depth was finished.
    Unknown,
}

/// The answer to "does this move keep at least that value?".
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Answer {
    /// Whether it does.
    pub outcome: BoundTest,
    /// The greatest depth finished, in plies.
    pub depth: u8,
    /// The depth from which on the answer has been the same.
    pub since: u8,
    /// How often the answer changed from one depth to the next.
    pub changes: u8,
    /// The move and what shows the answer: after a move that fails, the
    /// refutation first.
    pub moves: Vec<Move>,
    /// Nodes spent on the question.
    pub nodes: u64,
    /// [`Grade::Table`] for up to four men, else [`Grade::Searched`].
    pub grade: Grade,
}

/// A search with its table. Reuse it: what it learnt helps the next question.
pub struct Search {
    /// Nodes spent over the life of the search.
    pub nodes: u64,
    /// Endgame tables. A position of up to four men that is asked about gets its own
    /// made; the tree reads those that [`Search::forget`] says.
    pub tables: Tables,
    /// Those that the tree reads.
    in_tree: Tables,
    table: Table,
    order: Order,
    evaluation: Box<dyn Evaluation>,
    prover: Prover,
}

/// The share of the table's bytes that goes to the mate prover.
const PROVERS_SHARE: usize = 4;

impl Search {
    /// A search whose tables take at most about `table_bytes` bytes, and a
    /// megabyte or two besides.
    ///
    /// It judges positions by the program's own network; if there is none, or it
    /// is damaged ([`Network::own`] says so), by the reference.
    pub fn new(table_bytes: usize) -> Search {
        Search::with_tables(table_bytes, Tables::new())
    }

    /// The same with endgame tables from elsewhere.
    pub fn with_tables(table_bytes: usize, tables: Tables) -> Search {
        match Network::own() {
            Ok(network) => Search::with(table_bytes, tables, Box::new(Learned::new(network))),
            Err(_) => Search::with(table_bytes, tables, Box::new(Reference)),
        }
    }

    /// A search that judges positions by a network.
    pub fn with_network(table_bytes: usize, network: Arc<Network>) -> Search {
        Search::with(table_bytes, Tables::new(), Box::new(Learned::new(network)))
    }

    /// A search that judges positions by the reference, which is made by hand.
    pub fn with_reference(table_bytes: usize) -> Search {
        Search::with(table_bytes, Tables::new(), Box::new(Reference))
    }

    fn with(table_bytes: usize, tables: Tables, evaluation: Box<dyn Evaluation>) -> Search {
        let provers = table_bytes / PROVERS_SHARE;
        Search {
            nodes: 0,
            tables,
            in_tree: Tables::new(),
            table: Table::new(table_bytes - provers),
            order: Order::new(),
            evaluation,
            prover: Prover::new(provers),
        }
    }

    /// Forgets what was searched before, and takes as much of its table as so many nodes
    /// need. What is asked from here on until the next call is answered the same whatever
    /// was asked before, if it is all about moves of `position`: the tree reads no
    /// endgame tables but those that these moves lead into, which are made here.
    pub fn forget(&mut self, position: &Chess, nodes: u64, watch: &mut dyn Watch) {
        self.table.forget(nodes);
        self.order.forget();
        self.prover.forget();
        self.in_tree = self.tables.after(position, watch);
    }

    /// The best lines, the best first; fewer than asked for when there are
    /// fewer moves, none when the game is over or the watcher stops before
    /// the first depth is done.
    ///
    /// `history` are the positions of the game before this one, oldest first,
    /// for repetitions. Mates found are handed to the prover; those that it
    /// confirms are [`Grade::Proved`], with its line and the exact length. A
    /// position of up to four men is answered from its table, made if need
    /// be, without a search.
    pub fn lines(
        &mut self,
        position: &Chess,
        history: &[Chess],
        limits: &Limits,
        watch: &mut dyn Watch,
    ) -> Vec<Line> {
        root::lines(self, position, history, limits, watch)
    }

    /// The static value of a position for the side to move, in centipawns, if
    /// it is quiet: not in check, and no exchange brings anything.
    pub fn quiet_value(&mut self, position: &Chess) -> Option<i32> {
        root::quiet_value(self, position)
    }

    /// Whether `mv` keeps at least `bound` centipawns for the side to move,
    /// asked to ever greater depth until `nodes` are spent.
    ///
    /// A move that is not legal is answered [`BoundTest::Unknown`] at depth 0. A
    /// position of up to four men is answered from its table, where a win
    /// counts as more than any bound and a draw as 0.
    pub fn at_least(
        &mut self,
        position: &Chess,
        history: &[Chess],
        mv: Move,
        bound: i32,
        nodes: u64,
        watch: &mut dyn Watch,
    ) -> Answer {
        root::at_least(self, position, history, mv, bound, nodes, watch)
    }
}

#[cfg(test)]
mod tests;
