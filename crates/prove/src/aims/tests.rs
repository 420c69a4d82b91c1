//! Every aim against a search written down from its definition.

use shakmaty::fen::Fen;
use shakmaty::{Chess, EnPassantMode, Move, Position};

use super::Aim;
use crate::bitboards::Bitboards;
use crate::corpus::{Seeded, mixed, placed};
use crate::{Prover, Unwatched, Verdict};
use model::notation::{fen, moves};

/// What the solver forces; gains have tests of their own.
fn all_forced() -> impl Iterator<Item = Aim> {
    Aim::ALL.into_iter().filter(|aim| !aim.shared())
}

fn played(position: &Chess, mv: Move) -> Chess {
    let mut after = position.clone();
    after.play_unchecked(mv);
    after
}

/// Whether the side to move reaches the aim within `n` of its moves, whatever
/// the other side does: the aim is looked for at every position, whoever is to
/// move there.
fn forced(aim: Aim, position: &Chess, n: u8) -> bool {
    n > 0
        && position
            .legal_moves()
            .into_iter()
            .any(|mv| forced_by(aim, &played(position, mv), n))
}

fn forced_by(aim: Aim, after: &Chess, n: u8) -> bool {
    let replies = after.legal_moves();
    let reached = match aim {
        Aim::Mate => after.is_checkmate(),
        Aim::Stalemate => after.is_stalemate(),
        Aim::Selfmate | Aim::Helpmate | Aim::Gain(_) => false,
    };
    let meets = |reply| {
        let next = played(after, reply);
        aim == Aim::Selfmate && next.is_checkmate() || forced(aim, &next, n - 1)
    };
    reached || !replies.is_empty() && replies.into_iter().all(meets)
}

/// Compares all first moves; counts those that force the aim.
fn compare(aim: Aim, position: &Chess, n: u8) -> usize {
    let mut prover = Prover::new(1 << 16);
    let at = || {
        let fen = Fen::from_position(position, EnPassantMode::Legal);
        format!("{fen} {}{n}", aim.sign())
    };
    let judged = prover.judge_aim(aim, position, n, None, &mut Unwatched);
    assert_eq!(judged.len(), position.legal_moves().len(), "{}", at());
    let mut keys = 0;
    for (mv, verdict) in judged {
        let after = played(position, mv);
        let length = (1..=n).find(|&n| forced_by(aim, &after, n));
        match verdict {
            Verdict::Forces { length: ours, line } => {
                keys += 1;
                assert_eq!(Some(ours), length, "{} {mv}", at());
                let last = line.iter().fold(position.clone(), |at, &mv| {
                    assert!(at.is_legal(mv), "{line:?}");
                    played(&at, mv)
                });
                let plies = 2 * usize::from(ours) - usize::from(aim != Aim::Selfmate);
                assert_eq!(line.len(), plies, "{} {line:?}", at());
                let (over, theirs) = match aim {
                    Aim::Mate => (last.is_checkmate(), true),
                    Aim::Stalemate => (last.is_stalemate(), true),
                    Aim::Selfmate | Aim::Helpmate | Aim::Gain(_) => (last.is_checkmate(), false),
                };
                assert!(
                    over && theirs == (last.turn() != position.turn()),
                    "{}",
                    at()
                );
            }
            Verdict::Fails { line } => {
                assert_eq!(length, None, "{} {mv}", at());
                assert_eq!(line[0], mv);
                if let [_, reply] = line[..] {
                    // The last move allowed needs no reply that refutes it, but one
                    // that has to make the other side mate.
                    assert!(n > 1 || aim == Aim::Selfmate, "{}", at());
                    let next = played(&after, reply);
                    assert!(!aim.ended(&next) && !forced(aim, &next, n - 1), "{}", at());
                } else {
                    assert!(
                        line.len() == 1 && (n == 1 || after.is_game_over()),
                        "{}",
                        at()
                    );
                }
            }
            Verdict::Unknown { .. } => panic!("undecided without a budget"),
        }
    }
    assert_eq!(
        prover
            .force(aim, position, n, &mut Unwatched)
            .unwrap()
            .is_some(),
        keys > 0,
        "{}",
        at()
    );
    keys
}

