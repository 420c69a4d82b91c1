//! What happens to the list of puzzles: how they come, go and stand in it.

use crate::shelf;
use crate::work::SheetId;

/// A message about the list of puzzles.
#[derive(Clone, Debug)]
pub enum ListMsg {
    New,
    /// A game from its first move, to be played in.
    NewGame,
    Example,
    /// A lesson that stops and asks.
    ExampleLesson,
    /// Something in the list of all puzzles.
    Shelf(shelf::Event),
    Open(SheetId),
    /// Opens the first that is shown for all that is searched for by now.
    OpenFirst,
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
    SaveReading(SheetId),
    PasteBox(bool),
}
