//! Saving and restoring, what other tabs write, and backups.

use std::collections::HashSet;
use std::rc::Rc;

use keyproof::draft::{Draft, NodeId};
use keyproof::moments::Progress;
use keyproof::notation::{pgn_read, pgn_write};
use keyproof::tongue::{marked, phrase, plural, say, tr};

use super::{Desk, backup, undo};
use crate::backup::Backup;
use crate::class::{Change, Class};
use crate::keeping::{Room, Saving, Stage};
use crate::merge::Merge;
use crate::message::{Effect, ListMsg, Msg, StoreMsg, Weight};
use crate::names::{Name, list};
use crate::saved::{Found, Note, Stored};
use crate::seek::Seek;
use crate::work::{Sheet, SheetId, Work, title};

/// How long an author rests before all the work is put into the page, in milliseconds:
/// longer than from one letter to the next.
const REST: u32 = 800;

impl Desk {
    pub fn saving(&self) -> &Saving {
        &self.saving
    }

    pub(super) fn update_store(&mut self, msg: StoreMsg) -> Vec<Effect> {
        match msg {
            StoreMsg::Found(found) => self.was_found(*found),
            StoreMsg::Elsewhere(found) => self.elsewhere(*found),
            StoreMsg::StoreRefused { why, full } => self.store_refused(why, full),
            StoreMsg::SaveDue => self.write(),
            StoreMsg::SaveNow => self.save_now(),
            StoreMsg::Written => self.written(),
            StoreMsg::CarryDue(rest) if rest != self.saving.rest => vec![],
            StoreMsg::CarryDue(_) | StoreMsg::Carry => self.carry().into_iter().collect(),
            StoreMsg::LookElsewhere => self.look_elsewhere(),
            StoreMsg::BringBack(removed) => self.bring_back(&removed),
            StoreMsg::Room(room) => self.room(room),
            StoreMsg::Stays(stays) => {
                self.saving.stays = Some(stays);
                vec![]
            }
            StoreMsg::SaveBackup => vec![Effect::Backup(Box::new(self.document.work.clone()))],
        }
    }
    /// Names new puzzles from here on; each tab draws its own place.
    #[must_use]
    pub fn seeded(mut self, seed: u64) -> Desk {
        // Half of the numbers are left for counting on.
        self.list.next_sheet = seed >> 1;
        self
    }
    /// Whether closing the page now would lose work.
    pub fn unsaved(&self) -> bool {
        let sought = |id| self.progress(id);
        self.saving.unsaved(&self.document.work, &sought)
    }
    /// How far the search for a sheet's moments came, as it is to be kept.
    fn progress(&self, id: SheetId) -> Option<&Progress> {
        let seek = self.games.seeks.get(&id).filter(|seek| !seek.stale);
        seek.map(Seek::progress)
    }
    /// The store was read: at the start, or because another tab wrote.
    pub(super) fn was_found(&mut self, found: Found) -> Vec<Effect> {
        if matches!(self.saving.stage, Stage::Writing(_)) {
            // What is being written rests on what was there before.
            self.saving.look_again = true;
            return vec![];
        }
        let older = match (&self.saving.stored.manifest, &found.manifest) {
            (Some(known), Some(manifest)) => {
                known.birth == manifest.birth && manifest.revision <= known.revision
            }
            (None, None) => !matches!(self.saving.stage, Stage::Loading(_)),
            _ => false,
        };
        if older && found.slots.is_empty() {
            return vec![];
        }
        let (notes, carried) = (found.notes.clone(), found.carried.clone());
        let mut effects = self.take_in(found);
        for note in notes {
            let back = phrase(
                "What you typed just before the page closed was not saved yet, and is back.",
            );
            effects.extend(self.take_note(note, back));
        }
        let back = phrase("This page was saved with your work in it, which is on the desk again.");
        if !carried.0.is_empty() {
            effects.extend(self.take_note(carried, back));
        }
        let holds = {
            let sought = |id| self.progress(id);
            self.saving.stored.holds(&self.document.work, &sought)
        };
        if holds && self.saving.old.is_empty() {
            effects.extend(self.accepted());
        } else if self.saving.changed() {
            effects.push(Effect::SaveSoon);
        }
        effects.push(Effect::Carry(Note::carried(&self.document.work)));
        effects
    }
    /// Takes up what was typed last in a page that closed before it was saved, and says
    /// so; where the puzzle was changed elsewhere since, it is put next to it.
    fn take_note(&mut self, Note(noted): Note, back: &'static str) -> Vec<Effect> {
        self.saving.noted = true;
        let work = &self.document.work;
        let sheet = |id, pgn: &str| {
            let draft = pgn_read::read(pgn).into_iter().next()?.draft;
            let reading = work.sheet(id).and_then(|sheet| sheet.reading.clone());
            Some(Rc::new(Sheet { id, draft, reading }))
        };
        let was = noted.iter().filter_map(|n| sheet(n.id, n.was.as_ref()?));
        let (was, mut mine): (Vec<_>, _) = (was.collect(), work.sheets.clone());
        for noted in &noted {
            let Some(sheet) = sheet(noted.id, &noted.pgn) else {
                continue;
            };
            match mine.iter_mut().find(|s| s.id == noted.id) {
                Some(here) => *here = sheet,
                None => mine.push(sheet),
            }
        }
        let base: Vec<Rc<Sheet>> = work
            .sheets
            .iter()
            .map(|here| {
                let was = was.iter().find(|was| was.id == here.id);
                was.unwrap_or(here).clone()
            })
            .collect();
        let next = &mut self.list.next_sheet;
        let mut merge = Merge::of(&base, &mine, &work.sheets, &mut || fresh(next));
        let sheets = merge.apply(&mine);
        let same = |(a, b): (&Rc<Sheet>, &Rc<Sheet>)| Rc::ptr_eq(a, b) || a.holds_same(b);
        if sheets.len() == work.sheets.len() && sheets.iter().zip(&work.sheets).all(same) {
            return vec![];
        }
        let mut work = work.clone();
        work.open = work.open.or(sheets.first().map(|sheet| sheet.id));
        work.sheets = sheets;
        let effects = self.replace(work, None);
        self.tell(move || tr(back).to_owned(), undo);
        effects
    }
    /// Nothing was written, since another tab wrote before.
    pub(super) fn elsewhere(&mut self, found: Found) -> Vec<Effect> {
        let mut effects = self.take_in(found);
        self.saving.stage = Stage::Due;
        effects.extend(self.write());
        effects
    }
    /// Another tab wrote, or this one comes into sight again.
    pub(super) fn look_elsewhere(&mut self) -> Vec<Effect> {
        match self.saving.stage {
            Stage::Loading(_) => vec![],
            Stage::Writing(_) => {
                self.saving.look_again = true;
                vec![]
            }
            _ => vec![Effect::Reread(self.saving.stored.manifest.clone())],
        }
    }
    pub(super) fn store_refused(&mut self, why: String, full: bool) -> Vec<Effect> {
        let first = self.saving.refused.is_none();
        self.saving.refuse(why.clone());
        if first {
            let text = move || {
                match full {
                true => tr("This browser\u{2019}s storage is full, so what you do is not saved. Save a backup before you close the page; what you remove makes room.").to_owned(),
                false => say!(
                    "This browser does not keep your work here ({why}). Save a backup before you close the page.",
                    why = marked(&why),
                ),
            }
            };
            self.warn(text, backup);
            self.saving.told = self.page.notices.last().map(|notice| notice.id);
        }
        vec![]
    }
    pub(super) fn write(&mut self) -> Vec<Effect> {
        if self.saving.stage != Stage::Due {
            return vec![];
        }
        let sought = |id| self.progress(id);
        let birth = SheetId(self.list.next_sheet);
        let stored = &self.saving.stored;
        let (mut writing, pending) = stored.writing(&self.document.work, &sought, birth);
        match self.saving.begin(&mut writing, pending) {
            true => vec![Effect::Write(Box::new(writing))],
            false => vec![],
        }
    }
    pub(super) fn written(&mut self) -> Vec<Effect> {
        let at_once = self.saving.written();
        self.saving.rest = self.saving.rest.wrapping_add(1);
        self.saving.resting = true;
        let due = StoreMsg::CarryDue(self.saving.rest);
        let mut effects = vec![
            Effect::TellOthers,
            Effect::LookAtRoom,
            Effect::After(REST, Msg::Store(due)),
        ];
        effects.extend(self.accepted());
        if std::mem::take(&mut self.saving.ask) {
            effects.push(Effect::AskToStay);
        }
        if at_once {
            effects.extend(self.write());
        } else if self.saving.stage == Stage::Due {
            effects.push(Effect::SaveSoon);
        }
        if std::mem::take(&mut self.saving.look_again) {
            effects.extend(self.look_elsewhere());
        }
        effects
    }
    /// Has in the page what was written and is not in it yet: all of it is made anew for
    /// that, which is too much for each letter.
    fn carry(&mut self) -> Option<Effect> {
        let waits = std::mem::take(&mut self.saving.resting);
        waits.then(|| Effect::Carry(Note::carried(&self.document.work)))
    }
    /// The store took what it was given: what was said against it is taken back, and
    /// what was noted beside it.
    fn accepted(&mut self) -> Option<Effect> {
        self.saving.refused = None;
        if let Some(told) = self.saving.told.take() {
            self.page.notices.retain(|notice| notice.id != told);
        }
        let all = matches!(self.saving.stage, Stage::Clean | Stage::Loading(_));
        (all && std::mem::take(&mut self.saving.noted)).then(|| Effect::Note(Note::default()))
    }
    /// The page goes out of sight.
    pub(super) fn save_now(&mut self) -> Vec<Effect> {
        let mut effects = match self.saving.hurry() {
            true => self.write(),
            false => vec![],
        };
        if self.unsaved() {
            self.saving.noted = true;
            let note = self.saving.stored.note(&self.document.work);
            effects.push(Effect::Note(note));
        }
        effects.extend(self.carry());
        effects
    }
    pub(super) fn room(&mut self, room: Room) -> Vec<Effect> {
        let told = self.saving.room_told;
        match room.small() {
            None => {
                self.page.notices.retain(|notice| Some(notice.id) != told);
                self.saving.room_told = None;
            }
            Some(megabytes) if told.is_none() => {
                let stays = self.saving.stays != Some(false);
                let words = move || {
                    let mut words = vec![say!(
                        "Less than {n} MB are left for this page in this browser. Save a backup, and remove what you no longer need.",
                        n = (megabytes + 1).to_string(),
                    )];
                    if !stays {
                        let text = tr(
                            "The browser may also throw away what it keeps here when the disk is full.",
                        );
                        words.push(text.into());
                    }
                    words.join(" ")
                };
                self.warn(words, backup);
                self.saving.room_told = self.page.notices.last().map(|notice| notice.id);
            }
            Some(_) => {}
        }
        vec![]
    }
    /// Puts puzzles that another tab removed back, each after the one it stood
    /// behind.
    pub(super) fn bring_back(&mut self, removed: &[(Rc<Sheet>, Option<SheetId>)]) -> Vec<Effect> {
        let mut work = self.document.work.clone();
        for (sheet, behind) in removed {
            if work.sheet(sheet.id).is_none() {
                let behind = behind.and_then(|id| work.place(id));
                work.sheets
                    .insert(behind.map_or(0, |p| p + 1), sheet.clone());
            }
        }
        work.open = work.open.or(work.sheets.first().map(|s| s.id));
        self.replace(work, None)
    }
    /// Brings a backup back: into an empty desk as it was; else what is not
    /// here is added, and what is here in another form is put next to it.
    pub(super) fn restore(&mut self, from: &str, backup: Backup) -> Vec<Effect> {
        let text = |sheet: &Sheet| {
            let reading = sheet.reading.as_ref().map(|r| r.text.clone());
            (pgn_write::write(&sheet.draft), reading)
        };
        let here: HashSet<_> = self.document.work.sheets.iter().map(|s| text(s)).collect();
        let count = backup.sheets.len();
        let mut names = HashSet::new();
        let mut theirs = Vec::new();
        for (id, mut sheet) in backup.sheets {
            if here.contains(&text(&sheet)) {
                continue;
            }
            sheet.id = id
                .filter(|id| names.insert(*id))
                .unwrap_or_else(|| self.fresh());
            theirs.push(Rc::new(sheet));
        }
        let added = theirs.len();
        let next = &mut self.list.next_sheet;
        let mut merge = Merge::of(&[], &theirs, &self.document.work.sheets, &mut || {
            fresh(next)
        });
        let beside = merge.split.len();
        let mut work = self.document.work.clone();
        let was_empty = work.sheets.is_empty();
        work.sheets = merge.apply(&theirs);
        let accounts = work.class.accounts();
        work.class = Change::between(&Class::default(), &backup.class).apply(&work.class);
        let accounts = work.class.accounts() - accounts;
        let same_class = Rc::ptr_eq(&work.class, &self.document.work.class);
        if was_empty {
            let open = backup.open.filter(|id| work.sheet(*id).is_some());
            work.open = open.or(work.sheets.first().map(|s| s.id));
            work.at = NodeId::ROOT;
            self.board.setting_up = false;
        }
        self.list.paste_box = false;
        if added == 0 && same_class {
            let words = match count {
                0 => phrase!("The backup {from} holds no puzzle.", "from"),
                _ => phrase!("Everything in the backup {from} is here already.", "from"),
            };
            let from = from.to_owned();
            self.tell(move || say!(words, from = marked(&from)), Vec::new);
            return vec![];
        }
        let effects = self.replace(work, None);
        let came = match added {
            0 => phrase!(
                "Answers of the class came back from the backup {from}.",
                "n from"
            ),
            1 => phrase!("One puzzle came back from the backup {from}.", "n from"),
            _ => phrase!("{n} puzzles came back from the backup {from}.", "n from"),
        };
        let from = from.to_owned();
        let words = move || {
            let mut words = vec![say!(came, n = added.to_string(), from = marked(&from))];
            if added > 0 && accounts > 0 {
                words.push(plural!(
                    accounts,
                    "One student\u{2019}s answers came back with it.",
                    "{n} students\u{2019} answers came back with it.",
                ));
            }
            if beside > 0 {
                words.push(plural!(
                    beside,
                    "One of them is here in another form too, and stands next to it.",
                    "{n} of them are here in another form too, and stand next to it.",
                ));
            }
            words.join(" ")
        };
        self.tell(words, undo);
        effects
    }

