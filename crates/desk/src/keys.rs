//! What a key means, by where the focus is. [`KEYS`] is the one table of all
//! keys; a list for the author and a search read the same.

use keyproof::tongue::{phrase, say, tr};

use crate::message::{BoardMsg, EditMsg, Msg, PageMsg, TreeStep};

/// Where the focus is when a key is pressed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Focus {
    /// A field whose text is part of the puzzle: undo there is ours.
    PuzzleField,
    /// Any other field: all keys are its own.
    OtherField,
    /// A board, which has its own arrows.
    Board,
    /// A move of the solution.
    Tree,
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

/// Where a key works.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Place {
    /// In every field as well.
    Always,
    /// Everywhere but in fields that are no part of the puzzle.
    Everywhere,
    /// Outside of fields and boards.
    Page,
    /// On a move of the solution.
    Tree,
    /// Outside of fields and off the moves, where it is a sign.
    OffMoves,
    /// Outside of fields.
    OffFields,
}

/// A key and what it does.
pub struct Binding {
    pub place: Place,
    /// The browser's name of the key; letters in lower case.
    key: &'static str,
    control: bool,
    /// `None` where the key is a sign that may need Shift to be typed.
    shift: Option<bool>,
    alt: bool,
    /// What it does; to be looked up.
    pub words: &'static str,
    pub msg: fn() -> Msg,
}

impl Binding {
    const fn new(
        place: Place,
        key: &'static str,
        words: &'static str,
        msg: fn() -> Msg,
    ) -> Binding {
        Binding {
            place,
            key,
            control: false,
            shift: Some(false),
            alt: false,
            words,
            msg,
        }
    }
    const fn control(mut self) -> Binding {
        self.control = true;
        self
    }
    const fn shift(mut self) -> Binding {
        self.shift = Some(true);
        self
    }
    const fn alt(mut self) -> Binding {
        self.alt = true;
        self
    }
    const fn sign(mut self) -> Binding {
        self.shift = None;
        self
    }
    /// Whether the key is a sign to be typed at a move.
    pub fn is_sign(&self) -> bool {
        self.place == Place::Tree && self.shift.is_none()
    }
    /// "Ctrl+Shift+Z", as keyboards of the language have it.
    pub fn name(&self) -> String {
        let held = [
            (self.shift == Some(true), phrase!("Shift+{key}", "key")),
            (self.alt, phrase!("Alt+{key}", "key")),
            (self.control, phrase!("Ctrl+{key}", "key")),
        ];
        let held = held.into_iter().filter(|(on, _)| *on);
        held.fold(called(self.key), |key, (_, with)| say!(with, key = key))
    }
    fn fits(&self, press: Press, focus: Focus) -> bool {
        let here = match self.place {
            Place::Always => true,
            Place::Everywhere => focus != Focus::OtherField,
            Place::Page => matches!(focus, Focus::Tree | Focus::Elsewhere),
            Place::Tree => focus == Focus::Tree,
            Place::OffMoves => matches!(focus, Focus::Board | Focus::Elsewhere),
            Place::OffFields => !matches!(focus, Focus::PuzzleField | Focus::OtherField),
        };
        here && self.key.eq_ignore_ascii_case(press.key)
            && self.control == press.control
            && self.alt == press.alt
            && self.shift.is_none_or(|shift| shift == press.shift)
    }
}

/// The number of a leaf.
const fn leaf(key: &'static str, msg: fn() -> Msg) -> Binding {
    let words = phrase("To a part of the work, by its number");
    Binding::new(Place::OffFields, key, words, msg)
}

