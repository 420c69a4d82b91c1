//! All puzzles as they stand, what undo takes back, and changing the open one.

use keyproof::draft::{Draft, Edit, NodeId};

use super::{Desk, Run};
use crate::history::History;
use crate::message::{EditMsg, Effect};
use crate::setup::SetupChange;
use crate::work::{Work, comments};

/// States that undo keeps.
pub(super) const UNDO_BOUND: usize = 500;

/// The work with its history.
pub(super) struct Document {
    pub work: Work,
    pub history: History<Work, Run>,
    /// The line that was copied or cut last.
    pub line: Option<Draft>,
}

impl Document {
    pub fn new() -> Document {
        Document {
            work: Work::new(),
            history: History::new(UNDO_BOUND),
            line: None,
        }
    }
}

impl Desk {
    pub fn work(&self) -> &Work {
        &self.document.work
    }
    pub fn can_undo(&self) -> bool {
        self.document.history.can_undo()
    }
    pub fn can_redo(&self) -> bool {
        self.document.history.can_redo()
    }

    pub(super) fn update_edit(&mut self, msg: EditMsg) -> Vec<Effect> {
        match msg {
            EditMsg::Undo => self.travel(History::undo),
            EditMsg::Redo => self.travel(History::redo),
            EditMsg::FieldLeft => {
                self.document.history.end_run();
                vec![]
            }
            EditMsg::Play(mv) => self.play(mv),
            EditMsg::AddWalked => self.add_walked(),
            EditMsg::Claim(node, claim) => self.claim(node, claim),
            EditMsg::ShiftHere(by) => self.edit_here(|node| Edit::Shift { node, by }),
            EditMsg::CutHere => self.edit_here(|node| Edit::Remove { node }),
            EditMsg::CopyLine => self.copy_line(),
            EditMsg::CutLine => self.cut_line(),
            EditMsg::PasteLine => self.paste_line(),
            EditMsg::Glyph(sign) => self.glyph(sign),
            EditMsg::Glyphs(nags) => self.set_glyphs(nags),
            EditMsg::Words { node, text } => self.write_words(node, &text),
            EditMsg::WordsBefore { node, text } => {
                let run = self.document.work.open.map(|id| Run::WordsBefore(id, node));
                let comments = comments(&text);
                self.edit(&[Edit::SetBefore { node, comments }], run)
            }
            EditMsg::Tag { name, value } => {
                let run = self.document.work.open.map(|id| Run::Tag(id, name.clone()));
                let value = (!value.is_empty()).then_some(value);
                self.edit(&[Edit::SetTag { name, value }], run)
            }
            EditMsg::Draw(mark) => self.draw(mark),
            EditMsg::Wipe => self.wipe(),
            EditMsg::Mend(edits) => self.edit(&edits, None),
            EditMsg::Setup(change) => self.change_setup(&change),
        }
    }
    /// Changes the move one is at, unless that is the start.
    fn edit_here(&mut self, edit: impl Fn(NodeId) -> Edit) -> Vec<Effect> {
        match self.document.work.at {
            NodeId::ROOT => vec![],
            node => self.edit(&[edit(node)], None),
        }
    }
    fn change_setup(&mut self, change: &SetupChange) -> Vec<Effect> {
        let Some(setup) = self.setup() else {
            return vec![];
        };
        let fen = Some(setup.change(change).text);
        let run = match change {
            SetupChange::Text(_) => self.document.work.open.map(Run::Fen),
            _ => None,
        };
        self.edit(&[Edit::SetStart { fen }], run)
    }
}
