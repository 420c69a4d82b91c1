//! Walking the proof: a move is played on the board as a line that is only
//! shown, and added to the solution when the author says so.

use keyproof::aim::Aim;
use keyproof::check::Question;
use keyproof::draft::{Draft, Edit, NodeId};
use keyproof::notation::moves;
use keyproof::puzzle::{Role, Stipulation};
use shakmaty::{Chess, Move, Position};

use super::{Desk, Showing};
use crate::message::Effect;
use crate::proof::{Place, State, after};
use crate::proving::Agenda;
use crate::view_model::stipulation;
use crate::work::SheetId;

impl Desk {
    /// Whether the open puzzle asks for mate, so that its proof can be walked.
    pub fn has_proof(&self) -> bool {
        self.asked_moves().is_some() && self.setup().is_none()
    }
    /// Whether the proof is unfolded.
    pub fn proof_open(&self) -> bool {
        self.checking.proof_open
    }
    /// Where the board stands in the proof; `None` if no legal position is on
    /// it.
    pub fn place(&self) -> Option<Place<'_>> {
        let (position, plies) = match &self.board.showing {
            Some(showing) => (
                &showing.positions[showing.at],
                self.plies(showing.node)? + showing.at,
            ),
            None => {
                let at = self.document.work.at;
                (self.opened()?.1.position(at)?, self.plies(at)?)
            }
        };
        Some(self.asked_moves()?.place(position, plies))
    }
    /// Whether what is asked at this place is being proved or waits for it.
    pub fn is_proving(&self) -> bool {
        let questions = self.proof_questions();
        self.document.work.open.is_some_and(|sheet| {
            !self.checking.bench.is_empty()
                && self
                    .checking
                    .bench
                    .has_work(&self.proof_agenda(sheet, &questions))
        })
    }
    /// How many workers are at it, and the positions they have seen.
    pub fn proof_at_work(&self) -> (usize, u64) {
        let questions = self.proof_questions();
        self.document.work.open.map_or((0, 0), |sheet| {
            self.checking
                .bench
                .at_work(&self.proof_agenda(sheet, &questions))
        })
    }
    /// The moves walked from a node of the tree, and how many of them are
    /// played.
    pub fn walked(&self) -> (NodeId, &[Move], usize) {
        match &self.board.showing {
            Some(showing) => (showing.node, &showing.moves, showing.at),
            None => (self.document.work.at, &[], 0),
        }
    }
    /// Whether the line walked stands in the solution as far as it is played.
    pub fn walked_is_listed(&self) -> bool {
        let (from, moves, at) = self.walked();
        self.listed(from, &moves[..at]).1 == at
    }

    pub(super) fn proof_questions(&self) -> Vec<Question> {
        if !self.checking.proof_open || self.board.setting_up {
            return Vec::new();
        }
        match (self.opened(), self.place()) {
            (Some((_, model)), Some(place)) => place.questions(&model.known),
            _ => Vec::new(),
        }
    }
    pub(super) fn proof_agenda<'a>(&self, sheet: SheetId, questions: &'a [Question]) -> Agenda<'a> {
        Agenda {
            sheet,
            questions,
            budget: self.budget(sheet),
        }
    }
    /// Plays a move on the board, only to show it.
    pub(super) fn step(&mut self, mv: Move) -> Vec<Effect> {
        let Some(place) = self.place().filter(|p| p.position.is_legal(mv)) else {
            return vec![];
        };
        let (here, next) = (place.position.clone(), after(place.position, mv));
        let node = self.document.work.at;
        let showing = self.board.showing.get_or_insert_with(|| Showing {
            node,
            moves: Vec::new(),
            positions: vec![here],
            at: 0,
            marks: None,
            token: 0,
        });
        showing.moves.truncate(showing.at);
        showing.positions.truncate(showing.at + 1);
        showing.moves.push(mv);
        showing.positions.push(next);
        showing.go(showing.at + 1);
        vec![Effect::Focus("proof-here")]
    }
    /// Adds the line walked, as far as it is played, to the solution and goes
    /// to its end. Moves that are proved to be right or wrong are marked so
    /// where their place would say otherwise.
    pub(super) fn add_walked(&mut self) -> Vec<Effect> {
        let Some(showing) = &self.board.showing else {
            return vec![];
        };
        let line = showing.moves[..showing.at].to_vec();
        let (from, there) = self.listed(showing.node, &line);
        let mut end = from;
        let mut effects = Vec::new();
        if there < line.len() {
            let edit = Edit::AddLine {
                at: from,
                moves: self.marked(from, there),
                nags: vec![],
            };
            effects = self.edit(&[edit], None);
            end = self.listed(from, &line[there..]).0;
        }
        self.go(end);
        effects.push(Effect::Focus("move-here"));
        effects
    }

    /// The new moves of the line that is shown, from the `there`th on, played
    /// below `from`, with the marks that tell what is proved of them.
    fn marked(&self, from: NodeId, there: usize) -> Vec<String> {
        let (Some(showing), Some(asked)) = (&self.board.showing, self.asked_moves()) else {
            return Vec::new();
        };
        let (Some((sheet, model)), Some(start)) = (self.opened(), self.plies(showing.node)) else {
            return Vec::new();
        };
        let alone = sheet.draft.node(from).is_none_or(|n| n.children.is_empty());
        let mut failed = model.role(from) == Some(Role::Try);
        (there..showing.at)
            .map(|i| {
                let (position, mv) = (&showing.positions[i], showing.moves[i]);
                let place = asked.place(position, start + i);
                let (first, wrong) = (i == there && !alone, failed);
                let state = place.state(&model.known, mv);
                failed = place.solving && matches!(state, State::Fails { .. });
                let mark = match (&state, place.solving) {
                    (State::Fails { .. }, true) => "?",
                    (State::Mates { .. }, true) if first => "!",
                    (State::Mates { .. }, false) if wrong => "?",
                    _ => "",
                };
                moves::san(position, mv) + mark
            })
            .collect()
    }
    /// How far a line stands in the tree: the last node, and how many moves.
    fn listed(&self, from: NodeId, line: &[Move]) -> (NodeId, usize) {
        let mut node = from;
        let Some((sheet, model)) = self.opened() else {
            return (node, 0);
        };
        for (i, &mv) in line.iter().enumerate() {
            let children = sheet.draft.node(node).map_or(&[][..], |n| &n.children);
            match children.iter().find(|&&c| model.mv(c) == Some(mv)) {
                Some(&child) => node = child,
                None => return (node, i),
            }
        }
        (node, line.len())
    }
    fn asked_moves(&self) -> Option<Asked> {
        match stipulation(&self.document.work.opened()?.draft)? {
            Stipulation::Forced(Aim::Mate, n) => Some(Asked(n)),
            _ => None,
        }
    }
    /// Moves of both sides from the start to a node.
    fn plies(&self, node: NodeId) -> Option<usize> {
        depth(&self.document.work.opened()?.draft, node)
    }
}

/// The moves that the stipulation grants the solver.
#[derive(Clone, Copy)]
struct Asked(u8);

impl Asked {
    fn place(self, position: &Chess, plies: usize) -> Place<'_> {
        let used = u8::try_from(plies.div_ceil(2)).unwrap_or(u8::MAX);
        Place {
            position,
            left: self.0.saturating_sub(used),
            solving: plies.is_multiple_of(2),
        }
    }
}

fn depth(draft: &Draft, node: NodeId) -> Option<usize> {
    let mut here = node;
    let mut depth = 0;
    while here != NodeId::ROOT {
        here = draft.node(here)?.parent;
        depth += 1;
    }
    Some(depth)
}
