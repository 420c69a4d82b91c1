//! The author's earlier games: what is collected, how far collecting is, and
//! what is known of the position the author looks at. The index itself lies in a
//! worker, which keeps it in the browser's store; starting that worker and
//! carrying messages is left to the edge.

use std::rc::Rc;

use keyproof::draft::NodeId;
use keyproof::notation::{fen, pgn_write};
use shakmaty::Chess;

use crate::earlier::{About, Ask, Found, Text, Told};
use crate::lane::Lane;
use crate::wire::{self, Order, Post};
use crate::work::Sheet;

/// What can happen to the collection.
#[derive(Clone, Debug)]
pub enum Event {
    /// What the store keeps.
    Restored(Option<About>),
    /// Files of games came.
    Came(Vec<Text>),
    Told(Told),
    Broke(String),
    /// Ends collecting.
    Stop,
    Remove,
}

/// How far collecting is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Gathering {
    pub share: f64,
    pub positions: usize,
}

/// A position of a sheet.
type Place = (Rc<Sheet>, NodeId);

/// What the worker is at.
enum Task {
    Gather(Gathering),
    Lookup(Place),
}

/// The collection, as the desk sees it.
pub struct Collection {
    about: Option<About>,
    lane: Lane<Task>,
    /// Why the store refused it.
    refused: Option<String>,
    trouble: Option<Trouble>,
    tickets: u32,
    found: Option<(Place, Found)>,
}

/// What went wrong last.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Trouble {
    /// No game in these files.
    NoGames(Vec<String>),
    /// The store lost it.
    Gone,
    /// The worker broke down, and says why.
    Broke(String),
}

impl Default for Collection {
    fn default() -> Collection {
        Collection {
            about: None,
            // The worker is started when it is asked for something.
            lane: Lane::Idle,
            refused: None,
            trouble: None,
            tickets: 0,
            found: None,
        }
    }
}

impl Collection {
    pub fn about(&self) -> Option<&About> {
        self.about.as_ref()
    }
    pub fn gathering(&self) -> Option<Gathering> {
        match self.lane.task()? {
            Task::Gather(gathering) => Some(*gathering),
            Task::Lookup(_) => None,
        }
    }
    /// Why it will be gone when the page is closed.
    pub fn refused(&self) -> Option<&str> {
        self.refused.as_deref()
    }
    pub fn trouble(&self) -> Option<&Trouble> {
        self.trouble.as_ref()
    }
    /// What is known of a position, once it is looked up.
    pub fn found(&self, sheet: &Rc<Sheet>, node: NodeId) -> Option<&Found> {
        let found = self.found.as_ref();
        found
            .filter(|(place, _)| same(place, sheet, node))
            .map(|(_, found)| found)
    }

    /// Something happened; `language` is that of the page, for what the worker says.
    pub fn happen(&mut self, event: Event, language: &str) -> Option<Order> {
        match event {
            Event::Restored(about) => {
                self.about = self.about.take().or(about);
                None
            }
            Event::Came(texts) if texts.is_empty() => None,
            Event::Came(texts) => {
                self.trouble = None;
                let begun = Gathering {
                    share: 0.0,
                    positions: 0,
                };
                let ticket = self.begin(Task::Gather(begun));
                Some(asked(language, Ask::Gather { ticket, texts }))
            }
            Event::Told(told) => {
                self.told(told);
                None
            }
            Event::Broke(why) => {
                self.trouble = Some(Trouble::Broke(why));
                Some(self.end())
            }
            Event::Stop => Some(self.end()),
            Event::Remove => {
                let order = self.end();
                self.about = None;
                self.refused = None;
                self.trouble = None;
                Some(order)
            }
        }
    }

    /// Looks a position up, unless that is done or being done. One position is
    /// looked up at a time, so that walking does not pile them up.
    pub fn look_up(
        &mut self,
        sheet: &Rc<Sheet>,
        node: NodeId,
        position: &Chess,
        language: &str,
    ) -> Option<Order> {
        if self.about.is_none() || !self.lane.is_idle() || self.found(sheet, node).is_some() {
            return None;
        }
        let ticket = self.begin(Task::Lookup((sheet.clone(), node)));
        let ask = Ask::Lookup {
            ticket,
            game: pgn_write::write(&sheet.draft),
            fen: fen::write(position),
        };
        Some(asked(language, ask))
    }

    fn begin(&mut self, task: Task) -> u32 {
        self.tickets += 1;
        self.lane.begin(self.tickets, task);
        self.tickets
    }
    fn told(&mut self, told: Told) {
        match told {
            Told::SoFar {
                ticket,
                share,
                positions,
            } => {
                if let Some(Task::Gather(gathering)) = self.lane.at(ticket) {
                    *gathering = Gathering { share, positions };
                }
            }
            Told::Gathered {
                ticket,
                about,
                kept,
            } => {
                self.lane.done(ticket);
                self.refused = kept.err();
                self.found = None;
                if about.games == 0 {
                    self.trouble = Some(Trouble::NoGames(about.files));
                    self.about = None;
                } else {
                    self.about = Some(about);
                }
            }
            Told::Looked { ticket, found } => {
                let Some(Task::Lookup(place)) = self.lane.done(ticket) else {
                    return;
                };
                match found {
                    Some(found) => self.found = Some((place, found)),
                    None => {
                        self.about = None;
                        self.trouble = Some(Trouble::Gone);
                    }
                }
            }
        }
    }

    /// The worker is ended, and what was not kept with it.
    fn end(&mut self) -> Order {
        self.lane.end();
        self.found = None;
        if self.refused.take().is_some() {
            self.about = None;
        }
        Order::End(Post::Earlier)
    }
}

fn same(place: &Place, sheet: &Rc<Sheet>, node: NodeId) -> bool {
    Rc::ptr_eq(&place.0, sheet) && place.1 == node
}

fn asked(language: &str, ask: Ask) -> Order {
    let language = language.to_owned();
    Order::Ask(Post::Earlier, wire::Ask::Earlier { language, ask })
}
