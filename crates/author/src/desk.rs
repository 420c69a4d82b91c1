//! The state of the page and all that can happen to it. No browser in here:
//! what the browser is asked to do comes out as [`Effect`]s.

use std::collections::HashMap;
use std::rc::Rc;

use keyproof::check::{Known, Soundness};
use keyproof::draft::{Draft, Edit, NodeId};
use keyproof::notation::{fen, moves, pgn_write};
use keyproof::publish::{self, Item};
use keyproof::puzzle::Stipulation;
use shakmaty::{Chess, Move, Position};

use crate::book;
use crate::example;
use crate::history::History;
use crate::intake::{self, Intake};
use crate::look::{Look, stipulation, stipulation_tag};
use crate::message::{Effect, Msg, Notice, Purpose, Scope, Way};
use crate::proving::{Agenda, Bench, FIRST_BUDGET};
use crate::saved::{Saved, Saving, Stage};
use crate::setup::Setup;
use crate::work::{Reading, Sheet, SheetId, Work, comments, title, told};

/// Milliseconds between the moves of a line that is shown.
const SHOW_PACE: u32 = 900;
/// States that undo keeps.
const UNDO_BOUND: usize = 500;

/// Changes that count as one while they go on.
#[derive(Clone, Debug, PartialEq)]
enum Run {
    Tag(SheetId, String),
    Words(SheetId, NodeId),
    WordsBefore(SheetId, NodeId),
    Fen(SheetId),
}

/// A line being shown on the board.
#[derive(Clone, Debug)]
pub struct Showing {
    pub node: NodeId,
    pub moves: Vec<Move>,
    /// The positions before the first move and after each.
    pub positions: Vec<Chess>,
    /// Moves played so far.
    pub at: usize,
    token: u32,
}

impl Showing {
    /// Shows the position after `at` moves, and plays no further by itself.
    fn go(&mut self, at: usize) {
        self.at = at.min(self.moves.len());
        self.token = 0;
    }
    fn walk(&mut self, way: Way) {
        match way {
            Way::Back => self.go(self.at.saturating_sub(1)),
            Way::Forward => self.go(self.at + 1),
            Way::Start => self.go(0),
            Way::End => self.go(self.moves.len()),
            Way::Up | Way::Down => {}
        }
    }
}

/// The whole state of the page.
pub struct Desk {
    work: Work,
    history: History<Work, Run>,
    looks: HashMap<SheetId, Look>,
    budgets: HashMap<SheetId, u64>,
    bench: Bench,
    saving: Saving,
    next_sheet: u32,
    next_token: u32,
    /// The child last gone to from a node of a puzzle.
    trail: HashMap<(SheetId, NodeId), NodeId>,
    forget_when_saved: Vec<String>,
    setting_up: bool,
    showing: Option<Showing>,
    turned: bool,
    paste_box: bool,
    notices: Vec<Notice>,
    /// An export that waits for a second, deliberate press, and why.
    held: Option<(Scope, Vec<String>)>,
    preparing: Option<Purpose>,
    preview: Option<Rc<str>>,
}

