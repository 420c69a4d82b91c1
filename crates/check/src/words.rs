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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trial::draft;
    use model::notation::moves::read_ucis;

    /// What is done to the first move, which fails to the line, as text.
    fn tried(text: &str, line: &[&str]) -> String {
        let mut draft = draft(text);
        let puzzle = Resolved::of(&draft).into_puzzle().expect("a puzzle");
        let line: Vec<String> = line.iter().map(|&mv| mv.to_owned()).collect();
        let line = read_ucis(puzzle.start(), &line);
        for edit in into_try(&puzzle, draft.walk()[0], &line) {
            draft.apply(&edit).expect("an edit that can be made");
        }
        let text = model::pgn_write::write(&draft);
        let moves = text.split("\n\n").nth(1).expect("moves").to_owned();
        moves.split_whitespace().collect::<Vec<_>>().join(" ")
    }

    const FAILS: &str =
        "[FEN \"1k6/8/1K6/8/8/7p/8/2R5 w - - 0 1\"]\n[Stipulation \"#2\"]\n\n1. Rc2 Ka8 2. Rc8# *";

    #[test]
    fn a_move_becomes_a_try_that_one_reply_refutes() {
        let refuted = tried(FAILS, &["c1c2", "h3h2"]);
        assert_eq!(refuted, "1. Rc2 $2 Ka8 $2 (1... h2) 2. Rc8# *");
        let unknown = tried(FAILS, &["c1c2"]);
        assert_eq!(unknown, "1. Rc2 $2 Ka8 $2 2. Rc8# *");
        let listed = FAILS.replace("Ka8 2. Rc8#", "h2 $2 (1... Ka8 2. Rc8#)");
        let cleared = tried(&listed, &["c1c2", "h3h2"]);
        assert_eq!(cleared, "1. Rc2 $2 h2 (1... Ka8 $2 2. Rc8#) *");
    }

    #[test]
    fn nothing_refutes_a_try_of_a_helpmate() {
        let help =
            "[FEN \"8/k7/8/8/3K4/8/7Q/8 b - - 0 1\"]\n[Stipulation \"h#2\"]\n\n1... Kb7 2. Kc5 *";
        assert_eq!(tried(help, &["a7b7", "d4d5"]), "1... Kb7 $2 2. Kc5 *");
    }

    #[test]
    fn a_path_leaves_out_what_cannot_be_played() {
        let draft = draft(&FAILS.replace("2. Rc8#", "2. Rc9"));
        let resolved = Resolved::of(&draft);
        let paths: Vec<_> = draft
            .walk()
            .into_iter()
            .map(|id| path(&resolved, id))
            .collect();
        assert_eq!(paths[1..], [["c1c2", "b8a8"], ["c1c2", "b8a8"]]);
    }
}
