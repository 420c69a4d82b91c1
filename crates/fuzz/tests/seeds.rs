//! What once made a target panic, and blind mutations of the seeds, other ones each day.

use std::path::Path;
use std::time::{SystemTime, UNIX_EPOCH};

use fuzz::TARGETS;
use keyproof::prove::corpus::Seeded;

/// Mutated inputs of each target.
const RUNS: u32 = 10_000;

/// Some bytes changed, cut out, doubled, or taken from another seed.
fn mutated(seeds: &[Vec<u8>], numbers: &mut Seeded) -> Vec<u8> {
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
            3 => bytes.insert(at, numbers.draw() as u8),
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
        let mut numbers = Seeded::new(day << 8 | number as u64);
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