/// All keys.
pub const KEYS: &[Binding] = {
    use Binding as B;
    use Place::{Always, Everywhere, OffFields, OffMoves, Page, Tree};
    &[
        B::new(Always, "k", phrase("Keys and commands"), || {
            Msg::Page(PageMsg::Finder(true))
        })
        .control(),
        B::new(OffMoves, "?", phrase("Keys and commands"), || {
            Msg::Page(PageMsg::Finder(true))
        })
        .sign(),
        B::new(Everywhere, "z", phrase("Undo"), || Msg::Edit(EditMsg::Undo)).control(),
        B::new(Everywhere, "z", phrase("Redo"), || Msg::Edit(EditMsg::Redo))
            .control()
            .shift(),
        B::new(Everywhere, "y", phrase("Redo"), || Msg::Edit(EditMsg::Redo)).control(),
        B::new(OffFields, "0", phrase("The list of puzzles"), || {
            Msg::Page(PageMsg::Listing(true))
        }),
        leaf("1", || Msg::Page(PageMsg::LeafAt(1))),
        leaf("2", || Msg::Page(PageMsg::LeafAt(2))),
        leaf("3", || Msg::Page(PageMsg::LeafAt(3))),
        leaf("4", || Msg::Page(PageMsg::LeafAt(4))),
        leaf("5", || Msg::Page(PageMsg::LeafAt(5))),
        leaf("6", || Msg::Page(PageMsg::LeafAt(6))),
        B::new(Page, "ArrowLeft", phrase("One move back"), || {
            Msg::Board(BoardMsg::Walk(TreeStep::Back))
        }),
        B::new(Page, "ArrowRight", phrase("One move on"), || {
            Msg::Board(BoardMsg::Walk(TreeStep::Forward))
        }),
        B::new(Page, "ArrowUp", phrase("The move listed before"), || {
            Msg::Board(BoardMsg::Walk(TreeStep::Up))
        }),
        B::new(Page, "ArrowDown", phrase("The move listed after"), || {
            Msg::Board(BoardMsg::Walk(TreeStep::Down))
        }),
        B::new(Page, "Home", phrase("To the start"), || {
            Msg::Board(BoardMsg::Walk(TreeStep::Start))
        }),
        B::new(Page, "End", phrase("To the end of the line"), || {
            Msg::Board(BoardMsg::Walk(TreeStep::End))
        }),
        B::new(Page, "Escape", phrase("Back to the solution"), || {
            Msg::Board(BoardMsg::ShowEnd)
        }),
        B::new(
            Page,
            "Delete",
            phrase("Remove the move and what follows"),
            || Msg::Edit(EditMsg::CutHere),
        ),
        B::new(Tree, "x", phrase("Cut the line"), || {
            Msg::Edit(EditMsg::CutLine)
        })
        .control(),
        B::new(Tree, "c", phrase("Copy the line"), || {
            Msg::Edit(EditMsg::CopyLine)
        })
        .control(),
        B::new(Tree, "ArrowUp", phrase("Move the line up"), || {
            Msg::Edit(EditMsg::ShiftHere(-1))
        })
        .alt(),
        B::new(Tree, "ArrowDown", phrase("Move the line down"), || {
            Msg::Edit(EditMsg::ShiftHere(1))
        })
        .alt(),
        B::new(Tree, "f", phrase("Fold or unfold the line"), || {
            Msg::Board(BoardMsg::FoldHere)
        }),
        B::new(
            Tree,
            "!",
            phrase("Good; typed after another sign: !!, ?!"),
            || Msg::Edit(EditMsg::Glyph('!')),
        )
        .sign(),
        B::new(
            Tree,
            "?",
            phrase("Poor; typed after another sign: ??, !?"),
            || Msg::Edit(EditMsg::Glyph('?')),
        )
        .sign(),
        B::new(Tree, "=", phrase("Drawish"), || {
            Msg::Edit(EditMsg::Glyph('='))
        })
        .sign(),
        B::new(
            Tree,
            "+",
            phrase("White better, more with each press"),
            || Msg::Edit(EditMsg::Glyph('+')),
        )
        .sign(),
        B::new(
            Tree,
            "-",
            phrase("Black better, more with each press"),
            || Msg::Edit(EditMsg::Glyph('-')),
        )
        .sign(),
        B::new(Tree, "~", phrase("Unclear"), || {
            Msg::Edit(EditMsg::Glyph('~'))
        })
        .sign(),
        B::new(Tree, "Backspace", phrase("No signs at the move"), || {
            Msg::Edit(EditMsg::Glyphs(vec![]))
        }),
    ]
};

