//! The store of the work in the browser (IndexedDB). What is read and written in a
//! transaction is [`desk::storage`]'s; one that writes is over only when the disk has
//! it. The database stays open: each opening leaves something behind in the page's
//! memory.

use std::cell::{Cell, RefCell};

use gloo::events::EventListener;
use idb::{ObjectStore, Transaction, TransactionResult};
use keyproof::tongue::phrase;
use serde::Serialize;
use serde::de::DeserializeOwned;
use wasm_bindgen::prelude::*;
use wasm_bindgen_futures::{JsFuture, spawn_local};
use web_sys::{HtmlElement, IdbDatabase, IdbTransaction, StorageEstimate, StorageManager};
use yew::Callback;

use super::{database, fault, page, words};
use crate::dom;
use desk::keeping::Room;
use desk::message::{Msg, StoreMsg};
use desk::saved::{Found, Manifest, Note, Writing};
use desk::storage::{self, Record, Storage};
use desk::work::SheetId;

const DATABASE: &str = "keyproof";
const STORE: &str = "work";
/// Where a tab remembers its open puzzle over a reload.
const MINE: &str = "keyproof-open";
/// Milliseconds between two looks at how much room is left.
const ROOM_PACE: f64 = 20_000.0;

#[wasm_bindgen]
extern "C" {
    /// A database, whose transactions take options.
    type Durable;
    #[wasm_bindgen(method, catch)]
    fn transaction(
        this: &Durable,
        store: &str,
        mode: &str,
        options: &JsValue,
    ) -> Result<IdbTransaction, JsValue>;
}

/// Reads the whole store.
pub fn restore(link: Callback<Msg>) {
    spawn_local(async move {
        link.emit(match storage::read_all(&work()).await {
            Ok(found) => {
                let (mine, notes) = (mine(), notes());
                let empty = found.manifest.is_none() && found.slots.is_empty();
                let carried = if empty { carried() } else { Note::default() };
                Msg::Store(StoreMsg::Found(Box::new(Found {
                    mine,
                    notes,
                    carried,
                    ..found
                })))
            }
            Err(why) => refused(&why),
        });
    });
}

/// Reads what is new since the store held this manifest.
pub fn reread(known: Option<Manifest>, link: Callback<Msg>) {
    spawn_local(async move {
        // A store that cannot be read says so when it is written.
        match storage::read_new(&work(), known.as_ref()).await {
            Ok(found) => link.emit(Msg::Store(StoreMsg::Found(Box::new(found)))),
            Err(_) => let_go(),
        }
    });
}

/// Writes, if the manifest is still the one that it rests on.
pub fn write(writing: Writing, link: Callback<Msg>) {
    spawn_local(async move {
        let open = writing.manifest.open;
        link.emit(match storage::write(&work(), &writing).await {
            Ok(None) => {
                remember(open);
                Msg::Store(StoreMsg::Written)
            }
            Ok(Some(found)) => Msg::Store(StoreMsg::Elsewhere(Box::new(found))),
            Err(why) => refused(&why),
        });
    });
}

/// Tells how much room is left, unless that was done a moment ago.
pub fn room(link: Callback<Msg>) {
    thread_local! {
        static LAST: Cell<f64> = const { Cell::new(f64::NEG_INFINITY) };
    }
    let now = js_sys::Date::now();
    let (Some(storage), true) = (manager(), now - LAST.get() >= ROOM_PACE) else {
        return;
    };
    LAST.set(now);
    spawn_local(async move {
        let Ok(promise) = storage.estimate() else {
            return;
        };
        // A browser that does not say is one that is not watched.
        if let Ok(estimate) = JsFuture::from(promise).await {
            let estimate: StorageEstimate = estimate.unchecked_into();
            if let (Some(used), Some(quota)) = (estimate.get_usage(), estimate.get_quota()) {
                link.emit(Msg::Store(StoreMsg::Room(Room { used, quota })));
            }
        }
    });
}

