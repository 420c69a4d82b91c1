//! The program in its page: where it draws, what it listens to, and its clock.

use std::cell::RefCell;
use std::rc::Rc;
use std::sync::atomic::{AtomicU32, Ordering};

use keyproof_board::dom::{self, Listener};
use keyproof_board::{PlayBoard, TypedMove};
use model::draft::NodeId;
use model::short::has;
use model::tongue::{Tongue, spoken, tr};
use play::published::WORDS;
use shakmaty::Move;
use wasm_bindgen::prelude::*;
use web_sys::{
    Element, HtmlElement, HtmlInputElement, KeyboardEvent, ShadowRootInit, ShadowRootMode,
};

use crate::event::Event;
use crate::stage::{self, Cue, Stage};
use crate::study::Study;
use crate::view::View;
use crate::work::BACK;

/// Mounts the program in an element: on the games of `lesson` (PGN), with what
/// was proved about them and what the page says in another language (see
/// [`play::published`]), in the style sheet given. The element's data `kept`
/// may hold what an earlier visit left.
#[wasm_bindgen]
pub fn mount(host: HtmlElement, lesson: &str, answers: &str, style: &str) {
    let (answers, words) = answers.split_once(WORDS).unwrap_or((answers, ""));
    let tongue = Tongue::read(words);
    tongue.speak();
    let fault = tr(
        "The program failed and stopped. Load the page again to go on; nothing in the file is lost.",
    );
    let _ = host.dataset().set("fault", fault);
    static SERIAL: AtomicU32 = AtomicU32::new(0);
    let serial = SERIAL.fetch_add(1, Ordering::Relaxed).to_string();
    let mut study = Study::read(lesson, answers);
    study.seed((js_sys::Math::random() * 4_294_967_296.0) as u64);
    if let Some(kept) = host.dataset().get("kept") {
        study.recall(&kept);
    }
    let room = room(&host, style, study.puzzles.len() > 1);
    dom::set(&room, "lang", tongue.tag());
    open(host, room, study, &["kp", &serial].concat());
}

/// What a student chooses for himself and finds again: the controls on the other
/// side, and a plain board. The names of buttons and of the host's data.
const CHOICES: [&str; 2] = ["left", "plain"];

/// The running program.
struct Page {
    host: HtmlElement,
    tongue: Tongue,
    study: Study,
    view: View,
    stage: Stage,
    /// The work as it was last told.
    told: Option<String>,
    /// Until when the time is counted that the page was in sight.
    counted: u64,
    /// The timeout that is set, and what it calls.
    timeout: Option<i32>,
    tick: Closure<dyn FnMut()>,
    _clicks: Listener,
    _hurry: Listener,
    _sight: Listener,
    _keys: Option<Listener>,
}

/// The program, once it is there; what the page's events reach it through.
type Slot = Rc<RefCell<Option<Page>>>;

fn open(host: HtmlElement, room: Element, study: Study, id: &str) {
    let slot: Slot = Rc::default();
    let play: Rc<dyn Fn(Move)> = {
        let slot = slot.clone();
        Rc::new(move |mv| send(&slot, Event::Play(mv)))
    };
    let board = PlayBoard::new(id, play.clone());
    let typed = TypedMove::new(id, tr("Type a move"), play);
    let tick = {
        let slot = slot.clone();
        Closure::wrap(Box::new(move || send(&slot, Event::Tick)) as Box<dyn FnMut()>)
    };
    let clicks = {
        let slot = slot.clone();
        let act = move |event: web_sys::Event| click(&slot, &event);
        Listener::new(&room, &["click", "input"], Box::new(act))
    };
    let hurry = {
        let slot = slot.clone();
        let act = move |event: web_sys::Event| hurry(&slot, &event);
        Listener::first(&room, &["pointerdown", "keydown", "click"], Box::new(act))
    };
    let keys = {
        let slot = slot.clone();
        let act = move |event: web_sys::Event| key(&slot, event.unchecked_ref());
        let page = dom::document().document_element();
        page.map(|page| Listener::new(&page, &["keydown"], Box::new(act)))
    };
    let sight = {
        let slot = slot.clone();
        let act = move |_| {
            if let Some(page) = slot.borrow_mut().as_mut() {
                // Until now it was the other way.
                page.count(dom::document().hidden());
                page.tell();
            }
        };
        Listener::new(&dom::document(), &["visibilitychange"], Box::new(act))
    };
    let view = View::new(room, &study, board, typed);
    for choice in CHOICES {
        view.draw_choice(choice, host.dataset().get(choice).is_some());
    }
    *slot.borrow_mut() = Some(Page {
        host,
        tongue: spoken(),
        study,
        view,
        stage: Stage::default(),
        told: None,
        counted: now(),
        timeout: None,
        tick,
        _clicks: clicks,
        _hurry: hurry,
        _sight: sight,
        _keys: keys,
    });
    refresh(&slot);
}

