//! What a right move does, as the author is told.

use model::aim::Aim;
use model::tongue::phrase;

use super::Goal;

/// What a right move does: "mates in 2 moves", "forces selfmate in 2",
/// "leads to helpmate in 1.5", "wins the queen within 2 moves", "wins".
pub fn met(goal: Goal, length: Option<u8>) -> String {
    let text = match (goal, length) {
        (Goal::Forced(Aim::Helpmate, _), Some(1)) => phrase!("mates", "n what"),
        (Goal::Forced(Aim::Helpmate, _), Some(_)) => phrase!("leads to helpmate in {n}", "n what"),
        (Goal::Forced(Aim::Helpmate, _), None) => phrase!("leads to helpmate in time", "n what"),
        (Goal::Forced(Aim::Selfmate, _), Some(_)) => phrase!("forces selfmate in {n}", "n what"),
        (Goal::Forced(Aim::Stalemate, _), Some(_)) => phrase!("forces stalemate in {n}", "n what"),
        (Goal::Forced(Aim::Gain(_), _), Some(1)) => phrase!("wins {what} at once", "n what"),
        (Goal::Forced(Aim::Gain(_), _), Some(_)) => {
            phrase!("wins {what} within {n} moves", "n what")
        }
        (Goal::Forced(Aim::Gain(_), _), None) => phrase!("wins {what} in time", "n what"),
        (
            Goal::Forced(Aim::Mate, _) | Goal::Win(_) | Goal::Draw(_) | Goal::Best(_),
            Some(length),
        ) => match length {
            1 => phrase!("mates in 1 move", "n what"),
            _ => phrase!("mates in {n} moves", "n what"),
        },
        (Goal::Forced(Aim::Mate, _), None) => phrase!("mates in time", "n what"),
        (Goal::Forced(Aim::Selfmate, _), None) => phrase!("forces selfmate in time", "n what"),
        (Goal::Forced(Aim::Stalemate, _), None) => phrase!("forces stalemate in time", "n what"),
        (Goal::Win(_), None) => phrase!("wins", "n what"),
        (Goal::Draw(_), None) => phrase!("holds", "n what"),
        (Goal::Best(_), None) => phrase!("is as good as the best", "n what"),
    };
    goal.counted(text, length.unwrap_or(0))
}
