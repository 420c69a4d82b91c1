//! Reading puzzles from files, folders and standard input, one by one.

use std::collections::VecDeque;
use std::fs::File;
use std::io::{self, BufRead, BufReader, Read};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};

use keyproof::lesson;
use keyproof::notation::stream::{Form, Games, Streamed, Trouble as Lost};
use keyproof_tasks::{Entry, wrong_lists};
use sha2::{Digest, Sha256};

use crate::output;
use crate::packed;
use crate::stop;

/// A puzzle or game of a stream.
pub struct Item {
    pub entry: Entry,
    /// Bytes of text that its game takes.
    pub bytes: usize,
    /// Which text it is, if that was asked for.
    pub print: Option<[u8; 32]>,
    /// How far all files are read once its game is, in bytes.
    pub way: u64,
}

impl Item {
    /// About how many bytes it takes while it is worked on: moves take ten times their
    /// text, words once.
    pub fn weight(&self) -> usize {
        1_000 + 12 * self.bytes
    }

    /// What is asked of a lesson's student, one puzzle for each moment; of any other
    /// game, itself. What is wrong with a list of moments is told as well.
    fn puzzles(self) -> Vec<Result<Item, Told>> {
        if !lesson::is_lesson(&self.entry.game.draft) {
            return vec![Ok(self)];
        }
        let wrong = wrong_lists(&self.entry).into_iter().map(Told::Unread);
        let puzzles = self.entry.puzzles().into_iter();
        let puzzles = puzzles.map(|entry| Ok(Item { entry, ..self }));
        wrong.map(Err).chain(puzzles).collect()
    }
}

/// What a stream has to tell beside its games.
pub enum Told {
    /// Something was not read.
    Unread(String),
    /// Something was read otherwise than one may think.
    Remark(String),
}

impl Told {
    /// Says it on standard error; whether something was not read.
    pub fn say(&self) -> bool {
        match self {
            Told::Unread(sentence) => output::complain(sentence),
            Told::Remark(sentence) => output::remark(sentence),
        }
        matches!(self, Told::Unread(_))
    }

    /// The sentence of what was not read; anything else is said.
    pub fn unread(self) -> Option<String> {
        match self {
            Told::Unread(sentence) => Some(sentence),
            Told::Remark(_) => {
                self.say();
                None
            }
        }
    }
}

/// Everything that could be read, and a sentence for everything that could
/// not.
#[derive(Default)]
pub struct Input {
    pub entries: Vec<Entry>,
    pub faults: Vec<String>,
}

impl Input {
    /// The puzzles of all games, those at the moments of lessons among them. A
    /// tag that lists moments wrongly is one more fault.
    pub fn puzzles(&mut self) -> Vec<Entry> {
        self.faults
            .extend(self.entries.iter().flat_map(wrong_lists));
        self.entries.iter().flat_map(Entry::puzzles).collect()
    }
}

/// That there are more games than may be held.
pub fn too_many() -> String {
    let most = keyproof::check::thousands(MOST_HELD as u64);
    format!("there are more than {most} games, the most that can be made into one")
}

/// The most games that one page is made of: all of them are held at once, with about
/// 10 KB each.
pub const MOST_HELD: usize = 10_000;

/// Reads all of some files and folders, as [`Stream`] does; no more than may be held.
pub fn read(paths: &[PathBuf]) -> Input {
    let mut input = Input::default();
    for item in Stream::new(paths) {
        if input.entries.len() == MOST_HELD {
            input.faults.push(too_many());
            break;
        }
        match item {
            Ok(item) => input.entries.push(item.entry),
            Err(told) => input.faults.extend(told.unread()),
        }
    }
    input
}

/// The games of files, folders (every PGN and EPD file below them, by name) and `-`,
/// which is PGN, in that order. Each is read when it is asked for; a file may be
/// packed by Zstandard. It ends early once it is asked to stop.
pub struct Stream {
    files: VecDeque<PathBuf>,
    told: VecDeque<Told>,
    open: Option<Open>,
    prints: bool,
    /// Bytes of the files before the one that is open.
    before: u64,
    total: Option<u64>,
}

/// A file that is being read.
struct Open {
    name: String,
    games: Games<Box<dyn BufRead + Send>>,
    /// Bytes read of the file itself.
    read: Arc<AtomicU64>,
    size: u64,
    any: bool,
    latin: bool,
}

impl Stream {
    pub fn new(paths: &[PathBuf]) -> Stream {
        let (mut files, mut told) = (VecDeque::new(), VecDeque::new());
        for path in paths {
            match path.is_dir() {
                true => list(path, &mut files, &mut told),
                false => files.push_back(path.clone()),
            }
        }
        let total = files.iter().map(|file| size(file)).sum();
        Stream {
            files,
            told,
            open: None,
            prints: false,
            before: 0,
            total,
        }
    }

    /// Has each entry carry the print of its text.
    pub fn with_prints(self, prints: bool) -> Stream {
        Stream { prints, ..self }
    }

    /// Bytes of all files, as they lie on disk; `None` if one is no such file.
    pub fn total(&self) -> Option<u64> {
        self.total
    }

    /// The puzzles of all games, those at the moments of lessons among them. A tag that
    /// lists moments wrongly is told as well.
    pub fn puzzles(self) -> impl Iterator<Item = Result<Item, Told>> + Send {
        self.flat_map(|item| item.map_or_else(|told| vec![Err(told)], Item::puzzles))
    }

