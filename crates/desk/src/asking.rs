//! What is being worked on, in words: "Proving that no other first move mates
//! in 2 moves: 1.Qh5, 1.Qg4 and 12 more.".

use keyproof::check::{Question, met};
use keyproof::draft::NodeId;
use keyproof::notation::{fen, moves};
use keyproof::puzzle::{Puzzle, Role};
use keyproof::tongue::{Phrase, holes, phrase, say};
use shakmaty::{Chess, Move, Position};

use crate::names::and_more;

/// Moves that are named.
const NAMED: usize = 2;

/// What is said of a question where it is proved, and where it is searched.
#[derive(Clone, Copy)]
struct Text {
    proves: Sentence,
    searches: Sentence,
}

type Sentence = Phrase<{ holes::set("move reply met") }>;

/// What the sentence of a question names: a move, the reply before it, and what
/// is asked of it.
#[derive(Default)]
struct Named {
    mv: String,
    reply: String,
    met: String,
}

const ANSWERS: Text = Text {
    proves: phrase!("Proving which move answers {reply}.", "move reply met"),
    searches: phrase!("Searching which move answers {reply}.", "move reply met"),
};

/// Names a question by what it means for a puzzle; `None` if it is none of its.
pub fn words(puzzle: &Puzzle, question: &Question) -> Option<String> {
    let position = fen::read(&question.fen).ok()?;
    let asked = question.moves.iter();
    let asked = asked.filter_map(|text| moves::read(&position, text).ok());
    let asked: Vec<Move> = asked.collect();
    let (text, named) = match turn(puzzle, &position) {
        None => of_unlisted(puzzle, &position, &asked)?,
        Some(node) => {
            let goal = question.goal;
            let named = Named {
                mv: String::new(),
                reply: match node {
                    NodeId::ROOT => String::new(),
                    _ => last(puzzle, node),
                },
                met: met(goal, goal.moves_left()),
            };
            match asked.is_empty() {
                true => of_any(puzzle, node, named),
                false => of_moves(puzzle, (node, &position), &asked, named),
            }
        }
    };
    let text = match question.goal.forced() {
        Some(_) => text.proves,
        None => text.searches,
    };
    Some(say!(text, move = named.mv, reply = named.reply, met = named.met))
}

/// A question about a reply that is not in the tree.
fn of_unlisted(puzzle: &Puzzle, position: &Chess, asked: &[Move]) -> Option<(Text, Named)> {
    const MEETS: Text = Text {
        proves: phrase!(
            "Proving whether {move} meets {reply} as well.",
            "move reply met"
        ),
        searches: phrase!(
            "Searching whether {move} meets {reply} as well.",
            "move reply met"
        ),
    };
    let (node, reply) = unlisted(puzzle, position)?;
    let reply = numbered(puzzle.position(node), reply);
    let (text, mv) = match asked.first() {
        Some(&mv) => (MEETS, numbered(position, mv)),
        None => (ANSWERS, String::new()),
    };
    let met = String::new();
    Some((text, Named { mv, reply, met }))
}

/// A question about all moves of a node.
fn of_any(puzzle: &Puzzle, node: NodeId, named: Named) -> (Text, Named) {
    const FIRST: Text = Text {
        proves: phrase!("Proving which move {met}.", "move reply met"),
        searches: phrase!("Searching which move {met}.", "move reply met"),
    };
    const REFUTES: Text = Text {
        proves: phrase!("Proving whether {reply} refutes {move}.", "move reply met"),
        searches: phrase!(
            "Searching whether {reply} refutes {move}.",
            "move reply met"
        ),
    };
    if node == NodeId::ROOT {
        return (FIRST, named);
    }
    if puzzle.node(node).role == Role::Refutation {
        let mv = last(puzzle, puzzle.node(node).parent);
        return (REFUTES, Named { mv, ..named });
    }
    (ANSWERS, named)
}

/// A question about some moves of a node.
fn of_moves(
    puzzle: &Puzzle,
    (node, position): (NodeId, &Chess),
    asked: &[Move],
    named: Named,
) -> (Text, Named) {
    const TRY: Text = Text {
        proves: phrase!("Proving that the try {move} fails.", "move reply met"),
        searches: phrase!("Searching whether the try {move} fails.", "move reply met"),
    };
    const OTHER_FIRST: Text = Text {
        proves: phrase!(
            "Proving that no other first move {met}: {move}.",
            "move reply met"
        ),
        searches: phrase!(
            "Searching whether another first move {met}: {move}.",
            "move reply met"
        ),
    };
    const OTHER: Text = Text {
        proves: phrase!(
            "Proving that no other move {met} after {reply}: {move}.",
            "move reply met"
        ),
        searches: phrase!(
            "Searching whether another move {met} after {reply}: {move}.",
            "move reply met"
        ),
    };
    let role = |mv: Move| puzzle.child(node, mv).map(|child| puzzle.node(child).role);
    let accepted = |mv: &Move| matches!(role(*mv), Some(Role::Key | Role::Continuation));
    let first = node == NodeId::ROOT;
    let (text, mv) = if let Some(&mv) = asked.iter().find(|mv| accepted(mv)) {
        let alone = asked.iter().all(|mv| role(*mv).is_some());
        (accepting(first, alone), numbered(position, mv))
    } else if let Some(&mv) = asked.iter().find(|mv| role(**mv) == Some(Role::Try)) {
        (TRY, numbered(position, mv))
    } else {
        let text = if first { OTHER_FIRST } else { OTHER };
        (text, self::named(position, asked))
    };
    (text, Named { mv, ..named })
}

/// Of an accepted move, a first one or a later; `alone` if no unlisted move is
/// asked about with it.
fn accepting(first: bool, alone: bool) -> Text {
    match (first, alone) {
        (true, true) => Text {
            proves: phrase!("Proving that {move} {met}.", "move reply met"),
            searches: phrase!("Searching whether {move} {met}.", "move reply met"),
        },
        (true, false) => Text {
            proves: phrase!(
                "Proving that {move} {met}, and no other move does.",
                "move reply met"
            ),
            searches: phrase!(
                "Searching whether {move} {met}, and no other move does.",
                "move reply met"
            ),
        },
        (false, true) => Text {
            proves: phrase!("Proving that {move} {met} after {reply}.", "move reply met"),
            searches: phrase!(
                "Searching whether {move} {met} after {reply}.",
                "move reply met"
            ),
        },
        (false, false) => Text {
            proves: phrase!(
                "Proving that {move} {met} after {reply}, and no other move does.",
                "move reply met"
            ),
            searches: phrase!(
                "Searching whether {move} {met} after {reply}, and no other move does.",
                "move reply met"
            ),
        },
    }
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
    use keyproof::aim::Aim;
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
        let mate = Goal::Forced(Aim::Mate, 2);
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
        let last = Goal::Forced(Aim::Mate, 1);
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
