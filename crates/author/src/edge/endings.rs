//! Files with endgame tables: the page hands them to its workers, which read
//! slices of them where they lie.

use std::cell::{Cell, RefCell};
use std::collections::HashMap;
use std::io;
use std::sync::Arc;

use js_sys::{Array, ArrayBuffer, Object, Reflect, Uint8Array};
use keyproof::tables::syzygy::{Source, Syzygy};
use keyproof::tables::{FileFault, Larger, Tables};
use wasm_bindgen::prelude::*;
use web_sys::{File, FileList, FileReaderSync, Worker};
use yew::Callback;

use super::words;
use desk::endings::{Endings, Event};
use desk::message::{CheckMsg, Msg};

/// The mark of a message with files.
const KEY: &str = "endings";

thread_local! {
    /// The files of this page, or of this worker.
    static FILES: RefCell<Vec<File>> = const { RefCell::new(Vec::new()) };
    /// Whether they came already.
    static CAME: Cell<bool> = const { Cell::new(false) };
    static FOUND: RefCell<Endings> = RefCell::default();
    /// What was read of them, by name and place.
    static PAGES: RefCell<HashMap<(String, u64), Vec<u8>>> = RefCell::new(HashMap::new());
}

/// Bytes that are read at a time, and how many such pieces are held.
const PAGE: u64 = 1 << 14;
const HELD: usize = 512;

/// Takes the files that the author chose; with `None` lets go of them.
pub fn choose(files: Option<&FileList>, link: &Callback<Msg>) {
    let chosen = files.map_or_else(Vec::new, |files| {
        (0..files.length()).filter_map(|i| files.get(i)).collect()
    });
    FILES.set(chosen);
    CAME.set(true);
    link.emit(Msg::Check(CheckMsg::Endings(Event::Chosen)));
}

/// Hands the files to a worker, if any were ever chosen.
///
/// # Errors
/// What the browser says against it.
pub fn hand_to(worker: &Worker) -> Result<(), JsValue> {
    if !CAME.get() {
        return Ok(());
    }
    let files: Array = FILES.with_borrow(|files| files.iter().collect());
    let message = Object::new();
    Reflect::set(&message, &KEY.into(), &files)?;
    worker.post_message(&message)
}

/// In a worker: takes files from a message that has some, and lets the tables
/// read in them.
pub fn take(message: &JsValue, tables: &Tables) -> Option<Endings> {
    let files = Reflect::get(message, &KEY.into()).ok()?;
    let files: Array = files.dyn_into().ok()?;
    FILES.set(
        files
            .iter()
            .filter_map(|file| file.dyn_into().ok())
            .collect(),
    );
    PAGES.with_borrow_mut(HashMap::clear);
    let syzygy = Syzygy::open(Arc::new(Slices)).ok()?;
    let endings = Endings {
        files: syzygy.files(),
        men: syzygy.most_men(),
        faults: syzygy.faults(),
    };
    let larger: Option<Arc<dyn Larger>> = match endings.files {
        0 => None,
        _ => Some(Arc::new(syzygy)),
    };
    tables.open_larger(larger);
    FOUND.set(endings.clone());
    Some(endings)
}

/// In a worker: what is to be told of the files if more of them turned out to
/// be damaged or missing than `before`.
pub fn changed(tables: &Tables, before: &[FileFault]) -> Option<Endings> {
    let faults = tables.faults();
    (faults != before).then(|| Endings {
        faults,
        ..FOUND.with_borrow(Endings::clone)
    })
}

/// The files of this worker.
struct Slices;

impl Slices {
    fn file(name: &str) -> io::Result<File> {
        FILES.with_borrow(|files| {
            let found = files.iter().find(|file| file.name() == name);
            found.cloned().ok_or(io::ErrorKind::NotFound.into())
        })
    }

    fn page(name: &str, page: u64) -> io::Result<Vec<u8>> {
        let file = Self::file(name)?;
        let (start, end) = ((page * PAGE) as f64, ((page + 1) * PAGE) as f64);
        let read = || -> Result<Vec<u8>, JsValue> {
            let slice = file.slice_with_f64_and_f64(start, end)?;
            let buffer: ArrayBuffer = FileReaderSync::new()?.read_as_array_buffer(&slice)?;
            Ok(Uint8Array::new(&buffer).to_vec())
        };
        read().map_err(|fault| io::Error::other(words(&fault)))
    }
}

impl Source for Slices {
    fn names(&self) -> io::Result<Vec<String>> {
        Ok(FILES.with_borrow(|files| files.iter().map(File::name).collect()))
    }

    fn size(&self, name: &str) -> io::Result<u64> {
        Ok(Self::file(name)?.size() as u64)
    }

    fn read_at(&self, name: &str, offset: u64, into: &mut [u8]) -> io::Result<usize> {
        let key = (name.to_owned(), offset / PAGE);
        PAGES.with_borrow_mut(|pages| {
            if !pages.contains_key(&key) {
                let page = Self::page(name, key.1)?;
                if pages.len() >= HELD {
                    pages.clear();
                }
                pages.insert(key.clone(), page);
            }
            let page = &pages[&key];
            let start = (offset % PAGE) as usize;
            let rest = page.get(start..).unwrap_or_default();
            let count = rest.len().min(into.len());
            into[..count].copy_from_slice(&rest[..count]);
            Ok(count)
        })
    }
}
