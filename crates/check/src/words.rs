//! Moves, lines and edits as the findings need them.

use shakmaty::{Chess, Move, Position};

use super::survey::Turn;
use super::{Evidence, Finding, Goal, Kind, Mend, Ruling, Weight};
use model::draft::{Edit, NodeId};
use model::notation::moves;
use model::puzzle::Puzzle;
use model::resolved::Resolved;
use model::tongue::{decimal, phrase, say};
use prove::Aim;

/// A move with its number, `1.Qh7+` or `1...Kf8`, played at a node.
pub fn numbered(puzzle: &Puzzle, node: NodeId, mv: Move) -> String {
    line(puzzle.position(node), &[mv])
}

/// A line with move numbers.
pub fn line(position: &Chess, line: &[Move]) -> String {
    moves::line(position, line, position.fullmoves().get())
}

/// What follows the first move of a line, with numbers; empty if nothing does.
pub fn rest(position: &Chess, line: &[Move]) -> String {
    let Some((&first, rest)) = line.split_first() else {
        return String::new();
    };
    let mut after = position.clone();
    after.play_unchecked(first);
    self::line(&after, rest)
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

/// What a right move does: "mates in 2 moves", "forces selfmate in 2",
/// "leads to helpmate in 1.5", "wins".
pub fn met(goal: Goal, length: Option<u8>) -> String {
    let text = match (goal, length) {
        (Goal::Forced(Aim::Helpmate, _), Some(1)) => phrase!("mates", "n"),
        (Goal::Forced(Aim::Helpmate, _), Some(_)) => phrase!("leads to helpmate in {n}", "n"),
        (Goal::Forced(Aim::Helpmate, _), None) => phrase!("leads to helpmate in time", "n"),
        (Goal::Forced(Aim::Selfmate, _), Some(_)) => phrase!("forces selfmate in {n}", "n"),
        (Goal::Forced(Aim::Stalemate, _), Some(_)) => phrase!("forces stalemate in {n}", "n"),
        (_, Some(1)) => phrase!("mates in 1 move", "n"),
        (_, Some(_)) => phrase!("mates in {n} moves", "n"),
        (Goal::Forced(Aim::Mate, _), None) => phrase!("mates in time", "n"),
        (Goal::Forced(Aim::Selfmate, _), None) => phrase!("forces selfmate in time", "n"),
        (Goal::Forced(Aim::Stalemate, _), None) => phrase!("forces stalemate in time", "n"),
        (Goal::Win(_), None) => phrase!("wins", "n"),
        (Goal::Draw(_), None) => phrase!("holds", "n"),
        (Goal::Best(_), None) => phrase!("is as good as the best", "n"),
    };
    goal.counted(text, length.unwrap_or(0))
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

/// Why a move fails, as the end of a sentence.
pub fn failure(position: &Chess, ruling: &Ruling, goal: Goal) -> String {
    let line = ruling.line();
    if let (None, Some(Evidence::Searched { depth, value, .. })) =
        (goal.moves_left(), ruling.evidence())
    {
        let value = value.map_or(String::new(), |v| {
            decimal(&format!(", {:+.2}", f64::from(v) / 100.0))
        });
        return say!(
            "{line} (searched to depth {depth}{value})",
            line = rest(position, line),
            depth = depth.to_string(),
            value = value,
        );
    }
    let aim = goal.forced().map_or(Aim::Mate, |(aim, _)| aim);
    let mut after = position.clone();
    if let Some(&mv) = line.first() {
        after.play_unchecked(mv);
    }
    let text = if line.len() > 1 {
        phrase!("{line} and there is no {aim} in time", "line aim end")
    } else if after.is_stalemate() {
        phrase!("it gives stalemate", "line aim end")
    } else if after.is_checkmate() {
        phrase!("it gives mate", "line aim end")
    } else if goal.moves_left() == Some(1) && aim != Aim::Selfmate {
        phrase!("it is not {end}", "line aim end")
    } else {
        phrase!("there is no {aim} in time", "line aim end")
    };
    say!(
        text,
        line = rest(position, &line[..line.len().min(2)]),
        aim = aim.noun(),
        end = aim.end(),
    )
}
