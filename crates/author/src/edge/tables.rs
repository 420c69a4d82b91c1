//! Endgame tables kept in the browser (IndexedDB), so that none is made twice.
//! Each lies there deflated, under its material's name. A browser that keeps
//! nothing loses only time.

use idb::{Database, TransactionMode};
use js_sys::{Array, Uint8Array};
use keyproof::notation::fen;
use keyproof::tables::{Material, Tables};
use wasm_bindgen::prelude::*;
use wasm_bindgen_futures::JsFuture;
use web_sys::{Blob, ReadableWritablePair, Response};

use super::{database, fault};

/// A database of its own: the work of the author lies elsewhere.
const DATABASE: &str = "keyproof-tables";
/// Named for the format, so that tables of another are not read.
const STORE: &str = "tables-1";

#[wasm_bindgen]
extern "C" {
    type CompressionStream;
    #[wasm_bindgen(constructor, catch)]
    fn new(format: &str) -> Result<CompressionStream, JsValue>;

    type DecompressionStream;
    #[wasm_bindgen(constructor, catch)]
    fn new(format: &str) -> Result<DecompressionStream, JsValue>;
}

/// Loads what the question about this position needs and the browser keeps.
pub async fn load(tables: &mut Tables, position: &str) {
    let wanted = wanted(tables, position);
    if wanted.is_empty() {
        return;
    }
    // What cannot be loaded is made.
    let _ = read(tables, &wanted).await;
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

fn wanted(tables: &Tables, position: &str) -> Vec<Material> {
    let material = fen::read(position).ok().and_then(|p| Material::of(&p));
    material.map_or_else(Vec::new, |material| tables.missing(material))
}

async fn open() -> Result<Database, JsValue> {
    database(DATABASE, STORE).await.map_err(fault)
}

async fn read(tables: &mut Tables, wanted: &[Material]) -> Result<(), JsValue> {
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
    for deflated in found {
        let inflate = DecompressionStream::new("deflate-raw")?;
        let bytes = through(&deflated.unchecked_into(), inflate.unchecked_ref()).await?;
        // A damaged one is made anew, and kept in its place.
        let _ = tables.load(&bytes.to_vec());
    }
    Ok(())
}

async fn write(material: Material, bytes: &[u8]) -> Result<(), JsValue> {
    let deflate = CompressionStream::new("deflate-raw")?;
    let deflated = through(&Uint8Array::from(bytes), deflate.unchecked_ref()).await?;
    let database = open().await?;
    let transaction = database
        .transaction(&[STORE], TransactionMode::ReadWrite)
        .map_err(fault)?;
    let store = transaction.object_store(STORE).map_err(fault)?;
    let key = material.to_string();
    let request = store
        .put(&deflated, Some(&key.as_str().into()))
        .map_err(fault)?;
    request.await.map_err(fault)?;
    transaction.await.map_err(fault)?;
    database.close();
    Ok(())
}

/// Sends bytes through a stream.
async fn through(bytes: &Uint8Array, pipe: &ReadableWritablePair) -> Result<Uint8Array, JsValue> {
    let blob = Blob::new_with_u8_array_sequence(&Array::of1(bytes))?;
    let stream = blob.stream().pipe_through(pipe);
    let response = Response::new_with_opt_readable_stream(Some(&stream))?;
    let buffer = JsFuture::from(response.array_buffer()?).await?;
    Ok(Uint8Array::new(&buffer))
}
