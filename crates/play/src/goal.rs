//! What is asked of the solver's moves, and how it is said in words: what is asked
//! ([`Goal::asked`]), what a wrong move does not ([`Goal::missed`]), and what a right
//! one does ([`met`]). The words of an aim stand with the aim (`model::aim`).

mod met;

pub use met::met;

use shakmaty::Chess;

use model::aim::{Aim, Wanted};
use model::puzzle::{Margins, Puzzle, Stipulation};
use model::tongue::{phrase, say};

/// What a move must do to be right.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Goal {
    /// Force the aim within so many moves of the solver, itself included: with none
    /// left only the other side's move is to come, and of a helpmate so many half
    /// moves lead to a mate.
    Forced(Aim, u8),
    /// Keep a won game.
    Win(Margins),
    /// Hold the draw.
    Draw(Margins),
    /// Be as good as the best move.
    Best(Margins),
}

impl Goal {
    /// What the puzzle asks of its first move.
    pub fn of(puzzle: &Puzzle) -> Goal {
        let margins = puzzle.margins();
        match puzzle.stipulation() {
            Stipulation::Forced(aim, n) => Goal::Forced(aim, n),
            Stipulation::Win => Goal::Win(margins),
            Stipulation::Draw => Goal::Draw(margins),
            Stipulation::Best => Goal::Best(margins),
        }
    }

    /// What is asked of the solver's next move; `None` when no move is left.
    pub fn next(self) -> Option<Goal> {
        match self {
            Goal::Forced(aim, n) => {
                let left = n.checked_sub(1).filter(|&left| left >= aim.least_left());
                left.map(|left| Goal::Forced(aim, left))
            }
            other => Some(other),
        }
    }

    /// What must be proved to be reached, and the solver's moves left for it;
    /// `None` where nothing is.
    pub fn forced(self) -> Option<(Aim, u8)> {
        match self {
            Goal::Forced(aim, n) => Some((aim, n)),
            Goal::Win(_) | Goal::Draw(_) | Goal::Best(_) => None,
        }
    }

    /// What a session can prove itself: all but gains, of which it goes by what was
    /// found at publishing.
    pub(crate) fn proved_here(self) -> Option<(Aim, u8)> {
        self.forced()
            .filter(|(aim, _)| !matches!(aim, Aim::Gain(_)))
    }

    /// The moves left in which something must be forced.
    pub fn moves_left(self) -> Option<u8> {
        self.forced().map(|(_, n)| n)
    }

    /// Moves of a pair left, the last one counted whole: how hard a proof is.
    pub fn pairs_left(self) -> Option<u8> {
        self.forced()
            .map(|(aim, n)| if aim.shared() { n.div_ceil(2) } else { n })
    }

    /// Whether the solver plays both sides, so that no move is a defence.
    pub fn shared(self) -> bool {
        self.forced().is_some_and(|(aim, _)| aim.shared())
    }

    /// Whether a move of the other side, which led to `position`, ends the
    /// line as the solver wishes.
    pub fn ended(self, position: &Chess) -> bool {
        self.forced().is_some_and(|(aim, _)| aim.ended(position))
    }

    /// Whether a right move of this length has reached by itself what was to be forced,
    /// as a gain that stands, so that nothing more is asked though the game goes on.
    pub fn stands(self, length: Option<u8>) -> bool {
        length == Some(1) && self.forced().is_some_and(|(aim, _)| aim.least_left() == 1)
    }

    /// What is asked now: "mate in one", "stalemate in 3", "win". Of a helpmate the
    /// half moves are counted.
    pub fn asked(self) -> String {
        let text = match self {
            Goal::Forced(aim, n) => aim.asked(n),
            Goal::Win(_) => phrase!("win", "n what"),
            Goal::Draw(_) => phrase!("hold the draw", "n what"),
            Goal::Best(_) => phrase!("find the best move", "n what"),
        };
        self.said(
            text,
            usize::from(self.moves_left().unwrap_or(0)).to_string(),
        )
    }

    /// What a wrong move does not: "does not force mate in 2".
    pub fn missed(self) -> String {
        let text = match self {
            Goal::Forced(aim, n) => aim.missed(n),
            Goal::Win(_) => phrase!("does not win", "n what"),
            Goal::Draw(_) => phrase!("does not hold", "n what"),
            Goal::Best(_) => phrase!("is not the best move", "n what"),
        };
        self.counted(text, self.moves_left().unwrap_or(0))
    }

    /// A text with a number of the solver's moves.
    pub fn counted(self, text: Wanted, n: u8) -> String {
        let aim = self.forced().map_or(Aim::Mate, |(aim, _)| aim);
        self.said(text, aim.count(n))
    }

    fn said(self, text: Wanted, n: String) -> String {
        let what = self.forced().map(|(aim, _)| aim.what());
        say!(text, n = n, what = what.unwrap_or_default())
    }
}

/// The form in which goals travel and are kept: `{"mate":3}`, `{"win":{…}}`. It
/// stays as it is, since files have it.
#[cfg(feature = "serde")]
mod written {
    use std::fmt;

    use serde::de::{EnumAccess, Error, VariantAccess, Visitor};
    use serde::{Deserialize, Deserializer, Serialize, Serializer};

    use super::{Aim, Goal};
    use model::aim::Gain;

    const NAME: &str = "Goal";

