//! What the second opinion costs: the time to judge whole puzzles, and the time
//! to have all that their verdicts rest on checked by the independent checker.

use std::time::Instant;

use keyproof::check::{self, Judge, Known, Opinion, Soundness, corpus};
use keyproof::draft::Draft;
use keyproof::prove::corpus::{Seeded, mating};
use keyproof::prove::{Aim, Prover, Unwatched, Verdict};
use keyproof::resolved::Resolved;
use keyproof_bench::TABLE;
use keyproof_second::put_all;
use shakmaty::{Chess, Move};

use crate::Setting;
use crate::print::{heading, percentile};

pub fn run(setting: &Setting) -> Result<(), String> {
    heading("A second opinion of generated mates, every defence answered");
    println!(" n  puzzles  claims    judged once, ms    checked, ms        checked / judged");
    println!("             median    median / largest   median / largest   all together");
    for n in 2..=5 {
        let count = setting.of([0, 0, 40, 30, 20, 8][usize::from(n)], 3);
        let mut random = Seeded::new(200 + u64::from(n));
        let (mut judged, mut checked, mut claims) = (Vec::new(), Vec::new(), Vec::new());
        for _ in 0..count {
            let position = mating(&mut random, n, &mut Prover::new(TABLE));
            let draft = puzzle(&position, n)?;
            let one = cost(&draft)?;
            judged.push(one.judged);
            checked.push(one.checked);
            claims.push(one.claims as f64);
        }
        let all = |times: &[f64]| times.iter().sum::<f64>();
        println!(
            "{n:2}  {count:7}  {:6.0}    {:>7.1} / {:>7.0}  {:>7.1} / {:>7.0}  {:>8.2}",
            percentile(&claims, 50),
            percentile(&judged, 50),
            percentile(&judged, 100),
            percentile(&checked, 50),
            percentile(&checked, 100),
            all(&checked) / all(&judged),
        );
    }
    Ok(())
}

struct Cost {
    /// Milliseconds.
    judged: f64,
    checked: f64,
    claims: usize,
}

fn cost(draft: &Draft) -> Result<Cost, String> {
    let (mut known, mut judge) = (Known::default(), Judge::new(TABLE));
    let puzzle = Resolved::of(draft).into_puzzle().map_err(|_| "no puzzle")?;
    let begun = Instant::now();
    check::check(draft, &mut known, &mut judge, &mut Unwatched);
    let judged = begun.elapsed().as_secs_f64() * 1000.0;
    let begun = Instant::now();
    let mut prover = Prover::new(TABLE);
    let heard = put_all(&puzzle, &mut known, &mut prover, &mut Unwatched);
    let checked = begun.elapsed().as_secs_f64() * 1000.0;
    let accepted = |opinion: &Opinion| matches!(opinion, Opinion::Accepted { .. });
    if let Some(other) = heard.iter().find(|one| !accepted(&one.opinion)) {
        return Err(format!("not accepted: {:?}", other.opinion));
    }
    if check::report(&Resolved::of(draft), &known).verdict == Soundness::Undecided {
        return Err("undecided".into());
    }
    Ok(Cost {
        judged,
        checked,
        claims: heard.len(),
    })
}

/// A mate with all its keys, every defence answered.
fn puzzle(position: &Chess, n: u8) -> Result<Draft, String> {
    let verdicts = Prover::new(TABLE).judge(position, n, None, &mut Unwatched);
    let forces = |v: &Verdict| matches!(v, Verdict::Forces { .. });
    let keys = verdicts.into_iter().filter(|(_, v)| forces(v));
    let keys: Vec<Move> = keys.map(|(key, _)| key).collect();
    corpus::puzzle(position, Aim::Mate, n, &keys, &mut Judge::new(TABLE))
        .map_err(|fault| format!("{fault:?}"))
}
