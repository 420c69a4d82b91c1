use keyproof::check::{Goal, Judge, Second, Soundness};
use keyproof::notation::pgn_read;
use keyproof::prove::{Gain, Unwatched};
use keyproof::puzzle::Margins;
use keyproof::resolved::Resolved;

use super::*;

/// A rook mates in two, made of the pawn; making a queen stalemates.
const ROOK: &str = "8/5P1k/5K2/8/8/8/8/8 w - - 0 1";

fn claim(holds: &[(&str, u8)], fails: &[&str]) -> Claim {
    Claim {
        fen: ROOK.into(),
        goal: Goal::Forced(Aim::Mate, 2),
        n: 2,
        holds: holds.iter().map(|&(mv, n)| (mv.into(), n)).collect(),
        fails: fails.iter().map(|&mv| mv.into()).collect(),
        drawn: vec![],
        shortest: true,
    }
}

fn opinion(claim: Claim) -> Opinion {
    put(claim, &mut Prover::new(1 << 20), &mut Unwatched).opinion
}

#[test]
fn true_claims_are_accepted_and_false_ones_are_not() {
    let accepted = |claim| matches!(opinion(claim), Opinion::Accepted { .. });
    assert!(accepted(claim(&[("f7f8r", 2)], &["f7f8q", "f7f8n"])));
    // Of a move in neither list nothing is said.
    assert!(accepted(claim(&[], &["f7f8q"])));
    assert!(accepted(claim(&[("f7f8r", 2)], &[])));
    for wrong in [
        claim(&[("f7f8q", 2)], &[]),
        claim(&[("f7f8r", 1)], &[]),
        claim(&[], &["f7f8r"]),
        claim(&[("f7f8r", 2)], &["f7f8r"]),
        claim(&[("a1a2", 2)], &[]),
    ] {
        let told = opinion(wrong.clone());
        assert!(matches!(told, Opinion::Against(_)), "{wrong:?}: {told:?}");
    }
}

#[test]
fn gains_are_put_to_the_checker_like_mates() {
    let fork = |fen: &str, k, holds: &[(&str, u8)], fails: &[&str]| {
        let start = keyproof::notation::fen::read(fen).unwrap();
        Claim {
            fen: fen.into(),
            goal: Goal::Forced(Aim::Gain(Gain::at(k, &start)), 2),
            ..claim(holds, fails)
        }
    };
    let free = "6k1/3q1p1p/8/3N4/8/8/5PPP/6K1 w - - 0 1";
    let guarded = "3r2k1/3q1p1p/8/3N4/8/8/5PPP/6K1 w - - 0 1";
    for (told, holds) in [
        (fork(free, 9, &[("d5f6", 2)], &["d5b6", "d5e7"]), true),
        (fork(free, 10, &[], &["d5f6"]), true),
        (fork(free, 10, &[("d5f6", 2)], &[]), false),
        (fork(free, 9, &[], &["d5f6"]), false),
        (fork(guarded, 9, &[("d5f6", 2)], &[]), false),
        (fork(guarded, 6, &[("d5f6", 2)], &[]), true),
    ] {
        let told = opinion(told.clone());
        assert_eq!(matches!(told, Opinion::Accepted { .. }), holds, "{told:?}");
        assert_eq!(matches!(told, Opinion::Against(_)), !holds, "{told:?}");
    }
}

/// Black is about to mate, and White checks for ever.
#[test]
fn draws_by_force_are_put_to_the_checker() {
    let drawn = |moves: &[&str], holds: &[(&str, u8)]| Claim {
        fen: "6k1/6p1/8/7Q/8/8/qr6/7K w - - 0 1".into(),
        goal: Goal::Draw(Margins {
            right: -50,
            wrong: -200,
        }),
        n: 1,
        drawn: moves.iter().map(|&mv| mv.into()).collect(),
        shortest: false,
        ..claim(holds, &[])
    };
    for (told, holds) in [
        (drawn(&["h5e8"], &[]), true),
        (drawn(&["h5e8", "h5d5"], &[]), false),
        (drawn(&["h1g1"], &[]), false),
        (drawn(&["h5e8"], &[("h5e8", 1)]), false),
    ] {
        let told = opinion(told.clone());
        assert_eq!(matches!(told, Opinion::Accepted { .. }), holds, "{told:?}");
        assert_eq!(matches!(told, Opinion::Against(_)), !holds, "{told:?}");
    }
}

