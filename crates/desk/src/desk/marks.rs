//! Marks that the author draws on the board. They stand at the end of the words
//! of the move he is at.

use keyproof::draft::{Edit, NodeId};
use keyproof::marks::{self, LineKind, Mark};

use super::{Desk, Run};
use crate::message::Effect;
use crate::work::{comments, drawn};

/// With what marks are drawn.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Pencil {
    /// Drags draw, also without Shift.
    pub up: bool,
    pub kind: LineKind,
}

impl Desk {
    pub fn pencil(&self) -> Pencil {
        self.board.pencil
    }
    /// The marks at a node of the open puzzle.
    pub fn drawn(&self, node: NodeId) -> Vec<Mark> {
        let sheet = self.document.work.opened();
        let node = sheet.and_then(|sheet| sheet.draft.node(node));
        node.map_or_else(Vec::new, drawn)
    }
    /// Draws a mark. The same mark again goes; on the same squares it takes the
    /// place of another.
    pub(super) fn draw(&mut self, mark: Mark) -> Vec<Effect> {
        let mut all = self.drawn(self.document.work.at);
        let was = all.iter().position(|other| other.covers(mark));
        match was.map(|place| all.remove(place)) {
            Some(same) if same == mark => {}
            _ => all.push(mark),
        }
        self.set_marks(&all)
    }
    pub(super) fn wipe(&mut self) -> Vec<Effect> {
        match self.drawn(self.document.work.at).is_empty() {
            true => vec![],
            false => self.set_marks(&[]),
        }
    }
    /// Writes the words after a move; its marks stay behind them.
    pub(super) fn write_words(&mut self, node: NodeId, text: &str) -> Vec<Effect> {
        let run = self.document.work.open.map(|id| Run::Words(id, node));
        let comments = marks::joined(comments(text), &self.drawn(node));
        self.edit(&[Edit::SetAfter { node, comments }], run)
    }

    fn set_marks(&mut self, all: &[Mark]) -> Vec<Effect> {
        let node = self.document.work.at;
        let there = self
            .document
            .work
            .opened()
            .and_then(|sheet| sheet.draft.node(node));
        let Some(there) = there else {
            return vec![];
        };
        let (words, _) = marks::split(&there.after);
        let comments = marks::joined(words, all);
        self.edit(&[Edit::SetAfter { node, comments }], None)
    }
}

#[cfg(test)]
mod tests {
    use keyproof::notation::pgn_write;
    use shakmaty::Square;

    use super::super::tests::{bring, desk, run};
    use super::*;
    use crate::message::{BoardMsg, EditMsg, Msg, TreeStep};

    fn ring(square: Square, kind: LineKind) -> Msg {
        Msg::Edit(EditMsg::Draw(Mark::Ring { square, kind }))
    }
    fn after(desk: &Desk) -> Vec<String> {
        let sheet = desk.work().opened().unwrap();
        sheet.draft.node(desk.work().at).unwrap().after.clone()
    }

    #[test]
    fn marks_are_kept_behind_the_words_and_can_be_taken_away() {
        let mut desk = desk();
        bring(&mut desk, "1. e4 {Out.} e5 *");
        run(&mut desk, Msg::Board(BoardMsg::Walk(TreeStep::Forward)));
        run(&mut desk, ring(Square::D5, LineKind::Answer));
        let line = Mark::Line {
            from: Square::F1,
            to: Square::C4,
            kind: LineKind::Try,
        };
        run(&mut desk, Msg::Edit(EditMsg::Draw(line)));
        assert_eq!(
            after(&desk),
            ["Out.", "Board: ring d5, dashed arrow f1 to c4."]
        );
        let node = desk.work().at;
        let text = "Out it comes. ".to_owned();
        run(&mut desk, Msg::Edit(EditMsg::Words { node, text }));
        assert_eq!(after(&desk)[0], "Out it comes. ", "as it was typed");
        assert_eq!(desk.drawn(node).len(), 2);
        run(&mut desk, ring(Square::D5, LineKind::Threat));
        assert_eq!(
            after(&desk)[1],
            "Board: dashed arrow f1 to c4, dotted ring d5."
        );
        run(&mut desk, Msg::Edit(EditMsg::Draw(line)));
        assert_eq!(after(&desk)[1], "Board: dotted ring d5.");
        run(&mut desk, Msg::Edit(EditMsg::Wipe));
        assert_eq!(after(&desk), ["Out it comes. "]);
        run(&mut desk, Msg::Edit(EditMsg::Undo));
        run(&mut desk, Msg::Edit(EditMsg::Undo));
        assert_eq!(desk.drawn(node).len(), 2);
        let sheet = desk.work().opened().unwrap();
        assert!(
            pgn_write::write(&sheet.draft).contains("{Board: dashed arrow f1 to c4, dotted ring")
        );
    }

    #[test]
    fn a_mark_written_in_words_is_one() {
        let mut desk = desk();
        bring(&mut desk, "1. e4 *");
        let node = NodeId::ROOT;
        let text = "Begin. Board: ring e2.".to_owned();
        run(&mut desk, Msg::Edit(EditMsg::Words { node, text }));
        assert_eq!(desk.drawn(node).len(), 1);
        run(&mut desk, Msg::Edit(EditMsg::Wipe));
        assert_eq!(after(&desk), ["Begin."]);
    }
}
