//! The prover's key sets, lengths and continuations against brute force with
//! the PyPI package `chess`. (The comparison with the naive search is a test
//! of the core, which `cargo xtask bench` runs beside this.)

use keyproof::notation::fen;
use keyproof::prove::corpus::{Seeded, mixed, placed};
use shakmaty::{Chess, Position};

use crate::Setting;
use crate::engine::{brute_force, native};
use crate::print::heading;

/// Seconds of processor time for one position in Python.
const CAP: u32 = 120;

pub fn run(setting: &Setting) -> Result<(), String> {
    heading("Exactness against brute force in Python");
    let count = setting.of(300, 24);
    let sample = sample(count);
    let tasks: Vec<String> = sample.iter().map(|line| format!("prove {line}")).collect();
    let ours = native(&tasks)?;
    let cores = std::thread::available_parallelism().map_or(1, usize::from);
    let theirs = brute_force(CAP, cores, &sample)?;
    let (mut sets, mut keys, mut capped) = (0, 0, 0);
    let mut differ = Vec::new();
    for ((line, ours), (_, theirs)) in sample.iter().zip(&ours).zip(&theirs) {
        if theirs == "capped" {
            capped += 1;
            continue;
        }
        sets += ours.answer.split(';').count();
        keys += ours.answer.matches('=').count();
        if ours.answer != *theirs {
            differ.push(line);
        }
    }
    for n in 2..=4 {
        let of = sample.iter().filter(|l| l.starts_with(&n.to_string()));
        println!("n up to {n}: {} positions", of.count());
    }
    println!(
        "{} positions compared, {sets} sets of moves with {keys} mating moves and their \
         lengths; {} differences{}",
        sample.len() - capped,
        differ.len(),
        match capped {
            0 => String::new(),
            n => format!("; {n} more given up after {CAP} s"),
        }
    );
    match differ.first() {
        None => Ok(()),
        Some(line) => Err(format!("different from brute force: {line}")),
    }
}

/// As many for each n; for 4 those with few moves, since brute force is slow.
fn sample(count: usize) -> Vec<String> {
    let mut random = Seeded::new(11);
    let mut lines = Vec::new();
    while lines.len() < count {
        let n = 2 + lines.len() % 3;
        let most = [900, 300, 60][n - 2];
        let position = match n {
            4 => placed(&mut random, 4 + lines.len() % 4),
            _ => mixed(&mut random),
        };
        if size(&position) <= most {
            lines.push(format!("{n} {}", fen::write(&position)));
        }
    }
    lines
}

/// First moves times the replies to them.
fn size(position: &Chess) -> usize {
    let replies = |m| {
        let mut after = position.clone();
        after.play_unchecked(m);
        after.legal_moves().len()
    };
    position.legal_moves().into_iter().map(replies).sum()
}
