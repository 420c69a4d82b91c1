//! The wrong first moves of a puzzle by the way they fail, for the author's
//! words about each.

use keyproof::explain::{Explanation, FailureKind};
use keyproof::notation::moves;
use keyproof::tongue::{phrase, tr};
use shakmaty::Chess;

/// Wrong first moves that fail in one way.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Class {
    /// The tag with the author's words.
    pub tag: &'static str,
    /// "the king escapes".
    pub words: &'static str,
    /// The moves, as they are shown.
    pub moves: Vec<String>,
}

const CLASSES: [(&str, &str); 11] = [
    ("WrongEscapes", phrase("the king escapes")),
    ("WrongParried", phrase("the check or the threat is parried")),
    ("WrongIdle", phrase("nothing is threatened in time")),
    ("WrongSlower", phrase("it takes too long")),
    ("WrongMated", phrase("the other side mates")),
    ("WrongLoses", phrase("a man is lost")),
    ("WrongPromotes", phrase("the other side promotes")),
    ("WrongStalemate", phrase("it is stalemate")),
    ("WrongRepeats", phrase("the position repeats")),
    ("WrongWeaker", phrase("it is less than asked")),
    ("WrongMates", phrase("it mates, which is not asked")),
];

/// The classes that occur, that with the most moves first.
pub fn classes(start: &Chess, explanation: &Explanation) -> Vec<Class> {
    let named = CLASSES.map(|(tag, words)| Class {
        tag,
        words: tr(words),
        moves: Vec::new(),
    });
    let mut classes = Vec::from(named);
    for failed in &explanation.failures {
        let kind = FailureKind::decode(&failed.code);
        let class = kind.and_then(|kind| classes.iter_mut().find(|c| c.tag == kind.tag()));
        let mv = failed.line.first();
        let mv = mv.and_then(|mv| moves::read_uci(start, mv));
        if let (Some(class), Some(mv)) = (class, mv) {
            class.moves.push(moves::shown(start, mv));
        }
    }
    classes.retain(|class| !class.moves.is_empty());
    classes.sort_by_key(|class| std::cmp::Reverse(class.moves.len()));
    classes
}

#[cfg(test)]
mod tests {
    use super::*;
    use keyproof::explain::Failed;

    #[test]
    fn moves_are_gathered_by_the_way_they_fail() {
        let failed = |mv: &str, code: &str| Failed {
            line: vec![mv.into()],
            code: code.into(),
            sentence: String::new(),
            proof: None,
        };
        let explanation = Explanation {
            failures: vec![
                failed("e2e4", "n"),
                failed("g1f3", "ef8"),
                failed("b1c3", "ee7"),
                failed("a1a5", "n"),
                failed("d2d4", "?"),
            ],
            ..Explanation::default()
        };
        let found = classes(&Chess::default(), &explanation);
        let told: Vec<(&str, &[String])> =
            found.iter().map(|c| (c.tag, c.moves.as_slice())).collect();
        assert_eq!(
            told,
            [
                ("WrongEscapes", &["Nf3".to_owned(), "Nc3".to_owned()][..]),
                ("WrongIdle", &["e4".to_owned()][..]),
            ]
        );
    }

    /// Every kind of failure has a class to be told in.
    #[test]
    fn every_kind_has_words() {
        for code in [
            "m2", "a", "lq", "x", "qf8", "s", "c", "r", "d", "o", "w", "t3", "ef8", "p", "n", "g",
            "f",
        ] {
            let kind = FailureKind::decode(code).unwrap();
            assert!(CLASSES.iter().any(|(tag, _)| *tag == kind.tag()), "{code}");
        }
    }
}
