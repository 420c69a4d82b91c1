//! A prover that flips one answer in so many cannot get a wrong verdict past the
//! checker: "sound" is said of nothing unsound, and a fault of nothing sound.

use keyproof::check::{self, Judge, Known, Report, Second, Soundness};
use keyproof::draft::Draft;
use keyproof::prove::broken::{break_down, flipped};
use keyproof::prove::corpus::{Seeded, mating, mixed};
use keyproof::prove::{Aim, Gain, Prover, Unwatched, Verdict};
use keyproof::resolved::Resolved;
use keyproof_second::put_all;
use shakmaty::{Chess, Move};

/// Bytes of a prover's table.
const TABLE: usize = 1 << 20;

/// A mate or a gain with these first moves as its keys, every defence answered.
fn puzzle(position: &Chess, aim: Aim, n: u8, keys: &[Move]) -> Draft {
    check::corpus::puzzle(position, aim, n, keys, &mut Judge::new(TABLE)).expect("legal keys")
}

/// The verdict, by one program or by two.
fn verdict(draft: &Draft, twice: bool) -> Report {
    let (mut known, mut judge) = (Known::default(), Judge::new(TABLE));
    check::check(draft, &mut known, &mut judge, &mut Unwatched);
    if twice {
        let puzzle = Resolved::of(draft).into_puzzle().expect("a puzzle");
        put_all(&puzzle, &mut known, &mut Prover::new(TABLE), &mut Unwatched);
    }
    check::report(&Resolved::of(draft), &known)
}

/// Puzzles of generated mates and gains: with their keys, with one of them left out, and
/// with a move that is none.
fn puzzles(count: usize) -> Vec<Draft> {
    let mut random = Seeded::new(14);
    let mut prover = Prover::new(TABLE);
    let mut made = Vec::new();
    while made.len() < count {
        let n = 2 + u8::from(made.len() % 4 == 3);
        let (position, aim, n) = match made.len() % 2 {
            0 => (mating(&mut random, n, &mut prover), Aim::Mate, n),
            _ => {
                let position = mixed(&mut random);
                let aim = Aim::Gain(Gain::at(1 + made.len() as u8 % 9, &position));
                (position, aim, 2)
            }
        };
        let judged = prover.judge_aim(aim, &position, n, None, &mut Unwatched);
        let forces = |v: &Verdict| matches!(v, Verdict::Forces { .. });
        let (keys, fails): (Vec<_>, Vec<_>) = judged.into_iter().partition(|(_, v)| forces(v));
        let keys: Vec<Move> = keys.into_iter().map(|(mv, _)| mv).collect();
        if keys.is_empty() || keys.len() > 3 || fails.is_empty() {
            continue;
        }
        made.push(puzzle(&position, aim, n, &keys));
        if keys.len() > 1 {
            made.push(puzzle(&position, aim, n, &keys[1..]));
        }
        made.push(puzzle(&position, aim, n, &[keys[0], fails[0].0]));
    }
    made
}

#[test]
fn no_wrong_verdict_gets_past_the_checker() {
    let puzzles = puzzles(24);
    let truth: Vec<Soundness> = puzzles.iter().map(|p| verdict(p, true).verdict).collect();
    assert!(truth.contains(&Soundness::Sound) && truth.contains(&Soundness::Unsound));
    assert!(!truth.contains(&Soundness::Undecided));
    let (mut flips, mut sound, mut doubted, mut fooled) = (0, 0, 0, 0);
    for (one_in, seeds) in [(1000, 0..30), (100, 30..40), (10, 40..50)] {
        for (seed, (draft, truth)) in seeds.flat_map(|seed| {
            let all = puzzles.iter().zip(&truth);
            all.map(move |one| (seed, one))
        }) {
            break_down(seed, one_in);
            let alone = verdict(draft, false).verdict;
            fooled += u64::from(alone != *truth);
            break_down(seed, one_in);
            let report = verdict(draft, true);
            flips += flipped();
            break_down(0, 0);
            match report.verdict {
                Soundness::Undecided => doubted += 1,
                verdict => assert_eq!(verdict, *truth, "seed {seed}, one in {one_in}"),
            }
            if report.verdict == Soundness::Sound {
                sound += 1;
                assert!(matches!(report.second, Second::Accepted { .. }));
            }
        }
    }
    println!("{flips} flips, {fooled} wrong by one program, {doubted} undecided, {sound} sound");
    assert!(flips > 100 && fooled > 20 && doubted > 20 && sound > 20);
}
