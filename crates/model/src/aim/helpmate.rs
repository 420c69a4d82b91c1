//! `h#n`, `h#n.5`: both sides together mate in so many half moves, the side of the
//! last one the other.

use super::Rule;
use crate::tongue::phrase;

pub(super) const RULE: Rule = Rule {
    sign: "h#",
    word: "helpmate",
    noun: phrase("helpmate"),
    end: phrase("mate"),
    shared: true,
    by_reply: false,
    task: [
        phrase!(
            "Helpmate in {n}: {side} moves first, and both sides help {side} to mate {other}.",
            "side other n what"
        ),
        phrase!(
            "Helpmate in {n}: {side} moves first, and both sides help {other} to mate {side}.",
            "side other n what"
        ),
    ],
    asked: [
        phrase!("mate", "n what"),
        phrase!("play on, {n} half moves left", "n what"),
    ],
    missed: [
        phrase!("does not mate", "n what"),
        phrase!("does not lead to helpmate in {n}", "n what"),
    ],
};

#[cfg(test)]
mod tests {
    use super::super::{Aim, task};
    use crate::puzzle::Stipulation;

    /// Sign and half moves: Codex for Chess Composition, common practice.
    #[test]
    fn it_is_read_written_and_said() {
        for (text, half_moves) in [("h#2", 4), ("helpmate in 2", 4), ("h#2.5", 5), ("h#0.5", 1)] {
            let read = Stipulation::read(text);
            assert_eq!(read, Some(Stipulation::Forced(Aim::Helpmate, half_moves)));
        }
        assert_eq!(Stipulation::Forced(Aim::Helpmate, 5).to_string(), "h#2.5");
        assert_eq!(
            task(Aim::Helpmate, 5),
            "Helpmate in 2.5: White moves first, and both sides help White to mate Black."
        );
        assert_eq!(
            task(Aim::Helpmate, 4),
            "Helpmate in 2: White moves first, and both sides help Black to mate White."
        );
    }

    #[test]
    fn every_second_number_of_half_moves_will_do() {
        assert!(Aim::Helpmate.shared());
        assert_eq!(Aim::Helpmate.lengths(5).collect::<Vec<_>>(), [1, 3, 5]);
        assert_eq!(Aim::Helpmate.lengths(4).collect::<Vec<_>>(), [2, 4]);
    }
}
