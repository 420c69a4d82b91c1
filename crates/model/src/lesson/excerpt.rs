//! The puzzle that stands at a moment of a lesson.

use super::{Moment, is_lesson, moments};
use crate::draft::{Draft, Node, NodeId};
use crate::notation::fen;
use crate::puzzle::Posed;
use crate::resolved::Resolved;

/// A puzzle cut out of a lesson.
#[derive(Clone, Debug)]
pub struct Excerpt {
    /// The moment it stands at; `None` for a puzzle that is no part of a game.
    pub moment: Option<Moment>,
    /// The puzzle, as a draft that was tried.
    pub resolved: Resolved,
    /// For each node id of its draft, the node of the lesson it came from.
    pub nodes: Vec<NodeId>,
}

/// The tags of a game that its puzzles keep.
const KEPT: [&str; 12] = [
    "Event",
    "Site",
    "Date",
    "Round",
    "White",
    "Black",
    "Annotator",
    "Language",
    "Uniqueness",
    "Defences",
    "HintCost",
    "Margins",
];

/// Plies of the game that are kept after a move of it that is a try.
const AFTER_A_TRY: usize = 3;

/// The puzzles of a draft: one for each moment of a lesson, else the draft
/// itself. A lesson whose tag has faults has none.
pub fn excerpts(resolved: &Resolved) -> Vec<Excerpt> {
    let draft = resolved.draft();
    if !is_lesson(draft) {
        let last = draft.walk().into_iter().max().unwrap_or(NodeId::ROOT);
        return vec![Excerpt {
            moment: None,
            resolved: resolved.clone(),
            nodes: (0..=last.0).map(NodeId).collect(),
        }];
    }
    moments(resolved)
        .unwrap_or_default()
        .iter()
        .filter_map(|moment| excerpt(resolved, moment))
        .collect()
}

/// The puzzle at a moment: the position, the words that lead up to it, and
/// what the game gives from there, with the game itself cut off where nothing
/// more is asked. `None` if the moment is none of this draft.
pub fn excerpt(resolved: &Resolved, moment: &Moment) -> Option<Excerpt> {
    let draft = resolved.draft();
    let position = resolved.position(moment.node)?;
    let root = draft.node(moment.node)?;
    let mut cut = Draft::new();
    for (name, value) in tags(draft, moment) {
        cut.set_tag(&name, Some(&value));
    }
    cut.set_tag("SetUp", Some("1"));
    cut.set_tag("FEN", Some(&fen::write(position)));
    cut.node_mut(NodeId::ROOT).ok()?.after = root.after.clone();
    let mut nodes = vec![moment.node];
    let plies = plies(draft, moment);
    let game = root.children.first().copied();
    // Moves to copy, each with its parent in the excerpt and, on the game's
    // own line, the plies left.
    let mut todo: Vec<(NodeId, NodeId, Option<usize>)> = root
        .children
        .iter()
        .rev()
        .map(|&child| (child, NodeId::ROOT, (Some(child) == game).then_some(plies)))
        .collect();
    while let Some((from, parent, left)) = todo.pop() {
        if left == Some(0) {
            continue;
        }
        let node = draft.node(from)?;
        let id = cut.push_move(parent, node.text.clone(), node.place);
        nodes.push(from);
        let copy = cut.node_mut(id).ok()?;
        copy.nags = node.nags.clone();
        copy.before = node.before.clone();
        copy.after = node.after.clone();
        let (last, more) = (left == Some(1), node.children.iter().enumerate().rev());
        for (i, &child) in more {
            match left.filter(|_| i == 0) {
                Some(left) => todo.push((child, id, Some(left - 1))),
                // Beside a move of the game that is cut off there is nothing.
                None if last => {}
                None => todo.push((child, id, None)),
            }
        }
    }
    Some(Excerpt {
        moment: Some(*moment),
        resolved: Resolved::of(&cut),
        nodes,
    })
}

/// Plies of the game that belong to the puzzle.
fn plies(draft: &Draft, moment: &Moment) -> usize {
    let played = draft
        .node(moment.node)
        .and_then(|node| draft.node(*node.children.first()?));
    let tried = played.is_some_and(Node::is_poor);
    if tried {
        1 + AFTER_A_TRY
    } else if moment.stipulation.shared() {
        usize::from(moment.turns)
    } else {
        2 * usize::from(moment.turns) - 1
    }
}

