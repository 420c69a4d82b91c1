//! Where one stands, and what is shown on the board without being part of a
//! puzzle.

use std::collections::HashMap;

use keyproof::draft::NodeId;
use keyproof::marks::Mark;
use shakmaty::{Chess, Move};

use super::Desk;
use super::folds::Folds;
use super::marks::Pencil;
use crate::leaf::Leaf;
use crate::message::{BoardMsg, Effect, TreeStep};
use crate::setup::Setup;
use crate::work::SheetId;

/// A line being shown on the board.
#[derive(Clone, Debug)]
pub struct Showing {
    pub node: NodeId,
    pub moves: Vec<Move>,
    /// The positions before the first move and after each.
    pub positions: Vec<Chess>,
    /// Moves played so far.
    pub at: usize,
    /// Marks for the position after so many moves.
    pub(super) marks: Option<(usize, Vec<Mark>)>,
    pub(super) token: u32,
}

impl Showing {
    /// Shows the position after `at` moves, and plays no further by itself.
    pub(super) fn go(&mut self, at: usize) {
        self.at = at.min(self.moves.len());
        self.token = 0;
    }
    pub(super) fn walk(&mut self, way: TreeStep) {
        match way {
            TreeStep::Back => self.go(self.at.saturating_sub(1)),
            TreeStep::Forward => self.go(self.at + 1),
            TreeStep::Start => self.go(0),
            TreeStep::End => self.go(self.moves.len()),
            TreeStep::Up | TreeStep::Down => {}
        }
    }
}

/// What the board shows, and how one goes about the trees.
#[derive(Default)]
pub(super) struct Board {
    /// The child last gone to from a node of a puzzle.
    pub trail: HashMap<(SheetId, NodeId), NodeId>,
    pub folds: HashMap<SheetId, Folds>,
    pub setting_up: bool,
    pub showing: Option<Showing>,
    pub turned: bool,
    pub pencil: Pencil,
}

impl Desk {
    /// The position being set up, if the open puzzle is at that.
    pub fn setup(&self) -> Option<Setup> {
        let sheet = self
            .document
            .work
            .opened()
            .filter(|_| self.board.setting_up)?;
        Some(Setup::of(sheet.draft.start_fen()))
    }
    pub fn showing(&self) -> Option<&Showing> {
        self.board.showing.as_ref()
    }
    /// Whether the author turned the board away from the solver's side.
    pub fn turned(&self) -> bool {
        self.board.turned
    }

    pub(super) fn update_board(&mut self, msg: BoardMsg) -> Vec<Effect> {
        match msg {
            BoardMsg::Go(node) => return self.go_to(node),
            BoardMsg::GoRead(node) => {
                self.go(node);
                return self.go_to_field("move-here");
            }
            BoardMsg::ReadFound(node) => {
                self.go(node);
                self.turn_to(Leaf::Check);
            }
            BoardMsg::Walk(way) => self.walk(way),
            BoardMsg::Fold(node) => return self.fold(node),
            BoardMsg::FoldHere => return self.fold(self.document.work.at),
            BoardMsg::FoldAll(fold) => return self.fold_all(fold),
            BoardMsg::Pencil(up) => self.board.pencil.up = up,
            BoardMsg::Stroke(kind) => self.board.pencil.kind = kind,
            BoardMsg::SetUp(on) => self.set_up(on),
            BoardMsg::TurnBoard => self.board.turned = !self.board.turned,
            BoardMsg::Show { node, line } => return self.show(node, &line),
            BoardMsg::ShowTo(at) => {
                if let Some(showing) = &mut self.board.showing {
                    showing.go(at);
                }
            }
            BoardMsg::ShowNext(token) => return self.show_next(token),
            BoardMsg::ShowEnd => {
                let shown = self.board.showing.take();
                return shown.map_or_else(Vec::new, |_| vec![Effect::Focus("move-here")]);
            }
            BoardMsg::Why(index) => return self.show_why(index),
            BoardMsg::Threat { after, index } => return self.show_threat(after, index),
            BoardMsg::Step(mv) => return self.step(mv),
        }
        vec![]
    }
    /// Goes to a move; to its words where one stands there already.
    fn go_to(&mut self, node: NodeId) -> Vec<Effect> {
        let again = self.document.work.at == node && self.board.showing.is_none();
        self.go(node);
        match again {
            true => self.go_to_field("words-here"),
            false => vec![],
        }
    }
    fn set_up(&mut self, on: bool) {
        self.board.setting_up = on;
        self.board.showing = None;
        self.document.history.end_run();
        if on {
            self.document.work.at = NodeId::ROOT;
        }
    }
}
