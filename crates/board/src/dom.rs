//! The little of the browser's document that the board and the student's page
//! need: making elements and listening.

use wasm_bindgen::prelude::*;
use web_sys::{Document, Element, Event, EventTarget};

/// The page's document.
///
/// # Panics
/// Outside a browser's page.
pub fn document() -> Document {
    web_sys::window()
        .and_then(|window| window.document())
        .expect("a page")
}

/// A new element of a class.
pub fn element(tag: &str, class: &str) -> Element {
    let element = document().create_element(tag).expect("a known element");
    if !class.is_empty() {
        element.set_class_name(class);
    }
    element
}

/// A new element with a text in it. The text is never markup.
pub fn text(tag: &str, class: &str, text: &str) -> Element {
    let element = element(tag, class);
    element.set_text_content(Some(text));
    element
}

/// Sets an attribute.
pub fn set(element: &Element, name: &str, value: &str) {
    let _ = element.set_attribute(name, value);
}

/// Sets an attribute or takes it away.
pub fn toggle(element: &Element, name: &str, on: bool) {
    let _ = element.toggle_attribute_with_force(name, on);
}

#[wasm_bindgen]
extern "C" {
    /// Draws SVG into an element in place of what it holds: `web/draw.js`, which is packed
    /// with the program. Only what drawings have is drawn.
    pub fn draw(into: &Element, markup: &str);
}

/// A drawing of its own, of SVG with one element around it.
///
/// # Panics
/// If there is none.
pub fn drawn(markup: &str) -> Element {
    let room = element("div", "");
    draw(&room, markup);
    room.first_element_child().expect("a drawing")
}

/// Puts an element at the end of another.
pub fn add(parent: &Element, child: &Element) {
    let _ = parent.append_child(child);
}

/// A listener for events of an element; stops when dropped.
pub struct Listener {
    target: EventTarget,
    kinds: &'static [&'static str],
    /// Whether it hears of an event before the elements inside do.
    first: bool,
    closure: Closure<dyn FnMut(Event)>,
}

impl Listener {
    pub fn new(
        target: &EventTarget,
        kinds: &'static [&'static str],
        act: Box<dyn FnMut(Event)>,
    ) -> Listener {
        Listener::listen(target, kinds, false, act)
    }

    /// A listener that hears of an event before the elements inside do.
    pub fn first(
        target: &EventTarget,
        kinds: &'static [&'static str],
        act: Box<dyn FnMut(Event)>,
    ) -> Listener {
        Listener::listen(target, kinds, true, act)
    }

    fn listen(
        target: &EventTarget,
        kinds: &'static [&'static str],
        first: bool,
        act: Box<dyn FnMut(Event)>,
    ) -> Listener {
        let closure = Closure::wrap(act);
        let target = target.clone();
        for kind in kinds {
            let act = closure.as_ref().unchecked_ref();
            let _ = target.add_event_listener_with_callback_and_bool(kind, act, first);
        }
        Listener {
            target,
            kinds,
            first,
            closure,
        }
    }
}

impl Drop for Listener {
    fn drop(&mut self) {
        for kind in self.kinds {
            let act = self.closure.as_ref().unchecked_ref();
            let _ = self
                .target
                .remove_event_listener_with_callback_and_bool(kind, act, self.first);
        }
    }
}
