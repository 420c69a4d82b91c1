//! Changes of the work: each keeps the state before it for undo, and looks,
//! saves and checks anew.

use std::collections::HashSet;
use std::rc::Rc;

use keyproof::check::thousands;
use keyproof::draft::{Draft, Edit, NodeId};
use keyproof::notation::{TextFault, fen};
use keyproof::tongue::{Tongue, marked, phrase, plural, say, tr};

use super::{Desk, Run, undo};
use crate::backup;
use crate::card::Kind;
use crate::class;
use crate::history::History;
use crate::intake::{self, Intake};
use crate::leaf::Leaf;
use crate::message::{Effect, Weight};
use crate::work::{Reading, Sheet, SheetId, Work, told};

impl Desk {
    /// Puts a changed work in the place of the present one, which undo keeps.
    pub(super) fn replace(&mut self, work: Work, run: Option<Run>) -> Vec<Effect> {
        self.page.drop_passing_notices();
        let before = std::mem::replace(&mut self.document.work, work);
        let dropped = self.document.history.keep(before, run);
        let effects = self.settle();
        let were_there = dropped.iter().flat_map(|state| &state.sheets);
        self.forget(were_there.map(|sheet| sheet.id).collect());
        effects
    }
    /// Forgets all that is known of those of these sheets that nothing leads back
    /// to.
    pub(super) fn forget(&mut self, sheets: HashSet<SheetId>) {
        let mut gone = sheets;
        for state in [&self.document.work]
            .into_iter()
            .chain(self.document.history.states())
        {
            if gone.is_empty() {
                return;
            }
            for sheet in &state.sheets {
                gone.remove(&sheet.id);
            }
        }
        self.checking.models.retain(|id, _| !gone.contains(id));
        self.checking.budgets.retain(|id, _| !gone.contains(id));
        self.board.trail.retain(|(id, _), _| !gone.contains(id));
        self.board.folds.retain(|id, _| !gone.contains(id));
        self.games.seeks.retain(|id, _| !gone.contains(id));
        self.checking.looking.forget(&gone);
        self.checking.bench.forget(&gone);
    }
    /// After any change of the work: looks at what is new, saves, checks.
    pub(super) fn settle(&mut self) -> Vec<Effect> {
        self.giving_out.held = None;
        self.board.showing = None;
        self.giving_out.preview_pane.pointed = None;
        if self.giving_out.waiting.take().is_some() {
            self.giving_out.preparing = None;
        }
        self.look_again();
        self.seeks_again();
        self.checking.bench.go_on();
        let mut effects = self.assign();
        if self.saving.changed() {
            effects.push(Effect::SaveSoon);
        }
        effects
    }
    pub(super) fn change_sheet(
        &mut self,
        id: SheetId,
        run: Option<Run>,
        change: impl FnOnce(&mut Sheet),
    ) -> Vec<Effect> {
        let mut work = self.document.work.clone();
        let Some(place) = work.place(id) else {
            return vec![];
        };
        change(Rc::make_mut(&mut work.sheets[place]));
        self.replace(work, run)
    }
    /// Edits the open puzzle; all edits or none.
    pub(super) fn edit(&mut self, edits: &[Edit], run: Option<Run>) -> Vec<Effect> {
        let Some(sheet) = self.document.work.opened() else {
            return vec![];
        };
        let id = sheet.id;
        let before = &sheet.draft;
        let mut draft = before.clone();
        let fault = edits.iter().find_map(|edit| draft.apply(edit).err());
        if fault.is_some() {
            let text =
                || tr("That change no longer fits the tree, and nothing was changed.").into();
            self.refuse(text);
            return vec![];
        }
        let at = nearest(before, &draft, self.document.work.at);
        let effects = self.change_sheet(id, run, |sheet| sheet.draft = draft);
        self.document.work.at = at;
        effects
    }
    pub(super) fn add_new(&mut self) -> Vec<Effect> {
        let draft = self.puzzle_at("8/8/8/8/8/8/8/8 w - - 0 1");
        let effects = self.add(vec![(draft, None)]);
        self.board.setting_up = true;
        effects
    }
    pub(super) fn add_game(&mut self) -> Vec<Effect> {
        let draft = self.by_the_same(Draft::new());
        self.add(vec![(draft, None)])
    }
    /// A new puzzle, by the author and in the language of the open one; the first
    /// in that of the page.
    pub(super) fn puzzle_at(&self, fen: &str) -> Draft {
        self.by_the_same(intake::puzzle_at(Some(fen)))
    }
    fn by_the_same(&self, mut draft: Draft) -> Draft {
        let open = self.document.work.opened();
        let page = Some(self.page.tongue.tag()).filter(|tag| *tag != Tongue::ENGLISH.tag());
        for (tag, first) in [("Annotator", None), ("Language", page)] {
            if let Some(value) = open.map_or(first, |sheet| told(&sheet.draft, tag)) {
                let edit = Edit::SetTag {
                    name: tag.into(),
                    value: Some(value.into()),
                };
                draft.apply(&edit).expect("setting a tag needs no node");
            }
        }
        draft
    }
    /// Adds puzzles after the open one and opens the first of them.
    pub(super) fn add(&mut self, drafts: Vec<(Draft, Option<Rc<Reading>>)>) -> Vec<Effect> {
        let mut work = self.document.work.clone();
        let after_open = work
            .open
            .and_then(|id| work.place(id))
            .map_or(work.sheets.len(), |p| p + 1);
        let first = SheetId(self.list.next_sheet);
        self.turn_to(Leaf::Solution);
        self.page.listing = drafts.len() > 1;
        for (place, (draft, reading)) in (after_open..).zip(drafts) {
            let id = SheetId(self.list.next_sheet);
            self.list.next_sheet += 1;
            let sheet = Sheet { id, draft, reading };
            work.sheets.insert(place, Rc::new(sheet));
        }
        work.open = Some(first);
        work.at = NodeId::ROOT;
        self.board.setting_up = false;
        self.replace(work, None)
    }
    pub(super) fn came(&mut self, from: &str, text: &str) -> Vec<Effect> {
        if let Some(backup) = backup::read(from, text) {
            return self.restore(from, backup);
        }
        if class::is_brought(text) {
            return self.take_accounts(from.to_owned(), text);
        }
        let games = match intake::read(text) {
            Intake::Position(fen) => {
                let legal = fen::read(&fen).is_ok();
                let first = SheetId(self.list.next_sheet);
                let effects = self.add(vec![(self.puzzle_at(&fen), None)]);
                self.board.setting_up = !legal;
                self.list.paste_box = false;
                self.tell_of_import(from, first, 1, 0);
                return effects;
            }
            Intake::Nothing(faults) => {
                self.warn(nothing_in(from, faults), Vec::new);
                return vec![];
            }
            Intake::Games(games) => games,
        };
        let whole: Rc<str> = text.into();
        let mut letters = None;
        let drafts: Vec<_> = games
            .into_iter()
            .map(|mut game| {
                if let Some((respelt, language)) = keyproof_tongues::respelt(&game.draft) {
                    game.draft = respelt;
                    letters = Some(language);
                }
                let reading = (!game.faults.is_empty())
                    .then(|| Rc::new(Reading::new(from.to_owned(), whole.clone(), game.faults)));
                (game.draft, reading)
            })
            .collect();
        self.list.paste_box = false;
        let (count, faulty) = (
            drafts.len(),
            drafts.iter().filter(|d| d.1.is_some()).count(),
        );
        let first = SheetId(self.list.next_sheet);
        let effects = self.add(drafts);
        self.tell_of_import(from, first, count, faulty);
        if let Some(language) = letters {
            self.tell(
                move || {
                    say!(
                        "The moves were read with these piece letters: {language}.",
                        language = language
                    )
                },
                Vec::new,
            );
        }
        effects
    }
    /// Tells of what came in, if there is something to tell: that it is many,
    /// that it has faults, or that some of it was there before.
    fn tell_of_import(&mut self, from: &str, first: SheetId, count: usize, faulty: usize) {
        let doubles = self.doubles_from(first);
        if count == 1 && faulty == 0 && doubles.is_empty() {
            return;
        }
        let came = self
            .document
            .work
            .sheets
            .iter()
            .filter(|sheet| sheet.id >= first);
        let cards = came.filter_map(|sheet| self.list.shelf.card(sheet.id));
        let (mut games, mut puzzles) = (false, false);
        for card in cards {
            *if card.kind == Kind::Puzzle {
                &mut puzzles
            } else {
                &mut games
            } = true;
        }
        let came = match (games, puzzles, count) {
            (true, false, 1) => phrase!("One game came from {from}.", "n from"),
            (true, false, _) => phrase!("{n} games came from {from}.", "n from"),
            (true, true, _) => phrase!("{n} puzzles and games came from {from}.", "n from"),
            (false, _, 1) => phrase!("One puzzle came from {from}.", "n from"),
            (false, ..) => phrase!("{n} puzzles came from {from}.", "n from"),
        };
        let also = (!doubles.is_empty()).then(|| self.words_of_doubles(&doubles));
        let from = from.to_owned();
        self.page.drop_passing_notices();
        self.page.notice(Weight::News, move || {
            let count = thousands(count as u64);
            let mut words = vec![say!(came, n = count, from = marked(&from))];
            if faulty > 0 {
                words.push(plural!(
                    faulty,
                    "One did not read without faults; they stand beside it.",
                    "{n} did not read without faults; they stand beside each.",
                ));
            }
            let mut offers = undo();
            if let Some(also) = &also {
                let (more, also) = also();
                words.push(more);
                offers.splice(..0, also);
            }
            (words.join(" "), offers)
        });
    }
    pub(super) fn open(&mut self, id: SheetId) -> Vec<Effect> {
        self.page.listing = false;
        self.class.open = false;
        if self.document.work.sheet(id).is_none() || self.document.work.open == Some(id) {
            return vec![];
        }
        self.document.work.open = Some(id);
        self.document.work.at = NodeId::ROOT;
        self.board.setting_up = false;
        self.board.showing = None;
        self.giving_out.held = None;
        self.board.turned = false;
        self.document.history.end_run();
        self.look_at_open();
        let mut effects = self.assign();
        if self.saving.changed() {
            effects.push(Effect::SaveSoon);
        }
        effects
    }
    /// Moves a sheet up or down the list as it is shown.
    pub(super) fn reorder(&mut self, id: SheetId, by: i32) -> Vec<Effect> {
        let shown = self.list.shelf.shown();
        let neighbour = shown.iter().position(|&other| other == id);
        let neighbour = neighbour.and_then(|at| at.checked_add_signed(by as isize));
        match neighbour.and_then(|at| shown.get(at).copied()) {
            Some(neighbour) => self.put(id, neighbour, by > 0),
            None => vec![],
        }
    }
    /// Puts a sheet before or after another, while the list has the desk's order.
    pub(super) fn put(&mut self, id: SheetId, onto: SheetId, after: bool) -> Vec<Effect> {
        let mut work = self.document.work.clone();
        let Some(place) = work
            .place(id)
            .filter(|_| id != onto && self.list.shelf.is_in_desk_order())
        else {
            return vec![];
        };
        let sheet = work.sheets.remove(place);
        let Some(to) = work.place(onto).map(|to| to + usize::from(after)) else {
            return vec![];
        };
        if to == place {
            return vec![];
        }
        work.sheets.insert(to, sheet);
        self.replace(work, None)
    }
    pub(super) fn travel(
        &mut self,
        way: fn(&mut History<Work, Run>, Work) -> Result<Work, Work>,
    ) -> Vec<Effect> {
        let present = std::mem::take(&mut self.document.work);
        let open = present.open;
        match way(&mut self.document.history, present) {
            Ok(work) => {
                self.page.drop_passing_notices();
                self.document.work = work;
                if self.document.work.open != open {
                    self.board.setting_up = false;
                    self.board.turned = false;
                }
                self.settle()
            }
            Err(present) => {
                self.document.work = present;
                vec![]
            }
        }
    }
}

/// Says that there is nothing to read in a text, and what was met first in it.
pub(super) fn nothing_in(from: &str, faults: Vec<TextFault>) -> impl Fn() -> String + 'static {
    let (from, fault) = (from.to_owned(), faults.into_iter().next());
    move || {
        let mut words = vec![say!(
            "No game and no position was found in {from}.",
            from = marked(&from),
        )];
        if let Some(fault) = &fault {
            let (line, column) = (fault.place.line, fault.place.column);
            words.push(say!(
                "Line {line}, column {column}: {expected} was expected.",
                line = line.to_string(),
                column = column.to_string(),
                expected = fault.wanted(),
            ));
        }
        words.join(" ")
    }
}

/// The node to stand on after an edit: the same, or what is left above it.
fn nearest(before: &Draft, after: &Draft, at: NodeId) -> NodeId {
    let mut at = at;
    while at != NodeId::ROOT && after.node(at).is_none() {
        at = before.node(at).map_or(NodeId::ROOT, |n| n.parent);
    }
    at
}
