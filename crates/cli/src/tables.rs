//! Endgame tables: those that the command makes are kept in the user's cache
//! folder, so that none is made twice; and Syzygy files are read where the user
//! has them.

use std::collections::BTreeMap;
use std::fs;
use std::io::{self, Read, Seek, SeekFrom, Write};
use std::path::PathBuf;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, OnceLock, PoisonError};
use std::thread::{self, JoinHandle};

use keyproof::tables::syzygy::{Source, Syzygy};
use keyproof::tables::{
    FORMAT, FileFault, FileFaultKind, Keeper, Larger, LoadFault, Made, Material, Tables,
};

use crate::arguments::Endings;
use crate::output::{Trouble, complain, remark};

static TABLES: OnceLock<Tables> = OnceLock::new();

/// Threads that are still writing tables.
static WRITING: Mutex<Vec<JoinHandle<()>>> = Mutex::new(Vec::new());

/// Says where the tables of this run come from.
///
/// # Errors
/// If a folder for Syzygy files cannot be read, or none of its files be used.
pub fn open(endings: &Endings) -> Result<(), Trouble> {
    let folder = match endings.no_cache {
        true => None,
        false => dirs::cache_dir().map(Folder::below),
    };
    let tables = match folder {
        Some(folder) => Tables::kept_by(Box::new(folder)),
        None => Tables::new(),
    };
    if !endings.syzygy.is_empty() {
        tables.open_larger(Some(Arc::new(syzygy(&endings.syzygy)?)));
    }
    // Whoever came first has said it.
    let _ = TABLES.set(tables);
    Ok(())
}

fn syzygy(folders: &[PathBuf]) -> Result<Syzygy, Trouble> {
    let mut files = BTreeMap::new();
    for folder in folders {
        let unreadable = |fault| Trouble::Input(format!("{}: {fault}", folder.display()));
        for entry in fs::read_dir(folder).map_err(unreadable)? {
            let path = entry.map_err(unreadable)?.path();
            if let Some(name) = path.file_name().and_then(|name| name.to_str()) {
                files.insert(name.to_owned(), path);
            }
        }
    }
    let syzygy = Syzygy::open(Arc::new(Files(files))).map_err(Trouble::Output)?;
    if syzygy.files() == 0 {
        let names: Vec<String> = folders.iter().map(|f| f.display().to_string()).collect();
        for fault in syzygy.faults() {
            complain(&told(&fault));
        }
        return Err(Trouble::Input(format!(
            "{}: there is no Syzygy file that can be used",
            names.join(", ")
        )));
    }
    Ok(syzygy)
}

/// Files by name, read place by place.
struct Files(BTreeMap<String, PathBuf>);

impl Files {
    fn path(&self, name: &str) -> io::Result<&PathBuf> {
        self.0.get(name).ok_or(io::ErrorKind::NotFound.into())
    }
}

impl Source for Files {
    fn names(&self) -> io::Result<Vec<String>> {
        Ok(self.0.keys().cloned().collect())
    }

    fn size(&self, name: &str) -> io::Result<u64> {
        Ok(fs::metadata(self.path(name)?)?.len())
    }

    fn read_at(&self, name: &str, offset: u64, into: &mut [u8]) -> io::Result<usize> {
        let mut file = fs::File::open(self.path(name)?)?;
        file.seek(SeekFrom::Start(offset))?;
        file.read(into)
    }
}

fn told(fault: &FileFault) -> String {
    let file = &fault.file;
    match &fault.kind {
        FileFaultKind::Missing => format!("{file} is missing: its endings are not exact"),
        FileFaultKind::Length => format!("{file} has not the length of a Syzygy file: cut short?"),
        FileFaultKind::Foreign => format!("{file} is no Syzygy file"),
        FileFaultKind::Damaged => format!("{file} is damaged"),
        FileFaultKind::Unreadable(why) => format!("{file} cannot be read: {why}"),
    }
}

/// The tables of this run; whichever of its threads makes one, all have it.
pub fn at_hand() -> Tables {
    TABLES.get().cloned().unwrap_or_default()
}

/// Waits until all tables are written, and says what was wrong with files.
pub fn close() {
    for fault in at_hand().faults() {
        remark(&told(&fault));
    }
    let writing = std::mem::take(&mut *WRITING.lock().unwrap_or_else(PoisonError::into_inner));
    for writer in writing {
        // Whoever could not write has said so.
        let _ = writer.join();
    }
}

/// A folder with a file for each table.
#[derive(Clone)]
struct Folder {
    path: PathBuf,
    complained: Arc<AtomicBool>,
}

impl Folder {
    /// The folder for this format below the user's cache folder.
    fn below(caches: PathBuf) -> Folder {
        Folder {
            path: caches.join("keyproof").join(format!("tables-{FORMAT}")),
            complained: Arc::default(),
        }
    }

    fn file(&self, material: Material) -> PathBuf {
        self.path.join(material.to_string())
    }

    /// Writes beside, then renames, so that nobody reads half a file.
    fn write(&self, material: Material, bytes: &[u8]) -> io::Result<()> {
        fs::create_dir_all(&self.path)?;
        let beside = self.path.join(format!("{material}.{}", std::process::id()));
        let file = fs::File::create(&beside);
        let written = file.and_then(|mut file| {
            file.write_all(bytes)?;
            file.sync_all()?;
            fs::rename(&beside, self.file(material))
        });
        if written.is_err() {
            let _ = fs::remove_file(&beside);
        }
        written
    }

    fn keep_now(&self, made: &Made) {
        let Err(fault) = self.write(made.material, &made.bytes()) else {
            return;
        };
        if !self.complained.swap(true, Ordering::Relaxed) {
            let folder = self.path.display();
            remark(&format!("{folder}: cannot keep endgame tables: {fault}"));
        }
    }
}

impl Keeper for Folder {
    fn fetch(&self, material: Material) -> Option<Vec<u8>> {
        fs::read(self.file(material)).ok()
    }

    fn refused(&self, material: Material, fault: LoadFault) {
        let file = self.file(material);
        remark(&format!("{}: {fault}; it is made anew", file.display()));
    }

    /// On a thread of its own, while the next table is made.
    fn keep(&self, made: Made) {
        let folder = self.clone();
        let writer = thread::spawn(move || folder.keep_now(&made));
        let mut writing = WRITING.lock().unwrap_or_else(PoisonError::into_inner);
        writing.push(writer);
    }
}