/// Asks the browser not to throw the store away.
pub fn ask_to_stay(link: Callback<Msg>) {
    let promise = manager().and_then(|storage| storage.persist().ok());
    if let Some(promise) = promise {
        spawn_local(async move {
            let stays = JsFuture::from(promise).await;
            link.emit(Msg::Store(StoreMsg::Stays(
                stays.is_ok_and(|stays| stays.is_truthy()),
            )));
        });
    }
}

fn manager() -> Option<StorageManager> {
    let navigator = dom::window().navigator();
    let storage = js_sys::Reflect::get(&navigator, &"storage".into()).ok()?;
    storage.is_object().then(|| storage.unchecked_into())
}

fn refused(why: &JsValue) -> Msg {
    let_go();
    let why = words(why);
    let full = why.contains("QuotaExceeded");
    Msg::Store(StoreMsg::StoreRefused { why, full })
}

/// Where notes are kept, each page's under a name of its own.
const NOTE: &str = "keyproof-note-";

thread_local! {
    static OWN: String = format!("{NOTE}{:x}", page::seed());
    /// This page's note, and those that it found.
    static NOTES: RefCell<Vec<String>> = const { RefCell::new(Vec::new()) };
    static HELD: RefCell<Option<Held>> = const { RefCell::new(None) };
}

/// The open database.
struct Held {
    database: IdbDatabase,
    /// It is let go when the browser closes it, or is asked to remove it.
    _ends: [EventListener; 2],
}

async fn open() -> Result<IdbDatabase, JsValue> {
    if let Some(open) = HELD.with_borrow(|held| held.as_ref().map(|h| h.database.clone())) {
        return Ok(open);
    }
    let opened: IdbDatabase = database(DATABASE, STORE).await.map_err(fault)?.into();
    // What the library called then is gone, and would be called still.
    opened.set_onversionchange(None);
    let ends = ["close", "versionchange"];
    let held = Held {
        database: opened.clone(),
        _ends: ends.map(|end| EventListener::new(&opened, end, |_| let_go())),
    };
    HELD.replace(Some(held));
    Ok(opened)
}

/// Closes the database: what comes next opens it anew.
fn let_go() {
    if let Some(held) = HELD.take() {
        held.database.close();
    }
}

/// The store that the work lies in.
fn work() -> impl Storage<Fault = JsValue> {
    Browser
}

/// The browser's database of the work.
struct Browser;

/// A transaction in it.
struct InBrowser {
    inner: IdbTransaction,
    store: ObjectStore,
}

/// A record of it.
struct Stored(JsValue);

impl Storage for Browser {
    type Fault = JsValue;
    type Transaction = InBrowser;

    async fn begin(&self, writes: bool) -> Result<InBrowser, JsValue> {
        let database = open().await?;
        let inner: IdbTransaction = match writes {
            true => strict(&database)?,
            false => database.transaction_with_str(STORE)?,
        };
        let store = ObjectStore::from(inner.object_store(STORE)?);
        Ok(InBrowser { inner, store })
    }
}

impl desk::storage::Transaction for InBrowser {
    type Fault = JsValue;
    type Record = Stored;

    async fn get(&self, key: &str) -> Result<Option<Stored>, JsValue> {
        let request = self.store.get(JsValue::from(key)).map_err(fault)?;
        Ok(request.await.map_err(fault)?.map(Stored))
    }
    async fn all(&self) -> Result<Vec<(String, Stored)>, JsValue> {
        let keys = self.store.get_all_keys(None, None).map_err(fault)?;
        let values = self.store.get_all(None, None).map_err(fault)?;
        let keys = keys.await.map_err(fault)?;
        let values = values.await.map_err(fault)?;
        let records = keys.into_iter().zip(values);
        let named = records.filter_map(|(key, value)| Some((key.as_string()?, Stored(value))));
        Ok(named.collect())
    }
    fn put(
        &self,
        key: &str,
        record: Stored,
    ) -> Result<impl Future<Output = Result<(), JsValue>>, JsValue> {
        let request = self.store.put(&record.0, Some(&key.into()));
        let request = request.map_err(fault)?;
        Ok(async move { request.await.map(|_| ()).map_err(fault) })
    }
    fn delete(&self, key: &str) -> Result<(), JsValue> {
        let request = self.store.delete(JsValue::from(key));
        request.map(drop).map_err(fault)
    }
    async fn over(self) -> Result<(), JsValue> {
        over(self.inner).await
    }
    fn abort(self) {
        // What is over already cannot be taken back, and failed.
        let _ = self.inner.abort();
    }
}

