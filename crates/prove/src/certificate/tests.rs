//! What is written is what the independent checker accepts, claim for claim.

use keyproof_certify::{Accepted, Kind};
use model::aim::Gain;

use super::*;
use crate::Unwatched;
use crate::corpus::{Seeded, mixed};

const ROOK: &str = "8/5P1k/5K2/8/8/8/8/8 w - - 0 1";

fn position(fen: &str) -> Chess {
    let fen: Fen = fen.parse().expect("FEN");
    fen.into_position(CastlingMode::Standard).expect("legal")
}

fn named(position: &Chess, name: &str) -> Move {
    let uci: UciMove = name.parse().expect("UCI");
    uci.to_move(position).expect("legal")
}

#[test]
fn what_does_not_hold_is_not_written() {
    let start = position(ROOK);
    let mut prover = Prover::new(1 << 20);
    let queen = named(&start, "f7f8q");
    let rook = named(&start, "f7f8r");
    let mut mates =
        |keys: &[_]| certified(&mut prover, Aim::Mate, &start, keys, false, &mut Unwatched);
    assert_eq!(mates(&[(queen, 2)]), Err(wrong(&start, queen)));
    assert_eq!(mates(&[(rook, 1)]), Err(wrong(&start, rook)));
    assert!(mates(&[(rook, 2)]).is_ok());
    let three = position("8/8/8/8/8/2K5/1R6/k7 w - - 0 1");
    let slow = named(&three, "b2b3");
    // Nor where it was written before that it takes one move more.
    for keys in [&[(slow, 2)][..], &[(slow, 2), (slow, 3)]] {
        let mut prover = Prover::new(1 << 20);
        let in_two = certified(&mut prover, Aim::Mate, &three, keys, false, &mut Unwatched);
        assert_eq!(in_two, Err(wrong(&three, slow)));
    }
    let mut only = |n, keys: &[_]| only(&mut prover, Aim::Mate, &start, n, keys, &mut Unwatched);
    assert_eq!(only(2, &[]), Err(wrong(&start, rook)));
    assert!(only(2, &[(rook, 2)]).is_ok());
    // Whoever calls a mate in two one in three is told that it is shorter.
    assert_eq!(only(3, &[(rook, 3)]), Err(wrong(&start, rook)));
}

#[test]
fn a_missing_key_is_found_three_moves_deep() {
    let start = position("8/8/8/8/8/2K5/1R6/k7 w - - 0 1");
    let mut prover = Prover::new(1 << 20);
    let rook = named(&start, "b2b3");
    let other = named(&start, "b2c2");
    let mut only = |keys: &[_]| only(&mut prover, Aim::Mate, &start, 3, keys, &mut Unwatched);
    assert_eq!(only(&[(rook, 3)]), Err(wrong(&start, other)));
    assert!(only(&[(rook, 3), (other, 3)]).is_ok());
}

#[test]
fn cancelling_and_spent_budgets_leave_it_undecided() {
    struct Cancel;
    impl Watch for Cancel {
        fn go_on(&mut self, _: u64, _: f32) -> bool {
            false
        }
    }
    let start = position("8/8/8/8/8/2K5/1R6/k7 w - - 0 1");
    let mut prover = Prover::new(1 << 20);
    let verdicts = prover.judge(&start, 3, None, &mut Unwatched);
    let undecided = |found| matches!(found, Err(Uncertified::Undecided { .. }));
    assert!(undecided(write(
        &mut prover,
        Aim::Mate,
        &start,
        3,
        &verdicts,
        &mut Cancel
    )));
    prover.budget = Some(1);
    assert!(undecided(write(
        &mut prover,
        Aim::Mate,
        &start,
        3,
        &verdicts,
        &mut Unwatched
    )));
    let verdicts = prover.judge(&start, 3, None, &mut Unwatched);
    assert!(undecided(write(
        &mut prover,
        Aim::Mate,
        &start,
        3,
        &verdicts,
        &mut Unwatched
    )));
}

/// What the checker accepts of a text; each claim by its kind, moves, the names of its
/// first moves, sorted, and the gain.
fn claims(text: &str) -> Vec<(Kind, usize, Vec<String>, Option<i32>)> {
    let Accepted { claims, .. } =
        keyproof_certify::verify(text).unwrap_or_else(|fault| panic!("{fault}:\n{text}"));
    let told = |claim: keyproof_certify::Claim| {
        let from = balance(claim.position.board(), claim.position.turn());
        let gain = claim.target.map(|target| target - i32::from(from));
        (claim.kind, claim.moves, names(&claim.firsts), gain)
    };
    claims.into_iter().map(told).collect()
}

fn names(moves: &[Move]) -> Vec<String> {
    let mut names: Vec<String> = moves.iter().map(|&m| uci(m).to_string()).collect();
    names.sort();
    names
}