impl Desk {
    /// An empty desk with this many workers being started.
    pub fn new(workers: usize) -> Desk {
        Desk {
            work: Work::new(),
            history: History::new(UNDO_BOUND),
            looks: HashMap::new(),
            budgets: HashMap::new(),
            bench: Bench::new(workers),
            saving: Saving::new(),
            next_sheet: 1,
            next_token: 0,
            trail: HashMap::new(),
            forget_when_saved: Vec::new(),
            setting_up: false,
            showing: None,
            turned: false,
            paste_box: false,
            notices: Vec::new(),
            held: None,
            preparing: None,
            preview: None,
        }
    }
    pub fn work(&self) -> &Work {
        &self.work
    }
    pub fn look(&self, id: SheetId) -> Option<&Look> {
        self.looks.get(&id)
    }
    /// The open puzzle, and what follows from it.
    pub fn opened(&self) -> Option<(&Sheet, &Look)> {
        let sheet = self.work.opened()?;
        Some((sheet, self.looks.get(&sheet.id)?))
    }
    pub fn bench(&self) -> &Bench {
        &self.bench
    }
    pub fn saving(&self) -> &Saving {
        &self.saving
    }
    /// The position being set up, if the open puzzle is at that.
    pub fn setup(&self) -> Option<Setup> {
        let sheet = self.work.opened().filter(|_| self.setting_up)?;
        Some(Setup::of(sheet.draft.start_fen()))
    }
    pub fn showing(&self) -> Option<&Showing> {
        self.showing.as_ref()
    }
    /// Whether the author turned the board away from the solver's side.
    pub fn turned(&self) -> bool {
        self.turned
    }
    pub fn paste_box(&self) -> bool {
        self.paste_box
    }
    pub fn notices(&self) -> &[Notice] {
        &self.notices
    }
    /// The export that waits for a deliberate press, and why it does.
    pub fn held(&self) -> Option<(Scope, &[String])> {
        self.held
            .as_ref()
            .map(|(scope, why)| (*scope, why.as_slice()))
    }
    pub fn preparing(&self) -> Option<Purpose> {
        self.preparing
    }
    pub fn preview(&self) -> Option<&Rc<str>> {
        self.preview.as_ref()
    }
    pub fn can_undo(&self) -> bool {
        self.history.can_undo()
    }
    pub fn can_redo(&self) -> bool {
        self.history.can_redo()
    }
    /// What a puzzle may spend on one piece of work, in positions.
    pub fn budget(&self, id: SheetId) -> u64 {
        self.budgets.get(&id).copied().unwrap_or(FIRST_BUDGET)
    }
    /// Whether something of a puzzle is being proved or waits for it.
    pub fn is_checking(&self, id: SheetId) -> bool {
        !self.bench.is_empty()
            && self
                .looks
                .get(&id)
                .is_some_and(|look| self.bench.has_work(&self.agenda(id, look)))
    }

