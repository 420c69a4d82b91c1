//! Work as it was saved by earlier versions: one slot with the PGN of all
//! puzzles, and a slot more for each tab that had gone its own way. It is read
//! once, written anew as [`crate::saved`] has it, and then removed.

use std::rc::Rc;

use keyproof::moments::Progress;
use keyproof::notation::{TextFault, pgn_read};
use serde::Deserialize;

use crate::saved::{digest, if_readable};
use crate::work::{Reading, Sheet, SheetId};

/// A slot of the store.
#[derive(Clone, Debug, PartialEq, Deserialize)]
pub struct Slot {
    /// When it was written, in milliseconds since 1970.
    pub time: f64,
    /// All puzzles, in order.
    pub pgn: String,
    /// The place of the open puzzle.
    pub open: Option<usize>,
    readings: Vec<SlotReading>,
    /// Places of games whose moments were looked for, each with how far that
    /// came.
    #[serde(default, deserialize_with = "if_readable")]
    pub seeks: Option<Vec<(usize, Progress)>>,
}

/// A text that did not read without faults, and the puzzles that came of it.
#[derive(Clone, Debug, PartialEq, Deserialize)]
struct SlotReading {
    from: String,
    text: String,
    /// Places of the puzzles, each with its faults.
    sheets: Vec<(usize, Vec<TextFault>)>,
}

impl Slot {
    /// The puzzles of a slot, in order. Their names follow from the slot's key,
    /// so that two tabs which carry it over at once name them alike.
    pub fn sheets(&self, key: &str) -> Vec<Rc<Sheet>> {
        let games = pgn_read::read(&self.pgn).into_iter().enumerate();
        let mut sheets: Vec<Sheet> = games
            .map(|(place, game)| Sheet {
                id: SheetId(digest(&format!("{key}/{place}")) as u64),
                draft: game.draft,
                reading: None,
            })
            .collect();
        for reading in &self.readings {
            let text: Rc<str> = reading.text.as_str().into();
            for (place, faults) in &reading.sheets {
                if let Some(sheet) = sheets.get_mut(*place) {
                    let (from, faults) = (reading.from.clone(), faults.clone());
                    sheet.reading = Some(Rc::new(Reading::new(from, text.clone(), faults)));
                }
            }
        }
        sheets.into_iter().map(Rc::new).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Written by version 0.1.0.
    const WRITTEN: &str = r#"{"revision":7,"time":5.0,"open":1,
        "pgn":"[Event \"One\"]\n\n1. e4 {words} *\n\n[Event \"Two\"]\n\n1. d4 *\n",
        "readings":[{"from":"club.pgn","text":"as it came","sheets":[[1,[
            {"place":{"line":3,"column":2},"text":"x","expected":"a move"}]]]}]"#;

    fn slot(seeks: &str) -> Slot {
        serde_json::from_str(&format!("{WRITTEN}{seeks}}}")).expect("a slot")
    }

    #[test]
    fn the_work_of_a_slot_is_read_whole() {
        let sheets = slot("").sheets("desk 5");
        assert_eq!(sheets[0].draft.tag("Event"), Some("One"));
        assert!(sheets[0].reading.is_none());
        let reading = sheets[1].reading.as_ref().expect("its text");
        assert_eq!((&*reading.text, reading.faults.len()), ("as it came", 1));
        let names = |key| {
            slot("")
                .sheets(key)
                .iter()
                .map(|s| s.id)
                .collect::<Vec<_>>()
        };
        assert_eq!(names("desk 5"), names("desk 5"));
        assert!(
            names("desk 5")
                .iter()
                .all(|id| !names("desk 6").contains(id))
        );
    }

    #[test]
    fn a_search_that_cannot_be_read_takes_no_work_with_it() {
        for seeks in [
            "",
            r#","seeks":[[0,{"from":"another program"}]]"#,
            r#","seeks":7"#,
        ] {
            assert_eq!(slot(seeks).sheets("desk").len(), 2);
            assert_eq!(slot(seeks).seeks, None);
        }
    }
}
