//! A draft: anything an author may type, legal or not, and every edit of it.
//!
//! A [`Draft`] is one PGN game as it stands in the file or on the page. Moves
//! are kept as typed; whether they are legal is found out by
//! [`Draft::resolve`]. Copies are cheap (nodes are shared), so undo keeps whole
//! drafts.

use std::sync::Arc;

use shakmaty::{Chess, Move, Position};

use crate::commands;
use crate::notation::{
    Place,
    fen::{self, FenFault},
    moves,
};

pub use crate::notation::moves::MoveFault;

/// Names a node of a draft. Ids stay valid for the life of the draft, also
/// when other nodes are removed.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, PartialOrd, Ord)]
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
    /// Commands of programs among the comments ([`crate::commands`]), as written.
    pub commands: Vec<String>,
    /// Where the move stood in the text it was read from.
    pub place: Option<Place>,
}

/// One PGN game as a tree of typed moves.
#[derive(Clone, Debug)]
pub struct Draft {
    tags: Vec<(String, String)>,
    /// By id; `None` where a node was removed. The root is always there.
    nodes: Vec<Option<Arc<Node>>>,
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
    SetTag {
        /// The name of the tag.
        name: String,
        /// `None` removes it.
        value: Option<String>,
    },
    /// Replaces the annotation glyphs of a move.
    SetNags {
        /// The move.
        node: NodeId,
        /// What it then has, as PGN numbers them.
        nags: Vec<u8>,
    },
    /// Replaces the comments after a move (at the root: before the first).
    SetAfter {
        /// The move.
        node: NodeId,
        /// What then follows it.
        comments: Vec<String>,
    },
    /// Replaces the comments before a move that starts a line.
    SetBefore {
        /// The move.
        node: NodeId,
        /// What then stands before it.
        comments: Vec<String>,
    },
    /// Replaces the typed move.
    SetMove {
        /// The move.
        node: NodeId,
        /// The move as it is typed.
        text: String,
    },
    /// Adds a line below `at`. Moves already there (by text, check marks
    /// aside) are followed, not repeated. `nags` go to the first move.
    AddLine {
        /// The move after which it starts.
        at: NodeId,
        /// Its moves as they are typed.
        moves: Vec<String>,
        /// What its first move gets, as PGN numbers them.
        nags: Vec<u8>,
    },
    /// Adds a move below `at`, unless it is there, and comments after it.
    AddWords {
        /// The move after which it stands.
        at: NodeId,
        /// The move as it is typed.
        mv: String,
        /// What follows it.
        comments: Vec<String>,
    },
    /// Removes a move and all that follows it.
    Remove {
        /// The move.
        node: NodeId,
    },
    /// Removes what follows a move.
    RemoveAfter {
        /// The move that stays.
        node: NodeId,
    },
    /// Moves a line one place up (`-1`) or down (`1`) among its siblings.
    Shift {
        /// The move that starts it.
        node: NodeId,
        /// Places down, or up where it is negative.
        by: i32,
    },
    /// Makes a move the first of its siblings.
    MakeMain {
        /// The move.
        node: NodeId,
    },
    /// Sets the start position (FEN; `None` for the initial position). The
    /// moves stay as typed.
    SetStart {
        /// The position; `None` for that of a game.
        fen: Option<String>,
    },
}

/// Why an edit cannot be made.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum EditFault {
    /// The node is not part of the draft (any more).
    NoSuchNode(NodeId),
    /// The start of a draft is no move and cannot be removed or moved.
    Root,
}

impl Node {
    /// Whether it is the same move at the same place, its comments aside.
    fn plays_as(&self, other: &Node) -> bool {
        (self.parent, &self.children, &self.text, &self.nags)
            == (other.parent, &other.children, &other.text, &other.nags)
    }
    /// Whether a glyph says that the move is poor (2, 4 or 6).
    pub fn is_poor(&self) -> bool {
        self.nags.iter().any(|nag| matches!(nag, 2 | 4 | 6))
    }
}