    /// A name for a puzzle that no other has.
    fn fresh(&mut self) -> SheetId {
        fresh(&mut self.list.next_sheet)
    }
    /// Brings together what lies on the desk and what was found in the store.
    fn take_in(&mut self, found: Found) -> Vec<Effect> {
        let was_closed = self.document.work.open.is_none();
        let known = self.saving.stored.birth();
        let thrown_away =
            known.is_some() && known != found.manifest.as_ref().map(|manifest| &manifest.birth);
        let before = match thrown_away {
            true => Stored::default(),
            false => self.saving.stored.clone(),
        };
        let mut base = before.sheets();
        base.append(&mut self.saving.carried);
        let mut after = before.followed_by(&found);
        let mut theirs = after.sheets();
        let lost = after
            .manifest
            .as_ref()
            .map_or(0, |manifest| manifest.order.len())
            - theirs.len();
        let (carried, apart) = carry_over(&found, &theirs);
        theirs.extend(carried.iter().cloned());
        let next = &mut self.list.next_sheet;
        let mut merge = Merge::of(&base, &self.document.work.sheets, &theirs, &mut || {
            fresh(next)
        });
        let order: Vec<SheetId> = self.document.work.sheets.iter().map(|s| s.id).collect();
        let change = Change::between(&before.class, &after.class);
        if !merge.is_idle() || !change.is_idle() {
            let present = updated(&self.document.work, &mut merge, &change);
            let same = |a: &Work, b: &Work| {
                a.sheets.len() == b.sheets.len()
                    && a.sheets
                        .iter()
                        .zip(&b.sheets)
                        .all(|(a, b)| Rc::ptr_eq(a, b))
                    && a.class == b.class
            };
            self.document.history.rebase(
                &present,
                |state| updated(&state, &mut merge, &change),
                same,
            );
            for &(id, copy) in &merge.split {
                self.goes_on_as(id, copy, &present);
            }
            self.goes_on_with(present);
        }
        if was_closed {
            let manifest = found.manifest.as_ref().and_then(|manifest| manifest.open);
            let slot = newest(&found).and_then(|(key, slot)| {
                let sheets = slot.sheets(key);
                Some(sheets.get(slot.open?)?.id)
            });
            let here = |id: &SheetId| self.document.work.sheet(*id).is_some();
            let open = [found.mine, manifest, slot]
                .into_iter()
                .flatten()
                .find(here);
            self.document.work.open = open.or(self.document.work.sheets.first().map(|s| s.id));
            self.document.work.at = NodeId::ROOT;
        }
        for sheet in &self.document.work.sheets {
            after.is_same(sheet);
        }
        if Change::between(&after.class, &self.document.work.class).is_idle() {
            self.document.work.class = after.class.clone();
        }
        self.take_seeks(&before, &after, &found);
        self.saving.took_in(after);
        self.saving.carried = carried;
        self.saving.old = found.slots.iter().map(|(key, _)| key.clone()).collect();
        self.look_again();
        self.seeks_again();
        let effects = self.assign();
        self.tell_of_store(lost, thrown_away);
        self.tell_of_merge(&merge, &order, apart);
        self.forget(merge.gone.iter().map(|sheet| sheet.id).collect());
        effects
    }
    /// The present state is another one, by what another tab did.
    fn goes_on_with(&mut self, work: Work) {
        let before = std::mem::replace(&mut self.document.work, work);
        let (was, is) = (before.opened(), self.document.work.opened());
        let same = match (was, is) {
            (Some(was), Some(is)) => Rc::ptr_eq(was, is) || was.holds_same(is),
            (None, None) => true,
            _ => false,
        };
        let another = !same && before.open != self.document.work.open;
        self.giving_out.held = None;
        if self.giving_out.waiting.take().is_some() {
            self.giving_out.preparing = None;
        }
        if another {
            self.board.setting_up = false;
            self.board.turned = false;
        }
        if !same {
            self.board.showing = None;
            self.giving_out.preview_pane.pointed = None;
        }
    }
    /// What belongs to a puzzle of this desk goes on under another name.
    fn goes_on_as(&mut self, id: SheetId, copy: SheetId, present: &Work) {
        if let Some(budget) = self.checking.budgets.get(&id).copied() {
            self.checking.budgets.insert(copy, budget);
        }
        if let Some(seek) = self.games.seeks.remove(&id) {
            self.games.seeks.insert(copy, seek);
        }
        let trail = self
            .board
            .trail
            .iter()
            .filter(|((sheet, _), _)| *sheet == id);
        let trail: Vec<_> = trail.map(|((_, node), to)| ((copy, *node), *to)).collect();
        self.board.trail.extend(trail);
        if let Some(folds) = self.board.folds.remove(&id) {
            self.board.folds.insert(copy, folds);
        }
        if let Some(sheet) = present.sheet(copy)
            && let Some(model) = self.checking.models.remove(&id)
        {
            self.checking
                .models
                .insert(copy, model.again(sheet.clone()));
        }
    }
    /// Takes up the searches for moments that lie in the store, where this desk
    /// has not gone on with its own.
    fn take_seeks(&mut self, before: &Stored, after: &Stored, found: &Found) {
        let slots = found.slots.iter().flat_map(|(key, slot)| {
            let sheets = slot.sheets(key);
            let seeks = slot.seeks.iter().flatten();
            seeks
                .filter_map(move |(place, progress)| {
                    Some((sheets.get(*place)?.id, progress.clone()))
                })
                .collect::<Vec<_>>()
        });
        let read = found.sheets.iter();
        let read = read.filter_map(|saved| Some((saved.id, after.seek(saved.id)?.clone())));
        for (id, progress) in read.chain(slots).collect::<Vec<_>>() {
            let own = self.games.seeks.get(&id).map(Seek::progress);
            if own.is_some() && own != before.seek(id) {
                continue;
            }
            if let Some(sheet) = self.document.work.sheet(id)
                && let Some(seek) = Seek::from(&sheet.draft, progress)
            {
                self.games.seeks.insert(id, seek);
            }
        }
    }
    fn tell_of_store(&mut self, lost: usize, thrown_away: bool) {
        if lost > 0 {
            let text = move || {
                plural!(
                    lost,
                    "One puzzle in this browser\u{2019}s store could not be read. The others are here.",
                    "Some puzzles in this browser\u{2019}s store could not be read. The others are here.",
                )
            };
            self.warn(text, Vec::new);
        }
        if thrown_away && !self.document.work.sheets.is_empty() {
            let text = || {
                tr("This browser had thrown away what it kept for this page. What is on the desk is being saved anew; a backup on your disk is safer.").into()
            };
            self.warn(text, backup);
        }
    }
    /// One notice of all that the author would not see otherwise. `order`: the
    /// puzzles before.
    fn tell_of_merge(&mut self, merge: &Merge, order: &[SheetId], apart: usize) {
        let name = |&id: &SheetId| self.name_of(id).unwrap_or_default();
        let split = merge
            .split
            .iter()
            .map(|(theirs, _)| (*theirs, name(theirs)));
        let split: Vec<(SheetId, Name)> = split.collect();
        let kept_here: Vec<Name> = merge.kept_here.iter().map(name).collect();
        let kept_there: Vec<Name> = merge.kept_there.iter().map(name).collect();
        let gone: Vec<Option<String>> = merge.gone.iter().map(|s| title(&s.draft)).collect();
        let removed = merge.gone.iter().map(|sheet| {
            let place = order.iter().position(|id| *id == sheet.id);
            let behind = place.and_then(|p| p.checked_sub(1)).map(|p| order[p]);
            (sheet.clone(), behind)
        });
        let removed: Vec<_> = removed.collect();
        if split.is_empty()
            && kept_here.is_empty()
            && kept_there.is_empty()
            && gone.is_empty()
            && apart == 0
        {
            return;
        }
        self.page.notice(Weight::News, move || {
            let mut words: Vec<String> = Vec::new();
            let mut offers = Vec::new();
            for (theirs, name) in &split {
                let name = name.said();
                words.push(say!(
                    "{name} was changed here and in another tab. Both are kept: what you wrote here now stands right behind theirs.",
                    name = name,
                ));
                let open = say!("Open theirs: {name}", name = name);
                offers.push((open, Msg::List(ListMsg::Open(*theirs))));
            }
            for name in &kept_here {
                words.push(say!(
                    "{name} was removed in another tab; it stays, since you changed it here.",
                    name = name.said(),
                ));
            }
            for name in &kept_there {
                words.push(say!(
                    "{name} is back: you removed it here, and it was changed in another tab.",
                    name = name.said(),
                ));
            }
            if !gone.is_empty() {
                let untitled = || tr("a puzzle").to_owned();
                let names = gone.iter().map(|n| n.clone().unwrap_or_else(untitled));
                let names: Vec<String> = names.collect();
                let gone = match names.len() {
                    1 => phrase!("Another tab removed puzzles: {names} was taken off this desk too.", "names"),
                    _ => phrase!("Another tab removed puzzles: {names} were taken off this desk too.", "names"),
                };
                words.push(say!(gone, names = list(&names)));
                offers.push((tr("Bring back").into(), Msg::Store(StoreMsg::BringBack(removed.clone()))));
            }
            if apart > 0 {
                words.push(plural!(
                    apart,
                    "One puzzle that another tab had kept apart was added at the end.",
                    "{n} puzzles that another tab had kept apart were added at the end.",
                ));
            }
            (words.join(" "), offers)
        });
    }
}

