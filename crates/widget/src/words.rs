//! The sentences of the student's page.

use keyproof::check::Goal;
use keyproof::notation::moves;
use keyproof::prove::Aim;
use keyproof_board::hand::landing;
use shakmaty::{Chess, Color, Move, Position, Role};

/// "White" or "Black".
pub fn side(color: Color) -> &'static str {
    if color.is_white() { "White" } else { "Black" }
}

/// What is asked now: "mate in one", "stalemate in 3", "win".
pub fn asked(goal: Goal) -> String {
    match goal {
        Goal::Mate(1) => "mate in one".into(),
        Goal::Mate(n) => format!("mate in {n}"),
        Goal::Selfmate(0 | 1) => "make the other side mate at once".into(),
        Goal::Selfmate(n) => format!("make the other side mate in {n} moves"),
        Goal::Stalemate(1) => "stalemate in one".into(),
        Goal::Stalemate(n) => format!("stalemate in {n}"),
        Goal::Helpmate(1) => "mate".into(),
        Goal::Helpmate(n) => format!("play on, {} left", half_moves(n)),
        Goal::Win(_) => "win".into(),
        Goal::Draw(_) => "hold the draw".into(),
        Goal::Best(_) => "find the best move".into(),
    }
}

/// "one half move", "3 half moves".
pub fn half_moves(n: u8) -> String {
    match n {
        1 => "one half move".into(),
        n => format!("{n} half moves"),
    }
}

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
        moves::san(before, mv)
    });
}

/// "one point", "3 points".
pub fn points(n: u32) -> String {
    match n {
        1 => "one point".into(),
        n => [&n.to_string(), " points"].concat(),
    }
}

/// Hints made from the key, where the author wrote none: what the puzzle is
/// about, the man, and the square.
pub fn hints(themes: Option<&str>, key: Move) -> Vec<String> {
    let man = match key.role() {
        Role::Pawn => "A pawn moves.",
        Role::Knight => "A knight moves.",
        Role::Bishop => "A bishop moves.",
        Role::Rook => "A rook moves.",
        Role::Queen => "The queen moves.",
        Role::King => "The king moves.",
    };
    let themes = themes.map(|themes| ["The theme: ", themes, "."].concat());
    let square = ["It goes to ", &landing(key).to_string(), "."].concat();
    themes.into_iter().chain([man.into(), square]).collect()
}

/// Why a move fails, by the line that shows it. `goal` is what was asked of
/// the move.
pub fn failure(position: &Chess, line: &[Move], passed: u32, goal: Goal) -> String {
    let solver = position.turn();
    let Some((&first, rest)) = line.split_first() else {
        return String::new();
    };
    let aim = goal.forced().map(|(aim, _)| aim);
    let noun = aim.map_or("", Aim::noun);
    let end = aim.map_or("", Aim::end);
    let last = goal.moves_left() == Some(1) && aim != Some(Aim::Selfmate);
    let mut text = numbered(position, first, passed);
    let Ok(after) = position.clone().play(first) else {
        return text;
    };
    if rest.is_empty() {
        return text
            + &if after.is_stalemate() {
                " gives stalemate.".to_owned()
            } else if after.is_checkmate() {
                " gives mate.".to_owned()
            } else if last {
                format!(" is not {end}.")
            } else if let Goal::Helpmate(n) = goal {
                format!(" does not help: no mate is left in {}.", half_moves(n - 1))
            } else if aim.is_some() {
                format!(" fails: there is no {noun} in time.")
            } else {
                " fails.".to_owned()
            };
    }
    text.push_str(&if last {
        format!(" is not {end}: ")
    } else {
        " fails: ".to_owned()
    });
    text.push_str(&moves::line(&after, rest, number(&after, passed)));
    let mut end = after;
    for &mv in rest {
        match end.clone().play(mv) {
            Ok(next) => end = next,
            Err(_) => break,
        }
    }
    if end.is_stalemate() {
        text.push_str(" is stalemate.");
    } else if end.is_checkmate() && end.turn() == solver {
        text.push_str(", and it is ");
        text.push_str(side(solver));
        text.push_str(" who is mated.");
    } else if goal == Goal::Selfmate(1) {
        text.push_str(" is not mate.");
    } else if goal.moves_left().is_some_and(|n| n > 1) {
        text.push_str(&format!(" and there is no {noun} in time."));
    } else {
        text.push('.');
    }
    text
}

/// The number of a move in a position, where `passed` moves of the game are not
/// counted.
pub fn number(position: &Chess, passed: u32) -> u32 {
    position.fullmoves().get().saturating_sub(passed)
}
