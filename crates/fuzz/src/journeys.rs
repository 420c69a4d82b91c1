//! Changes in any order, held against a model: edits with undo, and three tabs that
//! change the same puzzles.

use std::collections::BTreeSet;
use std::rc::Rc;

use desk::history::History;
use desk::merge::Merge;
use desk::work::{Sheet, SheetId};
use keyproof::draft::{Draft, Edit, NodeId};
use keyproof::line;
use keyproof::notation::pgn_write;
use keyproof::resolved::Resolved;

use crate::{Choices, texts};

/// Some way to go, without meaning.
pub fn seeds() -> Vec<Vec<u8>> {
    let counted: Vec<u8> = (0..=200).collect();
    let mixed: Vec<u8> = (0..200u8).map(|i| i.wrapping_mul(37) ^ 5).collect();
    vec![counted, mixed, vec![5; 64]]
}

const MOVES: [&str; 12] = [
    "e4", "e5", "Nf3", "Nc6", "Bb5", "a6", "O-O", "Qh5", "Bc4", "Nf6", "Qxf7#", "x",
];

fn node(draft: &Draft, choices: &mut Choices) -> NodeId {
    let mut nodes = vec![NodeId::ROOT];
    nodes.extend(draft.walk());
    nodes[choices.below(nodes.len())]
}

fn typed(choices: &mut Choices) -> String {
    match choices.below(MOVES.len() + 1) {
        n if n < MOVES.len() => MOVES[n].to_owned(),
        _ => choices.text(),
    }
}

fn edit(draft: &Draft, choices: &mut Choices) -> Edit {
    let kind = choices.below(12);
    let node = node(draft, choices);
    match kind {
        0 => Edit::SetTag {
            name: ["Event", "FEN", "Stipulation", "X"][choices.below(4)].into(),
            value: (choices.below(3) > 0).then(|| choices.text()),
        },
        1 => Edit::SetNags {
            node,
            nags: (0..choices.below(3)).map(|_| choices.byte()).collect(),
        },
        2 => Edit::SetAfter {
            node,
            comments: (0..choices.below(3)).map(|_| choices.text()).collect(),
        },
        3 => Edit::SetBefore {
            node,
            comments: (0..choices.below(3)).map(|_| choices.text()).collect(),
        },
        4 => Edit::SetMove {
            node,
            text: typed(choices),
        },
        5 | 6 => Edit::AddLine {
            at: node,
            moves: (0..choices.below(5)).map(|_| typed(choices)).collect(),
            nags: Vec::new(),
        },
        7 => Edit::AddWords {
            at: node,
            mv: typed(choices),
            comments: vec![choices.text()],
        },
        8 => Edit::Remove { node },
        9 => Edit::RemoveAfter { node },
        10 => Edit::Shift {
            node,
            by: choices.below(5) as i32 - 2,
        },
        _ => Edit::MakeMain { node },
    }
}

/// Edits, steps back and forward: every state comes back as it was, what is refused
/// changes nothing, and what is left is written and read as the same.
pub fn edits(data: &[u8]) {
    let mut choices = Choices::new(data);
    let mut draft = Draft::new();
    let mut history: History<Draft, u8> = History::new(40);
    // The model: all states in order, and where one stands.
    let (mut states, mut at) = (vec![draft.clone()], 0);
    while choices.goes_on() && states.len() < 60 {
        match choices.below(8) {
            0 if at > 0 => {
                at -= 1;
                draft = history
                    .undo(draft)
                    .unwrap_or_else(|_| panic!("no step back"));
            }
            1 if at + 1 < states.len() => {
                at += 1;
                draft = history
                    .redo(draft)
                    .unwrap_or_else(|_| panic!("no step forward"));
            }
            2 => {
                let cut = node(&draft, &mut choices);
                let to = node(&draft, &mut choices);
                let resolved = Resolved::of(&draft);
                let cut = line::cut_out(&resolved, cut);
                let _ = (line::text(&cut), line::graft(&resolved, to, &cut));
            }
            _ => {
                let before = draft.clone();
                let edit = edit(&draft, &mut choices);
                if draft.apply(&edit).is_err() {
                    assert_eq!(draft, before, "refused, and yet done: {edit:?}");
                    continue;
                }
                drop(history.keep(before, None));
                states.truncate(at + 1);
                states.push(draft.clone());
                at += 1;
            }
        }
        if at > 40 {
            return;
        }
        assert_eq!(draft, states[at]);
    }
    let resolved = Resolved::of(&draft);
    let _ = resolved.puzzle();
    // What is no move is written as words.
    if texts::is_game(&resolved) {
        texts::reads_back(&draft);
    }
}

/// A row of sheets that a tab made of another.
fn changed(row: &[Rc<Sheet>], tab: u64, choices: &mut Choices) -> Vec<Rc<Sheet>> {
    let mut row = row.to_vec();
    for step in 0..choices.below(5) as u64 {
        let place = choices.below(row.len().max(1));
        match choices.below(4) {
            0 => row.push(sheet(tab << 32 | step, &format!("new {tab} {step}"))),
            1 if !row.is_empty() => drop(row.remove(place)),
            2 if row.len() > 1 => row.swap(0, place),
            _ if !row.is_empty() => {
                let id = row[place].id.0;
                row[place] = sheet(id, &format!("changed {tab} {step}"));
            }
            _ => {}
        }
    }
    row
}

fn sheet(id: u64, title: &str) -> Rc<Sheet> {
    let mut draft = Draft::new();
    let edit = Edit::SetTag {
        name: "Event".into(),
        value: Some(title.into()),
    };
    draft
        .apply(&edit)
        .unwrap_or_else(|fault| panic!("{fault:?}"));
    Rc::new(Sheet {
        id: SheetId(id),
        draft,
        reading: None,
    })
}

fn texts(row: &[Rc<Sheet>]) -> BTreeSet<String> {
    row.iter()
        .map(|sheet| pgn_write::write(&sheet.draft))
        .collect()
}

/// Three tabs change the same row and write one after the other: nothing that a tab has
/// changed or added is lost, nothing has two names, and what all left alone stays.
pub fn merge(data: &[u8]) {
    let mut choices = Choices::new(data);
    let count = choices.below(5) as u64;
    let base: Vec<Rc<Sheet>> = (0..count)
        .map(|id| sheet(id + 1, &format!("base {id}")))
        .collect();
    let tabs: Vec<Vec<Rc<Sheet>>> = (1..=3)
        .map(|tab| changed(&base, tab, &mut choices))
        .collect();
    let mut store = base.clone();
    let mut fresh = 1 << 50;
    for mine in &tabs {
        let mut name = || {
            fresh += 1;
            SheetId(fresh)
        };
        let mut merge = Merge::of(&base, mine, &store, &mut name);
        let merged = merge.apply(mine);
        let names: BTreeSet<u64> = merged.iter().map(|sheet| sheet.id.0).collect();
        assert_eq!(names.len(), merged.len(), "two sheets of one name");
        let again = merge.apply(mine);
        assert_eq!(
            texts(&again),
            texts(&merged),
            "done twice it comes to something else"
        );
        store = merged;
    }
    let (had, have) = (texts(&base), texts(&store));
    for tab in &tabs {
        for new in texts(tab).difference(&had) {
            assert!(have.contains(new), "lost: {new}");
        }
    }
    for old in &had {
        if tabs.iter().all(|tab| texts(tab).contains(old)) {
            assert!(have.contains(old), "lost, though nobody touched it: {old}");
        }
    }
}
