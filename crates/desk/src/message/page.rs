//! What happens to the page around the work.

use super::Turn;

/// A message about the page.
#[derive(Clone, Debug)]
pub enum PageMsg {
    /// Speaks the language of this tag from now on.
    Speak(String),
    /// Puts the focus into a field.
    Focus(&'static str),
    Finder(bool),
    /// The guide is opened, read or closed.
    Guide(Turn),
    /// Looks for what was typed.
    Find(String),
    /// Picks the command after (1) or before (-1).
    Pick(isize),
    /// Does what was found at this place.
    DoFound(usize),
    Dismiss(u32),
}