fn tags(draft: &Draft, moment: &Moment) -> Vec<(String, String)> {
    let mut tags: Vec<(String, String)> = draft
        .tags()
        .iter()
        .filter(|(name, _)| KEPT.contains(&name.as_str()))
        .cloned()
        .collect();
    tags.push(("Stipulation".to_owned(), moment.stipulation.to_string()));
    let own = moment.place.own_tag("");
    for (name, value) in draft.tags() {
        let Some(name) = name.strip_suffix(&own) else {
            continue;
        };
        // In the game nobody passes: whose move it is, moves.
        let threat = name == Posed::TAG && Posed::read(value) == Some(Posed::Threat);
        let value = match threat {
            true => format!("{value} at a moment of a game"),
            false => value.clone(),
        };
        tags.push((name.to_owned(), value));
    }
    tags
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{pgn_read, pgn_write};

    /// White overlooks the mate and plays on; Black to move then finds his.
    const GAME: &str = "[Event \"Thursday\"]\n[White \"Ilsa\"]\n[Moments \"3w #1, 4b #1\"]\n[Hint1_3w \"f7.\"]\n[FEN \"r1bqk1nr/pppp1ppp/2n5/2b1p2Q/2B1P3/8/PPPP1PPP/RNB1K1NR w KQkq - 4 3\"]\n[SetUp \"1\"]\n\n{Look at f7.} 3. Nf3 $2 {Not this.} (3. Qxf7# $1 {It was mate.}) 3... Qf6 4. Nc3 *";

    fn cut() -> Vec<Excerpt> {
        excerpts(&Resolved::of(&pgn_read::read(GAME).remove(0).draft))
    }

    #[test]
    fn a_moment_is_a_puzzle_with_its_own_tags_and_words() {
        let first = &cut()[0];
        let text = pgn_write::write(first.resolved.draft());
        assert!(text.contains("[Event \"Thursday\"]") && text.contains("[Stipulation \"#1\"]"));
        assert!(text.contains("[Hint1 \"f7.\"]") && !text.contains("Moments"));
        assert!(
            text.contains("{Look at f7.} 3. Nf3 $2 {Not this.} (3. Qxf7#"),
            "{text}"
        );
    }

    #[test]
    fn nodes_name_where_each_move_came_from() {
        let lesson = pgn_read::read(GAME).remove(0).draft;
        for excerpt in cut() {
            for id in excerpt.resolved.draft().walk() {
                let from = lesson.node(excerpt.nodes[id.0 as usize]).unwrap();
                assert_eq!(from.text, excerpt.resolved.draft().node(id).unwrap().text);
            }
        }
    }

    #[test]
    fn a_moment_at_the_end_of_the_game_has_no_solution_yet() {
        let last = &cut()[1];
        assert!(last.resolved.draft().walk().is_empty());
        assert_eq!(last.moment.unwrap().place.to_string(), "4b");
    }

    #[test]
    fn the_game_is_cut_where_nothing_more_is_asked() {
        let text = "[Moments \"1w bm 2\"]\n\n1. e4 e5 (1... c5 2. Nf3 d6 3. d4) 2. Nf3 (2. f4 $1 exf4) 2... Nc6 (2... d6) 3. Bb5 *";
        let cut = excerpts(&Resolved::of(&pgn_read::read(text).remove(0).draft));
        let draft = cut[0].resolved.draft();
        let moves: Vec<String> = draft
            .walk()
            .into_iter()
            .map(|id| draft.node(id).unwrap().text.clone())
            .collect();
        assert_eq!(
            moves,
            ["e4", "e5", "Nf3", "f4", "exf4", "c5", "Nf3", "d6", "d4"]
        );
    }

    #[test]
    fn a_puzzle_is_its_own_excerpt() {
        let draft = pgn_read::read("[Stipulation \"#1\"]\n\n1. e4 e5 *")
            .remove(0)
            .draft;
        let alone = excerpts(&Resolved::of(&draft)).remove(0);
        assert_eq!(alone.moment, None);
        assert_eq!(alone.nodes.len(), 3);
    }
}