/// A name that no puzzle has.
fn fresh(next: &mut u64) -> SheetId {
    let id = SheetId(*next);
    *next += 1;
    id
}

/// The work of earlier versions beside what lies in the store: the latest whole,
/// of what other tabs had kept apart only what is not there yet; and how many
/// puzzles these were.
fn carry_over(found: &Found, there: &[Rc<Sheet>]) -> (Vec<Rc<Sheet>>, usize) {
    let latest = newest(found).map(|(key, _)| key);
    let mut slots: Vec<_> = found.slots.iter().collect();
    slots.sort_by(|(_, a), (_, b)| b.time.total_cmp(&a.time));
    let (mut carried, mut apart): (Vec<Rc<Sheet>>, usize) = (Vec::new(), 0);
    for (key, slot) in slots {
        let whole = Some(key) == latest && found.manifest.is_none();
        for sheet in slot.sheets(key) {
            let is_there =
                |other: &Rc<Sheet>| other.id == sheet.id || !whole && other.holds_same(&sheet);
            if !there.iter().chain(&carried).any(is_there) {
                apart += usize::from(!whole);
                carried.push(sheet);
            }
        }
    }
    (carried, apart)
}

/// The slot written last.
fn newest(found: &Found) -> Option<(&String, &crate::saved::slots::Slot)> {
    let slots = found.slots.iter().map(|(key, slot)| (key, slot));
    slots.max_by(|(_, a), (_, b)| a.time.total_cmp(&b.time))
}

