//! Looking around once a puzzle is done with: through its solution, and off it
//! by any legal move. Plain Rust without a browser.

use model::draft::NodeId;
use model::puzzle::Puzzle;
use shakmaty::{Chess, Move, Position};

use crate::event::Event;
use crate::words;

/// Where the student looks.
#[derive(Clone, Debug)]
pub struct Viewpoint {
    /// The place in the author's tree.
    node: NodeId,
    /// Moves of his own from there, and the positions after them.
    off: Vec<(Move, Chess)>,
}

impl Viewpoint {
    /// At a place of the author's tree.
    pub fn at(node: NodeId) -> Viewpoint {
        Viewpoint {
            node,
            off: Vec::new(),
        }
    }

    pub fn position<'a>(&'a self, puzzle: &'a Puzzle) -> &'a Chess {
        match self.off.last() {
            Some((_, position)) => position,
            None => puzzle.position(self.node),
        }
    }

    /// The move that led to the position.
    pub fn last(&self, puzzle: &Puzzle) -> Option<Move> {
        match self.off.last() {
            Some((mv, _)) => Some(*mv),
            None => (self.node != NodeId::ROOT).then(|| puzzle.node(self.node).mv),
        }
    }

    /// Goes to a place, one move on along the solution, or one back; or plays
    /// any legal move, along the tree where that has it.
    pub fn update(&mut self, puzzle: &Puzzle, event: Event) {
        match event {
            Event::Look(node) => *self = Viewpoint::at(node),
            Event::LookOn => self.node = self.next(puzzle).unwrap_or(self.node),
            Event::LookBack => {
                let own = self.off.pop();
                if own.is_none() && self.node != NodeId::ROOT {
                    self.node = puzzle.node(self.node).parent;
                }
            }
            Event::Play(mv) => {
                let listed = puzzle.child(self.node, mv);
                let mut after = self.position(puzzle).clone();
                match listed.filter(|_| self.off.is_empty()) {
                    Some(child) => self.node = child,
                    None if after.is_legal(mv) => {
                        after.play_unchecked(mv);
                        self.off.push((mv, after));
                    }
                    None => {}
                }
            }
            _ => {}
        }
    }

    /// Whether there is a move on, and a move back.
    pub fn ways(&self, puzzle: &Puzzle) -> (bool, bool) {
        let back = self.node != NodeId::ROOT || !self.off.is_empty();
        (self.next(puzzle).is_some(), back)
    }

    /// The student's own moves since he left the solution, or the move of it
    /// that was played last, with numbers; `passed` moves are not counted.
    pub fn told(&self, puzzle: &Puzzle, passed: u32) -> String {
        let mut told = String::new();
        let mut before = puzzle.position(self.node);
        if self.off.is_empty() && self.node != NodeId::ROOT {
            let node = puzzle.node(self.node);
            return words::numbered(puzzle.position(node.parent), node.mv, passed);
        }
        for (mv, after) in &self.off {
            words::go_on(&mut told, before, *mv, passed);
            before = after;
        }
        told
    }

    fn next(&self, puzzle: &Puzzle) -> Option<NodeId> {
        let next = puzzle.children(self.node).first().copied();
        next.filter(|_| self.off.is_empty())
    }
}
