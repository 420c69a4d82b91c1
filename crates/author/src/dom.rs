//! The elements of the page, for views and edge alike: finding them, and moving the
//! focus among them.

use std::cell::RefCell;
use std::rc::Rc;

use js_sys::Function;
use wasm_bindgen::prelude::*;
use wasm_bindgen_futures::spawn_local;
use web_sys::{
    Document, Element, Event, HtmlElement, HtmlIFrameElement, HtmlInputElement, KeyboardEvent,
    Window,
};

#[wasm_bindgen]
extern "C" {
    /// Has a frame show a page, an HTML text (`web/author.js`).
    #[wasm_bindgen(js_namespace = keyproof)]
    pub fn fill(frame: &HtmlIFrameElement, html: &str);
}

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

/// Does something that needs what is about to be drawn, and tells whether it could: as
/// soon as the page is drawn, before another key is heard, so that nothing typed ahead
/// goes elsewhere; or after a while, where nothing is drawn, or more is drawn later.
/// (A page that is long in drawing lets keys in before it says that it is drawn, though
/// not before all is in place.)
pub fn once_drawn(what: impl FnMut() -> bool + 'static) {
    /// Milliseconds.
    const A_WHILE: u32 = 30;
    let wait: Wait = Rc::new(RefCell::new(Some(Box::new(what))));
    WAITING.with_borrow_mut(|waiting| waiting.push(wait.clone()));
    spawn_local(async { drawn() });
    after(A_WHILE, move || {
        if let Some(mut what) = wait.take() {
            what();
        }
    });
}

/// Does what waited for the page to be drawn, as far as it can be done now.
pub fn drawn() {
    for wait in WAITING.take() {
        let Some(mut what) = wait.take() else {
            continue;
        };
        if !what() {
            wait.replace(Some(what));
            WAITING.with_borrow_mut(|waiting| waiting.push(wait));
        }
    }
}

/// What waits to be done; nothing once it is.
type Wait = Rc<RefCell<Option<Box<dyn FnMut() -> bool>>>>;

thread_local! {
    static WAITING: RefCell<Vec<Wait>> = const { RefCell::new(Vec::new()) };
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
    once_drawn(move || {
        let Some(element) = html_element(&id) else {
            return false;
        };
        unfold_around(&element);
        takes_focus(&element)
    });
}

/// Gives the focus to an element, and tells whether it took it.
pub fn takes_focus(element: &HtmlElement) -> bool {
    let _ = element.focus();
    document().active_element().as_ref() == Some(element)
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
