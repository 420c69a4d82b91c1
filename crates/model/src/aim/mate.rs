//! `#n`: the solver mates in n moves.

use super::Rule;
use crate::tongue::phrase;

pub(super) const RULE: Rule = Rule {
    sign: "#",
    word: "mate",
    noun: phrase("mate"),
    end: phrase("mate"),
    shared: false,
    by_reply: false,
    task: [
        phrase!("{side} to move and mate in one.", "side other n what"),
        phrase!("{side} to move and mate in {n}.", "side other n what"),
    ],
    asked: [
        phrase!("mate in one", "n what"),
        phrase!("mate in {n}", "n what"),
    ],
    missed: [
        phrase!("does not mate", "n what"),
        phrase!("does not force mate in {n}", "n what"),
    ],
};

#[cfg(test)]
mod tests {
    use super::super::{Aim, task};
    use crate::puzzle::Stipulation;

    /// Sign: Codex for Chess Composition, common practice.
    #[test]
    fn it_is_read_written_and_said() {
        let two = Stipulation::Forced(Aim::Mate, 2);
        for text in ["#2", "mate in 2"] {
            assert_eq!(Stipulation::read(text), Some(two));
        }
        assert_eq!(two.to_string(), "#2");
        assert_eq!(task(Aim::Mate, 1), "White to move and mate in one.");
        assert_eq!(task(Aim::Mate, 2), "White to move and mate in 2.");
        assert_eq!(Aim::Mate.lengths(3).collect::<Vec<_>>(), [1, 2, 3]);
        assert_eq!(Aim::Mate.least_left(), 1);
    }
}
