//! Certificates. None is given out that the checker does not accept.

use keyproof::aim::Aim;
use keyproof::check::{Against, Goal, Opinion};
use keyproof::puzzle::Stipulation;
use keyproof::resolved::Resolved;
use keyproof_second::Heard;
use serde::{Deserialize, Serialize};
use shakmaty::Position;

use crate::entry::Entry;

/// An accepted text of certificates.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Certified {
    /// The text.
    pub text: String,
    /// Positions that the checker set up.
    pub positions: usize,
}

/// A certificate that goes with a result: its text, or the file it was written to.
#[derive(Clone, Debug, Serialize)]
pub struct Certificate {
    /// The file, if it was written to one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub file: Option<String>,
    /// The text, unless it was written to a file.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub text: Option<String>,
    /// The length of the text.
    pub bytes: usize,
    /// Positions that the checker set up.
    pub positions: usize,
}

impl From<Certified> for Certificate {
    fn from(certified: Certified) -> Certificate {
        Certificate {
            file: None,
            bytes: certified.text.len(),
            text: Some(certified.text),
            positions: certified.positions,
        }
    }
}

/// The certificate of a claim.
///
/// # Errors
/// A sentence: why there is none.
pub(crate) fn of(heard: &Heard) -> Result<Certified, String> {
    match (&heard.opinion, &heard.text) {
        (Opinion::Accepted { positions }, Some(text)) => Ok(Certified {
            text: text.clone(),
            positions: *positions,
        }),
        (Opinion::Accepted { .. } | Opinion::Unreached(_), _) => {
            Err("no certificate: the budget did not settle it".into())
        }
        (Opinion::Against(Against::Itself { mv, .. }), _) => {
            Err(format!("no certificate: {mv} was judged wrongly"))
        }
        (Opinion::Against(Against::Checker { line, reason, .. }), _) => Err(format!(
            "no certificate: the checker rejects line {line}: {reason}"
        )),
    }
}

/// The certificate of a puzzle's first moves. `None` if it claims no mate or gain and no
/// draw that is held by force, or if a first move is undecided.
///
/// # Errors
/// A sentence: why there is none.
pub fn certificate_of(entry: &Entry, heard: &[Heard]) -> Result<Option<Certified>, String> {
    let draft = &entry.game.draft;
    let Ok(puzzle) = Resolved::of(draft).into_puzzle() else {
        return Ok(None);
    };
    // The first moves are put to the checker first.
    let first = heard.first().filter(|first| {
        let claim = &first.claim;
        let whole = match puzzle.stipulation() {
            Stipulation::Forced(Aim::Mate | Aim::Gain(_), _) => {
                let judged = claim.holds.len() + claim.fails.len();
                judged == puzzle.start().legal_moves().len()
            }
            // What holds is proved, what does not is searched.
            Stipulation::Draw => {
                let position = claim.read().map(|claim| claim.position);
                !claim.drawn.is_empty() && position.as_ref() == Some(puzzle.start())
            }
            _ => false,
        };
        whole && claim.goal == Goal::of(&puzzle)
    });
    first.map(of).transpose()
}
