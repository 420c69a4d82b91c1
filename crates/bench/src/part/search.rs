//! Published suites of positions with a known best move, and how many
//! positions a second the search looks at.

use keyproof_bench::Outcome;
use shakmaty::{CastlingMode, Chess, fen::Fen, san::San};

use crate::Setting;
use crate::engine::{native, wasm};
use crate::print::{heading, total};

struct Suite {
    name: &'static str,
    tasks: Vec<Task>,
}

struct Task {
    fen: String,
    id: String,
    /// In UCI: what solves it, or what must not be played.
    best: Vec<String>,
    avoid: Vec<String>,
}

/// Name and file of each suite.
const SUITES: [(&str, &str); 2] = [
    (
        "Bratko-Kopec 1982",
        ".tools/chess-1.11.2/examples/bratko_kopec/bratko-kopec.epd",
    ),
    ("Reinfeld 1945, 1-30", "tests/outside/reinfeld.epd"),
];

/// Nodes for the comparison of speeds.
const NODES: u64 = 400_000;

pub fn run(setting: &Setting) -> Result<(), String> {
    heading("Search: published suites, solved of all, one core, table 64 MiB");
    let suites: Vec<Suite> = SUITES
        .iter()
        .map(|&(name, file)| suite(name, file))
        .collect::<Result<_, _>>()?;
    println!("suite                   positions   time       native   wasm");
    for suite in &suites {
        for ms in if setting.quick {
            vec![200]
        } else {
            vec![1000, 5000]
        } {
            let tasks: Vec<String> = suite.asked(&format!("think {ms}"));
            let here = native(&tasks)?;
            let there = wasm(&setting.wasm, &tasks)?;
            println!(
                "{:22}  {:9}   {:>4.1} s    {:6}   {:4}   missed natively: {}",
                suite.name,
                tasks.len(),
                f64::from(ms) / 1000.0,
                suite.solved(&here).len(),
                suite.solved(&there).len(),
                suite.missed(&here),
            );
        }
    }
    let mut tasks = Vec::new();
    for suite in &suites {
        let nodes = setting.of(NODES as usize, NODES as usize / 8);
        tasks.extend(suite.asked(&format!("search {nodes}")));
    }
    if setting.quick {
        tasks.truncate(12);
    }
    let (here, there) = (native(&tasks)?, wasm(&setting.wasm, &tasks)?);
    if here
        .iter()
        .zip(&there)
        .any(|(a, b)| (a.nodes, &a.answer) != (b.nodes, &b.answer))
    {
        return Err("native and wasm searched differently".into());
    }
    println!(
        "\nSpeed, the same {} searches: native {:.2}, wasm {:.2} million nodes a second; ratio {:.2}",
        tasks.len(),
        speed(&here),
        speed(&there),
        speed(&there) / speed(&here),
    );
    Ok(())
}

/// Million nodes a second.
fn speed(outcomes: &[Outcome]) -> f64 {
    let nodes: u64 = outcomes.iter().map(|outcome| outcome.nodes).sum();
    nodes as f64 / total(outcomes) / 1e3
}

impl Suite {
    fn asked(&self, how: &str) -> Vec<String> {
        let task = |task: &Task| format!("{how} {}", task.fen);
        self.tasks.iter().map(task).collect()
    }

    fn solved(&self, outcomes: &[Outcome]) -> Vec<&Task> {
        let right = |(task, outcome): &(&Task, &Outcome)| {
            let answer = &outcome.answer;
            !task.avoid.contains(answer) && (task.best.is_empty() || task.best.contains(answer))
        };
        let all = self.tasks.iter().zip(outcomes);
        all.filter(right).map(|(task, _)| task).collect()
    }

    fn missed(&self, outcomes: &[Outcome]) -> String {
        let solved: Vec<&str> = self.solved(outcomes).iter().map(|t| &t.id[..]).collect();
        let ids = self.tasks.iter().map(|task| &task.id[..]);
        let missed: Vec<&str> = ids.filter(|id| !solved.contains(id)).collect();
        match missed[..] {
            [] => "none".to_owned(),
            _ => missed.join(" "),
        }
    }
}

fn suite(name: &'static str, file: &str) -> Result<Suite, String> {
    let text = std::fs::read_to_string(file)
        .map_err(|e| format!("{file}: {e} (`cargo xtask setup` fetches what is not ours)"))?;
    let tasks = text.lines().filter(|line| !line.trim().is_empty());
    let tasks: Option<Vec<Task>> = tasks.map(task).collect();
    let tasks = tasks.ok_or_else(|| format!("{file} is no EPD"))?;
    Ok(Suite { name, tasks })
}

/// A line of EPD with `bm` or `am`.
fn task(line: &str) -> Option<Task> {
    let fields: Vec<&str> = line.splitn(5, ' ').collect();
    let fen = format!("{} 0 1", fields.get(..4)?.join(" "));
    let parsed: Fen = fen.parse().ok()?;
    let position: Chess = parsed.into_position(CastlingMode::Standard).ok()?;
    let operand = |code: &str| {
        let mut all = fields[4].split(';').map(str::trim);
        all.find_map(|op| op.strip_prefix(code)?.strip_prefix(' '))
    };
    let moves = |code| -> Option<Vec<String>> {
        let names = operand(code).unwrap_or("").split_whitespace();
        names
            .map(|san| {
                let m = san.parse::<San>().ok()?.to_move(&position).ok()?;
                Some(keyproof::notation::moves::uci(m))
            })
            .collect()
    };
    Some(Task {
        best: moves("bm")?,
        avoid: moves("am")?,
        id: operand("id").unwrap_or("").trim_matches('"').to_owned(),
        fen,
    })
}
