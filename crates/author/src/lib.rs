//! The authoring page.
//!
//! The state, what can happen to it and what it asks of the browser are the
//! crate [`desk`]'s. `edge` carries messages to and from the browser, and
//! `view` draws.

mod app;
mod dom;
mod edge;
mod view;

use wasm_bindgen::prelude::*;

/// Starts the page in the element `keyproof`.
#[wasm_bindgen]
pub fn page_start() -> Result<(), JsValue> {
    let root = dom::document()
        .get_element_by_id("keyproof")
        .ok_or("the page has no element \"keyproof\"")?;
    // A page that was saved by the browser still shows what it did then.
    edge::page::below().set_text_content(None);
    edge::page::tell_of_breakdown();
    yew::Renderer::<app::App>::with_root(root).render();
    Ok(())
}

/// Starts a checking worker.
#[wasm_bindgen]
pub fn worker_start() {
    edge::worker::start();
}
