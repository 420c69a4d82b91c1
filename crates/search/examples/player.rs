//! Plays by a protocol of lines, for matches between two versions of the
//! search (`cargo xtask campaign match`).
//!
//! `new` forgets what was learnt; `move nodes N` or `move ms N`, a tab, a FEN,
//! a tab and the moves since in UCI asks for a move. The answer is the move in
//! UCI, its value in centipawns, depth, nodes and milliseconds. An argument may
//! name a network, or `reference`; without one the program's own is taken.

use std::io::{BufRead, Write};
use std::sync::Arc;
use std::time::{Duration, Instant};

use keyproof_search::{Limits, Network, Search, Value};
use prove::Watch;
use shakmaty::{CastlingMode, Chess, Position, fen::Fen, uci::UciMove};

const TABLE: usize = 32 << 20;

struct Until(Instant);

impl Watch for Until {
    fn go_on(&mut self, _nodes: u64, _share: f32) -> bool {
        Instant::now() < self.0
    }
}

fn main() -> Result<(), String> {
    let begin = beginning(std::env::args().nth(1).as_deref())?;
    let mut search = begin();
    let mut out = std::io::stdout().lock();
    for line in std::io::stdin().lock().lines() {
        let line = line.map_err(|e| e.to_string())?;
        let told = if line == "new" {
            search = begin();
            "new".to_owned()
        } else {
            answer(&mut search, &line).ok_or_else(|| format!("cannot read: {line}"))?
        };
        writeln!(out, "{told}")
            .and_then(|()| out.flush())
            .map_err(|e| e.to_string())?;
    }
    Ok(())
}

/// What makes a search that has learnt nothing yet.
fn beginning(evaluation: Option<&str>) -> Result<Box<dyn Fn() -> Search>, String> {
    match evaluation {
        None => Ok(Box::new(|| Search::new(TABLE))),
        Some("reference") => Ok(Box::new(|| Search::with_reference(TABLE))),
        Some(path) => {
            let bytes = std::fs::read(path).map_err(|fault| format!("{path}: {fault}"))?;
            let network = Network::read(&bytes).map_err(|fault| format!("{path}: {fault}"))?;
            let network = Arc::new(network);
            Ok(Box::new(move || {
                Search::with_network(TABLE, network.clone())
            }))
        }
    }
}

fn answer(search: &mut Search, line: &str) -> Option<String> {
    let mut parts = line.split('\t');
    let mut ask = parts.next()?.split(' ');
    let (unit, number) = (ask.nth(1)?, ask.next()?.parse::<u64>().ok()?);
    let mut at: Chess = parts
        .next()?
        .parse::<Fen>()
        .ok()?
        .into_position(CastlingMode::Standard)
        .ok()?;
    let mut past = Vec::new();
    for uci in parts.next()?.split_whitespace() {
        let m = uci.parse::<UciMove>().ok()?.to_move(&at).ok()?;
        past.push(at.clone());
        at.play_unchecked(m);
    }
    let begun = Instant::now();
    let (nodes, until) = match unit {
        "nodes" => (number, Duration::from_secs(3600)),
        _ => (u64::MAX / 4, Duration::from_millis(number)),
    };
    let before = search.nodes;
    let lines = search.lines(&at, &past, &Limits::nodes(nodes), &mut Until(begun + until));
    let best = lines.first()?;
    let value = match best.value {
        Value::Cp(value) => value,
        Value::MateIn(n) => 32_000 - i32::from(n),
        Value::MatedIn(n) => i32::from(n) - 32_000,
    };
    Some(format!(
        "{} {value} {} {} {}",
        best.moves[0].to_uci(CastlingMode::Standard),
        best.depth,
        search.nodes - before,
        begun.elapsed().as_millis(),
    ))
}
