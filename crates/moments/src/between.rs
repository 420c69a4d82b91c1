//! First moves of a puzzle that lie between right and wrong. A student who plays one is
//! told that it is playable and not what is asked for; a few of them do a question no harm,
//! many make it another one.

use check::{Evidence, Finding, Goal, Kind, Known, Report, Weight};
use model::draft::{Draft, Edit, NodeId};
use model::puzzle::Puzzle;
use model::resolved::Resolved;
use shakmaty::Move;

/// So many are told of.
const MOST: usize = 3;

/// The draft without the moves that it accepts beside the key and that lie between right
/// and wrong; `None` where there are none, where there are too many between, or where the
/// author has something to say of one.
pub fn without_accepted(draft: &Draft, known: &Known) -> Option<Draft> {
    let resolved = Resolved::of(draft);
    let puzzle = resolved.puzzle().ok()?;
    let mut accepted = puzzle.accepted(NodeId::ROOT);
    let key = accepted.next()?;
    let between = between(puzzle, known)?;
    let lies_between = |node| {
        between
            .iter()
            .any(|&mv| puzzle.child(NodeId::ROOT, mv) == Some(node))
    };
    let nodes: Vec<NodeId> = accepted.filter(|&node| lies_between(node)).collect();
    let silent = |&node: &NodeId| puzzle.node(node).words.is_empty();
    if nodes.is_empty() || lies_between(key) || !nodes.iter().all(silent) {
        return None;
    }
    let mut draft = draft.clone();
    for node in nodes {
        draft.apply(&Edit::Remove { node }).ok()?;
    }
    Some(draft)
}

/// The draft with words at every first move between of which it says nothing, as the
/// checker offers them; `None` where there are none, or too many.
pub fn told(draft: &Draft, report: &Report, known: &Known) -> Option<Draft> {
    let resolved = Resolved::of(draft);
    let puzzle = resolved.puzzle().ok()?;
    between(puzzle, known)?;
    let mut told = draft.clone();
    let asks = |finding: &&Finding| {
        finding.kind == Kind::Undecided
            && finding.weight == Weight::Open
            && finding.node == NodeId::ROOT
    };
    let mut findings: Vec<Finding> = report.findings.iter().filter(asks).cloned().collect();
    check::say_to_students(&mut findings);
    let words = findings.iter().flat_map(|finding| &finding.mends);
    let words = words.filter(|mend| matches!(mend.edits[..], [Edit::AddWords { .. }]));
    for mend in words {
        told.apply(&mend.edits[0]).ok()?;
    }
    (told != *draft).then_some(told)
}

/// The first moves that lie between right and wrong; `None` where they are too many, or
/// where one may be either.
fn between(puzzle: &Puzzle, known: &Known) -> Option<Vec<Move>> {
    let rulings = known.rulings(puzzle.start(), Goal::of(puzzle)).iter();
    let open = rulings.filter(|(_, ruling)| ruling.is_open());
    let mut between = Vec::new();
    for (mv, ruling) in open {
        match ruling.evidence()? {
            Evidence::Searched {
                chance: Some(_), ..
            } => return None,
            _ => between.push(*mv),
        }
    }
    (between.len() <= MOST).then_some(between)
}
