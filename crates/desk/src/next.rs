//! What to do next, in one sentence, so that nobody needs to read a manual.

use keyproof::check::{Second, Soundness};
use keyproof::draft::{Draft, NodeId};
use keyproof::tongue::tr;
use shakmaty::Color;

use crate::leaf::Leaf;
use crate::lesson::Lesson;
use crate::message::PageMsg;
use crate::view_model::{ViewModel, stipulation};
use crate::work::{Sheet, told};

/// The step that a puzzle waits for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Next {
    Reading,
    Position,
    Stipulation,
    /// A game that is to be played in.
    Moves,
    /// A game of which nothing is asked.
    Game,
    /// A lesson that asks nothing.
    Ask,
    /// A lesson's tag has faults.
    Tag,
    Key(Color),
    Mend,
    /// Something stays open that no mend closes.
    Open,
    /// Our two programs disagree.
    Disagreement,
    Wait,
    Title,
    Publish,
}

impl Next {
    /// The step a puzzle waits for.
    pub fn of(sheet: &Sheet, model: &ViewModel, checking: bool) -> Next {
        let draft = &sheet.draft;
        if sheet.reading.is_some() {
            Next::Reading
        } else if model.resolved.start().is_err() {
            Next::Position
        } else if model.bare_game && nothing_played(draft) {
            Next::Moves
        } else if model.bare_game {
            Next::Game
        } else if let Some(next) = model.lesson.as_ref().and_then(of_lesson) {
            next
        } else if model.lesson.is_none() && stipulation(draft).is_none() {
            Next::Stipulation
        } else if model.lesson.is_none() && nothing_played(draft) {
            Next::Key(model.solver())
        } else if checking {
            Next::Wait
        } else if model.report.verdict == Soundness::Unsound {
            Next::Mend
        } else if matches!(model.report.second, Second::Against(_)) {
            Next::Disagreement
        } else if model.report.verdict == Soundness::Undecided {
            Next::Open
        } else if told(draft, "Event").is_none() {
            Next::Title
        } else {
            Next::Publish
        }
    }
    /// What leads to it; `None` where it is done on the board, or waited for.
    pub fn way(self) -> Option<PageMsg> {
        let leaf = |leaf| Some(PageMsg::Leaf(leaf));
        match self {
            Next::Reading | Next::Mend | Next::Open => leaf(Leaf::Check),
            Next::Stipulation => Some(PageMsg::Focus("stipulation")),
            Next::Game | Next::Ask | Next::Tag => leaf(Leaf::Moments),
            Next::Title => Some(PageMsg::Focus("title")),
            Next::Publish => leaf(Leaf::GiveOut),
            Next::Position | Next::Moves | Next::Key(_) | Next::Disagreement | Next::Wait => None,
        }
    }
    /// The step in words.
    pub fn words(self) -> &'static str {
        match self {
            Next::Reading => tr("Look at what could not be read."),
            Next::Position => tr("Set up the position."),
            Next::Stipulation => tr("Say what is to be done: mate, and in how many moves."),
            Next::Moves => tr("Play the moves of the game on the board."),
            Next::Game => tr(
                "Find the moments of the game, ask somewhere yourself, or say what is to be done from its start.",
            ),
            Next::Ask => tr("Find the moments of the game, or go to a move and ask there."),
            Next::Tag => tr("Mend the tag Moments: ask anew, or save the PGN and change it there."),
            Next::Key(Color::White) => {
                tr("Play White\u{2019}s first move of the solution on the board.")
            }
            Next::Key(Color::Black) => {
                tr("Play Black\u{2019}s first move of the solution on the board.")
            }
            Next::Mend => tr("Mend what stands under Check, or play more of the solution."),
            Next::Open => tr("Not every claim is decided; what is open stands under Check."),
            Next::Disagreement => tr(
                "Do not give this out. Save the report, and send it to whoever gave you Keyproof.",
            ),
            Next::Wait => tr("Every claim is being checked. You can go on meanwhile."),
            Next::Title => tr("It is sound. Give it a title."),
            Next::Publish => tr("It is sound. Give it out."),
        }
    }
}

fn nothing_played(draft: &Draft) -> bool {
    let root = draft.node(NodeId::ROOT);
    root.is_none_or(|root| root.children.is_empty())
}

/// The step that a lesson waits for before it is checked.
fn of_lesson(lesson: &Lesson) -> Option<Next> {
    if !lesson.faults.is_empty() {
        Some(Next::Tag)
    } else {
        lesson.asked.is_empty().then_some(Next::Ask)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::intake;
    use crate::work::SheetId;
    use keyproof::check::Known;
    use keyproof::draft::Edit;
    use std::rc::Rc;

    fn next(draft: Draft, checking: bool) -> Next {
        let id = SheetId(1);
        let sheet = Rc::new(Sheet {
            id,
            draft,
            reading: None,
        });
        let model = ViewModel::new(sheet.clone(), Known::default());
        Next::of(&sheet, &model, checking)
    }

    #[test]
    fn each_step_comes_in_its_turn() {
        let empty = intake::puzzle_at(Some("8/8/8/8/8/8/8/8 w - - 0 1"));
        assert_eq!(next(empty, false), Next::Position);
        let mut draft = intake::puzzle_at(Some("7k/8/8/8/8/8/R7/1R2K3 w - - 0 1"));
        assert_eq!(next(draft.clone(), false), Next::Key(Color::White));
        let line = Edit::AddLine {
            at: NodeId::ROOT,
            moves: vec!["Ra7".into()],
            nags: vec![],
        };
        draft.apply(&line).unwrap();
        assert_eq!(next(draft.clone(), true), Next::Wait);
        let none = Edit::SetTag {
            name: "Stipulation".into(),
            value: None,
        };
        draft.apply(&none).unwrap();
        assert_eq!(next(draft, false), Next::Stipulation);
    }
}
