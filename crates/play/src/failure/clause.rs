//! Why a move fails, as the end of a sentence for the author.

use model::aim::Aim;
use model::notation::moves;
use model::tongue::{decimal, phrase, say};
use shakmaty::{Chess, Position};

use crate::goal::Goal;
use crate::known::{Evidence, Ruling};

/// Half moves of a draw that are shown.
const SHOWN: usize = 8;

/// Why a move fails, as the end of a sentence: "1...Kf8 and there is no mate in time".
/// `ruling` is what is known of the move, and `goal` what was asked of it.
pub fn clause(position: &Chess, ruling: &Ruling, goal: Goal) -> String {
    let line = ruling.line();
    let mut after = position.clone();
    let replies = match line.split_first() {
        Some((&first, replies)) => {
            after.play_unchecked(first);
            replies
        }
        None => &[],
    };
    let number = after.fullmoves().get();
    if let (None, Some(Evidence::Searched { depth, value, .. })) =
        (goal.moves_left(), ruling.evidence())
    {
        let value = value.map_or(String::new(), |v| {
            decimal(&format!(", {:+.2}", f64::from(v) / 100.0))
        });
        return say!(
            "{line} (searched to depth {depth}{value})",
            line = moves::line(&after, replies, number),
            depth = depth.to_string(),
            value = value,
        );
    }
    if ruling.evidence() == Some(Evidence::Drawn) {
        return say!(
            "{line} and a draw is held by force, proved",
            line = moves::line(&after, &replies[..replies.len().min(SHOWN)], number),
        );
    }
    let aim = goal.forced().map_or(Aim::Mate, |(aim, _)| aim);
    let text = if !replies.is_empty() {
        phrase!("{line} and there is no {aim} in time", "line aim end")
    } else if after.is_stalemate() {
        phrase!("it gives stalemate", "line aim end")
    } else if after.is_checkmate() {
        phrase!("it gives mate", "line aim end")
    } else if goal.moves_left() == Some(1) && !matches!(aim, Aim::Selfmate | Aim::Gain(_)) {
        phrase!("it is not {end}", "line aim end")
    } else {
        phrase!("there is no {aim} in time", "line aim end")
    };
    say!(
        text,
        line = moves::line(&after, &replies[..replies.len().min(1)], number),
        aim = aim.noun(),
        end = aim.end(),
    )
}