impl Draft {
    /// An empty draft at the initial position.
    pub fn new() -> Draft {
        Draft::default()
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
    pub fn node(&self, id: NodeId) -> Option<&Node> {
        self.nodes.get(id.0 as usize)?.as_deref()
    }
    /// All nodes below the start in reading order: a move, its main
    /// continuation, then the other lines. Iterative.
    pub fn walk(&self) -> Vec<NodeId> {
        self.walk_below(NodeId::ROOT)
    }
    /// Applies one edit and names the node it ends at: for `AddLine` the last
    /// move of the line, for `Remove` the node before the removed move, for
    /// tags the root, else the node that was edited.
    ///
    /// Texts of moves lose their move number, and marks such as `!?` turn into
    /// glyphs. A glyph for the quality of a move (1 to 9) replaces the one an
    /// existing move has.
    ///
    /// # Errors
    /// The draft is unchanged then.
    pub fn apply(&mut self, edit: &Edit) -> Result<NodeId, EditFault> {
        match edit {
            Edit::SetTag { name, value } => {
                self.set_tag(name, value.as_deref());
                Ok(NodeId::ROOT)
            }
            Edit::SetStart { fen } => {
                self.set_tag("SetUp", fen.as_ref().map(|_| "1"));
                self.set_tag("FEN", fen.as_deref());
                Ok(NodeId::ROOT)
            }
            Edit::SetNags { node, nags } => {
                self.move_mut(*node)?.nags = nags.clone();
                Ok(*node)
            }
            Edit::SetAfter { node, comments } => {
                let of = self.node_mut(*node)?;
                of.after = commands::take(comments.clone(), &mut of.commands);
                Ok(*node)
            }
            Edit::SetBefore { node, comments } => {
                let of = self.move_mut(*node)?;
                of.before = commands::take(comments.clone(), &mut of.commands);
                Ok(*node)
            }
            Edit::SetMove { node, text } => {
                let (text, nags) = typed(text);
                let node_mut = self.move_mut(*node)?;
                node_mut.text = text;
                add_nags(&mut node_mut.nags, &nags);
                Ok(*node)
            }
            Edit::AddLine { at, moves, nags } => self.add_line(*at, moves, nags),
            Edit::AddWords { at, mv, comments } => {
                let node = self.add_line(*at, std::slice::from_ref(mv), &[])?;
                let of = self.node_mut(node)?;
                let words = commands::take(comments.clone(), &mut of.commands);
                of.after.extend(words);
                Ok(node)
            }
            Edit::Remove { node } => {
                let parent = self.move_mut(*node)?.parent;
                self.node_mut(parent)?.children.retain(|c| c != node);
                for id in self.walk_below(*node) {
                    self.nodes[id.0 as usize] = None;
                }
                self.nodes[node.0 as usize] = None;
                Ok(parent)
            }
            Edit::RemoveAfter { node } => {
                self.node_mut(*node)?;
                for id in self.walk_below(*node) {
                    self.nodes[id.0 as usize] = None;
                }
                self.node_mut(*node)?.children.clear();
                Ok(*node)
            }
            Edit::Shift { node, by } => self.shift(*node, i64::from(*by)),
            Edit::MakeMain { node } => self.shift(*node, i64::MIN),
        }
    }
    /// The nodes whose comments differ from those of an earlier state; `None` if
    /// anything else differs as well.
    pub fn reworded(&self, before: &Draft) -> Option<Vec<NodeId>> {
        let same = self.tags == before.tags
            && self.result == before.result
            && self.nodes.len() == before.nodes.len();
        let mut reworded = Vec::new();
        for (id, (now, then)) in self.nodes.iter().zip(&before.nodes).enumerate() {
            match (now, then) {
                (None, None) => {}
                (Some(now), Some(then)) if Arc::ptr_eq(now, then) => {}
                (Some(now), Some(then)) if now.plays_as(then) => reworded.push(NodeId(id as u32)),
                _ => return None,
            }
        }
        same.then_some(reworded)
    }
    /// Takes over the comments that a node has elsewhere.
    pub fn reword(&mut self, id: NodeId, from: &Node) {
        if let Ok(node) = self.node_mut(id) {
            node.after.clone_from(&from.after);
            if id != NodeId::ROOT {
                node.before.clone_from(&from.before);
            }
        }
    }
    /// Tries every move on the board.
    pub fn resolve(&self) -> Resolution {
        let start = match self.start_fen() {
            Some(text) => fen::read(text),
            None => Ok(Chess::default()),
        };
        let mut resolution = Resolution {
            start,
            steps: vec![None; self.nodes.len()],
            faults: Vec::new(),
        };
        for id in self.walk() {
            let Some(node) = self.node(id) else { continue };
            let Some(before) = resolution.position(node.parent) else {
                continue;
            };
            match moves::read(before, &node.text) {
                Ok(mv) => {
                    let mut after = before.clone();
                    after.play_unchecked(mv);
                    resolution.steps[id.0 as usize] = Some(Step { mv, after });
                }
                Err(fault) => resolution.faults.push((id, fault)),
            }
        }
        resolution
    }
}

/// What reading PGN needs beyond the edits.
impl Draft {
    /// Adds a tag as it stands in a text, also one whose name is taken.
    pub(crate) fn push_tag(&mut self, name: String, value: String) {
        self.tags.push((name, value));
    }
    /// Adds a move as typed below a node of this draft.
    pub(crate) fn push_move(
        &mut self,
        parent: NodeId,
        text: String,
        place: Option<Place>,
    ) -> NodeId {
        let id = NodeId(u32::try_from(self.nodes.len()).expect("fewer than 2^32 moves"));
        self.nodes.push(Some(Arc::new(Node {
            parent,
            children: vec![],
            text,
            nags: vec![],
            before: vec![],
            after: vec![],
            commands: vec![],
            place,
        })));
        if let Ok(parent) = self.node_mut(parent) {
            parent.children.push(id);
        }
        id
    }
    /// A node, for its words and glyphs: parent, children and move must stay.
    ///
    /// # Errors
    /// If it is not part of the draft.
    pub fn node_mut(&mut self, id: NodeId) -> Result<&mut Node, EditFault> {
        match self.nodes.get_mut(id.0 as usize) {
            Some(Some(node)) => Ok(Arc::make_mut(node)),
            _ => Err(EditFault::NoSuchNode(id)),
        }
    }

