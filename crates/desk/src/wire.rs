//! What page and worker tell each other.

use keyproof::check::{Answer, Claim, Question};
use keyproof::explain::{Explanation, Inquiry};
use keyproof::moments;
use keyproof_second::Heard;
use serde::{Deserialize, Serialize};

use crate::earlier;
use crate::endings::Endings;

/// What a worker is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Post {
    /// Answering questions, in this seat.
    Judge(usize),
    /// The second check of mates.
    Second,
    Explain,
    /// Looking into the author's earlier games.
    Earlier,
}

/// What the edge must do with a worker.
#[derive(Clone, Debug, PartialEq)]
pub enum Order {
    /// Put this to it, and start it first where it does not run.
    Ask(Post, Ask),
    /// End it and start another.
    Restart(Post),
    End(Post),
}

/// From the page. `budget` is how many positions may be looked at.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
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
        question: Box<moments::Question>,
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
    Earlier { language: String, ask: earlier::Ask },
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
        explanation: Box<Explanation>,
    },
    Earlier(earlier::Told),
    /// What is in files with endgame tables.
    Endings(Endings),
}
