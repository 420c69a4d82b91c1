//! What is being worked on, in words: "Proving that no other first move mates
//! in 2 moves: 1.Qh5, 1.Qg4 and 12 more.".

use keyproof::check::{Question, met};
use keyproof::draft::NodeId;
use keyproof::notation::{fen, moves};
use keyproof::puzzle::{Puzzle, Role};
use keyproof::tongue::{phrase, say};
use shakmaty::{Chess, Move, Position};

use crate::names::and_more;

/// Moves that are named.
const NAMED: usize = 2;

/// Names a question by what it means for a puzzle; `None` if it is none of its.
pub fn words(puzzle: &Puzzle, question: &Question) -> Option<String> {
    let position = fen::read(&question.fen).ok()?;
    let asked: Vec<Move> = question
        .moves
        .iter()
        .filter_map(|text| moves::read(&position, text).ok())
        .collect();
    let goal = question.goal;
    let proved = goal.forced().is_some();
    // What is proved is said otherwise than what is searched.
    let told = |proves, searches, [mv, reply, met]: [&str; 3]| {
        let text = if proved { proves } else { searches };
        Some(say!(text, move = mv, reply = reply, met = met))
    };
    let answering = |reply: &str| {
        told(
            phrase!("Proving which move answers {reply}.", "move reply met"),
            phrase!("Searching which move answers {reply}.", "move reply met"),
            ["", reply, ""],
        )
    };
    let Some(node) = turn(puzzle, &position) else {
        let (node, reply) = unlisted(puzzle, &position)?;
        let reply = numbered(puzzle.position(node), reply);
        return match asked.first() {
            Some(&mv) => told(
                phrase!(
                    "Proving whether {move} meets {reply} as well.",
                    "move reply met"
                ),
                phrase!(
                    "Searching whether {move} meets {reply} as well.",
                    "move reply met"
                ),
                [&numbered(&position, mv), &reply, ""],
            ),
            None => answering(&reply),
        };
    };
    let first = node == NodeId::ROOT;
    let met = met(goal, goal.moves_left());
    let before = match first {
        true => String::new(),
        false => last(puzzle, node),
    };
    if asked.is_empty() {
        return match first {
            true => told(
                phrase!("Proving which move {met}.", "move reply met"),
                phrase!("Searching which move {met}.", "move reply met"),
                ["", "", &met],
            ),
            false if puzzle.node(node).role == Role::Refutation => told(
                phrase!("Proving whether {reply} refutes {move}.", "move reply met"),
                phrase!(
                    "Searching whether {reply} refutes {move}.",
                    "move reply met"
                ),
                [&last(puzzle, puzzle.node(node).parent), &before, ""],
            ),
            false => answering(&before),
        };
    }
    let role = |mv: Move| puzzle.child(node, mv).map(|child| puzzle.node(child).role);
    let accepted = |mv: &Move| matches!(role(*mv), Some(Role::Key | Role::Continuation));
    if let Some(&mv) = asked.iter().find(|mv| accepted(mv)) {
        let alone = asked.iter().all(|mv| role(*mv).is_some());
        let (proves, searches) = match (first, alone) {
            (true, true) => (
                phrase!("Proving that {move} {met}.", "move reply met"),
                phrase!("Searching whether {move} {met}.", "move reply met"),
            ),
            (true, false) => (
                phrase!(
                    "Proving that {move} {met}, and no other move does.",
                    "move reply met"
                ),
                phrase!(
                    "Searching whether {move} {met}, and no other move does.",
                    "move reply met"
                ),
            ),
            (false, true) => (
                phrase!("Proving that {move} {met} after {reply}.", "move reply met"),
                phrase!(
                    "Searching whether {move} {met} after {reply}.",
                    "move reply met"
                ),
            ),
            (false, false) => (
                phrase!(
                    "Proving that {move} {met} after {reply}, and no other move does.",
                    "move reply met"
                ),
                phrase!(
                    "Searching whether {move} {met} after {reply}, and no other move does.",
                    "move reply met"
                ),
            ),
        };
        return told(proves, searches, [&numbered(&position, mv), &before, &met]);
    }
    if let Some(&mv) = asked.iter().find(|mv| role(**mv) == Some(Role::Try)) {
        return told(
            phrase!("Proving that the try {move} fails.", "move reply met"),
            phrase!("Searching whether the try {move} fails.", "move reply met"),
            [&numbered(&position, mv), "", ""],
        );
    }
    let (proves, searches) = match first {
        true => (
            phrase!(
                "Proving that no other first move {met}: {move}.",
                "move reply met"
            ),
            phrase!(
                "Searching whether another first move {met}: {move}.",
                "move reply met"
            ),
        ),
        false => (
            phrase!(
                "Proving that no other move {met} after {reply}: {move}.",
                "move reply met"
            ),
            phrase!(
                "Searching whether another move {met} after {reply}: {move}.",
                "move reply met"
            ),
        ),
    };
    told(proves, searches, [&named(&position, &asked), &before, &met])
}

/// The node with the solver's turn that has this position.
fn turn(puzzle: &Puzzle, position: &Chess) -> Option<NodeId> {
    let shared = puzzle.stipulation().shared();
    walk(puzzle).find(|&node| {
        let here = puzzle.position(node);
        (shared || here.turn() == puzzle.solver()) && same(here, position)
    })
}

