//! Which sheets are looked at, and when. A [`ViewModel`] is dear: on a small desk
//! every sheet keeps its own; on a large one the open sheet and those being
//! given out do, and the others are looked at a few at a time, until their
//! verdict is known. What was proved of them is kept; of those that were removed,
//! as far as one is likely to go back to them.

use std::collections::{HashMap, HashSet};
use std::rc::Rc;

use keyproof::check::{Known, Soundness};
use keyproof::draft::NodeId;
use keyproof::explain::{Explanation, Inquiry};

use super::Desk;
use crate::card::Kind;
use crate::message::{CheckMsg, Effect, Msg};
use crate::shelf::SheetStatus;
use crate::view_model::ViewModel;
use crate::work::{Sheet, SheetId};

/// A desk of so many sheets is small.
const SMALL: usize = 24;
/// Sheets looked at in one turn.
const A_TURN: usize = 4;
/// Milliseconds between turns.
const PACE: u32 = 30;
/// Sheets not in hand that wait for the workers at once.
const WAITING: usize = 16;
/// Sheets that are off the desk and still known, beside those that the last change
/// took away. The others are proved once more if undo brings them back.
const GONE: usize = 24;

/// What is looked at next, and what came of looking.
#[derive(Default)]
pub(super) struct Looking {
    seen: HashMap<SheetId, Seen>,
    /// Those of them that are off the desk, the last ones last.
    gone: Vec<SheetId>,
    /// To be looked at before the others.
    first: HashSet<SheetId>,
    /// Being given out.
    giving: HashSet<SheetId>,
    /// A turn is due.
    due: bool,
    /// There may be sheets not looked at.
    more: bool,
}

/// A sheet that was looked at.
struct Seen {
    /// As it was then; `None` where it is to be looked at again.
    of: Option<Rc<Sheet>>,
    verdict: Soundness,
    unfinished: bool,
    can_be_posed: bool,
    known: Known,
    explained: Vec<(Inquiry, Explanation)>,
}

impl Looking {
    /// Forgets these sheets.
    pub fn forget(&mut self, gone: &HashSet<SheetId>) {
        self.seen.retain(|id, _| !gone.contains(id));
        self.gone.retain(|id| !gone.contains(id));
        self.first.retain(|id| !gone.contains(id));
        self.giving.retain(|id| !gone.contains(id));
    }
    /// The sheets of which something is kept.
    #[cfg(test)]
    pub fn kept(&self) -> impl Iterator<Item = &SheetId> {
        self.seen.keys().chain(&self.first).chain(&self.giving)
    }
}

