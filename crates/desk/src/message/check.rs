//! What happens while puzzles are checked, proved and explained.

use keyproof::check::Answer;
use keyproof::explain::Explanation;
use keyproof_second::Heard;

use crate::endings;

/// A message about checking.
#[derive(Clone, Debug)]
pub enum CheckMsg {
    /// Look at the next few puzzles.
    LookOn,
    /// Unfolds or folds it.
    Proof(bool),
    /// Fills in the best answer to each unanswered defence.
    Fill,
    Ready {
        seat: usize,
    },
    Progress {
        seat: usize,
        ticket: u32,
        nodes: u64,
    },
    Answered {
        seat: usize,
        ticket: u32,
        answer: Answer,
    },
    Broke {
        seat: usize,
        why: String,
    },
    /// What came of a second check.
    SecondDone {
        ticket: u32,
        heard: Vec<Heard>,
    },
    /// Its worker broke down.
    SecondBroke(String),
    /// Save what our two programs disagree about.
    SaveDisagreement,
    /// Workers cannot run here.
    NoWorkers(String),
    ExplainerReady,
    Explained {
        ticket: u32,
        explanation: Box<Explanation>,
    },
    ExplainerBroke(String),
    Stop,
    GoOn,
    /// What was left undecided is searched again with ten times as much.
    SearchOn,
    /// Something about files with endgame tables.
    Endings(endings::Event),
}
