//! The page itself: its window, its focus, and whether it may be closed.

use std::cell::RefCell;
use std::collections::HashMap;

use gloo::events::{EventListener, EventListenerOptions};
use js_sys::Function;
use keyproof::tongue::{Tongue, say};
use wasm_bindgen::prelude::*;
use web_sys::{BeforeUnloadEvent, Element, HtmlElement, MediaQueryList, Storage};
use yew::Callback;

use super::boot_part;
use crate::dom::{after, document, html_element, once_drawn, scroller, takes_focus, window};
use desk::message::{Msg, PageMsg, StoreMsg};

/// Tells the author if the page itself breaks down, instead of standing still.
pub fn tell_of_breakdown() {
    std::panic::set_hook(Box::new(|fault| {
        let told = (|| {
            let notice = document().create_element("p").ok()?;
            notice.set_class_name("breakdown");
            notice.set_attribute("role", "alert").ok()?;
            notice.set_text_content(Some(&say!(
                "Something in this page broke down. What you did is saved in this browser up to the last moment: load the page again to go on. ({fault})",
                fault = fault.to_string(),
            )));
            document().body()?.prepend_with_node_1(&notice).ok()
        })();
        // Where not even that can be shown, there is nothing left to do.
        let _ = told;
    }));
}

/// What has the focus.
pub fn focused() -> Option<HtmlElement> {
    document().active_element()?.dyn_into().ok()
}

/// Gives the focus back to an element once the page is drawn.
pub fn focus_back(element: HtmlElement) {
    once_drawn(move || takes_focus(&element));
}

/// Scrolls the element of this id into sight once it is drawn.
pub fn in_sight_soon(id: &'static str) {
    once_drawn(move || html_element(id).inspect(in_sight).is_some());
}

fn in_sight(element: &HtmlElement) {
    let options = web_sys::ScrollIntoViewOptions::new();
    options.set_block(web_sys::ScrollLogicalPosition::Nearest);
    element.scroll_into_view_with_scroll_into_view_options(&options);
}

/// Puts a notice away after a while; one that is pointed at, or has the focus, later.
pub fn fade(id: u32, link: Callback<Msg>) {
    /// Milliseconds to read it in.
    const PACE: u32 = 12_000;
    after(PACE, move || {
        let Some(notice) = html_element(&format!("notice-{id}")) else {
            return;
        };
        let held = notice.matches(":hover, :focus-within").unwrap_or_default();
        match held || document().hidden() {
            true => fade(id, link),
            false => link.emit(Msg::Page(PageMsg::Dismiss(id))),
        }
    });
}

/// Where the notices stand, below all that scrolls.
pub fn below() -> Element {
    let found = document().get_element_by_id("keyproof-notices");
    found.expect("the page has a place for notices")
}

/// Keys scroll the page until something else has the focus.
pub fn take_keys() {
    if let Some(page) = scroller()
        && document()
            .active_element()
            .is_none_or(|e| e.tag_name() == "BODY")
    {
        let _ = page.focus();
    }
}

/// Whether the user asked for less motion.
pub fn less_motion() -> bool {
    matches("(prefers-reduced-motion: reduce)")
}

/// Whether the focus is on a move of the solution.
pub fn is_among_moves() -> bool {
    let focused = document().active_element();
    focused.is_some_and(|e| e.class_list().contains("move"))
}

/// The section of the page that the focus is in.
pub fn around_focus() -> Option<HtmlElement> {
    let around = document().active_element()?.closest("section, nav");
    around.ok()??.dyn_into().ok()
}

/// Gives the focus to the section it was in, where what had it is gone: the next
/// Tab goes on from there, and not from the top of the page.
pub fn keep_focus_in(around: &HtmlElement) {
    let focused = document().active_element();
    let lost = focused.is_none_or(|e| e.tag_name() == "BODY");
    if lost && around.is_connected() {
        if !around.has_attribute("tabindex") {
            let _ = around.set_attribute("tabindex", "-1");
        }
        let still = js_sys::Object::new();
        let _ = js_sys::Reflect::set(&still, &"preventScroll".into(), &true.into());
        if let Ok(focus) = js_sys::Reflect::get(around, &"focus".into())
            && let Some(focus) = focus.dyn_ref::<Function>()
        {
            let _ = focus.call1(around, &still);
        }
    }
}