/// Certificates of all verdicts on a position's moves: each key with its length stands
/// in the first, and the second names for each length the keys that are no longer.
fn both_are_accepted(position: &Chess, aim: Aim, n: u8, prover: &mut Prover) -> usize {
    let verdicts = prover.judge_aim(aim, position, n, None, &mut Unwatched);
    let mut keys: Vec<(Move, u8)> = Vec::new();
    for (m, verdict) in &verdicts {
        match verdict {
            Verdict::Forces { length, .. } => keys.push((*m, *length)),
            Verdict::Fails { .. } => {}
            Verdict::Unknown { .. } => panic!("no budget"),
        }
    }
    let Certificates { mates, only } =
        write(prover, aim, position, n, &verdicts, &mut Unwatched).expect("what was proved");
    let from = i32::from(balance(position.board(), position.turn()));
    let gain = match aim {
        Aim::Gain(gain) => Some(gain.target() - from),
        _ => None,
    };
    let forced = mates.as_deref().map(claims).unwrap_or_default();
    let mut expected: Vec<_> = keys
        .iter()
        .map(|&(m, length)| (Kind::Forces, usize::from(length), names(&[m]), gain))
        .collect();
    let by_name = |claim: &(Kind, usize, Vec<String>, Option<i32>)| (claim.1, claim.2.clone());
    expected.sort_by_key(by_name);
    let mut found = forced.clone();
    found.sort_by_key(by_name);
    assert_eq!(found, expected);
    assert!(forced.is_sorted_by_key(|claim| claim.1), "{forced:?}");

    let mut lengths: Vec<u8> = keys.iter().map(|&(_, length)| length - 1).collect();
    lengths.retain(|&length| length > 0 && length < n);
    lengths.push(n);
    lengths.sort_unstable();
    lengths.dedup();
    let named = |most: u8| {
        let firsts = keys.iter().filter(|&&(_, length)| length <= most);
        names(&firsts.map(|&(m, _)| m).collect::<Vec<_>>())
    };
    let expected: Vec<_> = lengths
        .into_iter()
        .rev()
        .map(|most| (Kind::Only, usize::from(most), named(most), gain))
        .collect();
    assert_eq!(claims(&only), expected);
    keys.len()
}

/// Castling, en passant and promotion near, on either side.
#[test]
fn certificates_of_mates_are_accepted() {
    let mut prover = Prover::new(1 << 20);
    let mut keys = 0;
    for line in include_str!("../../../../tests/strata.tsv").lines() {
        let fields: Vec<&str> = line.split('\t').collect();
        if fields[1] == "#3" {
            keys += both_are_accepted(&position(fields[2]), Aim::Mate, 3, &mut prover);
        }
    }
    assert!(keys > 60, "{keys}");
}

#[test]
fn certificates_of_gains_are_accepted() {
    let mut prover = Prover::new(1 << 20);
    let mut random = Seeded::new(11);
    let mut keys = [0; 2];
    for i in 0..60 {
        let start = mixed(&mut random);
        let k = [1, 3, 5, 9][i % 4];
        let aim = Aim::Gain(Gain::at(k, &start));
        for (n, keys) in (1..).zip(&mut keys) {
            *keys += both_are_accepted(&start, aim, n, &mut prover);
        }
    }
    assert!(keys[0] > 20 && keys[1] > 40, "{keys:?}");
}

/// Of what is claimed of some moves: only of those, and of the lengths only where they
/// are said to be the least.
#[test]
fn a_claim_of_some_moves_says_no_more() {
    let start = position("8/8/8/8/8/2K5/1R6/k7 w - - 0 1");
    let [rook, other, third] = ["b2b3", "b2c2", "b2d2"].map(|name| named(&start, name));
    let mut prover = Prover::new(1 << 20);
    let lengths: Vec<(Move, Option<u8>)> = prover
        .judge(&start, 3, Some(&[rook, other, third]), &mut Unwatched)
        .into_iter()
        .map(|(m, verdict)| match verdict {
            Verdict::Forces { length, .. } => (m, Some(length)),
            _ => (m, None),
        })
        .collect();
    let of = |m: Move| {
        lengths
            .iter()
            .find(|(of, _)| *of == m)
            .and_then(|(_, l)| *l)
    };
    assert_eq!([of(rook), of(other)], [Some(3), Some(3)]);
    let claimed = Claimed {
        aim: Aim::Mate,
        position: &start,
        n: 3,
        holds: &[(rook, 3)],
        fails: &[],
        drawn: &[],
        shortest: false,
    };
    let mut told = |claimed: Claimed| -> Result<_, Uncertified> {
        let text = text(&mut prover, &claimed, &mut Unwatched)?;
        Ok(match text.is_empty() {
            true => Vec::new(),
            false => claims(&text),
        })
    };
    let key = (Kind::Forces, 3, names(&[rook]), None);
    assert_eq!(told(claimed), Ok(vec![key.clone()]));
    // Within two moves nothing mates, and nothing is said of three.
    let shorter = (Kind::Only, 2, told_open(&start, &[rook]), None);
    let least = Claimed {
        shortest: true,
        ..claimed
    };
    assert_eq!(told(least), Ok(vec![key, shorter]));
    assert_eq!(
        told(Claimed {
            holds: &[],
            ..claimed
        }),
        Ok(vec![])
    );
    // What is said to fail and does not is not written.
    let wrongly = Claimed {
        holds: &[],
        fails: &[other],
        ..claimed
    };
    assert_eq!(told(wrongly), Err(wrong(&start, other)));
    let both = Claimed {
        fails: &[rook],
        ..claimed
    };
    assert_eq!(told(both), Err(wrong(&start, rook)));
    // Nothing is quicker than a mate at once.
    let near = position("8/8/8/8/8/1K6/7R/k7 w - - 0 1");
    let mate = named(&near, "h2h1");
    let at_once = Claimed {
        position: &near,
        holds: &[(mate, 1)],
        ..least
    };
    assert_eq!(
        told(at_once),
        Ok(vec![(Kind::Forces, 1, names(&[mate]), None)])
    );
}

