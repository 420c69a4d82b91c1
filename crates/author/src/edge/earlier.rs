//! The author's earlier games in the browser: the index in its worker, and the
//! store (IndexedDB) in which it lies packed.

use std::cell::RefCell;
use std::rc::Rc;

use idb::{Database, TransactionMode};
use js_sys::Uint8Array;
use keyproof::seen::{Builder, Index, packed};
use wasm_bindgen::prelude::*;
use wasm_bindgen_futures::{JsFuture, spawn_local};
use web_sys::{File, FileList};
use yew::Callback;

use super::words;
use super::{database, fault};
use desk::collection::Event;
use desk::earlier::{About, Ask, Told, gather, look_up};
use desk::message::{GameMsg, ListMsg, Msg};
use keyproof::notation::pgn_read;

/// A database of its own: the work of the author lies elsewhere.
const DATABASE: &str = "keyproof-earlier";
const STORE: &str = "games";
const ABOUT: &str = "about";
const INDEX: &str = "index";
/// Milliseconds between two tellings of progress.
const PACE: f64 = 100.0;

/// The collection inside its worker.
pub type Held = Rc<RefCell<Option<(Index, About)>>>;

/// Tells what the store keeps.
pub fn restore(link: Callback<Msg>) {
    spawn_local(async move {
        // A store that refuses to be read keeps nothing, and says so when
        // something is to be kept.
        let about = read_about().await.ok().flatten();
        link.emit(Msg::Game(GameMsg::Earlier(Event::Restored(about))));
    });
}

/// Empties the store.
pub fn forget() {
    spawn_local(async {
        // What cannot be reached is not kept either.
        let _ = remove().await;
    });
}

/// Reads files and hands their texts on together.
pub fn read_all(files: &FileList, link: &Callback<Msg>) {
    let files: Vec<File> = (0..files.length()).filter_map(|i| files.get(i)).collect();
    let link = link.clone();
    spawn_local(async move {
        let mut texts = Vec::new();
        for file in files {
            let from = file.name();
            match JsFuture::from(file.array_buffer()).await {
                Ok(buffer) => {
                    let bytes = Uint8Array::new(&buffer).to_vec();
                    texts.push((from, pgn_read::decode(&bytes)));
                }
                Err(fault) => link.emit(Msg::List(ListMsg::Unread {
                    from,
                    why: words(&fault),
                })),
            }
        }
        link.emit(Msg::Game(GameMsg::Earlier(Event::Came(texts))));
    });
}

/// Does inside the worker what is asked.
pub async fn answer(ask: Ask, held: Held, tell: impl Fn(Told)) {
    if held.borrow().is_none() {
        let loaded = load().await.ok().flatten();
        let mut held = held.borrow_mut();
        if held.is_none() {
            *held = loaded;
        }
    }
    match ask {
        Ask::Gather { ticket, texts } => {
            let began = js_sys::Date::now();
            let before = held.borrow_mut().take();
            let (index, about) =
                before.unwrap_or_else(|| (Builder::new().index(), About::default()));
            let mut last = began;
            let (index, mut about) = gather(index, about, &texts, &mut |share, positions| {
                let now = js_sys::Date::now();
                if now - last >= PACE {
                    last = now;
                    tell(Told::SoFar {
                        ticket,
                        share,
                        positions,
                    });
                }
            });
            drop(texts);
            about.millis = js_sys::Date::now() - began;
            let bytes = Uint8Array::from(&packed::write(&index)[..]);
            *held.borrow_mut() = Some((index, about.clone()));
            let kept = match about.games {
                0 => Ok(()),
                _ => keep(&about, &bytes).await,
            };
            let kept = kept.map_err(|fault| words(&fault));
            tell(Told::Gathered {
                ticket,
                about,
                kept,
            });
        }
        Ask::Lookup { ticket, game, fen } => {
            let held = held.borrow();
            let found = held
                .as_ref()
                .and_then(|(index, _)| look_up(index, &game, &fen));
            tell(Told::Looked { ticket, found });
        }
    }
}

async fn open() -> Result<Database, JsValue> {
    database(DATABASE, STORE).await.map_err(fault)
}

async fn read_about() -> Result<Option<About>, JsValue> {
    let [about] = read([ABOUT]).await?;
    Ok(about.and_then(|value| serde_wasm_bindgen::from_value(value).ok()))
}

async fn load() -> Result<Option<(Index, About)>, JsValue> {
    let [about, bytes] = read([ABOUT, INDEX]).await?;
    let about = about.and_then(|value| serde_wasm_bindgen::from_value(value).ok());
    let bytes = bytes.and_then(|value| value.dyn_into::<Uint8Array>().ok());
    let index = bytes.and_then(|bytes| packed::read(&bytes.to_vec()));
    Ok(index.zip(about))
}

async fn read<const N: usize>(keys: [&str; N]) -> Result<[Option<JsValue>; N], JsValue> {
    let database = open().await?;
    let transaction = database
        .transaction(&[STORE], TransactionMode::ReadOnly)
        .map_err(fault)?;
    let store = transaction.object_store(STORE).map_err(fault)?;
    let mut values = [const { None }; N];
    for (value, key) in values.iter_mut().zip(keys) {
        let request = store.get(JsValue::from(key)).map_err(fault)?;
        *value = request.await.map_err(fault)?;
    }
    transaction.await.map_err(fault)?;
    database.close();
    Ok(values)
}

async fn keep(about: &About, bytes: &Uint8Array) -> Result<(), JsValue> {
    let about = serde_wasm_bindgen::to_value(about).expect("plain data");
    let database = open().await?;
    let transaction = database
        .transaction(&[STORE], TransactionMode::ReadWrite)
        .map_err(fault)?;
    let store = transaction.object_store(STORE).map_err(fault)?;
    for (key, value) in [(ABOUT, &about), (INDEX, bytes.as_ref())] {
        let request = store.put(value, Some(&key.into())).map_err(fault)?;
        request.await.map_err(fault)?;
    }
    transaction.await.map_err(fault)?;
    database.close();
    Ok(())
}

async fn remove() -> Result<(), JsValue> {
    let database = open().await?;
    let transaction = database
        .transaction(&[STORE], TransactionMode::ReadWrite)
        .map_err(fault)?;
    let store = transaction.object_store(STORE).map_err(fault)?;
    store.clear().map_err(fault)?.await.map_err(fault)?;
    transaction.await.map_err(fault)?;
    database.close();
    Ok(())
}
