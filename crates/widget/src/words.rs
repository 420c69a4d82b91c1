//! The sentences of the student's page.

use model::notation::moves;
use model::notation::moves::landing;
use model::tongue::{phrase, plural, say, tr};
use play::account::Mark;
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

/// How a question ended; `None` while it is not done with.
pub fn ended(mark: &Mark) -> Option<&'static str> {
    Some(tr(match mark {
        Mark { done: false, .. } => return None,
        Mark { later: true, .. } => phrase("○ shown, found later"),
        Mark { shown: true, .. } => phrase("○ shown"),
        Mark {
            mistakes: 0,
            hints: 0,
            ..
        } => phrase("✓ found at once"),
        _ => phrase("✓ found"),
    }))
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

/// The number of a move in a position, where `passed` moves of the game are not
/// counted.
pub fn number(position: &Chess, passed: u32) -> u32 {
    position.fullmoves().get().saturating_sub(passed)
}
