//! How long endgame tables take to make, and how large they are.

use keyproof::tables::Material;

use crate::Setting;
use crate::engine::{native, wasm};
use crate::print::{heading, short, times, total};

/// What is made in the small sample, and in wasm.
const SOME: [&str; 7] = ["KQK", "KRK", "KPK", "KBNK", "KQKR", "KRKN", "KQKP"];

pub fn run(setting: &Setting) -> Result<(), String> {
    heading("Endgame tables: made in seconds of one core, smaller ones not counted");
    let all: Vec<String> = Material::all().iter().map(Material::to_string).collect();
    let wanted: Vec<String> = match setting.quick {
        true => SOME.map(String::from).to_vec(),
        false => all,
    };
    let outcomes = native(&tasks(&wanted))?;
    println!("material  seconds   in memory      kept   longest mate");
    for (name, outcome) in wanted.iter().zip(&outcomes) {
        let (longest, kept) = outcome.answer.split_once(' ').unwrap_or(("", "0"));
        let kept: f64 = kept.parse().unwrap_or(0.0);
        println!(
            "{name:8}  {:7.2}  {:6.1} MB  {:6.1} MB   {longest:>3}",
            outcome.ms / 1e3,
            outcome.nodes as f64 / 1e6,
            kept / 1e6,
        );
    }
    println!(
        "all {}: {} s, the slowest {} s",
        wanted.len(),
        short(total(&outcomes) / 1e3),
        short(times(&outcomes).into_iter().fold(0.0, f64::max) / 1e3),
    );
    let some = tasks(&SOME.map(String::from));
    let (here, there) = (native(&some)?, wasm(&setting.wasm, &some)?);
    println!(
        "{} in wasm: {:.2} times as long as natively",
        SOME.join(" "),
        total(&there) / total(&here)
    );
    Ok(())
}

fn tasks(names: &[String]) -> Vec<String> {
    names.iter().map(|name| format!("table {name}")).collect()
}
