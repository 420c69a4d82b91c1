//! `==n`: the solver stalemates the other side in n moves.

use super::Rule;
use crate::tongue::phrase;

pub(super) const RULE: Rule = Rule {
    sign: "==",
    word: "stalemate",
    noun: phrase("stalemate"),
    end: phrase("stalemate"),
    shared: false,
    by_reply: false,
    task: [
        phrase!(
            "{side} to move and stalemate {other} in one.",
            "side other n what"
        ),
        phrase!(
            "{side} to move and stalemate {other} in {n}.",
            "side other n what"
        ),
    ],
    asked: [
        phrase!("stalemate in one", "n what"),
        phrase!("stalemate in {n}", "n what"),
    ],
    missed: [
        phrase!("does not give stalemate", "n what"),
        phrase!("does not force stalemate in {n}", "n what"),
    ],
};

#[cfg(test)]
mod tests {
    use super::super::{Aim, task};
    use crate::puzzle::Stipulation;

    /// Sign: common practice.
    #[test]
    fn it_is_read_written_and_said() {
        let two = Stipulation::Forced(Aim::Stalemate, 2);
        for text in ["==2", "stalemate in 2"] {
            assert_eq!(Stipulation::read(text), Some(two));
        }
        assert_eq!(two.to_string(), "==2");
        assert_eq!(
            task(Aim::Stalemate, 1),
            "White to move and stalemate Black in one."
        );
        assert_eq!(
            task(Aim::Stalemate, 2),
            "White to move and stalemate Black in 2."
        );
        assert_eq!(Aim::Stalemate.least_left(), 1);
    }
}
