//! What a key means, by where the focus is.

use crate::message::{Msg, Way};

/// Where the focus is when a key is pressed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Focus {
    /// A field whose text is part of the puzzle: undo there is ours.
    PuzzleField,
    /// Any other field: all keys are its own.
    OtherField,
    /// A board, which has its own arrows.
    Board,
    Elsewhere,
}

/// A key with its modifiers. Control and Command count as one.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Press<'a> {
    pub key: &'a str,
    pub control: bool,
    pub shift: bool,
    pub alt: bool,
}

/// What a key means, if anything.
pub fn meaning(press: Press, focus: Focus) -> Option<Msg> {
    if press.alt || focus == Focus::OtherField {
        return None;
    }
    if press.control {
        return match (press.key, press.shift) {
            ("z", false) => Some(Msg::Undo),
            ("z" | "Z", true) | ("y", false) => Some(Msg::Redo),
            _ => None,
        };
    }
    if press.shift || focus != Focus::Elsewhere {
        return None;
    }
    let way = match press.key {
        "ArrowLeft" => Way::Back,
        "ArrowRight" => Way::Forward,
        "ArrowUp" => Way::Up,
        "ArrowDown" => Way::Down,
        "Home" => Way::Start,
        "End" => Way::End,
        "Escape" => return Some(Msg::ShowEnd),
        "Delete" => return Some(Msg::CutHere),
        _ => return None,
    };
    Some(Msg::Walk(way))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn press(key: &str) -> Press<'_> {
        Press {
            key,
            control: false,
            shift: false,
            alt: false,
        }
    }
    fn control(key: &str, shift: bool) -> Press<'_> {
        Press {
            control: true,
            shift,
            ..press(key)
        }
    }

    #[test]
    fn arrows_walk_only_where_nothing_else_wants_them() {
        assert!(matches!(
            meaning(press("ArrowLeft"), Focus::Elsewhere),
            Some(Msg::Walk(Way::Back))
        ));
        for focus in [Focus::PuzzleField, Focus::OtherField, Focus::Board] {
            assert!(meaning(press("ArrowLeft"), focus).is_none());
            assert!(meaning(press("Delete"), focus).is_none());
        }
    }

    #[test]
    fn undo_works_in_the_puzzles_own_fields() {
        for focus in [Focus::PuzzleField, Focus::Board, Focus::Elsewhere] {
            assert!(matches!(
                meaning(control("z", false), focus),
                Some(Msg::Undo)
            ));
            assert!(matches!(
                meaning(control("Z", true), focus),
                Some(Msg::Redo)
            ));
            assert!(matches!(
                meaning(control("y", false), focus),
                Some(Msg::Redo)
            ));
        }
        assert!(meaning(control("z", false), Focus::OtherField).is_none());
    }
}
