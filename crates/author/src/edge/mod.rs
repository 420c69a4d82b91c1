//! The browser: workers, store, files, keys. Carries messages, decides
//! nothing.

pub mod audience;
pub mod earlier;
pub mod endings;
pub mod files;
pub mod keyboard;
pub mod menus;
pub mod page;
pub mod print;
pub mod store;
mod tables;
pub mod tabs;
pub mod worker;
pub mod workers;

use idb::Database;
use idb::builder::{DatabaseBuilder, ObjectStoreBuilder};
use keyproof::tongue::phrase;
use wasm_bindgen::JsValue;

/// A fault that the browser reports, in its own words.
pub fn words(fault: &JsValue) -> String {
    if let Some(text) = fault.as_string() {
        return text;
    }
    let message = js_sys::Reflect::get(fault, &"message".into()).ok();
    message
        .and_then(|m| m.as_string())
        .filter(|m| !m.is_empty())
        .unwrap_or_else(|| phrase("no reason given").into())
}

/// A part of `globalThis.keyproof`, which the page's boot script made.
pub fn boot_part(name: &str) -> Result<JsValue, JsValue> {
    let boot = js_sys::Reflect::get(&js_sys::global(), &"keyproof".into())?;
    js_sys::Reflect::get(&boot, &name.into())
}

/// A database of the browser with one store in it, made where there is none.
async fn database(name: &str, store: &str) -> Result<Database, idb::Error> {
    DatabaseBuilder::new(name)
        .version(1)
        .add_object_store(ObjectStoreBuilder::new(store))
        .build()
        .await
}

/// What a database says against something, as a fault of the browser.
fn fault(fault: idb::Error) -> JsValue {
    fault.to_string().into()
}
