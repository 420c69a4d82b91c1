//! What lies on the desk: the puzzles in order, which is open, and where in
//! its tree the author stands. Copies are cheap; undo keeps whole ones.

use std::rc::Rc;

use keyproof::draft::{Draft, NodeId};
use keyproof::notation::TextFault;

/// Names a puzzle on the desk, also while it is removed and may come back.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct SheetId(pub u32);

/// A text that did not read without faults. It is kept whole, so that nothing
/// in it is lost.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Reading {
    /// The file's name, or "the pasted text".
    pub from: String,
    pub text: Rc<str>,
    pub faults: Vec<TextFault>,
}

/// One puzzle on the desk.
#[derive(Clone, Debug)]
pub struct Sheet {
    pub id: SheetId,
    pub draft: Draft,
    /// What could not be read when it came in, until the author puts it away.
    pub reading: Option<Rc<Reading>>,
}

/// All puzzles on the desk.
#[derive(Clone, Debug)]
pub struct Work {
    pub sheets: Vec<Rc<Sheet>>,
    pub open: Option<SheetId>,
    /// Where the author stands in the open puzzle.
    pub at: NodeId,
}

impl Work {
    pub fn new() -> Work {
        Work {
            sheets: Vec::new(),
            open: None,
            at: NodeId::ROOT,
        }
    }
    pub fn sheet(&self, id: SheetId) -> Option<&Rc<Sheet>> {
        self.sheets.iter().find(|s| s.id == id)
    }
    pub fn opened(&self) -> Option<&Rc<Sheet>> {
        self.open.and_then(|id| self.sheet(id))
    }
    /// The place of a puzzle in the row, from 0.
    pub fn place(&self, id: SheetId) -> Option<usize> {
        self.sheets.iter().position(|s| s.id == id)
    }
}

impl Default for Work {
    fn default() -> Work {
        Work::new()
    }
}

/// A tag's value, unless it is empty or the standard's `?` for unknown.
pub fn told<'a>(draft: &'a Draft, tag: &str) -> Option<&'a str> {
    draft
        .tag(tag)
        .map(str::trim)
        .filter(|v| !v.is_empty() && *v != "?" && *v != "-")
}

/// The title of a puzzle: its event, else its players, else `None`.
pub fn title(draft: &Draft) -> Option<String> {
    if let Some(event) = told(draft, "Event") {
        return Some(event.to_owned());
    }
    match (told(draft, "White"), told(draft, "Black")) {
        (None, None) => None,
        (white, black) => Some(format!(
            "{}\u{2013}{}",
            white.unwrap_or("?"),
            black.unwrap_or("?")
        )),
    }
}

/// Comments as one text for a field.
pub fn joined(comments: &[String]) -> String {
    comments.join(" ")
}

/// A text from a field as comments.
pub fn comments(text: &str) -> Vec<String> {
    if text.trim().is_empty() {
        Vec::new()
    } else {
        vec![text.to_owned()]
    }
}