    /// Something happened.
    pub fn update(&mut self, msg: Msg) -> Vec<Effect> {
        match msg {
            Msg::New => self.add_new(),
            Msg::Example => self.came("the example", example::PGN),
            Msg::Open(id) => self.open(id),
            Msg::Remove(id) => self.remove(id),
            Msg::Reorder(id, by) => self.reorder(id, by),
            Msg::Came { from, text } => self.came(&from, &text),
            Msg::Unread { from, why } => {
                self.warn(format!("{from} could not be opened: {why}"), vec![]);
                vec![]
            }
            Msg::PutAwayReading(id) => self.change_sheet(id, None, |sheet| sheet.reading = None),
            Msg::PasteBox(open) => {
                self.paste_box = open;
                if open {
                    vec![Effect::Focus("paste-text")]
                } else {
                    vec![]
                }
            }

            Msg::Undo => self.travel(History::undo),
            Msg::Redo => self.travel(History::redo),
            Msg::FieldLeft => {
                self.history.end_run();
                vec![]
            }

            Msg::Go(node) => {
                self.go(node);
                vec![]
            }
            Msg::Walk(way) => {
                self.walk(way);
                vec![]
            }
            Msg::Play(mv) => self.play(mv),
            Msg::Claim(node, claim) => self.claim(node, claim),
            Msg::MakeMain(node) => self.edit(&[Edit::MakeMain { node }], None),
            Msg::Shift(node, by) => self.edit(&[Edit::Shift { node, by }], None),
            Msg::Cut(node) => self.edit(&[Edit::Remove { node }], None),
            Msg::CutHere => match self.work.at {
                NodeId::ROOT => vec![],
                node => self.edit(&[Edit::Remove { node }], None),
            },
            Msg::Words { node, text } => {
                let run = self.work.open.map(|id| Run::Words(id, node));
                let comments = comments(&text);
                self.edit(&[Edit::SetAfter { node, comments }], run)
            }
            Msg::WordsBefore { node, text } => {
                let run = self.work.open.map(|id| Run::WordsBefore(id, node));
                let comments = comments(&text);
                self.edit(&[Edit::SetBefore { node, comments }], run)
            }
            Msg::Tag { name, value } => {
                let run = self.work.open.map(|id| Run::Tag(id, name.clone()));
                let value = (!value.is_empty()).then_some(value);
                self.edit(&[Edit::SetTag { name, value }], run)
            }
            Msg::Mend(edits) => self.edit(&edits, None),

            Msg::SetUp(on) => {
                self.setting_up = on;
                self.showing = None;
                self.history.end_run();
                if on {
                    self.work.at = NodeId::ROOT;
                }
                vec![]
            }
            Msg::Setup(change) => {
                let Some(setup) = self.setup() else {
                    return vec![];
                };
                let fen = Some(setup.change(&change).text);
                let run = match change {
                    crate::setup::SetupChange::Text(_) => self.work.open.map(Run::Fen),
                    _ => None,
                };
                self.edit(&[Edit::SetStart { fen }], run)
            }
            Msg::TurnBoard => {
                self.turned = !self.turned;
                vec![]
            }
            Msg::Show { node, line } => self.show(node, &line),
            Msg::ShowTo(at) => {
                if let Some(showing) = &mut self.showing {
                    showing.go(at);
                }
                vec![]
            }
            Msg::ShowNext(token) => self.show_next(token),
            Msg::ShowEnd => {
                self.showing = None;
                vec![Effect::Focus("move-here")]
            }

            Msg::Ready { seat } => {
                self.bench.ready(seat);
                self.assign()
            }
            Msg::Progress {
                seat,
                ticket,
                nodes,
            } => {
                self.bench.progress(seat, ticket, nodes);
                vec![]
            }
            Msg::Answered {
                seat,
                ticket,
                answer,
            } => {
                if let Some(job) = self.bench.done(seat, ticket)
                    && let Some(look) = self.looks.get_mut(&job.sheet)
                {
                    look.learn(&answer);
                }
                self.assign()
            }
            Msg::Broke { seat, why } => {
                let orders = self.bench.broke(seat);
                self.warn(
                    format!("A checking worker broke down and was started anew ({why})."),
                    vec![],
                );
                orders
                    .into_iter()
                    .map(Effect::Work)
                    .chain(self.assign())
                    .collect()
            }
            Msg::NoWorkers(why) => {
                self.warn(
                    format!("This browser runs no workers for this page ({why}), so nothing can be checked here."),
                    vec![],
                );
                vec![]
            }
            Msg::Stop => self.bench.stop().into_iter().map(Effect::Work).collect(),
            Msg::GoOn => {
                self.bench.go_on();
                self.assign()
            }
            Msg::SearchOn => {
                if let Some(id) = self.work.open {
                    let more = self.budget(id).saturating_mul(10);
                    self.budgets.insert(id, more);
                    if let Some(look) = self.looks.get_mut(&id) {
                        look.forget_undecided();
                    }
                }
                self.bench.go_on();
                self.assign()
            }

            Msg::Publish(scope) => self.publish(scope, false),
            Msg::PublishAllTheSame(scope) => self.publish(scope, true),
            Msg::Preview => self.fetch(Purpose::Preview),
            Msg::PreviewEnd => {
                self.preview = None;
                vec![]
            }
            Msg::Template { purpose, template } => self.fill(purpose, template),
            Msg::SavePgn(scope) => self.save_pgn(scope),
            Msg::CopyFen => match self.board_fen() {
                Some(fen) => vec![Effect::Copy(fen)],
                None => vec![],
            },
            Msg::SaveReading(id) => match self.work.sheet(id).and_then(|s| s.reading.clone()) {
                Some(reading) => vec![Effect::Download {
                    name: "as-it-came.pgn".into(),
                    kind: "text/plain",
                    text: reading.text.to_string(),
                }],
                None => vec![],
            },
            Msg::NotDownloaded { name, why } => {
                self.warn(
                    format!("The browser would not save {name} ({why})."),
                    vec![],
                );
                vec![]
            }
            Msg::Copied(Ok(())) => {
                self.tell("The FEN is on the clipboard.".into(), vec![]);
                vec![]
            }
            Msg::Copied(Err(why)) => {
                let fen = self.board_fen().unwrap_or_default();
                self.warn(
                    format!("The browser would not copy ({why}). The FEN: {fen}"),
                    vec![],
                );
                vec![]
            }

            Msg::Restored { slots, mine } => self.restored(slots, mine.as_deref()),
            Msg::StoreRefused(why) => self.store_refused(why),
            Msg::SaveDue => self.write(),
            Msg::Written { slot, revision } => {
                let again = self.saving.written(slot, revision);
                let mut effects: Vec<Effect> = std::mem::take(&mut self.forget_when_saved)
                    .into_iter()
                    .map(|slot| Effect::Forget { slot })
                    .collect();
                if again {
                    effects.push(Effect::SaveSoon);
                }
                effects
            }
            Msg::WrittenElsewhere => {
                self.saving.elsewhere();
                self.warn(
                    "Another tab has saved this work since. Both are kept: what you see here is now saved on its own, and the other is offered to you the next time you open the page.".into(),
                    vec![],
                );
                vec![self.write_effect()]
            }
            Msg::BringIn { slot, saved } => self.bring_in(slot, &saved),
            Msg::Forget { slot } => {
                self.notices.retain(|n| {
                    !n.offers
                        .iter()
                        .any(|(_, m)| matches!(m, Msg::Forget { slot: s } if *s == slot))
                });
                vec![Effect::Forget { slot }]
            }
            Msg::Dismiss(id) => {
                self.notices.retain(|n| n.id != id);
                vec![]
            }
        }
    }
}

