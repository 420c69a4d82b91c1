//! Reading and writing the work in a store of records, which is the browser's
//! database or [`InMemory`]. What belongs together is read or written in one
//! transaction, and written only over the manifest that it rests on.

use std::any::Any;
use std::cell::{Cell, RefCell};
use std::collections::{BTreeMap, HashMap};
use std::pin::pin;
use std::rc::Rc;
use std::task::{Context, Poll, Waker};

use serde::Serialize;
use serde::de::DeserializeOwned;

use crate::class::{self, Class};
use crate::saved::slots::Slot;
use crate::saved::{CLASS, Found, MANIFEST, Manifest, SHEET, SavedSheet, TEXT, Writing, sheet_key};
use crate::work::SheetId;

/// A store of records by key.
pub trait Storage {
    /// What it says against something.
    type Fault;
    type Transaction: Transaction<Fault = Self::Fault>;

    /// Begins a transaction, in which records are only read unless it `writes`.
    fn begin(&self, writes: bool) -> impl Future<Output = Result<Self::Transaction, Self::Fault>>;
}

/// Records that are read and written together: all of it happens, or nothing.
pub trait Transaction {
    type Fault;
    type Record: Record;

    fn get(&self, key: &str) -> impl Future<Output = Result<Option<Self::Record>, Self::Fault>>;
    /// All records, with their keys.
    fn all(&self) -> impl Future<Output = Result<Vec<(String, Self::Record)>, Self::Fault>>;
    /// Asks for a record to be put there, at once; the future is done when it is.
    ///
    /// # Errors
    /// What the store says against it.
    fn put(
        &self,
        key: &str,
        record: Self::Record,
    ) -> Result<impl Future<Output = Result<(), Self::Fault>>, Self::Fault>;
    /// # Errors
    /// What the store says against it.
    fn delete(&self, key: &str) -> Result<(), Self::Fault>;
    /// Ends it: what was written is kept from here on.
    fn over(self) -> impl Future<Output = Result<(), Self::Fault>>;
    /// Ends it, and nothing was written.
    fn abort(self);
}

/// A record: a value, or a text as it is.
pub trait Record: Sized {
    fn of<T: Serialize + Clone + 'static>(value: &T) -> Self;
    fn of_text(text: &str) -> Self;
    /// `None` if it is none of this kind.
    fn read<T: DeserializeOwned + Clone + 'static>(self) -> Option<T>;
    fn text(&self) -> Option<String>;
}

/// All that lies in a store. What is none of ours is left alone.
///
/// # Errors
/// What the store says against it.
pub async fn read_all<S: Storage>(storage: &S) -> Result<Found, S::Fault> {
    let transaction = storage.begin(false).await?;
    let mut found = Found::default();
    for (key, record) in transaction.all().await? {
        if key == MANIFEST {
            found.manifest = record.read();
        } else if key == CLASS {
            found.class = record.text().map(read_class);
        } else if key.starts_with(SHEET) {
            found.sheets.extend(record.read::<SavedSheet>());
        } else if key.starts_with(TEXT) {
            let text = record.text().map(Rc::from);
            found.texts.extend(text.map(|text| (key, text)));
        } else if let Some(slot) = record.read::<Slot>() {
            found.slots.push((key, slot));
        }
    }
    if found.manifest.is_none() && !found.sheets.is_empty() {
        // The puzzles are there and the manifest is not: they are taken in by name.
        found.manifest = Some(Manifest::default());
    }
    transaction.over().await?;
    Ok(found)
}

/// What is new in a store since it held this manifest.
///
/// # Errors
/// What the store says against it.
pub async fn read_new<S: Storage>(
    storage: &S,
    known: Option<&Manifest>,
) -> Result<Found, S::Fault> {
    let transaction = storage.begin(false).await?;
    let manifest = get(&transaction, MANIFEST).await?;
    let found = new(&transaction, manifest, known).await?;
    transaction.over().await?;
    Ok(found)
}

/// Writes; or says what lies there instead of what the writing rests on.
///
/// # Errors
/// What the store says against it; then nothing was written.
pub async fn write<S: Storage>(storage: &S, writing: &Writing) -> Result<Option<Found>, S::Fault> {
    let transaction = storage.begin(true).await?;
    match put_all(&transaction, writing).await {
        Ok(found) => transaction.over().await.map(|()| found),
        Err(why) => {
            transaction.abort();
            Err(why)
        }
    }
}

