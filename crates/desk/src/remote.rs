//! What a key means in a talk, in the speaker's window and in the audience's. A
//! presenter's remote sends Page Down and Page Up, or arrows.

use keyproof::tongue::{phrase, tr};

use crate::keys::called;
use crate::message::TalkMsg;
use crate::talk::{Switch, Tool};

/// A key, what it does, and how that is called.
pub struct Binding {
    /// The browser's names of the keys; letters in lower case.
    keys: &'static [&'static str],
    words: &'static str,
    pub msg: fn() -> TalkMsg,
}

const fn key(keys: &'static [&'static str], words: &'static str, msg: fn() -> TalkMsg) -> Binding {
    Binding { keys, words, msg }
}

/// All keys of a talk.
pub const KEYS: &[Binding] = &[
    key(
        &["PageDown", "ArrowRight", "ArrowDown", " ", "Enter"],
        phrase("On"),
        || TalkMsg::Step(true),
    ),
    key(&["PageUp", "ArrowLeft", "ArrowUp"], phrase("Back"), || {
        TalkMsg::Step(false)
    }),
    key(&["End"], phrase("To the next question"), || {
        TalkMsg::NextQuestion
    }),
    key(&["Backspace", "r"], phrase("Back to the talk"), || {
        TalkMsg::Return
    }),
    key(&["w"], phrase("What if"), || {
        TalkMsg::Switch(Switch::WhatIf)
    }),
    key(&["c"], phrase("Show the counts"), || {
        TalkMsg::Switch(Switch::Counts)
    }),
    key(&["k"], phrase("Clock"), || TalkMsg::Clock),
    key(&["p"], phrase("Pencil"), || TalkMsg::Tool(Tool::Pencil)),
    key(&["s"], phrase("Spotlight"), || {
        TalkMsg::Tool(Tool::Spotlight)
    }),
    key(&["o"], phrase("Pointer"), || TalkMsg::Tool(Tool::Pointer)),
    key(&["x"], phrase("Wipe"), || TalkMsg::Wipe),
    key(&["t"], phrase("Turn the board"), || {
        TalkMsg::Switch(Switch::Turned)
    }),
    key(&["m"], phrase("Note this moment"), || TalkMsg::Note),
    key(&["v"], phrase("All in one window"), || {
        TalkMsg::Switch(Switch::Alone)
    }),
    key(&["Escape"], phrase("Leave the talk"), || TalkMsg::Escape),
];

impl Binding {
    /// Its keys, as keyboards of the language have them.
    pub fn names(&self) -> String {
        let name = |key: &&str| match *key {
            "PageDown" => tr("Page Down").to_owned(),
            "PageUp" => tr("Page Up").to_owned(),
            " " => tr("Space").to_owned(),
            key => called(key),
        };
        self.keys.iter().map(name).collect::<Vec<_>>().join(", ")
    }
    /// What it does.
    pub fn words(&self) -> &'static str {
        tr(self.words)
    }
}

/// The field that has the focus.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Field {
    None,
    /// One to write in, with nothing in it.
    Empty,
    Other,
}

/// What a key means, if anything. In a field only those mean anything that do nothing
/// there; in an empty one that is whatever writes no letter.
pub fn meaning(pressed: &str, field: Field) -> Option<TalkMsg> {
    let kept = match field {
        Field::None => false,
        Field::Empty => pressed == "Enter" || pressed.chars().nth(1).is_none(),
        Field::Other => !matches!(pressed, "PageDown" | "PageUp" | "Escape"),
    };
    if kept {
        return None;
    }
    let fits = |key: &&str| key.eq_ignore_ascii_case(pressed);
    let binding = KEYS.iter().find(|binding| binding.keys.iter().any(fits));
    binding.map(|binding| (binding.msg)())
}
