//! Files in and out, and the clipboard.

use keyproof::notation::pgn_read;
use wasm_bindgen::prelude::*;
use wasm_bindgen_futures::{JsFuture, spawn_local};
use web_sys::{Blob, BlobPropertyBag, File, FileList, HtmlAnchorElement, Url};
use yew::Callback;

use super::{boot_part, words};
use crate::message::{Msg, Purpose};

/// Reads files and hands their texts on, in order.
pub fn read_all(files: &FileList, link: &Callback<Msg>) {
    let files: Vec<File> = (0..files.length()).filter_map(|i| files.get(i)).collect();
    let link = link.clone();
    spawn_local(async move {
        for file in files {
            let from = file.name();
            link.emit(match JsFuture::from(file.array_buffer()).await {
                Ok(buffer) => {
                    let bytes = js_sys::Uint8Array::new(&buffer).to_vec();
                    Msg::Came {
                        from,
                        text: pgn_read::decode(&bytes),
                    }
                }
                Err(fault) => Msg::Unread {
                    from,
                    why: words(&fault),
                },
            });
        }
    });
}

/// Gives a text to the browser to save.
///
/// # Errors
/// What the browser says against it.
pub fn download(name: &str, kind: &str, text: &str) -> Result<(), JsValue> {
    let bag = BlobPropertyBag::new();
    bag.set_type(&format!("{kind};charset=utf-8"));
    let parts = js_sys::Array::of1(&text.into());
    let blob = Blob::new_with_str_sequence_and_options(&parts, &bag)?;
    let url = Url::create_object_url_with_blob(&blob)?;
    let document = super::page::document();
    let anchor: HtmlAnchorElement = document.create_element("a")?.unchecked_into();
    anchor.set_href(&url);
    anchor.set_download(name);
    anchor.set_hidden(true);
    document.body().ok_or("no body")?.append_child(&anchor)?;
    anchor.click();
    anchor.remove();
    gloo::timers::callback::Timeout::new(60_000, move || {
        let _ = Url::revoke_object_url(&url);
    })
    .forget();
    Ok(())
}

/// Puts a text on the clipboard.
pub fn copy(text: String, link: Callback<Msg>) {
    let Some(window) = web_sys::window() else {
        return;
    };
    let clipboard = js_sys::Reflect::get(&window.navigator(), &"clipboard".into());
    if clipboard.is_ok_and(|c| c.is_undefined()) {
        let result = Err("it keeps the clipboard closed here".into());
        link.emit(Msg::Copied { text, result });
        return;
    }
    let promise = window.navigator().clipboard().write_text(&text);
    spawn_local(async move {
        let copied = JsFuture::from(promise).await;
        let result = copied.map(drop).map_err(|f| words(&f));
        link.emit(Msg::Copied { text, result });
    });
}

/// Fetches the student's page, which this page carries.
pub fn template(purpose: Purpose, link: Callback<Msg>) {
    spawn_local(async move {
        let template = student().await.map_err(|f| words(&f));
        link.emit(Msg::Template { purpose, template });
    });
}

async fn student() -> Result<String, JsValue> {
    let boot = boot_part("student")?;
    let make: &js_sys::Function = boot
        .dyn_ref()
        .ok_or("this page carries no student's page")?;
    let promise: js_sys::Promise = make.call0(&JsValue::NULL)?.dyn_into()?;
    let text = JsFuture::from(promise).await?;
    Ok(text.as_string().ok_or("the student's page is no text")?)
}
