//! The author's solution tree as lines of text.

use model::draft::NodeId;
use model::notation::moves;
use model::puzzle::{Puzzle, Role};
use model::tongue::say;
use shakmaty::Position;

use crate::words;

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
    Move(NodeId, String),
    /// The author's words.
    Words(String),
}

/// The whole tree in reading order. Moves whose role the author left unclear
/// are left out; `passed` moves of the game are not counted.
pub fn lines(puzzle: &Puzzle, passed: u32) -> Vec<Line> {
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
            add(puzzle, at, passed, &mut line.parts);
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

fn add(puzzle: &Puzzle, at: NodeId, passed: u32, parts: &mut Vec<Part>) {
    let node = puzzle.node(at);
    let before = puzzle.position(node.parent);
    let numbered = before.turn().is_white() || !matches!(parts.last(), Some(Part::Move(..)));
    let mut text = if numbered {
        words::numbered(before, node.mv, passed)
    } else {
        moves::shown(before, node.mv)
    };
    let accepted = puzzle
        .accepted(node.parent)
        .next()
        .is_some_and(|first| first != at);
    match node.role {
        Role::Continuation if accepted => text = say!("or {move}", move = text),
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
    parts.push(Part::Move(at, text));
    parts.extend(words(&node.words));
}

#[cfg(test)]
mod tests {
    use super::*;
    use model::pgn_read;
    use model::resolved::Resolved;

    fn text(pgn: &str) -> Vec<String> {
        let draft = pgn_read::read(pgn).remove(0).draft;
        let puzzle = Resolved::of(&draft).into_puzzle().unwrap();
        let part = |part: &Part| match part {
            Part::Move(_, text) => text.clone(),
            Part::Words(text) => format!("[{text}]"),
        };
        let line = |line: &Line| {
            let parts: Vec<_> = line.parts.iter().map(part).collect();
            format!(
                "{}{} {}",
                line.depth,
                if line.tried { "?" } else { "" },
                parts.join(" ")
            )
        };
        lines(&puzzle, puzzle.start().fullmoves().get() - 1)
            .iter()
            .map(line)
            .collect()
    }

    #[test]
    fn branches_stand_in_reading_order_with_numbers_where_due() {
        let pgn = "[FEN \"4k3/R7/8/8/8/8/8/1R5K w - - 0 1\"]\n[Stipulation \"#2\"]\n\n\
            1. Rb6 {Quietly.} (1. Ra6 $2 Ke7) 1... Kd8 (1... Kf8 2. Rb8#) 2. Rb8# (2. Ra8# $1) *";
        assert_eq!(
            text(pgn),
            [
                "0 1.Rb6! [Quietly.]",
                "1 1...Kd8",
                "2 2.Rb8#",
                "2 or 2.Ra8+",
                "1 1...Kf8 2.Rb8#",
                "0? 1.Ra6? Ke7!"
            ]
        );
    }

    #[test]
    fn when_black_solves_the_numbers_follow_him() {
        let pgn = "[FEN \"1r5k/8/8/8/8/8/r7/4K3 b - - 0 1\"]\n[Stipulation \"#2\"]\n\n1... Rb3 2. Kd1 (2. Kf1 Rb1#) 2... Rb1# *";
        assert_eq!(text(pgn), ["0 1...Rb3!", "1 2.Kd1 Rb1#", "1 2.Kf1 Rb1#"]);
    }

    #[test]
    fn a_deep_line_does_not_recurse() {
        let moves: String = (0..2000)
            .map(|i| ["Kb1 ", "Kg8 ", "Ka1 ", "Kh8 "][i % 4])
            .collect();
        let pgn =
            format!("[FEN \"7k/8/8/8/8/8/8/K7 w - - 0 1\"]\n[Stipulation \"#2\"]\n\n{moves}*");
        assert_eq!(lines_count(&pgn), 1);
    }

    fn lines_count(pgn: &str) -> usize {
        text(pgn).len()
    }
}
