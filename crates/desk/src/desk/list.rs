//! The list of puzzles: how they come, go and stand in it.

use keyproof::tongue::{marked, phrase, say};

use super::Desk;
use crate::example;
use crate::message::{Effect, ListMsg};
use crate::shelf::Shelf;
use crate::work::SheetId;

/// The list, and what is put into it.
pub(super) struct List {
    pub shelf: Shelf,
    pub paste_box: bool,
    /// The number of the next new sheet.
    pub next_sheet: u64,
}

impl List {
    pub fn new() -> List {
        List {
            shelf: Shelf::default(),
            paste_box: false,
            next_sheet: 1,
        }
    }
}

impl Desk {
    /// The list of all puzzles.
    pub fn shelf(&self) -> &Shelf {
        &self.list.shelf
    }
    pub fn paste_box(&self) -> bool {
        self.list.paste_box
    }

    pub(super) fn update_list(&mut self, msg: ListMsg) -> Vec<Effect> {
        match msg {
            ListMsg::New => self.add_new(),
            ListMsg::NewGame => self.add_game(),
            ListMsg::Example => self.came(phrase("the example"), example::PGN),
            ListMsg::ExampleLesson => self.example_lesson(),
            ListMsg::Shelf(event) => self.in_shelf(event),
            ListMsg::Open(id) => self.open(id),
            ListMsg::OpenFirst => {
                let first = self.list.shelf.shown().first().copied();
                first.map_or_else(Vec::new, |first| self.open(first))
            }
            ListMsg::Remove(id) => self.remove_all(&[id]),
            ListMsg::Reorder(id, by) => self.reorder(id, by),
            ListMsg::Put { sheet, onto, after } => self.put(sheet, onto, after),
            ListMsg::Came { from, text } => self.came(&from, &text),
            ListMsg::Pasted { text, in_tree } => {
                self.pasted(phrase("the pasted text"), &text, in_tree)
            }
            ListMsg::Unread { from, why } => self.unread(from, why),
            ListMsg::PutAwayReading(id) => {
                self.change_sheet(id, None, |sheet| sheet.reading = None)
            }
            ListMsg::SaveReading(id) => self.save_reading(id),
            ListMsg::PasteBox(open) => {
                self.list.paste_box = open;
                self.page.listing |= open;
                match open {
                    true => vec![Effect::Focus("paste-text")],
                    false => vec![],
                }
            }
        }
    }
    /// A file could not be read by the browser.
    fn unread(&mut self, from: String, why: String) -> Vec<Effect> {
        let text = move || {
            say!(
                "{from} could not be opened: {why}",
                from = from,
                why = marked(&why)
            )
        };
        self.warn(text, Vec::new);
        vec![]
    }
    /// Saves the text that a puzzle came of, as it came.
    fn save_reading(&self, id: SheetId) -> Vec<Effect> {
        let sheet = self.document.work.sheet(id);
        let Some(reading) = sheet.and_then(|sheet| sheet.reading.as_ref()) else {
            return vec![];
        };
        vec![Effect::Download {
            name: "as-it-came.pgn".into(),
            kind: "text/plain",
            text: reading.text.to_string(),
        }]
    }
}
