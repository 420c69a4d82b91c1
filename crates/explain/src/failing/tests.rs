//! Wrong moves in positions of our own, and what is said of each.

use shakmaty::{Move, Position, Square};

use super::*;
use check::{Judge, Margins, Question};
use model::notation::{fen, moves};
use prove::Unwatched;

fn analyst() -> Analyst {
    Analyst::new(4 << 20)
}

const WIN: Goal = Goal::Win(Margins {
    right: 200,
    wrong: 100,
});
const DRAW: Goal = Goal::Draw(Margins {
    right: -50,
    wrong: -200,
});
const BEST: Goal = Goal::Best(Margins {
    right: -20,
    wrong: -100,
});

/// The failure of a move, given in SAN, and its sentence.
fn failure(position: &str, goal: Goal, line: &str) -> Failure {
    let start = fen::read(position).expect("a legal position");
    let mut at = start.clone();
    let mut played: Vec<Move> = Vec::new();
    for text in line.split_whitespace() {
        let mv = moves::read(&at, text).expect("a legal move");
        at.play_unchecked(mv);
        played.push(mv);
    }
    analyst().failure(&start, goal, &played, &mut Unwatched)
}

fn says(position: &str, goal: Goal, line: &str, sentence: &str) {
    let failure = failure(position, goal, line);
    assert_eq!(failure.sentence, sentence, "{failure:?}");
}

const BACK_RANK: &str = "3r2k1/5ppp/8/8/8/8/4QPPP/6K1 w - - 0 1";

#[test]
fn a_reply_that_mates_is_named() {
    let failure = failure(BACK_RANK, WIN, "Qb2");
    assert_eq!(failure.kind, FailureKind::Mated(1));
    assert_eq!(failure.sentence, "1.Qb2 runs into 1...Rd1#.");
    assert_eq!(failure.evidence, Evidence::Proved);
}

/// The queen takes a bishop and is taken: the other side gains nine pawns from there, of
/// which three were given before.
#[test]
fn what_is_lost_is_proved_and_what_was_taken_before_is_taken_off() {
    let failure = failure(
        "3r2k1/5ppp/8/3b4/8/7P/5PP1/3Q2K1 w - - 0 1",
        WIN,
        "Qxd5 Rxd5",
    );
    assert_eq!(failure.kind, FailureKind::Loses(Role::Queen));
    assert_eq!(failure.evidence, Evidence::Proved);
    let proof = failure.proof.expect("a gain");
    assert_eq!((proof.net, proof.claim.n), (6, 1));
    assert_eq!(proof.claim.holds, [("d8d5".to_owned(), 1)]);
    let Goal::Forced(Aim::Gain(gain), 1) = proof.claim.goal else {
        panic!("{:?}", proof.claim);
    };
    assert_eq!(gain.k, 9);
}

#[test]
fn a_lost_queen_is_named() {
    says(
        "3r2k1/5ppp/8/8/8/8/4QPPP/6K1 w - - 0 1",
        BEST,
        "Qd2",
        "1.Qd2 loses the queen: 1...Rxd2.",
    );
}

#[test]
fn a_move_that_stalemates_says_so() {
    says(
        "7k/8/6K1/8/8/8/8/5Q2 w - - 0 1",
        Goal::Forced(Aim::Mate, 2),
        "Qf7",
        "1.Qf7 is stalemate.",
    );
}

#[test]
fn a_mate_that_comes_too_late_is_slower() {
    says(
        "7k/8/5K2/8/8/8/8/R7 w - - 0 1",
        Goal::Forced(Aim::Mate, 2),
        "Ra2",
        "1.Ra2 takes too long: 1...Kh7, and mate comes only in 3 moves.",
    );
}

