//! The authoring page.
//!
//! The state, what can happen to it and what it asks of the browser are plain
//! Rust ([`desk`], [`message`] and what they are made of) and are tested
//! without a browser. [`edge`] carries messages to and from the browser, and
//! [`view`] draws.

mod alike;
mod app;
mod asking;
mod backup;
pub mod book;
mod card;
mod collection;
mod commands;
mod defences;
pub mod desk;
mod edge;
mod endings;
mod example;
mod explaining;
pub mod findings;
mod glyphs;
mod grade;
mod history;
mod intake;
mod keeping;
mod keys;
mod lesson;
mod look;
mod merge;
pub mod message;
mod next;
mod proof;
mod proving;
mod saved;
mod second;
mod seek;
mod setup;
mod shelf;
mod slots;
mod view;
mod wire;
mod work;
mod wrong;

use wasm_bindgen::prelude::*;

/// Starts the page in the element `keyproof`.
#[wasm_bindgen]
pub fn page_start() -> Result<(), JsValue> {
    let root = edge::page::document()
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
