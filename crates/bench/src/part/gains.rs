//! How long gains of material take to prove, natively and in wasm.

use keyproof::notation::fen;
use keyproof::prove::corpus::{Seeded, played};
use keyproof::prove::{Prover, Unwatched, Verdict};
use keyproof_bench::TABLE;
use shakmaty::{Chess, Position};

use crate::Setting;
use crate::engine::{native, wasm};
use crate::print::{heading, spread, times, total};

/// What is to be won: a piece.
const K: u8 = 3;

/// Men that a middle game has at least.
const MEN: usize = 20;

pub fn run(setting: &Setting) -> Result<(), String> {
    heading("Gains of a piece: milliseconds of one core, median / 95th percentile");
    println!(
        "Positions from random play with {MEN} men or more in which some move wins a piece\n\
         in two moves, and none at once (seed 19). All first moves are judged for n moves.\n"
    );
    println!(" n  positions    milliseconds      with keys     nodes    wasm / native");
    let all = positions(setting.of(200, 20));
    for n in 2..=4 {
        let count = if n == 4 { setting.of(40, 4) } else { all.len() };
        let tasks = all.iter().take(count);
        let tasks: Vec<String> = tasks.map(|fen| format!("gain {n} {fen}")).collect();
        let natively = native(&tasks)?;
        let few = &tasks[..if n == 4 { count.min(10) } else { count }];
        let in_wasm = wasm(&setting.wasm, few)?;
        if let Some(i) = std::iter::zip(&natively, &in_wasm).position(|(a, b)| a.answer != b.answer)
        {
            return Err(format!("native and wasm differ: {}", tasks[i]));
        }
        let keyed = natively.iter().filter(|outcome| !outcome.answer.is_empty());
        println!(
            "{n:2}  {:9}  {:>14}  {:>13}  {:>8}  {:>8.2}",
            tasks.len(),
            spread(&times(&natively)),
            keyed.count(),
            natively.iter().map(|outcome| outcome.nodes).sum::<u64>() / tasks.len() as u64,
            total(&in_wasm) / total(&natively[..few.len()]),
        );
    }
    Ok(())
}

fn positions(count: usize) -> Vec<String> {
    let mut random = Seeded::new(19);
    let mut found = Vec::new();
    while found.len() < count {
        let plies = 16 + random.below(45);
        let position = played(&mut random, Chess::default(), plies);
        if position.board().occupied().count() >= MEN && shortest(&position) == Some(2) {
            found.push(fen::write(&position));
        }
    }
    found
}

/// The fewest moves, two at most, in which a piece is won.
fn shortest(position: &Chess) -> Option<u8> {
    let judged = Prover::new(TABLE).judge_gain(position, K, 2, None, &mut Unwatched);
    let lengths = judged.iter().filter_map(|(_, verdict)| match verdict {
        Verdict::Forces { length, .. } => Some(*length),
        _ => None,
    });
    lengths.min()
}
