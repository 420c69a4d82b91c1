//! What page and worker tell each other.

use keyproof::check::{Answer, Question};
use keyproof::explain::{Explanation, Inquiry};
use serde::{Deserialize, Serialize};

use crate::second::{Accepted, Claimed};

/// From the page. `budget` is how many positions may be looked at.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub enum Ask {
    /// A question to answer.
    Question {
        ticket: u32,
        question: Question,
        budget: u64,
    },
    /// A proof to write out and to put to the independent checker.
    Second {
        ticket: u32,
        claimed: Claimed,
        budget: u64,
    },
    /// A puzzle to explain.
    Explain { ticket: u32, inquiry: Inquiry },
}

/// From a worker.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub enum Told {
    Ready,
    Progress {
        ticket: u32,
        nodes: u64,
    },
    Done {
        ticket: u32,
        answer: Answer,
    },
    Second {
        ticket: u32,
        result: Result<Accepted, String>,
    },
    Explained {
        ticket: u32,
        explanation: Explanation,
    },
}
