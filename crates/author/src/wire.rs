//! What page and worker tell each other.

use keyproof::check::{Answer, Question};
use serde::{Deserialize, Serialize};

/// From the page: a question to answer.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Ask {
    pub ticket: u32,
    pub question: Question,
    /// Positions that may be looked at.
    pub budget: u64,
}

/// From a worker.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub enum Told {
    Ready,
    Progress { ticket: u32, nodes: u64 },
    Done { ticket: u32, answer: Answer },
}
