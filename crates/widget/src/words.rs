//! The sentences of the student's page.

use model::aim::Aim;
use model::notation::moves::landing;
use model::notation::moves::{self, side_name};
use model::tongue::{phrase, plural, say, tr};
use play::failure;
use play::goal::Goal;
use shakmaty::{Chess, Move, Position, Role};

/// A move with its number: `1.Qg7`, `1...Kf8`. `passed` is how many moves of the
/// game are not counted.
pub fn numbered(position: &Chess, mv: Move, passed: u32) -> String {
    moves::line(position, &[mv], number(position, passed))
}

/// Adds a move to a line of text, with its number where one is due.
pub fn go_on(text: &mut String, before: &Chess, mv: Move, passed: u32) {
    if text.is_empty() {
        text.push_str(&numbered(before, mv, passed));
        return;
    }
    text.push(' ');
    text.push_str(&if before.turn().is_white() {
        numbered(before, mv, passed)
    } else {
        moves::shown(before, mv)
    });
}

/// "one point", "3 points".
pub fn points(n: u32) -> String {
    plural!(n as usize, "one point", "{n} points")
}

/// Hints made from the key, where the author wrote none: what the puzzle is
/// about, the man, and the square.
pub fn hints(themes: Option<&str>, key: Move) -> Vec<String> {
    let man = tr(match key.role() {
        Role::Pawn => phrase("A pawn moves."),
        Role::Knight => phrase("A knight moves."),
        Role::Bishop => phrase("A bishop moves."),
        Role::Rook => phrase("A rook moves."),
        Role::Queen => phrase("The queen moves."),
        Role::King => phrase("The king moves."),
    });
    let themes = themes.map(|themes| say!("The theme: {themes}.", themes = themes));
    let square = landing(key).to_string();
    let square = say!("It goes to {square}.", square = square);
    themes.into_iter().chain([man.into(), square]).collect()
}

/// A text for [`failure`].
macro_rules! sentence {
    ($text:literal) => {
        phrase!($text, "move line rest aim end side n")
    };
}

/// Why a move fails, by the line that shows it. `goal` is what was asked of
/// the move.
pub fn failure(position: &Chess, line: &[Move], passed: u32, goal: Goal) -> String {
    let solver = position.turn();
    let Some((&first, rest)) = line.split_first() else {
        return String::new();
    };
    let played = numbered(position, first, passed);
    let Ok(after) = position.clone().play(first) else {
        return played;
    };
    let shown = moves::line(&after, rest, number(&after, passed));
    let mut end = after;
    for &mv in rest {
        match end.clone().play(mv) {
            Ok(next) => end = next,
            Err(_) => break,
        }
    }
    let aim = goal.forced().map(|(aim, _)| aim);
    let last = goal.moves_left() == Some(1) && aim != Some(Aim::Selfmate);
    let mated = end.is_checkmate() && end.turn() == solver;
    let text = match rest {
        [] if end.is_stalemate() => sentence!("{move} gives stalemate."),
        [] if end.is_checkmate() => sentence!("{move} gives mate."),
        _ if last && rest.is_empty() => sentence!("{move} is not {end}{rest}."),
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
        rest = failure::rest(&shown),
        aim = aim.map_or("", Aim::noun),
        end = aim.map_or("", Aim::end),
        side = side_name(solver),
        n = left.to_string(),
    )
}

/// The number of a move in a position, where `passed` moves of the game are not
/// counted.
pub fn number(position: &Chess, passed: u32) -> u32 {
    position.fullmoves().get().saturating_sub(passed)
}
