//! What can happen on the page, and what the page asks of the browser.

mod board;
mod check;
mod class;
mod edit;
mod game;
mod give_out;
mod guide;
mod list;
mod page;
mod store;
mod talk;

use std::rc::Rc;

use keyproof::course::Standard;

use crate::saved::{Manifest, Note, Writing};
use crate::wire::Order;
use crate::work::{SheetId, Work};

pub use board::BoardMsg;
pub use check::CheckMsg;
pub use class::{ClassMsg, Closer, Who};
pub use edit::EditMsg;
pub use game::GameMsg;
pub use give_out::GiveOutMsg;
pub use guide::{Part, Turn};
pub use list::ListMsg;
pub use page::PageMsg;
pub use store::StoreMsg;
pub use talk::TalkMsg;

/// Which puzzles an export takes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Scope {
    Open,
    All,
    /// Those that are chosen in the list.
    Chosen,
    /// What a student, or half of the class, missed.
    Missed,
}

/// A step through the tree.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TreeStep {
    Back,
    Forward,
    /// The sibling before or after.
    Up,
    Down,
    Start,
    End,
}

/// What the student's page is made for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Purpose {
    File(Scope),
    /// A package for a course.
    Course(Scope, Standard),
    /// Pages to print, with so many diagrams on each, as a file.
    Handout(Scope, u8),
    /// The same as a PDF document.
    Pdf(Scope, u8),
    /// The same pages, for the browser to print.
    Print(Scope, u8),
    Preview,
}

impl Purpose {
    pub fn scope(self) -> Scope {
        match self {
            Purpose::File(scope)
            | Purpose::Course(scope, _)
            | Purpose::Handout(scope, _)
            | Purpose::Pdf(scope, _)
            | Purpose::Print(scope, _) => scope,
            Purpose::Preview => Scope::Open,
        }
    }
}

/// How wide the preview is.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Width {
    #[default]
    Phone,
    Desk,
}

/// What can happen to the diagram that is saved.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PictureChange {
    Coordinates(bool),
    Width(u32),
    SaveSvg,
    SavePng,
}

/// What can happen.
#[derive(Clone, Debug)]
pub enum Msg {
    List(ListMsg),
    Edit(EditMsg),
    Board(BoardMsg),
    Check(CheckMsg),
    Game(GameMsg),
    GiveOut(GiveOutMsg),
    Class(ClassMsg),
    Store(StoreMsg),
    Page(PageMsg),
    Talk(TalkMsg),
}

/// What the browser is asked to do.
#[derive(Clone, Debug)]
pub enum Effect {
    /// For a worker.
    Work(Order),
    /// Empty the store of the earlier games.
    ForgetEarlier,
    /// Hand the files with endgame tables to the workers.
    HandEndings,
    /// Send `SaveDue` in a moment.
    SaveSoon,
    Write(Box<Writing>),
    /// Put down at once what is not written yet; an empty note takes away all that
    /// were put down or found.
    Note(Note),
    /// Have in the page itself what lies on the desk, for when the browser saves the page.
    Carry(Note),
    /// Read what is not known, of a store that held this row.
    Reread(Option<Manifest>),
    /// Tell the other tabs that something was written.
    TellOthers,
    /// See how much room is left, unless that was done a moment ago.
    LookAtRoom,
    /// Ask the browser not to throw the store away.
    AskToStay,
    /// Write a backup of this and give it to the browser to save.
    Backup(Box<Work>),
    Download {
        name: String,
        kind: &'static str,
        text: String,
    },
    /// Have the browser print this page.
    Print(String),
    /// Give a file that is no text to the browser to save.
    Package {
        name: String,
        kind: &'static str,
        bytes: Vec<u8>,
    },
    /// Make an image of points of an SVG, so wide and high, to be saved.
    Png {
        name: String,
        svg: String,
        width: u32,
    },
    Copy(String),
    /// Open the audience’s window, or close it.
    Audience(bool),
    /// Tell the browser that the page is in this language now, and keep that.
    Speak(&'static str),
    FetchTemplate(Purpose),
    /// Send a message after some milliseconds, unless the user asked for less
    /// motion.
    Later(u32, Msg),
    /// Send a message after some milliseconds.
    After(u32, Msg),
    /// Give the focus to the element of this id once it is there.
    Focus(&'static str),
    /// Give the focus to a puzzle's entry in the list.
    FocusEntry(SheetId),
    /// Remember what has the focus.
    KeepFocus,
    /// Give the focus back to what was remembered, if it is still there.
    FocusBack,
    /// Dismiss a notice after a while, once nothing in it is pointed at.
    Fade(u32),
    /// Scroll the element of this id into sight once it is there.
    InSight(&'static str),
}

/// What can be done about a notice: what is said of it, and what is sent then.
pub type Offers = Vec<(String, Msg)>;

/// How much a notice weighs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Weight {
    /// What was done: of no interest after the next change, unless it offers more
    /// than undo.
    News,
    /// What was not done, and why: of no interest after the next change.
    Refusal,
    /// What stays wrong until the author puts it away.
    Trouble,
}

/// A message to the author, with what can be done about it.
#[derive(Clone)]
pub struct Notice {
    pub id: u32,
    weight: Weight,
    pub text: String,
    pub offers: Offers,
    /// Undo would undo something else now.
    passed: bool,
    /// The browser was asked to put it away after a while.
    fading: bool,
    said: Rc<dyn Fn() -> (String, Offers)>,
}

impl Notice {
    /// Says it in the language that is spoken now.
    pub fn new(id: u32, weight: Weight, said: impl Fn() -> (String, Offers) + 'static) -> Notice {
        let (text, offers) = said();
        Notice {
            id,
            weight,
            text,
            offers,
            passed: false,
            fading: false,
            said: Rc::new(said),
        }
    }
    /// Says it once more, since another language is spoken.
    pub fn say_anew(&mut self) {
        (self.text, self.offers) = (self.said)();
        if self.passed {
            self.pass();
        }
    }
    /// Whether something is wrong.
    pub fn warns(&self) -> bool {
        self.weight != Weight::News
    }
    /// Whether the author wants to see it after another change.
    pub fn stays(&self) -> bool {
        self.weight == Weight::Trouble || !self.offers.is_empty()
    }
    /// Whether it goes by itself after a while, told once: what offers nothing but undo,
    /// which the head of the page offers all the same.
    pub fn fades(&mut self) -> bool {
        let undoes = |offer: &Msg| matches!(offer, Msg::Edit(EditMsg::Undo));
        let only_undo = self.offers.iter().all(|(_, offer)| undoes(offer));
        let fades = self.weight != Weight::Trouble && only_undo;
        !std::mem::replace(&mut self.fading, true) && fades
    }
    /// Offers undo no more: it would undo something else now.
    pub fn pass(&mut self) {
        self.passed = true;
        self.offers
            .retain(|(_, offer)| !matches!(offer, Msg::Edit(EditMsg::Undo)));
    }
}
