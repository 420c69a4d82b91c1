//! The store in the browser (IndexedDB). Each slot holds one [`Saved`]; a
//! slot is only written over while it is still at the revision that was read.

use rexie::{Rexie, Store, TransactionMode};
use wasm_bindgen::JsValue;
use wasm_bindgen_futures::spawn_local;
use yew::Callback;

use crate::message::Msg;
use crate::saved::Saved;

const DATABASE: &str = "keyproof";
const STORE: &str = "work";
/// Where a tab remembers its slot over a reload.
const MINE: &str = "keyproof-slot";

enum Put {
    Done(String, u32),
    Elsewhere,
}

/// Reads all slots.
pub fn restore(link: Callback<Msg>) {
    spawn_local(async move {
        link.emit(match read().await {
            Ok(slots) => Msg::Restored {
                slots,
                mine: my_slot(),
            },
            Err(fault) => Msg::StoreRefused(reason(&fault)),
        });
    });
}

/// Writes a slot if it is still at revision `base`; a new one for `None`.
pub fn write(slot: Option<String>, base: u32, saved: Saved, link: Callback<Msg>) {
    spawn_local(async move {
        link.emit(match put(slot, base, saved).await {
            Ok(Put::Done(slot, revision)) => {
                remember(&slot);
                Msg::Written { slot, revision }
            }
            Ok(Put::Elsewhere) => Msg::WrittenElsewhere,
            Err(fault) => Msg::StoreRefused(reason(&fault)),
        });
    });
}

/// Removes a slot.
pub fn forget(slot: String, link: Callback<Msg>) {
    spawn_local(async move {
        if let Err(fault) = remove(slot).await {
            link.emit(Msg::StoreRefused(reason(&fault)));
        }
    });
}

/// What lies at the bottom of a fault.
fn reason(fault: &rexie::Error) -> String {
    let mut deepest: &dyn std::error::Error = fault;
    while let Some(below) = deepest.source() {
        deepest = below;
    }
    deepest.to_string()
}

async fn open() -> Result<Rexie, rexie::Error> {
    super::database(DATABASE, STORE).await
}

async fn read() -> Result<Vec<(String, Saved)>, rexie::Error> {
    let database = open().await?;
    let transaction = database.transaction(&[STORE], TransactionMode::ReadOnly)?;
    let store = transaction.store(STORE)?;
    let mut slots = Vec::new();
    for (key, value) in store.scan(None, None, None, None).await? {
        if let (Some(key), Ok(saved)) = (key.as_string(), serde_wasm_bindgen::from_value(value)) {
            slots.push((key, saved));
        }
    }
    transaction.done().await?;
    database.close();
    Ok(slots)
}

async fn put(slot: Option<String>, base: u32, mut saved: Saved) -> Result<Put, rexie::Error> {
    let database = open().await?;
    let transaction = database.transaction(&[STORE], TransactionMode::ReadWrite)?;
    let store = transaction.store(STORE)?;
    if let Some(slot) = &slot
        && revision(&store, slot).await? != Some(base)
    {
        transaction.abort().await?;
        database.close();
        return Ok(Put::Elsewhere);
    }
    saved.time = js_sys::Date::now();
    let slot = slot.unwrap_or_else(|| format!("desk {}", saved.time as u64));
    let revision = saved.revision;
    let value = serde_wasm_bindgen::to_value(&saved).expect("plain data");
    store.put(&value, Some(&slot.as_str().into())).await?;
    transaction.done().await?;
    database.close();
    Ok(Put::Done(slot, revision))
}

async fn revision(store: &Store, slot: &str) -> Result<Option<u32>, rexie::Error> {
    let value: Option<JsValue> = store.get(slot.into()).await?;
    let saved = value.and_then(|v| serde_wasm_bindgen::from_value::<Saved>(v).ok());
    Ok(saved.map(|s| s.revision))
}

async fn remove(slot: String) -> Result<(), rexie::Error> {
    let database = open().await?;
    let transaction = database.transaction(&[STORE], TransactionMode::ReadWrite)?;
    transaction.store(STORE)?.delete(slot.into()).await?;
    transaction.done().await?;
    database.close();
    Ok(())
}

fn my_slot() -> Option<String> {
    session()?.get_item(MINE).ok().flatten()
}

fn remember(slot: &str) {
    if let Some(session) = session() {
        // Without it a reload takes the slot saved last.
        let _ = session.set_item(MINE, slot);
    }
}

fn session() -> Option<web_sys::Storage> {
    web_sys::window()?.session_storage().ok().flatten()
}
