//! The defences to an accepted move as the page shows them: by the answer they
//! fall to, each with what that answer does.

use std::rc::Rc;

use keyproof::check::{Defence, Fall, Ruling};
use keyproof::draft::Edit;
use keyproof::explain;
use shakmaty::{Chess, Position};

/// Defences that fall to one answer.
#[derive(Clone, Debug)]
pub struct Fallen {
    pub fall: Fall,
    /// For each defence: what the answer does there, in a sentence; empty where
    /// the line alone shows it.
    pub reasons: Vec<String>,
}

impl Fallen {
    /// Lists all of them that are not listed.
    pub fn all(&self) -> Vec<Edit> {
        let mends = self.fall.defences.iter();
        mends.filter_map(|defence| defence.mend.clone()).collect()
    }
}

/// Adds to the replies in a position what answers them and how.
pub fn fallen(position: &Chess, falls: Vec<Fall>) -> Rc<[Fallen]> {
    let with_reasons = |fall: Fall| Fallen {
        reasons: fall.defences.iter().map(|d| reason(position, d)).collect(),
        fall,
    };
    falls.into_iter().map(with_reasons).collect()
}

/// What the answer to a defence does, as far as board and line show it.
fn reason(position: &Chess, defence: &Defence) -> String {
    let Some(ruling @ Ruling::Holds { .. }) = &defence.ruling else {
        return String::new();
    };
    let mut after = position.clone();
    after.play_unchecked(defence.mv);
    let reasons = explain::reasons(&after, ruling.line());
    let first = reasons.into_iter().find(|reason| reason.at == 0);
    first.map_or_else(String::new, |reason| reason.sentence)
}
