//! First moves of a puzzle that lie between right and wrong. A student who plays one is
//! told that it is playable and not what is asked for; a few of them do a question no harm,
//! many make it another one.

use check::{Evidence, Goal, Kind, Known, Report};
use model::draft::{Draft, Edit, NodeId};
use model::puzzle::{Puzzle, Role};
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
    let listed = between(puzzle, known)?
        .into_iter()
        .filter_map(|mv| puzzle.child(NodeId::ROOT, mv));
    let nodes: Vec<NodeId> = listed.collect();
    let key = puzzle.accepted(NodeId::ROOT).next();
    let silent = |node: &NodeId| {
        let here = puzzle.node(*node);
        here.role == Role::Key && here.words.is_empty() && Some(*node) != key
    };
    if nodes.is_empty() || !nodes.iter().all(silent) {
        return None;
    }
    let mut draft = draft.clone();
    for node in nodes {
        draft.apply(&Edit::Remove { node }).ok()?;
    }
    Some(draft)
}

/// The draft with words at every first move between that it does not list, as the checker
/// offers them; `None` where there are none, or too many.
pub fn told(draft: &Draft, report: &Report, known: &Known) -> Option<Draft> {
    let resolved = Resolved::of(draft);
    let puzzle = resolved.puzzle().ok()?;
    let between = between(puzzle, known)?;
    let mut told = draft.clone();
    let open = report
        .findings
        .iter()
        .filter(|finding| finding.kind == Kind::Undecided && finding.node == NodeId::ROOT);
    let mut findings: Vec<_> = open.cloned().collect();
    check::say_to_students(&mut findings);
    let words = findings.iter().flat_map(|finding| &finding.mends);
    let words = words.filter(|mend| matches!(mend.edits[..], [Edit::AddWords { .. }]));
    for mend in words {
        told.apply(&mend.edits[0]).ok()?;
    }
    (!between.is_empty() && told != *draft).then_some(told)
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
