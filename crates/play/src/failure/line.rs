//! The sentence on a wrong move of which no kind of failure is known.

use model::aim::Aim;
use model::notation::moves::{self, side_name};
use model::tongue::{phrase, say};
use shakmaty::{Chess, Move, Position};

use super::rest;
use crate::goal::Goal;

macro_rules! sentence {
    ($text:literal) => {
        phrase!($text, "move line rest aim end side n")
    };
}

/// Why a move fails, by the line that shows it. `line` starts with the wrong move,
/// of which `goal` was asked; `number` is that move's.
pub fn by_line(position: &Chess, line: &[Move], goal: Goal, number: u32) -> String {
    let solver = position.turn();
    let Some((&first, replies)) = line.split_first() else {
        return String::new();
    };
    let played = moves::line(position, &[first], number);
    let Ok(after) = position.clone().play(first) else {
        return played;
    };
    let shown = moves::line(&after, replies, number + u32::from(solver.is_black()));
    let mut end = after;
    for &mv in replies {
        match end.clone().play(mv) {
            Ok(next) => end = next,
            Err(_) => break,
        }
    }
    let aim = goal.forced().map(|(aim, _)| aim);
    let at_once = !matches!(aim, Some(Aim::Selfmate | Aim::Gain(_)));
    let last = goal.moves_left() == Some(1) && at_once;
    let mated = end.is_checkmate() && end.turn() == solver;
    let text = match replies {
        [] if end.is_stalemate() => sentence!("{move} gives stalemate."),
        [] if end.is_checkmate() => sentence!("{move} gives mate."),
        [] if last => sentence!("{move} is not {end}{rest}."),
        [] if matches!(goal, Goal::Forced(Aim::Helpmate, 2)) => {
            sentence!("{move} does not help: no mate is left in one half move.")
        }
        [] if goal.shared() => {
            sentence!("{move} does not help: no mate is left in {n} half moves.")
        }
        [] if aim.is_some() => sentence!("{move} fails: there is no {aim} in time."),
        _ if end.is_stalemate() => sentence!("{move} fails: {line} is stalemate."),
        _ if mated => sentence!("{move} fails: {line}, and it is {side} who is mated."),
        _ if last => sentence!("{move} is not {end}{rest}."),
        _ if matches!(goal, Goal::Forced(Aim::Selfmate, 1)) => {
            sentence!("{move} fails: {line} is not mate.")
        }
        _ if goal.moves_left().is_some_and(|n| n > 1) => {
            sentence!("{move} fails: {line} and there is no {aim} in time.")
        }
        _ => sentence!("{move} fails{rest}."),
    };
    let left = goal
        .moves_left()
        .map_or(0, |n| usize::from(n).saturating_sub(1));
    say!(
        text,
        move = played,
        line = shown,
        rest = rest(&shown),
        aim = aim.map_or("", Aim::noun),
        end = aim.map_or("", Aim::end),
        side = side_name(solver),
        n = left.to_string(),
    )
}
