//! The state of the page and all that can happen to it. No browser in here:
//! what the browser is asked to do comes out as [`Effect`]s.

mod beside;
#[cfg(all(test, feature = "broken-prover"))]
mod broken;
mod changes;
pub mod commands;
mod earlier;
mod endings;
mod finder;
mod folds;
mod giving_out;
mod guide;
mod lines;
#[cfg(test)]
mod long;
mod looking;
mod marks;
mod moments;
mod picture;
mod proof;
mod reasons;
#[cfg(test)]
mod safety;
mod second;
mod shelf;
mod store;
#[cfg(test)]
mod tests;
mod tongue;
mod tree;

use std::collections::HashMap;
use std::rc::Rc;

use keyproof::check::Question;
use keyproof::draft::{Draft, Edit, NodeId};
use keyproof::explain::Explanation;
use keyproof::marks::Mark;
use keyproof::tongue::{Phrase, Tongue, holes, marked, phrase, say, tr};
use shakmaty::{Chess, Move};

use crate::collection::Collection;
use crate::endings::Endings;
use crate::example;
use crate::explaining::Explainer;
use crate::history::History;
use crate::keeping::Saving;
use crate::look::{Look, stipulation};
use crate::message::{Effect, Msg, Notice, Offers, Purpose, Way, Weight};
use crate::proving::{Agenda, Bench, FIRST_BUDGET};
use crate::second::SecondChecks;
use crate::seek::{Effort, Seek};
use crate::setup::Setup;
use crate::shelf::Shelf;
use crate::work::{Sheet, SheetId, Work, comments};

