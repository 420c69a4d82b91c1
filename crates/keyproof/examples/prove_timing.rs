//! How long the prover takes: positions from random play whose shortest mate
//! takes exactly n, and such positions whatever they hold. Prints the median
//! and the 95th percentile in milliseconds of one core, not counting time
//! spent waiting for it.
//!
//! `cargo run --release --example prove_timing -- [POSITIONS [LARGEST_N]]`

use std::time::Duration;

use keyproof::prove::corpus::{Seeded, mating, played};
use keyproof::prove::{Prover, Unwatched, Verdict};
use shakmaty::{Chess, Move, Position};

const TABLE_BYTES: usize = 16 << 20;

fn main() {
    let mut numbers = std::env::args().skip(1).map(|text| {
        text.parse::<usize>()
            .unwrap_or_else(|_| panic!("not a number: {text}"))
    });
    let count = numbers.next().unwrap_or(100);
    let largest = numbers.next().unwrap_or(5) as u8;

    println!("                      all keys         keys and replies");
    println!("positions  n      median      p95     median      p95   nodes/position");
    for n in 2..=largest {
        let mut random = Seeded::new(n.into());
        let mut finder = Prover::new(TABLE_BYTES);
        let mates: Vec<Chess> = (0..count)
            .map(|_| mating(&mut random, n, &mut finder))
            .collect();
        measure("mate", n, &mates);
        let any: Vec<Chess> = (0..count)
            .map(|_| {
                let plies = 20 + random.below(60);
                played(&mut random, Chess::default(), plies)
            })
            .collect();
        measure("any", n, &any);
    }
}

/// Times each position with a prover of its own, so that nothing is known.
fn measure(name: &str, n: u8, positions: &[Chess]) {
    let (mut keys, mut all, mut nodes) = (Vec::new(), Vec::new(), 0);
    for position in positions {
        let mut prover = Prover::new(TABLE_BYTES);
        let start = spent();
        let verdicts = prover.judge(position, n, None, &mut Unwatched);
        keys.push((spent() - start).as_secs_f64() * 1e3);
        nodes += prover.nodes;
        for (key, verdict) in verdicts {
            if let Verdict::Forces { length, .. } = verdict {
                replies(&mut prover, position, key, length);
            }
        }
        all.push((spent() - start).as_secs_f64() * 1e3);
    }
    println!(
        "{name:9} {n:2}  {:10.3} {:8.3} {:10.3} {:8.3}   {}",
        percentile(&mut keys, 50),
        percentile(&mut keys, 95),
        percentile(&mut all, 50),
        percentile(&mut all, 95),
        nodes / positions.len() as u64,
    );
}

/// All continuations after each reply to a key of `length` moves.
fn replies(prover: &mut Prover, position: &Chess, key: Move, length: u8) {
    let mut after = position.clone();
    after.play_unchecked(key);
    for reply in after.legal_moves() {
        let mut next = after.clone();
        next.play_unchecked(reply);
        prover.judge(&next, length - 1, None, &mut Unwatched);
    }
}

/// Processor time of this thread, so that a busy machine does not count.
#[cfg(unix)]
fn spent() -> Duration {
    let time = rustix::time::clock_gettime(rustix::time::ClockId::ThreadCPUTime);
    Duration::new(time.tv_sec as u64, time.tv_nsec as u32)
}

#[cfg(not(unix))]
fn spent() -> Duration {
    use std::{sync::OnceLock, time::Instant};
    static START: OnceLock<Instant> = OnceLock::new();
    START.get_or_init(Instant::now).elapsed()
}

fn percentile(times: &mut [f64], share: usize) -> f64 {
    times.sort_by(f64::total_cmp);
    times[(times.len() - 1) * share / 100]
}
