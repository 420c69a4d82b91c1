//! Whether the work is saved: when to write, what is known to lie in the store,
//! and what the browser said against it.

use std::rc::Rc;

use keyproof::notation::{pgn_read, pgn_write};

use crate::example;
use crate::saved::{Sought, Stored, Writing};
use crate::work::{Sheet, Work};

/// Where the saving of the work stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stage {
    /// The store is being read. `true`: something changed meanwhile.
    Loading(bool),
    Clean,
    /// Changed; a saving is due.
    Due,
    /// A saving is under way. `true`: something changed since it began.
    Writing(bool),
    /// The last try failed; the next change makes another.
    Failed,
}

/// The saving of the work.
#[derive(Clone, Debug)]
pub struct Saving {
    pub stage: Stage,
    /// What is known to lie in the store.
    pub stored: Stored,
    /// What will, when the writing under way succeeds.
    pending: Option<Stored>,
    /// Records of earlier versions, to be removed with the next writing.
    pub old: Vec<String>,
    /// The puzzles that came of them.
    pub carried: Vec<Rc<Sheet>>,
    /// Why the last try failed, until one succeeds.
    pub refused: Option<String>,
    /// The notice that says so.
    pub told: Option<u32>,
    /// The page is going out of sight: what changes is written at once.
    urgent: bool,
    /// A note of what is not written lies in the browser.
    pub noted: bool,
    /// How often something was written that the page itself was to have in it.
    pub rest: u32,
    /// It does not have it yet: that waits until the author rests.
    pub resting: bool,
    /// Another tab wrote while this one did.
    pub look_again: bool,
    /// The browser is to be asked not to throw the store away.
    pub ask: bool,
    /// What it answered.
    pub stays: Option<bool>,
    /// The notice that little room is left.
    pub room_told: Option<u32>,
}

/// What is left of the browser's storage, in bytes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Room {
    pub used: f64,
    pub quota: f64,
}

impl Room {
    /// A rest that the author is told of.
    const SMALL: f64 = 8.0 * 1024.0 * 1024.0;

    pub fn left(self) -> f64 {
        (self.quota - self.used).max(0.0)
    }
    /// The rest in megabytes, where that is little.
    pub fn small(self) -> Option<u32> {
        let left = self.left();
        (left < Room::SMALL).then_some((left / (1024.0 * 1024.0)) as u32)
    }
}

impl Saving {
    pub fn new() -> Saving {
        Saving {
            stage: Stage::Loading(false),
            stored: Stored::default(),
            pending: None,
            old: Vec::new(),
            carried: Vec::new(),
            refused: None,
            told: None,
            urgent: false,
            noted: false,
            rest: 0,
            resting: false,
            look_again: false,
            ask: false,
            stays: None,
            room_told: None,
        }
    }
    /// The work changed. `true`: a saving is to be scheduled.
    pub fn changed(&mut self) -> bool {
        let (stage, due) = match self.stage {
            Stage::Clean | Stage::Failed => (Stage::Due, true),
            Stage::Loading(_) => (Stage::Loading(true), false),
            Stage::Writing(_) => (Stage::Writing(true), false),
            Stage::Due => (Stage::Due, false),
        };
        self.stage = stage;
        due
    }
    /// The page goes out of sight. `true`: a saving is due.
    pub fn hurry(&mut self) -> bool {
        self.urgent = matches!(self.stage, Stage::Writing(_));
        self.stage == Stage::Due
    }
    /// A saving is due: this is to be written, and what will then lie in the
    /// store. `false`: nothing is left to write.
    pub fn begin(&mut self, writing: &mut Writing, mut pending: Stored) -> bool {
        writing.gone.extend(self.old.iter().cloned());
        if !writing.manifest.asked && writing.sheets.iter().any(|s| !is_example(&s.pgn)) {
            writing.manifest.asked = true;
            self.ask = true;
        }
        if writing.is_idle() {
            self.stage = Stage::Clean;
            return false;
        }
        pending.manifest = Some(writing.manifest.clone());
        self.pending = Some(pending);
        self.stage = Stage::Writing(false);
        true
    }
    /// It was written. `true`: the next is to be written, and at once.
    pub fn written(&mut self) -> bool {
        if let Some(stored) = self.pending.take() {
            self.stored = stored;
        }
        self.old.clear();
        self.carried.clear();
        let again = self.stage == Stage::Writing(true);
        self.stage = if again { Stage::Due } else { Stage::Clean };
        std::mem::take(&mut self.urgent) && again
    }
    /// The store was read, or what another tab wrote.
    pub fn took_in(&mut self, stored: Stored) {
        self.stage = Stage::Clean;
        self.stored = stored;
        self.pending = None;
    }
    /// The store took nothing.
    pub fn refuse(&mut self, why: String) {
        self.stage = Stage::Failed;
        self.pending = None;
        self.refused = Some(why);
    }
    /// Whether closing the page now would lose something of this work.
    pub fn unsaved(&self, work: &Work, sought: &Sought) -> bool {
        self.stage != Stage::Clean && !self.stored.holds(work, sought)
    }
}

impl Default for Saving {
    fn default() -> Saving {
        Saving::new()
    }
}

/// Whether a record is the example as it came.
fn is_example(pgn: &str) -> bool {
    let mut example = pgn_read::read(example::PGN).into_iter();
    example.any(|game| pgn_write::write(&game.draft) == pgn)
}
