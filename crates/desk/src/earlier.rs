//! What the worker with the author's earlier games is asked and tells, and what it
//! does: it reads games into an index, and looks positions up. Where the index is
//! kept is left to the edge.

use keyproof::moments::Course;
use keyproof::notation::{fen, pgn_read};
use keyproof::seen::{Builder, Index, LeftOut, Summary};
use serde::{Deserialize, Serialize};
use shakmaty::Chess;

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
    Lookup {
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
    pub summary: Summary,
    /// Moves of the game to its last position that occurred before.
    pub known_for: Option<usize>,
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
pub fn look_up(index: &Index, game: &str, position: &str) -> Option<Found> {
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
        summary: index.summary(&position, own, MOST),
        known_for: index.known_for(&positions, own),
    })
}
