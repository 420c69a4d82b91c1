//! A draft with every move tried on the board and, where it is one, its puzzle:
//! made once, and handed on to all that look at it.

use shakmaty::Chess;

use crate::draft::{Draft, MoveFault, Node, NodeId, Resolution, Step};
use crate::notation::fen::FenFault;
use crate::puzzle::{DraftFault, Puzzle};

/// A draft that has been tried on the board.
#[derive(Clone, Debug)]
pub struct Resolved {
    draft: Draft,
    resolution: Resolution,
    puzzle: Result<Puzzle, Vec<DraftFault>>,
}

impl Resolved {
    /// Tries every move of a draft.
    pub fn of(draft: &Draft) -> Resolved {
        Resolved::new(draft.clone(), draft.resolve())
    }

    fn new(draft: Draft, resolution: Resolution) -> Resolved {
        Resolved {
            puzzle: Puzzle::read(&draft, &resolution),
            draft,
            resolution,
        }
    }

    /// The same moves with other words and tags, as `draft` has them, which is a
    /// copy of this one that was reworded. No move is tried again.
    pub fn in_words_of(&self, draft: Draft) -> Resolved {
        Resolved::new(draft, self.resolution.clone())
    }

    /// Takes over the comments that a node has elsewhere.
    pub fn reword(&mut self, id: NodeId, from: &Node) {
        self.draft.reword(id, from);
        if let Ok(puzzle) = &mut self.puzzle {
            puzzle.reword(id, from);
        }
    }

    /// The draft.
    pub fn draft(&self) -> &Draft {
        &self.draft
    }

    /// The draft's moves on the board.
    pub fn resolution(&self) -> &Resolution {
        &self.resolution
    }

    /// The start position.
    ///
    /// # Errors
    /// What is wrong with it, if it cannot be played from.
    pub fn start(&self) -> Result<&Chess, &FenFault> {
        self.resolution.start.as_ref()
    }

    /// The position at a node, if it can be reached by legal moves.
    pub fn position(&self, id: NodeId) -> Option<&Chess> {
        self.resolution.position(id)
    }

    /// The move at a node and the position after it, if it can be played.
    pub fn step(&self, id: NodeId) -> Option<&Step> {
        self.resolution.steps.get(id.0 as usize)?.as_ref()
    }

    /// Moves that cannot be played, in reading order.
    pub fn faults(&self) -> &[(NodeId, MoveFault)] {
        &self.resolution.faults
    }

    /// The main line from the start, the root first, as far as its moves are
    /// legal; empty if the start position is not.
    pub fn main_line(&self) -> Vec<NodeId> {
        let mut line = Vec::new();
        let mut next = Some(NodeId::ROOT);
        while let Some(at) = next.filter(|&at| self.position(at).is_some()) {
            line.push(at);
            next = self
                .draft
                .node(at)
                .and_then(|n| n.children.first().copied());
        }
        line
    }

    /// The puzzle.
    ///
    /// # Errors
    /// All that keeps the draft from being one.
    pub fn puzzle(&self) -> Result<&Puzzle, &[DraftFault]> {
        self.puzzle.as_ref().map_err(Vec::as_slice)
    }

    /// The puzzle, of which nothing else is needed.
    ///
    /// # Errors
    /// All that keeps the draft from being one.
    pub fn into_puzzle(self) -> Result<Puzzle, Vec<DraftFault>> {
        self.puzzle
    }
}
