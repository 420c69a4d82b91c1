//! `spread FILE COUNT THREADS SEED GAMES...`: positions a few random moves away
//! from those of games, with what the reference evaluation says of them, if
//! they are quiet. A network that is to learn from games learns this first.
//!
//! The records are as [`keyproof_train::record`] has them, without a game.

use std::fs::File;
use std::io::{BufWriter, Write};
use std::sync::Mutex;

use keyproof_train::record::{Record, board, unfinished};
use prove::corpus::Seeded;
use search::Search;
use shakmaty::{CastlingMode, Chess, Color, FromSetup, Position, Setup};

/// Walks from one position of a game.
const WALKS: usize = 8;
const LONGEST: usize = 4;

fn main() -> Result<(), String> {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let [file, count, threads, seed, games @ ..] = &args[..] else {
        return Err("spread FILE COUNT THREADS SEED GAMES...".into());
    };
    let number = |text: &String| {
        text.parse::<u64>()
            .map_err(|_| format!("{text}: no number"))
    };
    let (count, threads, seed) = (number(count)?, number(threads)?, number(seed)?);
    let mut from: Vec<Record> = Vec::new();
    for path in games {
        let bytes = std::fs::read(path).map_err(|fault| format!("{path}: {fault}"))?;
        from.extend(bytes.as_chunks().0);
    }
    if from.is_empty() {
        return Err("no games".into());
    }
    let out = File::create(file).map_err(|fault| format!("{file}: {fault}"))?;
    let out = Mutex::new(BufWriter::new(out));
    let each = count / threads.max(1);
    let work = |thread: u64| -> Result<(), String> {
        let mut random = Seeded::new(seed << 32 ^ thread);
        let mut search = Search::with_reference(1 << 16);
        let mut left = each;
        while left > 0 {
            let mut records = Vec::new();
            while records.len() < 10_000 {
                let start = &from[random.below(from.len())];
                walk(start, &mut random, &mut search, &mut records);
            }
            records.truncate(left as usize);
            left -= records.len() as u64;
            let mut out = out.lock().map_err(|_| "a thread broke")?;
            out.write_all(records.as_flattened())
                .map_err(|fault| fault.to_string())?;
        }
        Ok(())
    };
    std::thread::scope(|scope| {
        let work = &work;
        let all: Vec<_> = (0..threads)
            .map(|thread| scope.spawn(move || work(thread)))
            .collect();
        for one in all {
            one.join().map_err(|_| "a thread broke")??;
        }
        Ok::<(), String>(())
    })?;
    let mut out = out.into_inner().map_err(|_| "a thread broke")?;
    out.flush().map_err(|fault| fault.to_string())
}

fn walk(from: &Record, random: &mut Seeded, search: &mut Search, records: &mut Vec<Record>) {
    let mut setup = Setup::empty();
    setup.board = board(from);
    setup.turn = Color::White;
    let Ok(start) = Chess::from_setup(setup, CastlingMode::Standard) else {
        return;
    };
    for _ in 0..WALKS {
        let mut at = start.clone();
        for _ in 0..random.below(LONGEST) {
            let legal = at.legal_moves();
            if let Some(&m) = legal.get(random.below(legal.len().max(1))) {
                at.play_unchecked(m);
            }
        }
        if let Some(value) = search.quiet_value(&at).filter(|value| value.abs() < 3000) {
            records.push(unfinished(&at, value, random.draw() as u32));
        }
    }
}