/// The verdict of a puzzle that asks to hold waits for it, and counts it.
#[test]
fn a_perpetual_check_is_checked_a_second_time() {
    let pgn = "[FEN \"6k1/6p1/8/7Q/8/8/qr6/7K w - - 0 1\"]\n[Stipulation \"=\"]\n\n1. Qe8+ Kh7 2. Qh5+ Kg8 *";
    let draft = pgn_read::read(pgn).remove(0).draft;
    let puzzle = Resolved::of(&draft).into_puzzle().unwrap();
    let mut known = Known::default();
    known.want_second();
    let mut judge = Judge::new(1 << 20);
    let report = check::check(&draft, &mut known, &mut judge, &mut Unwatched);
    assert_eq!(
        (report.verdict, report.second),
        (Soundness::Undecided, Second::Waiting)
    );
    let claims = check::claims(&puzzle, &known);
    assert_eq!(claims[0].drawn, ["h5e8"]);
    put_all(
        &puzzle,
        &mut known,
        &mut Prover::new(1 << 20),
        &mut Unwatched,
    );
    let report = check::report(&Resolved::of(&draft), &known);
    assert_eq!(report.verdict, Soundness::Sound, "{:?}", report.findings);
    assert!(
        matches!(report.second, Second::Accepted { positions } if positions > 4),
        "{:?}",
        report.second
    );
}

#[test]
fn a_length_that_is_not_the_least_is_told_only_where_it_should_be() {
    // A queen and a rook: both lengths of the same move are proved, 1 is true.
    let mut long = Claim {
        fen: "7k/8/5K2/6Q1/8/8/8/8 w - - 0 1".into(),
        goal: Goal::Forced(Aim::Mate, 2),
        n: 2,
        holds: vec![("g5g7".into(), 2)],
        fails: vec![],
        drawn: vec![],
        shortest: true,
    };
    assert!(matches!(opinion(long.clone()), Opinion::Against(_)));
    long.shortest = false;
    assert!(matches!(opinion(long), Opinion::Accepted { .. }));
}

#[test]
fn a_spent_budget_leaves_it_open() {
    let mut prover = Prover::new(1 << 20);
    prover.budget = Some(1);
    let fen = "8/8/8/8/8/2K5/1R6/k7 w - - 0 1";
    let claim = Claim {
        fen: fen.into(),
        n: 3,
        goal: Goal::Forced(Aim::Mate, 3),
        ..claim(&[("b2b3", 3), ("b2c2", 3)], &["b2b8"])
    };
    let heard = put(claim.clone(), &mut prover, &mut Unwatched);
    assert_eq!(heard.opinion, Opinion::Unreached(Unreached::Budget));
    assert!(heard.text.is_none());
    prover.budget = None;
    let heard = put(claim, &mut prover, &mut Unwatched);
    assert!(matches!(heard.opinion, Opinion::Accepted { .. }));
    assert!(heard.text.is_some());
}

/// What the checker accepted of another claim is no opinion about this one.
#[test]
fn what_is_accepted_must_be_what_is_claimed() {
    let mut prover = Prover::new(1 << 20);
    let heard = put(
        claim(&[("f7f8r", 2)], &["f7f8q"]),
        &mut prover,
        &mut Unwatched,
    );
    let accepted = verify(&heard.text.unwrap()).unwrap().claims;
    let says = |claim: Claim| says(&accepted, &claim.read().unwrap());
    assert!(says(claim(&[("f7f8r", 2)], &["f7f8q"])));
    assert!(!says(claim(&[("f7f8b", 2)], &["f7f8q"])));
    assert!(!says(claim(&[("f7f8r", 1)], &["f7f8q"])));
    assert!(!says(claim(&[("f7f8r", 2)], &["f7f8q", "f7f8n"])));
    let elsewhere = Claim {
        fen: ROOK.replace(" w ", " b "),
        ..claim(&[], &["h7h6"])
    };
    assert!(!says(elsewhere));
}

