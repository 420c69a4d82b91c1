//! What a position of a game asks.

use check::Goal;
use model::aim::Aim;
use model::puzzle::{Margins, Stipulation};
use search::Value;

use super::ask::{Look, MOST_ACCEPTED, Seen, points};

/// Longer mates are asked as wins.
const LONGEST_MATE: u16 = 6;
/// A side that has this much without the right move needs no better one.
pub(super) const ENOUGH: i32 = 200;
/// By so much a value must exceed what a win asks, for a win to be asked: nearer to it
/// the next search may come to another verdict.
const ROOM: i32 = 50;
/// From here down a side is losing, in hundredths of a pawn.
pub(super) const LOSING: i32 = -150;
/// What a praised move may give away, and what is wrong beside it, where nothing else is
/// asked.
pub(super) const GENEROUS: Margins = Margins {
    right: -80,
    wrong: -160,
};
/// Points from which on a value is a mate.
pub(super) const MATES: i32 = 2000;

/// What a position asks, by the second pass; `None` where it asks nothing. `praised` is
/// what the game's daring move seems worth, where there is one that seems right: all
/// that do the same are then right as well.
pub fn goal(look: &Look, played: &str, praised: Option<i32>) -> Option<Goal> {
    let few = few(look);
    let Some(value) = praised else { return few };
    let seen = look.lines.iter().find(|line| line.moves[0] == played);
    let mate = seen.and_then(|line| match line.value {
        Value::MateIn(n) if n <= LONGEST_MATE => Some(Goal::Forced(Aim::Mate, n as u8)),
        _ => None,
    });
    let win = Stipulation::Win.margins();
    let wins = value >= win.right;
    match few {
        _ if mate.is_some() => mate,
        Some(Goal::Forced(..)) | None if wins => Some(Goal::Win(win)),
        Some(goal) => Some(goal),
        None => Some(Goal::Best(GENEROUS)),
    }
}

/// What a position asks in which few moves are right.
fn few(look: &Look) -> Option<Goal> {
    let values: Vec<i32> = look.lines.iter().map(|line| points(line.value)).collect();
    let (&best, rest) = values.split_first()?;
    if rest.is_empty() {
        return None;
    }
    if let Value::MateIn(n) = look.lines[0].value
        && n <= LONGEST_MATE
    {
        let mates = |line: &&Seen| matches!(line.value, Value::MateIn(m) if m <= n);
        let few = look.lines.iter().filter(mates).count() <= MOST_ACCEPTED;
        return few.then_some(Goal::Forced(Aim::Mate, n as u8));
    }
    let few = |right: i32, wrong: i32| {
        let count = values.iter().filter(|&&v| v >= right).count();
        (1..=MOST_ACCEPTED).contains(&count) && values.get(count).is_none_or(|&v| v < wrong)
    };
    let win = Stipulation::Win.margins();
    let draw = Stipulation::Draw.margins();
    let near = Stipulation::Best.margins();
    if best >= win.right + ROOM && few(win.right, win.wrong) {
        Some(Goal::Win(win))
    } else if (draw.right..=-draw.right).contains(&best) && few(draw.right, draw.wrong) {
        Some(Goal::Draw(draw))
    } else if best < MATES
        && best > LOSING
        && rest[0] < ENOUGH
        && few(best + near.right, best + near.wrong)
    {
        Some(Goal::Best(near))
    } else {
        None
    }
}
