//! Walking and changing the tree of the open puzzle, and showing lines.

use keyproof::draft::{Edit, NodeId};
use keyproof::notation::{fen, moves};
use shakmaty::{Move, Position};

use super::{Desk, SHOW_PACE, Showing};
use crate::book;
use crate::message::{BoardMsg, Effect, Msg, TreeStep};

impl Desk {
    pub(super) fn go(&mut self, node: NodeId) {
        let Some(sheet) = self.document.work.opened() else {
            return;
        };
        let Some(there) = sheet.draft.node(node) else {
            return;
        };
        if node != NodeId::ROOT {
            self.board.trail.insert((sheet.id, there.parent), node);
        }
        self.document.work.at = node;
        self.games.glimpsed = None;
        self.board.showing = None;
        self.board.setting_up = false;
        self.document.history.end_run();
    }
    pub(super) fn walk(&mut self, way: TreeStep) {
        self.games.glimpsed = None;
        if let Some(showing) = &mut self.board.showing {
            showing.walk(way);
            return;
        }
        let Some(sheet) = self.document.work.opened() else {
            return;
        };
        let draft = &sheet.draft;
        let Some(here) = draft.node(self.document.work.at) else {
            return;
        };
        let forward = |at: NodeId| {
            let node = draft.node(at)?;
            let last = self
                .board
                .trail
                .get(&(sheet.id, at))
                .filter(|c| node.children.contains(c));
            last.or(node.children.first()).copied()
        };
        let sibling = |by: isize| {
            let siblings = &draft.node(here.parent)?.children;
            let place = siblings.iter().position(|&c| c == self.document.work.at)?;
            siblings.get(place.checked_add_signed(by)?).copied()
        };
        let to = match way {
            TreeStep::Back => Some(here.parent),
            TreeStep::Forward => forward(self.document.work.at),
            TreeStep::Up => sibling(-1),
            TreeStep::Down => sibling(1),
            TreeStep::Start => Some(NodeId::ROOT),
            TreeStep::End => {
                std::iter::successors(Some(self.document.work.at), |&at| forward(at)).last()
            }
        };
        if let Some(node) = to {
            self.go(node);
        }
    }
    pub(super) fn play(&mut self, mv: Move) -> Vec<Effect> {
        let at = self.document.work.at;
        let Some((sheet, model)) = self.opened() else {
            return vec![];
        };
        let Some(position) = model.position(at).filter(|p| p.is_legal(mv)) else {
            return vec![];
        };
        let known = sheet.draft.node(at).and_then(|n| {
            n.children
                .iter()
                .copied()
                .find(|&c| model.mv(c) == Some(mv))
        });
        if let Some(child) = known {
            self.go(child);
            return vec![];
        }
        let san = moves::san(position, mv);
        let edit = Edit::AddLine {
            at,
            moves: vec![san],
            nags: vec![],
        };
        let effects = self.edit(&[edit], None);
        let added = self
            .opened()
            .and_then(|(sheet, _)| sheet.draft.node(at)?.children.last().copied());
        if let Some(added) = added {
            self.go(added);
        }
        effects
    }
    pub(super) fn claim(&mut self, node: NodeId, claim: book::Claim) -> Vec<Effect> {
        let Some(there) = self.document.work.opened().and_then(|s| s.draft.node(node)) else {
            return vec![];
        };
        let nags = book::claim(&there.nags, claim);
        self.edit(&[Edit::SetNags { node, nags }], None)
    }
    pub(super) fn show(&mut self, node: NodeId, line: &[String]) -> Vec<Effect> {
        self.games.glimpsed = None;
        let Some((_, model)) = self.opened() else {
            return vec![];
        };
        let Some(start) = model.position(node) else {
            return vec![];
        };
        let mut positions = vec![start.clone()];
        let mut played = Vec::new();
        for text in line {
            let here = positions.last().expect("the start at least");
            let Ok(mv) = moves::read(here, text) else {
                break;
            };
            let mut next = here.clone();
            next.play_unchecked(mv);
            played.push(mv);
            positions.push(next);
        }
        let token = self.page.token();
        self.board.setting_up = false;
        self.board.showing = Some(Showing {
            node,
            moves: played,
            positions,
            at: 0,
            marks: None,
            token,
        });
        vec![
            Effect::Focus("show-end"),
            Effect::Later(SHOW_PACE, Msg::Board(BoardMsg::ShowNext(token))),
        ]
    }
    pub(super) fn show_next(&mut self, token: u32) -> Vec<Effect> {
        match &mut self.board.showing {
            Some(showing) if showing.token == token && showing.at < showing.moves.len() => {
                showing.at += 1;
                vec![Effect::Later(
                    SHOW_PACE,
                    Msg::Board(BoardMsg::ShowNext(token)),
                )]
            }
            _ => vec![],
        }
    }
    pub(super) fn board_fen(&self) -> Option<String> {
        let (sheet, model) = self.opened()?;
        match model.position(self.document.work.at) {
            Some(position) => Some(fen::write(position)),
            None => sheet.draft.start_fen().map(str::to_owned),
        }
    }
}
