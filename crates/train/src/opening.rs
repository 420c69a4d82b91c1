//! Where games begin: positions after moves at random, and endings set at
//! random, as far as they are not decided yet.

use prove::Unwatched;
use prove::corpus::{Seeded, placed};
use search::{Limits, Search, Value};
use shakmaty::{Chess, Position};

/// Nodes to judge an opening by.
const NODES: u64 = 2_000;

/// How far from even a game may begin, in centipawns.
const EVEN: i32 = 150;
const UNEVEN: i32 = 600;

/// A position to begin a game from: nine of ten are from random moves, one is
/// an ending; one of eight may be uneven.
pub fn varied(random: &mut Seeded) -> Chess {
    let most = if random.below(8) == 0 { UNEVEN } else { EVEN };
    loop {
        let start = if random.below(10) == 0 {
            let men = 6 + random.below(9);
            Some(placed(random, men))
        } else {
            let plies = 8 + random.below(2);
            played(random, plies)
        };
        if let Some(start) = start.filter(|start| is_even(start, most)) {
            return start;
        }
    }
}

/// A position after so many random moves, good for a game of a match.
pub fn even(random: &mut Seeded) -> Chess {
    loop {
        let start = played(random, 8).filter(|start| is_even(start, EVEN));
        if let Some(start) = start {
            return start;
        }
    }
}

fn played(random: &mut Seeded, plies: usize) -> Option<Chess> {
    let mut at = Chess::default();
    for _ in 0..plies {
        let legal = at.legal_moves();
        let m = *legal.get(random.below(legal.len().max(1)))?;
        at.play_unchecked(m);
    }
    Some(at)
}

fn is_even(start: &Chess, most: i32) -> bool {
    let mut search = Search::with_reference(1 << 18);
    let lines = search.lines(start, &[], &Limits::nodes(NODES), &mut Unwatched);
    let value = lines.first().map(|line| line.value);
    matches!(value, Some(Value::Cp(value)) if value.abs() <= most)
}