#[test]
fn every_aim_equals_a_naive_search() {
    let mut random = Seeded::new(41);
    let mut keys = [0; Aim::ALL.len()];
    // Selfmates are rare at random, but what they are refuted by is not.
    for i in 0..600 {
        let position = match i % 2 {
            0 => placed(&mut random, 3 + i % 5),
            _ => mixed(&mut random),
        };
        let replies: usize = position
            .legal_moves()
            .into_iter()
            .map(|mv| played(&position, mv).legal_moves().len())
            .sum();
        let n = match replies {
            0..40 => 3,
            40..200 => 2,
            _ => 1,
        };
        for (aim, keys) in all_forced().zip(&mut keys) {
            *keys += compare(aim, &position, n);
        }
    }
    assert!(keys[0] > 50 && keys[2] > 50, "{keys:?}");
}

/// Own positions, picked out of seeded ones for their single key.
const SELFMATES_IN_TWO: [(&str, &str); 14] = [
    ("8/2Q5/7N/8/R7/5Qrk/7P/2B4K w - - 0 1", "Qc4"),
    ("8/8/3R1Q2/8/1p4k1/8/6BP/3n1QNK w - - 0 1", "Qg6+"),
    ("5Q2/5P2/4Q3/8/3q4/5k2/1R5P/6RK w - - 0 1", "Rf1+"),
    ("4R3/8/8/8/8/Q7/2q4P/5kNK w - - 0 1", "Qf3+"),
    ("8/8/8/5Q2/8/8/6PP/2r1k2K w - - 0 1", "Qf2+"),
    ("8/1p6/3p4/8/8/2Q5/7P/3q1k1K w - - 0 1", "Qf3+"),
    ("8/8/5r2/4R3/8/5Q2/k5PP/7K w - - 0 1", "Re2+"),
    ("R7/8/8/8/6Q1/7p/6PP/3q1k1K w - - 0 1", "Qxd1+"),
    ("8/8/8/7R/Q6Q/5p2/5pBP/4k1NK w - - 0 1", "Qxf2+"),
    ("7k/1R6/2Q5/1p6/8/8/q5BP/6BK w - - 0 1", "Qh6+"),
    ("8/8/8/8/4R3/7Q/3q1k1P/7K w - - 0 1", "Qg3+"),
    ("6Q1/4Q3/2p5/8/2b5/7k/4Q2P/6BK w - - 0 1", "Qf1+"),
    ("8/8/8/k1B5/7q/1Q6/4R2P/6BK w - - 0 1", "Qb6+"),
    ("R3r3/8/6B1/8/8/6Qp/7P/5kNK w - - 0 1", "Ra1+"),
];

#[test]
fn selfmates_equal_a_naive_search() {
    for (text, key) in SELFMATES_IN_TWO {
        let position = fen::read(text).expect("a legal position");
        assert_eq!(compare(Aim::Selfmate, &position, 1), 0, "{text}");
        assert_eq!(compare(Aim::Selfmate, &position, 2), 1, "{text}");
        let mut prover = Prover::new(1 << 16);
        let forced = prover.force(Aim::Selfmate, &position, 4, &mut Unwatched);
        let (mv, verdict) = forced.expect("decided").expect("a selfmate");
        assert_eq!(moves::san(&position, mv), key);
        let Verdict::Forces { line, .. } = verdict else {
            panic!("{verdict:?}")
        };
        // One move on, the selfmate takes one.
        let next = line[..2].iter().fold(position, |at, &mv| played(&at, mv));
        assert!(compare(Aim::Selfmate, &next, 1) > 0, "{text}");
    }
}

#[test]
fn a_budget_is_kept_and_what_it_leaves_is_unknown() {
    let position = Chess::default();
    let mut prover = Prover::new(1 << 16);
    prover.budget = Some(1000);
    let judged = prover.judge_aim(Aim::Selfmate, &position, 5, None, &mut Unwatched);
    assert!(prover.nodes > 0 && prover.nodes <= 1000);
    let unknown = judged.iter().map(|(_, verdict)| match verdict {
        Verdict::Unknown { nodes } => *nodes,
        _ => 0,
    });
    assert!(unknown.sum::<u64>() <= 1000, "each counts its own");
    assert!(
        judged
            .iter()
            .any(|(_, v)| matches!(v, Verdict::Unknown { .. }))
    );
    assert!(
        prover
            .force(Aim::Stalemate, &position, 5, &mut Unwatched)
            .is_err()
    );
}