async fn put_all<T: Transaction>(
    transaction: &T,
    writing: &Writing,
) -> Result<Option<Found>, T::Fault> {
    let manifest: Option<Manifest> = get(transaction, MANIFEST).await?;
    let expected = match (&manifest, &writing.base) {
        (Some(manifest), Some(base)) => manifest.is(base),
        (None, None) => true,
        _ => false,
    };
    if !expected {
        let found = new(transaction, manifest, writing.base.as_ref()).await?;
        return Ok(Some(found));
    }
    for sheet in &writing.sheets {
        drop(transaction.put(&sheet_key(sheet.id), Record::of(sheet))?);
    }
    for (key, text) in &writing.texts {
        drop(transaction.put(key, Record::of_text(text))?);
    }
    if let Some(class) = &writing.class {
        drop(transaction.put(CLASS, Record::of_text(class))?);
    }
    for key in &writing.gone {
        transaction.delete(key)?;
    }
    transaction
        .put(MANIFEST, Record::of(&writing.manifest))?
        .await?;
    Ok(None)
}

/// What lies in the store beside what is known of it.
async fn new<T: Transaction>(
    transaction: &T,
    manifest: Option<Manifest>,
    known: Option<&Manifest>,
) -> Result<Found, T::Fault> {
    let Some(manifest) = manifest else {
        return Ok(Found::default());
    };
    let known = known.filter(|known| known.birth == manifest.birth);
    let class_is_known = known.map_or(0, |known| known.class) == manifest.class;
    let known: HashMap<SheetId, u32> = known
        .map(|known| known.order.iter().copied().collect())
        .unwrap_or_default();
    let mut found = Found::default();
    for (id, revision) in &manifest.order {
        if known.get(id) == Some(revision) {
            continue;
        }
        let Some(sheet) = get::<SavedSheet, T>(transaction, &sheet_key(*id)).await? else {
            continue;
        };
        if let Some(reading) = &sheet.reading
            && !found.texts.contains_key(&reading.text)
        {
            let text = transaction.get(&reading.text).await?;
            if let Some(text) = text.and_then(|text| text.text()) {
                found.texts.insert(reading.text.clone(), text.into());
            }
        }
        found.sheets.push(sheet);
    }
    if !class_is_known {
        let class = transaction.get(CLASS).await?.and_then(|class| class.text());
        found.class = class.map(read_class);
    }
    found.manifest = Some(manifest);
    Ok(found)
}

fn read_class(text: String) -> Rc<Class> {
    Rc::new(class::kept::read(&text))
}

async fn get<R: DeserializeOwned + Clone + 'static, T: Transaction>(
    transaction: &T,
    key: &str,
) -> Result<Option<R>, T::Fault> {
    Ok(transaction.get(key).await?.and_then(Record::read))
}

/// A store that is gone with the program, of values as they are. Nothing in it waits:
/// see [`at_once`].
#[derive(Clone, Default)]
pub struct InMemory(Rc<Records>);

#[derive(Default)]
struct Records {
    all: RefCell<BTreeMap<String, InMemoryRecord>>,
    /// Keys of all that was put there, the last ones last.
    put: RefCell<Vec<String>>,
    /// Records that it still takes; `None` for any number.
    room: Cell<Option<usize>>,
}

impl InMemory {
    /// The keys that begin so.
    pub fn keys(&self, prefix: &str) -> Vec<String> {
        let all = self.0.all.borrow();
        let keys = all.keys().filter(|key| key.starts_with(prefix));
        keys.cloned().collect()
    }
    /// How often a record was put under a key that begins so.
    pub fn times_put(&self, prefix: &str) -> usize {
        let put = self.0.put.borrow();
        put.iter().filter(|key| key.starts_with(prefix)).count()
    }
    /// It takes so many records more, and refuses the next.
    pub fn set_room(&self, room: Option<usize>) {
        self.0.room.set(room);
    }
    /// Puts a record there.
    pub fn insert<T: 'static>(&self, key: &str, value: T) {
        let record = InMemoryRecord(Rc::new(value));
        self.0.all.borrow_mut().insert(key.to_owned(), record);
    }
}

/// What is changed in an [`InMemory`], not there before it is over.
pub struct Changes {
    store: InMemory,
    all: RefCell<BTreeMap<String, InMemoryRecord>>,
    put: RefCell<Vec<String>>,
}

