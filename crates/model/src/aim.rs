//! What may be aimed at: mate, selfmate, stalemate, helpmate or a gain of material. A
//! module for each has its rule, its words and its tests.

pub(crate) mod gain;
mod helpmate;
mod mate;
mod selfmate;
mod stalemate;

use shakmaty::{Chess, Color, Position};

use crate::notation::moves::side_name;
use crate::tongue::{Phrase, holes, say, tr};

pub use gain::Gain;

/// What a line must end in. How many moves a claim leaves for it counts the
/// solver's moves: in a helpmate, where the solver plays both sides, those are
/// half moves.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Aim {
    /// The solver mates.
    Mate,
    /// The solver makes the other side mate him.
    Selfmate,
    /// The other side, not in check, has no legal move.
    Stalemate,
    /// Both sides help to mate the one that is not to play the last half move.
    Helpmate,
    /// The solver wins material.
    Gain(Gain),
}

/// What is particular to an aim.
struct Rule {
    /// The trade's sign, which stands before the number of moves.
    sign: &'static str,
    /// Its name in English, as tags spell it and files have it.
    word: &'static str,
    /// Its name, and what stands on the board at the end.
    noun: &'static str,
    end: &'static str,
    /// Both sides play for it, so that every move is the solver's.
    shared: bool,
    /// The other side's move reaches it, so that no move of the solver may be left.
    by_reply: bool,
    /// The task in words, for one move and for more; of an aim that is shared for an
    /// odd number of half moves and for an even one.
    task: [Task; 2],
    /// What is asked of a move, for one and for more.
    asked: [Wanted; 2],
    /// What a wrong move does not, for one and for more.
    missed: [Wanted; 2],
}

type Task = Phrase<{ holes::set("side other n what") }>;

/// A text about what is asked of a move: `{n}` moves, and `{what}` is to be won.
pub type Wanted = Phrase<{ holes::set("n what") }>;

impl Aim {
    /// Those that a sign and a number name, in the order in which they are listed.
    pub const ALL: [Aim; 4] = [Aim::Mate, Aim::Selfmate, Aim::Stalemate, Aim::Helpmate];

    const fn rule(self) -> &'static Rule {
        match self {
            Aim::Mate => &mate::RULE,
            Aim::Selfmate => &selfmate::RULE,
            Aim::Stalemate => &stalemate::RULE,
            Aim::Helpmate => &helpmate::RULE,
            Aim::Gain(_) => &gain::RULE,
        }
    }

    /// The sign that stands before the number of moves: the trade's `#`, `s#`, `==`,
    /// `h#`; and `gain 9 in `.
    pub fn sign(self) -> String {
        match self {
            Aim::Gain(gain) => [
                self.rule().sign,
                " ",
                &usize::from(gain.k).to_string(),
                " in ",
            ]
            .concat(),
            _ => self.rule().sign.into(),
        }
    }

    /// The same of an aim that needs nothing else.
    pub(crate) fn plain_sign(self) -> &'static str {
        self.rule().sign
    }

    /// The same as it is asked from this position, with the solver to move.
    pub fn from(self, start: &Chess) -> Aim {
        match self {
            Aim::Gain(gain) => Aim::Gain(Gain::at(gain.k, start)),
            aim => aim,
        }
    }

    /// What is to be won: "the queen"; empty where nothing is.
    pub fn what(self) -> String {
        match self {
            Aim::Gain(gain) => gain.what(),
            _ => String::new(),
        }
    }

    /// Its name in English, as tags spell it and files have it.
    pub fn word(self) -> &'static str {
        self.rule().word
    }

    /// Its name, in the language that is spoken.
    pub fn noun(self) -> &'static str {
        tr(self.rule().noun)
    }

    /// What stands on the board at the end, in the language that is spoken.
    pub fn end(self) -> &'static str {
        tr(self.rule().end)
    }

    /// How the trade writes `n` moves of the solver: "2", or in a helpmate
    /// "2.5" for five half moves.
    pub fn count(self, n: u8) -> String {
        let n = usize::from(n);
        match self.shared() {
            true if n % 2 == 1 => (n / 2).to_string() + ".5",
            true => (n / 2).to_string(),
            false => n.to_string(),
        }
    }

    /// Whether both sides play for the aim, so that every move is the solver's.
    pub fn shared(self) -> bool {
        self.rule().shared
    }

    /// The fewest moves of the solver that a claim may leave: none where the other
    /// side's move reaches the aim.
    pub fn least_left(self) -> u8 {
        u8::from(!self.rule().by_reply)
    }

    /// Whether a move of the other side, which led to `position`, ends the
    /// line as the solver wishes.
    pub fn ended(self, position: &Chess) -> bool {
        self.rule().by_reply && position.is_checkmate()
    }

    /// The numbers of moves up to `n` in which the aim can be reached: in a
    /// helpmate every second, since the side that mates plays the last.
    pub fn lengths(self, n: u8) -> impl Iterator<Item = u8> {
        let (first, step) = if self.shared() {
            (2 - n % 2, 2)
        } else {
            (1, 1)
        };
        (first..=n).step_by(step)
    }

    /// The task in words: "White to move and mate in 2."
    pub fn task(self, n: u8, side: Color) -> String {
        let more = match self.shared() {
            true => n.is_multiple_of(2),
            false => n > 1,
        };
        say!(
            self.rule().task[usize::from(more)],
            side = side_name(side),
            other = side_name(!side),
            n = self.count(n),
            what = self.what(),
        )
    }

    /// What is asked of a move: "mate in one", "stalemate in {n}".
    pub fn asked(self, n: u8) -> Wanted {
        self.rule().asked[usize::from(n > 1)]
    }

    /// What a wrong move does not: "does not force mate in {n}".
    pub fn missed(self, n: u8) -> Wanted {
        self.rule().missed[usize::from(n > 1)]
    }
}

#[cfg(test)]
fn task(aim: Aim, n: u8) -> String {
    aim.task(n, Color::White)
}
