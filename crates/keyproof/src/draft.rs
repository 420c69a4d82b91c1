//! A draft: anything an author may type, legal or not, and every edit of it.
//!
//! A [`Draft`] is one PGN game as it stands in the file or on the page. Moves
//! are kept as typed; whether they are legal is found out by
//! [`Draft::resolve`]. Copies are cheap (nodes are shared), so undo keeps whole
//! drafts.

use std::sync::Arc;

use shakmaty::{Chess, Move};

use crate::notation::{Place, fen::FenFault};

/// Names a node of a draft. Ids stay valid for the life of the draft, also
/// when other nodes are removed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct NodeId(pub u32);

impl NodeId {
    /// The start position, before any move.
    pub const ROOT: NodeId = NodeId(0);
}

/// A move as typed, with its words and what follows it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Node {
    /// The node before this one; the root is its own parent.
    pub parent: NodeId,
    /// What follows, the main line first.
    pub children: Vec<NodeId>,
    /// The move as typed, without move number and without `!`/`?`; empty at
    /// the root.
    pub text: String,
    /// Numeric annotation glyphs, in the order written.
    pub nags: Vec<u8>,
    /// Comments that stand before the move (only where a line starts).
    pub before: Vec<String>,
    /// Comments that stand after the move; at the root, before the first move.
    pub after: Vec<String>,
    /// Where the move stood in the text it was read from.
    pub place: Option<Place>,
}

/// One PGN game as a tree of typed moves.
#[derive(Clone, Debug)]
pub struct Draft {
    tags: Vec<(String, String)>,
    nodes: Vec<Arc<Node>>,
    /// The game termination as written: `1-0`, `0-1`, `1/2-1/2` or `*`.
    pub result: String,
}

/// A move of a draft that proved legal.
#[derive(Clone, Debug)]
pub struct Step {
    /// The move played.
    pub mv: Move,
    /// The position after it.
    pub after: Chess,
}

/// Why a typed move cannot be played.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum MoveFault {
    /// The text is no move in any notation Keyproof reads.
    Unreadable,
    /// The text reads as a move that is not legal here. Holds the SAN of
    /// legal moves that come close (same piece or same square), best first.
    Illegal { near: Vec<String> },
    /// The text fits several legal moves, in SAN.
    Ambiguous { fits: Vec<String> },
}

/// A draft with every move tried on the board.
#[derive(Clone, Debug)]
pub struct Resolution {
    /// The start position, or what is wrong with it.
    pub start: Result<Chess, FenFault>,
    /// For each node id: the move and the position after it, if all moves up
    /// to there are legal. The root and removed nodes hold `None`.
    pub steps: Vec<Option<Step>>,
    /// Moves that cannot be played, in reading order. What follows such a
    /// move is not tried.
    pub faults: Vec<(NodeId, MoveFault)>,
}

impl Resolution {
    /// The position at a node, if it can be reached by legal moves.
    pub fn position(&self, id: NodeId) -> Option<&Chess> {
        if id == NodeId::ROOT {
            return self.start.as_ref().ok();
        }
        self.steps.get(id.0 as usize)?.as_ref().map(|s| &s.after)
    }
}

/// One change to a draft. Every mend and every action of the authoring page
/// is a list of these.
#[derive(Clone, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum Edit {
    /// Sets a tag pair, or removes it when the value is `None`.
    SetTag { name: String, value: Option<String> },
    /// Replaces the annotation glyphs of a move.
    SetNags { node: NodeId, nags: Vec<u8> },
    /// Replaces the comments after a move (at the root: before the first).
    SetAfter { node: NodeId, comments: Vec<String> },
    /// Replaces the comments before a move that starts a line.
    SetBefore { node: NodeId, comments: Vec<String> },
    /// Replaces the typed move.
    SetMove { node: NodeId, text: String },
    /// Adds a line below `at`. Moves already there (by text, check marks
    /// aside) are followed, not repeated. `nags` go to the first move.
    AddLine {
        at: NodeId,
        moves: Vec<String>,
        nags: Vec<u8>,
    },
    /// Removes a move and all that follows it.
    Remove { node: NodeId },
    /// Removes what follows a move.
    RemoveAfter { node: NodeId },
    /// Moves a line one place up (`-1`) or down (`1`) among its siblings.
    Shift { node: NodeId, by: i32 },
    /// Makes a move the first of its siblings.
    MakeMain { node: NodeId },
    /// Sets the start position (FEN; `None` for the initial position). The
    /// moves stay as typed.
    SetStart { fen: Option<String> },
}

impl Draft {
    /// An empty draft at the initial position.
    pub fn new() -> Draft {
        let root = Node {
            parent: NodeId::ROOT,
            children: vec![],
            text: String::new(),
            nags: vec![],
            before: vec![],
            after: vec![],
            place: None,
        };
        Draft {
            tags: vec![],
            nodes: vec![Arc::new(root)],
            result: "*".into(),
        }
    }
    /// The tag pairs, in the order they stand in the text.
    pub fn tags(&self) -> &[(String, String)] {
        &self.tags
    }
    /// A tag's value.
    pub fn tag(&self, name: &str) -> Option<&str> {
        self.tags
            .iter()
            .find(|(n, _)| n == name)
            .map(|(_, v)| v.as_str())
    }
    /// The start position as FEN, if it is not the initial position.
    pub fn start_fen(&self) -> Option<&str> {
        self.tag("FEN")
    }
    /// A node of the tree; `None` for removed and foreign ids.
    pub fn node(&self, _id: NodeId) -> Option<&Node> {
        todo!()
    }
    /// All nodes below the start in reading order: a move, its main
    /// continuation, then the other lines. Iterative.
    pub fn walk(&self) -> Vec<NodeId> {
        todo!()
    }
    /// Applies one edit and names the node it ends at (for `AddLine`, the
    /// last move of the line).
    ///
    /// # Errors
    /// The draft is unchanged then.
    pub fn apply(&mut self, _edit: &Edit) -> Result<NodeId, EditFault> {
        todo!()
    }
    /// Tries every move on the board.
    pub fn resolve(&self) -> Resolution {
        todo!()
    }
}

/// Equal when tags, moves, glyphs, comments and order are; ids and places do
/// not count.
impl PartialEq for Draft {
    fn eq(&self, _other: &Draft) -> bool {
        todo!()
    }
}

/// Why an edit cannot be made.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum EditFault {
    /// The node is not part of the draft (any more).
    NoSuchNode(NodeId),
    /// The start of a draft is no move and cannot be removed or moved.
    Root,
}