/// Tells the study of an event and draws what came of it.
fn send(slot: &Slot, event: Event) {
    if let Some(page) = slot.borrow_mut().as_mut() {
        page.tongue.speak();
        page.count(!dom::document().hidden());
        page.study.update(event);
    }
    refresh(slot);
}

fn refresh(slot: &Slot) {
    if let Some(page) = slot.borrow_mut().as_mut() {
        page.tongue.speak();
        page.view.draw(&page.study);
        page.view.draw_stage(&page.stage, now());
        page.set_clock();
        page.tell();
    }
}

/// A click on a button that names an event, or a cue of the stage; or the name that
/// is typed for the coach.
fn click(slot: &Slot, event: &web_sys::Event) {
    let target = event.target().map(|t| t.unchecked_into::<Element>());
    let Some(button) = target.and_then(|t| t.closest("[data-do]").ok().flatten()) else {
        return;
    };
    if event.type_() == "input" {
        if let Some(page) = slot.borrow().as_ref() {
            page.tongue.speak();
            page.sign(&button.unchecked_ref::<HtmlInputElement>().value());
        }
        return;
    }
    act(slot, &button.get_attribute("data-do").unwrap_or_default());
    if let Some(page) = slot.borrow().as_ref() {
        // A switch stays for another press.
        let rare = button.closest(".kp-rare").is_ok_and(|rare| rare.is_some());
        let done = rare && !button.has_attribute("aria-pressed");
        if done {
            page.view.unfold(false);
        }
        let away = !button.is_connected() || button.has_attribute("hidden");
        if done || away || button.has_attribute("disabled") {
            // The button is gone, and the focus with it.
            page.view.focus_board();
        }
    }
}

/// A press on the board, a click elsewhere or a key ends what is being shown, and
/// then does what it does: a man that is pressed is taken up at once. A finger that
/// scrolls the page ends nothing.
fn hurry(slot: &Slot, event: &web_sys::Event) {
    let pressed = event.dyn_ref::<KeyboardEvent>();
    if let Some(pressed) = pressed.filter(|_| slot.borrow().as_ref().is_some_and(|p| p.stage.on)) {
        // The stage's keys are not the board's.
        key(slot, pressed);
        return event.stop_propagation();
    }
    let shows = |page: &Page| page.study.pause().is_some();
    if !slot.borrow().as_ref().is_some_and(shows) {
        return;
    }
    let meant = match pressed {
        Some(key) => !["Tab", "Shift", "Control", "Alt", "Meta"].contains(&key.key().as_str()),
        None => {
            let target = event.target().map(|t| t.unchecked_into::<Element>());
            let board = target.and_then(|t| t.closest(".kp-board").ok().flatten());
            board.is_some() == (event.type_() == "pointerdown")
        }
    };
    if meant {
        send(slot, Event::Skip);
    }
}

/// A key wherever the focus is: on the stage, or to fold what is open.
fn key(slot: &Slot, event: &KeyboardEvent) {
    if event.key() == "Escape"
        && let Some(page) = slot.borrow().as_ref()
        && page.view.is_unfolded()
    {
        page.view.unfold(false);
        page.view.focus_more();
    }
    let typing = event
        .composed_path()
        .get(0)
        .dyn_into::<Element>()
        .is_ok_and(|target| target.tag_name() == "INPUT");
    let on = slot.borrow().as_ref().is_some_and(|page| page.stage.on);
    if !on || typing || event.ctrl_key() || event.alt_key() || event.meta_key() {
        return;
    }
    if let Some(named) = stage::key(&event.key()) {
        event.prevent_default();
        act(slot, named);
    }
}

/// Does what a button or a key names.
fn act(slot: &Slot, named: &str) {
    let cue = match named {
        "stage" => Cue::Stage,
        "clock" => Cue::Clock,
        "pencil" => Cue::Pencil,
        "left" | "plain" | "more" => {
            if let Some(page) = slot.borrow().as_ref() {
                match named {
                    "more" => page.view.unfold(!page.view.is_unfolded()),
                    choice => page.choose(choice),
                }
            }
            return;
        }
        _ => {
            let event = slot.borrow().as_ref().and_then(|page| match named {
                "forth" => Some(page.study.on()),
                _ => event(named, page.study.at),
            });
            if let Some(event) = event {
                send(slot, event);
            }
            return;
        }
    };
    if let Some(page) = slot.borrow_mut().as_mut() {
        page.stage.take(cue, now());
        page.view.take_cue(cue, &page.stage);
    }
    refresh(slot);
}