/// An accepted move and an unlisted reply to it that leads to this position.
fn unlisted(puzzle: &Puzzle, position: &Chess) -> Option<(NodeId, Move)> {
    walk(puzzle).skip(1).find_map(|node| {
        let here = puzzle.position(node);
        // A reply changes four squares at most.
        let changed = (here.board().occupied() ^ position.board().occupied()).count();
        if here.turn() == puzzle.solver() || changed > 4 {
            return None;
        }
        let reply = here.legal_moves().into_iter().find(|&mv| {
            let mut after = here.clone();
            after.play_unchecked(mv);
            same(&after, position)
        });
        Some((node, reply?))
    })
}

fn walk(puzzle: &Puzzle) -> impl Iterator<Item = NodeId> + '_ {
    let mut todo = vec![NodeId::ROOT];
    std::iter::from_fn(move || {
        let node = todo.pop()?;
        todo.extend(puzzle.children(node).iter().rev());
        Some(node)
    })
}

fn same(a: &Chess, b: &Chess) -> bool {
    a.turn() == b.turn() && a.board() == b.board()
}

fn numbered(position: &Chess, mv: Move) -> String {
    moves::line(position, &[mv], position.fullmoves().get())
}

/// The move that leads to a node.
fn last(puzzle: &Puzzle, node: NodeId) -> String {
    let of = puzzle.node(node);
    numbered(puzzle.position(of.parent), of.mv)
}

fn named(position: &Chess, asked: &[Move]) -> String {
    let first: Vec<String> = asked
        .iter()
        .take(NAMED)
        .map(|&mv| numbered(position, mv))
        .collect();
    match asked.len().saturating_sub(NAMED) {
        0 => first.join(", "),
        more => and_more(&first, more),
    }
}

/// Names a question of several puzzles.
pub fn words_of_all<'a>(
    mut puzzles: impl Iterator<Item = &'a Puzzle>,
    question: &Question,
) -> Option<String> {
    puzzles.find_map(|puzzle| words(puzzle, question))
}

#[cfg(test)]
mod tests {
    use super::*;
    use keyproof::check::{Goal, Known, questions};
    use keyproof::notation::pgn_read;
    use keyproof::resolved::Resolved;

    fn puzzle(text: &str) -> Puzzle {
        let draft = pgn_read::read(text).remove(0).draft;
        Resolved::of(&draft).into_puzzle().unwrap()
    }
    fn question(puzzle: &Puzzle, node: NodeId, goal: Goal, moves: &[&str]) -> Question {
        Question {
            fen: fen::write(puzzle.position(node)),
            goal,
            moves: moves.iter().map(|&m| m.into()).collect(),
            effort: 0,
        }
    }

    const STAIRCASE: &str = "[FEN \"6k1/8/8/8/8/6P1/R4PK1/1R6 w - - 0 1\"]\n[Stipulation \"#2\"]\n\n1. Ra7 (1. Ra8+ $2 Kf7) 1... Kf8 2. Rb8# *";

    #[test]
    fn a_question_is_named_by_what_it_means() {
        let puzzle = puzzle(STAIRCASE);
        let mate = Goal::Mate(2);
        let at = |moves: &[&str]| words(&puzzle, &question(&puzzle, NodeId::ROOT, mate, moves));
        let told = |moves: &[&str]| at(moves).unwrap();
        assert_eq!(told(&["a2a7"]), "Proving that 1.Ra7 mates in 2 moves.");
        assert_eq!(told(&["a2a8"]), "Proving that the try 1.Ra8+ fails.");
        assert_eq!(
            told(&["b1b7", "b1b2", "b1b3"]),
            "Proving that no other first move mates in 2 moves: 1.Rb7, 1.Rbb2 and 1 more."
        );
        assert_eq!(
            told(&["a2a7", "b1b7"]),
            "Proving that 1.Ra7 mates in 2 moves, and no other move does."
        );
        let key = puzzle.children(NodeId::ROOT)[0];
        let reply = puzzle.children(key)[0];
        let last = Goal::Mate(1);
        let later =
            |moves: &[&str]| words(&puzzle, &question(&puzzle, reply, last, moves)).unwrap();
        assert_eq!(
            later(&["b1b8"]),
            "Proving that 2.Rb8# mates in 1 move after 1...Kf8."
        );
        assert_eq!(later(&[]), "Proving which move answers 1...Kf8.");
        let refutation = puzzle.children(puzzle.children(NodeId::ROOT)[1])[0];
        assert_eq!(
            words(&puzzle, &question(&puzzle, refutation, last, &[])).unwrap(),
            "Proving whether 1...Kf7 refutes 1.Ra8+."
        );
        let mut after = puzzle.position(key).clone();
        let unlisted = moves::read(&after, "Kh8").unwrap();
        after.play_unchecked(unlisted);
        let asked = Question {
            fen: fen::write(&after),
            goal: last,
            moves: vec!["b1b8".into()],
            effort: 0,
        };
        assert_eq!(
            words(&puzzle, &asked).unwrap(),
            "Proving whether 2.Rb8# meets 1...Kh8 as well."
        );
    }

    #[test]
    fn what_is_searched_is_not_called_proved() {
        let text = STAIRCASE.replace("#2", "+");
        let puzzle = puzzle(&text);
        let first = &questions(&puzzle, &Known::default())[0];
        let told = words(&puzzle, first).unwrap();
        assert!(told.starts_with("Searching whether 1.Ra7 wins"), "{told}");
        let elsewhere = Question {
            fen: "7k/8/8/8/8/8/8/K6R w - - 0 1".into(),
            ..first.clone()
        };
        assert_eq!(words(&puzzle, &elsewhere), None);
    }
}
