//! Solves a suite of positions with known best moves, for `cargo xtask bench`.
//!
//! `suite FILE NODES [TABLE_MB] [-v]`: FILE is EPD with `bm` or `am`. Prints one
//! line of JSON: positions, solved, nodes, seconds.

use std::time::Instant;

use keyproof::prove::Unwatched;
use keyproof::search::{Limits, Search};
use shakmaty::{CastlingMode, Chess, Move, fen::Fen, san::San};

struct Task {
    position: Chess,
    best: Vec<Move>,
    avoid: Vec<Move>,
    name: String,
}

fn main() -> Result<(), String> {
    let mut args: Vec<String> = std::env::args().skip(1).collect();
    let wordy = args.iter().any(|a| a == "-v");
    args.retain(|a| a != "-v");
    let [file, nodes, rest @ ..] = &args[..] else {
        return Err("suite FILE NODES [TABLE_MB] [-v]".into());
    };
    let nodes: u64 = nodes.parse().map_err(|_| "NODES is a number")?;
    let megabytes: usize = match rest.first() {
        Some(text) => text.parse().map_err(|_| "TABLE_MB is a number")?,
        None => 64,
    };
    let text = std::fs::read_to_string(file).map_err(|e| format!("{file}: {e}"))?;
    let tasks: Vec<Task> = text.lines().filter_map(task).collect();
    let mut solved = 0;
    let mut spent = 0;
    let mut seconds = 0.0;
    for task in &tasks {
        let mut search = Search::new(megabytes << 20);
        let begin = Instant::now();
        let lines = search.lines(&task.position, &[], &Limits::nodes(nodes), &mut Unwatched);
        let took = begin.elapsed().as_secs_f64();
        seconds += took;
        spent += search.nodes;
        let right = lines.first().is_some_and(|line| {
            let m = line.moves[0];
            !task.avoid.contains(&m) && (task.best.is_empty() || task.best.contains(&m))
        });
        solved += usize::from(right);
        if wordy {
            let line = lines.first().map(|l| {
                let mut at = task.position.clone();
                let mut text = String::new();
                for &m in l.moves.iter().take(8) {
                    use shakmaty::Position;
                    text += &format!("{} ", San::from_move(&at, m));
                    at.play_unchecked(m);
                }
                format!("{:?} {:?} depth {} {text}", l.value, l.grade, l.depth)
            });
            eprintln!(
                "{} {} {took:.2} s: {}",
                if right { "ok  " } else { "MISS" },
                task.name,
                line.unwrap_or_default()
            );
        }
    }
    println!(
        "{{\"positions\":{},\"solved\":{solved},\"nodes\":{spent},\"seconds\":{seconds:.2}}}",
        tasks.len()
    );
    Ok(())
}

fn task(line: &str) -> Option<Task> {
    let fields: Vec<&str> = line.splitn(5, ' ').collect();
    let fen = format!("{} 0 1", fields.get(..4)?.join(" "));
    let position: Chess = fen
        .parse::<Fen>()
        .ok()?
        .into_position(CastlingMode::Standard)
        .ok()?;
    let operations = *fields.get(4)?;
    let operand = |code: &str| {
        operations
            .split(';')
            .map(str::trim)
            .find_map(|op| op.strip_prefix(code)?.strip_prefix(' '))
            .unwrap_or("")
    };
    let moves = |code| {
        operand(code)
            .split(' ')
            .filter_map(|san| san.parse::<San>().ok()?.to_move(&position).ok())
            .collect::<Vec<Move>>()
    };
    let (best, avoid) = (moves("bm"), moves("am"));
    (!best.is_empty() || !avoid.is_empty()).then(|| Task {
        best,
        avoid,
        name: operand("id").trim_matches('"').to_owned(),
        position: position.clone(),
    })
}
