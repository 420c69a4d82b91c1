//! From a game to a lesson: how long the search for moments takes, and the
//! index of earlier games.

use keyproof::moments::{Answer, Course, Plan, Progress, moments, pass, questions};
use keyproof::notation::pgn_read;

use crate::Setting;
use crate::engine::{native, wasm};
use crate::print::{heading, short};

/// A whole game, of which so many plies are looked through.
const GAME: &str = "puzzles/games/corridor-final.pgn";
const PLIES: usize = 80;
/// Workers among which the questions are spread.
const WORKERS: usize = 2;

pub fn run(setting: &Setting) -> Result<(), String> {
    heading("From a game to a lesson");
    scan(setting)?;
    index(setting)
}

/// A question is answered alone, so what each takes says how long any number of
/// workers need that take the next one as soon as they are free.
fn scan(setting: &Setting) -> Result<(), String> {
    let course = course()?;
    let plan = match setting.quick {
        true => Plan::nodes(20_000),
        false => Plan::default(),
    };
    let mut progress = Progress::new(&course);
    let (mut tasks, mut here, mut rounds) = (Vec::new(), Vec::new(), Vec::new());
    let mut passes = [0; 3];
    loop {
        let open = questions(&course, &progress, &plan);
        if open.is_empty() {
            break;
        }
        let asked: Result<Vec<String>, _> = open
            .iter()
            .map(|question| serde_json::to_string(question).map(|json| format!("ask {json}")))
            .collect();
        let asked = asked.map_err(|e| e.to_string())?;
        let outcomes = native(&asked)?;
        for (question, outcome) in open.iter().zip(&outcomes) {
            passes[pass(question)] += 1;
            let answer: Answer =
                serde_json::from_str(&outcome.answer).map_err(|e| e.to_string())?;
            progress.learn(answer);
        }
        rounds.push(asked.len());
        tasks.extend(asked);
        here.extend(outcomes);
    }
    let there = wasm(&setting.wasm, &tasks)?;
    if here.iter().zip(&there).any(|(a, b)| a.answer != b.answer) {
        return Err("native and wasm answered differently".into());
    }
    let seconds = |outcomes: &[keyproof_bench::Outcome]| {
        let times: Vec<f64> = outcomes.iter().map(|outcome| outcome.ms).collect();
        spread_over(WORKERS, &times, &rounds) / 1e3
    };
    let (native, wasm) = (seconds(&here), seconds(&there));
    println!(
        "Scan of {} moves, {} workers, {} moments: native {} s, wasm {} s; ratio {:.2}",
        course.plies.len().div_ceil(2),
        WORKERS,
        moments(&course, &progress).len(),
        short(native),
        short(wasm),
        wasm / native,
    );
    println!(
        "  {} glances, {} looks, {} claims; {:.1} million nodes",
        passes[0],
        passes[1],
        passes[2],
        progress.nodes() as f64 / 1e6
    );
    Ok(())
}

fn course() -> Result<Course, String> {
    let text = std::fs::read_to_string(GAME).map_err(|e| format!("{GAME}: {e}"))?;
    let game = pgn_read::read(&text).into_iter().next();
    let game = game.ok_or_else(|| format!("{GAME} holds no game"))?.draft;
    let mut course = Course::of(&game).map_err(|fault| fault.reasons().join(" "))?;
    course.shorten(PLIES);
    Ok(course)
}

/// Milliseconds until all is done, round by round, when each of so many workers
/// takes the next piece as soon as it is free.
fn spread_over(workers: usize, times: &[f64], rounds: &[usize]) -> f64 {
    let mut rest = times;
    let mut whole = 0.0;
    for &count in rounds {
        let (round, later) = rest.split_at(count);
        rest = later;
        let mut free = vec![0.0_f64; workers];
        for time in round {
            free.sort_by(f64::total_cmp);
            free[0] += time;
        }
        whole += free.into_iter().fold(0.0, f64::max);
    }
    whole
}

/// Reading and indexing random games of ordinary length.
fn index(setting: &Setting) -> Result<(), String> {
    let task = vec![format!("index {}", setting.of(1_000_000, 100_000))];
    let (here, there) = (
        native(&task)?.remove(0),
        wasm(&setting.wasm, &task)?.remove(0),
    );
    if here.answer != there.answer {
        return Err("native and wasm indexed differently".into());
    }
    let bytes: f64 = here.answer.parse().map_err(|_| "no number of bytes")?;
    println!(
        "Index of {} positions: native {} s, wasm {} s; ratio {:.2}; {:.1} bytes a position",
        here.nodes,
        short(here.ms / 1e3),
        short(there.ms / 1e3),
        there.ms / here.ms,
        bytes / here.nodes as f64,
    );
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn work_is_spread_round_by_round() {
        let times = [3.0, 1.0, 1.0, 4.0, 1.0];
        assert_eq!(spread_over(2, &times, &[3, 2]), 3.0 + 4.0);
        assert_eq!(spread_over(1, &times, &[3, 2]), 10.0);
    }
}