impl Record for Stored {
    fn of<T: Serialize + Clone + 'static>(value: &T) -> Stored {
        Stored(serde_wasm_bindgen::to_value(value).expect("plain data"))
    }
    fn of_text(text: &str) -> Stored {
        Stored(JsValue::from_str(text))
    }
    fn read<T: DeserializeOwned + Clone + 'static>(self) -> Option<T> {
        serde_wasm_bindgen::from_value(self.0).ok()
    }
    fn text(&self) -> Option<String> {
        self.0.as_string()
    }
}

/// A transaction that is over only when the disk has what was written: without
/// that a browser may tell so before, and lose it when the machine stops.
fn strict(database: &IdbDatabase) -> Result<IdbTransaction, JsValue> {
    let options = js_sys::Object::new();
    js_sys::Reflect::set(&options, &"durability".into(), &"strict".into())?;
    let durable: &Durable = database.unchecked_ref();
    durable.transaction(STORE, "readwrite", &options)
}

/// Waits until a transaction is over, and tells why if nothing came of it.
async fn over(inner: IdbTransaction) -> Result<(), JsValue> {
    match Transaction::from(inner.clone()).await {
        Ok(TransactionResult::Committed) => Ok(()),
        Ok(TransactionResult::Aborted) => Err(match inner.error() {
            Some(why) => format!("{}: {}", why.name(), why.message()).into(),
            None => phrase("the browser gave it up").into(),
        }),
        Err(why) => Err(fault(why)),
    }
}

fn mine() -> Option<SheetId> {
    page::kept_here(MINE)?.parse().ok()
}

fn remember(open: Option<SheetId>) {
    if let Some(open) = open {
        // Without it a reload opens what was open in the tab that saved last.
        page::keep_here(MINE, Some(&open.to_string()));
    }
}

/// Puts down what is not written yet; an empty note takes away this page's, and those
/// that were found when it started.
pub fn note(note: &Note) {
    let Some(local) = page::kept() else { return };
    // Where it is not kept, the writing under way may still come in time.
    if note.0.is_empty() {
        for key in NOTES.take() {
            let _ = local.remove_item(&key);
        }
        return;
    }
    let own = OWN.with(String::clone);
    let _ = local.set_item(&own, &note.write());
    NOTES.with_borrow_mut(|keys| {
        if !keys.contains(&own) {
            keys.push(own);
        }
    });
}

/// The notes of pages that closed before they had saved.
fn notes() -> Vec<Note> {
    let Some(local) = page::kept() else {
        return Vec::new();
    };
    let all = (0..local.length().unwrap_or(0)).filter_map(|i| local.key(i).ok().flatten());
    let keys: Vec<String> = all.filter(|key| key.starts_with(NOTE)).collect();
    let texts = keys
        .iter()
        .filter_map(|key| local.get_item(key).ok().flatten());
    let notes = texts.map(|text| Note::read(&text)).collect();
    NOTES.set(keys);
    notes
}

/// The element that has the work for when the browser saves the page.
const CARRIED: &str = "keyproof-carried";

/// Has the work in the page itself: browsers that give each file a store of its own open
/// a saved page with an empty one.
pub fn carry(note: &Note) {
    let place = dom::html_element(CARRIED).or_else(|| {
        let place: HtmlElement = dom::document()
            .create_element("pre")
            .ok()?
            .dyn_into()
            .ok()?;
        place.set_id(CARRIED);
        place.set_hidden(true);
        dom::document().body()?.append_child(&place).ok()?;
        Some(place)
    });
    if let Some(place) = place {
        place.set_text_content(Some(&note.write()));
    }
}

/// The work that this page had in it when it was opened.
fn carried() -> Note {
    let place = dom::html_element(CARRIED).and_then(|place| place.text_content());
    place.map_or(Note::default(), |text| Note::read(&text))
}
