//! Endgame tables from the author's files, on the desk.

use crate::desk::Desk;
use crate::endings::{Endings, Event};
use crate::message::Effect;
use crate::work::SheetId;

impl Desk {
    /// What is known of the endgame tables that were opened, if there are any.
    pub fn endings(&self) -> Option<&Endings> {
        self.checking.endings.as_ref()
    }

    pub(super) fn endings_event(&mut self, event: Event) -> Vec<Effect> {
        match event {
            Event::Chosen => vec![Effect::HandEndings],
            Event::Opened(endings) => {
                let before = self
                    .checking
                    .endings
                    .as_ref()
                    .map_or(0, |before| before.files);
                let more = endings.files > before;
                let none = endings.files == 0 && endings.faults.is_empty();
                self.checking.endings = (!none).then_some(endings);
                match more {
                    true => self.ask_undecided_again(),
                    false => vec![],
                }
            }
        }
    }

    /// Asks what is undecided once more: tables may know it.
    fn ask_undecided_again(&mut self) -> Vec<Effect> {
        let ids: Vec<SheetId> = self
            .document
            .work
            .sheets
            .iter()
            .map(|sheet| sheet.id)
            .collect();
        for id in ids {
            self.forget_undecided(id);
        }
        self.checking.bench.try_anew();
        self.checking.bench.go_on();
        self.assign()
    }
}
