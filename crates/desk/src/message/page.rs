//! What happens to the page around the work.

use super::Turn;
use crate::leaf::Leaf;

/// A message about the page.
#[derive(Clone, Debug)]
pub enum PageMsg {
    /// Speaks the language of this tag from now on.
    Speak(String),
    /// Puts the focus into a field.
    Focus(&'static str),
    /// Opens a leaf.
    Leaf(Leaf),
    /// Opens the leaf with this number.
    LeafAt(usize),
    /// Lays the list of puzzles over the leaf, or takes it away.
    Listing(bool),
    Finder(bool),
    /// The guide is opened, read or closed.
    Guide(Turn),
    /// Looks for what was typed.
    Find(String),
    /// Picks the command after (1) or before (-1).
    Pick(isize),
    /// Does what was found at this place.
    DoFound(usize),
    /// Does the one picked among what was found for all that is typed by now: the page
    /// may not have been drawn since.
    DoPicked,
    Dismiss(u32),
}