    /// Sets a tag in place, or removes every tag of that name.
    pub fn set_tag(&mut self, name: &str, value: Option<&str>) {
        let Some(value) = value else {
            self.tags.retain(|(n, _)| n != name);
            return;
        };
        if name == "Result" && RESULTS.contains(&value) {
            self.result = value.to_owned();
        }
        match self.tags.iter_mut().find(|(n, _)| n == name) {
            Some((_, v)) => *v = value.to_owned(),
            None => self.push_tag(name.to_owned(), value.to_owned()),
        }
    }

    fn move_mut(&mut self, id: NodeId) -> Result<&mut Node, EditFault> {
        if id == NodeId::ROOT {
            return Err(EditFault::Root);
        }
        self.node_mut(id)
    }

    fn add_line(&mut self, at: NodeId, moves: &[String], nags: &[u8]) -> Result<NodeId, EditFault> {
        self.node_mut(at)?;
        let mut position = self.position(at);
        let mut here = at;
        for (index, text) in moves.iter().enumerate() {
            let (text, mut marks) = typed(text);
            if index == 0 {
                add_nags(&mut marks, nags);
            }
            here = match self.child_by_move(here, &text, position.as_ref()) {
                Some(child) => child,
                None => self.push_move(here, text.clone(), None),
            };
            add_nags(&mut self.node_mut(here)?.nags, &marks);
            position = position.and_then(|p| p.clone().play(moves::read(&p, &text).ok()?).ok());
        }
        Ok(here)
    }

