//! Endgame tables kept in the browser (IndexedDB), so that none is made twice.
//! Each lies there under its material's name. A browser that keeps nothing
//! loses only time.

use idb::{Database, Factory, TransactionMode};
use js_sys::Uint8Array;
use keyproof::notation::fen;
use keyproof::tables::{FORMAT, Material, Tables};
use wasm_bindgen::prelude::*;

use super::{database, fault};

/// A database of its own, named for the format: the work of the author lies
/// elsewhere.
fn name() -> String {
    format!("keyproof-tables-{FORMAT}")
}

/// What an earlier format was kept in.
const OUTDATED: &str = "keyproof-tables";

const STORE: &str = "tables";

/// Loads what the question about this position needs and the browser keeps.
pub async fn load(tables: &mut Tables, position: &str) {
    let Ok(position) = fen::read(position) else {
        return;
    };
    let near = tables.near(&position);
    if near.is_empty() {
        return;
    }
    // What cannot be loaded is made, from what it leads into.
    let found = read(tables, &near).await.unwrap_or(0);
    if found < near.len() {
        let missing: Vec<Material> = near.iter().flat_map(|&m| tables.missing(m)).collect();
        let _ = read(tables, &missing).await;
    }
}

/// Keeps the tables that are not among those that were `known` before.
pub async fn keep(tables: &Tables, known: &[Material]) {
    for material in tables.materials().filter(|m| !known.contains(m)) {
        if let Some(bytes) = tables.save(material) {
            // Where it cannot be kept, it is made again another time.
            let _ = write(material, &bytes).await;
        }
    }
}

async fn open() -> Result<Database, JsValue> {
    database(&name(), STORE).await.map_err(fault)
}

/// Reads tables, and tells how many were there.
async fn read(tables: &mut Tables, wanted: &[Material]) -> Result<usize, JsValue> {
    let database = open().await?;
    let transaction = database
        .transaction(&[STORE], TransactionMode::ReadOnly)
        .map_err(fault)?;
    let store = transaction.object_store(STORE).map_err(fault)?;
    let mut found = Vec::new();
    for material in wanted {
        let key = material.to_string();
        let request = store.get(JsValue::from(key)).map_err(fault)?;
        found.extend(request.await.map_err(fault)?);
    }
    transaction.await.map_err(fault)?;
    database.close();
    // A damaged one is made anew, and kept in its place.
    let loaded = found.into_iter().filter_map(|bytes| {
        let bytes: Uint8Array = bytes.dyn_into().ok()?;
        tables.load(bytes.to_vec()).ok()
    });
    Ok(loaded.count())
}

async fn write(material: Material, bytes: &[u8]) -> Result<(), JsValue> {
    let database = open().await?;
    let transaction = database
        .transaction(&[STORE], TransactionMode::ReadWrite)
        .map_err(fault)?;
    let store = transaction.object_store(STORE).map_err(fault)?;
    let key = material.to_string();
    let request = store
        .put(&Uint8Array::from(bytes), Some(&key.as_str().into()))
        .map_err(fault)?;
    request.await.map_err(fault)?;
    transaction.await.map_err(fault)?;
    database.close();
    Ok(())
}

/// Lets go of what an earlier format was kept in.
pub async fn tidy() -> Result<(), JsValue> {
    let factory = Factory::new().map_err(fault)?;
    factory
        .delete(OUTDATED)
        .map_err(fault)?
        .await
        .map_err(fault)
}
