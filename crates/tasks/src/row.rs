//! A puzzle that was checked, as plain data.

use keyproof::check::{Report, Second, Soundness};
use serde::Serialize;

use crate::certificate::Certificate;
use crate::entry::Entry;
use crate::findings::{Finding, findings};

/// A puzzle that was checked.
#[derive(Clone, Debug, Serialize)]
pub struct Row {
    /// The file it came from, if it came from one.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub file: String,
    /// Its number there, from 1.
    pub index: usize,
    /// The moment of the lesson it stands at, if it does: `17b`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub place: Option<String>,
    /// Its title, or its number where it has none.
    pub title: String,
    /// What the solver must do, as typed.
    pub stipulation: Option<String>,
    /// Whether every claim holds.
    pub verdict: Soundness,
    /// What is wrong: faults first, then open points, then remarks.
    pub findings: Vec<Finding>,
    /// Nodes that were spent.
    pub nodes: u64,
    /// What the independent checker says.
    pub second: Second,
    /// The certificate, where one is asked for: null where there is none.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub certificate: Option<Option<Certificate>>,
}

impl Row {
    /// What was found of a puzzle.
    pub fn new(entry: &Entry, report: &Report) -> Row {
        Row {
            file: entry.file.clone(),
            index: entry.index,
            place: entry.place.clone(),
            title: entry.title(),
            stipulation: entry.game.draft.tag("Stipulation").map(str::to_owned),
            verdict: report.verdict,
            findings: findings(entry, report),
            nodes: report.nodes,
            second: report.second.clone(),
            certificate: None,
        }
    }

    /// Its number in the file, with its place in the game.
    pub fn number(&self) -> String {
        match &self.place {
            Some(place) => format!("{}, {place}", self.index),
            None => self.index.to_string(),
        }
    }

    /// `sound`, `unsound` or `undecided`.
    pub fn verdict_name(&self) -> &'static str {
        match self.verdict {
            Soundness::Sound => "sound",
            Soundness::Unsound => "unsound",
            Soundness::Undecided => "undecided",
        }
    }
}