/// A state of the desk with a merge in force. Where a puzzle now has other
/// moves, the author stands at the same move as far as it is there.
fn updated(work: &Work, merge: &mut Merge, change: &Change) -> Work {
    let sheets = merge.apply(&work.sheets);
    let mut after = Work {
        sheets,
        open: work.open.map(|id| merge.name(id)),
        at: work.at,
        class: change.apply(&work.class),
    };
    match (work.opened(), after.opened()) {
        (Some(was), Some(is)) if was.id == is.id && !Rc::ptr_eq(was, is) => {
            after.at = same_place(&was.draft, &is.draft, work.at);
        }
        (Some(was), None) => {
            let place = work.place(was.id).unwrap_or(0);
            let next = after.sheets.get(place).or(after.sheets.last());
            after.open = next.map(|s| s.id);
            after.at = NodeId::ROOT;
        }
        (None, _) => after.open = after.sheets.first().map(|s| s.id),
        _ => {}
    }
    after
}

/// The node that is reached by the same moves, as far as they are there.
fn same_place(before: &Draft, after: &Draft, at: NodeId) -> NodeId {
    let mut path = Vec::new();
    let mut node = at;
    while node != NodeId::ROOT
        && let Some(here) = before.node(node)
    {
        path.push(here.text.as_str());
        node = here.parent;
    }
    let mut at = NodeId::ROOT;
    while let Some(text) = path.pop() {
        let children = after.node(at).map_or(&[][..], |n| &n.children);
        let next = children
            .iter()
            .find(|&&id| after.node(id).is_some_and(|n| n.text == text));
        match next {
            Some(&id) => at = id,
            None => break,
        }
    }
    at
}
