//! The solution tree as a chess book prints it: rows of moves, each branch on
//! its own row, indented under the move it branches from. How it looks is left
//! to the views.

use keyproof::draft::{Draft, MoveFault, NodeId, Resolution};
use keyproof::notation::moves;
use keyproof::puzzle::Role;
use shakmaty::{Color, Position};

use crate::glyphs;
use crate::work::joined;

/// One move as printed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Printed {
    pub node: NodeId,
    /// `1.` or `1...`; empty where a book leaves it out.
    pub number: String,
    /// SAN where the move is legal, else as typed.
    pub text: String,
    /// `!`, `?`, `!!` and so on; other glyphs as `$n`.
    pub glyphs: String,
    /// `None` where the move cannot be played.
    pub role: Option<Role>,
    /// The first of its siblings.
    pub first: bool,
    /// Only tries stand before it among its siblings.
    pub foremost: bool,
    /// Words before and after the move.
    pub before: String,
    pub words: String,
    /// Why the move cannot be played.
    pub fault: Option<MoveFault>,
}

/// A row: moves up to the next branch.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Row {
    /// Branches above.
    pub depth: usize,
    pub moves: Vec<Printed>,
}

/// Prints the tree, with the roles of its moves.
pub fn rows(
    draft: &Draft,
    resolution: &Resolution,
    role: &dyn Fn(NodeId) -> Option<Role>,
) -> Vec<Row> {
    let mut rows = Vec::new();
    let mut starts: Vec<(NodeId, usize)> = Vec::new();
    push_starts(draft, NodeId::ROOT, 0, &mut starts);
    while let Some((start, depth)) = starts.pop() {
        let mut row = Row {
            depth,
            moves: Vec::new(),
        };
        let mut node = start;
        loop {
            let fresh = row
                .moves
                .last()
                .is_none_or(|m: &Printed| !m.words.is_empty());
            row.moves.push(print(draft, resolution, role, node, fresh));
            match draft.node(node).map(|n| n.children.as_slice()) {
                Some(&[only]) => node = only,
                _ => break,
            }
        }
        rows.push(row);
        push_starts(draft, node, depth + 1, &mut starts);
    }
    rows
}

/// A role in the trade's words. `first`: the first of its siblings; `shared`:
/// in a helpmate, where nobody answers.
pub fn role_word(role: Role, first: bool, shared: bool) -> &'static str {
    match role {
        Role::Key | Role::Continuation if shared && first => "solution",
        Role::Key | Role::Continuation if shared => "another solution",
        Role::Key if first => "key",
        Role::Continuation if first => "answer",
        Role::Key | Role::Continuation => "also accepted",
        Role::Try => "try",
        Role::Defence => "defence",
        Role::Refutation => "refutation",
        Role::Unclear => "accepted or a try?",
        Role::Aside => "aside",
    }
}

/// Glyphs as a book prints them.
pub fn printed_glyphs(nags: &[u8]) -> String {
    let mut text = String::new();
    for &nag in nags {
        match glyphs::sign(nag) {
            Some(sign) => {
                if nag > 9 {
                    text.push(' ');
                }
                text.push_str(sign);
            }
            None => {
                text.push_str(" $");
                text.push_str(&nag.to_string());
            }
        }
    }
    text
}

/// What a move's role may be set to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Claim {
    /// The move is right.
    Accepted,
    /// The move is wrong (a try); of a reply to a try, that it is to be
    /// answered.
    Fails,
    /// No glyph: the first of its siblings is right, a reply refutes.
    Plain,
}

/// The glyphs of a move with another claim; glyphs that claim nothing stay.
pub fn claim(nags: &[u8], claim: Claim) -> Vec<u8> {
    let fits = |nag: &u8| match claim {
        Claim::Accepted => matches!(nag, 1 | 3 | 7 | 8),
        Claim::Fails => matches!(nag, 2 | 4 | 6),
        Claim::Plain => false,
    };
    let claims = |nag: &u8| matches!(nag, 1 | 2 | 3 | 4 | 6 | 7 | 8);
    let mut kept: Vec<u8> = nags
        .iter()
        .copied()
        .filter(|n| !claims(n) || fits(n))
        .collect();
    if claim != Claim::Plain && !kept.iter().any(fits) {
        kept.insert(0, if claim == Claim::Accepted { 1 } else { 2 });
    }
    kept
}

