//! What can happen on the page, and what the page asks of the browser.

mod guide;

use std::rc::Rc;

use keyproof::check::Answer;
use keyproof::course::Standard;
use keyproof::draft::{Edit, NodeId};
use keyproof::explain::Explanation;
use keyproof::lesson::Moment;
use keyproof::marks::{LineKind, Mark};
use keyproof::moments;
use keyproof_second::Heard;
use shakmaty::Move;

use crate::book::Claim;
use crate::collection;
use crate::endings;
use crate::explaining;
use crate::keeping::Room;
use crate::proving::Order;
use crate::saved::{Found, Row, Writing};
use crate::second::SecondOrder;
use crate::seek::Effort;
use crate::setup::SetupChange;
use crate::shelf;
use crate::work::{Sheet, SheetId, Work};

pub use guide::{Part, Turn};

/// Which puzzles an export takes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Scope {
    Open,
    All,
    /// Those that are chosen in the list.
    Chosen,
}

/// A step through the tree.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Way {
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
    /// Pages to print, with so many diagrams on each.
    Handout(Scope, u8),
    Preview,
}

impl Purpose {
    pub fn scope(self) -> Scope {
        match self {
            Purpose::File(scope) | Purpose::Course(scope, _) | Purpose::Handout(scope, _) => scope,
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
    // The row of puzzles.
    New,
    /// A game from its first move, to be played in.
    NewGame,
    Example,
    /// A lesson that stops and asks.
    ExampleLesson,
    /// Something in the list of all puzzles.
    Shelf(shelf::Event),
    /// Look at the next few puzzles.
    LookOn,
    Open(SheetId),
    Remove(SheetId),
    /// Moves a puzzle up (-1) or down (1) the list as it is shown.
    Reorder(SheetId, i32),
    /// Puts a puzzle before or after another.
    Put {
        sheet: SheetId,
        onto: SheetId,
        after: bool,
    },
    /// A text was opened, dropped or pasted.
    Came {
        from: String,
        text: String,
    },
    /// A text was pasted outside of every field; `in_tree`: on a move.
    Pasted {
        text: String,
        in_tree: bool,
    },
    /// A file could not be read by the browser.
    Unread {
        from: String,
        why: String,
    },
    /// The author has seen what could not be read.
    PutAwayReading(SheetId),
    PasteBox(bool),

    Undo,
    Redo,
    /// A field lost the focus: what is typed next counts on its own.
    FieldLeft,

    // The tree.
    Go(NodeId),
    /// Goes to a move to read what is found there.
    GoRead(NodeId),
    Walk(Way),
    /// Folds or unfolds the row in which a move stands.
    Fold(NodeId),
    FoldHere,
    /// Folds or unfolds all side lines.
    FoldAll(bool),
    /// Puts the focus into a field.
    Focus(&'static str),
    Play(Move),
    Claim(NodeId, Claim),
    /// Moves the line one is at up (-1) or down (1) among its siblings.
    ShiftHere(i32),
    CutHere,
    /// The move one is at with what follows, to be pasted elsewhere.
    CopyLine,
    CutLine,
    PasteLine,
    /// A sign was typed at the move one is at.
    Glyph(char),
    /// Sets the glyphs of the move one is at.
    Glyphs(Vec<u8>),
    Words {
        node: NodeId,
        text: String,
    },
    WordsBefore {
        node: NodeId,
        text: String,
    },
    Tag {
        name: String,
        value: String,
    },
    /// Takes the pencil up, with which drags on the board draw, or lays it down.
    Pencil(bool),
    /// How what is drawn looks.
    Stroke(LineKind),
    /// Draws a mark at the move one is at, or takes the same one away.
    Draw(Mark),
    /// Takes all marks at the move one is at away.
    Wipe,
    Mend(Vec<Edit>),
    /// Fills in the best answer to each unanswered defence.
    Fill,

    // Moments.
    /// Looks for the moments of the open game, or goes on with it.
    Seek,
    /// Stops looking in the open game, or in all.
    SeekEnd {
        all: bool,
    },
    /// A worker answered a question about a game.
    Sought {
        seat: usize,
        ticket: u32,
        answer: Option<Box<moments::Answer>>,
        millis: f64,
    },
    /// Shows a moment that was found, by its ply, or folds it.
    Regard(usize),
    /// Points at a moment that was found, or no more.
    Glimpse(Option<usize>),
    /// How closely the next search looks.
    Effort(Effort),
    /// Looks once more, from the start.
    SeekAnew,
    /// Makes the game ask at a moment that was found.
    AskFound(usize),
    /// A new puzzle of a moment that was found.
    PuzzleOf(usize),
    /// Asks this, at its place of the open game.
    AskHere(Moment),
    AskNot(NodeId),
    /// Something about the author's earlier games.
    Earlier(collection::Event),
    /// Something about files with endgame tables.
    Endings(endings::Event),

    // The board.
    SetUp(bool),
    Setup(SetupChange),
    TurnBoard,
    /// Speaks the language of this tag from now on.
    Speak(String),
    /// Gives the focus to a field of the page, by its id.
    GoTo(&'static str),

    // The list of keys and commands.
    Finder(bool),
    /// The guide is opened, read or closed.
    Guide(Turn),
    /// Looks for what was typed.
    Find(String),
    /// Picks the command after (1) or before (-1).
    Pick(isize),
    /// Does what was found at this place.
    DoFound(usize),
    /// Shows a line from a node; moves in UCI.
    Show {
        node: NodeId,
        line: Vec<String>,
    },
    ShowTo(usize),
    /// The next move of the line shown, if it is still the same showing.
    ShowNext(u32),
    ShowEnd,
    /// Shows a reason, by its number, on the board.
    Why(usize),

    // The proof.
    /// Unfolds or folds it.
    Proof(bool),
    /// Plays a move on the board, only to show it.
    Step(Move),
    /// Adds the line shown, as far as it is played, to the solution.
    AddWalked,

    // Proving.
    Ready {
        seat: usize,
    },
    Progress {
        seat: usize,
        ticket: u32,
        nodes: u64,
    },
    Answered {
        seat: usize,
        ticket: u32,
        answer: Answer,
    },
    Broke {
        seat: usize,
        why: String,
    },
    /// What came of a second check.
    SecondDone {
        ticket: u32,
        heard: Vec<Heard>,
    },
    /// Save what our two programs disagree about.
    SaveDisagreement,
    /// Its worker broke down.
    SecondBroke(String),
    /// Workers cannot run here.
    NoWorkers(String),
    ExplainerReady,
    Explained {
        ticket: u32,
        explanation: Box<Explanation>,
    },
    ExplainerBroke(String),
    Stop,
    GoOn,
    /// What was left undecided is searched again with ten times as much.
    SearchOn,

    // Giving out.
    Publish(Scope),
    /// Publishes although not everything is sound.
    PublishAllTheSame(Purpose),
    /// Saves what waits for its reasons without those still missing.
    WithoutReasons,
    /// Gives up what waits for its reasons.
    GiveUpFile,
    /// Whether files are to carry the proofs.
    WithProofs(bool),
    Preview,
    PreviewEnd,
    /// The preview is to be made anew, if nothing changed since.
    PreviewDue(u32),
    PreviewWidth(Width),
    /// A finding is pointed at or has the focus, by its place in the report.
    Point(Option<usize>),
    Template {
        purpose: Purpose,
        template: Result<String, String>,
    },
    SavePgn(Scope),
    SaveEpd(Scope),
    /// Saves a page to print, with so many diagrams on each sheet: 2, 4 or 6.
    SaveHandout(Scope, u8),
    SaveCourse(Scope, Standard),
    CopyFen,
    /// About the diagram that is saved.
    Picture(PictureChange),
    SaveReading(SheetId),
    /// Copies a frame that shows the student's file in a page.
    CopyFrame,
    Copied {
        text: String,
        result: Result<(), String>,
    },
    NotDownloaded {
        name: String,
        why: String,
    },

    // The store.
    /// The store was read.
    Found(Box<Found>),
    /// Nothing was written, because this is there by now.
    Elsewhere(Box<Found>),
    /// The store took or gave nothing. `full`: it has no room left.
    StoreRefused {
        why: String,
        full: bool,
    },
    SaveDue,
    /// The page goes out of sight.
    SaveNow,
    Written,
    /// Another tab wrote, or the page comes into sight again.
    LookElsewhere,
    /// Puzzles that another tab removed, each with the one it stood behind.
    BringBack(Vec<(Rc<Sheet>, Option<SheetId>)>),
    /// How much room the browser's storage has.
    Room(Room),
    /// Whether the browser promised to keep the store.
    Stays(bool),
    SaveBackup,
    Dismiss(u32),
}

/// What the browser is asked to do.
#[derive(Clone, Debug)]
pub enum Effect {
    Work(Order),
    Second(SecondOrder),
    /// For the worker that explains.
    Explain(explaining::Order),
    /// For the worker with the earlier games.
    Earlier(collection::Order),
    /// Hand the files with endgame tables to the workers.
    HandEndings,
    /// Send `SaveDue` in a moment.
    SaveSoon,
    Write(Box<Writing>),
    /// Read what is not known, of a store that held this row.
    Reread(Option<Row>),
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
    /// Give a package to the browser to save.
    Package {
        name: String,
        bytes: Vec<u8>,
    },
    /// Make an image of points of an SVG, so wide and high, to be saved.
    Png {
        name: String,
        svg: String,
        width: u32,
    },
    Copy(String),
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
    /// Offers undo no more: it would undo something else now.
    pub fn pass(&mut self) {
        self.passed = true;
        self.offers.retain(|(_, offer)| !matches!(offer, Msg::Undo));
    }
}