/// All lines of exactly `n` half moves that end in mate.
fn helpmates(position: &Chess, n: u8) -> Vec<Vec<Move>> {
    let mut lines = Vec::new();
    for mv in position.legal_moves() {
        let after = played(position, mv);
        if n > 1 {
            let rest = helpmates(&after, n - 1).into_iter();
            lines.extend(rest.map(|rest| [vec![mv], rest].concat()));
        } else if after.is_checkmate() {
            lines.push(vec![mv]);
        }
    }
    lines
}

fn sorted(mut lines: Vec<Vec<Move>>) -> Vec<String> {
    let text = |line: Vec<Move>| {
        line.into_iter()
            .map(moves::uci)
            .collect::<Vec<_>>()
            .join(" ")
    };
    let mut texts: Vec<String> = lines.drain(..).map(text).collect();
    texts.sort();
    texts
}

/// Compares all helpmates and the verdict on each first move; counts the
/// helpmates.
fn compare_help(prover: &mut Prover, position: &Chess, n: u8) -> usize {
    let at = || {
        let fen = Fen::from_position(position, EnPassantMode::Legal);
        format!("{fen} in {n} half moves")
    };
    let naive = helpmates(position, n);
    let count = naive.len();
    let found = prover.helpmates(position, n, usize::MAX - 1, &mut Unwatched);
    let (ours, all) = found.expect("decided without a budget");
    assert!(all, "{}", at());
    let texts = sorted(naive.clone());
    assert_eq!(sorted(ours), texts, "{}", at());
    let lengths: Vec<u8> = (1..=n).filter(|length| length % 2 == n % 2).collect();
    let by_length: Vec<_> = lengths
        .iter()
        .map(|&l| (l, helpmates(position, l)))
        .collect();
    for (mv, verdict) in prover.judge_aim(Aim::Helpmate, position, n, None, &mut Unwatched) {
        let begins = |lines: &[Vec<Move>]| lines.iter().any(|line| line[0] == mv);
        let shortest = by_length.iter().find(|(_, lines)| begins(lines));
        match verdict {
            Verdict::Forces { length, line } => {
                let (naive, lines) = shortest.unwrap_or_else(|| panic!("{} {mv}", at()));
                assert_eq!(length, *naive, "{} {mv}", at());
                assert!(lines.contains(&line), "{} {line:?}", at());
            }
            Verdict::Fails { line } => {
                assert_eq!(line, [mv]);
                assert!(shortest.is_none(), "{} {mv}", at());
            }
            Verdict::Unknown { .. } => panic!("undecided without a budget"),
        }
    }
    count
}

#[test]
fn helpmates_equal_a_naive_search() {
    let mut random = Seeded::new(43);
    let mut prover = Prover::new(1 << 16);
    let mut found = [0; 5];
    for i in 0..300 {
        let position = match i % 4 {
            0..3 => placed(&mut random, 2 + i % 4),
            _ => mixed(&mut random),
        };
        let width = position.legal_moves().len().max(8);
        let most = (1..=4).rev().find(|&n| width.pow(n) < 20_000);
        for n in 1..=most.unwrap_or(1) as u8 {
            found[usize::from(n)] += compare_help(&mut prover, &position, n);
        }
    }
    assert!(
        found[1] > 0 && found[2] > 9 && found[3] > 99 && found[4] > 99,
        "{found:?}"
    );
}

#[test]
fn helpmates_beyond_the_number_asked_for_are_told() {
    let position = fen::read("8/8/8/8/8/1K6/7Q/k7 w - - 0 1").expect("a legal position");
    let mut prover = Prover::new(1 << 16);
    let (all, complete) = prover
        .helpmates(&position, 3, 1000, &mut Unwatched)
        .expect("decided");
    assert!(complete && all.len() > 2);
    let (some, complete) = prover
        .helpmates(&position, 3, 2, &mut Unwatched)
        .expect("decided");
    assert_eq!((some.len(), complete), (2, false));
    let (exactly, complete) = prover
        .helpmates(&position, 3, all.len(), &mut Unwatched)
        .expect("decided");
    assert_eq!((exactly.len(), complete), (all.len(), true));
}

