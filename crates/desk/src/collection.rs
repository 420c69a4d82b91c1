//! The author's earlier games: what is collected, how far collecting is, and
//! what is known of the position the author looks at. The index itself lies in a
//! worker, which keeps it in the browser's store; starting that worker and
//! carrying messages is left to the edge.

use std::rc::Rc;

use keyproof::moments::Course;
use keyproof::notation::{fen, pgn_read};
use keyproof::seen::{Builder, Index, LeftOut, Sight};
use serde::{Deserialize, Serialize};
use shakmaty::Chess;

use keyproof::draft::NodeId;

use crate::work::Sheet;

/// What the collection holds.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct About {
    /// The files it came from.
    pub files: Vec<String>,
    pub games: usize,
    pub positions: usize,
    /// Bytes of memory that positions and names take.
    pub bytes: usize,
    pub header_bytes: usize,
    /// How long the last files took, in milliseconds.
    pub millis: f64,
    /// Games of which not all could be read, of those last files.
    pub in_part: usize,
    /// Games without a legal start.
    pub left_out: usize,
    /// Games that were there already.
    pub twice: usize,
}

/// A file's name and text.
pub type Text = (String, String);

/// What the worker is asked.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub enum Ask {
    /// Adds games to the collection.
    Gather { ticket: u32, texts: Vec<Text> },
    /// Looks a position up. `game` is the game it is from, as PGN.
    Look {
        ticket: u32,
        game: String,
        fen: String,
    },
}

/// What the worker tells.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub enum Told {
    /// `share` of the text is read, from 0 to 1.
    SoFar {
        ticket: u32,
        share: f64,
        positions: usize,
    },
    /// All is read; `kept` says why the store refused it.
    Gathered {
        ticket: u32,
        about: About,
        kept: Result<(), String>,
    },
    /// `None` if the collection is gone from the store.
    Looked { ticket: u32, found: Option<Found> },
}

/// What is known of a position and of the game it is from.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Found {
    pub sight: Sight,
    /// Moves of the game to its last position that occurred before.
    pub known_for: Option<usize>,
}

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

/// What the edge must do.
#[derive(Clone, Debug, PartialEq)]
pub enum Order {
    Ask(Ask),
    /// End the worker.
    End,
    /// End the worker and empty the store.
    Forget,
}

/// How far collecting is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Gathering {
    pub share: f64,
    pub positions: usize,
}

/// A position of a sheet.
type Place = (Rc<Sheet>, NodeId);

