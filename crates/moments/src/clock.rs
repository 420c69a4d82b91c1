//! What the clock says of a game, where its file carries times: `clk`, what a player has
//! left after a move, and `emt`, what the move took (PGN supplement, 2001; from memory).
//!
//! Long thoughts and the beginning of time trouble are hints where a coach may stop. They
//! say nothing of the move, and count for nothing in the order of moments.

use std::collections::BTreeMap;

use model::draft::{Node, NodeId};
use model::notation::moves;
use model::resolved::Resolved;
use model::tongue::say;
use shakmaty::{Color, Position};

use super::Side;

/// A move at which the clock is worth a look.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Timed {
    /// The node before the move, at which one would stop.
    pub at: NodeId,
    /// The move number.
    pub number: u32,
    /// Who moved.
    pub side: Side,
    /// The move in SAN.
    pub san: String,
    /// What the clock says.
    pub hint: Hint,
}

/// What the clock says of a move, in seconds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Hint {
    /// It took so long.
    Thought(u32),
    /// It is the first that its side made in time trouble, with so much left.
    Trouble(u32),
}

impl Timed {
    /// "14.Nd5 took 21:04." `mv` is the move with its number, as it is shown.
    pub fn sentence(&self, mv: &str) -> String {
        match self.hint {
            Hint::Thought(seconds) => say!(
                "{move} took {time}.",
                move = mv,
                time = written(seconds.into())
            ),
            Hint::Trouble(seconds) => say!(
                "{move} was played with {time} left.",
                move = mv,
                time = written(seconds.into())
            ),
        }
    }
}

/// A thought is long from so many times what its side usually takes (the median), and
/// from so many seconds.
const TIMES: u32 = 4;
const LEAST: u32 = 60;
/// So many long thoughts are told.
const MOST: usize = 3;
/// Time trouble begins with one part in so many of what the side had after its first
/// move (common practice, no source).
const TROUBLE: u32 = 10;

/// A move of the main line with its times.
struct Move {
    timed: Timed,
    color: Color,
    used: Option<u32>,
    /// Before the move.
    left: Option<u32>,
}

/// The longest thoughts of a game and where each side's time trouble begins, in the order
/// of the moves; nothing where the file has no times.
pub fn timed(resolved: &Resolved) -> Vec<Timed> {
    let moves = read(resolved);
    let mut hints: BTreeMap<usize, Timed> = BTreeMap::new();
    let mut thoughts: Vec<(u32, usize)> = Vec::new();
    for color in Color::ALL {
        let own = || {
            moves
                .iter()
                .enumerate()
                .filter(move |(_, mv)| mv.color == color)
        };
        let mut used: Vec<u32> = own().filter_map(|(_, mv)| mv.used).collect();
        used.sort_unstable();
        let usual = used.get(used.len() / 2).copied().unwrap_or(0);
        let long = usual.saturating_mul(TIMES).max(LEAST);
        let took = own().filter_map(|(ply, mv)| Some((mv.used?, ply)));
        thoughts.extend(took.filter(|(used, _)| *used >= long));
        let mut left = own().filter_map(|(ply, mv)| Some((ply, mv.left?)));
        if let Some((_, begun)) = left.next()
            && let Some((ply, seconds)) = left.find(|(_, left)| *left < begun / TROUBLE)
        {
            let hint = Hint::Trouble(seconds);
            hints.insert(ply, with(&moves[ply], hint));
        }
    }
    thoughts.sort_unstable_by_key(|&(used, ply)| (std::cmp::Reverse(used), ply));
    for (seconds, ply) in thoughts.into_iter().take(MOST) {
        hints.insert(ply, with(&moves[ply], Hint::Thought(seconds)));
    }
    hints.into_values().collect()
}

fn with(mv: &Move, hint: Hint) -> Timed {
    Timed {
        hint,
        ..mv.timed.clone()
    }
}

