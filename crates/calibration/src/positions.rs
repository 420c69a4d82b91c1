//! The positions that are measured: of games that the search plays against itself,
//! each from a seed and a number, or of files of positions or games.

use std::fs;
use std::path::Path;

use keyproof::notation::{fen, pgn_read};
use keyproof::prove::{Unwatched, corpus::Seeded};
use keyproof::resolved::Resolved;
use keyproof::search::{Limits, Search, Value};
use shakmaty::{Chess, Move, Position};

/// Nodes for a move of a game.
const THINKING: u64 = 3_000;

/// Plies of the opening, in which any of the moves near the best is played; in
/// every other game any move at all in the first six.
const OPENING: usize = 12;
const ANY: usize = 6;

/// Plies from which on, and so many long, positions are taken.
const FIRST: usize = 14;
const SPAN: usize = 60;

/// The `number`th position of a seed: one game gives one.
pub fn own(seed: u64, number: usize) -> Chess {
    let mut random = Seeded::new(seed ^ (number as u64).wrapping_mul(0x9e37_79b9_7f4a_7c15));
    loop {
        let mut search = Search::new(1 << 20);
        let ply = FIRST + random.below(SPAN);
        if let Some(position) = play(&mut search, &mut random, ply, number % 2 == 1) {
            return position;
        }
    }
}

/// A game of so many plies; `None` if it ended before.
fn play(search: &mut Search, random: &mut Seeded, plies: usize, wild: bool) -> Option<Chess> {
    let (mut position, mut past) = (Chess::default(), Vec::<Chess>::new());
    for ply in 0..plies {
        let mv = if wild && ply < ANY {
            let legal = position.legal_moves();
            legal[random.below(legal.len())]
        } else {
            let off = ply > OPENING && random.below(8) == 0;
            let limits = Limits {
                nodes: THINKING,
                depth: if off { 2 } else { 40 },
                lines: 4,
                moves: None,
            };
            let lines = search.lines(&position, &past, &limits, &mut Unwatched);
            let best = value(lines.first()?.value);
            let slack = match (off, ply < OPENING) {
                (true, _) => 120,
                (_, true) => 40,
                _ => 10,
            };
            let near: Vec<Move> = lines
                .iter()
                .filter(|line| value(line.value) >= best - slack)
                .map(|line| line.moves[0])
                .collect();
            near[random.below(near.len())]
        };
        past.push(position.clone());
        position.play_unchecked(mv);
        let repeated = past.iter().filter(|p| **p == position).count() >= 2;
        if position.is_game_over() || repeated {
            return None;
        }
    }
    (position.legal_moves().len() > 1).then_some(position)
}

/// In hundredths of a pawn, mates beyond any other value.
pub fn value(value: Value) -> i32 {
    match value {
        Value::Cp(value) => value,
        Value::MateIn(n) => 100_000 - i32::from(n),
        Value::MatedIn(n) => i32::from(n) - 100_000,
    }
}

/// Of a game, every so-manieth position from [`FIRST`] on is taken.
const APART: usize = 8;

/// The positions of an EPD file, or of the main lines of the games of a PGN file.
///
/// # Errors
/// What cannot be read, and where.
pub fn of_file(path: &Path) -> Result<Vec<Chess>, String> {
    let text = fs::read_to_string(path).map_err(|e| format!("{}: {e}", path.display()))?;
    if path.extension().is_some_and(|extension| extension == "pgn") {
        return Ok(of_games(&text));
    }
    let lines = text
        .lines()
        .enumerate()
        .filter(|(_, l)| !l.trim().is_empty());
    lines
        .map(|(i, line)| {
            let fields: Vec<&str> = line.split_whitespace().take(4).collect();
            fen::read(&format!("{} 0 1", fields.join(" "))).map_err(|fault| {
                format!(
                    "{}, line {}: {}",
                    path.display(),
                    i + 1,
                    fault.reasons().join("; ")
                )
            })
        })
        .collect()
}

fn of_games(text: &str) -> Vec<Chess> {
    let mut all = Vec::new();
    for game in pgn_read::read(text) {
        let resolved = Resolved::of(&game.draft);
        let line = resolved.main_line();
        let taken = line.into_iter().skip(FIRST).step_by(APART);
        let positions = taken.filter_map(|node| resolved.position(node).cloned());
        all.extend(positions.filter(|position| position.legal_moves().len() > 1));
    }
    all
}
