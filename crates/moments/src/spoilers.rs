//! Keeping generated words from telling the answer to a later question.
//!
//! Words about a move that was played in the game stand where the student reads
//! them before the moments that follow. Which of a game's words were generated
//! is found by generating them again; the author's own, and those he has
//! changed, stay, and so do those of a language that the game had before, which
//! he has to rewrite. So it does not matter which moment is asked first.

use crate::Moment as Found;
use model::draft::{Draft, NodeId, Resolution};
use model::lesson::Moment;
use model::notation::moves;

/// Takes the words out of the game that give an answer away. `found` are the
/// moments of which words may have been generated.
pub fn remove_spoilers(game: &mut Draft, asked: &[Moment], found: &[&Found]) {
    let resolution = game.resolve();
    let bare = without_words(game);
    for found in found {
        let Some(played) = game.node(found.node).and_then(|n| n.children.first()) else {
            continue;
        };
        let played = *played;
        let words = generated(&bare, &resolution, found, played);
        let later = asked.iter().filter(|moment| moment.node != found.node);
        let later: Vec<&Moment> = later
            .filter(|moment| descends(game, moment.node, played))
            .collect();
        let tells = |text: &String| {
            let mut later = later.iter();
            words.contains(text)
                && later.any(|m| {
                    m.node == played || answers(game, &resolution, m).iter().any(|a| says(text, a))
                })
        };
        let Some(node) = game.node(played) else {
            continue;
        };
        let after: Vec<String> = node.after.iter().filter(|t| !tells(t)).cloned().collect();
        if let Ok(node) = game.node_mut(played) {
            node.after = after;
        }
    }
}

/// What is generated for the game's own move at a moment.
fn generated(bare: &Draft, game: &Resolution, found: &Found, played: NodeId) -> Vec<String> {
    let puzzle = crate::worded(bare, found);
    let resolution = puzzle.resolve();
    let mv = |resolution: &Resolution, node: NodeId| {
        let step = resolution.steps.get(node.0 as usize)?.as_ref();
        step.map(|step| step.mv)
    };
    let root = puzzle.node(NodeId::ROOT);
    let mut children = root.iter().flat_map(|root| &root.children);
    let same = children.find(|&&child| mv(&resolution, child) == mv(game, played));
    let node = same.and_then(|&child| puzzle.node(child));
    node.map_or(vec![], |node| node.after.clone())
}

fn without_words(game: &Draft) -> Draft {
    let mut bare = game.clone();
    for id in game.walk().into_iter().chain([NodeId::ROOT]) {
        if let Ok(node) = bare.node_mut(id) {
            node.before.clear();
            node.after.clear();
        }
    }
    bare
}

/// Whether a node lies below another one, or is it.
fn descends(game: &Draft, node: NodeId, from: NodeId) -> bool {
    let mut at = node;
    while at != from {
        match game.node(at) {
            Some(node) if at != NodeId::ROOT => at = node.parent,
            _ => return false,
        }
    }
    true
}

/// The moves that may be right at a moment, as they are written in a line:
/// "5.Qxf7", "4...Nxh5".
fn answers(game: &Draft, resolution: &Resolution, moment: &Moment) -> Vec<String> {
    let (Some(position), Some(node)) = (resolution.position(moment.node), game.node(moment.node))
    else {
        return vec![];
    };
    let right = node.children.iter().filter(|&&child| {
        let node = game.node(child);
        node.is_some_and(|node| !node.is_poor())
    });
    let steps = right.filter_map(|&child| resolution.steps[child.0 as usize].as_ref());
    steps
        .map(|step| {
            let text = moves::line(position, &[step.mv], moment.place.number);
            text.trim_end_matches(['+', '#']).to_owned()
        })
        .collect()
}

/// Whether a text has a move with its number, also as the second of a pair,
/// which is written without it.
fn says(text: &str, answer: &str) -> bool {
    let whole = |at: usize| !text[..at].ends_with(|c: char| c.is_ascii_digit());
    if text.match_indices(answer).any(|(at, _)| whole(at)) {
        return true;
    }
    let Some((number, san)) = answer.split_once("...") else {
        return false;
    };
    let pair = format!("{number}.");
    text.match_indices(&pair).any(|(at, _)| {
        let mut words = text[at + pair.len()..].split_whitespace().skip(1);
        let next = words.next().unwrap_or("");
        whole(at) && next.trim_end_matches(['+', '#', '.', ',', ';', ':']) == san
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use model::resolved::Resolved;

    #[test]
    fn a_move_is_told_with_its_number_alone_or_in_a_pair() {
        assert!(says("It loses: 5.Qxf7#.", "5.Qxf7"));
        assert!(!says("15.Qxf7 is far away.", "5.Qxf7"));
        assert!(says("It loses the queen: 4...Nxh5.", "4...Nxh5"));
        assert!(says("It goes on 4.Nf3 Nxh5 5.O-O.", "4...Nxh5"));
        assert!(!says("It goes on 4.Nf3 d6 5.O-O Nxh5.", "4...Nxh5"));
    }
    /// A game of our own making: White overlooks mate and leaves his queen.
    const GAME: &str = "1. e4 e5 2. Bc4 Nc6 3. Qh5 Nf6 {He saw the queen only.} 4. Nf3 {Development first.} 4... Nxh5 5. O-O *\n";

    #[test]
    fn words_give_nothing_away_whichever_moment_is_asked_first() {
        use crate::bring;
        use crate::{Course, Plan, Progress, find};
        use model::lesson::excerpts;
        use model::{pgn_read, pgn_write};
        use prove::Unwatched;

        let game = pgn_read::read(GAME).remove(0).draft;
        let course = Course::of(&game).unwrap();
        let mut progress = Progress::new(&course);
        let plan = Plan::nodes(20_000);
        let found = find(&course, &mut progress, &plan, &mut Unwatched, &mut |_| {});
        let at = |ply: usize| found.iter().find(|m| m.ply == ply).expect("a moment");
        let (first, second) = (at(6), at(7));
        let with = |game: &Draft, moment: &Found| {
            let puzzle = crate::worded(game, moment);
            bring(game, moment, &puzzle, &found).unwrap().0
        };
        let alone = with(&game, first);
        let told = |game: &Draft, node: NodeId| game.node(node).unwrap().after.join(" ");
        assert!(
            told(&alone, second.node).contains("4...Nxh5"),
            "{}",
            told(&alone, second.node)
        );
        let one_way = with(&alone, second);
        let other_way = with(&with(&game, second), first);
        for lesson in [&one_way, &other_way] {
            let words = told(lesson, second.node);
            assert_eq!(words, "Development first.");
            assert_eq!(excerpts(&Resolved::of(lesson)).len(), 2);
        }
        let text = |game: &Draft| {
            let mut text: Vec<String> = pgn_write::write(game)
                .split_whitespace()
                .map(str::to_owned)
                .collect();
            text.sort();
            text
        };
        assert_eq!(text(&one_way), text(&other_way));
    }
}