#[test]
fn a_verdict_waits_for_all_that_it_rests_on() {
    let pgn = "[FEN \"8/8/8/8/8/2K5/1R6/k7 w - - 0 1\"]\n[Stipulation \"#3\"]\n\n1. Rb3 (1. Rc2 $1 Kb1 2. Kb3 Ka1 3. Rc1#) 1... Ka2 2. Kc2 Ka1 3. Ra3# *";
    let draft = pgn_read::read(pgn).remove(0).draft;
    let puzzle = Resolved::of(&draft).into_puzzle().unwrap();
    let mut known = Known::default();
    let mut judge = Judge::new(1 << 20);
    let report = check::check(&draft, &mut known, &mut judge, &mut Unwatched);
    assert_eq!(report.verdict, Soundness::Sound);
    assert_eq!(report.second, Second::Skipped);
    known.want_second();
    let waits = check::report(&Resolved::of(&draft), &known);
    assert_eq!(waits.verdict, Soundness::Undecided);
    assert_eq!(waits.second, Second::Waiting);
    // The first moves, and those that answer each defence.
    let claims = check::claims(&puzzle, &known);
    assert!(claims.len() > 3, "{claims:?}");
    assert_eq!(claims[0].fen, "8/8/8/8/8/2K5/1R6/k7 w - - 0 1");

    // One no is enough, wherever it stands.
    let last = claims.len() - 1;
    let mut doubted = known.clone();
    let mut prover = Prover::new(1 << 20);
    for (i, claim) in claims.iter().enumerate() {
        let told = match i == last {
            true => Opinion::Against(Against::Itself {
                fen: claim.fen.clone(),
                mv: "a1a2".into(),
            }),
            false => put(claim.clone(), &mut prover, &mut Unwatched).opinion,
        };
        doubted.hear(claim, told);
    }
    let report = check::report(&Resolved::of(&draft), &doubted);
    assert_eq!(report.verdict, Soundness::Undecided);
    assert!(matches!(report.second, Second::Against(_)));

    put_all(&puzzle, &mut known, &mut prover, &mut Unwatched);
    let report = check::report(&Resolved::of(&draft), &known);
    assert_eq!(report.verdict, Soundness::Sound);
    assert!(matches!(report.second, Second::Accepted { positions } if positions > 100));
    assert!(check::claims(&puzzle, &known).is_empty());
}

/// A win by a fork of king and queen; other moves run into a mate on the back rank.
const FORK: &str = "[FEN \"6k1/3q1p1p/8/3N4/8/8/5PPP/6K1 w - - 0 1\"]\n[Stipulation \"+\"]\n\n1. Nf6+ (1. Nb6 $2 Qd1#) 1... Kg7 2. Nxd7 *";

/// Where no mate is asked for, a move that loses to one is checked as well.
#[test]
fn a_mate_that_refutes_is_checked_where_none_is_asked_for() {
    let draft = pgn_read::read(FORK).remove(0).draft;
    let resolved = Resolved::of(&draft);
    let puzzle = resolved.puzzle().expect("a puzzle");
    let (mut known, mut judge) = (Known::default(), Judge::new(check::TABLE_BYTES));
    known.want_second();
    check::check(&draft, &mut known, &mut judge, &mut Unwatched);
    let lost = known.losses(puzzle.start(), Goal::of(puzzle));
    let back_rank = lost
        .iter()
        .find(|claim| claim.holds == [("d7d1".to_owned(), 1)]);
    let back_rank = back_rank.expect("a mate on the back rank").clone();
    assert!(check::claims(puzzle, &known).contains(&back_rank));
    let verdict = |known: &Known| check::report(&resolved, known);
    assert_eq!(verdict(&known).second, Second::Waiting);

    let mut disagreeing = known.clone();
    let mut prover = Prover::new(1 << 20);
    let heard = put_all(puzzle, &mut known, &mut prover, &mut Unwatched);
    let own = heard.iter().find(|heard| heard.claim == back_rank);
    let own = own.expect("it was put to the checker");
    assert!(matches!(own.opinion, Opinion::Accepted { .. }), "{own:?}");
    let report = verdict(&known);
    assert_eq!(report.verdict, Soundness::Sound, "{:?}", report.findings);
    assert!(matches!(report.second, Second::Accepted { .. }));

    for one in &heard {
        disagreeing.hear(&one.claim, one.opinion.clone());
    }
    let no = Against::Itself {
        fen: back_rank.fen.clone(),
        mv: "d7d1".into(),
    };
    disagreeing.hear(&back_rank, Opinion::Against(no));
    assert_eq!(verdict(&disagreeing).verdict, Soundness::Undecided);
}

/// A win that a move lets go, since Black then checks for ever.
#[test]
fn a_draw_that_takes_a_win_away_is_checked_where_a_win_is_asked_for() {
    let pgn = "[FEN \"7k/QR6/8/8/7q/8/6P1/6K1 w - - 0 1\"]\n[Stipulation \"+\"]\n\n1. Rb8# (1. Rb6 $2 Qe1+) *";
    let draft = pgn_read::read(pgn).remove(0).draft;
    let puzzle = Resolved::of(&draft).into_puzzle().unwrap();
    let (mut known, mut judge) = (Known::default(), Judge::new(check::TABLE_BYTES));
    known.want_second();
    check::check(&draft, &mut known, &mut judge, &mut Unwatched);
    let lost = known.losses(puzzle.start(), Goal::of(&puzzle));
    let drawn: Vec<&Claim> = lost
        .iter()
        .filter(|claim| !claim.drawn.is_empty())
        .collect();
    assert!(
        drawn.iter().any(|claim| claim.drawn == ["h4e1"]),
        "{lost:?}"
    );
    for claim in drawn {
        let told = opinion(claim.clone());
        assert!(
            matches!(told, Opinion::Accepted { .. }),
            "{claim:?}: {told:?}"
        );
    }
}
