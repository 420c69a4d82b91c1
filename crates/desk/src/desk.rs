//! The state of the page and all that can happen to it. No browser in here:
//! what the browser is asked to do comes out as [`Effect`]s.

mod board;
#[cfg(all(test, feature = "broken-prover"))]
mod broken;
mod changes;
mod checking;
mod class;
pub mod commands;
mod document;
mod earlier;
mod endings;
mod finder;
mod folds;
mod games;
mod giving_out;
mod guide;
mod leaves;
mod lines;
mod list;
#[cfg(test)]
mod long;
mod looking;
mod marks;
mod moments;
mod page;
mod picture;
mod posed;
mod preview;
mod proof;
mod reasons;
#[cfg(test)]
mod safety;
mod second;
mod shelf;
mod store;
mod talk;
#[cfg(test)]
mod tests;
mod tongue;
mod tree;

use keyproof::draft::{Draft, NodeId};
use keyproof::tongue::{Phrase, holes, marked, say, tr};

use crate::keeping::Saving;
use crate::message::{EditMsg, Effect, Msg, Offers, StoreMsg};
use crate::view_model::stipulation;
use crate::work::SheetId;

use board::Board;
use checking::Checking;
use class::Room;
use document::Document;
use games::Games;
use giving_out::GivingOut;
use list::List;
use page::Page;
use talk::Talking;

pub use board::Showing;
pub use guide::{Guide, HERE, SEARCH};
pub use picture::Picturing;
pub use reasons::sans;

/// Milliseconds between the moves of a line that is shown.
const SHOW_PACE: u32 = 900;

/// Changes that count as one while they go on.
#[derive(Clone, Debug, PartialEq)]
enum Run {
    Tag(SheetId, String),
    Words(SheetId, NodeId),
    WordsBefore(SheetId, NodeId),
    Fen(SheetId),
    /// Defences being answered.
    Fill(SheetId),
}

/// The whole state of the page, in parts. Each has its module with its update.
pub struct Desk {
    document: Document,
    list: List,
    board: Board,
    checking: Checking,
    games: Games,
    giving_out: GivingOut,
    saving: Saving,
    class: Room,
    page: Page,
    talking: Talking,
}

impl Desk {
    /// An empty desk with this many workers being started.
    pub fn new(workers: usize) -> Desk {
        Desk {
            document: Document::new(),
            list: List::new(),
            board: Board::default(),
            checking: Checking::new(workers),
            games: Games::default(),
            giving_out: GivingOut::default(),
            saving: Saving::new(),
            class: Room::default(),
            page: Page::new(),
            talking: Talking::default(),
        }
    }

    /// Something happened.
    pub fn update(&mut self, msg: Msg) -> Vec<Effect> {
        self.page.tongue.speaks(|| self.run(msg))
    }

    fn run(&mut self, msg: Msg) -> Vec<Effect> {
        let learns = matches!(msg, Msg::Check(_));
        let mut effects = self.happen(msg);
        if self.checking.proof_open {
            effects.extend(self.assign());
        }
        effects.extend(self.fill_on());
        effects.extend(self.explain_on());
        effects.extend(self.preview_on());
        effects.extend(self.look_up_on());
        effects.extend(self.look_on());
        effects.extend(self.talk_on());
        if learns {
            effects.extend(self.judge_anew());
        }
        effects.extend(self.fade_on());
        self.shelve();
        effects
    }

    fn happen(&mut self, msg: Msg) -> Vec<Effect> {
        match msg {
            Msg::List(msg) => self.update_list(msg),
            Msg::Edit(msg) => self.update_edit(msg),
            Msg::Board(msg) => self.update_board(msg),
            Msg::Check(msg) => self.update_check(msg),
            Msg::Game(msg) => self.update_game(msg),
            Msg::GiveOut(msg) => self.update_give_out(msg),
            Msg::Class(msg) => self.update_class(msg),
            Msg::Store(msg) => self.update_store(msg),
            Msg::Page(msg) => self.update_page(msg),
            Msg::Talk(msg) => self.update_talk(msg),
        }
    }
}

/// Says what went wrong, with the reason that was given for it.
fn because(words: Phrase<{ holes::set("why") }>, why: String) -> impl Fn() -> String {
    move || say!(words, why = marked(&why))
}

/// The offer to undo what was just done.
fn undo() -> Offers {
    vec![(tr("Undo").into(), Msg::Edit(EditMsg::Undo))]
}

/// The offer to save a backup.
fn backup() -> Offers {
    vec![(tr("Save a backup").into(), Msg::Store(StoreMsg::SaveBackup))]
}

/// The whole moves that the stipulation names.
pub fn moves_asked(draft: &Draft) -> Option<u8> {
    let (aim, n) = stipulation(draft)?.forced()?;
    Some(if aim.shared() { n.div_ceil(2) } else { n })
}