#[test]
fn a_king_that_gets_out_is_named() {
    says(
        "7k/6pp/8/8/8/8/8/R3K3 w Q - 0 1",
        Goal::Forced(Aim::Mate, 1),
        "Ra7",
        "1.Ra7 is not mate: it gives no check.",
    );
    says(
        "6k1/6pp/8/8/8/8/8/R3K3 w Q - 0 1",
        Goal::Forced(Aim::Mate, 1),
        "Ra8+",
        "1.Ra8+ is not mate: the king goes to f7, 1...Kf7.",
    );
}

#[test]
fn a_selfmate_that_is_not_forced_names_the_way_out() {
    says(
        "8/8/8/5Q2/8/8/6PP/2r1k2K w - - 0 1",
        Goal::Forced(Aim::Selfmate, 1),
        "Qf2+ Kd1",
        "1.Qf2+ does not make Black mate: 1...Kd1.",
    );
}

#[test]
fn a_move_that_does_not_help_says_how_much_is_left() {
    let helpmate = "8/k7/8/8/3K4/8/7Q/8 b - - 0 1";
    says(
        helpmate,
        Goal::Forced(Aim::Helpmate, 4),
        "Kb7",
        "1...Kb7 does not help: no mate is left in 3 half moves.",
    );
    says(
        "8/8/8/k1K5/8/8/7Q/8 w - - 0 1",
        Goal::Forced(Aim::Helpmate, 1),
        "Qh4",
        "1.Qh4 is not mate.",
    );
}

#[test]
fn a_threat_that_is_parried_is_named_with_its_square() {
    says(
        "5rk1/p4pp1/8/6NQ/8/5B2/5PPK/1q6 w - - 0 1",
        Goal::Forced(Aim::Mate, 2),
        "Be4",
        "1.Be4 threatens mate on h7, but 1...Qxe4 parries it.",
    );
}

#[test]
fn a_pawn_let_through_is_followed_to_its_square() {
    let failure = failure("8/8/8/8/8/3kp3/8/4K3 w - - 0 1", DRAW, "Kf1");
    assert_eq!(
        failure.kind,
        FailureKind::Promotes(Square::E1),
        "{failure:?}"
    );
    assert_eq!(failure.evidence, Evidence::Proved);
    let last = failure.line.last().expect("a line");
    assert!(
        last.is_promotion() && failure.sentence.contains("e1=Q"),
        "{failure:?}"
    );
}

#[test]
fn a_perpetual_check_is_followed_until_it_repeats() {
    // A rook down, Black has nothing but checks on e1 and h4.
    let failure = failure("6k1/1Q3ppp/8/8/7q/8/6P1/R5K1 w - - 0 1", WIN, "Ra6");
    assert_eq!(failure.kind, FailureKind::Perpetual, "{failure:?}");
    assert!(
        failure
            .sentence
            .starts_with("1.Ra6 allows perpetual check: 1...Qe1+"),
        "{}",
        failure.sentence
    );
}

#[test]
fn a_reply_that_wins_an_exchange_by_force_shows_the_capture() {
    let failure = failure("3r2k1/5ppp/8/8/3B2b1/5N2/5PPP/6K1 b - - 0 1", WIN, "Rxd4");
    assert_eq!(failure.kind, FailureKind::LosesExchange, "{failure:?}");
    assert_eq!(failure.sentence, "1...Rxd4 loses the exchange: 2.Nxd4.");
}

/// Positions with the goal asked in them, each with wrong moves of many kinds.
const ASKED: [(&str, Goal); 7] = [
    ("7k/8/5K2/8/8/8/8/R7 w - - 0 1", Goal::Forced(Aim::Mate, 2)),
    (
        "6k1/5ppp/2n5/8/8/8/1B3PPP/3R2K1 w - - 0 1",
        Goal::Forced(Aim::Mate, 2),
    ),
    (
        "8/8/8/5Q2/8/8/6PP/2r1k2K w - - 0 1",
        Goal::Forced(Aim::Selfmate, 2),
    ),
    (
        "4k3/8/8/8/6R1/1K6/1P6/3Q4 w - - 0 1",
        Goal::Forced(Aim::Stalemate, 2),
    ),
    (
        "8/k7/8/8/3K4/8/7Q/8 b - - 0 1",
        Goal::Forced(Aim::Helpmate, 4),
    ),
    ("6k1/3q1p1p/8/3N4/8/8/5PPP/6K1 w - - 0 1", WIN),
    ("8/8/8/p6p/P6P/1k6/1p1R4/1K6 w - - 0 1", DRAW),
];

