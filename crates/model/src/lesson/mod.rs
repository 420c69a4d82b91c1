//! A lesson: a game that stops at moments and asks.
//!
//! A PGN game is a lesson if it has the tag `Moments`, which lists where the
//! student is asked, and what: `12w #3, 17b + 2, 24w =`. Each entry names a move
//! of the main line that is not yet played (its number and side), the
//! stipulation, and, where that does not say it, how many moves of the solver
//! are asked (one, if not given). A dash stands for a game in which nothing is
//! asked. A tag whose name ends in an underscore and such a place, as
//! `Hint1_17b`, belongs to that moment's puzzle alone.
//!
//! What stands at a moment is a puzzle like any other ([`excerpt`]), checked and
//! judged as one. To any other program the file is an annotated game.

mod excerpt;

use std::fmt;

use shakmaty::{Chess, Color, Position};

use crate::draft::{Draft, Edit, NodeId};
use crate::puzzle::Stipulation;
use crate::resolved::Resolved;
use crate::tongue::say;

pub use excerpt::{Excerpt, excerpt, excerpts};

/// The tag that makes a game a lesson.
pub const TAG: &str = "Moments";

/// A move of the main line, by its number and side: `17b`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Place {
    /// The number of the move, as the game counts.
    pub number: u32,
    /// Who is to move.
    pub side: Color,
}

/// A position of the main line at which the student is asked.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Moment {
    /// Where it is asked.
    pub place: Place,
    /// The node of the position, in the game's draft.
    pub node: NodeId,
    /// What the student must do there.
    pub stipulation: Stipulation,
    /// The solver's moves that are asked, 1 or more.
    pub turns: u8,
}

/// What is wrong with an entry of the tag.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum MomentFault {
    /// The entry as typed is none.
    Unreadable(String),
    /// The main line does not come to this move.
    NoSuchPlace(Place),
    /// The place is named twice.
    Twice(Place),
}

impl Place {
    /// The move to be played in a position.
    pub fn of(position: &Chess) -> Place {
        Place {
            number: position.fullmoves().get(),
            side: position.turn(),
        }
    }

    /// The name of a tag that belongs to the moment here alone: `Hint1_17b`.
    pub fn own_tag(self, name: &str) -> String {
        format!("{name}_{self}")
    }

    /// From its text, `17b`.
    pub fn read(text: &str) -> Option<Place> {
        let (number, side) = match text.strip_suffix('w') {
            Some(number) => (number, Color::White),
            None => (text.strip_suffix('b')?, Color::Black),
        };
        let number = number.parse().ok()?;
        Some(Place { number, side })
    }
}

impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}{}", self.number, self.side.char())
    }
}

impl fmt::Display for MomentFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            MomentFault::Unreadable(text) => f.write_str(&say!(
                "The tag Moments has \"{text}\", which is no moment; one reads \"17b + 2\": a move, a stipulation, and the moves asked.",
                text = text,
            )),
            MomentFault::NoSuchPlace(place) => f.write_str(&say!(
                "The tag Moments asks at {place}, and the game does not come to it.",
                place = place.to_string(),
            )),
            MomentFault::Twice(place) => f.write_str(&say!(
                "The tag Moments asks at {place} twice.",
                place = place.to_string(),
            )),
        }
    }
}

/// Whether a game is a lesson rather than a puzzle.
pub fn is_lesson(draft: &Draft) -> bool {
    draft.tag(TAG).is_some_and(|text| !text.trim().is_empty())
}

