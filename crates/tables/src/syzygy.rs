//! Endings of up to seven men from Syzygy files, an open format, where the
//! user has them. They know wins, draws and losses under the fifty-move rule,
//! and how far it is to the next capture or pawn move.
//!
//! Where the files lie is a [`Source`]'s. Of a damaged file it is told which
//! one it is, and nothing that it might have known is claimed.

use std::collections::BTreeMap;
use std::io;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex};

use shakmaty::{Chess, Move, Position};
use shakmaty_syzygy::filesystem::{Filesystem, RandomAccessFile, ReadHint};
use shakmaty_syzygy::{AmbiguousWdl, Metric, ProbeError, Syzygy as _, SyzygyError, Tablebase, Wdl};

use super::{Exact, FileFault, FileFaultKind, Larger, Outcome, locked};

/// Where Syzygy files lie.
pub trait Source: Send + Sync {
    /// The names of all files there.
    ///
    /// # Errors
    /// If they cannot be listed.
    fn names(&self) -> io::Result<Vec<String>>;

    /// The bytes of a file.
    ///
    /// # Errors
    /// If there is no such file.
    fn size(&self, name: &str) -> io::Result<u64>;

    /// Reads from a place in a file on, up to as many bytes as `into` takes;
    /// tells how many there were.
    ///
    /// # Errors
    /// If the file cannot be read.
    fn read_at(&self, name: &str, offset: u64, into: &mut [u8]) -> io::Result<usize>;
}

/// Files in memory, by name.
#[derive(Clone, Debug, Default)]
pub struct FilesInMemory(pub BTreeMap<String, Vec<u8>>);

impl FilesInMemory {
    fn file(&self, name: &str) -> io::Result<&Vec<u8>> {
        self.0.get(name).ok_or(io::ErrorKind::NotFound.into())
    }
}

impl Source for FilesInMemory {
    fn names(&self) -> io::Result<Vec<String>> {
        Ok(self.0.keys().cloned().collect())
    }

    fn size(&self, name: &str) -> io::Result<u64> {
        Ok(self.file(name)?.len() as u64)
    }

    fn read_at(&self, name: &str, offset: u64, into: &mut [u8]) -> io::Result<usize> {
        let start = usize::try_from(offset).unwrap_or(usize::MAX);
        let rest = self.file(name)?.get(start..).unwrap_or_default();
        let count = rest.len().min(into.len());
        into[..count].copy_from_slice(&rest[..count]);
        Ok(count)
    }
}

/// The Syzygy files of a source.
pub struct Syzygy {
    base: Tablebase<Chess>,
    /// Endings that the files cover.
    files: usize,
    faults: Mutex<BTreeMap<String, FileFaultKind>>,
}

impl Syzygy {
    /// Looks at all files of a source; those that cannot be used are among the
    /// faults.
    ///
    /// # Errors
    /// If the source cannot be listed.
    pub fn open(source: Arc<dyn Source>) -> io::Result<Syzygy> {
        let names = source.names()?;
        let mut syzygy = Syzygy {
            base: Tablebase::with_filesystem(Arc::new(Files(source.clone()))),
            files: 0,
            faults: Mutex::default(),
        };
        for name in names {
            let Some(metric) = metric(&name) else {
                continue;
            };
            match syzygy.add(&*source, &name, metric) {
                Ok(()) => syzygy.files += 1,
                Err(kind) => syzygy.note(name, kind),
            }
        }
        Ok(syzygy)
    }

    /// How many files can be used.
    pub fn files(&self) -> usize {
        self.files
    }

    /// The most men that a file is for.
    pub fn most_men(&self) -> usize {
        match self.files {
            0 => 0,
            _ => self.base.max_pieces(),
        }
    }

    fn add(
        &mut self,
        source: &dyn Source,
        name: &str,
        metric: Metric,
    ) -> Result<(), FileFaultKind> {
        let unreadable = |fault: io::Error| FileFaultKind::Unreadable(fault.to_string());
        let mut magic = [0; 4];
        let count = source.read_at(name, 0, &mut magic).map_err(unreadable)?;
        if count < magic.len() || magic != table_type(metric).magic {
            return Err(FileFaultKind::Foreign);
        }
        self.base
            .add_file(name)
            .map_err(|fault| match fault.kind() {
                io::ErrorKind::InvalidData => FileFaultKind::Length,
                io::ErrorKind::InvalidInput => FileFaultKind::Foreign,
                _ => unreadable(fault),
            })
    }

    fn note(&self, file: String, kind: FileFaultKind) {
        locked(&self.faults).entry(file).or_insert(kind);
    }

