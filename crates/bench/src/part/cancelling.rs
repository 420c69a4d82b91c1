//! How soon a proof that runs in a worker stops, and that it tells of its
//! progress.

use std::process::Command;

use crate::Setting;
use crate::engine::through;
use crate::print::{heading, percentile, short};

/// More than any machine proves while this is measured.
const LONG: &str = "9 r1bqkb1r/pppp1ppp/2n2n2/4p3/2B1P3/5N2/PPPP1PPP/RNBQK2R w KQkq - 4 4";

pub fn run(setting: &Setting) -> Result<(), String> {
    heading("Stopping a proof in a worker (node): milliseconds");
    stopped(setting, "keys")
}

/// How soon that work, `keys` or `gain`, stops.
///
/// # Errors
/// It was over before, or says nothing of its progress.
pub(super) fn stopped(setting: &Setting, work: &str) -> Result<(), String> {
    let long = format!("{work} {LONG}");
    let mut node = Command::new("node");
    node.args(["crates/bench/host.mjs", &setting.wasm, "cancel", &long]);
    let told = through(&mut node, &[])?;
    for (way, name) in [("asked", "asked to stop"), ("ended", "worker ended")] {
        let mut waits = Vec::new();
        let mut fewest = f64::INFINITY;
        for line in told.lines() {
            let fields: Vec<&str> = line.split('\t').collect();
            if fields.first() == Some(&way) && fields.len() == 5 {
                let number = |i: usize| fields[i].parse::<f64>().unwrap_or(f64::NAN);
                waits.push(number(1));
                fewest = fewest.min(number(2));
                if fields[4] != "true" {
                    return Err("the task was over before it could be stopped".into());
                }
            }
        }
        println!(
            "{name:14} median {:>5}, longest {:>5} of {}; told of progress at least {fewest} times before",
            short(percentile(&waits, 50)),
            short(percentile(&waits, 100)),
            waits.len(),
        );
    }
    Ok(())
}