    impl Serialize for Goal {
        fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
            match self {
                Goal::Forced(aim @ Aim::Gain(Gain { k, from }), n) => {
                    to.serialize_newtype_variant(NAME, 0, aim.word(), &(k, from, n))
                }
                Goal::Forced(aim, n) => to.serialize_newtype_variant(NAME, 0, aim.word(), n),
                Goal::Win(margins) => to.serialize_newtype_variant(NAME, 1, "win", margins),
                Goal::Draw(margins) => to.serialize_newtype_variant(NAME, 2, "draw", margins),
                Goal::Best(margins) => to.serialize_newtype_variant(NAME, 3, "best", margins),
            }
        }
    }

    impl<'de> Deserialize<'de> for Goal {
        fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Goal, D::Error> {
            from.deserialize_enum(NAME, &["mate", "win", "draw", "best"], Reader)
        }
    }

    struct Reader;

    impl<'de> Visitor<'de> for Reader {
        type Value = Goal;

        fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
            f.write_str("what is asked of a move, by its name")
        }

        fn visit_enum<A: EnumAccess<'de>>(self, data: A) -> Result<Goal, A::Error> {
            let (name, value): (String, A::Variant) = data.variant()?;
            match name.as_str() {
                "win" => value.newtype_variant().map(Goal::Win),
                "draw" => value.newtype_variant().map(Goal::Draw),
                "best" => value.newtype_variant().map(Goal::Best),
                "gain" => value.newtype_variant().map(|(k, from, n)| {
                    let gain = Gain { k, from };
                    Goal::Forced(Aim::Gain(gain), n)
                }),
                word => match Aim::ALL.into_iter().find(|aim| aim.word() == word) {
                    Some(aim) => value.newtype_variant().map(|n| Goal::Forced(aim, n)),
                    None => Err(A::Error::custom(format_args!("no goal is called {word:?}"))),
                },
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use model::aim::Gain;

    const MARGINS: Margins = Margins {
        right: 200,
        wrong: 100,
    };

    #[test]
    fn what_is_asked_next_ends_with_the_last_move() {
        assert_eq!(
            Goal::Forced(Aim::Mate, 2).next(),
            Some(Goal::Forced(Aim::Mate, 1))
        );
        assert_eq!(Goal::Forced(Aim::Mate, 1).next(), None);
        // The other side's move is to come.
        assert_eq!(
            Goal::Forced(Aim::Selfmate, 1).next(),
            Some(Goal::Forced(Aim::Selfmate, 0))
        );
        assert_eq!(Goal::Forced(Aim::Selfmate, 0).next(), None);
        assert_eq!(Goal::Win(MARGINS).next(), Some(Goal::Win(MARGINS)));
    }

    #[test]
    fn a_right_move_of_length_one_reaches_what_the_solver_plays_himself() {
        let stands = |aim, length| Goal::Forced(aim, 3).stands(Some(length));
        for aim in [Aim::Mate, Aim::Stalemate, Aim::Gain(Gain::of(9))] {
            assert!(stands(aim, 1) && !stands(aim, 2), "{aim:?}");
        }
        assert!(!stands(Aim::Selfmate, 1));
        assert!(!Goal::Win(MARGINS).stands(Some(1)));
        assert!(!Goal::Forced(Aim::Mate, 1).stands(None));
    }

    #[test]
    fn goals_are_said() {
        for (goal, asked, missed) in [
            (Goal::Forced(Aim::Mate, 1), "mate in one", "does not mate"),
            (
                Goal::Forced(Aim::Mate, 3),
                "mate in 3",
                "does not force mate in 3",
            ),
            (
                Goal::Forced(Aim::Selfmate, 0),
                "make the other side mate at once",
                "does not force selfmate in 0",
            ),
            (
                Goal::Forced(Aim::Stalemate, 1),
                "stalemate in one",
                "does not give stalemate",
            ),
            (Goal::Forced(Aim::Helpmate, 1), "mate", "does not mate"),
            (
                Goal::Forced(Aim::Helpmate, 3),
                "play on, 3 half moves left",
                "does not lead to helpmate in 1.5",
            ),
            (
                Goal::Forced(Aim::Gain(Gain::of(9)), 2),
                "win the queen, in 2 moves at most",
                "does not win the queen within 2 moves",
            ),
            (Goal::Draw(MARGINS), "hold the draw", "does not hold"),
        ] {
            assert_eq!(goal.asked(), asked);
            assert_eq!(goal.missed(), missed);
        }
    }

    /// The forms are those that files of earlier versions have.
    #[cfg(feature = "serde")]
    #[test]
    fn goals_are_written_as_they_always_were() {
        for (goal, text) in [
            (Goal::Forced(Aim::Mate, 3), r#"{"mate":3}"#),
            (Goal::Forced(Aim::Selfmate, 0), r#"{"selfmate":0}"#),
            (Goal::Forced(Aim::Stalemate, 2), r#"{"stalemate":2}"#),
            (Goal::Forced(Aim::Helpmate, 5), r#"{"helpmate":5}"#),
            (
                Goal::Forced(Aim::Gain(Gain { k: 9, from: -4 }), 2),
                r#"{"gain":[9,-4,2]}"#,
            ),
            (Goal::Win(MARGINS), r#"{"win":{"right":200,"wrong":100}}"#),
            (Goal::Draw(MARGINS), r#"{"draw":{"right":200,"wrong":100}}"#),
            (Goal::Best(MARGINS), r#"{"best":{"right":200,"wrong":100}}"#),
        ] {
            assert_eq!(serde_json::to_string(&goal).unwrap(), text);
            assert_eq!(serde_json::from_str::<Goal>(text).unwrap(), goal);
        }
        for text in [
            r#"{"mat":3}"#,
            r#"{"mate":300}"#,
            r#"{"win":3}"#,
            r#""mate""#,
        ] {
            assert!(serde_json::from_str::<Goal>(text).is_err(), "{text}");
        }
    }
}