/// Keeps the focus on the current move if it was `among_moves`, and the move in
/// sight when one has `moved` to it. Only the leaf scrolls for that, never the page,
/// whose board would go away. Tells whether the move is on the page to be seen.
pub fn follow_current_move(moved: bool, among_moves: bool) -> bool {
    let Some(current) = html_element("move-here") else {
        return false;
    };
    let focused = document().active_element();
    let lost = focused.is_none_or(|e| e.tag_name() == "BODY" || e.class_list().contains("move"));
    if among_moves && lost {
        let _ = current.focus();
    }
    let flow = current.closest(".flow").ok().flatten();
    let Some(flow) = flow.filter(|flow| flow.client_height() > 0) else {
        return false;
    };
    if moved {
        /// Rows that stay in sight around it.
        const AROUND: f64 = 40.0;
        let (inner, outer) = (
            current.get_bounding_client_rect(),
            flow.get_bounding_client_rect(),
        );
        let (above, below) = (
            inner.top() - AROUND - outer.top(),
            inner.bottom() + AROUND - outer.bottom(),
        );
        let off = match (above < 0.0, below > 0.0) {
            (true, _) => above,
            (_, true) => below,
            _ => 0.0,
        };
        flow.set_scroll_top(flow.scroll_top() + off as i32);
    }
    true
}

/// How far a leaf is scrolled.
pub fn scrolled(leaf: &str) -> Option<i32> {
    Some(flow_of(leaf)?.scroll_top())
}

/// Scrolls a leaf so far.
pub fn scroll(leaf: &str, top: i32) {
    if let Some(flow) = flow_of(leaf) {
        flow.set_scroll_top(top);
    }
}

/// What of a leaf scrolls.
fn flow_of(leaf: &str) -> Option<Element> {
    html_element(leaf)?.query_selector(".flow").ok().flatten()
}

/// Whether a text on the page is selected.
pub fn selects_text() -> bool {
    let selection = window().get_selection().ok().flatten();
    selection.is_some_and(|selection| !selection.is_collapsed())
}

/// Brings the open entry in sight within the list, not moving the page.
pub fn follow_open_entry() {
    let found = document().query_selector(".contents .here").ok().flatten();
    let Some((item, list)) = found.and_then(|item| Some((item.clone(), item.parent_element()?)))
    else {
        return;
    };
    let (inner, outer) = (
        item.get_bounding_client_rect(),
        list.get_bounding_client_rect(),
    );
    let off = match (inner.top() < outer.top(), inner.bottom() > outer.bottom()) {
        (true, _) => inner.top() - outer.top(),
        (_, true) => inner.bottom() - outer.bottom(),
        _ => return,
    };
    list.set_scroll_top(list.scroll_top() + off as i32);
}

/// Saves when the page goes out of sight, looks at what other tabs wrote when it
/// comes back, and asks before closing while `unsaved`.
pub fn guard(link: &Callback<Msg>, unsaved: impl Fn() -> bool + 'static) -> Vec<EventListener> {
    let [seen, left, back] = [(); 3].map(|()| link.clone());
    vec![
        EventListener::new(&document(), "visibilitychange", move |_| {
            seen.emit(match document().hidden() {
                true => Msg::Store(StoreMsg::SaveNow),
                false => Msg::Store(StoreMsg::LookElsewhere),
            });
        }),
        EventListener::new(&window(), "pagehide", move |_| {
            left.emit(Msg::Store(StoreMsg::SaveNow))
        }),
        EventListener::new(&window(), "focus", move |_| {
            back.emit(Msg::Store(StoreMsg::LookElsewhere))
        }),
        EventListener::new_with_options(
            &window(),
            "beforeunload",
            EventListenerOptions::enable_prevent_default(),
            move |event| {
                if unsaved() {
                    event.prevent_default();
                    let event: &BeforeUnloadEvent = event.unchecked_ref();
                    event.set_return_value("unsaved");
                }
            },
        ),
    ]
}

/// Where the language that the author chose is kept.
const TONGUE: &str = "keyproof-tongue";

