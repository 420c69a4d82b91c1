//! The program in its page: where it draws, what it listens to, and its clock.

use std::cell::RefCell;
use std::rc::Rc;

use keyproof::draft::NodeId;
use keyproof_board::dom::{self, Listener};
use keyproof_board::{PlayBoard, TypedMove};
use shakmaty::Move;
use wasm_bindgen::prelude::*;
use web_sys::{Element, ShadowRootInit, ShadowRootMode};

use crate::study::{Event, Study};
use crate::view::View;

/// Mounts the program in the element `keyproof`, on the puzzles that the page
/// carries.
#[wasm_bindgen]
pub fn page_start() {
    std::panic::set_hook(Box::new(|_| stopped()));
    let document = dom::document();
    let Some(host) = document.get_element_by_id("keyproof") else {
        return;
    };
    let text = |id: &str| {
        let element = document.get_element_by_id(id);
        element.and_then(|e| e.text_content()).unwrap_or_default()
    };
    let study = Study::read(&text("keyproof-lesson"), &text("keyproof-answers"));
    open(room(&host), study);
}

/// The running program.
struct Page {
    study: Study,
    view: View,
    /// The timeout that is set, and what it calls.
    timeout: Option<i32>,
    tick: Closure<dyn FnMut()>,
    _clicks: Listener,
}

/// The program, once it is there; what the page's events reach it through.
type Slot = Rc<RefCell<Option<Page>>>;

fn open(room: Element, study: Study) {
    let slot: Slot = Rc::default();
    let play: Rc<dyn Fn(Move)> = {
        let slot = slot.clone();
        Rc::new(move |mv| send(&slot, Event::Play(mv)))
    };
    let board = PlayBoard::new("kp", play.clone());
    let typed = TypedMove::new("kp", "Type a move", play);
    let tick = {
        let slot = slot.clone();
        Closure::wrap(Box::new(move || send(&slot, Event::Tick)) as Box<dyn FnMut()>)
    };
    let clicks = {
        let slot = slot.clone();
        let act = move |event: web_sys::Event| click(&slot, &event);
        Listener::new(&room, &["click"], Box::new(act))
    };
    let view = View::new(room, &study, board, typed);
    *slot.borrow_mut() = Some(Page {
        study,
        view,
        timeout: None,
        tick,
        _clicks: clicks,
    });
    refresh(&slot);
}

/// Tells the study of an event and draws what came of it.
fn send(slot: &Slot, event: Event) {
    if let Some(page) = slot.borrow_mut().as_mut() {
        page.study.update(event);
    }
    refresh(slot);
}

fn refresh(slot: &Slot) {
    if let Some(page) = slot.borrow_mut().as_mut() {
        page.view.draw(&page.study);
        page.set_clock();
    }
}

/// A click on a button that names an event.
fn click(slot: &Slot, event: &web_sys::Event) {
    let target = event.target().map(|t| t.unchecked_into::<Element>());
    let Some(button) = target.and_then(|t| t.closest("[data-do]").ok().flatten()) else {
        return;
    };
    let named = button.get_attribute("data-do").unwrap_or_default();
    let at = slot.borrow().as_ref().map_or(0, |page| page.study.at);
    let event = match named.as_str() {
        "skip" => Event::Skip,
        "hint" => Event::Hint,
        "solution" => Event::Solution,
        "turn" => Event::Turn,
        "restart" => Event::Restart,
        "previous" => Event::Open(at.saturating_sub(1)),
        "next" => Event::Open(at + 1),
        "start" => Event::Start,
        "back" => Event::Back,
        "forward" => Event::Forward,
        "end" => Event::End,
        "leave" => Event::Leave,
        "pass" => Event::Pass,
        placed if placed.contains(':') => match place(placed) {
            Some(event) => event,
            None => return,
        },
        number => match number.parse() {
            Ok(index) => Event::Open(index),
            Err(_) => return,
        },
    };
    send(slot, event);
    if button.has_attribute("hidden") || button.has_attribute("disabled") {
        // The button is gone, and the focus with it.
        if let Some(page) = slot.borrow().as_ref() {
            page.view.focus_board();
        }
    }
}

/// An event at a place of a lesson: `go:12` or `fold:12`.
fn place(named: &str) -> Option<Event> {
    let (event, node) = named.split_once(':')?;
    let node = NodeId(node.parse().ok()?);
    match event {
        "go" => Some(Event::Go(node)),
        "fold" => Some(Event::Unfold(node)),
        _ => None,
    }
}

impl Page {
    /// Sets the clock to the pause of the next scene.
    fn set_clock(&mut self) {
        let Some(window) = web_sys::window() else {
            return;
        };
        if let Some(timeout) = self.timeout.take() {
            window.clear_timeout_with_handle(timeout);
        }
        if let Some(pause) = self.study.pause() {
            let act = self.tick.as_ref().unchecked_ref();
            self.timeout = window
                .set_timeout_with_callback_and_timeout_and_arguments_0(act, pause as i32)
                .ok();
        }
    }
}

/// An element to draw in, inside a shadow root that holds the program's style
/// sheet, so that the page's styles and the program's stay apart.
fn room(host: &Element) -> Element {
    let room = dom::element("div", "kp-page");
    match host.attach_shadow(&ShadowRootInit::new(ShadowRootMode::Open)) {
        Ok(shadow) => {
            let style = dom::text("style", "", &style_sheet());
            let _ = shadow.append_child(&style);
            let _ = shadow.append_child(&room);
        }
        Err(_) => {
            host.set_text_content(None);
            dom::add(host, &room);
        }
    }
    room
}

/// The program's own style sheets, among those of the page.
fn style_sheet() -> String {
    let Ok(styles) = dom::document().query_selector_all("style") else {
        return String::new();
    };
    (0..styles.length())
        .filter_map(|i| styles.item(i)?.text_content())
        .filter(|text| text.contains("kp-page"))
        .collect()
}

/// Says that the program met a fault of its own, in place of what was drawn.
fn stopped() {
    let host = dom::document().get_element_by_id("keyproof");
    if let Some(room) = host.and_then(|host| host.shadow_root()?.last_element_child()) {
        room.set_text_content(Some(
            "The program met a fault of its own and stopped. Load the page again to go on; nothing in the file is lost.",
        ));
        dom::set(&room, "role", "alert");
    }
}