impl Desk {
    /// What is known of a sheet's soundness.
    pub fn status(&self, sheet: &Rc<Sheet>) -> SheetStatus {
        let id = sheet.id;
        let kind = self.list.shelf.card(id).map(|card| card.kind);
        if kind == Some(Kind::Game) {
            return SheetStatus::Game;
        }
        let begun = kind == Some(Kind::Puzzle) && sheet.is_begun();
        let told = |verdict| match verdict {
            Soundness::Unsound if begun => SheetStatus::Begun,
            verdict => SheetStatus::of(verdict),
        };
        if let Some(model) = self
            .checking
            .models
            .get(&id)
            .filter(|model| model.is_of(sheet))
        {
            return match model.report.verdict {
                Soundness::Undecided if self.is_checking(id) => SheetStatus::Checking,
                _ if model.report.is_unfinished() => SheetStatus::Begun,
                verdict => told(verdict),
            };
        }
        let seen = self.seen(sheet);
        seen.map_or(SheetStatus::NotYet, |seen| match seen.unfinished {
            true => SheetStatus::Begun,
            false => told(seen.verdict),
        })
    }
    /// Whether a sheet can be posed to a student; `None` if it was not looked at.
    pub(super) fn can_be_posed(&self, sheet: &Rc<Sheet>) -> Option<bool> {
        if let Some(model) = self
            .checking
            .models
            .get(&sheet.id)
            .filter(|model| model.is_of(sheet))
        {
            return Some(model.can_be_posed());
        }
        self.seen(sheet).map(|seen| seen.can_be_posed)
    }
    /// What came of looking at a sheet as it is now.
    fn seen(&self, sheet: &Rc<Sheet>) -> Option<&Seen> {
        let seen = self.checking.looking.seen.get(&sheet.id)?;
        let of = seen.of.as_ref()?;
        Rc::ptr_eq(of, sheet).then_some(seen)
    }
    /// Whether a sheet keeps its look and is explained.
    fn is_in_hand(&self, id: SheetId) -> bool {
        self.document.work.sheets.len() <= SMALL
            || self.document.work.open == Some(id)
            || self.checking.looking.giving.contains(&id)
    }
    /// The sheets that are looked at: the open one first, then those in hand,
    /// then those that the author wants checked.
    pub(super) fn in_order(&self) -> Vec<SheetId> {
        let all = self.document.work.sheets.iter().map(|sheet| sheet.id);
        let mut looked_at: Vec<SheetId> = all
            .filter(|id| self.checking.models.contains_key(id))
            .collect();
        looked_at.sort_by_key(|&id| {
            let open = self.document.work.open == Some(id);
            (
                !open,
                !self.is_in_hand(id),
                !self.checking.looking.first.contains(&id),
            )
        });
        looked_at
    }
    /// The sheets in hand, in the same order.
    pub(super) fn in_hand(&self) -> Vec<SheetId> {
        let mut looked_at = self.in_order();
        looked_at.retain(|&id| self.is_in_hand(id));
        looked_at
    }
    /// After a change of the work: the open sheet is looked at now, the others
    /// a few at a time.
    pub(super) fn look_again(&mut self) {
        self.list.shelf.read(&self.document.work.sheets);
        let now: HashMap<SheetId, &Rc<Sheet>> = self
            .document
            .work
            .sheets
            .iter()
            .map(|s| (s.id, s))
            .collect();
        let models = self.checking.models.iter();
        let stale =
            models.filter(|(id, model)| now.get(id).is_none_or(|sheet| !model.is_of(sheet)));
        let stale: Vec<SheetId> = stale.map(|(id, _)| *id).collect();
        let known = self
            .checking
            .models
            .keys()
            .chain(self.checking.looking.seen.keys());
        let off = known.filter(|id| !now.contains_key(id)).copied().collect();
        for id in stale {
            if self.document.work.open != Some(id) {
                self.put_away(id);
            }
        }
        self.forget_long_gone(&off);
        self.look_at_open();
        self.look_at_next();
    }
    /// Forgets what was known of those of the sheets `off` the desk that went long
    /// ago.
    fn forget_long_gone(&mut self, off: &HashSet<SheetId>) {
        let gone = &mut self.checking.looking.gone;
        gone.retain(|id| off.contains(id));
        let known: HashSet<SheetId> = gone.iter().copied().collect();
        let old = gone.len().saturating_sub(GONE);
        let old: HashSet<SheetId> = gone.drain(..old).collect();
        gone.extend(off.difference(&known));
        if !old.is_empty() {
            self.checking.looking.forget(&old);
            self.checking.bench.forget(&old);
        }
    }
    /// Looks at the open sheet, and sees to it that the author stands in it.
    pub(super) fn look_at_open(&mut self) {
        let open = self.document.work.opened().cloned();
        if let Some(sheet) = &open {
            match self.checking.models.remove(&sheet.id) {
                Some(model) if model.is_of(sheet) => {
                    self.checking.models.insert(sheet.id, model);
                }
                Some(model) => {
                    self.checking
                        .models
                        .insert(sheet.id, model.again(sheet.clone()));
                    self.list.shelf.verdicts_changed();
                }
                None => self.look_at(sheet),
            }
        }
        if open.is_none_or(|sheet| sheet.draft.node(self.document.work.at).is_none()) {
            self.document.work.at = NodeId::ROOT;
        }
        self.checking.looking.more = true;
    }
    /// Keeps these in hand while they are being given out.
    pub(super) fn hold(&mut self, ids: &[SheetId]) {
        self.checking.looking.giving = ids.iter().copied().collect();
        match ids.len() <= SMALL {
            true => self.look_at_all(ids),
            false => self.checking.looking.more = true,
        }
    }
    /// Looks at all of these, which may take long.
    pub(super) fn look_at_all(&mut self, ids: &[SheetId]) {
        let wanted: HashSet<SheetId> = ids.iter().copied().collect();
        for sheet in self.document.work.sheets.clone() {
            if wanted.contains(&sheet.id) {
                self.look_at(&sheet);
            }
        }
    }
    fn look_at(&mut self, sheet: &Rc<Sheet>) {
        let id = sheet.id;
        if self
            .checking
            .models
            .get(&id)
            .is_some_and(|model| model.is_of(sheet))
        {
            return;
        }
        self.put_away(id);
        let (known, explained) = self
            .checking
            .looking
            .seen
            .remove(&id)
            .map_or_else(Default::default, |seen| (seen.known, seen.explained));
        let mut model = ViewModel::new(sheet.clone(), known);
        model.explained = explained;
        self.checking.models.insert(id, model);
        self.list.shelf.verdicts_changed();
    }
    /// Looks once more at what is looked at, since it is said in another language
    /// now.
    pub(super) fn look_anew(&mut self) {
        let ids: Vec<SheetId> = self.checking.models.keys().copied().collect();
        for &id in &ids {
            self.put_away(id);
        }
        self.look_at_all(&ids);
    }
    /// Keeps what came of looking at a sheet, without the look.
    fn put_away(&mut self, id: SheetId) {
        if let Some(model) = self.checking.models.remove(&id) {
            let seen = Seen {
                of: Some(model.sheet().clone()),
                verdict: model.report.verdict,
                unfinished: model.report.is_unfinished(),
                can_be_posed: model.can_be_posed(),
                known: model.known,
                explained: model.explained,
            };
            self.checking.looking.seen.insert(id, seen);
            self.list.shelf.verdicts_changed();
        }
    }
    /// Puts away what is not in hand and of which nothing is left to check.
    pub(super) fn put_away_checked(&mut self) {
        let ids: Vec<SheetId> = self.checking.models.keys().copied().collect();
        for id in ids {
            self.put_away_if_checked(id);
        }
    }
    pub(super) fn put_away_if_checked(&mut self, id: SheetId) {
        if !self.is_in_hand(id) && !self.is_checking(id) {
            self.put_away(id);
            self.checking.looking.more = true;
        }
    }
    /// Looks at the next few sheets.
    fn look_at_next(&mut self) {
        let held = self
            .checking
            .models
            .keys()
            .filter(|id| !self.is_in_hand(**id))
            .count();
        let mut room = WAITING.saturating_sub(held);
        let first = &self.checking.looking.first;
        let (mut early, mut late) = (Vec::new(), Vec::new());
        for sheet in &self.document.work.sheets {
            if self.status(sheet) != SheetStatus::NotYet {
                continue;
            }
            match self.is_in_hand(sheet.id) || first.contains(&sheet.id) {
                true => early.push(sheet.clone()),
                false if early.len() + late.len() < A_TURN => late.push(sheet.clone()),
                false => {}
            }
        }
        early.truncate(A_TURN);
        let next: Vec<Rc<Sheet>> = early.into_iter().chain(late).take(A_TURN).collect();
        self.checking.looking.more = next.len() == A_TURN;
        for sheet in next {
            if self.is_in_hand(sheet.id) || room > 0 {
                room = room.saturating_sub(usize::from(!self.is_in_hand(sheet.id)));
                self.look_at(&sheet);
            } else {
                self.checking.looking.more = true;
            }
        }
    }
    /// The turn that was due.
    pub(super) fn look_turn(&mut self) -> Vec<Effect> {
        self.checking.looking.due = false;
        self.put_away_checked();
        self.look_at_next();
        self.assign()
    }
    /// Asks for the next turn, if there is something left to look at.
    pub(super) fn look_on(&mut self) -> Vec<Effect> {
        let gives = self.giving_out.held.is_some() || self.giving_out.preparing.is_some();
        if !gives && !self.checking.looking.giving.is_empty() {
            self.checking.looking.giving.clear();
            self.checking.looking.more |= self.document.work.sheets.len() > SMALL;
        }
        let full = || {
            let held = self
                .checking
                .models
                .keys()
                .filter(|id| !self.is_in_hand(**id));
            held.count() >= WAITING
        };
        if self.checking.looking.due || !self.checking.looking.more || full() {
            return vec![];
        }
        self.checking.looking.due = true;
        vec![Effect::After(PACE, Msg::Check(CheckMsg::LookOn))]
    }
    /// Has these checked before the others, and what was left undecided in them
    /// searched further. How many of them are undecided.
    pub(super) fn check_first(&mut self, ids: &[SheetId]) -> usize {
        self.checking.looking.first = ids.iter().copied().collect();
        self.checking.looking.more = true;
        let others: Vec<SheetId> = self.checking.models.keys().copied().collect();
        for id in others {
            if !self.is_in_hand(id) && !self.checking.looking.first.contains(&id) {
                self.put_away(id);
                self.is_to_be_seen_again(id);
            }
        }
        let first = &self.checking.looking.first;
        let sheets = self.document.work.sheets.iter();
        let undecided = sheets.filter(|sheet| {
            first.contains(&sheet.id) && self.status(sheet) == SheetStatus::Undecided
        });
        let undecided: Vec<SheetId> = undecided.map(|sheet| sheet.id).collect();
        for id in &undecided {
            self.search_on(*id);
        }
        self.checking.bench.go_on();
        undecided.len()
    }
    /// Asks once more what was left undecided in a sheet, with ten times as much.
    pub(super) fn search_on(&mut self, id: SheetId) {
        let more = self.budget(id).saturating_mul(10);
        self.checking.budgets.insert(id, more);
        self.forget_undecided(id);
    }
    /// Sees to it that what is undecided in a sheet is asked once more.
    pub(super) fn forget_undecided(&mut self, id: SheetId) {
        if let Some(model) = self.checking.models.get_mut(&id) {
            model.forget_undecided();
        } else if let Some(seen) = self.checking.looking.seen.get_mut(&id) {
            seen.known.forget_undecided();
            self.is_to_be_seen_again(id);
        }
    }
    fn is_to_be_seen_again(&mut self, id: SheetId) {
        if let Some(seen) = self.checking.looking.seen.get_mut(&id) {
            seen.of = None;
        }
    }
}
