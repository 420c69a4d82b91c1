//! Starting the program in its page: in a shadow root, so that the page's
//! styles and the program's stay apart.

use wasm_bindgen::prelude::*;
use web_sys::{Document, Element, ShadowRootInit, ShadowRootMode};

use crate::study::Study;
use crate::view::{App, AppProps};

/// Mounts the program in the element `keyproof`, on the puzzles that the page
/// carries.
#[wasm_bindgen]
pub fn page_start() {
    std::panic::set_hook(Box::new(|_| stopped()));
    let Some(document) = document() else { return };
    let Some(host) = document.get_element_by_id("keyproof") else {
        return;
    };
    let text = |id: &str| {
        document
            .get_element_by_id(id)
            .and_then(|e| e.text_content())
            .unwrap_or_default()
    };
    let study = Study::read(&text("keyproof-lesson"), &text("keyproof-answers"));
    let Some(root) = room(&document, &host) else {
        return;
    };
    yew::Renderer::<App>::with_root_and_props(
        root,
        AppProps {
            study: study.into(),
        },
    )
    .render();
}

/// An element to draw in, inside a shadow root that holds the page's style
/// sheet.
fn room(document: &Document, host: &Element) -> Option<Element> {
    let page = document.create_element("div").ok()?;
    page.set_class_name("kp-page");
    let init = ShadowRootInit::new(ShadowRootMode::Open);
    match host.attach_shadow(&init) {
        Ok(shadow) => {
            let style = document.create_element("style").ok()?;
            style.set_text_content(Some(&style_sheet(document)));
            shadow.append_child(&style).ok()?;
            shadow.append_child(&page).ok()?;
        }
        Err(_) => {
            host.set_text_content(None);
            host.append_child(&page).ok()?;
        }
    }
    Some(page)
}

/// The program's own style sheet, among those of the page.
fn style_sheet(document: &Document) -> String {
    let Ok(styles) = document.query_selector_all("style") else {
        return String::new();
    };
    (0..styles.length())
        .filter_map(|i| styles.item(i)?.text_content())
        .find(|text| text.contains("kp-page"))
        .unwrap_or_default()
}

/// Says that the program met a fault of its own, in place of the loading line
/// and of what was drawn.
fn stopped() {
    let Some(host) = document().and_then(|document| document.get_element_by_id("keyproof")) else {
        return;
    };
    let room = host
        .shadow_root()
        .and_then(|shadow| shadow.last_element_child())
        .unwrap_or(host);
    room.set_text_content(Some(
        "The program met a fault of its own and stopped. Load the page again to go on; nothing in the file is lost.",
    ));
    let _ = room.set_attribute("role", "alert");
}

fn document() -> Option<Document> {
    web_sys::window()?.document()
}
