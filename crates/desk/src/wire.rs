//! What page and worker tell each other.

use keyproof::check::{Answer, Claim, Question};
use keyproof::explain::{Explanation, Inquiry};
use keyproof::moments;
use keyproof_second::Heard;
use serde::{Deserialize, Serialize};

use crate::collection;
use crate::endings::Endings;

/// From the page. `budget` is how many positions may be looked at.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub enum Ask {
    /// A question to answer.
    Question {
        ticket: u32,
        question: Question,
        budget: u64,
    },
    /// A question about a game whose moments are looked for.
    Seek {
        ticket: u32,
        question: moments::Question,
    },
    /// Proofs to write out and to put to the independent checker.
    Second {
        ticket: u32,
        claims: Vec<Claim>,
        budget: u64,
    },
    /// A puzzle to explain.
    Explain { ticket: u32, inquiry: Inquiry },
    /// About the author's earlier games, in the language of the page.
    Earlier {
        language: String,
        ask: collection::Ask,
    },
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
    /// `None` for a question that cannot be answered; `millis` is how long it
    /// took.
    Sought {
        ticket: u32,
        answer: Option<moments::Answer>,
        millis: f64,
    },
    Second {
        ticket: u32,
        heard: Vec<Heard>,
    },
    Explained {
        ticket: u32,
        explanation: Explanation,
    },
    Earlier(collection::Told),
    /// What is in files with endgame tables.
    Endings(Endings),
}
