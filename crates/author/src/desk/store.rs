//! Saving and restoring.

use super::Desk;
use crate::message::{Effect, Msg, Scope};
use crate::saved::{Saved, Stage};
use crate::seek::Seek;
use crate::work::Work;

impl Desk {
    pub(super) fn restored(
        &mut self,
        mut slots: Vec<(String, Saved)>,
        mine: Option<&str>,
    ) -> Vec<Effect> {
        let changed = self.saving.stage == Stage::Loading(true);
        self.saving.stage = Stage::Clean;
        let chosen = slots
            .iter()
            .position(|(slot, _)| Some(slot.as_str()) == mine);
        let newest = (0..slots.len()).max_by(|&a, &b| slots[a].1.time.total_cmp(&slots[b].1.time));
        if let Some(place) = chosen.or(newest) {
            let (slot, saved) = slots.remove(place);
            self.saving.slot = Some(slot);
            self.saving.revision = saved.revision;
            let mut work = saved.work(self.next_sheet);
            self.take_seeks(&saved, &work);
            self.next_sheet += work.sheets.len() as u32;
            // What was done before the store answered stays, after it.
            work.sheets.append(&mut self.work.sheets);
            if self.work.open.is_some() {
                work.open = self.work.open;
                work.at = self.work.at;
            }
            self.work = work;
        }
        for (slot, saved) in slots {
            let count = saved.work(0).sheets.len();
            let words = match count {
                1 => "Another tab's work was kept apart: one puzzle.".to_owned(),
                n => format!("Another tab's work was kept apart: {n} puzzles."),
            };
            let bring = Msg::BringIn {
                slot: slot.clone(),
                saved: Box::new(saved),
            };
            self.tell(
                words,
                vec![
                    ("Bring it in".into(), bring),
                    ("Throw it away".into(), Msg::Forget { slot }),
                ],
            );
        }
        self.look_again();
        let mut effects = self.assign();
        if changed && self.saving.changed() {
            effects.push(Effect::SaveSoon);
        }
        effects
    }
    pub(super) fn bring_in(&mut self, slot: String, saved: &Saved) -> Vec<Effect> {
        self.notices.retain(|n| {
            !n.offers
                .iter()
                .any(|(_, m)| matches!(m, Msg::BringIn { slot: s, .. } if *s == slot))
        });
        let brought = saved.work(self.next_sheet);
        self.take_seeks(saved, &brought);
        self.next_sheet += brought.sheets.len() as u32;
        let mut work = self.work.clone();
        work.open = work.open.or(brought.open);
        work.sheets.extend(brought.sheets);
        self.forget_when_saved.push(slot);
        self.replace(work, None)
    }
    pub(super) fn store_refused(&mut self, why: String) -> Vec<Effect> {
        let first = !matches!(self.saving.stage, Stage::Refused(_));
        self.saving.stage = Stage::Refused(why.clone());
        if first {
            self.warn(
                format!("This browser does not keep your work here ({why}). Save the PGN before you close the page."),
                vec![("Save the PGN".into(), Msg::SavePgn(Scope::All))],
            );
        }
        vec![]
    }
    pub(super) fn write(&mut self) -> Vec<Effect> {
        if self.saving.begin() {
            vec![self.write_effect()]
        } else {
            vec![]
        }
    }
    pub(super) fn write_effect(&self) -> Effect {
        let mut saved = Saved::of(&self.work, self.saving.revision + 1);
        saved.seeks = self
            .seeks
            .iter()
            .filter(|(_, seek)| !seek.stale)
            .filter_map(|(id, seek)| Some((self.work.place(*id)?, seek.progress().clone())))
            .collect();
        Effect::Write {
            slot: self.saving.slot.clone(),
            base: self.saving.revision,
            saved,
        }
    }
    /// Takes up the searches for moments that were saved with this work.
    fn take_seeks(&mut self, saved: &Saved, work: &Work) {
        for (place, progress) in &saved.seeks {
            if let Some(sheet) = work.sheets.get(*place)
                && let Some(seek) = Seek::from(&sheet.draft, progress.clone())
            {
                self.seeks.insert(sheet.id, seek);
            }
        }
    }
}
