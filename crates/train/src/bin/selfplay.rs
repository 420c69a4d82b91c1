//! `selfplay FILE (games N | seconds N) NODES THREADS SEED [NETWORK]`: plays
//! games on THREADS threads, with NETWORK or with the reference evaluation, and
//! writes their quiet positions to FILE, in the form of
//! [`keyproof_train::record`].
//!
//! What a game is depends on the seed and its number alone. A position is
//! quiet if its side is not in check and the best move found neither takes
//! nor promotes.

use std::fs::File;
use std::io::{BufWriter, Write};
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};

use keyproof_train::opening::varied;
use keyproof_train::record::{Record, finish, unfinished};
use prove::Unwatched;
use prove::corpus::Seeded;
use search::{Limits, Network, Search, Value};
use shakmaty::{Chess, Color, Position};

const TABLE: usize = 4 << 20;
const LONGEST: usize = 300;
/// Plies in a row with such a value, in centipawns, decide a game.
const DECIDED: (i32, usize) = (1200, 6);
/// Plies in a row with such a value, from this ply on, draw it.
const LEVEL: (i32, usize, usize) = (8, 12, 80);
/// With so few men the table knows the result; the last value stands for it.
const FEW: usize = 4;

struct Order {
    games: u64,
    until: Instant,
    nodes: u64,
    seed: u64,
}

fn main() -> Result<(), String> {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let [file, unit, amount, nodes, threads, seed, network @ ..] = &args[..] else {
        return Err("selfplay FILE (games N | seconds N) NODES THREADS SEED [NETWORK]".into());
    };
    let number = |text: &String| {
        text.parse::<u64>()
            .map_err(|_| format!("{text}: no number"))
    };
    let amount = number(amount)?;
    let far = Duration::from_secs(86_400 * 365);
    let (games, time) = match unit.as_str() {
        "games" => (amount, far),
        "seconds" => (u64::MAX, Duration::from_secs(amount)),
        other => return Err(format!("{other}: neither games nor seconds")),
    };
    let order = Order {
        games,
        until: Instant::now() + time,
        nodes: number(nodes)?,
        seed: number(seed)?,
    };
    let out = File::create(file).map_err(|fault| format!("{file}: {fault}"))?;
    let out = Mutex::new(BufWriter::new(out));
    let network = match network.first() {
        Some(path) => Some(read(path)?),
        None => None,
    };
    let begun = Instant::now();
    let (next, kept) = (AtomicU64::new(0), AtomicU64::new(0));
    let workers = || -> Result<(), String> {
        loop {
            let game = next.fetch_add(1, Ordering::Relaxed);
            if game >= order.games || Instant::now() >= order.until {
                return Ok(());
            }
            let records = play(&order, game, network.clone());
            kept.fetch_add(records.len() as u64, Ordering::Relaxed);
            let mut out = out.lock().map_err(|_| "a thread broke")?;
            for record in &records {
                out.write_all(record).map_err(|fault| fault.to_string())?;
            }
        }
    };
    std::thread::scope(|scope| {
        let all: Vec<_> = (0..number(threads)?)
            .map(|_| scope.spawn(workers))
            .collect();
        for one in all {
            one.join().map_err(|_| "a thread broke")??;
        }
        Ok::<(), String>(())
    })?;
    let mut out = out.into_inner().map_err(|_| "a thread broke")?;
    out.flush().map_err(|fault| fault.to_string())?;
    println!(
        "{} games, {} positions, {} s",
        next.into_inner().min(order.games),
        kept.into_inner(),
        begun.elapsed().as_secs(),
    );
    Ok(())
}

fn read(path: &String) -> Result<Arc<Network>, String> {
    let bytes = std::fs::read(path).map_err(|fault| format!("{path}: {fault}"))?;
    let network = Network::read(&bytes).map_err(|fault| format!("{path}: {fault}"))?;
    Ok(Arc::new(network))
}

/// Plays a game; its quiet positions.
fn play(order: &Order, game: u64, network: Option<Arc<Network>>) -> Vec<Record> {
    let mut random = Seeded::new(order.seed << 32 ^ game);
    let mut at = varied(&mut random);
    let mut search = match network {
        Some(network) => Search::with_network(TABLE, network),
        None => Search::with_reference(TABLE),
    };
    let (mut past, mut records) = (Vec::<Chess>::new(), Vec::new());
    let (mut decided, mut level, mut last) = (0, 0, 0);
    let mut white = 1;
    for ply in 0..LONGEST {
        if at.is_checkmate() {
            white = won(!at.turn());
            break;
        }
        let times = past.iter().filter(|before| **before == at).count();
        if at.is_game_over() || at.halfmoves() >= 100 || times >= 2 {
            break;
        }
        if at.board().occupied().count() <= FEW {
            if last >= 250 {
                white = won(at.turn());
            } else if last <= -250 {
                white = won(!at.turn());
            }
            break;
        }
        let lines = search.lines(&at, &past, &Limits::nodes(order.nodes), &mut Unwatched);
        let Some(best) = lines.first() else { break };
        let value = match best.value {
            Value::Cp(value) => value,
            Value::MateIn(_) => 10_000,
            Value::MatedIn(_) => -10_000,
        };
        decided = if value.abs() >= DECIDED.0 {
            decided + 1
        } else {
            0
        };
        level = if value.abs() <= LEVEL.0 { level + 1 } else { 0 };
        if decided == DECIDED.1 {
            white = won(if value > 0 { at.turn() } else { !at.turn() });
            break;
        }
        if level >= LEVEL.1 && ply >= LEVEL.2 {
            break;
        }
        let m = best.moves[0];
        let quiet = !at.is_check() && !m.is_capture() && !m.is_promotion();
        if quiet && value.abs() < 3000 {
            records.push(unfinished(&at, value, game as u32));
        }
        past.push(at.clone());
        at.play_unchecked(m);
        last = -value;
        if past.len() > at.halfmoves() as usize {
            past.drain(..past.len() - at.halfmoves() as usize);
        }
    }
    for record in &mut records {
        finish(record, white);
    }
    records
}

fn won(by: Color) -> u8 {
    by.fold_wb(2, 0)
}