/// The moments of a lesson in the order of the game.
///
/// # Errors
/// Everything that is wrong with the tag, in its order.
pub fn moments(resolved: &Resolved) -> Result<Vec<Moment>, Vec<MomentFault>> {
    let main = resolved.main_line();
    let mut moments: Vec<(usize, Moment)> = Vec::new();
    let mut faults = Vec::new();
    let text = resolved.draft().tag(TAG).unwrap_or_default().trim();
    for entry in text.split(',').map(str::trim) {
        if matches!(entry, "" | "-") {
            continue;
        }
        let Some((place, stipulation, turns)) = read_entry(entry) else {
            faults.push(MomentFault::Unreadable(entry.to_owned()));
            continue;
        };
        let at = main.iter().position(|&node| {
            resolved
                .position(node)
                .is_some_and(|position| Place::of(position) == place)
        });
        match at {
            None => faults.push(MomentFault::NoSuchPlace(place)),
            Some(at) if moments.iter().any(|(other, _)| *other == at) => {
                faults.push(MomentFault::Twice(place));
            }
            Some(at) => moments.push((
                at,
                Moment {
                    place,
                    node: main[at],
                    stipulation,
                    turns,
                },
            )),
        }
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    crate::short::sort_by_key(&mut moments, |(at, _)| *at);
    Ok(moments.into_iter().map(|(_, moment)| moment).collect())
}

/// The edit that makes a game ask at exactly these moments.
pub fn asking(moments: &[Moment]) -> Edit {
    let entries: Vec<String> = moments.iter().map(Moment::entry).collect();
    let value = if entries.is_empty() {
        "-".to_owned()
    } else {
        entries.join(", ")
    };
    Edit::SetTag {
        name: TAG.to_owned(),
        value: Some(value),
    }
}

impl Moment {
    /// The moment as the tag lists it.
    fn entry(&self) -> String {
        let Moment {
            place,
            stipulation,
            turns,
            ..
        } = self;
        if stipulation.forced().is_some() || *turns == 1 {
            format!("{place} {stipulation}")
        } else {
            format!("{place} {stipulation} {turns}")
        }
    }
}

fn read_entry(text: &str) -> Option<(Place, Stipulation, u8)> {
    let mut words = text.split_whitespace();
    let place = Place::read(words.next()?)?;
    let stipulation = Stipulation::read(words.next()?)?;
    let turns = match (stipulation.forced(), words.next()) {
        (Some((_, n)), None) => n,
        (None, None) => 1,
        (None, Some(turns)) => turns.parse().ok().filter(|&turns| turns > 0)?,
        (Some(_), Some(_)) => return None,
    };
    words
        .next()
        .is_none()
        .then_some((place, stipulation, turns))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pgn_read;

    fn read(moments_tag: &str) -> Result<Vec<Moment>, Vec<MomentFault>> {
        let text = format!("[Moments \"{moments_tag}\"]\n\n1. e4 e5 2. Nf3 Nc6 3. Bb5 *");
        let draft = pgn_read::read(&text).remove(0).draft;
        moments(&Resolved::of(&draft))
    }

    #[test]
    fn moments_are_read_in_the_order_of_the_game_and_written_back() {
        let found = read("3b = , 1w bm, 2b + 2,3w #3").unwrap();
        let text = "1w bm, 2b + 2, 3w #3, 3b =";
        assert_eq!(
            asking(&found),
            Edit::SetTag {
                name: TAG.into(),
                value: Some(text.into())
            }
        );
        assert_eq!(read(text).unwrap(), found);
        let turns: Vec<u8> = found.iter().map(|moment| moment.turns).collect();
        assert_eq!(turns, [1, 2, 3, 1]);
        assert_eq!(found[0].node, NodeId::ROOT);
    }

    #[test]
    fn a_lesson_may_ask_nothing() {
        assert_eq!(read("-"), Ok(vec![]));
        assert_eq!(
            asking(&[]),
            Edit::SetTag {
                name: TAG.into(),
                value: Some("-".into())
            }
        );
    }

    #[test]
    fn every_fault_of_the_tag_is_named() {
        let faults = read("2w, 9w +, 2b + 2, x, 2b #1, 1w #2 3").unwrap_err();
        let unreadable = |text: &str| MomentFault::Unreadable(text.into());
        let place = |number, side| Place { number, side };
        assert_eq!(
            faults,
            [
                unreadable("2w"),
                MomentFault::NoSuchPlace(place(9, Color::White)),
                unreadable("x"),
                MomentFault::Twice(place(2, Color::Black)),
                unreadable("1w #2 3"),
            ]
        );
        assert!(faults[1].to_string().contains("9w"));
    }
}
