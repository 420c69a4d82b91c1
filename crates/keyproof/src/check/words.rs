//! Moves, lines and edits as the findings need them.

use shakmaty::{Chess, Move, Position};

use super::survey::Turn;
use super::{Evidence, Finding, Goal, Kind, Mend, Ruling, Weight};
use crate::draft::{Edit, NodeId};
use crate::notation::moves;
use crate::prove::Aim;
use crate::puzzle::Puzzle;

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

/// "a move", "2 moves".
pub fn count(n: u8) -> String {
    if n == 1 {
        "1 move".to_owned()
    } else {
        format!("{n} moves")
    }
}

/// A number with its thousands set apart: 34,512.
pub fn thousands(n: u64) -> String {
    let digits = n.to_string();
    let mut text = String::new();
    for (i, digit) in digits.chars().enumerate() {
        if i > 0 && (digits.len() - i).is_multiple_of(3) {
            text.push(',');
        }
        text.push(digit);
    }
    text
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
        label: format!("Accept {} as well", numbered(puzzle, turn.node, mv)),
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
    if let (None, Some(Evidence::Searched { depth, value })) =
        (goal.moves_left(), ruling.evidence())
    {
        let value = value.map_or(String::new(), |v| format!(", {:+.2}", f64::from(v) / 100.0));
        return format!(
            "{} (searched to depth {depth}{value})",
            rest(position, line)
        );
    }
    let aim = goal.forced().map_or(Aim::Mate, |(aim, _)| aim);
    if line.len() > 1 {
        return format!(
            "{} and there is no {} in time",
            rest(position, &line[..2]),
            aim.noun()
        );
    }
    let mut after = position.clone();
    if let Some(&mv) = line.first() {
        after.play_unchecked(mv);
    }
    if after.is_stalemate() {
        "it gives stalemate".to_owned()
    } else if after.is_checkmate() {
        "it gives mate".to_owned()
    } else if goal.moves_left() == Some(1) && aim != Aim::Selfmate {
        format!("it is not {}", aim.end())
    } else {
        format!("there is no {} in time", aim.noun())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn thousands_are_set_apart() {
        assert_eq!(thousands(0), "0");
        assert_eq!(thousands(999), "999");
        assert_eq!(thousands(34512), "34,512");
        assert_eq!(thousands(1_200_000), "1,200,000");
    }
}
