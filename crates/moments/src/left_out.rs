//! Which rule left a position of a game out: for those who make the rules.

use super::ask::MOST_ACCEPTED;
use super::course::Course;
use super::progress::Progress;
use super::screening::Screening;
use super::{LEAST, moments, weigh};

/// Where a ply stands.
pub fn screening(course: &Course, progress: &Progress, ply: usize) -> Screening {
    let found = moments(course, progress);
    if let Some(place) = found.iter().position(|moment| moment.ply == ply) {
        return Screening::Proposed(place);
    }
    if let Some(moment) = weigh::all(course, progress).iter().find(|m| m.ply == ply) {
        return match moment.worth >= LEAST {
            true => Screening::Beside,
            false => Screening::LittleWorth,
        };
    }
    let glanced = progress.glanced(course, ply);
    if glanced != Screening::Seen {
        return glanced;
    }
    let Some(values) = progress.values(course) else {
        return Screening::Unknown;
    };
    if progress.look(ply).is_none() {
        return Screening::LessThanOthers;
    }
    let asked = progress.to_ask_about(course, &values);
    if !asked.iter().any(|asked| asked.ply == ply) {
        return match progress.asks(course, &values, ply) {
            true => Screening::LessThanOthers,
            false => Screening::AsksNothing,
        };
    }
    let Some((claim, _)) = progress.claim(ply) else {
        return Screening::Seen;
    };
    match claim.rulings.iter().filter(|r| r.holds()).count() {
        0 => Screening::NoneRight,
        n if n > MOST_ACCEPTED => Screening::ManyRight,
        _ => Screening::Plain,
    }
}
