//! Positions of our own in which a reason must be given, and near misses in
//! which it must not.

use shakmaty::Position;

use super::{Analyst, ReasonKind, reasons};
use crate::check::{Goal, Judge, Known, Margins, Question};
use crate::notation::{fen, moves};
use crate::prove::Unwatched;

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

const SHOWN: [(ReasonKind, &str, &str); 20] = [
    (
        ReasonKind::DoubleCheck,
        "4k3/8/8/8/4N3/8/8/4R1K1 w - - 0 1",
        "Nd6+",
    ),
    (
        ReasonKind::DiscoveredCheck,
        "4k3/8/8/8/4N3/8/8/4R1K1 w - - 0 1",
        "Nc3+",
    ),
    (
        ReasonKind::DiscoveredAttack,
        "3q2k1/8/8/8/8/3B4/8/3R2K1 w - - 0 1",
        "Bh7+ Kxh7 Rxd8",
    ),
    (
        ReasonKind::Fork,
        "6k1/3q1p1p/8/3N4/8/8/5PPP/6K1 w - - 0 1",
        "Nf6+ Kg7 Nxd7",
    ),
    (
        ReasonKind::Pin,
        "4k3/8/4n3/3P4/8/8/8/R5K1 w - - 0 1",
        "Re1 Kd7 dxe6+",
    ),
    (
        ReasonKind::Pin,
        "6k1/5pp1/6p1/8/2B5/8/6Q1/6K1 w - - 0 1",
        "Qxg6",
    ),
    (
        ReasonKind::Skewer,
        "8/1q6/8/3k4/8/8/8/4KB2 w - - 0 1",
        "Bg2+ Kd6 Bxb7",
    ),
    (
        ReasonKind::TrappedPiece,
        "6k1/5ppp/8/8/8/6P1/5P1b/5K2 w - - 0 1",
        "Kg2 Kf8 Kxh2",
    ),
    (
        ReasonKind::RemovedGuard,
        "6k1/6pp/5n2/3r2B1/8/8/8/3R2K1 w - - 0 1",
        "Bxf6 gxf6 Rxd5",
    ),
    (
        ReasonKind::Deflection,
        "6k1/5ppp/2n5/8/8/8/1B3PPP/3R2K1 w - - 0 1",
        "Be5 Nxe5 Rd8#",
    ),
    (
        ReasonKind::Decoy,
        "q6k/6pp/8/6N1/8/8/6PP/3R2K1 w - - 0 1",
        "Rd8+ Qxd8 Nf7+ Kg8 Nxd8",
    ),
    (
        ReasonKind::Interference,
        "r5k1/5ppp/p1N5/8/8/8/5PPP/3R2K1 w - - 0 1",
        "Nb8 a5 Rd8#",
    ),
    (
        ReasonKind::Overload,
        "2r3k1/5ppp/8/8/8/2b5/5PPP/2RR2K1 w - - 0 1",
        "Rxc3 Rxc3 Rd8#",
    ),
    (
        ReasonKind::BackRankMate,
        "6k1/5ppp/8/8/8/8/8/R5K1 w - - 0 1",
        "Ra8#",
    ),
    (
        ReasonKind::SmotheredMate,
        "6rk/6pp/7N/8/8/8/8/6K1 w - - 0 1",
        "Nf7#",
    ),
    (
        ReasonKind::Promotion,
        "8/P6k/8/8/8/8/8/K7 w - - 0 1",
        "a8=Q",
    ),
    (
        ReasonKind::Promotion,
        "8/P6k/8/8/8/8/8/K7 w - - 0 1",
        "a8=N",
    ),
    (
        ReasonKind::Stalemate,
        "7K/5k1P/8/8/8/8/8/1r4Q1 w - - 0 1",
        "Qf1+ Rxf1",
    ),
    (
        ReasonKind::QuietMove,
        "7k/8/5K2/8/8/8/8/R7 w - - 0 1",
        "Kf7 Kh7 Rh1#",
    ),
    (
        ReasonKind::Sacrifice,
        "6k1/5ppp/2n5/8/8/8/1B3PPP/3R2K1 w - - 0 1",
        "Be5 Nxe5 Rd8#",
    ),
];