/// An event by its name; `at` is the game on the desk.
fn event(named: &str, at: usize) -> Option<Event> {
    Some(match named {
        "hint" => Event::Hint,
        "solution" => Event::Solution,
        "turn" => Event::Turn,
        "restart" => Event::Restart,
        "again" => Event::Again,
        "previous" => Event::Open(at.saturating_sub(1)),
        "next" => Event::Open(at + 1),
        "start" => Event::Start,
        "back" => Event::Back,
        "forward" => Event::Forward,
        "end" => Event::End,
        "leave" => Event::Leave,
        "look" => Event::Look(NodeId::ROOT),
        "on" => Event::LookOn,
        "unplay" => Event::LookBack,
        "enough" => Event::LookEnd,
        "pass" => Event::Pass,
        placed if has(placed, ':') => return place(placed),
        other => match (other.strip_prefix("why"), other.strip_prefix('=')) {
            (Some(number), _) => Event::Why(number.parse().ok()?),
            (_, Some(number)) => Event::Choose(number.parse().ok()?),
            _ => Event::Open(other.parse().ok()?),
        },
    })
}

/// The browser's time in milliseconds.
fn now() -> u64 {
    js_sys::Date::now() as u64
}

/// An event at a place of a lesson: `go:12` or `fold:12`.
fn place(named: &str) -> Option<Event> {
    let (event, node) = named.split_once(':')?;
    let node = NodeId(node.parse().ok()?);
    match event {
        "go" => Some(Event::Go(node)),
        "fold" => Some(Event::Unfold(node)),
        "look" => Some(Event::Look(node)),
        _ => None,
    }
}

impl Page {
    /// Counts the time since it was counted last, or leaves it out.
    fn count(&mut self, in_sight: bool) {
        let now = now();
        let time = now.saturating_sub(self.counted);
        self.counted = now;
        if in_sight {
            self.study.spend(time as u32);
        }
    }

    /// Leaves what became of the work in the host's data, and says that there
    /// is news.
    fn tell(&mut self) {
        let outcome = self.study.outcome();
        if self.told.as_ref() == Some(&outcome.kept) {
            return;
        }
        self.told = Some(outcome.kept.clone());
        let data = self.host.dataset();
        let name = data.get("name").unwrap_or_default();
        self.view.draw_account(&self.study.report(&name));
        let number = |count: usize| count.to_string();
        for (name, value) in [
            ("title", outcome.title),
            ("kept", outcome.kept),
            ("account", outcome.account),
            ("solved", number(outcome.solved)),
            ("of", number(outcome.of)),
            ("mistakes", number(outcome.mistakes)),
            ("shown", number(outcome.shown)),
            ("cost", number(outcome.cost)),
        ] {
            let _ = data.set(name, &value);
        }
        self.has_news();
    }

    /// Takes the name that is typed, which the host's data has.
    fn sign(&self, name: &str) {
        let _ = self.host.dataset().set("name", name);
        self.view.draw_account(&self.study.report(name));
        self.has_news();
    }

    fn has_news(&self) {
        if let Ok(news) = web_sys::Event::new("keyproof-news") {
            let _ = self.host.dispatch_event(&news);
        }
    }

    /// Makes or takes back one of the [`CHOICES`], and leaves that in the host's data.
    fn choose(&self, choice: &str) {
        let data = self.host.dataset();
        let on = data.get(choice).is_none();
        if on {
            let _ = data.set(choice, "");
        } else {
            data.delete(choice);
        }
        self.view.draw_choice(choice, on);
        self.has_news();
    }

    /// Sets the clock to the pause of the next scene.
    fn set_clock(&mut self) {
        let Some(window) = web_sys::window() else {
            return;
        };
        if let Some(timeout) = self.timeout.take() {
            window.clear_timeout_with_handle(timeout);
        }
        let second = self.stage.started.map(|_| 1000);
        // What refutes a move stays on the stage until the coach goes on.
        let stays = |pause: &u32| !self.stage.on || *pause != BACK;
        if let Some(pause) = self.study.pause().filter(stays).or(second) {
            let act = self.tick.as_ref().unchecked_ref();
            self.timeout = window
                .set_timeout_with_callback_and_timeout_and_arguments_0(act, pause as i32)
                .ok();
        }
    }
}

/// An element to draw in, inside a shadow root that holds the program's style
/// sheet, so that the page's styles and the program's stay apart. Where there are
/// several puzzles, print shows what the host shows without the program: all.
fn room(host: &Element, style: &str, several: bool) -> Element {
    let room = dom::element("div", "kp-page");
    match host.attach_shadow(&ShadowRootInit::new(ShadowRootMode::Open)) {
        Ok(shadow) => {
            let _ = shadow.append_child(&dom::text("style", "", style));
            if several
                && host
                    .query_selector(".kp-still")
                    .is_ok_and(|all| all.is_some())
            {
                let _ = shadow.append_child(&dom::element("slot", "kp-every"));
            }
            let _ = shadow.append_child(&room);
        }
        Err(_) => {
            host.set_text_content(None);
            dom::add(host, &dom::text("style", "", style));
            dom::add(host, &room);
        }
    }
    room
}