impl Storage for InMemory {
    type Fault = String;
    type Transaction = Changes;

    async fn begin(&self, _writes: bool) -> Result<Changes, String> {
        Ok(Changes {
            store: self.clone(),
            all: self.0.all.clone(),
            put: RefCell::default(),
        })
    }
}

impl Transaction for Changes {
    type Fault = String;
    type Record = InMemoryRecord;

    async fn get(&self, key: &str) -> Result<Option<InMemoryRecord>, String> {
        Ok(self.all.borrow().get(key).cloned())
    }
    async fn all(&self) -> Result<Vec<(String, InMemoryRecord)>, String> {
        let all = self.all.borrow();
        Ok(all.iter().map(|(k, v)| (k.clone(), v.clone())).collect())
    }
    fn put(
        &self,
        key: &str,
        record: InMemoryRecord,
    ) -> Result<impl Future<Output = Result<(), String>>, String> {
        let mut put = self.put.borrow_mut();
        if self
            .store
            .0
            .room
            .get()
            .is_some_and(|room| put.len() >= room)
        {
            return Err("QuotaExceeded".into());
        }
        self.all.borrow_mut().insert(key.to_owned(), record);
        put.push(key.to_owned());
        Ok(std::future::ready(Ok(())))
    }
    fn delete(&self, key: &str) -> Result<(), String> {
        self.all.borrow_mut().remove(key);
        Ok(())
    }
    async fn over(self) -> Result<(), String> {
        let Records { all, put, room } = &*self.store.0;
        let new = self.put.into_inner();
        room.set(room.get().map(|room| room.saturating_sub(new.len())));
        put.borrow_mut().extend(new);
        all.replace(self.all.into_inner());
        Ok(())
    }
    fn abort(self) {}
}

/// A value in an [`InMemory`].
#[derive(Clone)]
pub struct InMemoryRecord(Rc<dyn Any>);

impl Record for InMemoryRecord {
    fn of<T: Serialize + Clone + 'static>(value: &T) -> InMemoryRecord {
        InMemoryRecord(Rc::new(value.clone()))
    }
    fn of_text(text: &str) -> InMemoryRecord {
        InMemoryRecord(Rc::new(text.to_owned()))
    }
    fn read<T: DeserializeOwned + Clone + 'static>(self) -> Option<T> {
        self.0.downcast_ref::<T>().cloned()
    }
    fn text(&self) -> Option<String> {
        self.0.downcast_ref::<String>().cloned()
    }
}

/// What comes of work that waits for nothing.
///
/// # Panics
/// If it waits.
pub fn at_once<T>(work: impl Future<Output = T>) -> T {
    match pin!(work).poll(&mut Context::from_waker(Waker::noop())) {
        Poll::Ready(done) => done,
        Poll::Pending => panic!("it waits for something"),
    }
}

#[cfg(test)]
mod tests {
    use std::fmt::Debug;

    use super::*;

