//! Work as it is saved: the PGN of all puzzles with what PGN has no place
//! for. And when to save: never over what another tab has saved since.

use std::rc::Rc;

use keyproof::draft::NodeId;
use keyproof::moments::Progress;
use keyproof::notation::{TextFault, pgn_read, pgn_write};
use serde::de::IgnoredAny;
use serde::{Deserialize, Deserializer, Serialize};

use crate::work::{Reading, Sheet, SheetId, Work};

/// Work as it lies in the store.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Saved {
    /// Counts the savings of this slot.
    pub revision: u32,
    /// When it was written, in milliseconds since 1970; the store sets it.
    pub time: f64,
    /// All puzzles, in order.
    pub pgn: String,
    /// The place of the open puzzle.
    pub open: Option<usize>,
    /// Texts that did not read without faults.
    pub readings: Vec<SavedReading>,
    /// Places of games whose moments were looked for, each with how far that
    /// came.
    #[serde(default, deserialize_with = "if_readable")]
    pub seeks: Vec<(usize, Progress)>,
}

/// A text that did not read without faults, and the puzzles that came of it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct SavedReading {
    pub from: String,
    pub text: String,
    /// Places of the puzzles, each with its faults.
    pub sheets: Vec<(usize, Vec<TextFault>)>,
}

/// What cannot be read of the searches is begun anew; the work itself must not
/// be lost over it.
fn if_readable<'de, D: Deserializer<'de>>(from: D) -> Result<Vec<(usize, Progress)>, D::Error> {
    #[derive(Deserialize)]
    #[serde(untagged)]
    enum Read {
        Fits(Vec<(usize, Progress)>),
        Other(IgnoredAny),
    }
    Ok(match Read::deserialize(from)? {
        Read::Fits(seeks) => seeks,
        Read::Other(_) => Vec::new(),
    })
}

impl Saved {
    pub fn of(work: &Work, revision: u32) -> Saved {
        let pgn: String = work
            .sheets
            .iter()
            .map(|s| pgn_write::write(&s.draft))
            .collect();
        let mut readings: Vec<(Rc<str>, SavedReading)> = Vec::new();
        for (place, sheet) in work.sheets.iter().enumerate() {
            let Some(reading) = &sheet.reading else {
                continue;
            };
            let entry = (place, reading.faults.clone());
            match readings
                .iter_mut()
                .find(|(text, _)| Rc::ptr_eq(text, &reading.text))
            {
                Some((_, saved)) => saved.sheets.push(entry),
                None => readings.push((
                    reading.text.clone(),
                    SavedReading {
                        from: reading.from.clone(),
                        text: reading.text.to_string(),
                        sheets: vec![entry],
                    },
                )),
            }
        }
        Saved {
            revision,
            time: 0.0,
            pgn,
            open: work.open.and_then(|id| work.place(id)),
            readings: readings.into_iter().map(|(_, r)| r).collect(),
            seeks: Vec::new(),
        }
    }
    /// The work again, with ids from `first_id` on.
    pub fn work(&self, first_id: u32) -> Work {
        let mut work = Work::new();
        for (id, game) in (first_id..).zip(pgn_read::read(&self.pgn)) {
            work.sheets.push(Rc::new(Sheet {
                id: SheetId(id),
                draft: game.draft,
                reading: None,
            }));
        }
        for reading in &self.readings {
            let text: Rc<str> = reading.text.as_str().into();
            for (place, faults) in &reading.sheets {
                if let Some(sheet) = work.sheets.get_mut(*place) {
                    Rc::make_mut(sheet).reading = Some(Rc::new(Reading::new(
                        reading.from.clone(),
                        text.clone(),
                        faults.clone(),
                    )));
                }
            }
        }
        let open = self.open.and_then(|place| work.sheets.get(place));
        work.open = open.or(work.sheets.first()).map(|s| s.id);
        work.at = NodeId::ROOT;
        work
    }
}

/// Where the work is saved, and whether it is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Saving {
    pub stage: Stage,
    /// The slot in the store; `None` until the first saving.
    pub slot: Option<String>,
    /// The revision last read from or written to the slot.
    pub revision: u32,
}

/// Whether what is on the desk is saved.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Stage {
    /// The store is being read. `true`: something changed meanwhile.
    Loading(bool),
    Clean,
    /// Changed; a saving is due.
    Due,
    /// A saving is under way. `true`: something changed since it began.
    Writing(bool),
    /// The store takes nothing, and why.
    Refused(String),
}