const NEAR_MISSES: [(ReasonKind, &str, &str); 18] = [
    // One checker only.
    (
        ReasonKind::DoubleCheck,
        "4k3/8/8/8/4N3/8/8/4R1K1 w - - 0 1",
        "Nc3+",
    ),
    // The man that moved gives the check.
    (
        ReasonKind::DiscoveredCheck,
        "4k3/8/8/8/3N4/8/8/R5K1 w - - 0 1",
        "Re1+",
    ),
    // The line does not take the man that the slider sees.
    (
        ReasonKind::DiscoveredAttack,
        "3q2k1/8/8/8/8/3B4/8/3R2K1 w - - 0 1",
        "Bc4+ Kh8 Kg2",
    ),
    (
        ReasonKind::Fork,
        "6k1/3q1p1p/8/3N4/8/8/5PPP/6K1 w - - 0 1",
        "Nf6+ Kg7 Kf1",
    ),
    // A guarded pawn is no target.
    (
        ReasonKind::Fork,
        "6k1/3p1p1p/2p5/3N4/8/8/5PPP/6K1 w - - 0 1",
        "Nf6+ Kg7 Nxd7",
    ),
    // The knight leaves the file.
    (
        ReasonKind::Pin,
        "4k3/8/4n3/8/8/8/8/R5K1 w - - 0 1",
        "Re1 Kf7 Kf2",
    ),
    (
        ReasonKind::Skewer,
        "8/1q6/8/3k4/8/8/8/4KB2 w - - 0 1",
        "Bg2+ Kd6 Kf1",
    ),
    // The long diagonal is open.
    (
        ReasonKind::TrappedPiece,
        "6k1/5ppp/8/8/8/8/5P1b/5K2 w - - 0 1",
        "Kg2 Kf8 Kxh2",
    ),
    (
        ReasonKind::RemovedGuard,
        "6k1/6pp/5n2/3r2B1/8/8/8/3R2K1 w - - 0 1",
        "Bxf6 gxf6 Kf1",
    ),
    // The knight takes and guards as before.
    (
        ReasonKind::Deflection,
        "6k1/5ppp/8/8/8/8/1B3PPP/3R2K1 w - - 0 1",
        "Be5 f6 Rd8+",
    ),
    (
        ReasonKind::Decoy,
        "q6k/6pp/8/6N1/8/8/6PP/3R2K1 w - - 0 1",
        "Rd8+ Qxd8 Kf1",
    ),
    (
        ReasonKind::Interference,
        "r5k1/5ppp/p1N5/8/8/8/5PPP/3R2K1 w - - 0 1",
        "Ne7+ Kf8 Kf1",
    ),
    (
        ReasonKind::Overload,
        "2r3k1/5ppp/8/8/8/2b5/5PPP/2R3K1 w - - 0 1",
        "Rxc3 Rxc3 h3",
    ),
    // White men, not Black's own, take the king's squares.
    (
        ReasonKind::BackRankMate,
        "7k/8/6K1/8/8/8/8/R7 w - - 0 1",
        "Ra8#",
    ),
    // The king has a square that White covers.
    (
        ReasonKind::SmotheredMate,
        "7k/6pp/6PN/8/2B5/8/8/6K1 w - - 0 1",
        "Nf7+",
    ),
    // The other side is stalemated.
    (
        ReasonKind::Stalemate,
        "7k/8/6K1/8/8/8/8/5Q2 w - - 0 1",
        "Qf7",
    ),
    (
        ReasonKind::QuietMove,
        "6k1/5ppp/2n5/8/8/8/1B3PPP/3R2K1 w - - 0 1",
        "Rd8+ Nxd8 h3",
    ),
    // An exchange is no sacrifice.
    (
        ReasonKind::Sacrifice,
        "6k1/6pp/5n2/3r2B1/8/8/8/3R2K1 w - - 0 1",
        "Bxf6 gxf6 Rxd5",
    ),
];

#[test]
fn a_reason_is_given_where_its_definition_holds() {
    for (kind, position, line) in SHOWN {
        let given = given(position, line);
        assert!(
            given.iter().any(|(k, _)| *k == kind),
            "{kind:?} for {line} in {position}: {given:?}"
        );
    }
}

#[test]
fn near_misses_stay_silent() {
    for (kind, position, line) in NEAR_MISSES {
        let given = given(position, line);
        assert!(
            given.iter().all(|(k, _)| *k != kind),
            "{kind:?} for {line} in {position}: {given:?}"
        );
    }
}

#[test]
fn every_kind_is_shown_at_least_once() {
    // What needs a search is tested below.
    let searched = [ReasonKind::Zugzwang, ReasonKind::OnlyMove];
    for kind in ReasonKind::ALL
        .into_iter()
        .filter(|k| !searched.contains(k))
    {
        assert!(SHOWN.iter().any(|(k, ..)| *k == kind), "{kind:?}");
    }
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
        "The bishop on h2 is trapped: Kg2 attacks it, and its squares are covered: g1 (king g2), g3 (pawn f2)."
    );
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
    Analyst::new(4 << 20)
        .reasons(&start, goal, &line, &known, &mut Unwatched)
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
            "After e7 Black is in zugzwang: a pass would hold, and every move loses.",
            "e7 is the only move: all 5 others fail.",
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
    for t in &seen.tries {
        println!("{} {t:?}", moves::san(&start, t.mv));
    }
    let difficulty = analyst.difficulty(&start, win, &line, judged, &seen, &mut Unwatched);
    println!("{} {difficulty:?}", difficulty.sentence());
    assert_eq!((difficulty.legal, difficulty.failing), (16, 15));
}
