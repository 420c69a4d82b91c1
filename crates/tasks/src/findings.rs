//! What the checker found, with its place in the text.

use keyproof::check::{self, Report, Weight};
use keyproof::draft::Resolution;
use keyproof::notation::{Place, TextFault, moves};
use serde::Serialize;
use shakmaty::Position;

use crate::entry::Entry;

/// A finding. Moves are in UCI.
#[derive(Clone, Debug, Serialize)]
pub struct Finding {
    /// What is wrong, by its name: `cook`.
    pub kind: &'static str,
    /// How much it counts.
    pub weight: Weight,
    /// The moves from the start to where it stands.
    pub path: Vec<String>,
    /// The moves at fault there; as typed, where they are illegal.
    pub moves: Vec<String>,
    /// A line from there that shows it.
    pub line: Vec<String>,
    /// One sentence, moves in SAN.
    pub message: String,
    /// Where it stands in the text.
    pub place: Option<Place>,
    /// Ways to mend it, the likeliest first.
    pub mends: Vec<String>,
    /// The line in SAN.
    #[serde(skip)]
    pub san: String,
}

/// All findings of a puzzle: first the places where its text cannot be read,
/// then those of the checker.
pub(crate) fn findings(entry: &Entry, report: &Report) -> Vec<Finding> {
    let resolution = entry.game.draft.resolve();
    let unreadable = entry.game.faults.iter().map(Finding::unreadable);
    let found = report
        .findings
        .iter()
        .map(|finding| Finding::found(finding, entry, &resolution));
    unreadable.chain(found).collect()
}

impl Finding {
    fn found(finding: &check::Finding, entry: &Entry, resolution: &Resolution) -> Finding {
        Finding {
            kind: finding.kind.name(),
            weight: finding.weight,
            path: finding.path.clone(),
            moves: finding.moves.clone(),
            line: finding.line.clone(),
            message: finding.message.clone(),
            place: place(finding, entry, resolution),
            mends: finding
                .mends
                .iter()
                .map(|mend| mend.label.clone())
                .collect(),
            san: line(finding, resolution).unwrap_or_default(),
        }
    }

    fn unreadable(fault: &TextFault) -> Finding {
        Finding {
            kind: "unreadable_text",
            weight: Weight::Fault,
            path: vec![],
            moves: vec![],
            line: vec![],
            message: format!("Expected {}, found {:?}.", fault.expected, fault.text),
            place: Some(fault.place),
            mends: vec![],
            san: String::new(),
        }
    }
}

/// Where a finding stands: at the first move at fault if the author wrote it,
/// else at the move before it.
fn place(finding: &check::Finding, entry: &Entry, resolution: &Resolution) -> Option<Place> {
    let draft = &entry.game.draft;
    let node = draft.node(finding.node)?;
    let at_fault = finding.moves.first().and_then(|mv| {
        node.children.iter().find(|child| {
            let played = resolution
                .steps
                .get(child.0 as usize)
                .and_then(Option::as_ref);
            match played {
                Some(step) => moves::uci(step.mv) == *mv,
                None => draft.node(**child).is_some_and(|child| child.text == *mv),
            }
        })
    });
    match at_fault {
        Some(&child) => draft.node(child)?.place,
        None => node.place,
    }
}

/// The line that shows a finding, in SAN.
fn line(finding: &check::Finding, resolution: &Resolution) -> Option<String> {
    let position = resolution.position(finding.node)?;
    let line = moves::read_ucis(position, &finding.line);
    (!line.is_empty()).then(|| moves::line(position, &line, position.fullmoves().get()))
}