pub use guide::{Guide, HERE, SEARCH};
pub use picture::Picturing;
pub use reasons::sans;

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
    /// Defences being answered.
    Fill(SheetId),
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
    /// Marks for the position after so many moves.
    marks: Option<(usize, Vec<Mark>)>,
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
    next_sheet: u64,
    next_token: u32,
    /// The child last gone to from a node of a puzzle.
    trail: HashMap<(SheetId, NodeId), NodeId>,
    folds: HashMap<SheetId, folds::Folds>,
    setting_up: bool,
    showing: Option<Showing>,
    proof_open: bool,
    turned: bool,
    paste_box: bool,
    notices: Vec<Notice>,
    /// An export that waits for a second, deliberate press, and why.
    held: Option<(Purpose, Vec<String>)>,
    preparing: Option<Purpose>,
    preview: Option<Rc<str>>,
    second: SecondChecks,
    with_proofs: bool,
    filling: Option<reasons::Filling>,
    fill_questions: Vec<Question>,
    explainer: Explainer,
    /// A student's page that waits for its reasons.
    waiting: Option<(Purpose, Result<String, String>)>,
    seeks: HashMap<SheetId, Seek>,
    /// The found moment that is shown, by its ply.
    regarded: Option<usize>,
    /// The found moment that is pointed at, by its ply.
    glimpsed: Option<usize>,
    effort: Effort,
    picturing: picture::Picturing,
    collection: Collection,
    /// Endgame tables that were opened from files.
    endings: Option<Endings>,
    /// The line that was copied or cut last.
    line: Option<Draft>,
    pencil: marks::Pencil,
    beside: beside::Beside,
    shelf: Shelf,
    looking: looking::Looking,
    finder: Option<finder::Finder>,
    guide: Option<Guide>,
    tongue: Tongue,
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
            folds: HashMap::new(),
            setting_up: false,
            showing: None,
            proof_open: false,
            turned: false,
            paste_box: false,
            notices: Vec::new(),
            held: None,
            preparing: None,
            preview: None,
            second: SecondChecks::default(),
            with_proofs: false,
            filling: None,
            fill_questions: Vec::new(),
            explainer: Explainer::default(),
            waiting: None,
            seeks: HashMap::new(),
            regarded: None,
            glimpsed: None,
            effort: Effort::default(),
            picturing: picture::Picturing::default(),
            collection: Collection::default(),
            endings: None,
            line: None,
            pencil: marks::Pencil::default(),
            beside: beside::Beside::default(),
            shelf: Shelf::default(),
            looking: looking::Looking::default(),
            finder: None,
            guide: None,
            tongue: Tongue::ENGLISH,
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
    /// The list of all puzzles.
    pub fn shelf(&self) -> &Shelf {
        &self.shelf
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
    pub fn held(&self) -> Option<(Purpose, &[String])> {
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
    /// Whether something of a puzzle is being proved or checked, or waits for it.
    pub fn is_checking(&self, id: SheetId) -> bool {
        let waits =
            |look: &Look| !look.claims.is_empty() || self.bench.has_work(&self.agenda(id, look));
        !self.bench.is_empty() && self.looks.get(&id).is_some_and(waits)
    }

    /// How many workers are at what a puzzle's verdict needs, and the positions
    /// they have seen.
    pub fn at_work(&self, id: SheetId) -> (usize, u64) {
        self.looks
            .get(&id)
            .map_or((0, 0), |look| self.bench.at_work(&self.agenda(id, look)))
    }

    /// What is being worked on for a puzzle's verdict, in words.
    pub fn working_on(&self, id: SheetId) -> Option<String> {
        let look = self.looks.get(&id)?;
        let question = self.bench.working_on(&self.agenda(id, look))?;
        look.name(question)
    }

    /// Something happened.
    pub fn update(&mut self, msg: Msg) -> Vec<Effect> {
        self.tongue.speaks(|| self.follow(msg))
    }

    fn follow(&mut self, msg: Msg) -> Vec<Effect> {
        let mut effects = self.happen(msg);
        if self.proof_open {
            effects.extend(self.assign());
        }
        effects.extend(self.fill_on());
        effects.extend(self.explain_on());
        effects.extend(self.preview_on());
        effects.extend(self.look_up_on());
        effects.extend(self.look_on());
        self.shelve();
        effects
    }

    fn happen(&mut self, msg: Msg) -> Vec<Effect> {
        match msg {
            Msg::New => self.add_new(),
            Msg::NewGame => self.add_game(),
            Msg::Example => self.came(phrase("the example"), example::PGN),
            Msg::ExampleLesson => self.example_lesson(),
            Msg::Shelf(event) => self.in_shelf(event),
            Msg::LookOn => self.look_turn(),
            Msg::Open(id) => self.open(id),
            Msg::Remove(id) => self.remove_all(&[id]),
            Msg::Reorder(id, by) => self.reorder(id, by),
            Msg::Put { sheet, onto, after } => self.put(sheet, onto, after),
            Msg::Came { from, text } => self.came(&from, &text),
            Msg::Pasted { text, in_tree } => self.pasted(phrase("the pasted text"), &text, in_tree),
            Msg::Unread { from, why } => {
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
                let again = self.work.at == node && self.showing.is_none();
                self.go(node);
                if again {
                    vec![Effect::Focus("words-here")]
                } else {
                    vec![]
                }
            }
            Msg::GoRead(node) => {
                self.go(node);
                vec![Effect::Focus("move-here")]
            }
            Msg::Walk(way) => {
                self.walk(way);
                vec![]
            }
            Msg::Fold(node) => self.fold(node),
            Msg::FoldHere => self.fold(self.work.at),
            Msg::Focus(id) => vec![Effect::Focus(id)],
            Msg::FoldAll(fold) => self.fold_all(fold),
            Msg::Play(mv) => self.play(mv),
            Msg::Claim(node, claim) => self.claim(node, claim),
            Msg::ShiftHere(by) => match self.work.at {
                NodeId::ROOT => vec![],
                node => self.edit(&[Edit::Shift { node, by }], None),
            },
            Msg::CopyLine => self.copy_line(),
            Msg::CutLine => self.cut_line(),
            Msg::PasteLine => self.paste_line(),
            Msg::Glyph(sign) => self.glyph(sign),
            Msg::Glyphs(nags) => self.set_glyphs(nags),
            Msg::CutHere => match self.work.at {
                NodeId::ROOT => vec![],
                node => self.edit(&[Edit::Remove { node }], None),
            },
            Msg::Words { node, text } => self.write_words(node, &text),
            Msg::Pencil(up) => {
                self.pencil.up = up;
                vec![]
            }
            Msg::Stroke(kind) => {
                self.pencil.kind = kind;
                vec![]
            }
            Msg::Draw(mark) => self.draw(mark),
            Msg::Wipe => self.wipe(),
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
            Msg::Fill => self.begin_filling(),
            Msg::Why(index) => self.show_why(index),

            Msg::Seek => self.seek(),
            Msg::SeekEnd { all } => self.end_seek(all),
            Msg::Sought {
                seat,
                ticket,
                answer,
                millis,
            } => self.sought(seat, ticket, answer, millis),
            Msg::Regard(ply) => {
                self.regard(ply);
                vec![]
            }
            Msg::Glimpse(ply) => {
                self.glimpsed = ply;
                vec![]
            }
            Msg::Effort(effort) => {
                self.effort = effort;
                vec![]
            }
            Msg::SeekAnew => self.seek_anew(),
            Msg::Picture(change) => self.picture(change),
            Msg::AskFound(ply) => self.ask_found(ply),
            Msg::PuzzleOf(ply) => self.puzzle_of(ply),
            Msg::AskHere(moment) => self.ask_here(moment),
            Msg::AskNot(node) => self.ask_not(node),
            Msg::Earlier(event) => self.earlier(event),
            Msg::Endings(event) => self.endings_event(event),

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
            Msg::Speak(tag) => self.speak(&tag),
            Msg::GoTo(id) => vec![Effect::Focus(id)],
            Msg::Finder(open) => self.open_finder(open),
            Msg::Guide(turn) => self.turn_guide(turn),
            Msg::Find(typed) => {
                self.find(typed);
                vec![]
            }
            Msg::Pick(by) => self.pick(by),
            Msg::DoFound(place) => self.do_found(place),
            Msg::Show { node, line } => self.show(node, &line),
            Msg::ShowTo(at) => {
                if let Some(showing) = &mut self.showing {
                    showing.go(at);
                }
                vec![]
            }
            Msg::ShowNext(token) => self.show_next(token),
            Msg::ShowEnd => match self.showing.take() {
                Some(_) => vec![Effect::Focus("move-here")],
                None => vec![],
            },

            Msg::Proof(open) => {
                self.proof_open = open;
                self.assign()
            }
            Msg::Step(mv) => self.step(mv),
            Msg::AddWalked => self.add_walked(),

            Msg::Ready { seat } => {
                self.bench.ready(seat);
                self.put_away_checked();
                self.assign()
            }
            Msg::Progress {
                seat,
                ticket,
                nodes,
            } => {
                self.bench.progress(seat, ticket, nodes);
                if let Some(look) = self.work.open.and_then(|id| self.looks.get_mut(&id)) {
                    look.catch_up();
                }
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
                    if !self.is_checking(job.sheet)
                        && let Some(look) = self.looks.get_mut(&job.sheet)
                    {
                        look.catch_up();
                    }
                    self.put_away_if_checked(job.sheet);
                }
                self.assign()
            }
            Msg::Broke { seat, why } => {
                let orders = self.bench.broke(seat);
                self.warn(
                    because(
                        phrase!(
                            "A checking worker broke down and was started anew ({why}).",
                            "why"
                        ),
                        why,
                    ),
                    Vec::new,
                );
                orders
                    .into_iter()
                    .map(Effect::Work)
                    .chain(self.assign())
                    .collect()
            }
            Msg::NoWorkers(why) => {
                self.explainer = Explainer::default();
                self.warn(because(phrase!("This browser runs no workers for this page ({why}), so nothing can be checked here.", "why"), why), Vec::new);
                vec![]
            }
            Msg::ExplainerReady => {
                self.explainer.ready();
                vec![]
            }
            Msg::Explained {
                ticket,
                explanation,
            } => {
                if let Some(job) = self.explainer.done(ticket) {
                    self.explained(job, *explanation);
                }
                vec![]
            }
            Msg::ExplainerBroke(why) => {
                let (order, job) = self.explainer.broke();
                if let Some(job) = job {
                    self.explained(job, Explanation::default());
                }
                self.warn(because(phrase!("The worker that finds reasons broke down and was started anew ({why}).", "why"), why), Vec::new);
                vec![Effect::Explain(order)]
            }
            Msg::SecondDone { ticket, heard } => self.second_done(ticket, heard),
            Msg::SecondBroke(why) => self.second_broke(&why),
            Msg::SaveDisagreement => self.save_disagreement(),
            Msg::Stop => {
                let orders = self.bench.stop().into_iter().map(Effect::Work);
                orders.chain(self.end_second()).collect()
            }
            Msg::GoOn => {
                self.bench.go_on();
                self.assign()
            }
            Msg::SearchOn => {
                if let Some(id) = self.work.open {
                    self.search_on(id);
                }
                self.bench.go_on();
                self.assign()
            }

            Msg::Publish(scope) => self.publish(Purpose::File(scope), false),
            Msg::PublishAllTheSame(purpose) => self.publish(purpose, true),
            Msg::WithoutReasons => self.fill_without_reasons(),
            Msg::GiveUpFile => {
                self.waiting = None;
                self.preparing = None;
                vec![]
            }
            Msg::WithProofs(with) => {
                self.with_proofs = with;
                self.held = None;
                self.assign_second()
            }
            Msg::Preview => self.fetch(Purpose::Preview),
            Msg::PreviewDue(token) => self.preview_due(token),
            Msg::PreviewWidth(width) => {
                self.beside.width = width;
                vec![]
            }
            Msg::Point(finding) => {
                self.beside.pointed = finding;
                vec![]
            }
            Msg::PreviewEnd => {
                self.preview = None;
                vec![Effect::Focus("preview-open")]
            }
            Msg::Template { purpose, template } => self.fill(purpose, template),
            Msg::SavePgn(scope) => self.save_pgn(scope),
            Msg::SaveEpd(scope) => self.save_epd(scope),
            Msg::SaveCourse(scope, standard) => {
                self.publish(Purpose::Course(scope, standard), false)
            }
            Msg::SaveHandout(scope, per_page) => {
                self.publish(Purpose::Handout(scope, per_page), false)
            }
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
                let text = move || {
                    say!(
                        "The browser would not save {name} ({why}).",
                        name = name,
                        why = marked(&why),
                    )
                };
                self.warn(text, Vec::new);
                vec![]
            }
            Msg::CopyFrame => vec![Effect::Copy(self.frame())],
            Msg::Copied { text, result } => {
                match result {
                    Ok(()) => {
                        let told = move || say!("This is on the clipboard: {text}", text = text);
                        self.tell(told, Vec::new);
                    }
                    Err(why) => {
                        let told = move || {
                            say!(
                                "The browser would not copy ({why}). This was to be copied: {text}",
                                why = marked(&why),
                                text = text,
                            )
                        };
                        self.warn(told, Vec::new);
                    }
                }
                vec![]
            }

            Msg::Found(found) => self.was_found(*found),
            Msg::Elsewhere(found) => self.elsewhere(*found),
            Msg::StoreRefused { why, full } => self.store_refused(why, full),
            Msg::SaveDue => self.write(),
            Msg::SaveNow => self.save_now(),
            Msg::Written => self.written(),
            Msg::LookElsewhere => self.look_elsewhere(),
            Msg::BringBack(removed) => self.bring_back(&removed),
            Msg::Room(room) => self.room(room),
            Msg::Stays(stays) => {
                self.saving.stays = Some(stays);
                vec![]
            }
            Msg::SaveBackup => vec![Effect::Backup(Box::new(self.work.clone()))],
            Msg::Dismiss(id) => {
                self.notices.retain(|n| n.id != id);
                vec![]
            }
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
    /// Hands out work: first what is asked where the author stands in the
    /// proof, then what the verdicts need.
    fn assign(&mut self) -> Vec<Effect> {
        let mut bench = std::mem::take(&mut self.bench);
        let open = self.work.open;
        let proof = self.proof_questions();
        let agendas: Vec<Agenda> = open
            .into_iter()
            .flat_map(|id| {
                let filling = self.proof_agenda(id, &self.fill_questions);
                [self.proof_agenda(id, &proof), filling]
            })
            .chain(
                self.in_order()
                    .into_iter()
                    .filter_map(|id| Some(self.agenda(id, self.looks.get(&id)?))),
            )
            .filter(|agenda| !agenda.questions.is_empty())
            .collect();
        let orders = bench.assign(&agendas);
        self.bench = bench;
        let mut effects: Vec<Effect> = orders.into_iter().map(Effect::Work).collect();
        effects.extend(self.assign_seek());
        effects.extend(self.assign_second());
        effects
    }
}

/// Messages to the author.
impl Desk {
    /// Drops what was told about the state before this change: undo would undo
    /// something else now.
    fn drop_passing_notices(&mut self) {
        self.notices.iter_mut().for_each(Notice::pass);
        self.notices.retain(Notice::stays);
    }
    fn tell(&mut self, text: impl Fn() -> String + 'static, offers: impl Fn() -> Offers + 'static) {
        self.drop_passing_notices();
        self.notice(Weight::News, move || (text(), offers()));
    }
    /// Tells why something was not done.
    fn refuse(&mut self, text: impl Fn() -> String + 'static) {
        self.notice(Weight::Refusal, move || (text(), Vec::new()));
    }
    /// Tells of something that stays wrong.
    fn warn(&mut self, text: impl Fn() -> String + 'static, offers: impl Fn() -> Offers + 'static) {
        self.notice(Weight::Trouble, move || (text(), offers()));
    }
    /// Adds a notice. What says it is kept, to say it in another language.
    fn notice(&mut self, weight: Weight, said: impl Fn() -> (String, Offers) + 'static) {
        self.next_token += 1;
        let notice = Notice::new(self.next_token, weight, said);
        self.notices.retain(|n| n.text != notice.text);
        self.notices.push(notice);
    }
}

/// Says what went wrong, with the reason that was given for it.
fn because(words: Phrase<{ holes::set("why") }>, why: String) -> impl Fn() -> String {
    move || say!(words, why = marked(&why))
}

/// The offer to undo what was just done.
fn undo() -> Offers {
    vec![(tr("Undo").into(), Msg::Undo)]
}

/// The offer to save a backup.
fn backup() -> Offers {
    vec![(tr("Save a backup").into(), Msg::SaveBackup)]
}

/// The whole moves that the stipulation names.
pub fn moves_asked(draft: &Draft) -> Option<u8> {
    let (aim, n) = stipulation(draft)?.forced()?;
    Some(if aim.shared() { n.div_ceil(2) } else { n })
}
