//! What happens to a game: its moments are looked for and asked at, and earlier
//! games are looked up.

use keyproof::draft::NodeId;
use keyproof::lesson::Moment;
use keyproof::moments;

use crate::collection;
use crate::seek::Effort;

/// A message about a game.
#[derive(Clone, Debug)]
pub enum GameMsg {
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
    /// Looks once more, from the start.
    SeekAnew,
    /// How closely the next search looks.
    Effort(Effort),
    /// Shows a moment that was found, by its ply, or folds it.
    Regard(usize),
    /// Points at a moment that was found, or no more.
    Glimpse(Option<usize>),
    /// Makes the game ask at a moment that was found.
    AskFound(usize),
    /// A new puzzle of a moment that was found.
    PuzzleOf(usize),
    /// Asks this, at its place of the open game.
    AskHere(Moment),
    AskNot(NodeId),
    /// Something about the author's earlier games.
    Earlier(collection::Event),
}
