//! How long endgame tables take to make, and how large they are.

use keyproof::tables::Material;

use crate::Setting;
use crate::engine::{native, wasm};
use crate::print::{heading, short, times, total};
use keyproof_bench::Made;

/// What is made in the small sample, and in wasm.
const SOME: [&str; 7] = ["KQK", "KRK", "KPK", "KBNK", "KQKR", "KRKN", "KQKP"];

pub fn run(setting: &Setting) -> Result<(), String> {
    heading("Endgame tables: made in seconds of one core");
    let all: Vec<String> = Material::all().iter().map(Material::to_string).collect();
    let wanted: Vec<String> = match setting.quick {
        true => SOME.map(String::from).to_vec(),
        false => all,
    };
    let tasks = tasks(&wanted);
    let (here, there) = (native(&tasks)?, wasm(&setting.wasm, &tasks)?);
    println!(
        "material   alone  in wasm    with all it leads to   in memory      kept   longest mates"
    );
    for (name, (outcome, wasm)) in wanted.iter().zip(here.iter().zip(&there)) {
        let made: Made = outcome.answer.parse()?;
        let also: Made = wasm.answer.parse()?;
        println!(
            "{name:8} {:7.2} {:8.2}     {:7.2} {:8.2}    {:6.1} MB  {:6.1} MB   {:>3} {:>3}",
            outcome.ms / 1e3,
            wasm.ms / 1e3,
            made.with_smaller / 1e3,
            also.with_smaller / 1e3,
            outcome.nodes as f64 / 1e6,
            made.kept / 1e6,
            made.longest[0],
            made.longest[1],
        );
    }
    for (where_, outcomes) in [("natively", &here), ("in wasm", &there)] {
        let with_smaller = outcomes.iter().map(|o| o.answer.parse::<Made>());
        let slowest = with_smaller
            .map(|made| made.map_or(0.0, |made| made.with_smaller))
            .fold(0.0, f64::max);
        println!(
            "all {} {where_}: {} s, the slowest {} s alone, {} s with all it leads to",
            wanted.len(),
            short(total(outcomes) / 1e3),
            short(times(outcomes).into_iter().fold(0.0, f64::max) / 1e3),
            short(slowest / 1e3),
        );
    }
    Ok(())
}

fn tasks(names: &[String]) -> Vec<String> {
    names.iter().map(|name| format!("table {name}")).collect()
}