/// The collection, as the desk sees it.
#[derive(Default)]
pub struct Collection {
    about: Option<About>,
    gathering: Option<(u32, Gathering)>,
    /// Why the store refused it.
    refused: Option<String>,
    trouble: Option<Trouble>,
    tickets: u32,
    /// The position that is being looked up.
    asked: Option<(u32, Place)>,
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

impl Collection {
    pub fn about(&self) -> Option<&About> {
        self.about.as_ref()
    }
    pub fn gathering(&self) -> Option<Gathering> {
        self.gathering.map(|(_, gathering)| gathering)
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

    /// Something happened.
    pub fn happen(&mut self, event: Event) -> Option<Order> {
        match event {
            Event::Restored(about) => {
                self.about = self.about.take().or(about);
                None
            }
            Event::Came(texts) if texts.is_empty() => None,
            Event::Came(texts) => {
                self.trouble = None;
                self.tickets += 1;
                let ticket = self.tickets;
                let begun = Gathering {
                    share: 0.0,
                    positions: 0,
                };
                self.gathering = Some((ticket, begun));
                Some(Order::Ask(Ask::Gather { ticket, texts }))
            }
            Event::Told(told) => {
                self.told(told);
                None
            }
            Event::Broke(why) => {
                self.trouble = Some(Trouble::Broke(why));
                self.end();
                Some(Order::End)
            }
            Event::Stop => {
                self.end();
                Some(Order::End)
            }
            Event::Remove => {
                self.end();
                self.about = None;
                self.refused = None;
                self.trouble = None;
                Some(Order::Forget)
            }
        }
    }

    /// Looks a position up, unless that is done or being done. One position is
    /// looked up at a time, so that walking does not pile them up.
    pub fn look_up(&mut self, sheet: &Rc<Sheet>, node: NodeId, position: &Chess) -> Option<Order> {
        let idle = self.gathering.is_none() && self.asked.is_none();
        if self.about.is_none() || !idle || self.found(sheet, node).is_some() {
            return None;
        }
        self.tickets += 1;
        self.asked = Some((self.tickets, (sheet.clone(), node)));
        Some(Order::Ask(Ask::Look {
            ticket: self.tickets,
            game: keyproof::notation::pgn_write::write(&sheet.draft),
            fen: fen::write(position),
        }))
    }

    fn told(&mut self, told: Told) {
        match told {
            Told::SoFar {
                ticket,
                share,
                positions,
            } => {
                if let Some((_, gathering)) = self.gathering.as_mut().filter(|g| g.0 == ticket) {
                    *gathering = Gathering { share, positions };
                }
            }
            Told::Gathered {
                ticket,
                about,
                kept,
            } => {
                self.gathering.take_if(|(at, _)| *at == ticket);
                self.refused = kept.err();
                self.asked = None;
                self.found = None;
                if about.games == 0 {
                    self.trouble = Some(Trouble::NoGames(about.files));
                    self.about = None;
                } else {
                    self.about = Some(about);
                }
            }
            Told::Looked { ticket, found } => {
                let Some((_, place)) = self.asked.take_if(|(at, _)| *at == ticket) else {
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
    fn end(&mut self) {
        self.gathering = None;
        self.asked = None;
        self.found = None;
        if self.refused.take().is_some() {
            self.about = None;
        }
    }
}

/// Reads games into an index, `tell`ing the share of the text that is read and
/// the positions taken in. `about` is what the index held before.
pub fn gather(
    index: Index,
    about: About,
    texts: &[Text],
    tell: &mut dyn FnMut(f64, usize),
) -> (Index, About) {
    let all: usize = texts.iter().map(|(_, text)| text.len()).sum();
    let mut builder = Builder::onto(index);
    let mut about = About {
        in_part: 0,
        left_out: 0,
        twice: 0,
        ..about
    };
    let mut before = 0;
    for (name, text) in texts {
        pgn_read::each_so_far(text, &mut |game, so_far| {
            // Words alone, as before the first game of a file, are no game.
            let blank = game.draft.tags().is_empty() && game.draft.walk().is_empty();
            if blank {
                return;
            }
            about.in_part += usize::from(!game.faults.is_empty());
            match builder.add(&game.draft) {
                Ok(()) => {}
                Err(LeftOut::Twice) => about.twice += 1,
                Err(LeftOut::NoStart | LeftOut::Full) => about.left_out += 1,
            }
            let share = (before + so_far) as f64 / all.max(1) as f64;
            tell(share, builder.positions());
        });
        before += text.len();
        if !about.files.contains(name) {
            about.files.push(name.clone());
        }
    }
    let index = builder.index();
    about.games = index.games();
    about.positions = index.positions();
    about.bytes = index.bytes();
    about.header_bytes = index.header_bytes();
    (index, about)
}

/// Earlier games that are shown of a position.
const MOST: usize = 30;

/// Looks a position of a game up.
pub fn look(index: &Index, game: &str, position: &str) -> Option<Found> {
    let position = fen::read(position).ok()?;
    let game = pgn_read::read(game).into_iter().next()?.draft;
    let own = index.same_as(&game);
    let positions: Vec<Chess> = Course::of(&game).map_or_else(
        |_| vec![],
        |course| {
            (0..=course.plies.len())
                .map(|ply| course.position(ply).clone())
                .collect()
        },
    );
    Some(Found {
        sight: index.sight(&position, own, MOST),
        known_for: index.known_for(&positions, own),
    })
}

fn same(place: &Place, sheet: &Rc<Sheet>, node: NodeId) -> bool {
    Rc::ptr_eq(&place.0, sheet) && place.1 == node
}
