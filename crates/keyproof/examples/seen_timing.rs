//! How long it takes to index a collection, and what it takes in memory.
//!
//! `seen_timing [POSITIONS]`: writes random games with that many positions (a
//! million if left out) as PGN, reads and indexes them, and looks up every
//! position of one more such game. Prints one line of JSON.

use std::fmt::Write as _;
use std::time::Instant;

use keyproof::notation::{moves, pgn_read};
use keyproof::prove::corpus::Seeded;
use keyproof::seen::Builder;
use shakmaty::{Chess, Position};

/// Plies of a game: that of an ordinary one.
const PLIES: usize = 80;

fn main() -> Result<(), String> {
    let wanted = match std::env::args().nth(1) {
        None => 1_000_000,
        Some(text) => text.parse::<usize>().map_err(|_| "POSITIONS is a number")?,
    };
    let mut random = Seeded::new(1);
    let mut text = String::new();
    let mut positions = 0;
    while positions < wanted {
        positions += write_game(&mut random, &mut text);
    }
    let begin = Instant::now();
    let mut builder = Builder::new();
    pgn_read::each(&text, &mut |game| {
        // Two random games may be the same one.
        let _ = builder.add(&game.draft);
    });
    let read = begin.elapsed().as_secs_f64();
    let index = builder.index();
    let indexed = begin.elapsed().as_secs_f64();
    let begin = Instant::now();
    let mut found = 0;
    let mut at = Chess::default();
    for _ in 0..PLIES {
        found += index.seen(&at).len();
        let legal = at.legal_moves();
        if legal.is_empty() {
            break;
        }
        let mv = legal[random.below(legal.len())];
        at.play_unchecked(mv);
    }
    let looked = begin.elapsed().as_secs_f64();
    println!(
        "{{\"games\":{},\"positions\":{},\"pgn_bytes\":{},\"read_seconds\":{read:.2},\"indexed_seconds\":{indexed:.2},\"bytes_per_position\":{:.2},\"lookup_seconds\":{looked:.3},\"found\":{found}}}",
        index.games(),
        index.positions(),
        text.len(),
        index.bytes() as f64 / index.positions() as f64,
    );
    Ok(())
}

/// Writes a random game and says how many positions it has.
fn write_game(random: &mut Seeded, text: &mut String) -> usize {
    text.push_str("[Event \"Timing\"]\n[White \"A\"]\n[Black \"B\"]\n[Result \"*\"]\n\n");
    let mut at = Chess::default();
    let mut positions = 1;
    for ply in 0..PLIES {
        let legal = at.legal_moves();
        if legal.is_empty() {
            break;
        }
        let mv = legal[random.below(legal.len())];
        if ply % 2 == 0 {
            let _ = write!(text, "{}. ", ply / 2 + 1);
        }
        text.push_str(&moves::san(&at, mv));
        text.push(if ply % 12 == 11 { '\n' } else { ' ' });
        at.play_unchecked(mv);
        positions += 1;
    }
    text.push_str("*\n\n");
    positions
}
