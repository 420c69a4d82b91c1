//! What to do next, in one sentence, so that nobody needs to read a manual.

use keyproof::check::Soundness;
use keyproof::draft::NodeId;
use shakmaty::Color;

use crate::look::{Look, stipulation};
use crate::work::{Sheet, told};

/// The step that a puzzle waits for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Next {
    Position,
    Stipulation,
    Key(Color),
    Mend,
    Wait,
    Title,
    Publish,
}

impl Next {
    /// The step a puzzle waits for.
    pub fn of(sheet: &Sheet, look: &Look, checking: bool) -> Next {
        let draft = &sheet.draft;
        if look.resolution.start.is_err() {
            Next::Position
        } else if stipulation(draft).is_none() {
            Next::Stipulation
        } else if draft
            .node(NodeId::ROOT)
            .is_none_or(|r| r.children.is_empty())
        {
            Next::Key(look.solver())
        } else if checking {
            Next::Wait
        } else if look.report.verdict != Soundness::Sound {
            Next::Mend
        } else if told(draft, "Event").is_none() {
            Next::Title
        } else {
            Next::Publish
        }
    }
    /// The step in words.
    pub fn words(self) -> &'static str {
        match self {
            Next::Position => "Set up the position.",
            Next::Stipulation => "Say what is to be done: mate, and in how many moves.",
            Next::Key(Color::White) => {
                "Play White\u{2019}s first move of the solution on the board."
            }
            Next::Key(Color::Black) => {
                "Play Black\u{2019}s first move of the solution on the board."
            }
            Next::Mend => "Mend what is found below, or play more of the solution.",
            Next::Wait => "Every claim is being checked. You can go on meanwhile.",
            Next::Title => "It is sound. Give it a title.",
            Next::Publish => "It is sound. Give it out.",
        }
    }
}