    /// The position at a node, found by playing the moves up to it.
    fn position(&self, id: NodeId) -> Option<Chess> {
        let mut path = Vec::new();
        let mut here = id;
        while here != NodeId::ROOT {
            let node = self.node(here)?;
            path.push(&node.text);
            here = node.parent;
        }
        let mut position = match self.start_fen() {
            Some(text) => fen::read(text).ok()?,
            None => Chess::default(),
        };
        for text in path.into_iter().rev() {
            let mv = moves::read(&position, text).ok()?;
            position.play_unchecked(mv);
        }
        Some(position)
    }

    /// The child with the same text (check marks aside), else the one that
    /// plays the same move.
    pub(crate) fn child_by_move(
        &self,
        at: NodeId,
        text: &str,
        position: Option<&Chess>,
    ) -> Option<NodeId> {
        let children = &self.node(at)?.children;
        let text_of = |id: NodeId| self.node(id).map_or("", |n| n.text.as_str());
        let same = |id: &&NodeId| moves::without_check(text_of(**id)) == moves::without_check(text);
        if let Some(child) = children.iter().find(same) {
            return Some(*child);
        }
        let mv = moves::read(position?, text).ok()?;
        let plays =
            |id: &&NodeId| position.is_some_and(|p| moves::read(p, text_of(**id)) == Ok(mv));
        children.iter().find(plays).copied()
    }

    fn shift(&mut self, id: NodeId, by: i64) -> Result<NodeId, EditFault> {
        let parent = self.move_mut(id)?.parent;
        let siblings = &mut self.node_mut(parent)?.children;
        if let Some(from) = siblings.iter().position(|&c| c == id) {
            let to = (from as i64)
                .saturating_add(by)
                .clamp(0, siblings.len() as i64 - 1) as usize;
            siblings.remove(from);
            siblings.insert(to, id);
        }
        Ok(id)
    }

