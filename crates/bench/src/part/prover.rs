//! How long mates take to prove: natively, in wasm, and by brute force in
//! Python, on the same positions.

use keyproof::notation::{fen, moves};
use keyproof::prove::Prover;
use keyproof::prove::corpus::{Seeded, mating};
use keyproof_bench::{Outcome, TABLE};
use shakmaty::{Chess, Position};

use crate::Setting;
use crate::engine::{brute_force, native, wasm};
use crate::print::{heading, short, spread, times, total};

/// Processor time after which brute force is given up on a position, in
/// seconds.
const CAP: [u32; 2] = [10, 60];

pub fn run(setting: &Setting) -> Result<(), String> {
    heading("Mates: milliseconds of one core, median / 95th percentile");
    println!(
        "Positions from random play whose shortest mate takes n moves. All keys; then also\n\
         every continuation after each reply to each key. Table at most {} MiB. What takes\n\
         less than 1 ms is done again and again, and one doing counts.\n",
        TABLE >> 20
    );
    println!(" n  positions      all keys        with replies   nodes    wasm / native");
    let mut corpus = Vec::new();
    for n in 2..=5 {
        let positions = positions(n, setting.of(100, if n == 5 { 8 } else { 20 }));
        let keys = native(&tasks("keys", n, &positions))?;
        let prove = tasks("prove", n, &positions);
        let proved = native(&prove)?;
        let in_wasm = wasm(&setting.wasm, &prove)?;
        same(&proved, &in_wasm)?;
        let nodes: u64 = proved.iter().map(|outcome| outcome.nodes).sum();
        println!(
            "{n:2}  {:9}  {:>14}  {:>16}  {:>8}  {:>8.2}",
            positions.len(),
            spread(&times(&keys)),
            spread(&times(&proved)),
            nodes / positions.len() as u64,
            total(&in_wasm) / total(&proved),
        );
        corpus.push((n, positions, proved));
    }
    published()?;
    for (n, positions, proved) in &corpus[1..3] {
        against_brute_force(setting, *n, positions, proved)?;
    }
    Ok(())
}

/// Positions from seeds of their own, so that the cores can share the work.
fn positions(n: u8, count: usize) -> Vec<String> {
    const SHARES: usize = 4;
    let made = |share: usize| {
        let mut random = Seeded::new(u64::from(n) + 1000 * share as u64);
        let mut finder = Prover::new(TABLE);
        let found = std::iter::repeat_with(|| fen::write(&mating(&mut random, n, &mut finder)));
        found.take(count.div_ceil(SHARES)).collect::<Vec<String>>()
    };
    let mut positions: Vec<String> = std::thread::scope(|scope| {
        let shares: Vec<_> = (0..SHARES).map(|i| scope.spawn(move || made(i))).collect();
        let joined = shares.into_iter().map(|share| share.join());
        joined.flat_map(|made| made.expect("no panic")).collect()
    });
    positions.truncate(count);
    positions
}

fn tasks(name: &str, n: u8, positions: &[String]) -> Vec<String> {
    let task = |position| format!("{name} {n} {position}");
    positions.iter().map(task).collect()
}

/// The same work must come to the same answers.
fn same(one: &[Outcome], other: &[Outcome]) -> Result<(), String> {
    let differ = std::iter::zip(one, other).position(|(a, b)| a.answer != b.answer);
    differ.map_or(Ok(()), |i| {
        Err(format!(
            "native and wasm differ: {:?} {:?}",
            one[i], other[i]
        ))
    })
}

/// The fewest legal moves first, since brute force is slow; what it gives up
/// counts as no more than the cap.
fn against_brute_force(
    setting: &Setting,
    n: u8,
    positions: &[String],
    proved: &[Outcome],
) -> Result<(), String> {
    let cap = CAP[usize::from(setting.quick ^ (n == 4))];
    let mut order: Vec<usize> = (0..positions.len()).collect();
    order.sort_by_key(|&i| legal(&positions[i]));
    order.truncate(setting.of(if n == 3 { 30 } else { 15 }, 5));
    let sample: Vec<String> = order
        .iter()
        .map(|&i| format!("{n} {}", positions[i]))
        .collect();
    let answers = brute_force(cap, 1, &sample)?;
    let (mut ours, mut theirs, mut capped) = (0.0, 0.0, 0);
    let mut each = Vec::new();
    for (&i, (ms, answer)) in std::iter::zip(&order, &answers) {
        if answer == "capped" {
            capped += 1;
        } else if *answer != proved[i].answer {
            return Err(format!("brute force differs on {}: {answer}", positions[i]));
        }
        ours += proved[i].ms;
        theirs += ms;
        each.push(ms / proved[i].ms);
    }
    println!(
        "n = {n}: brute force in Python takes {} times as long in all, {} in the median, on the \
         {} positions with the fewest moves{}",
        short(theirs / ours),
        short(crate::print::percentile(&each, 50)),
        sample.len(),
        match capped {
            0 => ".".to_owned(),
            n => format!("; it was given up on {n} after {cap} s each, which count as that."),
        }
    );
    Ok(())
}

fn legal(position: &str) -> usize {
    fen::read(position).map_or(0, |position| position.legal_moves().len())
}

/// Published problems and games; `tests/outside/published.txt` names the source
/// of each.
fn published() -> Result<(), String> {
    let file = "tests/outside/published.txt";
    let text = std::fs::read_to_string(file).map_err(|e| format!("{file}: {e}"))?;
    let mut mates: Vec<(u8, String)> = Vec::new();
    let mut start = String::new();
    for line in text.lines() {
        match line.split_once(' ') {
            Some(("moves", text)) => start = fen::write(&after(text)?),
            Some(("fen", text)) => start = text.to_owned(),
            Some(("mate", n)) => mates.push((n.parse().map_err(|_| line)?, start.clone())),
            _ => {}
        }
    }
    println!("\nPublished mates, all keys (sources in {file}):");
    for n in 1..=9 {
        let of: Vec<&(u8, String)> = mates.iter().filter(|mate| mate.0 == n).collect();
        if of.is_empty() {
            continue;
        }
        let tasks: Vec<String> = of.iter().map(|(n, at)| format!("keys {n} {at}")).collect();
        let outcomes = native(&tasks)?;
        let without = outcomes.iter().filter(|o| o.answer.is_empty()).count();
        println!(
            " n = {n}: {:2} mates, {} ms{}",
            of.len(),
            spread(&times(&outcomes)),
            match without {
                0 => String::new(),
                n => format!(", {n} without a key"),
            }
        );
    }
    println!();
    Ok(())
}

/// The position after moves with their numbers.
fn after(text: &str) -> Result<Chess, String> {
    let mut position = Chess::default();
    for word in text.split(' ') {
        let san = word.trim_start_matches(|c: char| c.is_ascii_digit() || c == '.');
        let m = moves::read(&position, san).map_err(|fault| format!("{word}: {fault:?}"))?;
        position.play_unchecked(m);
    }
    Ok(position)
}
