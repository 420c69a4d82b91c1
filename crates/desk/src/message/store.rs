//! What happens between the desk and the store that keeps its work.

use std::rc::Rc;

use crate::keeping::Room;
use crate::saved::Found;
use crate::work::Sheet;
use crate::work::SheetId;

/// A message about the store.
#[derive(Clone, Debug)]
pub enum StoreMsg {
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
    /// What lies on the desk is to be in the page itself, if nothing was written since.
    CarryDue(u32),
    /// The same at once: the browser is about to save the page.
    Carry,
    /// Another tab wrote, or the page comes into sight again.
    LookElsewhere,
    /// Puzzles that another tab removed, each with the one it stood behind.
    BringBack(Vec<(Rc<Sheet>, Option<SheetId>)>),
    /// How much room the browser's storage has.
    Room(Room),
    /// Whether the browser promised to keep the store.
    Stays(bool),
    SaveBackup,
}
