//! How long the demo puzzles take to check, on one core.

use keyproof::notation::{pgn_read, pgn_write};
use keyproof_bench::Outcome;

use crate::Setting;
use crate::engine::{native, wasm};
use crate::print::{heading, percentile, short, times, total};

pub fn run(setting: &Setting) -> Result<(), String> {
    heading("Checking the puzzles of puzzles/, on one core");
    let mut kinds: Vec<(&str, Vec<String>)> = vec![("forced", vec![]), ("searched", vec![])];
    for (stipulation, task) in tasks()? {
        kinds[usize::from(matches!(&stipulation[..], "+" | "=" | "bm"))]
            .1
            .push(task);
    }
    for (name, tasks) in &kinds {
        if tasks.is_empty() {
            continue;
        }
        let here = native(tasks)?;
        let there = wasm(&setting.wasm, tasks)?;
        println!(
            "{name:9} {:3} puzzles, {} sound: median {} ms, longest {} ms; wasm {} and {} ms, {:.2} times as long",
            tasks.len(),
            sound(&here),
            short(percentile(&times(&here), 50)),
            short(percentile(&times(&here), 100)),
            short(percentile(&times(&there), 50)),
            short(percentile(&times(&there), 100)),
            total(&there) / total(&here),
        );
    }
    Ok(())
}

fn sound(outcomes: &[Outcome]) -> usize {
    outcomes.iter().filter(|o| o.answer == "sound").count()
}

/// The stipulation of each puzzle, and the task of checking it.
fn tasks() -> Result<Vec<(String, String)>, String> {
    let failed = |e: std::io::Error| format!("puzzles/: {e}");
    let mut files: Vec<_> = std::fs::read_dir("puzzles")
        .map_err(failed)?
        .flatten()
        .map(|entry| entry.path())
        .filter(|path| path.extension().is_some_and(|e| e == "pgn"))
        .collect();
    files.sort();
    let mut tasks = Vec::new();
    for file in files {
        let text = std::fs::read_to_string(&file).map_err(failed)?;
        for game in pgn_read::read(&text) {
            let draft = &game.draft;
            if let Some(stipulation) = draft.tag("Stipulation") {
                let pgn = pgn_write::write(draft).replace('\n', "|");
                tasks.push((stipulation.to_owned(), format!("check {pgn}")));
            }
        }
    }
    Ok(tasks)
}