    fn sheet(id: u64, revision: u32, text: Option<&str>) -> SavedSheet {
        let reading = text.map_or_else(String::new, |key| {
            format!(r#","reading":{{"from":"a.pgn","text":"{key}","faults":[]}}"#)
        });
        let id = serde_json::to_string(&SheetId(id)).expect("plain data");
        let text = format!(r#"{{"id":{id},"revision":{revision},"pgn":"*"{reading}}}"#);
        serde_json::from_str(&text).expect("a sheet")
    }
    fn manifest(revision: u32, order: &[(u64, u32)]) -> Manifest {
        Manifest {
            birth: "b".into(),
            revision,
            order: order.iter().map(|&(id, at)| (SheetId(id), at)).collect(),
            ..Manifest::default()
        }
    }
    fn writing(base: Option<Manifest>, manifest: Manifest, sheets: Vec<SavedSheet>) -> Writing {
        Writing {
            base,
            manifest,
            sheets,
            texts: vec![],
            class: None,
            gone: vec![],
        }
    }
    /// Two puzzles, the second of a text.
    fn begin_in<S: Storage<Fault: Debug>>(store: &S) -> Manifest {
        let manifest = manifest(1, &[(1, 1), (2, 1)]);
        let sheets = vec![sheet(1, 1, None), sheet(2, 1, Some("text 7"))];
        let mut first = writing(None, manifest.clone(), sheets);
        first.texts.push(("text 7".into(), "as it came".into()));
        assert!(at_once(write(store, &first)).expect("room").is_none());
        manifest
    }
    fn sheets_in<S: Storage<Fault: Debug>>(store: &S) -> usize {
        at_once(read_all(store)).expect("a store").sheets.len()
    }
    /// A transaction that puts a record there.
    fn putting<S: Storage<Fault: Debug>>(store: &S, key: &str, text: &str) -> S::Transaction {
        let transaction = at_once(store.begin(true)).expect("a transaction");
        let put = transaction.put(key, Record::of_text(text)).expect("room");
        at_once(put).expect("room");
        transaction
    }

    /// What is expected of every store, each time of an empty one.
    fn expected_of<S: Storage<Fault: Debug>>(empty: impl Fn() -> S) {
        all_is_read_as_it_was_written_and_what_is_foreign_is_left_alone(&empty());
        only_what_is_not_known_is_read_again(&empty());
        what_rests_on_another_row_is_not_written(&empty());
        what_is_given_up_leaves_all_as_it_was(&empty());
    }

    #[test]
    fn the_store_in_memory_does_what_is_expected() {
        expected_of(InMemory::default);
    }

    fn all_is_read_as_it_was_written_and_what_is_foreign_is_left_alone<S>(store: &S)
    where
        S: Storage<Fault: Debug>,
    {
        let manifest = begin_in(store);
        at_once(putting(store, "foreign", "of somebody else").over()).expect("room");
        let found = at_once(read_all(store)).expect("a store");
        assert_eq!(found.manifest, Some(manifest));
        assert_eq!(
            found.sheets,
            [sheet(1, 1, None), sheet(2, 1, Some("text 7"))]
        );
        assert_eq!(found.texts["text 7"], "as it came".into());
        assert!(found.slots.is_empty());
    }

    fn only_what_is_not_known_is_read_again<S: Storage<Fault: Debug>>(store: &S) {
        let before = begin_in(store);
        let next = manifest(2, &[(2, 2), (1, 1)]);
        let sheets = vec![sheet(2, 2, None)];
        let second = writing(Some(before.clone()), next.clone(), sheets);
        assert!(at_once(write(store, &second)).expect("room").is_none());
        let found = at_once(read_new(store, Some(&before))).expect("a store");
        assert_eq!(
            (found.manifest, found.sheets),
            (Some(next), vec![sheet(2, 2, None)])
        );
        // Of a store that was thrown away meanwhile nothing is known.
        let other = Manifest {
            birth: "other".into(),
            ..before
        };
        let found = at_once(read_new(store, Some(&other))).expect("a store");
        assert_eq!(found.sheets.len(), 2);
    }

    fn what_rests_on_another_row_is_not_written<S: Storage<Fault: Debug>>(store: &S) {
        let before = begin_in(store);
        let late = writing(None, manifest(1, &[(3, 1)]), vec![sheet(3, 1, None)]);
        let found = at_once(write(store, &late)).expect("room");
        assert_eq!(found.expect("another manifest").manifest, Some(before));
        assert_eq!(sheets_in(store), 2);
    }

    fn what_is_given_up_leaves_all_as_it_was<S: Storage<Fault: Debug>>(store: &S) {
        let before = begin_in(store);
        let transaction = putting(store, "text 7", "something else");
        transaction.delete(&sheet_key(SheetId(1))).expect("room");
        transaction.abort();
        let found = at_once(read_all(store)).expect("a store");
        assert_eq!((found.manifest, found.sheets.len()), (Some(before), 2));
        assert_eq!(found.texts["text 7"], "as it came".into());
    }

    #[test]
    fn what_is_refused_in_the_middle_leaves_all_as_it_was() {
        let store = InMemory::default();
        let before = begin_in(&store);
        store.set_room(Some(1));
        let sheets = vec![sheet(1, 2, None), sheet(3, 2, None)];
        let third = writing(Some(before.clone()), manifest(2, &[(1, 2), (3, 2)]), sheets);
        assert!(at_once(write(&store, &third)).is_err());
        let found = at_once(read_all(&store)).expect("a store");
        assert_eq!((found.manifest, found.sheets.len()), (Some(before), 2));
        store.set_room(None);
        assert!(at_once(write(&store, &third)).expect("room").is_none());
    }
}
