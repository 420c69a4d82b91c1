//! Marks that an author draws on the board: arrows and rings. In a draft they
//! are a sentence at the end of a comment, which any program that reads PGN
//! shows as text: "Board: ring f7, dashed arrow e2 to e4." A published file
//! carries them apart from the words (publishing splits them).

use std::fmt::{self, Write as _};

use shakmaty::Square;

use crate::draft::{Draft, Edit, NodeId};
use crate::resolved::Resolved;

/// What a line on the board stands for; told by how it is drawn.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum LineKind {
    /// Solid.
    #[default]
    Answer,
    /// Dashed.
    Try,
    /// Dotted.
    Threat,
}

/// A mark on the board.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Mark {
    /// A line with a head at `to`.
    Line {
        /// Where it starts.
        from: Square,
        /// Where it points.
        to: Square,
        /// How it is drawn.
        kind: LineKind,
    },
    /// A ring round a square.
    Ring {
        /// What it is around.
        square: Square,
        /// How it is drawn.
        kind: LineKind,
    },
}

/// How the sentence begins.
const HEAD: &str = "Board: ";

impl LineKind {
    /// The word before a mark that is not solid.
    fn word(self) -> &'static str {
        match self {
            LineKind::Answer => "",
            LineKind::Try => "dashed ",
            LineKind::Threat => "dotted ",
        }
    }
}

impl Mark {
    /// Whether two marks lie on the same squares.
    pub fn covers(self, other: Mark) -> bool {
        self.squares() == other.squares()
    }
    fn squares(self) -> (Square, Square) {
        match self {
            Mark::Line { from, to, .. } => (from, to),
            Mark::Ring { square, .. } => (square, square),
        }
    }
    fn kind(self) -> LineKind {
        match self {
            Mark::Line { kind, .. } | Mark::Ring { kind, .. } => kind,
        }
    }
    fn read(text: &str) -> Option<Mark> {
        let (text, kind) = if let Some(rest) = text.strip_prefix("dashed ") {
            (rest, LineKind::Try)
        } else if let Some(rest) = text.strip_prefix("dotted ") {
            (rest, LineKind::Threat)
        } else {
            (text, LineKind::Answer)
        };
        if let Some(square) = text.strip_prefix("ring ") {
            let square = square.parse().ok()?;
            return Some(Mark::Ring { square, kind });
        }
        let (from, to) = text.strip_prefix("arrow ")?.split_once(" to ")?;
        let (from, to) = (from.parse().ok()?, to.parse().ok()?);
        (from != to).then_some(Mark::Line { from, to, kind })
    }
    /// As a published file has it: `f7`, `e2e4-` dashed, `e2e4.` dotted.
    fn write_short(self, out: &mut String) {
        let (from, to) = self.squares();
        let _ = match self {
            Mark::Line { .. } => write!(out, "{from}{to}"),
            Mark::Ring { .. } => write!(out, "{from}"),
        };
        out.push_str(match self.kind() {
            LineKind::Answer => "",
            LineKind::Try => "-",
            LineKind::Threat => ".",
        });
    }
    /// From its short form.
    pub fn read_short(text: &str) -> Option<Mark> {
        let kind = match text.as_bytes().last()? {
            b'-' => LineKind::Try,
            b'.' => LineKind::Threat,
            _ => LineKind::Answer,
        };
        let square = text.get(..2)?.parse().ok()?;
        Some(match text.get(2..4).and_then(|to| to.parse().ok()) {
            Some(to) => Mark::Line {
                from: square,
                to,
                kind,
            },
            None => Mark::Ring { square, kind },
        })
    }
}

impl fmt::Display for Mark {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.kind().word())?;
        match self {
            Mark::Line { from, to, .. } => write!(f, "arrow {from} to {to}"),
            Mark::Ring { square, .. } => write!(f, "ring {square}"),
        }
    }
}

/// The sentence that says these marks; `None` where there are none.
pub fn sentence(marks: &[Mark]) -> Option<String> {
    let told: Vec<String> = marks.iter().map(Mark::to_string).collect();
    (!told.is_empty()).then(|| format!("{HEAD}{}.", told.join(", ")))
}

/// Comments without the sentences about marks, and the marks.
pub fn split(comments: &[String]) -> (Vec<String>, Vec<Mark>) {
    let mut words = Vec::new();
    let mut marks: Vec<Mark> = Vec::new();
    for comment in comments {
        let mut rest = comment.as_str();
        // The last sentence comes first: what stands before it may end in another.
        let mut drawn = Vec::new();
        while let Some((before, marks)) = split_one(rest) {
            rest = before.trim_end();
            drawn.push(marks);
        }
        if drawn.is_empty() {
            words.push(comment.clone());
            continue;
        }
        for mark in drawn.into_iter().rev().flatten() {
            if !marks.contains(&mark) {
                marks.push(mark);
            }
        }
        if !rest.trim().is_empty() {
            words.push(rest.to_owned());
        }
    }
    (words, marks)
}

/// Comments with a sentence about these marks at their end.
pub fn joined(mut words: Vec<String>, marks: &[Mark]) -> Vec<String> {
    words.extend(sentence(marks));
    words
}

