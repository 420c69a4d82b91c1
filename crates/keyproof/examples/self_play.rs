//! A game that the search plays against itself, for demo data.
//!
//! `self_play SEED [NODES]`: prints one PGN game. Each side spends NODES (6000
//! if left out) on a move and takes one of the good moves; each has an
//! off-day now and then, when it looks two plies deep only, and plays one of
//! the three moves that look best. The same seed gives the same game.

use keyproof::draft::{Draft, Edit, NodeId};
use keyproof::notation::{moves, pgn_write};
use keyproof::prove::{Unwatched, corpus::Seeded};
use keyproof::search::{Limits, Line, Search, Value};
use shakmaty::{Chess, Move, Position};

/// Plies in which either side plays any of the moves that are nearly best.
const OPENING: usize = 12;
const LONGEST: usize = 140;
/// A side gives up when it is so far behind, in hundredths of a pawn.
const HOPELESS: i32 = -900;

fn main() -> Result<(), String> {
    let mut args = std::env::args().skip(1);
    let number = |text: String| {
        text.parse::<u64>()
            .map_err(|_| format!("{text}: no number"))
    };
    let seed = number(args.next().ok_or("self_play SEED [NODES]")?)?;
    let nodes = args.next().map_or(Ok(6_000), number)?;
    let mut random = Seeded::new(seed);
    let mut search = Search::new(16 << 20);
    let (mut position, mut past) = (Chess::default(), Vec::<Chess>::new());
    let (mut draft, mut at) = (Draft::new(), NodeId::ROOT);
    let mut result = "1/2-1/2";
    for ply in 0..LONGEST {
        if position.is_checkmate() {
            result = position.turn().fold_wb("0-1", "1-0");
            break;
        }
        let times = past.iter().filter(|p| **p == position).count();
        if position.is_game_over() || position.halfmoves() >= 100 || times >= 2 {
            break;
        }
        let off = ply > OPENING && random.below(9) == 0;
        let limits = Limits {
            nodes,
            depth: if off { 2 } else { 40 },
            lines: 4,
            moves: None,
        };
        let lines = search.lines(&position, &past, &limits, &mut Unwatched);
        let Some(best) = lines.first().map(value) else {
            break;
        };
        if best <= HOPELESS {
            result = position.turn().fold_wb("0-1", "1-0");
            break;
        }
        let slack = match (off, ply < OPENING) {
            (true, _) => 120,
            (_, true) => 30,
            _ => 8,
        };
        let near: Vec<Move> = lines
            .iter()
            .filter(|line| value(line) >= best - slack)
            .map(|line| line.moves[0])
            .take(3)
            .collect();
        let mv = near[random.below(near.len())];
        let edit = Edit::AddLine {
            at,
            moves: vec![moves::san(&position, mv)],
            nags: vec![],
        };
        at = draft.apply(&edit).map_err(|fault| format!("{fault:?}"))?;
        past.push(position.clone());
        position.play_unchecked(mv);
    }
    let edit = Edit::SetTag {
        name: "Result".into(),
        value: Some(result.into()),
    };
    draft.apply(&edit).map_err(|fault| format!("{fault:?}"))?;
    print!("{}", pgn_write::write(&draft));
    Ok(())
}

fn value(line: &Line) -> i32 {
    match line.value {
        Value::Cp(v) => v,
        Value::MateIn(_) => 3_000,
        Value::MatedIn(_) => -3_000,
    }
}
