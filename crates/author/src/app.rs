//! The page as a Yew component: passes messages to the desk and carries out
//! what it asks of the browser.

use gloo::events::EventListener;
use keyproof::draft::NodeId;
use std::cell::Cell;
use std::collections::HashMap;
use std::rc::Rc;
use web_sys::HtmlElement;
use yew::prelude::*;

use crate::dom;
use crate::edge::audience::Audience;
use crate::edge::tabs::Tabs;
use crate::edge::workers::{Workers, cores};
use crate::edge::{earlier, endings, files, keyboard, menus, page, print, store, words};
use crate::view::{self, Chosen};
use desk::backup;
use desk::desk::Desk;
use desk::message::{CheckMsg, Effect, GiveOutMsg, Msg, StoreMsg, TalkMsg, Width};
use desk::work::SheetId;

/// Milliseconds from a change to its saving: less than lies between two letters that are
/// typed, so that a browser that is killed loses one at most.
const SAVE_PACE: u32 = 30;

/// Where a talk is kept while the page is loaded anew.
const TALK: &str = "keyproof-talk";

/// The authoring page.
pub struct App {
    desk: Desk,
    link: view::Link,
    workers: Option<Workers>,
    unsaved: Rc<Cell<bool>>,
    tabs: Tabs,
    audience: Audience,
    /// The talk as it was kept last.
    kept_talk: Option<String>,
    /// How far each leaf was scrolled when it was left.
    places: HashMap<&'static str, i32>,
    /// The leaf that was shown last.
    leaf: Option<&'static str>,
    /// The move that was brought in sight last.
    followed: Option<(Option<SheetId>, NodeId)>,
    /// The sheet that was brought in sight in the list last, and whether that lay open.
    listed: (Option<SheetId>, bool),
    /// The focus was on a move before the last message.
    among_moves: bool,
    kept_focus: Option<HtmlElement>,
    /// What the focus was in before the last message.
    around_focus: Option<HtmlElement>,
    _listeners: Vec<EventListener>,
}

impl Component for App {
    type Message = Msg;
    type Properties = ();

    fn create(ctx: &Context<App>) -> App {
        let send = ctx.link().callback(|msg| msg);
        let files = {
            let send = send.clone();
            Callback::from(move |chosen| read(chosen, &send))
        };
        let link = view::Link { send, files };
        let tongue = page::tongue();
        tongue.speak();
        page::is_in(tongue.tag());
        let unsaved = Rc::new(Cell::new(false));
        let mut listeners = keyboard::listen(&link);
        listeners.extend(menus::listen());
        let watched = unsaved.clone();
        listeners.extend(page::guard(&link, move || watched.get()));
        store::restore(link.send.clone());
        earlier::restore(link.send.clone());
        if let Some(talk) = page::kept_here(TALK).and_then(|text| page::of_json(&text)) {
            link.emit(Msg::Talk(TalkMsg::Recall(Box::new(talk))));
        }
        let count = cores();
        let workers = match Workers::start(count, link.send.clone()) {
            Ok(workers) => Some(workers),
            Err(fault) => {
                link.emit(Msg::Check(CheckMsg::NoWorkers(words(&fault))));
                None
            }
        };
        let desk = Desk::new(if workers.is_some() { count } else { 0 });
        App {
            desk: desk.seeded(page::seed()).speaking(tongue),
            tabs: Tabs::listen(&link),
            audience: Audience::listen(&link),
            kept_talk: None,
            link,
            workers,
            unsaved,
            places: HashMap::new(),
            leaf: None,
            followed: None,
            listed: (None, false),
            among_moves: false,
            kept_focus: None,
            around_focus: None,
            _listeners: listeners,
        }
    }
    fn update(&mut self, _ctx: &Context<App>, msg: Msg) -> bool {
        self.among_moves = page::is_among_moves();
        self.around_focus = page::around_focus().or(self.around_focus.take());
        self.desk.tongue().speak();
        self.desk.tell_time(page::now());
        let effects = self.desk.update(msg);
        self.leave();
        for effect in effects {
            self.carry_out(effect);
        }
        self.unsaved.set(self.desk.unsaved());
        true
    }
    fn view(&self, _ctx: &Context<App>) -> Html {
        self.desk.tongue().speak();
        let notices = view::notices(&self.desk, &self.link);
        html! {
            <>
                { view::page(&self.desk, &self.link) }
                { create_portal(notices, page::below()) }
            </>
        }
    }
    fn rendered(&mut self, _ctx: &Context<App>, first: bool) {
        if first {
            page::take_keys();
        }
        self.arrive();
        self.follow_talk();
        let room = self.desk.class_room().open;
        page::mark("working", self.desk.opened().is_some() || room);
        let preview = self.desk.preview().is_some();
        let guide = self.desk.guide().is_some();
        page::mark("previewing", preview || guide);
        page::mark("guided", guide);
        page::mark(
            "wide",
            preview && !guide && self.desk.preview_width() == Width::Desk,
        );
        let here = (self.desk.work().open, self.desk.work().at);
        let before = self.followed;
        let among_moves = std::mem::take(&mut self.among_moves);
        if page::follow_current_move(before != Some(here), among_moves) {
            self.followed = Some(here);
        }
        if self.listed != (here.0, self.desk.listing()) {
            self.listed = (here.0, self.desk.listing());
            page::follow_open_entry();
        }
        if let Some(around) = self.around_focus.take() {
            page::keep_focus_in(&around);
        }
        dom::drawn();
    }
}

