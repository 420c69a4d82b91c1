//! Lines of a tree to be taken elsewhere: cut out as a draft of their own, and
//! grafted below another move as far as they are legal there.

use shakmaty::{Chess, Position};

use crate::draft::{Draft, Edit, MoveFault, Node, NodeId};
use crate::notation::{fen, moves};
use crate::pgn_write;
use crate::resolved::Resolved;

/// A line that was grafted.
#[derive(Clone, Debug)]
pub struct Grafted {
    /// The draft with the line in it.
    pub draft: Draft,
    /// Moves of the line that stand in the draft now.
    pub fitted: usize,
    /// The first of them.
    pub first: Option<NodeId>,
    /// Moves that cannot be played there, with why; what follows them was left
    /// out too.
    pub misfits: Vec<Misfit>,
}

/// A move that cannot be played where it was to go.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Misfit {
    /// With its number where it would have stood: "2.Qh5".
    pub text: String,
    /// Why.
    pub fault: MoveFault,
    /// Moves left out with it, itself included.
    pub count: usize,
}

/// A move with all that follows it, as a draft that starts before it.
pub fn cut_out(resolved: &Resolved, node: NodeId) -> Draft {
    let draft = resolved.draft();
    let mut line = Draft::new();
    let Some(first) = draft.node(node) else {
        return line;
    };
    if let Some(position) = resolved.position(first.parent) {
        let fen = Some(fen::write(position));
        // The start needs no node.
        let _ = line.apply(&Edit::SetStart { fen });
    }
    let mut todo = vec![(node, NodeId::ROOT)];
    while let Some((from, below)) = todo.pop() {
        let Some(copied) = draft.node(from) else {
            continue;
        };
        let to = line.push_move(below, copied.text.clone(), None);
        annotate(&mut line, to, copied);
        todo.extend(copied.children.iter().rev().map(|&child| (child, to)));
    }
    line
}

/// A draft's moves as PGN movetext, without tags and result.
pub fn text(draft: &Draft) -> String {
    let whole = pgn_write::write(draft);
    let moves = whole.split_once("\n\n").map_or("", |(_, moves)| moves);
    let moves = moves.trim_end();
    moves
        .strip_suffix(pgn_write::result(draft))
        .unwrap_or(moves)
        .trim_end()
        .to_owned()
}

/// Puts the moves of `line` below a move. Moves that stand there already are
/// followed, and keep their words; their words are added where they differ.
pub fn graft(onto: &Resolved, at: NodeId, line: &Draft) -> Grafted {
    let mut grafted = Grafted {
        draft: onto.draft().clone(),
        fitted: 0,
        first: None,
        misfits: Vec::new(),
    };
    let (Some(start), Some(root)) = (onto.position(at), line.node(NodeId::ROOT)) else {
        return grafted;
    };
    let mut todo: Vec<(NodeId, NodeId, Chess)> = Vec::new();
    let below = |node: &Node, to: NodeId, position: &Chess, todo: &mut Vec<_>| {
        todo.extend(
            node.children
                .iter()
                .rev()
                .map(|&child| (child, to, position.clone())),
        );
    };
    below(root, at, start, &mut todo);
    while let Some((from, to, position)) = todo.pop() {
        let Some(node) = line.node(from) else {
            continue;
        };
        match moves::read(&position, &node.text) {
            Ok(mv) => {
                let added = grafted.draft.child_by_move(to, &node.text, Some(&position));
                let added = added.unwrap_or_else(|| {
                    let san = moves::san(&position, mv);
                    grafted.draft.push_move(to, san, None)
                });
                annotate(&mut grafted.draft, added, node);
                grafted.fitted += 1;
                grafted.first = grafted.first.or(Some(added));
                let mut after = position;
                after.play_unchecked(mv);
                below(node, added, &after, &mut todo);
            }
            Err(fault) => grafted.misfits.push(Misfit {
                text: numbered(&position, &node.text),
                fault,
                count: line.walk_below(from).len() + 1,
            }),
        }
    }
    grafted
}

fn numbered(position: &Chess, text: &str) -> String {
    let dots = if position.turn().is_white() {
        "."
    } else {
        "..."
    };
    format!("{}{dots}{text}", position.fullmoves())
}

/// Adds the glyphs and words of a copied move.
fn annotate(draft: &mut Draft, to: NodeId, copied: &Node) {
    let Ok(node) = draft.node_mut(to) else { return };
    if node.nags.is_empty() {
        node.nags = copied.nags.clone();
    }
    for (words, more) in [
        (&mut node.before, &copied.before),
        (&mut node.after, &copied.after),
    ] {
        for comment in more {
            if !words.contains(comment) {
                words.push(comment.clone());
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pgn_read;

    fn draft(text: &str) -> Draft {
        pgn_read::read(text).remove(0).draft
    }
    fn at(draft: &Draft, text: &str) -> NodeId {
        let found = draft
            .walk()
            .into_iter()
            .find(|&id| draft.node(id).unwrap().text == text);
        found.unwrap_or_else(|| panic!("no move {text}"))
    }

    #[test]
    fn a_line_is_copied_with_its_words_and_side_lines() {
        let game = draft("1. e4 e5 2. Nf3 $1 {Well.} (2. f4 exf4) 2... Nc6 *");
        let line = cut_out(&Resolved::of(&game), at(&game, "Nf3"));
        assert_eq!(text(&line), "2. Nf3 $1 {Well.} 2... Nc6");
        let all = cut_out(&Resolved::of(&game), at(&game, "e5"));
        assert_eq!(
            text(&all),
            "1... e5 2. Nf3 $1 {Well.} (2. f4 exf4) 2... Nc6"
        );
    }

    #[test]
    fn what_fits_is_grafted_and_the_rest_is_named() {
        let game = draft("1. e4 c5 *");
        let line = draft("1. e4 e5 2. Nf3 $1 {Well.} (2. Qh5 Nc6 3. Bc4) 2... Nc6 3. exd5 a6 *");
        let line = cut_out(&Resolved::of(&line), at(&line, "Nf3"));
        let grafted = graft(&Resolved::of(&game), at(&game, "c5"), &line);
        assert_eq!(text(&grafted.draft), "1. e4 c5 2. Nf3 $1 {Well.} 2... Nc6");
        assert_eq!(grafted.fitted, 2);
        let told: Vec<_> = grafted
            .misfits
            .iter()
            .map(|m| (m.text.as_str(), m.count))
            .collect();
        assert_eq!(told, [("3.exd5", 2)]);
        let again = graft(&Resolved::of(&grafted.draft), at(&game, "c5"), &line);
        assert_eq!(
            again.draft, grafted.draft,
            "a second time nothing is doubled"
        );
    }

    #[test]
    fn nothing_fits_where_nothing_is_legal() {
        let game = draft("1. e4 *");
        let line = draft("1. Qh5 *");
        let grafted = graft(&Resolved::of(&game), NodeId::ROOT, &line);
        assert_eq!(
            (grafted.fitted, grafted.first, grafted.misfits.len()),
            (0, None, 1)
        );
        assert_eq!(grafted.draft, game);
    }
}
