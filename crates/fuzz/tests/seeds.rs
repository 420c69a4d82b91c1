//! What once made a target panic, and blind mutations of the seeds, other ones each day.

use std::path::Path;
use std::time::{SystemTime, UNIX_EPOCH};

use fuzz::TARGETS;

/// Mutated inputs of each target.
const RUNS: u32 = 10_000;

/// A source of numbers that are as good as drawn (SplitMix64, Steele, Lea and Flood 2014;
/// from memory).
struct Numbers(u64);

impl Numbers {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ z >> 30).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ z >> 27).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ z >> 31
    }

    fn below(&mut self, bound: usize) -> usize {
        (self.next() % bound.max(1) as u64) as usize
    }
}

/// Some bytes changed, cut out, doubled, or taken from another seed.
fn mutated(seeds: &[Vec<u8>], numbers: &mut Numbers) -> Vec<u8> {
    let mut bytes = seeds[numbers.below(seeds.len())].clone();
    for _ in 0..=numbers.below(6) {
        let (at, length) = (numbers.below(bytes.len() + 1), numbers.below(9));
        let end = (at + length).min(bytes.len());
        match numbers.below(5) {
            0 => drop(bytes.drain(at..end)),
            1 => {
                let part = bytes[at..end].to_vec();
                drop(bytes.splice(at..at, part));
            }
            2 => {
                let other = &seeds[numbers.below(seeds.len())];
                let from = numbers.below(other.len() + 1);
                let part = other[from..(from + 4 * length).min(other.len())].to_vec();
                drop(bytes.splice(at..end, part));
            }
            3 => bytes.insert(at, numbers.next() as u8),
            _ => {
                if let Some(byte) = bytes.get_mut(at) {
                    *byte ^= 1 << numbers.below(8);
                }
            }
        }
    }
    bytes
}

#[test]
fn what_once_failed_passes() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/fuzz");
    for target in TARGETS {
        for seed in (target.seeds)() {
            (target.run)(&seed);
        }
        (target.run)(&[]);
        let Ok(kept) = std::fs::read_dir(folder.join(target.name)) else {
            continue;
        };
        for file in kept {
            let path = file.expect("a file").path();
            println!("{}", path.display());
            (target.run)(&std::fs::read(&path).expect("it can be read"));
        }
    }
}

#[test]
fn blind_mutations_are_read() {
    let day = SystemTime::now()
        .duration_since(UNIX_EPOCH)
        .expect("after 1970")
        .as_secs()
        / 86_400;
    for (number, target) in TARGETS.into_iter().enumerate() {
        let seeds = (target.seeds)();
        let mut numbers = Numbers(day << 8 | number as u64);
        for run in 0..RUNS {
            let bytes = mutated(&seeds, &mut numbers);
            let done = std::panic::catch_unwind(|| (target.run)(&bytes));
            if done.is_err() {
                panic!(
                    "{}, day {day}, run {run}: {:?}",
                    target.name,
                    String::from_utf8_lossy(&bytes)
                );
            }
        }
    }
}