/// What a key is called on the keyboards of the language.
pub fn called(key: &str) -> String {
    match key {
        "ArrowLeft" => "\u{2190}".into(),
        "ArrowRight" => "\u{2192}".into(),
        "ArrowUp" => "\u{2191}".into(),
        "ArrowDown" => "\u{2193}".into(),
        "Enter" => tr("Enter").into(),
        "Escape" => tr("Escape").into(),
        "Delete" => tr("Delete").into(),
        "Backspace" => tr("Backspace").into(),
        "Home" => tr("Home").into(),
        "End" => tr("End").into(),
        key => key.to_uppercase(),
    }
}

/// What a key means, if anything.
pub fn meaning(press: Press, focus: Focus) -> Option<Msg> {
    let binding = KEYS.iter().find(|binding| binding.fits(press, focus));
    binding.map(|binding| (binding.msg)())
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
        for focus in [Focus::Elsewhere, Focus::Tree] {
            assert!(matches!(
                meaning(press("ArrowLeft"), focus),
                Some(Msg::Board(BoardMsg::Walk(TreeStep::Back)))
            ));
        }
        for focus in [Focus::PuzzleField, Focus::OtherField, Focus::Board] {
            assert!(meaning(press("ArrowLeft"), focus).is_none());
            assert!(meaning(press("Delete"), focus).is_none());
        }
    }

    #[test]
    fn undo_works_in_the_puzzles_own_fields() {
        for focus in [
            Focus::PuzzleField,
            Focus::Board,
            Focus::Elsewhere,
            Focus::Tree,
        ] {
            assert!(matches!(
                meaning(control("z", false), focus),
                Some(Msg::Edit(EditMsg::Undo))
            ));
            assert!(matches!(
                meaning(control("Z", true), focus),
                Some(Msg::Edit(EditMsg::Redo))
            ));
            assert!(matches!(
                meaning(control("y", false), focus),
                Some(Msg::Edit(EditMsg::Redo))
            ));
        }
        assert!(meaning(control("z", false), Focus::OtherField).is_none());
    }

    #[test]
    fn signs_and_lines_are_for_moves() {
        for sign in "!?=+-~".chars() {
            let text = sign.to_string();
            for shift in [false, true] {
                let pressed = Press {
                    shift,
                    ..press(&text)
                };
                assert!(
                    matches!(meaning(pressed, Focus::Tree), Some(Msg::Edit(EditMsg::Glyph(s))) if s == sign)
                );
                let elsewhere = meaning(pressed, Focus::Elsewhere);
                assert!(!matches!(elsewhere, Some(Msg::Edit(EditMsg::Glyph(_)))));
            }
        }
        assert!(matches!(
            meaning(control("c", false), Focus::Tree),
            Some(Msg::Edit(EditMsg::CopyLine))
        ));
        assert!(meaning(control("c", false), Focus::Elsewhere).is_none());
        assert!(meaning(control("x", false), Focus::PuzzleField).is_none());
    }

    /// No key means two things at one place.
    #[test]
    fn no_key_is_taken_twice() {
        let everywhere = [
            Focus::PuzzleField,
            Focus::OtherField,
            Focus::Board,
            Focus::Tree,
            Focus::Elsewhere,
        ];
        for binding in KEYS {
            let pressed = Press {
                key: binding.key,
                control: binding.control,
                shift: binding.shift.unwrap_or(false),
                alt: binding.alt,
            };
            for focus in everywhere {
                let fit = KEYS.iter().filter(|b| b.fits(pressed, focus)).count();
                assert!(fit <= 1, "{} twice at {focus:?}", binding.name());
            }
        }
    }

    #[test]
    fn a_question_mark_lists_the_keys_off_the_moves() {
        let pressed = Press {
            shift: true,
            ..press("?")
        };
        for focus in [Focus::Elsewhere, Focus::Board] {
            assert!(matches!(
                meaning(pressed, focus),
                Some(Msg::Page(PageMsg::Finder(true)))
            ));
        }
        assert!(matches!(
            meaning(pressed, Focus::Tree),
            Some(Msg::Edit(EditMsg::Glyph('?')))
        ));
        assert!(meaning(pressed, Focus::PuzzleField).is_none());
        for focus in [Focus::PuzzleField, Focus::OtherField, Focus::Tree] {
            assert!(matches!(
                meaning(control("k", false), focus),
                Some(Msg::Page(PageMsg::Finder(true)))
            ));
        }
    }
}