/// A game without its marks.
pub fn without(draft: &Draft) -> Draft {
    let mut bare = draft.clone();
    let nodes = std::iter::once(NodeId::ROOT).chain(draft.walk());
    for node in nodes {
        let Some(of) = draft.node(node) else { continue };
        let (words, marks) = split(&of.after);
        if !marks.is_empty() {
            let edit = Edit::SetAfter {
                node,
                comments: words,
            };
            bare.apply(&edit).expect("a node of the walk");
        }
    }
    bare
}

/// The marks of games, by the men on the board, as lines of a published file:
/// `board PLACEMENT f7 e2e4- d1h5.`
pub fn published(games: &[&Resolved]) -> String {
    let mut lines = String::new();
    for game in games {
        let draft = game.draft();
        let nodes = std::iter::once(NodeId::ROOT).chain(draft.walk());
        for id in nodes {
            let (Some(node), Some(position)) = (draft.node(id), game.position(id)) else {
                continue;
            };
            let (_, marks) = split(&node.after);
            if marks.is_empty() {
                continue;
            }
            let _ = write!(lines, "board {}", shakmaty::Position::board(position));
            for mark in marks {
                lines.push(' ');
                mark.write_short(&mut lines);
            }
            lines.push('\n');
        }
    }
    lines
}

/// A comment that ends in the sentence: what stands before it, and the marks.
fn split_one(comment: &str) -> Option<(&str, Vec<Mark>)> {
    let body = comment.trim_end().strip_suffix('.')?;
    let at = body.rfind(HEAD.trim_end())?;
    let (before, rest) = body.split_at(at);
    let opens = before.chars().next_back().is_none_or(char::is_whitespace);
    let list = rest.strip_prefix(HEAD.trim_end())?;
    if !opens || !list.starts_with(char::is_whitespace) {
        return None;
    }
    // Other programs break comments into lines.
    let spaced = list.split_whitespace().collect::<Vec<_>>().join(" ");
    let marks: Option<Vec<Mark>> = spaced.split(", ").map(Mark::read).collect();
    Some((before, marks?))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{pgn_read, pgn_write};

    fn split_text(text: &str) -> (Vec<String>, String) {
        let (words, marks) = split(&[text.to_owned()]);
        (words, sentence(&marks).unwrap_or_default())
    }

    #[test]
    fn marks_are_a_sentence_at_the_end_of_a_comment() {
        for (text, words, marks) in [
            ("Board: ring f7.", "", "Board: ring f7."),
            (
                "So. Board: ring f7. Board: ring e4.",
                "So.",
                "Board: ring f7, ring e4.",
            ),
            (
                "The weak spot. Board: ring f7, dashed arrow e2 to e4, dotted ring a1.",
                "The weak spot.",
                "Board: ring f7, dashed arrow e2 to e4, dotted ring a1.",
            ),
            ("Look:\nBoard: ring\nf7.\n", "Look:", "Board: ring f7."),
            ("Board: ring f7, ring f7.", "", "Board: ring f7."),
        ] {
            let (rest, told) = split_text(text);
            assert_eq!((rest.join("|").as_str(), told.as_str()), (words, marks));
        }
    }

    #[test]
    fn whatever_else_is_said_stays_as_it_was() {
        for text in [
            "",
            "Board: ring f7",
            "Board: ring f9.",
            "Board: ring f7, and more.",
            "Board: arrow e2 to e2.",
            "Board: arrow e2.",
            "Board: .",
            "Board:ring f7.",
            "Blackboard: ring f7.",
            "Board: ring f7. Look there.",
            "board: ring f7.",
            "The board: a ring f7.",
            "\u{e9}Board: ring f7.",
        ] {
            let (words, marks) = split(&[text.to_owned()]);
            assert_eq!((words, marks.len()), (vec![text.to_owned()], 0), "{text}");
        }
    }

    #[test]
    fn the_short_form_says_the_same() {
        let (_, marks) = split(&[
            "Board: ring f7, arrow e2 to e4, dashed arrow d1 to h5, dotted ring g7.".into(),
        ]);
        for mark in marks {
            let mut short = String::new();
            mark.write_short(&mut short);
            assert_eq!(Mark::read_short(&short), Some(mark), "{short}");
        }
        for text in ["", "x", "e", "z9", "\u{e9}\u{e9}"] {
            assert_eq!(Mark::read_short(text), None, "{text}");
        }
    }

    #[test]
    fn a_file_keeps_them_and_a_published_one_has_them_apart() {
        let text = "1. e4 {In the middle. Board: ring d5.} e5 {Board: arrow e5 to d4.} *";
        let draft = pgn_read::read(text).remove(0).draft;
        let again = pgn_read::read(&pgn_write::write(&draft)).remove(0).draft;
        let after = |draft: &Draft, i: usize| draft.node(draft.walk()[i]).unwrap().after.clone();
        assert_eq!(split(&after(&again, 0)), split(&after(&draft, 0)));
        let bare = without(&draft);
        assert_eq!(after(&bare, 0), ["In the middle."]);
        assert!(after(&bare, 1).is_empty());
        assert_eq!(
            published(&[&Resolved::of(&draft)]),
            "board rnbqkbnr/pppppppp/8/8/4P3/8/PPPP1PPP/RNBQKBNR d5\n\
             board rnbqkbnr/pppp1ppp/8/4p3/4P3/8/PPPP1PPP/RNBQKBNR e5d4\n"
        );
    }
}
