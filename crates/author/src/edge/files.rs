//! Files in and out, and the clipboard.

use keyproof::notation::pgn_read;
use keyproof::tongue::phrase;
use wasm_bindgen::prelude::*;
use wasm_bindgen_futures::{JsFuture, spawn_local};
use web_sys::{
    Blob, BlobPropertyBag, CanvasRenderingContext2d, File, FileList, HtmlAnchorElement,
    HtmlCanvasElement, HtmlImageElement, Url,
};
use yew::Callback;

use super::{boot_part, words};
use crate::dom;
use desk::message::{GiveOutMsg, ListMsg, Msg, Purpose};

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
                    Msg::List(ListMsg::Came {
                        from,
                        text: pgn_read::decode(&bytes),
                    })
                }
                Err(fault) => Msg::List(ListMsg::Unread {
                    from,
                    why: words(&fault),
                }),
            });
        }
    });
}

/// Gives a text to the browser to save.
///
/// # Errors
/// What the browser says against it.
pub fn download(name: &str, kind: &str, text: &str) -> Result<(), JsValue> {
    save(name, &blob(kind, text)?)
}

/// Gives a file of bytes to the browser to save.
///
/// # Errors
/// What the browser says against it.
pub fn package(name: &str, kind: &str, bytes: &[u8]) -> Result<(), JsValue> {
    let bag = BlobPropertyBag::new();
    bag.set_type(kind);
    let parts = js_sys::Array::of1(&js_sys::Uint8Array::from(bytes).into());
    save(
        name,
        &Blob::new_with_u8_array_sequence_and_options(&parts, &bag)?,
    )
}

/// Makes an image of points of a square SVG and gives it to the browser to save.
pub fn png(name: String, svg: String, width: u32, link: Callback<Msg>) {
    spawn_local(async move {
        let made = image_of_points(&svg, width).await;
        if let Err(fault) = made.and_then(|image| save(&name, &image)) {
            let why = words(&fault);
            link.emit(Msg::GiveOut(GiveOutMsg::NotDownloaded { name, why }));
        }
    });
}

async fn image_of_points(svg: &str, width: u32) -> Result<Blob, JsValue> {
    let url = Url::create_object_url_with_blob(&blob("image/svg+xml", svg)?)?;
    let image = HtmlImageElement::new()?;
    image.set_src(&url);
    let drawn = JsFuture::from(image.decode()).await;
    Url::revoke_object_url(&url)?;
    drawn?;
    let document = dom::document();
    let canvas: HtmlCanvasElement = document.create_element("canvas")?.unchecked_into();
    canvas.set_width(width);
    canvas.set_height(width);
    let context: CanvasRenderingContext2d = canvas
        .get_context("2d")?
        .ok_or(phrase("this browser draws no images"))?
        .unchecked_into();
    let side = f64::from(width);
    context.draw_image_with_html_image_element_and_dw_and_dh(&image, 0.0, 0.0, side, side)?;
    let made = js_sys::Promise::new(&mut |done, _| {
        // Without an answer there is no image, and the promise says so.
        let _ = canvas.to_blob(&done);
    });
    let image = JsFuture::from(made).await?;
    Ok(image
        .dyn_into()
        .map_err(|_| phrase("this browser makes no PNG of that width"))?)
}

fn blob(kind: &str, text: &str) -> Result<Blob, JsValue> {
    let bag = BlobPropertyBag::new();
    bag.set_type(&format!("{kind};charset=utf-8"));
    let parts = js_sys::Array::of1(&text.into());
    Blob::new_with_str_sequence_and_options(&parts, &bag)
}

fn save(name: &str, blob: &Blob) -> Result<(), JsValue> {
    let url = Url::create_object_url_with_blob(blob)?;
    let document = dom::document();
    let anchor: HtmlAnchorElement = document.create_element("a")?.unchecked_into();
    anchor.set_href(&url);
    anchor.set_download(name);
    anchor.set_hidden(true);
    if let Some(body) = document.body() {
        body.append_child(&anchor)?;
    }
    anchor.click();
    anchor.remove();
    dom::after(60_000, move || {
        let _ = Url::revoke_object_url(&url);
    });
    Ok(())
}

/// Puts a text on the clipboard.
pub fn copy(text: String, link: Callback<Msg>) {
    let Some(window) = web_sys::window() else {
        return;
    };
    let clipboard = js_sys::Reflect::get(&window.navigator(), &"clipboard".into());
    if clipboard.is_ok_and(|c| c.is_undefined()) {
        let result = Err(phrase("it keeps the clipboard closed here").into());
        link.emit(Msg::GiveOut(GiveOutMsg::Copied { text, result }));
        return;
    }
    let promise = window.navigator().clipboard().write_text(&text);
    spawn_local(async move {
        let copied = JsFuture::from(promise).await;
        let result = copied.map(drop).map_err(|f| words(&f));
        link.emit(Msg::GiveOut(GiveOutMsg::Copied { text, result }));
    });
}

/// Fetches the student's page, which this page carries.
pub fn template(purpose: Purpose, link: Callback<Msg>) {
    spawn_local(async move {
        let template = student().await.map_err(|f| words(&f));
        link.emit(Msg::GiveOut(GiveOutMsg::Template { purpose, template }));
    });
}

async fn student() -> Result<String, JsValue> {
    let boot = boot_part("student")?;
    let make: &js_sys::Function = boot
        .dyn_ref()
        .ok_or(phrase("this page carries no student\u{2019}s page"))?;
    let promise: js_sys::Promise = make.call0(&JsValue::NULL)?.dyn_into()?;
    let text = JsFuture::from(promise).await?;
    Ok(text
        .as_string()
        .ok_or(phrase("the student\u{2019}s page is no text"))?)
}
