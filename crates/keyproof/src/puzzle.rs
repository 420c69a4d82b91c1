//! A puzzle: a legal position, a stipulation, a solution tree in which every
//! move is legal and has a role, and words for the student.

use shakmaty::{Chess, Color, Move};

use crate::draft::{Draft, MoveFault, NodeId, Resolution};
use crate::notation::fen::FenFault;

/// What the solver must do.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Stipulation {
    /// `#n`: mate in n moves.
    Mate(u8),
    /// `+`: win.
    Win,
    /// `=`: draw.
    Draw,
    /// `bm`: find the best move.
    Best,
}

/// What a move of the solution tree claims.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Role {
    /// A first move of the solver that meets the stipulation.
    Key,
    /// A later move of the solver that still meets it.
    Continuation,
    /// A tempting move of the solver that fails.
    Try,
    /// A move of the other side, to be answered.
    Defence,
    /// The reply that makes a try fail.
    Refutation,
    /// A side move of the solver without a glyph: the author must say whether
    /// it is accepted or a try.
    Unclear,
    /// No claim: what follows a refutation or an unclear move.
    Aside,
}

/// A move of the solution tree.
#[derive(Clone, Debug)]
pub struct PuzzleNode {
    pub parent: NodeId,
    /// What follows, the main line first.
    pub children: Vec<NodeId>,
    pub mv: Move,
    /// The position after the move.
    pub after: Chess,
    pub role: Role,
    /// The author's words before and after the move.
    pub before: Vec<String>,
    pub words: Vec<String>,
}

/// Which defences the student must answer.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Asked {
    /// Every defence the author listed, each in turn (the default).
    #[default]
    Each,
    /// Only the first defence listed at each turn.
    Main,
}

/// A legal puzzle. Made only by [`Puzzle::from_draft`].
#[derive(Clone, Debug)]
pub struct Puzzle {
    start: Chess,
    stipulation: Stipulation,
    unique: bool,
    asked: Asked,
    first: Vec<NodeId>,
    nodes: Vec<Option<PuzzleNode>>,
    tags: Vec<(String, String)>,
    words: Vec<String>,
}

/// Why a draft is no puzzle.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum DraftFault {
    IllegalPosition(FenFault),
    MissingStipulation,
    UnknownStipulation(String),
    IllegalMove(NodeId, MoveFault),
}

impl Puzzle {
    /// Turns a draft into a puzzle.
    ///
    /// # Errors
    /// All faults of the draft at once.
    pub fn from_draft(_draft: &Draft, _resolution: &Resolution) -> Result<Puzzle, Vec<DraftFault>> {
        todo!()
    }
    /// The position to be solved.
    pub fn start(&self) -> &Chess {
        &self.start
    }
    pub fn stipulation(&self) -> Stipulation {
        self.stipulation
    }
    /// The side that solves.
    pub fn solver(&self) -> Color {
        use shakmaty::Position;
        self.start.turn()
    }
    /// Whether the author asks for a single right move at every turn.
    pub fn unique(&self) -> bool {
        self.unique
    }
    pub fn asked(&self) -> Asked {
        self.asked
    }
    /// The words before the first move.
    pub fn words(&self) -> &[String] {
        &self.words
    }
    /// A tag's value, if set and not empty.
    pub fn tag(&self, name: &str) -> Option<&str> {
        self.tags.iter().find(|(n, _)| n == name).map(|(_, v)| v.as_str()).filter(|v| !v.is_empty())
    }
    /// The moves that follow a node, the main line first.
    pub fn children(&self, id: NodeId) -> &[NodeId] {
        if id == NodeId::ROOT { &self.first } else { &self.node(id).children }
    }
    /// A move of the tree. Panics for the root and for foreign ids.
    pub fn node(&self, id: NodeId) -> &PuzzleNode {
        self.nodes[id.0 as usize].as_ref().expect("a node of this puzzle")
    }
    /// The position at a node.
    pub fn position(&self, id: NodeId) -> &Chess {
        if id == NodeId::ROOT { &self.start } else { &self.node(id).after }
    }
    /// The child of a node that plays this move.
    pub fn child(&self, id: NodeId, mv: Move) -> Option<NodeId> {
        self.children(id).iter().copied().find(|&c| self.node(c).mv == mv)
    }
    /// The moves from the start to a node.
    pub fn path(&self, _id: NodeId) -> Vec<Move> {
        todo!()
    }
    /// The task in words: "White to move and mate in 2."
    pub fn task(&self) -> String {
        todo!()
    }
}
