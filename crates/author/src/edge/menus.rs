//! Menus, which a browser opens by itself: they go away once something in them or
//! beside them is pressed, and by Escape.

use gloo::events::{EventListener, EventListenerOptions};
use wasm_bindgen::JsCast;
use web_sys::{Element, Event, HtmlElement, KeyboardEvent};

use crate::dom::document;

/// The menus that are open.
fn open() -> Vec<HtmlElement> {
    let Ok(found) = document().query_selector_all("details.menu[open]") else {
        return Vec::new();
    };
    let menus = (0..found.length()).filter_map(|i| found.item(i)?.dyn_into().ok());
    menus.collect()
}

fn close(menu: &HtmlElement) {
    let _ = menu.remove_attribute("open");
}

fn target(event: &Event) -> Option<Element> {
    event.target()?.dyn_into().ok()
}

/// Puts menus away for as long as the listeners are kept.
pub fn listen() -> Vec<EventListener> {
    let page = document();
    let active = EventListenerOptions::enable_prevent_default();
    vec![
        EventListener::new(&page, "pointerdown", |event| {
            let pressed = target(event);
            for menu in open() {
                if !menu.contains(pressed.as_deref()) {
                    close(&menu);
                }
            }
        }),
        EventListener::new(&page, "click", |event| {
            let done = target(event).and_then(|e| e.closest("button:not(.about)").ok().flatten());
            for menu in open() {
                if done.as_ref().is_some_and(|done| menu.contains(Some(done))) {
                    close(&menu);
                }
            }
        }),
        EventListener::new_with_options(&page, "keydown", active, |event| {
            let key: &KeyboardEvent = event.unchecked_ref();
            if key.key() != "Escape" || key.default_prevented() {
                return;
            }
            for menu in open() {
                key.prevent_default();
                close(&menu);
                let head = menu.query_selector("summary").ok().flatten();
                if let Some(head) = head.and_then(|head| head.dyn_into::<HtmlElement>().ok()) {
                    let _ = head.focus();
                }
            }
        }),
    ]
}