    /// The answer, or `None` with a note of what was wrong.
    fn noted<T>(&self, result: Result<T, SyzygyError>) -> Option<T> {
        let name = |material, metric| format!("{material}.{}", table_type(metric).ext);
        match result {
            Ok(answer) => return Some(answer),
            Err(SyzygyError::Castling | SyzygyError::TooManyPieces) => {}
            Err(SyzygyError::MissingTable { metric, material }) => {
                self.note(name(material, metric), FileFaultKind::Missing);
            }
            Err(SyzygyError::ProbeFailed {
                metric,
                material,
                error,
            }) => {
                let kind = match *error {
                    ProbeError::Read { error } if error.kind() == io::ErrorKind::UnexpectedEof => {
                        FileFaultKind::Length
                    }
                    ProbeError::Read { error } => FileFaultKind::Unreadable(error.to_string()),
                    ProbeError::Magic { .. } => FileFaultKind::Foreign,
                    ProbeError::CorruptedTable { .. } => FileFaultKind::Damaged,
                };
                self.note(name(material, metric), kind);
            }
        }
        None
    }

    fn covers(&self, position: &Chess) -> bool {
        position.castles().is_empty() && position.board().occupied().count() <= self.most_men()
    }
}

impl Larger for Syzygy {
    fn exact(&self, position: &Chess) -> Option<Exact> {
        if !self.covers(position) {
            return None;
        }
        let sure = |outcome, by_rule| Exact {
            outcome,
            by_rule,
            mate: None,
        };
        match self.noted(self.base.probe_wdl_after_zeroing(position))? {
            Wdl::Draw => return Some(sure(Outcome::Draw, false)),
            Wdl::CursedWin | Wdl::BlessedLoss => return Some(sure(Outcome::Draw, true)),
            Wdl::Win if position.halfmoves() == 0 => return Some(sure(Outcome::Win, false)),
            Wdl::Loss if position.halfmoves() == 0 => return Some(sure(Outcome::Loss, false)),
            Wdl::Win | Wdl::Loss => {}
        }
        // Since the last capture or pawn move, moves have been spent.
        match self.noted(self.base.probe_wdl(position))? {
            AmbiguousWdl::Win => Some(sure(Outcome::Win, false)),
            AmbiguousWdl::Loss => Some(sure(Outcome::Loss, false)),
            AmbiguousWdl::Draw => Some(sure(Outcome::Draw, false)),
            AmbiguousWdl::CursedWin | AmbiguousWdl::BlessedLoss => Some(sure(Outcome::Draw, true)),
            // Files may round by a move just where it would count.
            AmbiguousWdl::MaybeWin | AmbiguousWdl::MaybeLoss => None,
        }
    }

    fn best(&self, position: &Chess) -> Option<Move> {
        if !self.covers(position) {
            return None;
        }
        Some(self.noted(self.base.best_move(position))??.0)
    }

    fn faults(&self) -> Vec<FileFault> {
        let faults = locked(&self.faults);
        let all = faults.iter().map(|(file, kind)| FileFault {
            file: file.clone(),
            kind: kind.clone(),
        });
        all.collect()
    }
}

fn table_type(metric: Metric) -> shakmaty_syzygy::TableType {
    match metric {
        Metric::Wdl => Chess::TBW,
        Metric::Dtz => Chess::TBZ,
    }
}

/// What a file is for, by the end of its name.
fn metric(name: &str) -> Option<Metric> {
    let ending = Path::new(name).extension()?.to_str()?;
    [Metric::Wdl, Metric::Dtz]
        .into_iter()
        .find(|&metric| table_type(metric).ext == ending)
}

/// A source as the reading crate wants it.
struct Files(Arc<dyn Source>);

impl Filesystem for Files {
    fn regular_file_size(&self, path: &Path) -> io::Result<u64> {
        self.0.size(&name(path)?)
    }

    fn read_dir(&self, _: &Path) -> io::Result<Vec<PathBuf>> {
        Ok(self.0.names()?.into_iter().map(PathBuf::from).collect())
    }

    fn open(&self, path: &Path) -> io::Result<Box<dyn RandomAccessFile>> {
        Ok(Box::new(File {
            source: self.0.clone(),
            name: name(path)?,
        }))
    }
}

fn name(path: &Path) -> io::Result<String> {
    let name = path.to_str().ok_or(io::ErrorKind::InvalidInput)?;
    Ok(name.to_owned())
}

struct File {
    source: Arc<dyn Source>,
    name: String,
}

impl RandomAccessFile for File {
    fn read_at(&self, buf: &mut [u8], offset: u64, _: ReadHint) -> io::Result<usize> {
        self.source.read_at(&self.name, offset, buf)
    }
}