/// The moves of the main line with their times.
fn read(resolved: &Resolved) -> Vec<Move> {
    let mut last: [Option<u32>; 2] = [None; 2];
    let line = resolved.main_line();
    let step = |pair: &[NodeId]| {
        let (at, node) = (pair[0], pair[1]);
        let position = resolved.position(at)?;
        let played = resolved.step(node)?.mv;
        let node = resolved.draft().node(node)?;
        let color = position.turn();
        let left = last[color as usize];
        let now = command(node, "clk");
        let spent = left.zip(now).and_then(|(left, now)| left.checked_sub(now));
        last[color as usize] = now.or(left);
        Some(Move {
            timed: Timed {
                at,
                number: position.fullmoves().get(),
                side: color.into(),
                san: moves::san(position, played),
                hint: Hint::Thought(0),
            },
            color,
            used: command(node, "emt").or(spent),
            left,
        })
    };
    line.windows(2).filter_map(step).collect()
}

/// The seconds of a command, the last of its name; nothing where it does not read.
fn command(node: &Node, name: &str) -> Option<u32> {
    let value = |command: &String| {
        let inner = command.strip_prefix("[%")?.strip_suffix(']')?;
        let (named, value) = inner.split_once(' ')?;
        (named == name).then(|| seconds(value.trim()))?
    };
    node.commands.iter().rev().find_map(value)
}

/// Seconds of `h:mm:ss`; parts of a second are left out.
fn seconds(text: &str) -> Option<u32> {
    let whole = text.split('.').next()?;
    let parts: Vec<u32> = whole
        .split(':')
        .map(|part| part.parse().ok())
        .collect::<Option<_>>()?;
    let [hours, minutes @ 0..60, seconds @ 0..60] = parts[..] else {
        return None;
    };
    let minutes = hours.checked_mul(60)?.checked_add(minutes)?;
    minutes.checked_mul(60)?.checked_add(seconds)
}

/// Seconds as a clock shows them: "4:09", and from an hour on "1:04:09".
pub fn written(seconds: u64) -> String {
    let (hours, minutes, seconds) = (seconds / 3600, seconds / 60 % 60, seconds % 60);
    match hours {
        0 => format!("{minutes}:{seconds:02}"),
        _ => format!("{hours}:{minutes:02}:{seconds:02}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use model::pgn_read;

    fn told(moves: &str) -> Vec<String> {
        let game = pgn_read::read(moves).remove(0);
        let hints = timed(&Resolved::of(&game.draft));
        hints.iter().map(|t| t.sentence(&t.san)).collect()
    }

    #[test]
    fn the_long_thought_and_the_time_trouble_are_told_and_nothing_else() {
        let game = "1. e4 {[%clk 0:30:00]} e5 {[%clk 0:30:00]} 2. Nf3 {[%clk 0:29:30] Quickly.}
Nc6 {[%clk 0:29:40]} 3. Bc4 {[%clk 0:29:00]} Nf6 {[%clk 0:29:20]} 4. Ng5 {[%clk 0:14:00]}
d5 {[%clk 0:02:20]} 5. exd5 {[%clk 0:13:30]} Na5 {[%clk 0:02:00]} *";
        let all = told(game);
        assert_eq!(
            all,
            [
                "Ng5 took 15:00.",
                "d5 took 27:00.",
                "Na5 was played with 2:20 left."
            ]
        );
    }

    #[test]
    fn what_a_move_took_is_taken_as_it_is_written() {
        let game =
            "1. e4 {[%emt 0:00:05]} e5 2. Nf3 {[%emt 0:00:06]} Nc6 3. Bb5 {[%emt 1:02:03.7]} *";
        assert_eq!(told(game), ["Bb5 took 1:02:03."]);
    }

    #[test]
    fn no_times_or_broken_ones_are_no_hints() {
        assert!(told("1. e4 e5 2. Nf3 Nc6 *").is_empty());
        for time in [
            "soon",
            "99:99:99",
            "0:61:00",
            "9999999999:00:00",
            "1:2",
            "-1:00:00",
        ] {
            let game = format!("1. e4 {{[%emt 0:00:01]}} e5 2. Nf3 {{[%emt {time}]}} *");
            assert!(told(&game).is_empty(), "{time}");
        }
        assert_eq!(seconds("0:00:59"), Some(59));
    }

    /// With time added for each move the clock may go up.
    #[test]
    fn a_clock_that_goes_up_took_no_time_that_is_known() {
        let game =
            "1. e4 {[%clk 0:01:00]} e5 2. Nf3 {[%clk 0:01:05]} Nc6 3. Bb5 {[%clk 0:01:08]} *";
        assert!(told(game).is_empty());
    }
}