/// Of all replies the one after which the solver needs most moves, by a search of each;
/// after a move that does not force the aim there is none.
#[test]
fn the_reply_that_holds_out_longest_is_told() {
    let mut random = Seeded::new(43);
    let selfmates = SELFMATES_IN_TWO.map(|(text, _)| (Aim::Selfmate, fen::read(text).unwrap()));
    let mut asked: Vec<(Aim, Chess)> = selfmates.into();
    for i in 0..60 {
        let position = placed(&mut random, 3 + i % 3);
        let gain = Aim::Gain(model::aim::Gain::at([1, 3, 5][i % 3], &position));
        asked.extend([(Aim::Stalemate, position.clone()), (gain, position)]);
    }
    let (mut forced, mut differ) = (0, 0);
    for (aim, position) in asked {
        let mut prover = Prover::new(1 << 16);
        for (mv, verdict) in prover.judge_aim(aim, &position, 3, None, &mut Unwatched) {
            let after = played(&position, mv);
            let told = prover.holds_out(aim, &after, 2, &mut Unwatched);
            let forces = matches!(verdict, Verdict::Forces { length: 2.., .. });
            let Some((reply, needed)) = told else {
                assert!(!forces, "{aim:?} {mv}");
                continue;
            };
            let mut needs = |reply| needed_after(aim, &played(&after, reply), &mut prover);
            assert_eq!(needs(reply), Some(needed), "{aim:?} {mv}");
            let all: Vec<Option<u8>> = after.legal_moves().into_iter().map(needs).collect();
            assert_eq!(
                all.iter().copied().max(),
                Some(Some(needed)),
                "{aim:?} {mv}"
            );
            assert!(!all.contains(&None), "{aim:?} {mv}");
            forced += 1;
            differ += usize::from(all.iter().min() != all.iter().max());
        }
    }
    assert!(forced > 60 && differ > 5, "{forced}, {differ}");
}

/// The solver's moves needed here, two at most; 0 where the reply has mated.
fn needed_after(aim: Aim, position: &Chess, prover: &mut Prover) -> Option<u8> {
    if aim == Aim::Selfmate && position.is_checkmate() {
        return Some(0);
    }
    (1..=2).find(|&n| {
        let forced = prover.force(aim, position, n, &mut Unwatched);
        forced.expect("no budget").is_some()
    })
}

/// What is known to be forced in two moves is not taken for forced in one.
#[test]
fn a_fact_of_more_moves_is_none_of_fewer() {
    for (text, _) in SELFMATES_IN_TWO {
        let position = fen::read(text).expect("a legal position");
        let board = Bitboards::of(&position);
        let mut prover = Prover::new(1 << 16);
        let solver = position.turn();
        let found = prover.asked(Aim::Selfmate, solver, 2, &mut Unwatched, |search| {
            [2, 1, 2].map(|n| search.forcing(&board, n).map(|step| step.is_none()))
        });
        assert_eq!(found, [Ok(false), Ok(true), Ok(false)], "{text}");
    }
}

/// Facts about mates of the one side are none about mates of the other.
#[test]
fn a_helpmate_is_found_after_one_of_the_other_side_was_looked_for() {
    let helpmates = include_str!("../../../../tests/strata.tsv").lines();
    let helpmates = helpmates.filter(|line| line.split('\t').nth(1) == Some("h#2.5"));
    for line in helpmates.take(6) {
        let text = line.split('\t').nth(2).expect("a position");
        let start = fen::read(text).expect("a legal position");
        let force = |prover: &mut Prover, position: &Chess, n| {
            let found = prover.force(Aim::Helpmate, position, n, &mut Unwatched);
            found.expect("no budget").map(|(_, verdict)| match verdict {
                Verdict::Forces { line, .. } => line,
                other => panic!("{other:?}"),
            })
        };
        let line = force(&mut Prover::new(1 << 16), &start, 5).expect(text);
        let next = line[..2]
            .iter()
            .fold(start.clone(), |at, &mv| played(&at, mv));
        let mut prover = Prover::new(1 << 16);
        force(&mut prover, &next, 4);
        let again = force(&mut prover, &start, 5).expect(text);
        assert_eq!(again.len(), line.len(), "{text}");
    }
}
