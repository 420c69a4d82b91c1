//! `gain k in n`: the solver wins material worth k pawns within n moves, and it stays
//! won after all exchanges. `prove::gain` has the definition.

use shakmaty::{Chess, Position};

use super::Rule;
use crate::tongue::{phrase, say, tr};
use crate::worth::balance;

// What is won, for students too; `men` has the other men.
pub(crate) const PAWN: &str = phrase("a pawn");
pub(crate) const ROOK: &str = phrase("a rook");
pub(crate) const QUEEN: &str = phrase("the queen");

/// How much is to be won.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Gain {
    /// In pawns, at least 1 and at most [`Gain::MOST`].
    pub k: u8,
    /// The solver's balance of material at the start, from which it counts.
    pub from: i8,
}

impl Gain {
    /// The most that may be claimed: what all men of a side are worth at the start of
    /// a game.
    pub const MOST: u8 = 39;

    /// The most moves in which it may be claimed.
    pub const MOST_MOVES: u8 = 10;

    /// So much, counted from level material.
    pub const fn of(k: u8) -> Gain {
        Gain { k, from: 0 }
    }

    /// So much, counted from this position, in which the solver is to move.
    pub fn at(k: u8, start: &Chess) -> Gain {
        let from = balance(start.board(), start.turn());
        Gain { k, from }
    }

    /// The balance of material that must be reached.
    pub fn target(self) -> i32 {
        i32::from(self.from) + i32::from(self.k)
    }

    /// What is won, in the language that is spoken: "the queen", "material worth 6
    /// pawns".
    pub fn what(self) -> String {
        let man = match self.k {
            1 => PAWN,
            3 => phrase("a piece"),
            5 => ROOK,
            9 => QUEEN,
            k => return say!("material worth {k} pawns", k = usize::from(k).to_string()),
        };
        tr(man).into()
    }

    /// Reads `gain 9 in 3`: how much, and in how many moves.
    pub(crate) fn read(text: &str) -> Option<(u8, u8)> {
        // By letters: a search for a text would take a kilobyte of the student's page.
        let (k, n) = text.strip_prefix("gain")?.split_once('i')?;
        let n = n.strip_prefix('n')?;
        let number = |text: &str, most| text.trim().parse().ok().filter(|n| (1..=most).contains(n));
        Some((number(k, Gain::MOST)?, number(n, Gain::MOST_MOVES)?))
    }
}

pub(super) const RULE: Rule = Rule {
    sign: "gain",
    word: "gain",
    noun: phrase("gain of material"),
    end: phrase("gain of material"),
    shared: false,
    by_reply: false,
    task: [
        phrase!(
            "{side} to move and win {what} at once.",
            "side other n what"
        ),
        phrase!(
            "{side} to move and win {what}, in {n} moves at most.",
            "side other n what"
        ),
    ],
    asked: [
        phrase!("win {what} at once", "n what"),
        phrase!("win {what}, in {n} moves at most", "n what"),
    ],
    missed: [
        phrase!("does not win {what} at once", "n what"),
        phrase!("does not win {what} within {n} moves", "n what"),
    ],
};

#[cfg(test)]
mod tests {
    use super::super::{Aim, task};
    use super::Gain;
    use crate::notation::fen;
    use crate::puzzle::Stipulation;

    #[test]
    fn it_is_read_written_and_said() {
        let queen = Aim::Gain(Gain::of(9));
        for text in ["gain 9 in 3", "Gain 9 in 3", " gain  9  in 3 "] {
            assert_eq!(Stipulation::read(text), Some(Stipulation::Forced(queen, 3)));
        }
        assert_eq!(Stipulation::Forced(queen, 3).to_string(), "gain 9 in 3");
        assert_eq!(
            task(queen, 3),
            "White to move and win the queen, in 3 moves at most."
        );
        assert_eq!(
            task(Aim::Gain(Gain::of(1)), 1),
            "White to move and win a pawn at once."
        );
        assert_eq!(Gain::of(6).what(), "material worth 6 pawns");
    }

    #[test]
    fn what_cannot_be_claimed_is_no_stipulation() {
        for text in [
            "gain 0 in 2",
            "gain 60 in 2",
            "gain 9 in 0",
            "gain 9 in 20",
            "gain in 2",
            "gain 9",
            "gain -3 in 2",
            "gain 9 in 2.5",
        ] {
            assert_eq!(Stipulation::read(text), None, "{text}");
        }
    }

    #[test]
    fn it_counts_from_the_start() {
        let down = fen::read("4k3/3q4/8/8/8/8/8/R3K3 w - - 0 1").expect("a position");
        let gain = Gain::at(9, &down);
        assert_eq!((gain.from, gain.target()), (-4, 5));
    }
}
