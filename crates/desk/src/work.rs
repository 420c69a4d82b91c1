//! What lies on the desk: the puzzles in order, which is open, and where in
//! its tree the author stands. Copies are cheap; undo keeps whole ones.

use std::rc::Rc;

use crate::class::Class;
pub use crate::sheet_id::SheetId;
use keyproof::draft::{Draft, Node, NodeId};
use keyproof::marks::{self, Mark};
use keyproof::notation::{Place, TextFault, pgn_write};
use keyproof::players;
use keyproof::tongue::say;

pub use keyproof::players::told;

/// A text that did not read without faults. It is kept whole, so that nothing
/// in it is lost.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Reading {
    /// The file’s name, or "the pasted text" and the like, to be looked up.
    pub from: String,
    pub text: Rc<str>,
    pub faults: Vec<TextFault>,
    excerpts: Vec<String>,
}

impl Reading {
    /// Faults that [`Self::excerpts`] goes to.
    const EXCERPTS: usize = 20;

    pub fn new(from: String, text: Rc<str>, faults: Vec<TextFault>) -> Reading {
        let lines: Vec<&str> = text.lines().collect();
        let excerpts = faults
            .iter()
            .take(Reading::EXCERPTS)
            .map(|fault| excerpt(&lines, fault.place))
            .collect();
        Reading {
            from,
            text,
            faults,
            excerpts,
        }
    }
    /// The first faults, each with the text around it.
    pub fn excerpts(&self) -> impl Iterator<Item = (&TextFault, &str)> {
        let around = self.excerpts.iter().map(String::as_str);
        self.faults.iter().zip(around)
    }
}

/// One puzzle on the desk.
#[derive(Clone, Debug)]
pub struct Sheet {
    pub id: SheetId,
    pub draft: Draft,
    /// What could not be read when it came in, until the author puts it away.
    pub reading: Option<Rc<Reading>>,
}

impl Sheet {
    /// Whether both hold the same, whatever they are named.
    pub fn holds_same(&self, other: &Sheet) -> bool {
        self.reading == other.reading
            && pgn_write::write(&self.draft) == pgn_write::write(&other.draft)
    }
    /// Whether it has no move yet, and came in without faults.
    pub fn is_begun(&self) -> bool {
        let root = self.draft.node(NodeId::ROOT);
        self.reading.is_none() && root.is_none_or(|root| root.children.is_empty())
    }
}

/// All puzzles on the desk.
#[derive(Clone, Debug)]
pub struct Work {
    pub sheets: Vec<Rc<Sheet>>,
    pub open: Option<SheetId>,
    /// Where the author stands in the open puzzle.
    pub at: NodeId,
    /// What the class answered.
    pub class: Rc<Class>,
}

impl Work {
    pub fn new() -> Work {
        Work {
            sheets: Vec::new(),
            open: None,
            at: NodeId::ROOT,
            class: Rc::default(),
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

/// The name of a sheet without a title, by its place on the desk from 0.
pub fn untitled(place: usize) -> String {
    say!("Puzzle {n}", n = (place + 1).to_string())
}

/// The title of a sheet: of a game and a lesson its players and the date, else the event,
/// else the players, else `None`.
pub fn title(draft: &Draft) -> Option<String> {
    let event = || told(draft, "Event").map(str::to_owned);
    let players = || players::players(draft);
    players::of_game(draft).or_else(event).or_else(players)
}

/// What a game was played in, where its title is its players.
pub fn event(draft: &Draft) -> Option<&str> {
    let game = players::of_game(draft).is_some();
    told(draft, "Event").filter(|_| game)
}

/// The part of a line that stands around a place.
fn excerpt(lines: &[&str], place: Place) -> String {
    let line = lines.get(place.line.saturating_sub(1) as usize);
    let start = (place.column as usize).saturating_sub(60);
    line.map_or_else(String::new, |l| l.chars().skip(start).take(140).collect())
}

/// The words after a move as one text, without the marks on the board.
pub fn words(node: &Node) -> String {
    joined(&marks::split(&node.after).0)
}

/// The marks that the author drew at a node.
pub fn drawn(node: &Node) -> Vec<Mark> {
    marks::split(&node.after).1
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_fault_is_shown_with_the_text_around_it() {
        let long = format!("{}oops{}", "a".repeat(500), "b".repeat(500));
        let fault = TextFault {
            place: Place {
                line: 2,
                column: 501,
            },
            text: "oops".into(),
            expected: "a move".into(),
        };
        let reading = Reading::new("it".into(), format!("x\n{long}").into(), vec![fault]);
        let (_, around) = reading.excerpts().next().unwrap();
        assert!(around.contains("aoopsb") && around.len() == 140);
    }
}
