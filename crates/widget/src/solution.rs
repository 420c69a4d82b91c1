//! The author's solution tree as lines of text.

use keyproof::draft::NodeId;
use keyproof::notation::moves;
use keyproof::puzzle::{Puzzle, Role};

/// A stretch of the solution without a branch.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Line {
    /// How many branches stand before it.
    pub depth: usize,
    /// Whether it shows a try rather than the solution.
    pub tried: bool,
    pub parts: Vec<Part>,
}

/// A piece of a line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Part {
    /// A move with its number where one is due: `1.Qg7!`, `Kf8`.
    Move(String),
    /// The author's words.
    Words(String),
}

/// The whole tree in reading order. Moves whose role the author left unclear
/// are left out.
pub fn lines(puzzle: &Puzzle) -> Vec<Line> {
    let mut lines = vec![];
    let mut todo: Vec<(NodeId, usize, bool)> = branches(puzzle, NodeId::ROOT, 0, false);
    while let Some((first, depth, tried)) = todo.pop() {
        let mut line = Line {
            depth,
            tried: tried || puzzle.node(first).role == Role::Try,
            parts: vec![],
        };
        let mut at = first;
        loop {
            add(puzzle, at, &mut line.parts);
            let next = followers(puzzle, at);
            match next.as_slice() {
                [only] if puzzle.node(*only).role != Role::Try => at = *only,
                [] => break,
                _ => {
                    todo.extend(branches(puzzle, at, depth + 1, line.tried));
                    break;
                }
            }
        }
        lines.push(line);
    }
    lines
}

fn followers(puzzle: &Puzzle, at: NodeId) -> Vec<NodeId> {
    puzzle
        .children(at)
        .iter()
        .copied()
        .filter(|&c| puzzle.node(c).role != Role::Unclear)
        .collect()
}

/// The branches at a node, the first one last.
fn branches(puzzle: &Puzzle, at: NodeId, depth: usize, tried: bool) -> Vec<(NodeId, usize, bool)> {
    followers(puzzle, at)
        .into_iter()
        .rev()
        .map(|c| (c, depth, tried))
        .collect()
}

fn add(puzzle: &Puzzle, at: NodeId, parts: &mut Vec<Part>) {
    let node = puzzle.node(at);
    let before = puzzle.position(node.parent);
    let half = puzzle.path(node.parent).len() + usize::from(puzzle.solver().is_black());
    let numbered = half % 2 == 0 || !matches!(parts.last(), Some(Part::Move(_)));
    let mut text = if numbered {
        moves::line(before, &[node.mv], half as u32 / 2 + 1)
    } else {
        moves::san(before, node.mv)
    };
    match node.role {
        Role::Key | Role::Refutation => text.push('!'),
        Role::Try => text.push('?'),
        _ => {}
    }
    let words = |all: &[String]| {
        all.iter()
            .map(|w| Part::Words(w.clone()))
            .collect::<Vec<_>>()
    };
    parts.extend(words(&node.before));
    parts.push(Part::Move(text));
    parts.extend(words(&node.words));
}