fn push_starts(draft: &Draft, node: NodeId, depth: usize, starts: &mut Vec<(NodeId, usize)>) {
    if let Some(node) = draft.node(node) {
        starts.extend(node.children.iter().rev().map(|&c| (c, depth)));
    }
}

fn print(
    draft: &Draft,
    resolution: &Resolution,
    role: &dyn Fn(NodeId) -> Option<Role>,
    id: NodeId,
    fresh: bool,
) -> Printed {
    let node = draft.node(id).expect("a node of the walk");
    let step = resolution.steps.get(id.0 as usize).and_then(Option::as_ref);
    let before = resolution.position(node.parent);
    let text = match (before, step) {
        (Some(position), Some(step)) => moves::san(position, step.mv),
        _ => node.text.clone(),
    };
    let number = match before {
        Some(p) if p.turn() == Color::White => format!("{}.", p.fullmoves()),
        Some(p) if fresh => format!("{}...", p.fullmoves()),
        _ => String::new(),
    };
    Printed {
        node: id,
        number,
        text,
        glyphs: printed_glyphs(&node.nags),
        role: step.and_then(|_| role(id)),
        first: draft
            .node(node.parent)
            .is_some_and(|p| p.children.first() == Some(&id)),
        foremost: draft.node(node.parent).is_some_and(|parent| {
            let mut before = parent.children.iter().take_while(|&&other| other != id);
            before.all(|&other| role(other) == Some(Role::Try))
        }),
        before: joined(&node.before),
        words: joined(&node.after),
        fault: resolution
            .faults
            .iter()
            .find(|(n, _)| *n == id)
            .map(|(_, f)| f.clone()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use keyproof::notation::pgn_read;

    fn printed(pgn: &str) -> Vec<(usize, String)> {
        let draft = pgn_read::read(pgn).remove(0).draft;
        let resolution = draft.resolve();
        rows(&draft, &resolution, &|_| None)
            .into_iter()
            .map(|row| {
                let moves: Vec<String> = row
                    .moves
                    .iter()
                    .map(|m| format!("{}{}{}", m.number, m.text, m.glyphs))
                    .collect();
                (row.depth, moves.join(" "))
            })
            .collect()
    }

    #[test]
    fn a_line_is_one_row() {
        assert_eq!(
            printed("1. e4 e5 2. Nf3 *"),
            [(0, "1.e4 e5 2.Nf3".to_owned())]
        );
    }

    #[test]
    fn branches_are_rows_under_their_move() {
        assert_eq!(
            printed("1. e4 e5 (1... c5 2. Nf3) (1... e6) 2. f4 (2. d4 $2 exd4) *"),
            [
                (0, "1.e4".to_owned()),
                (1, "1...e5".to_owned()),
                (2, "2.f4".to_owned()),
                (2, "2.d4? exd4".to_owned()),
                (1, "1...c5 2.Nf3".to_owned()),
                (1, "1...e6".to_owned()),
            ]
        );
    }

    #[test]
    fn what_cannot_be_played_is_printed_as_typed() {
        assert_eq!(
            printed("1. e4 e5 2. Ke3 Nc6 *"),
            [(0, "1.e4 e5 2.Ke3 Nc6".to_owned())]
        );
    }

    #[test]
    fn claims_replace_each_other_and_nothing_else() {
        assert_eq!(claim(&[], Claim::Accepted), [1]);
        assert_eq!(claim(&[3], Claim::Accepted), [3]);
        assert_eq!(claim(&[1, 14], Claim::Fails), [2, 14]);
        assert_eq!(claim(&[6, 22], Claim::Plain), [22]);
    }
}