    fn open_next(&mut self, path: &Path) {
        let read = Arc::new(AtomicU64::new(0));
        let name = path.display().to_string();
        let opened = open(path, &read);
        match opened {
            Err(fault) => self
                .told
                .push_back(Told::Unread(format!("{name}: {fault}"))),
            Ok(source) => {
                let form = match has_ending(path, "epd") {
                    true => Form::Epd,
                    false => Form::Pgn,
                };
                self.open = Some(Open {
                    name,
                    games: Games::new(source, form),
                    read,
                    size: size(path).unwrap_or(0),
                    any: false,
                    latin: false,
                });
            }
        }
    }

    /// The next game of the file that is open; `None` at its end.
    fn next_of(&mut self, open: &mut Open) -> Option<Result<Item, Told>> {
        let name = open.name.clone();
        let item = open.games.next();
        if let Some(line) = open.games.latin().filter(|_| !open.latin) {
            open.latin = true;
            self.told.push_back(Told::Remark(format!(
                "{name}, line {line}: no UTF-8; this line and those like it are read as Latin-1"
            )));
        }
        let Some(item) = item else {
            self.before += open.size;
            let none = format!("{name}: no game in this file");
            return (!open.any).then_some(Err(Told::Unread(none)));
        };
        open.any = true;
        Some(match item {
            Ok(streamed) => Ok(self.item(open, streamed)),
            Err(Lost::Io(fault)) => Err(Told::Unread(format!("{name}: {fault}"))),
            Err(Lost::TooLong { index, line, most }) => Err(Told::Unread(format!(
                "{name}, game {index}, line {line}: left out: it takes more than {} bytes, the most \
                 that one may",
                keyproof::check::thousands(most as u64)
            ))),
        })
    }

    fn item(&self, open: &Open, streamed: Streamed) -> Item {
        let read = open.read.load(Ordering::Relaxed);
        // Of a packed file, as much is used up as of its text.
        let share = streamed.end as f64 / open.games.taken().max(1) as f64;
        Item {
            bytes: streamed.text.len(),
            print: self
                .prints
                .then(|| Sha256::digest(streamed.text.trim().as_bytes()).into()),
            way: self.before + (read as f64 * share.min(1.0)) as u64,
            entry: Entry {
                file: open.name.clone(),
                index: streamed.index,
                place: None,
                game: streamed.game,
            },
        }
    }
}

impl Iterator for Stream {
    type Item = Result<Item, Told>;

    fn next(&mut self) -> Option<Result<Item, Told>> {
        loop {
            if stop::asked() {
                return None;
            }
            if let Some(told) = self.told.pop_front() {
                return Some(Err(told));
            }
            let Some(mut open) = self.open.take() else {
                let file = self.files.pop_front()?;
                self.open_next(&file);
                continue;
            };
            let item = self.next_of(&mut open);
            match item {
                Some(Err(Told::Unread(sentence))) if !open.any => {
                    return Some(Err(Told::Unread(sentence)));
                }
                Some(item) => {
                    self.open = Some(open);
                    return Some(item);
                }
                None => {}
            }
        }
    }
}

/// Adds the files of a folder, by name.
fn list(folder: &Path, files: &mut VecDeque<PathBuf>, told: &mut VecDeque<Told>) {
    let mut found = Vec::new();
    let mut folders = vec![folder.to_owned()];
    while let Some(folder) = folders.pop() {
        let entries = match std::fs::read_dir(&folder) {
            Ok(entries) => entries,
            Err(fault) => {
                told.push_back(Told::Unread(format!("{}: {fault}", folder.display())));
                continue;
            }
        };
        for entry in entries.flatten() {
            let path = entry.path();
            if entry.file_type().is_ok_and(|kind| kind.is_dir()) {
                folders.push(path);
            } else if has_ending(&path, "pgn") || has_ending(&path, "epd") {
                found.push(path);
            }
        }
    }
    if found.is_empty() {
        told.push_back(Told::Unread(format!(
            "{}: no .pgn or .epd file in this folder",
            folder.display()
        )));
    }
    found.sort();
    files.extend(found);
}

/// The size of a file; `None` for what has none, such as a pipe.
fn size(path: &Path) -> Option<u64> {
    match std::fs::metadata(path) {
        Ok(known) => known.is_file().then_some(known.len()),
        // It is told once it is opened.
        Err(_) => (path != Path::new("-")).then_some(0),
    }
}

/// Opens a file or standard input, and unpacks what is packed.
fn open(path: &Path, read: &Arc<AtomicU64>) -> io::Result<Box<dyn BufRead + Send>> {
    let source: Box<dyn Read + Send> = match path == Path::new("-") {
        true => Box::new(io::stdin()),
        false => Box::new(File::open(path)?),
    };
    packed::opened(BufReader::with_capacity(
        1 << 16,
        packed::Counted::new(source, read.clone()),
    ))
}

/// Whether a name ends so, before `.zst` if that is there.
fn has_ending(path: &Path, ending: &str) -> bool {
    let is = |path: &Path, ending: &str| {
        let end = path.extension();
        end.is_some_and(|end| end.eq_ignore_ascii_case(ending))
    };
    match is(path, "zst") {
        true => is(&path.with_extension(""), ending),
        false => is(path, ending),
    }
}
