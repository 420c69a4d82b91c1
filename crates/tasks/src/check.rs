//! Checking puzzles: one verdict for each, with its findings.

use keyproof::check::Report;
use serde::{Deserialize, Serialize};

use crate::certificate::{Certificate, Certified, certificate_of};
use crate::entry::{Entry, puzzles, read_pgn};
use crate::judge::{How, judge};
use crate::means::Means;
use crate::row::Row;
use crate::trouble::Trouble;

/// How puzzles are checked.
#[derive(Clone, Debug, Default)]
pub struct CheckOptions {
    /// Nodes that may be spent on one question; none: no bound.
    pub nodes: Option<u64>,
    /// Whether nothing is to be checked a second time.
    pub unchecked: bool,
    /// Whether a certificate of the first moves is asked for.
    pub certificates: bool,
}

/// Checks all puzzles of a PGN text, in its order; those at the moments of a lesson are
/// puzzles of their own.
///
/// # Errors
/// If there is no game, or a lesson lists its moments wrongly.
pub fn check(pgn: &str, options: &CheckOptions, means: &Means) -> Result<Vec<Row>, Trouble> {
    let puzzles = puzzles(&read_pgn(pgn, "")?)?;
    let each = means.shared(puzzles.len());
    means.all(&puzzles, |entry| {
        let checked = check_entry(entry, options, &each);
        let mut row = Row::new(entry, &checked.report);
        if options.certificates {
            let certified = checked.certified.ok().flatten();
            row.certificate = Some(certified.map(Certificate::from));
        }
        row
    })
}

/// What came of a puzzle. It can be kept, and told again of the same puzzle
/// ([`Row::new`]).
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Checked {
    /// The verdict, and what it rests on.
    pub report: Report,
    /// The certificate, if it was asked for and there is one; in place of one that the
    /// checker refuses, a sentence.
    pub certified: Result<Option<Certified>, String>,
    /// Whether it was given up since it asked for more than [`QUESTIONS`](crate::QUESTIONS)
    /// times the nodes of one question.
    pub given_up: bool,
}

/// Checks one puzzle.
pub fn check_entry(entry: &Entry, options: &CheckOptions, means: &Means) -> Checked {
    let how = How {
        nodes: options.nodes,
        unchecked: options.unchecked,
    };
    let judged = judge(&entry.game, how, means);
    let certified = match options.certificates {
        true => certificate_of(entry, &judged.heard),
        false => Ok(None),
    };
    Checked {
        report: judged.report,
        certified,
        given_up: judged.given_up,
    }
}
