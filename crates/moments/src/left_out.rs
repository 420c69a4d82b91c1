//! Which rule left a position of a game out: for those who make the rules.

use super::ask::MOST_ACCEPTED;
use super::course::Course;
use super::progress::Progress;
use super::standing::Standing;
use super::{LEAST, moments, weigh};

/// Where a ply stands.
pub fn standing(course: &Course, progress: &Progress, ply: usize) -> Standing {
    let found = moments(course, progress);
    if let Some(place) = found.iter().position(|moment| moment.ply == ply) {
        return Standing::Proposed(place);
    }
    if let Some(moment) = weigh::all(course, progress).iter().find(|m| m.ply == ply) {
        return match moment.worth >= LEAST {
            true => Standing::Beside,
            false => Standing::LittleWorth,
        };
    }
    let glanced = progress.glanced(course, ply);
    if glanced != Standing::Seen {
        return glanced;
    }
    let Some(values) = progress.values(course) else {
        return Standing::Unknown;
    };
    if progress.look(ply).is_none() {
        return Standing::LessThanOthers;
    }
    let asked = progress.to_ask_about(course, &values);
    if !asked.iter().any(|asked| asked.ply == ply) {
        return match progress.asks(course, &values, ply) {
            true => Standing::LessThanOthers,
            false => Standing::AsksNothing,
        };
    }
    let Some((claim, _)) = progress.claim(ply) else {
        return Standing::Seen;
    };
    match claim.rulings.iter().filter(|r| r.holds()).count() {
        0 => Standing::NoneRight,
        n if n > MOST_ACCEPTED => Standing::ManyRight,
        _ => Standing::Plain,
    }
}