impl Saving {
    pub fn new() -> Saving {
        Saving {
            stage: Stage::Loading(false),
            slot: None,
            revision: 0,
        }
    }
    /// The work changed. `true`: a saving is to be scheduled.
    pub fn changed(&mut self) -> bool {
        match self.stage {
            Stage::Clean => {
                self.stage = Stage::Due;
                true
            }
            Stage::Loading(_) => {
                self.stage = Stage::Loading(true);
                false
            }
            Stage::Writing(_) => {
                self.stage = Stage::Writing(true);
                false
            }
            Stage::Due | Stage::Refused(_) => false,
        }
    }
    /// A saving is due. `true`: it is to be written now.
    pub fn begin(&mut self) -> bool {
        if self.stage == Stage::Due {
            self.stage = Stage::Writing(false);
            return true;
        }
        false
    }
    /// It was written. `true`: the next one is to be scheduled.
    pub fn written(&mut self, slot: String, revision: u32) -> bool {
        self.slot = Some(slot);
        self.revision = revision;
        let again = self.stage == Stage::Writing(true);
        self.stage = if again { Stage::Due } else { Stage::Clean };
        again
    }
    /// Another tab saved to the slot since. What is here goes to a slot of its
    /// own, to be written now.
    pub fn elsewhere(&mut self) {
        self.slot = None;
        self.revision = 0;
        self.stage = Stage::Writing(false);
    }
    /// Whether closing the page now would lose work.
    pub fn unsaved(&self) -> bool {
        !matches!(self.stage, Stage::Clean | Stage::Loading(false))
    }
}

impl Default for Saving {
    fn default() -> Saving {
        Saving::new()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use keyproof::notation::Place;

    fn clean() -> Saving {
        Saving {
            stage: Stage::Clean,
            ..Saving::new()
        }
    }

    #[test]
    fn a_change_while_writing_is_written_next() {
        let mut saving = clean();
        assert!(saving.changed());
        assert!(!saving.changed());
        assert!(saving.begin());
        assert!(!saving.changed());
        assert!(saving.unsaved());
        assert!(saving.written("desk".into(), 1));
        assert!(saving.begin());
        assert!(!saving.written("desk".into(), 2));
        assert_eq!((saving.revision, saving.unsaved()), (2, false));
    }

    #[test]
    fn another_tabs_slot_is_left_alone() {
        let mut saving = clean();
        saving.slot = Some("desk".into());
        saving.changed();
        saving.begin();
        saving.elsewhere();
        assert_eq!((saving.slot.clone(), saving.revision), (None, 0));
        assert!(!saving.written("desk-2".into(), 1));
        assert_eq!(saving.slot.as_deref(), Some("desk-2"));
    }

    #[test]
    fn nothing_is_written_before_the_store_was_read() {
        let mut saving = Saving::new();
        assert!(!saving.changed());
        assert!(!saving.begin());
    }

    #[test]
    fn work_comes_back_as_it_was() {
        let text: Rc<str> =
            "[Event \"One\"]\n\n1. e4 {words} e5 (1... c5) *\n\n[Event \"Two\"]\n\n1. d4 *\n"
                .into();
        let mut work = Work::new();
        for (id, game) in pgn_read::read(&text).into_iter().enumerate() {
            work.sheets.push(Rc::new(Sheet {
                id: SheetId(id as u32),
                draft: game.draft,
                reading: Some(Rc::new(Reading::new(
                    "club.pgn".into(),
                    text.clone(),
                    vec![TextFault {
                        place: Place {
                            line: 3,
                            column: id as u32 + 1,
                        },
                        text: "x".into(),
                        expected: "a move".into(),
                    }],
                ))),
            }));
        }
        work.open = Some(SheetId(1));
        let saved = Saved::of(&work, 7);
        assert_eq!(saved.readings.len(), 1);
        let back = saved.work(10);
        assert_eq!(back.open, Some(SheetId(11)));
        assert_eq!(back.sheets.len(), 2);
        for (before, after) in work.sheets.iter().zip(&back.sheets) {
            assert_eq!(before.reading, after.reading);
            assert_eq!(
                pgn_write::write(&before.draft),
                pgn_write::write(&after.draft)
            );
        }
    }

    #[test]
    fn a_search_that_cannot_be_read_takes_no_work_with_it() {
        let text = |seeks: &str| {
            format!(r#"{{"revision":1,"time":0.0,"pgn":"1. e4 *","open":0,"readings":[]{seeks}}}"#)
        };
        for seeks in [
            "",
            r#","seeks":[[0,{"from":"another program"}]]"#,
            r#","seeks":7"#,
        ] {
            let saved: Saved = serde_json::from_str(&text(seeks)).unwrap();
            assert_eq!((saved.work(1).sheets.len(), saved.seeks.len()), (1, 0));
        }
    }
}