impl App {
    /// The leaf that is shown: one of a puzzle, as far as it is not under the list.
    fn shown_leaf(&self) -> Option<&'static str> {
        let covered = self.desk.setup().is_some() || self.desk.class_room().open;
        let shows = self.desk.opened().is_some() && !covered;
        shows.then(|| self.desk.leaf().id())
    }
    /// Remembers how far the leaf is scrolled that is about to go: not every browser
    /// keeps that of what is not shown.
    fn leave(&mut self) {
        let leaf = self.leaf.filter(|_| self.leaf != self.shown_leaf());
        if let Some(leaf) = leaf
            && let Some(top) = page::scrolled(leaf)
        {
            self.places.insert(leaf, top);
        }
    }
    /// Scrolls the leaf that came to where it was left.
    fn arrive(&mut self) {
        let shown = self.shown_leaf();
        if self.leaf != shown
            && let Some(leaf) = shown
            && let Some(&top) = self.places.get(leaf)
        {
            page::scroll(leaf, top);
        }
        self.leaf = shown;
    }
    /// Shows the audience where the talk is, and keeps that while the page is loaded
    /// anew.
    fn follow_talk(&mut self) {
        page::mark("talking", self.desk.talk().is_some());
        let shown = self.desk.shown().zip(self.desk.talk());
        let shown = shown.map(|(shown, (talk, _))| (shown, talk.margin));
        if let Some(msg) = self.audience.show(shown) {
            self.link.emit(Msg::Talk(msg));
        }
        let kept = self.desk.kept_talk().and_then(page::as_json);
        if kept != self.kept_talk {
            page::keep_here(TALK, kept.as_deref());
            self.kept_talk = kept;
        }
    }
    fn carry_out(&mut self, effect: Effect) {
        let link = self.link.send.clone();
        match effect {
            Effect::Work(order) => {
                if let Some(workers) = &mut self.workers
                    && let Err(fault) = workers.carry_out(order)
                {
                    link.emit(Msg::Check(CheckMsg::NoWorkers(words(&fault))));
                }
            }
            Effect::ForgetEarlier => earlier::forget(),
            Effect::HandEndings => {
                if let Some(workers) = &self.workers
                    && let Err(fault) = workers.hand_endings()
                {
                    link.emit(Msg::Check(CheckMsg::NoWorkers(words(&fault))));
                }
            }
            Effect::SaveSoon => {
                dom::after(SAVE_PACE, move || link.emit(Msg::Store(StoreMsg::SaveDue)));
            }
            Effect::Write(writing) => store::write(*writing, link),
            Effect::Note(note) => store::note(&note),
            Effect::Carry(note) => store::carry(&note),
            Effect::Reread(known) => store::reread(known, link),
            Effect::TellOthers => self.tabs.tell(),
            Effect::LookAtRoom => store::room(link),
            Effect::AskToStay => store::ask_to_stay(link),
            Effect::Backup(work) => {
                let time = page::time();
                let name = backup::file_name(time.split(' ').next().unwrap_or_default());
                let text = backup::write(&work, &time);
                if let Err(fault) = files::download(&name, "application/vnd.chess-pgn", &text) {
                    let why = words(&fault);
                    link.emit(Msg::GiveOut(GiveOutMsg::NotDownloaded { name, why }));
                }
            }
            Effect::Download { name, kind, text } => {
                if let Err(fault) = files::download(&name, kind, &text) {
                    let why = words(&fault);
                    link.emit(Msg::GiveOut(GiveOutMsg::NotDownloaded { name, why }));
                }
            }
            Effect::Print(page) => print::page(&page),
            Effect::Package { name, kind, bytes } => {
                if let Err(fault) = files::package(&name, kind, &bytes) {
                    let why = words(&fault);
                    link.emit(Msg::GiveOut(GiveOutMsg::NotDownloaded { name, why }));
                }
            }
            Effect::Png { name, svg, width } => files::png(name, svg, width, link),
            Effect::Copy(text) => files::copy(text, link),
            Effect::Audience(true) => self.audience.open(),
            Effect::Audience(false) => self.audience.close(),
            Effect::Speak(tag) => {
                page::is_in(tag);
                page::keep_tongue(tag);
            }
            Effect::FetchTemplate(purpose) => files::template(purpose, link),
            Effect::Later(pace, msg) => {
                if !page::less_motion() {
                    dom::after(pace, move || link.emit(msg));
                }
            }
            Effect::After(pace, msg) => {
                dom::after(pace, move || link.emit(msg));
            }
            Effect::Focus(id) => dom::focus_soon(id),
            Effect::FocusEntry(id) => dom::focus_soon(view::entry_id(id)),
            Effect::KeepFocus => self.kept_focus = page::focused(),
            Effect::FocusBack => {
                if let Some(element) = self.kept_focus.take() {
                    page::focus_back(element);
                }
            }
            Effect::Fade(id) => page::fade(id, link),
            Effect::InSight(id) => page::in_sight_soon(id),
        }
    }
}

/// Reads files that were chosen.
fn read(chosen: Chosen, send: &Callback<Msg>) {
    match chosen {
        Chosen::Work(list) => files::read_all(&list, send),
        Chosen::Earlier(list) => earlier::read_all(&list, send),
        Chosen::Endings(list) => endings::choose(list.as_ref(), send),
    }
}
