//! The store of the work in the browser (IndexedDB). What changed is written in
//! one transaction, which first sees whether the row is still the one that the
//! writing rests on, and is over only when the disk has it. The database stays
//! open: each opening leaves something behind in the page's memory.

use std::cell::{Cell, RefCell};
use std::collections::HashMap;
use std::rc::Rc;

use gloo::events::EventListener;
use idb::{Database, ObjectStore, Transaction, TransactionMode, TransactionResult};
use keyproof::tongue::phrase;
use serde::de::DeserializeOwned;
use wasm_bindgen::prelude::*;
use wasm_bindgen_futures::{JsFuture, spawn_local};
use web_sys::{IdbDatabase, IdbTransaction, StorageEstimate, StorageManager};
use yew::Callback;

use super::{database, fault, words};
use crate::dom;
use desk::keeping::Room;
use desk::message::{Msg, StoreMsg};
use desk::saved::slots::Slot;
use desk::saved::{Found, ROW, Row, SHEET, SavedSheet, TEXT, Writing, sheet_key};
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
        link.emit(match read_all().await {
            Ok(found) => Msg::Store(StoreMsg::Found(Box::new(found))),
            Err(why) => refused(&why),
        });
    });
}

/// Reads what is new since the store held this row.
pub fn reread(known: Option<Row>, link: Callback<Msg>) {
    spawn_local(async move {
        // A store that cannot be read says so when it is written.
        match read_new(known).await {
            Ok(found) => link.emit(Msg::Store(StoreMsg::Found(Box::new(found)))),
            Err(_) => let_go(),
        }
    });
}

/// Writes, if the row is still the one that it rests on.
pub fn write(writing: Writing, link: Callback<Msg>) {
    spawn_local(async move {
        let open = writing.row.open;
        link.emit(match put(writing).await {
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

thread_local! {
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

async fn read_all() -> Result<Found, JsValue> {
    let transaction = Database::from(open().await?)
        .transaction(&[STORE], TransactionMode::ReadOnly)
        .map_err(fault)?;
    let store = transaction.object_store(STORE).map_err(fault)?;
    let found = everything(&store).await?;
    over(transaction.into()).await?;
    Ok(found)
}

async fn read_new(known: Option<Row>) -> Result<Found, JsValue> {
    let transaction = Database::from(open().await?)
        .transaction(&[STORE], TransactionMode::ReadOnly)
        .map_err(fault)?;
    let store = transaction.object_store(STORE).map_err(fault)?;
    let row = get(&store, ROW).await?;
    let found = new(&store, row, known.as_ref()).await?;
    over(transaction.into()).await?;
    Ok(found)
}

/// Writes; or what lies there instead of what was expected.
async fn put(writing: Writing) -> Result<Option<Found>, JsValue> {
    let transaction = strict(open().await?)?;
    let done = put_all(&transaction, writing).await;
    if done.is_err() {
        // All or nothing; what is over already cannot be taken back, and failed.
        let _ = transaction.abort();
    }
    match done {
        Ok(found) => over(transaction).await.map(|()| found),
        Err(why) => Err(why),
    }
}

async fn put_all(transaction: &IdbTransaction, writing: Writing) -> Result<Option<Found>, JsValue> {
    let store = ObjectStore::from(transaction.object_store(STORE)?);
    let row: Option<Row> = get(&store, ROW).await?;
    let expected = match (&row, &writing.base) {
        (Some(row), Some(base)) => row.is(base),
        (None, None) => true,
        _ => false,
    };
    if !expected {
        return Ok(Some(new(&store, row, writing.base.as_ref()).await?));
    }
    let put = |key: &str, record: &JsValue| store.put(record, Some(&key.into())).map_err(fault);
    for sheet in &writing.sheets {
        put(&sheet_key(sheet.id), &value(sheet))?;
    }
    for (key, text) in &writing.texts {
        put(key, &JsValue::from_str(text))?;
    }
    for key in &writing.gone {
        store.delete(JsValue::from(key)).map_err(fault)?;
    }
    put(ROW, &value(&writing.row))?.await.map_err(fault)?;
    Ok(None)
}

/// A transaction that is over only when the disk has what was written: without
/// that a browser may tell so before, and lose it when the machine stops.
fn strict(database: IdbDatabase) -> Result<IdbTransaction, JsValue> {
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

/// All records of the store. What is none of ours is left alone.
async fn everything(store: &ObjectStore) -> Result<Found, JsValue> {
    let keys = store.get_all_keys(None, None).map_err(fault)?;
    let values = store.get_all(None, None).map_err(fault)?;
    let keys = keys.await.map_err(fault)?;
    let values = values.await.map_err(fault)?;
    let mut found = Found {
        mine: mine(),
        ..Found::default()
    };
    for (key, value) in keys.into_iter().zip(values) {
        let Some(key) = key.as_string() else {
            continue;
        };
        if key == ROW {
            found.row = read(value);
        } else if key.starts_with(SHEET) {
            found.sheets.extend(read::<SavedSheet>(value));
        } else if key.starts_with(TEXT) {
            let text = value.as_string().map(Rc::from);
            found.texts.extend(text.map(|text| (key, text)));
        } else if let Some(slot) = read::<Slot>(value) {
            found.slots.push((key, slot));
        }
    }
    if found.row.is_none() && !found.sheets.is_empty() {
        // The puzzles are there and the row is not: they are taken in by name.
        found.row = Some(Row::default());
    }
    Ok(found)
}

/// What lies in the store beside what is known of it.
async fn new(store: &ObjectStore, row: Option<Row>, known: Option<&Row>) -> Result<Found, JsValue> {
    let Some(row) = row else {
        return Ok(Found::default());
    };
    let known = known.filter(|known| known.birth == row.birth);
    let known: HashMap<SheetId, u32> = known
        .map(|known| known.order.iter().copied().collect())
        .unwrap_or_default();
    let mut found = Found::default();
    for (id, revision) in &row.order {
        if known.get(id) == Some(revision) {
            continue;
        }
        let Some(sheet) = get::<SavedSheet>(store, &sheet_key(*id)).await? else {
            continue;
        };
        if let Some(reading) = &sheet.reading
            && !found.texts.contains_key(&reading.text)
        {
            let request = store.get(JsValue::from(&reading.text)).map_err(fault)?;
            let text = request.await.map_err(fault)?;
            if let Some(text) = text.and_then(|text| text.as_string()) {
                found.texts.insert(reading.text.clone(), text.into());
            }
        }
        found.sheets.push(sheet);
    }
    found.row = Some(row);
    Ok(found)
}

async fn get<T: DeserializeOwned>(store: &ObjectStore, key: &str) -> Result<Option<T>, JsValue> {
    let request = store.get(JsValue::from(key)).map_err(fault)?;
    Ok(request.await.map_err(fault)?.and_then(read))
}

fn read<T: DeserializeOwned>(value: JsValue) -> Option<T> {
    serde_wasm_bindgen::from_value(value).ok()
}

fn value<T: serde::Serialize>(of: &T) -> JsValue {
    serde_wasm_bindgen::to_value(of).expect("plain data")
}

fn mine() -> Option<SheetId> {
    session()?.get_item(MINE).ok().flatten()?.parse().ok()
}

fn remember(open: Option<SheetId>) {
    if let (Some(session), Some(open)) = (session(), open) {
        // Without it a reload opens what was open in the tab that saved last.
        let _ = session.set_item(MINE, &open.to_string());
    }
}

fn session() -> Option<web_sys::Storage> {
    web_sys::window()?.session_storage().ok().flatten()
}