    /// All nodes below one, in reading order.
    pub(crate) fn walk_below(&self, id: NodeId) -> Vec<NodeId> {
        let mut order = Vec::new();
        let mut stack = vec![id];
        while let Some(next) = stack.pop() {
            let Some(node) = self.node(next) else {
                continue;
            };
            if next != id {
                order.push(next);
            }
            stack.extend(node.children.iter().rev());
        }
        order
    }
}

impl Default for Draft {
    fn default() -> Draft {
        let root = Node {
            parent: NodeId::ROOT,
            children: vec![],
            text: String::new(),
            nags: vec![],
            before: vec![],
            after: vec![],
            commands: vec![],
            place: None,
        };
        Draft {
            tags: vec![],
            nodes: vec![Some(Arc::new(root))],
            result: "*".into(),
        }
    }
}

/// The game terminations of the PGN standard (8.2.6).
pub(crate) const RESULTS: [&str; 4] = ["1-0", "0-1", "1/2-1/2", "*"];

/// A typed move without its move number, and the glyphs of its marks.
fn typed(text: &str) -> (String, Vec<u8>) {
    let text = moves::without_number(text.trim());
    moves::split_marks(text).unwrap_or_else(|| (text.to_owned(), Vec::new()))
}

/// Adds glyphs that are not there yet. One for the quality of the move
/// (1 to 9) replaces those there.
fn add_nags(nags: &mut Vec<u8>, more: &[u8]) {
    if more.iter().any(is_quality) {
        nags.retain(|nag| !is_quality(nag) || more.contains(nag));
    }
    for nag in more {
        if !nags.contains(nag) {
            nags.push(*nag);
        }
    }
}

fn is_quality(nag: &u8) -> bool {
    (1..=9).contains(nag)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn add(draft: &mut Draft, at: NodeId, moves: &[&str], nags: &[u8]) -> NodeId {
        let moves = moves.iter().map(|m| m.to_string()).collect();
        let nags = nags.to_vec();
        draft.apply(&Edit::AddLine { at, moves, nags }).unwrap()
    }

    fn texts(draft: &Draft) -> Vec<&str> {
        let ids = draft.walk();
        ids.into_iter()
            .map(|id| draft.node(id).unwrap().text.as_str())
            .collect()
    }

    #[test]
    fn a_line_follows_moves_that_are_there() {
        let mut draft = Draft::new();
        let e5 = add(&mut draft, NodeId::ROOT, &["e4", "e5"], &[]);
        assert_eq!(add(&mut draft, NodeId::ROOT, &["e4", "e5"], &[]), e5);
        assert_eq!(add(&mut draft, NodeId::ROOT, &["e2e4", "e7-e5"], &[]), e5);
        let bc4 = add(&mut draft, NodeId::ROOT, &["1.e4", "e5", "2.Bc4!?"], &[]);
        assert_eq!(draft.node(bc4).unwrap().nags, [5]);
        add(&mut draft, e5, &["Qh5"], &[6]);
        add(&mut draft, NodeId::ROOT, &["d4"], &[]);
        assert_eq!(texts(&draft), ["e4", "e5", "Bc4", "Qh5", "d4"]);
        assert_eq!(
            add(&mut draft, e5, &["Bc4+"], &[]),
            bc4,
            "check marks aside"
        );
    }

    #[test]
    fn a_glyph_of_quality_replaces_the_old_one() {
        let mut draft = Draft::new();
        let e4 = add(&mut draft, NodeId::ROOT, &["e4"], &[2, 14]);
        add(&mut draft, NodeId::ROOT, &["e4"], &[1]);
        assert_eq!(draft.node(e4).unwrap().nags, [14, 1]);
        add(&mut draft, NodeId::ROOT, &["e4", "e5"], &[]);
        assert_eq!(draft.node(e4).unwrap().nags, [14, 1]);
    }

    #[test]
    fn removed_nodes_leave_the_other_ids_valid() {
        let mut draft = Draft::new();
        let e4 = add(&mut draft, NodeId::ROOT, &["e4"], &[]);
        let e5 = add(&mut draft, e4, &["e5"], &[]);
        let nf3 = add(&mut draft, e5, &["Nf3"], &[]);
        let c5 = add(&mut draft, e4, &["c5"], &[]);
        let before = draft.clone();
        assert_eq!(draft.apply(&Edit::Remove { node: e5 }), Ok(e4));
        assert_eq!(draft.node(e5), None);
        assert_eq!(draft.node(nf3), None);
        assert_eq!(texts(&draft), ["e4", "c5"]);
        assert_eq!(texts(&before), ["e4", "e5", "Nf3", "c5"]);
        assert_eq!(draft.node(c5).unwrap().parent, e4);
        let gone = draft.apply(&Edit::SetNags {
            node: nf3,
            nags: vec![1],
        });
        assert_eq!(gone, Err(EditFault::NoSuchNode(nf3)));
        assert_eq!(draft.resolve().steps.len(), 5);
        assert_eq!(
            draft.apply(&Edit::RemoveAfter { node: NodeId::ROOT }),
            Ok(NodeId::ROOT)
        );
        assert!(draft.walk().is_empty());
    }

    #[test]
    fn siblings_change_places() {
        let mut draft = Draft::new();
        for text in ["e4", "d4", "c4"] {
            add(&mut draft, NodeId::ROOT, &[text], &[]);
        }
        let c4 = *draft.node(NodeId::ROOT).unwrap().children.last().unwrap();
        draft.apply(&Edit::Shift { node: c4, by: -1 }).unwrap();
        assert_eq!(texts(&draft), ["e4", "c4", "d4"]);
        draft
            .apply(&Edit::Shift {
                node: c4,
                by: i32::MAX,
            })
            .unwrap();
        assert_eq!(texts(&draft), ["e4", "d4", "c4"]);
        draft.apply(&Edit::MakeMain { node: c4 }).unwrap();
        assert_eq!(texts(&draft), ["c4", "e4", "d4"]);
    }

    #[test]
    fn the_start_is_no_move() {
        let mut draft = Draft::new();
        let root = NodeId::ROOT;
        for edit in [
            Edit::Remove { node: root },
            Edit::MakeMain { node: root },
            Edit::Shift { node: root, by: 1 },
            Edit::SetNags {
                node: root,
                nags: vec![],
            },
            Edit::SetMove {
                node: root,
                text: "e4".into(),
            },
            Edit::SetBefore {
                node: root,
                comments: vec![],
            },
        ] {
            assert_eq!(draft.apply(&edit), Err(EditFault::Root));
        }
        let foreign = NodeId(7);
        let comments = vec!["word".to_owned()];
        let edit = Edit::SetAfter {
            node: foreign,
            comments,
        };
        assert_eq!(draft.apply(&edit), Err(EditFault::NoSuchNode(foreign)));
        assert_eq!(draft, Draft::new());
    }

    #[test]
    fn resolving_stops_below_a_faulty_move_only() {
        let mut draft = Draft::new();
        let e4 = add(&mut draft, NodeId::ROOT, &["e4"], &[]);
        let bad = add(&mut draft, e4, &["e4"], &[]);
        let below = add(&mut draft, bad, &["Nf3"], &[]);
        let c5 = add(&mut draft, e4, &["c5"], &[]);
        let resolution = draft.resolve();
        assert_eq!(resolution.faults.len(), 1);
        assert_eq!(resolution.faults[0].0, bad);
        assert!(resolution.position(below).is_none());
        assert!(resolution.position(c5).is_some());
        let fen = Some("8/8/8/8/8/8/8/8 w - - 0 1".to_owned());
        draft.apply(&Edit::SetStart { fen }).unwrap();
        let resolution = draft.resolve();
        assert!(resolution.start.is_err());
        assert!(resolution.faults.is_empty());
        assert!(resolution.position(e4).is_none());
    }

    #[test]
    fn tags_are_set_in_place_and_removed() {
        let mut draft = Draft::new();
        let set = |draft: &mut Draft, name: &str, value: Option<&str>| {
            let value = value.map(str::to_owned);
            draft
                .apply(&Edit::SetTag {
                    name: name.into(),
                    value,
                })
                .unwrap();
        };
        set(&mut draft, "Stipulation", Some("#2"));
        set(&mut draft, "Result", Some("1-0"));
        set(&mut draft, "Stipulation", Some("#3"));
        assert_eq!(draft.tag("Stipulation"), Some("#3"));
        assert_eq!(draft.tags().len(), 2);
        assert_eq!(draft.result, "1-0");
        set(&mut draft, "Stipulation", None);
        assert_eq!(draft.tag("Stipulation"), None);
    }

    #[test]
    fn equality_is_that_of_the_exported_game() {
        let mut left = Draft::new();
        let mut right = Draft::new();
        add(&mut left, NodeId::ROOT, &["d4"], &[]);
        add(&mut left, NodeId::ROOT, &["e4"], &[]);
        let first = left.node(NodeId::ROOT).unwrap().children[0];
        left.apply(&Edit::Remove { node: first }).unwrap();
        let node = add(&mut right, NodeId::ROOT, &["e4"], &[]);
        assert_eq!(left, right, "ids do not count");
        let comments = vec!["two\n words".to_owned(), " ".to_owned()];
        right.apply(&Edit::SetAfter { node, comments }).unwrap();
        assert_ne!(left, right);
        let node = NodeId(2);
        let comments = vec!["two words".to_owned()];
        left.apply(&Edit::SetAfter { node, comments }).unwrap();
        assert_eq!(left, right);
        right.push_tag("Event".into(), "?".into());
        assert_eq!(left, right);
        right.push_tag("Annotator".into(), "Nobody".into());
        assert_ne!(left, right);
    }
}
