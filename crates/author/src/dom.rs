//! The elements of the page, for views and edge alike: finding them, and moving the
//! focus among them.

use js_sys::Function;
use wasm_bindgen::prelude::*;
use web_sys::{Document, Element, Event, HtmlElement, HtmlInputElement, KeyboardEvent, Window};

pub fn window() -> Window {
    web_sys::window().expect("a page has a window")
}

pub fn document() -> Document {
    window().document().expect("a window has a document")
}

/// The element of this id.
pub fn html_element(id: &str) -> Option<HtmlElement> {
    document().get_element_by_id(id)?.dyn_into().ok()
}

/// Does something once the page is drawn.
pub fn soon(what: impl FnOnce() + 'static) {
    after(30, what);
}

/// Does something after so many milliseconds. (A timeout that is forgotten would
/// leave itself in memory.)
pub fn after(millis: u32, what: impl FnOnce() + 'static) {
    let what: Function = Closure::once_into_js(what).unchecked_into();
    let millis = i32::try_from(millis).unwrap_or(i32::MAX);
    window()
        .set_timeout_with_callback_and_timeout_and_arguments_0(&what, millis)
        .expect("a window has timers");
}

/// What scrolls: all but the notices.
pub fn scroller() -> Option<HtmlElement> {
    html_element("keyproof-page")
}

/// Gives the focus to the element of this id once it is drawn.
pub fn focus_soon(id: impl Into<String>) {
    let id = id.into();
    soon(move || {
        if let Some(element) = html_element(&id) {
            unfold_around(&element);
            let _ = element.focus();
        }
    });
}

/// Unfolds whatever an element lies folded in.
fn unfold_around(element: &Element) {
    let mut within = element.parent_element();
    while let Some(around) = within {
        if around.tag_name() == "DETAILS" {
            let _ = around.set_attribute("open", "");
        }
        within = around.parent_element();
    }
}

/// Folds what is unfolded under this id.
pub fn fold(id: &str) {
    if let Some(element) = html_element(id) {
        let _ = element.remove_attribute("open");
    }
}

/// Arrows among the moves of the proof go from one to the next, Home and End
/// to the first and last.
pub fn walk_branches(event: KeyboardEvent) {
    walk_list(&event);
}

/// Arrows go from one entry of a list to the next, Home and End to the first and
/// last; Delete goes where one stands when an entry is gone.
pub fn walk_list(event: &KeyboardEvent) {
    let Some(item) = document()
        .active_element()
        .and_then(|e| e.closest("li").ok().flatten())
    else {
        return;
    };
    let list = item.parent_element();
    let to = match event.key().as_str() {
        "ArrowDown" => item.next_element_sibling(),
        "ArrowUp" => item.previous_element_sibling(),
        "Home" => list.and_then(|l| l.first_element_child()),
        "End" => list.and_then(|l| l.last_element_child()),
        "Delete" => item
            .next_element_sibling()
            .or_else(|| item.previous_element_sibling()),
        _ => return,
    };
    event.prevent_default();
    let button = to.and_then(|item| item.query_selector("button").ok().flatten());
    if let Some(button) = button.and_then(|b| b.dyn_into::<HtmlElement>().ok()) {
        let _ = button.focus();
    }
}

/// The number of the sheet whose entry a key was pressed on.
pub fn entry_of(event: &KeyboardEvent) -> Option<u64> {
    let target: Element = event.target()?.dyn_into().ok()?;
    let entry = target.closest(".entry").ok()??;
    let item = entry.closest("[data-sheet]").ok()??;
    item.get_attribute("data-sheet")?.parse().ok()
}

/// Whether a list is scrolled nearly to its end.
pub fn is_near_its_end(event: &Event) -> bool {
    let list = event.target().and_then(|t| t.dyn_into::<Element>().ok());
    list.is_some_and(|list| {
        list.scroll_height() - list.scroll_top() - list.client_height() < list.client_height()
    })
}

/// What stands in a field.
pub fn value_of(id: &str) -> String {
    let field = document().get_element_by_id(id);
    let field = field.and_then(|f| f.dyn_into::<HtmlInputElement>().ok());
    field.map_or_else(String::new, |field| field.value())
}