#[test]
fn every_wrong_move_has_one_reason_that_is_legal_and_carries_through_its_code() {
    let mut judge = Judge::new(4 << 20);
    for (position, goal) in ASKED {
        let start = fen::read(position).unwrap();
        let legal: Vec<Move> = start.legal_moves().into_iter().collect();
        let question = Question::about(&start, goal, &legal);
        let mut known = check::Known::default();
        known.learn(&judge.answer(&question, &mut Unwatched));
        let judged = known.rulings(&start, goal);
        let wrong = judged.iter().filter(|(_, r)| r.fails()).count();
        let failures = analyst().failures(&start, goal, judged, &mut Unwatched);
        assert_eq!(failures.len(), wrong);
        for failure in failures {
            let mut at = start.clone();
            for &mv in &failure.line {
                assert!(at.is_legal(mv), "{failure:?}");
                at.play_unchecked(mv);
            }
            assert!(failure.sentence.ends_with('.') && failure.sentence.len() > 8);
            let code = failure.kind.encode();
            let read = FailureKind::decode(&code).expect("a code");
            assert_eq!(
                read.sentence(&start, &failure.line, goal, 1),
                failure.sentence
            );
            match failure.kind {
                FailureKind::Mated(_) => assert!(at.is_checkmate()),
                FailureKind::Mates => assert!(at.is_checkmate()),
                FailureKind::Stalemates => assert!(at.is_stalemate()),
                FailureKind::Loses(role) => {
                    let last = failure.line.last().expect("a line");
                    assert_eq!(last.capture(), Some(role), "{failure:?}");
                    assert_eq!(at.turn(), start.turn(), "{failure:?}");
                }
                FailureKind::Promotes(square) => {
                    let last = failure.line.last().expect("a line");
                    assert!(last.is_promotion() && last.to() == square, "{failure:?}");
                }
                FailureKind::Escapes(square) => {
                    let king = at.board().king_of(!start.turn());
                    assert_eq!(king, Some(square), "{failure:?}");
                }
                _ => {}
            }
        }
    }
}

/// Larsen - Petrosian, Santa Monica 1966, from memory: a bishop falls in the line that is
/// seen first, and need not; after the other move, the queen that falls there only delays
/// the mate.
#[test]
fn what_falls_in_a_line_and_need_not_is_not_told_as_lost() {
    let white = "r2q1rk1/pp2ppb1/3pn1pQ/3R4/2P3B1/4BR2/PP4PP/6K1 w - - 0 25";
    assert_eq!(failure(white, BEST, "Qh3 Qc8").kind, FailureKind::Weaker);
    let black = "r2q1rk1/pp2pp2/3pnbpQ/3R4/2P3B1/4BR2/PP4PP/6K1 b - - 0 24";
    assert_eq!(failure(black, BEST, "Bxb2").kind, FailureKind::Attacked);
}

#[test]
fn what_comes_back_has_lost_nothing() {
    let start = fen::read("6k1/5ppp/8/8/8/8/5PPP/R5K1 w - - 0 1").unwrap();
    let back = moves::read_ucis(&start, &["a1a2", "g8f8", "a2a1", "f8g8"].map(String::from));
    assert!(comes_back(&start, &back));
    assert!(!comes_back(&start, &back[..3]));
    // The rook may not castle any more.
    let castles = fen::read("6k1/5ppp/8/8/8/8/5PPP/R3K3 w Q - 0 1").unwrap();
    let line = moves::read_ucis(
        &castles,
        &["a1a2", "g8f8", "a2a1", "f8g8"].map(String::from),
    );
    assert!(!comes_back(&castles, &line));
}
