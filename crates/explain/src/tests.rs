//! What reasons say and mark. Whether they are given where they should be is
//! asked by the corpus.

use shakmaty::Position;

use super::{Analyst, ReasonKind, reasons};
use check::{Goal, Judge, Known, Margins, Question};
use model::notation::{fen, moves};
use prove::Unwatched;

/// The kinds of reason given for a line in SAN, and the sentence of each.
fn given(position: &str, line: &str) -> Vec<(ReasonKind, String)> {
    let start = fen::read(position).expect("a legal position");
    let mut at = start.clone();
    let mut played = Vec::new();
    for text in line.split_whitespace() {
        let mv = moves::read(&at, text).unwrap_or_else(|fault| panic!("{text}: {fault:?}"));
        at.play_unchecked(mv);
        played.push(mv);
    }
    reasons(&start, &played)
        .into_iter()
        .map(|reason| (reason.kind, reason.sentence))
        .collect()
}

#[test]
fn a_trapped_piece_is_told_with_its_squares_and_their_guards() {
    let given = given("6k1/5ppp/8/8/8/6P1/5P1b/5K2 w - - 0 1", "Kg2 Kf8 Kxh2");
    let sentence = &given
        .iter()
        .find(|(k, _)| *k == ReasonKind::TrappedPiece)
        .unwrap()
        .1;
    assert_eq!(
        sentence,
        "The bishop on h2 is trapped: 1.Kg2 attacks it, and its squares are covered: g1 (king g2), g3 (pawn f2)."
    );
}

/// The queen on a7 is shut in by its own men and has the diagonal alone, where
/// every square is covered.
#[test]
fn a_trapped_queen_is_told_with_every_flight_and_its_guard() {
    let start = fen::read("rn4k1/qb3pp1/p6p/8/8/8/5PPP/2BQR1K1 w - - 0 1").unwrap();
    let mut at = start.clone();
    let mut line = Vec::new();
    for text in ["Be3", "Nd7", "Bxa7"] {
        let mv = moves::read(&at, text).unwrap();
        at.play_unchecked(mv);
        line.push(mv);
    }
    let given = reasons(&start, &line);
    let trapped = given.iter().find(|r| r.kind == ReasonKind::TrappedPiece);
    let trapped = trapped.unwrap_or_else(|| panic!("{given:?}"));
    assert_eq!(
        trapped.sentence,
        "The queen on a7 is trapped: 1.Be3 attacks it, and its squares are covered: e3 (pawn f2), d4 (bishop e3), c5 (bishop e3), b6 (bishop e3)."
    );
    use shakmaty::Square;
    let flights = [
        (Square::E3, Square::F2),
        (Square::D4, Square::E3),
        (Square::C5, Square::E3),
        (Square::B6, Square::E3),
    ];
    assert_eq!(trapped.squares[0], Square::A7);
    assert_eq!(trapped.squares.len(), 1 + flights.len());
    for (flight, guard) in flights {
        assert!(trapped.squares.contains(&flight));
        assert!(trapped.arrows.contains(&(guard, flight)), "{flight}");
        let after = {
            let mut after = start.clone();
            after.play_unchecked(line[0]);
            after
        };
        let board = after.board();
        assert!(board.attacks_from(Square::A7).contains(flight));
        // The queen gone there, the guard takes it.
        let mut fled = board.clone();
        fled.discard_piece_at(Square::A7);
        fled.set_piece_at(flight, shakmaty::Color::Black.queen());
        assert!(fled.attacks_from(guard).contains(flight));
    }
}

/// The position, its line, and what a judge says of all its first moves.
fn judged(position: &str, goal: Goal, line: &str) -> (shakmaty::Chess, Vec<shakmaty::Move>, Known) {
    let start = fen::read(position).expect("a legal position");
    let mut at = start.clone();
    let mut played = Vec::new();
    for text in line.split_whitespace() {
        let mv = moves::read(&at, text).unwrap_or_else(|fault| panic!("{text}: {fault:?}"));
        at.play_unchecked(mv);
        played.push(mv);
    }
    let mut known = Known::default();
    let question = Question::about(&start, goal, &start.legal_moves());
    known.learn(&Judge::new(4 << 20).answer(&question, &mut Unwatched));
    (start, played, known)
}

fn searched(position: &str, goal: Goal, line: &str) -> Vec<String> {
    let (start, line, known) = judged(position, goal, line);
    let mut analyst = Analyst::new(4 << 20);
    let around = analyst.around(&start, &line, &mut Unwatched);
    analyst
        .reasons(&start, goal, &line, &known, &around, &mut Unwatched)
        .into_iter()
        .filter(|r| matches!(r.kind, ReasonKind::Zugzwang | ReasonKind::OnlyMove))
        .map(|r| r.sentence)
        .collect()
}

#[test]
fn zugzwang_and_only_moves_are_shown_by_search() {
    let win = Goal::Win(Margins {
        right: 200,
        wrong: 100,
    });
    assert_eq!(
        searched("4k3/8/3KP3/8/8/8/8/8 w - - 0 1", win, "e7 Kf7 Kd7"),
        [
            "After 1.e7 Black is in zugzwang: a pass would hold, and every move loses.",
            "1.e7 is the only move: all 5 others fail.",
        ]
    );
}

#[test]
fn tries_tempt_and_difficulty_counts() {
    let win = Goal::Win(Margins {
        right: 200,
        wrong: 100,
    });
    let (start, line, known) = judged(
        "6k1/3q1p1p/8/3N4/8/8/5PPP/6K1 w - - 0 1",
        win,
        "Nf6+ Kg7 Nxd7",
    );
    let mut analyst = Analyst::new(4 << 20);
    let judged = known.rulings(&start, win);
    let seen = analyst.tries(&start, win, judged, None, &mut Unwatched);
    let difficulty = analyst.difficulty(&start, win, &line, judged, &seen, &mut Unwatched);
    assert_eq!((difficulty.legal, difficulty.failing), (16, 15));
    assert_eq!((difficulty.length, difficulty.quiet), (2, 0));
    assert_eq!(difficulty.clone().weighed(), difficulty);
    assert!(
        difficulty.sentence().contains("15 of 16 moves fail"),
        "{}",
        difficulty.sentence()
    );
}