/// The language to speak: the one that was chosen here, or else the best of those
/// that the browser asks for.
pub fn tongue() -> Tongue {
    let kept = kept().and_then(|kept| kept.get_item(TONGUE).ok().flatten());
    let asked = window().navigator().languages();
    let asked = asked.iter().filter_map(|tag| tag.as_string());
    let wanted: Vec<String> = kept.into_iter().chain(asked).collect();
    keyproof_tongues::first_of(wanted.iter().map(String::as_str))
}

/// Keeps the language that the author chose.
pub fn keep_tongue(tag: &str) {
    if let Some(kept) = kept() {
        // Where it is not kept, it is chosen again.
        let _ = kept.set_item(TONGUE, tag);
    }
}

/// What this tab keeps under a name, also while it is loaded anew.
pub fn kept_here(name: &str) -> Option<String> {
    kept_in_tab()?.get_item(name).ok().flatten()
}

/// Keeps a text in this tab, or forgets it.
pub fn keep_here(name: &str, text: Option<&str>) {
    if let Some(kept) = kept_in_tab() {
        // Where it is not kept, the page begins anew when it is loaded again.
        let _ = match text {
            Some(text) => kept.set_item(name, text),
            None => kept.remove_item(name),
        };
    }
}

/// Plain data as a text.
pub fn as_json(data: &impl serde::Serialize) -> Option<String> {
    let data = serde_wasm_bindgen::to_value(data).ok()?;
    js_sys::JSON::stringify(&data).ok()?.as_string()
}

/// Plain data from a text, if it is such.
pub fn of_json<T: serde::de::DeserializeOwned>(text: &str) -> Option<T> {
    let data = js_sys::JSON::parse(text).ok()?;
    serde_wasm_bindgen::from_value(data).ok()
}

/// The browser's time, in milliseconds.
pub fn now() -> u64 {
    js_sys::Date::now() as u64
}

/// What the browser keeps for all tabs.
pub fn kept() -> Option<Storage> {
    window().local_storage().ok().flatten()
}

/// What it keeps for this one.
fn kept_in_tab() -> Option<Storage> {
    window().session_storage().ok().flatten()
}

/// Tells the browser which language the page is in, and has what stands around the
/// desk said in it.
pub fn is_in(tag: &str) {
    let speak = boot_part("speak").ok().and_then(|s| s.dyn_into().ok());
    if let Some(speak) = speak as Option<js_sys::Function> {
        // Where it breaks, the imprint stays in the language that it is in.
        let _ = speak.call1(&JsValue::NULL, &tag.into());
    }
}

/// Whether such an element is on the page.
pub fn shows(selector: &str) -> bool {
    document()
        .query_selector(selector)
        .is_ok_and(|found| found.is_some())
}

/// Puts a class on the whole page or takes it off.
pub fn mark(class: &str, on: bool) {
    if let Some(page) = document().document_element() {
        // Without it a notice or the preview covers what has the focus.
        let _ = page.class_list().toggle_with_force(class, on);
    }
}

/// Whether the whole page has a class.
pub fn is_marked(class: &str) -> bool {
    let page = document().document_element();
    page.is_some_and(|page| page.class_list().contains(class))
}

/// A number that no other tab draws.
pub fn seed() -> u64 {
    let half = || (js_sys::Math::random() * 4_294_967_296.0) as u64;
    half() << 32 | half()
}

/// The author's own date and time: `2026-03-01 18:30`.
pub fn time() -> String {
    let now = js_sys::Date::new_0();
    format!(
        "{:04}-{:02}-{:02} {:02}:{:02}",
        now.get_full_year(),
        now.get_month() + 1,
        now.get_date(),
        now.get_hours(),
        now.get_minutes()
    )
}

/// Whether the page is shown as a query of CSS says. Each is asked once: a browser
/// keeps all that it was asked.
fn matches(query: &'static str) -> bool {
    thread_local! {
        static ASKED: RefCell<HashMap<&'static str, Option<MediaQueryList>>> = RefCell::default();
    }
    let ask = || window().match_media(query).ok().flatten();
    ASKED.with_borrow_mut(|asked| {
        let list = asked.entry(query).or_insert_with(ask);
        list.as_ref().is_some_and(|list| list.matches())
    })
}