/// The moves of which nothing is claimed stand as if they could be keys.
fn told_open(start: &Chess, but: &[Move]) -> Vec<String> {
    let open: Vec<Move> = start
        .legal_moves()
        .into_iter()
        .filter(|m| !but.contains(m))
        .collect();
    names(&open)
}

/// What a question leaves open within the budget is not told as wrong.
#[test]
fn a_refutation_that_is_not_found_in_time_leaves_it_undecided() {
    let start = position("rnb1kb1r/pp3ppp/2p5/4q3/4n3/3Q4/PPPB1PPP/2KR1BNR w kq - 0 9");
    let claimed = Claimed {
        aim: Aim::Mate,
        position: &start,
        n: 4,
        holds: &[],
        fails: &[named(&start, "a2a3")],
        drawn: &[],
        shortest: false,
    };
    for budget in [1, 10, 20] {
        let mut prover = Prover::new(1 << 20);
        prover.budget = Some(budget);
        let found = text(&mut prover, &claimed, &mut Unwatched);
        assert!(
            matches!(found, Err(Uncertified::Undecided { .. })),
            "{budget}: {found:?}"
        );
    }
}

/// Ed. Lasker - Thomas, London 1912, before White's eleventh move (from memory): a mate by
/// checks is written where a search through all moves would not come to an end.
#[test]
fn a_long_mate_by_checks_is_written_within_a_budget() {
    let start = position("rn3rk1/pbppq1pp/1p2pb2/4N2Q/3PN3/3B4/PPP2PPP/R3K2R w KQ - 7 11");
    let queen = named(&start, "h5h7");
    let claimed = Claimed {
        aim: Aim::Mate,
        position: &start,
        n: 8,
        holds: &[(queen, 8)],
        fails: &[],
        drawn: &[],
        shortest: false,
    };
    let mut prover = Prover::new(1 << 20);
    prover.budget = Some(20_000);
    let text = text(&mut prover, &claimed, &mut Unwatched).expect("a mate by checks");
    assert_eq!(claims(&text), [(Kind::Forces, 8, names(&[queen]), None)]);
}

/// Moves that lead to the same positions by more and by fewer moves.
#[test]
fn certificates_of_an_ending_are_accepted() {
    let mut prover = Prover::new(1 << 20);
    let start = position("8/8/8/8/8/2K5/1R6/k7 w - - 0 1");
    assert!(both_are_accepted(&start, Aim::Mate, 4, &mut prover) > 3);
    let middle = position(MIDDLE);
    assert_eq!(both_are_accepted(&middle, Aim::Mate, 4, &mut prover), 0);
}

const MIDDLE: &str = "8/8/8/3k4/8/8/1R6/K7 w - - 0 1";

/// Twenty questions' worth of nodes, and sixty-four megabytes.
#[test]
fn a_text_that_takes_too_much_is_given_up() {
    let mut prover = Prover::new(1 << 10);
    prover.budget = Some(10);
    let mut unwatched = Unwatched;
    let mut writer = Writer::new(&mut prover, Aim::Mate, &mut unwatched);
    let most = QUESTIONS * 10;
    for (nodes, bytes, goes_on) in [
        (most, LONGEST, true),
        (most + 1, 0, false),
        (0, LONGEST + 1, false),
    ] {
        (writer.prover.nodes, writer.bytes) = (nodes, bytes);
        assert_eq!(writer.go_on().is_ok(), goes_on, "{nodes} {bytes}");
    }
}

/// Fred Reinfeld, "Win at Chess" (1945), 9 (from memory): with 25 checks to give, the proof
/// comes to many a position with more and with fewer of them left.
#[test]
fn a_mate_by_checks_that_comes_back_is_written() {
    let start = position("3q1rk1/p4pp1/2pb3p/3p4/6Pr/1PNQ4/P1PB1PP1/4RRK1 b - - 0 1");
    let mut prover = Prover::new(1 << 20);
    let line = prover.mate_by_checks(&start, 25, &mut Unwatched);
    let first = line.expect("no budget").expect("a mate")[0];
    let claimed = Claimed {
        aim: Aim::Mate,
        position: &start,
        n: 25,
        holds: &[(first, 25)],
        fails: &[],
        drawn: &[],
        shortest: false,
    };
    let text = text(&mut prover, &claimed, &mut Unwatched).expect("a mate by checks");
    assert_eq!(claims(&text), [(Kind::Forces, 25, names(&[first]), None)]);
}
