//! The parts of the measurement, one module each.

mod alike;
mod cancelling;
mod certificates;
mod coach;
mod exactness;
mod gains;
mod lessons;
mod moments;
mod prover;
mod puzzles;
mod search;
mod second;
mod streams;
mod tables;
mod threats;

use crate::Setting;

type Part = (&'static str, fn(&Setting) -> Result<(), String>);

const PARTS: [Part; 15] = [
    ("alike", alike::run),
    ("prover", prover::run),
    ("gains", gains::run),
    ("exactness", exactness::run),
    ("cancelling", cancelling::run),
    ("certificates", certificates::run),
    ("second", second::run),
    ("puzzles", puzzles::run),
    ("search", search::run),
    ("tables", tables::run),
    ("lessons", lessons::run),
    ("moments", moments::run),
    ("threats", threats::run),
    ("coach", coach::run),
    ("streams", streams::run),
];

/// Runs a part by its name.
pub fn run(name: &str, setting: &Setting) -> Result<(), String> {
    let part = PARTS.iter().find(|(known, _)| *known == name);
    let (_, run) = part.ok_or_else(|| format!("no such part: {name}"))?;
    run(setting)
}

/// FNV-1a of 32 bits, by which samples are held back.
fn checksum(text: &str) -> u32 {
    let step = |sum: u32, byte: u8| (sum ^ u32::from(byte)).wrapping_mul(0x0100_0193);
    text.bytes().fold(0x811c_9dc5, step)
}
