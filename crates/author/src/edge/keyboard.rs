//! Keys, pasting and dropping, anywhere on the page.

use gloo::events::{EventListener, EventListenerOptions};
use keyproof::tongue::phrase;
use wasm_bindgen::JsCast;
use web_sys::{ClipboardEvent, DragEvent, Element, Event, HtmlInputElement, KeyboardEvent};
use yew::Callback;

use super::{files, page};
use crate::dom;
use desk::keys::{Focus, Press, meaning};
use desk::message::{ListMsg, Msg, StoreMsg, TalkMsg};
use desk::remote::{self, Field};

/// Listens for as long as the listeners are kept.
pub fn listen(link: &Callback<Msg>) -> Vec<EventListener> {
    let window = dom::window();
    let active = EventListenerOptions::enable_prevent_default();
    let keys = link.clone();
    let pastes = link.clone();
    let drops = link.clone();
    vec![
        EventListener::new_with_options(&window, "keydown", active, move |event| {
            let key: &KeyboardEvent = event.unchecked_ref();
            if key.default_prevented() || key.is_composing() {
                return;
            }
            let name = key.key();
            let press = Press {
                key: &name,
                control: key.ctrl_key() || key.meta_key(),
                shift: key.shift_key(),
                alt: key.alt_key(),
            };
            if press.control && press.key == "s" {
                keys.emit(Msg::Store(StoreMsg::Carry));
            }
            // A text that is selected is what Ctrl+C means then.
            let copies = press.control && matches!(press.key, "c" | "x");
            if copies && page::selects_text() {
                return;
            }
            if page::is_marked("talking") {
                if let Some(msg) = in_talk(press, key) {
                    event.prevent_default();
                    keys.emit(Msg::Talk(msg));
                }
                return;
            }
            if let Some(msg) = meaning(press, focus(event)) {
                event.prevent_default();
                keys.emit(msg);
            }
        }),
        EventListener::new_with_options(&window, "paste", active, move |event| {
            let focus = focus(event);
            let in_field = matches!(focus, Focus::PuzzleField | Focus::OtherField);
            if in_field || page::is_marked("talking") {
                return;
            }
            let paste: &ClipboardEvent = event.unchecked_ref();
            let text = paste
                .clipboard_data()
                .and_then(|data| data.get_data("text/plain").ok());
            if let Some(text) = text.filter(|t| !t.trim().is_empty()) {
                event.prevent_default();
                let in_tree = focus == Focus::Tree;
                pastes.emit(Msg::List(ListMsg::Pasted { text, in_tree }));
            }
        }),
        EventListener::new_with_options(&window, "dragover", active, |event| {
            event.prevent_default();
        }),
        EventListener::new_with_options(&window, "drop", active, move |event| {
            event.prevent_default();
            let drop: &DragEvent = event.unchecked_ref();
            let data = drop.data_transfer();
            let Some(data) = data.filter(|_| !page::is_marked("talking")) else {
                return;
            };
            if let Some(list) = data.files().filter(|f| f.length() > 0) {
                files::read_all(&list, &drops);
            } else if let Ok(text) = data.get_data("text/plain")
                && !text.trim().is_empty()
            {
                drops.emit(Msg::List(ListMsg::Came {
                    from: phrase("the dropped text").into(),
                    text,
                }));
            }
        }),
    ]
}

/// What a key means while a talk is held. A button that was reached by keys is pressed
/// by them; Backspace that is held, until a field is empty, does not go on from there.
fn in_talk(press: Press, event: &KeyboardEvent) -> Option<TalkMsg> {
    let target = event.target().and_then(|t| t.dyn_into::<Element>().ok())?;
    let within = |selector: &str| target.closest(selector).ok().flatten().is_some();
    let presses =
        matches!(press.key, " " | "Enter") && within(":is(button, summary):focus-visible");
    let held = press.key == "Backspace" && event.repeat();
    if press.control || press.alt || presses || held || within(".guide") {
        return None;
    }
    let field = match target.dyn_ref::<HtmlInputElement>() {
        Some(input) if input.value().is_empty() => Field::Empty,
        None if !within("select, textarea") => Field::None,
        _ => Field::Other,
    };
    remote::meaning(press.key, field)
}

fn focus(event: &Event) -> Focus {
    let Some(element) = event.target().and_then(|t| t.dyn_into::<Element>().ok()) else {
        return Focus::Elsewhere;
    };
    let within = |selector: &str| element.closest(selector).ok().flatten().is_some();
    if within("[data-puzzle-text]") {
        Focus::PuzzleField
    } else if within("input:not([type=checkbox]), textarea, select, [contenteditable]") {
        Focus::OtherField
    } else if within("[role=grid], [role=dialog], .guide") || page::shows(".class-room") {
        Focus::Board
    } else if within(".solution .move") {
        Focus::Tree
    } else {
        Focus::Elsewhere
    }
}
