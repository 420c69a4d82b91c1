//! `s#n`: the solver makes the other side mate him in n moves.

use super::Rule;
use crate::tongue::phrase;

pub(super) const RULE: Rule = Rule {
    sign: "s#",
    word: "selfmate",
    noun: phrase("selfmate"),
    end: phrase("mate"),
    shared: false,
    by_reply: true,
    task: [
        phrase!(
            "{side} to move and make {other} mate in 1 move.",
            "side other n what"
        ),
        phrase!(
            "{side} to move and make {other} mate in {n} moves.",
            "side other n what"
        ),
    ],
    asked: [
        phrase!("make the other side mate at once", "n what"),
        phrase!("make the other side mate in {n} moves", "n what"),
    ],
    missed: [phrase!("does not force selfmate in {n}", "n what"); 2],
};

#[cfg(test)]
mod tests {
    use super::super::{Aim, task};
    use crate::notation::fen;
    use crate::puzzle::Stipulation;

    /// Sign: Codex for Chess Composition, common practice.
    #[test]
    fn it_is_read_written_and_said() {
        let two = Stipulation::Forced(Aim::Selfmate, 2);
        for text in ["s#2", "selfmate in 2"] {
            assert_eq!(Stipulation::read(text), Some(two));
        }
        assert_eq!(two.to_string(), "s#2");
        assert_eq!(
            task(Aim::Selfmate, 1),
            "White to move and make Black mate in 1 move."
        );
        assert_eq!(
            task(Aim::Selfmate, 2),
            "White to move and make Black mate in 2 moves."
        );
    }

    #[test]
    fn the_other_side_s_mate_ends_it() {
        let mated = "6rk/6pp/8/8/8/8/5nPP/6RK w - - 0 1";
        let mated = fen::read(mated).expect("a position");
        assert!(Aim::Selfmate.ended(&mated) && !Aim::Mate.ended(&mated));
        assert_eq!(Aim::Selfmate.least_left(), 0);
    }
}
