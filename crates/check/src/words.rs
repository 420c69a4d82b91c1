//! Moves, lines and edits as the findings need them.

use shakmaty::{Chess, Move, Position};

use super::survey::Turn;
use super::{Finding, Kind, Mend, Ruling, Weight};
use model::draft::{Edit, NodeId};
use model::notation::moves;
use model::puzzle::Puzzle;
use model::resolved::Resolved;
use model::tongue::say;

/// A move with its number, `1.Qh7+` or `1...Kf8`, played at a node.
pub fn numbered(puzzle: &Puzzle, node: NodeId, mv: Move) -> String {
    line(puzzle.position(node), &[mv])
}

/// A line with move numbers.
pub fn line(position: &Chess, line: &[Move]) -> String {
    moves::line(position, line, position.fullmoves().get())
}

/// A line as SAN without numbers, as [`Edit::AddLine`] wants it.
pub fn sans(position: &Chess, line: &[Move]) -> Vec<String> {
    let mut position = position.clone();
    line.iter()
        .map(|&mv| {
            let san = moves::san(&position, mv);
            position.play_unchecked(mv);
            san
        })
        .collect()
}

pub fn ucis(line: &[Move]) -> Vec<String> {
    line.iter().map(|&mv| moves::uci(mv)).collect()
}

/// The moves to a node in UCI, without those that cannot be played.
pub fn path(resolved: &Resolved, node: NodeId) -> Vec<String> {
    let mut line = Vec::new();
    let mut at = node;
    while at != NodeId::ROOT {
        line.extend(resolved.step(at).map(|step| step.mv));
        at = resolved.draft().node(at).map_or(NodeId::ROOT, |n| n.parent);
    }
    line.reverse();
    ucis(&line)
}

/// Where a finding stands: a node, the moves at fault there, and a line from
/// there that shows it.
pub struct Site<'a> {
    pub puzzle: &'a Puzzle,
    pub node: NodeId,
    pub moves: &'a [Move],
    pub line: &'a [Move],
}

impl Site<'_> {
    pub fn finding(self, kind: Kind, weight: Weight, message: String, mends: Vec<Mend>) -> Finding {
        Finding {
            kind,
            weight,
            node: self.node,
            path: ucis(&self.puzzle.path(self.node)),
            moves: ucis(self.moves),
            line: ucis(self.line),
            message,
            mends,
        }
    }
}

/// A finding about a right move that the author does not list, with the mend
/// that accepts it.
pub fn unlisted(
    puzzle: &Puzzle,
    turn: &Turn,
    (mv, ruling): (Move, &Ruling),
    kind: Kind,
    weight: Weight,
    message: String,
) -> Finding {
    let mends = vec![Mend {
        label: say!("Accept {move} as well", move = numbered(puzzle, turn.node, mv)),
        edits: vec![add_line(puzzle, turn.node, ruling.line(), &[1])],
    }];
    let site = Site {
        puzzle,
        node: turn.node,
        moves: &[mv],
        line: ruling.line(),
    };
    site.finding(kind, weight, message, mends)
}

/// Adds a line below a node.
pub fn add_line(puzzle: &Puzzle, at: NodeId, line: &[Move], nags: &[u8]) -> Edit {
    Edit::AddLine {
        at,
        moves: sans(puzzle.position(at), line),
        nags: nags.to_vec(),
    }
}

/// The edits that turn a failing accepted move into a try: its glyph, and but
/// for a helpmate the reply that refutes it, and `$2` at the author's other
/// replies, which then stay as replies that fall to his answers.
pub fn into_try(puzzle: &Puzzle, node: NodeId, line: &[Move]) -> Vec<Edit> {
    let mut edits = vec![Edit::SetNags {
        node,
        nags: vec![2],
    }];
    if puzzle.stipulation().shared() {
        return edits;
    }
    let refutation = line.get(1);
    for &reply in puzzle.children(node) {
        if Some(&puzzle.node(reply).mv) != refutation {
            edits.push(Edit::SetNags {
                node: reply,
                nags: vec![2],
            });
        }
    }
    if let Some(&reply) = refutation {
        edits.push(add_line(puzzle, node, &[reply], &[]));
        if let Some(child) = puzzle.child(node, reply) {
            edits.push(Edit::SetNags {
                node: child,
                nags: vec![],
            });
        }
    }
    edits
}