/// Changes of the work.
impl Desk {
    /// Puts a changed work in the place of the present one, which undo keeps.
    fn replace(&mut self, work: Work, run: Option<Run>) -> Vec<Effect> {
        self.drop_passing_notices();
        let before = std::mem::replace(&mut self.work, work);
        self.history.keep(before, run);
        self.settle()
    }
    /// After any change of the work: looks at what is new, saves, checks.
    fn settle(&mut self) -> Vec<Effect> {
        self.held = None;
        self.showing = None;
        self.look_again();
        self.bench.go_on();
        let mut effects = self.assign();
        if self.saving.changed() {
            effects.push(Effect::SaveSoon);
        }
        effects
    }
    fn look_again(&mut self) {
        for sheet in &self.work.sheets {
            if self.looks.get(&sheet.id).is_some_and(|l| l.is_of(sheet)) {
                continue;
            }
            let known = self
                .looks
                .remove(&sheet.id)
                .map_or_else(Known::default, |old| old.known);
            self.looks.insert(sheet.id, Look::new(sheet.clone(), known));
        }
        if self
            .work
            .opened()
            .is_none_or(|s| s.draft.node(self.work.at).is_none())
        {
            self.work.at = NodeId::ROOT;
        }
    }
    fn change_sheet(
        &mut self,
        id: SheetId,
        run: Option<Run>,
        change: impl FnOnce(&mut Sheet),
    ) -> Vec<Effect> {
        let mut work = self.work.clone();
        let Some(place) = work.place(id) else {
            return vec![];
        };
        change(Rc::make_mut(&mut work.sheets[place]));
        self.replace(work, run)
    }
    /// Edits the open puzzle; all edits or none.
    fn edit(&mut self, edits: &[Edit], run: Option<Run>) -> Vec<Effect> {
        let Some(sheet) = self.work.opened() else {
            return vec![];
        };
        let id = sheet.id;
        let before = &sheet.draft;
        let mut draft = before.clone();
        let fault = edits.iter().find_map(|edit| draft.apply(edit).err());
        if fault.is_some() {
            self.warn(
                "That change no longer fits the tree, and nothing was changed.".into(),
                vec![],
            );
            return vec![];
        }
        let at = nearest(before, &draft, self.work.at);
        let effects = self.change_sheet(id, run, |sheet| sheet.draft = draft);
        self.work.at = at;
        effects
    }
    fn add_new(&mut self) -> Vec<Effect> {
        let draft = self.puzzle_at("8/8/8/8/8/8/8/8 w - - 0 1");
        let effects = self.add(vec![(draft, None)]);
        self.setting_up = true;
        effects
    }
    /// A new puzzle, by the author and in the language of the open one.
    fn puzzle_at(&self, fen: &str) -> Draft {
        let mut draft = intake::puzzle_at(Some(fen));
        for tag in ["Annotator", "Language"] {
            let open = self.work.opened();
            if let Some(value) = open.and_then(|s| told(&s.draft, tag)) {
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
    fn add(&mut self, drafts: Vec<(Draft, Option<Rc<Reading>>)>) -> Vec<Effect> {
        let mut work = self.work.clone();
        let after_open = work
            .open
            .and_then(|id| work.place(id))
            .map_or(work.sheets.len(), |p| p + 1);
        let first = SheetId(self.next_sheet);
        for (place, (draft, reading)) in (after_open..).zip(drafts) {
            let id = SheetId(self.next_sheet);
            self.next_sheet += 1;
            let sheet = Sheet { id, draft, reading };
            work.sheets.insert(place, Rc::new(sheet));
        }
        work.open = Some(first);
        work.at = NodeId::ROOT;
        self.setting_up = false;
        self.replace(work, None)
    }
    fn came(&mut self, from: &str, text: &str) -> Vec<Effect> {
        let games = match intake::read(text) {
            Intake::Position(fen) => {
                let legal = fen::read(&fen).is_ok();
                let effects = self.add(vec![(self.puzzle_at(&fen), None)]);
                self.setting_up = !legal;
                self.paste_box = false;
                return effects;
            }
            Intake::Nothing(faults) => {
                let mut words = format!("No game and no position was found in {from}.");
                if let Some(fault) = faults.first() {
                    words.push_str(&format!(
                        " Line {}, column {}: {} was expected.",
                        fault.place.line, fault.place.column, fault.expected
                    ));
                }
                self.warn(words, vec![]);
                return vec![];
            }
            Intake::Games(games) => games,
        };
        let whole: Rc<str> = text.into();
        let drafts: Vec<_> = games
            .into_iter()
            .map(|game| {
                let reading = (!game.faults.is_empty()).then(|| {
                    Rc::new(Reading {
                        from: from.to_owned(),
                        text: whole.clone(),
                        faults: game.faults,
                    })
                });
                (game.draft, reading)
            })
            .collect();
        self.paste_box = false;
        let (count, faulty) = (
            drafts.len(),
            drafts.iter().filter(|d| d.1.is_some()).count(),
        );
        let effects = self.add(drafts);
        if count > 1 || faulty > 0 {
            self.tell_of_import(from, count, faulty);
        }
        effects
    }
    fn tell_of_import(&mut self, from: &str, count: usize, faulty: usize) {
        let mut words = match count {
            1 => format!("One puzzle came from {from}."),
            _ => format!("{count} puzzles came from {from}."),
        };
        match faulty {
            0 => {}
            1 => words.push_str(" One did not read without faults; they stand beside it."),
            _ => words.push_str(&format!(
                " {faulty} did not read without faults; they stand beside each."
            )),
        }
        self.tell(words, vec![("Undo".into(), Msg::Undo)]);
    }
    fn open(&mut self, id: SheetId) -> Vec<Effect> {
        if self.work.sheet(id).is_none() || self.work.open == Some(id) {
            return vec![];
        }
        self.work.open = Some(id);
        self.work.at = NodeId::ROOT;
        self.setting_up = false;
        self.showing = None;
        self.held = None;
        self.turned = false;
        self.history.end_run();
        let mut effects = self.assign();
        if self.saving.changed() {
            effects.push(Effect::SaveSoon);
        }
        effects
    }
    fn remove(&mut self, id: SheetId) -> Vec<Effect> {
        let mut work = self.work.clone();
        let Some(place) = work.place(id) else {
            return vec![];
        };
        let gone = work.sheets.remove(place);
        if work.open == Some(id) {
            let next = work.sheets.get(place).or(work.sheets.last());
            work.open = next.map(|s| s.id);
            work.at = NodeId::ROOT;
            self.setting_up = false;
        }
        let effects = self.replace(work, None);
        let name = title(&gone.draft).unwrap_or_else(|| "The puzzle".into());
        self.tell(
            format!("{name} was removed."),
            vec![("Undo".into(), Msg::Undo)],
        );
        effects
    }
    fn reorder(&mut self, id: SheetId, by: i32) -> Vec<Effect> {
        let mut work = self.work.clone();
        let Some(place) = work.place(id) else {
            return vec![];
        };
        let to = place.saturating_add_signed(by as isize);
        if to == place || to >= work.sheets.len() {
            return vec![];
        }
        let sheet = work.sheets.remove(place);
        work.sheets.insert(to, sheet);
        self.replace(work, None)
    }
    fn travel(
        &mut self,
        way: fn(&mut History<Work, Run>, Work) -> Result<Work, Work>,
    ) -> Vec<Effect> {
        let present = std::mem::take(&mut self.work);
        let open = present.open;
        match way(&mut self.history, present) {
            Ok(work) => {
                self.drop_passing_notices();
                self.work = work;
                if self.work.open != open {
                    self.setting_up = false;
                    self.turned = false;
                }
                self.settle()
            }
            Err(present) => {
                self.work = present;
                vec![]
            }
        }
    }
}

/// The tree of the open puzzle.
impl Desk {
    fn go(&mut self, node: NodeId) {
        let Some(sheet) = self.work.opened() else {
            return;
        };
        let Some(there) = sheet.draft.node(node) else {
            return;
        };
        if node != NodeId::ROOT {
            self.trail.insert((sheet.id, there.parent), node);
        }
        self.work.at = node;
        self.showing = None;
        self.setting_up = false;
        self.history.end_run();
    }
    fn walk(&mut self, way: Way) {
        if let Some(showing) = &mut self.showing {
            showing.walk(way);
            return;
        }
        let Some(sheet) = self.work.opened() else {
            return;
        };
        let draft = &sheet.draft;
        let Some(here) = draft.node(self.work.at) else {
            return;
        };
        let forward = |at: NodeId| {
            let node = draft.node(at)?;
            let last = self
                .trail
                .get(&(sheet.id, at))
                .filter(|c| node.children.contains(c));
            last.or(node.children.first()).copied()
        };
        let sibling = |by: isize| {
            let siblings = &draft.node(here.parent)?.children;
            let place = siblings.iter().position(|&c| c == self.work.at)?;
            siblings.get(place.checked_add_signed(by)?).copied()
        };
        let to = match way {
            Way::Back => Some(here.parent),
            Way::Forward => forward(self.work.at),
            Way::Up => sibling(-1),
            Way::Down => sibling(1),
            Way::Start => Some(NodeId::ROOT),
            Way::End => std::iter::successors(Some(self.work.at), |&at| forward(at)).last(),
        };
        if let Some(node) = to {
            self.go(node);
        }
    }
    fn play(&mut self, mv: Move) -> Vec<Effect> {
        let at = self.work.at;
        let Some((sheet, look)) = self.opened() else {
            return vec![];
        };
        let Some(position) = look.position(at).filter(|p| p.is_legal(mv)) else {
            return vec![];
        };
        let known = sheet
            .draft
            .node(at)
            .and_then(|n| n.children.iter().copied().find(|&c| look.mv(c) == Some(mv)));
        if let Some(child) = known {
            self.go(child);
            return vec![];
        }
        let san = moves::san(position, mv);
        let edit = Edit::AddLine {
            at,
            moves: vec![san],
            nags: vec![],
        };
        let effects = self.edit(&[edit], None);
        let added = self
            .opened()
            .and_then(|(sheet, _)| sheet.draft.node(at)?.children.last().copied());
        if let Some(added) = added {
            self.go(added);
        }
        effects
    }
    fn claim(&mut self, node: NodeId, claim: book::Claim) -> Vec<Effect> {
        let Some(there) = self.work.opened().and_then(|s| s.draft.node(node)) else {
            return vec![];
        };
        let nags = book::claim(&there.nags, claim);
        self.edit(&[Edit::SetNags { node, nags }], None)
    }
    fn show(&mut self, node: NodeId, line: &[String]) -> Vec<Effect> {
        let Some((_, look)) = self.opened() else {
            return vec![];
        };
        let Some(start) = look.position(node) else {
            return vec![];
        };
        let mut positions = vec![start.clone()];
        let mut played = Vec::new();
        for text in line {
            let here = positions.last().expect("the start at least");
            let Ok(mv) = moves::read(here, text) else {
                break;
            };
            let mut next = here.clone();
            next.play_unchecked(mv);
            played.push(mv);
            positions.push(next);
        }
        self.next_token += 1;
        let token = self.next_token;
        self.setting_up = false;
        self.showing = Some(Showing {
            node,
            moves: played,
            positions,
            at: 0,
            token,
        });
        vec![
            Effect::Focus("show-end"),
            Effect::Later(SHOW_PACE, Msg::ShowNext(token)),
        ]
    }
    fn show_next(&mut self, token: u32) -> Vec<Effect> {
        match &mut self.showing {
            Some(showing) if showing.token == token && showing.at < showing.moves.len() => {
                showing.at += 1;
                vec![Effect::Later(SHOW_PACE, Msg::ShowNext(token))]
            }
            _ => vec![],
        }
    }
    fn board_fen(&self) -> Option<String> {
        let (sheet, look) = self.opened()?;
        match look.position(self.work.at) {
            Some(position) => Some(fen::write(position)),
            None => sheet.draft.start_fen().map(str::to_owned),
        }
    }
}

/// Proving.
impl Desk {
    fn agenda<'a>(&self, id: SheetId, look: &'a Look) -> Agenda<'a> {
        Agenda {
            sheet: id,
            questions: &look.questions,
            budget: self.budget(id),
        }
    }
    fn assign(&mut self) -> Vec<Effect> {
        let mut bench = std::mem::take(&mut self.bench);
        let open = self.work.open;
        let rest = self.work.sheets.iter().map(|s| s.id);
        let agendas: Vec<Agenda> = open
            .into_iter()
            .chain(rest.filter(|&id| Some(id) != open))
            .filter_map(|id| Some((id, self.looks.get(&id)?)))
            .filter(|(_, look)| !look.questions.is_empty())
            .map(|(id, look)| self.agenda(id, look))
            .collect();
        let orders = bench.assign(&agendas);
        self.bench = bench;
        orders.into_iter().map(Effect::Work).collect()
    }
}

/// Giving out.
impl Desk {
    fn scope(&self, scope: Scope) -> Vec<SheetId> {
        match scope {
            Scope::Open => self.work.open.into_iter().collect(),
            Scope::All => self.work.sheets.iter().map(|s| s.id).collect(),
        }
    }
    fn name(&self, id: SheetId) -> String {
        let sheet = self.work.sheet(id);
        sheet
            .and_then(|s| title(&s.draft))
            .unwrap_or_else(|| format!("Puzzle {}", self.work.place(id).map_or(0, |p| p + 1)))
    }
    fn publish(&mut self, scope: Scope, deliberate: bool) -> Vec<Effect> {
        let ids = self.scope(scope);
        let unfit: Vec<String> = ids
            .iter()
            .filter(|id| self.looks.get(id).is_none_or(|l| l.puzzle.is_none()))
            .map(|&id| self.name(id))
            .collect();
        if ids.is_empty() {
            return vec![];
        }
        if unfit.len() == ids.len() {
            self.held = None;
            self.warn(
                format!(
                    "{} cannot be posed to a student yet; the verdict says why.",
                    list(&unfit)
                ),
                vec![],
            );
            return vec![];
        }
        let mut why = Vec::new();
        if !unfit.is_empty() {
            why.push(format!(
                "{} cannot be posed to a student yet and would be left out.",
                list(&unfit)
            ));
        }
        for &id in &ids {
            let name = self.name(id);
            if self.work.sheet(id).is_some_and(|s| s.reading.is_some()) {
                why.push(format!("Not all of {name} could be read."));
            }
            match self
                .looks
                .get(&id)
                .filter(|l| l.puzzle.is_some())
                .map(|l| l.report.verdict)
            {
                Some(Soundness::Unsound) => why.push(format!("{name} is unsound.")),
                Some(Soundness::Undecided) => why.push(format!(
                    "{name} is undecided: not every claim in it is proved."
                )),
                _ => {}
            }
        }
        if !why.is_empty() && !deliberate {
            self.held = Some((scope, why));
            return vec![];
        }
        self.held = None;
        self.fetch(Purpose::File(scope))
    }
    fn fetch(&mut self, purpose: Purpose) -> Vec<Effect> {
        self.preparing = Some(purpose);
        vec![Effect::FetchTemplate(purpose)]
    }
    fn fill(&mut self, purpose: Purpose, template: Result<String, String>) -> Vec<Effect> {
        self.preparing = None;
        let scope = match purpose {
            Purpose::File(scope) => scope,
            Purpose::Preview => Scope::Open,
        };
        match template.and_then(|t| self.student_page(&t, scope)) {
            Err(why) => {
                self.warn(
                    format!("The student's page could not be made: {why}"),
                    vec![],
                );
                vec![]
            }
            Ok(page) if purpose == Purpose::Preview => {
                self.preview = Some(page.into());
                vec![Effect::Focus("preview-end")]
            }
            Ok(page) => {
                let name = format!("{}.html", self.file_stem(scope));
                self.tell(
                    format!("{name} was given to the browser to save. It is all a student needs."),
                    vec![],
                );
                vec![Effect::Download {
                    name,
                    kind: "text/html",
                    text: page,
                }]
            }
        }
    }
    fn student_page(&self, template: &str, scope: Scope) -> Result<String, String> {
        let ids = self.scope(scope);
        let chosen: Vec<(&Sheet, &Look)> = ids
            .iter()
            .filter_map(|id| Some((&**self.work.sheet(*id)?, self.looks.get(id)?)))
            .filter(|(_, look)| look.puzzle.is_some())
            .collect();
        let Some((first, _)) = chosen.first() else {
            return Err("no puzzle in it can be posed yet; the verdict says why.".into());
        };
        let items: Vec<Item> = chosen
            .iter()
            .map(|(sheet, look)| Item {
                draft: &sheet.draft,
                known: &look.known,
            })
            .collect();
        let name = title(&first.draft).unwrap_or_else(|| "A chess puzzle".into());
        let heading = match chosen.len() {
            1 => name,
            n => format!("{n} chess puzzles"),
        };
        let language = told(&first.draft, "Language").unwrap_or("en");
        publish::student_page(template, &heading, language, &items)
    }
    fn save_pgn(&mut self, scope: Scope) -> Vec<Effect> {
        let text: String = self
            .scope(scope)
            .into_iter()
            .filter_map(|id| self.work.sheet(id))
            .map(|sheet| pgn_write::write(&sheet.draft))
            .collect();
        vec![Effect::Download {
            name: format!("{}.pgn", self.file_stem(scope)),
            kind: "application/vnd.chess-pgn",
            text,
        }]
    }
    fn file_stem(&self, scope: Scope) -> String {
        let name = match scope {
            Scope::Open => self.work.open.map(|id| self.name(id)),
            Scope::All => None,
        };
        let stem: String = name
            .unwrap_or_else(|| "puzzles".into())
            .chars()
            .map(|c| {
                if c.is_alphanumeric() {
                    c.to_ascii_lowercase()
                } else {
                    '-'
                }
            })
            .collect();
        let parts: Vec<&str> = stem.split('-').filter(|p| !p.is_empty()).collect();
        let stem: String = parts.join("-").chars().take(60).collect();
        if stem.is_empty() {
            "puzzle".into()
        } else {
            stem
        }
    }
}

/// The store.
impl Desk {
    fn restored(&mut self, mut slots: Vec<(String, Saved)>, mine: Option<&str>) -> Vec<Effect> {
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
    fn bring_in(&mut self, slot: String, saved: &Saved) -> Vec<Effect> {
        self.notices.retain(|n| {
            !n.offers
                .iter()
                .any(|(_, m)| matches!(m, Msg::BringIn { slot: s, .. } if *s == slot))
        });
        let brought = saved.work(self.next_sheet);
        self.next_sheet += brought.sheets.len() as u32;
        let mut work = self.work.clone();
        work.open = work.open.or(brought.open);
        work.sheets.extend(brought.sheets);
        self.forget_when_saved.push(slot);
        self.replace(work, None)
    }
    fn store_refused(&mut self, why: String) -> Vec<Effect> {
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
    fn write(&mut self) -> Vec<Effect> {
        if self.saving.begin() {
            vec![self.write_effect()]
        } else {
            vec![]
        }
    }
    fn write_effect(&self) -> Effect {
        Effect::Write {
            slot: self.saving.slot.clone(),
            base: self.saving.revision,
            saved: Saved::of(&self.work, self.saving.revision + 1),
        }
    }
}

/// Messages to the author.
impl Desk {
    /// Drops what was told about the state before this change.
    fn drop_passing_notices(&mut self) {
        self.notices
            .retain(|n| n.warning || n.offers.iter().any(|(_, m)| !matches!(m, Msg::Undo)));
    }
    fn tell(&mut self, text: String, offers: Vec<(String, Msg)>) {
        self.drop_passing_notices();
        self.notice(false, text, offers);
    }
    fn warn(&mut self, text: String, offers: Vec<(String, Msg)>) {
        self.notice(true, text, offers);
    }
    fn notice(&mut self, warning: bool, text: String, offers: Vec<(String, Msg)>) {
        self.next_token += 1;
        self.notices.retain(|n| n.text != text);
        self.notices.push(Notice {
            id: self.next_token,
            warning,
            text,
            offers,
        });
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

/// Names as a list in a sentence.
fn list(names: &[String]) -> String {
    match names {
        [] => String::new(),
        [one] => one.clone(),
        [rest @ .., last] => format!("{} and {last}", rest.join(", ")),
    }
}

/// The stipulation with another number of moves.
pub fn mate_in(n: u8) -> Msg {
    Msg::Tag {
        name: "Stipulation".into(),
        value: stipulation_tag(Stipulation::Mate(n)),
    }
}

/// The number of moves that the stipulation names.
pub fn moves_asked(draft: &Draft) -> Option<u8> {
    match stipulation(draft) {
        Some(Stipulation::Mate(n)) => Some(n),
        _ => None,
    }
}

#[cfg(test)]
mod tests;
