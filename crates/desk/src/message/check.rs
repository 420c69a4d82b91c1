//! What happens while puzzles are checked, proved and explained.

use keyproof::check::Answer;
use keyproof::explain::Explanation;
use keyproof_second::Heard;

use crate::endings;
use crate::wire::Post;

/// A message about checking.
#[derive(Clone, Debug)]
pub enum CheckMsg {
    /// Look at the next few puzzles.
    LookOn,
    /// Unfolds or folds it.
    Proof(bool),
    /// Fills in the best answer to each unanswered defence.
    Fill,
    /// A worker is there.
    Ready(Post),
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
    /// A worker broke down.
    Broke {
        post: Post,
        why: String,
    },
    /// What came of a second check.
    SecondDone {
        ticket: u32,
        heard: Vec<Heard>,
    },
    /// Save what our two programs disagree about.
    SaveDisagreement,
    /// Workers cannot run here.
    NoWorkers(String),
    Explained {
        ticket: u32,
        explanation: Box<Explanation>,
    },
    Stop,
    GoOn,
    /// What was left undecided is searched again with ten times as much.
    SearchOn,
    /// Something about files with endgame tables.
    Endings(endings::Event),
}
