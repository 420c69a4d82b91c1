//! Printing: a page of its own is put into the desk where nobody sees it, and the
//! browser asked to print it. Saving it as PDF is a choice of the browser's own dialog.

use wasm_bindgen::JsCast;
use wasm_bindgen::prelude::*;
use web_sys::HtmlIFrameElement;

use crate::dom::{document, fill};

/// The frame that holds the page that was printed last.
const FRAME: &str = "printed";

/// Has the browser print a page, an HTML text.
pub fn page(html: &str) {
    if let Some(before) = document().get_element_by_id(FRAME) {
        before.remove();
    }
    let Ok(frame) = document().create_element("iframe") else {
        return;
    };
    let frame: HtmlIFrameElement = frame.unchecked_into();
    frame.set_id(FRAME);
    // A frame that is not displayed is not printed either.
    let hidden = [
        ("class", "printed"),
        ("aria-hidden", "true"),
        ("tabindex", "-1"),
    ];
    for (name, value) in hidden {
        let _ = frame.set_attribute(name, value);
    }
    fill(&frame, html);
    let onload = Closure::once_into_js({
        let frame = frame.clone();
        move || {
            if let Some(window) = frame.content_window() {
                let _ = window.focus();
                let _ = window.print();
            }
        }
    });
    let _ = frame.add_event_listener_with_callback("load", onload.unchecked_ref());
    if let Some(body) = document().body() {
        let _ = body.append_child(&frame);
    }
}
