//! The checker: is every claim of a puzzle right?
//!
//! Checking is split so that pages and command line can spread it over
//! workers: [`questions`] lists what must still be proved, any prover answers
//! them into a [`Known`], and [`report`] judges the puzzle by what is known.

use std::collections::HashMap;

use shakmaty::Move;

use crate::draft::{Draft, Edit, NodeId};
use crate::prove::{Prover, Verdict, Watch};
use crate::puzzle::Puzzle;

/// The kinds of finding. Their snake-case names are part of the command
/// line's interface.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(rename_all = "snake_case"))]
pub enum Kind {
    UnreadableText,
    IllegalPosition,
    MissingStipulation,
    IllegalMove,
    NoSolution,
    ShortSolution,
    Cook,
    AmbiguousVariation,
    WorkingTry,
    FailingRefutation,
    UnansweredDefence,
    FailingAnswer,
    UnfinishedSolution,
    Dual,
    NotYetChecked,
}

/// A fault makes a puzzle unsound; a remark does not; an open point leaves
/// it undecided.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(rename_all = "snake_case"))]
pub enum Weight {
    Fault,
    Remark,
    Open,
}

/// A change that removes a finding, with a label for its button.
#[derive(Clone, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Mend {
    pub label: String,
    pub edits: Vec<Edit>,
}

/// One finding of the checker.
#[derive(Clone, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Finding {
    pub kind: Kind,
    pub weight: Weight,
    /// The node at which the finding stands (the position in which `moves`
    /// are played).
    pub node: NodeId,
    /// The moves from the start to that node, in UCI.
    pub path: Vec<String>,
    /// The moves at fault at that node, in UCI.
    pub moves: Vec<String>,
    /// A line from that node that shows the fault, in UCI.
    pub line: Vec<String>,
    /// One sentence, moves in SAN.
    pub message: String,
    /// Ways to mend it, the likeliest first.
    pub mends: Vec<Mend>,
}

/// The verdict on a puzzle.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(rename_all = "snake_case"))]
pub enum Soundness {
    Sound,
    Unsound,
    Undecided,
}

/// What the checker found.
#[derive(Clone, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Report {
    pub verdict: Soundness,
    pub findings: Vec<Finding>,
    /// Nodes the prover spent on what is known.
    pub nodes: u64,
    /// Questions answered, and questions in all.
    pub answered: usize,
    pub asked: usize,
}

/// A question for the prover: does each of `moves` force mate within `n`?
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Question {
    /// FEN of the position, the solver to move.
    pub fen: String,
    pub n: u8,
    /// UCI; never empty.
    pub moves: Vec<String>,
}

/// The prover's answer to a question, move by move.
#[derive(Clone, Debug)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Answer {
    pub question: Question,
    /// One per move of the question, in its order. UCI lines.
    pub verdicts: Vec<PlainVerdict>,
    pub nodes: u64,
}

/// A [`Verdict`] as text, for the wire.
#[derive(Clone, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(rename_all = "snake_case"))]
pub enum PlainVerdict {
    Forces { length: u8, line: Vec<String> },
    Fails { line: Vec<String> },
    Unknown { nodes: u64 },
}

/// All that has been proved so far: verdicts by position, moves left, move.
/// Survives edits, so only what changed is proved again.
#[derive(Clone, Debug, Default)]
pub struct Known {
    verdicts: HashMap<(String, u8), Vec<(Move, Verdict)>>,
    nodes: u64,
}

impl Known {
    /// Takes an answer in. Answers that do not fit their question are dropped.
    pub fn learn(&mut self, _answer: &Answer) {
        todo!()
    }
}

/// The questions a puzzle still raises beyond what is known, in order of
/// weight. More may follow once these are answered; none left means
/// [`report`] is final.
pub fn questions(_puzzle: &Puzzle, _known: &Known) -> Vec<Question> {
    todo!()
}

/// Puts one question to a prover.
pub fn answer(_question: &Question, _prover: &mut Prover, _watch: &mut dyn Watch) -> Answer {
    todo!()
}

/// Judges a draft by what is known. Drafts that are no puzzle are unsound,
/// with all their faults.
pub fn report(_draft: &Draft, _known: &Known) -> Report {
    todo!()
}

/// Checks a draft from start to end on one prover.
pub fn check(_draft: &Draft, _prover: &mut Prover, _watch: &mut dyn Watch) -> Report {
    todo!()
}
