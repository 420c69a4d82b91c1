//! What `--keep` puts down: what was found out, a line for each thing, under the print
//! of what it was found out about. Lines are only ever added, so whoever is killed
//! loses the line that was being written and no other.

use std::fs::{self, File, OpenOptions};
use std::io::{self, BufRead, BufReader, Read, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};
use std::sync::{Mutex, MutexGuard, PoisonError};

use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};

use crate::output::{Trouble, remark};

/// What stands for something that was worked on.
pub type Print = [u8; 32];

/// The most that one line may take. What is kept of a puzzle takes less than a
/// thousandth, proofs aside.
const MOST_LINE: u64 = 64_000_000;

/// What a line begins and goes on with.
const BEGIN: &[u8] = b"{\"of\":\"";
const MIDDLE: &[u8] = b"\",\"kept\":";

/// A file with what was found out, which one run at a time uses.
pub struct Keep {
    path: PathBuf,
    /// The first bytes of each print with the place of its line, sorted.
    lines: Vec<(u64, u64)>,
    reader: Mutex<File>,
    writer: Mutex<Writer>,
}

struct Writer {
    file: File,
    /// Bytes of whole lines.
    length: u64,
}

#[derive(Serialize, Deserialize)]
struct Line<T> {
    of: String,
    kept: T,
}

impl Keep {
    /// Opens a file that a task keeps, or begins it.
    ///
    /// # Errors
    /// If the file is another one, or in use, or cannot be read and written.
    pub fn open(path: &Path, task: &str) -> Result<Keep, Trouble> {
        let named = |fault: io::Error| Trouble::Input(format!("{}: {fault}", path.display()));
        let mut options = OpenOptions::new();
        let file = options.read(true).append(true).create(true).open(path);
        let mut file = file.map_err(named)?;
        match file.try_lock() {
            Err(fs::TryLockError::WouldBlock) => {
                let sentence = format!("{}: another run is keeping in it", path.display());
                return Err(Trouble::Input(sentence));
            }
            // Where files cannot be locked, nobody is kept out.
            Ok(()) | Err(fs::TryLockError::Error(_)) => {}
        }
        let head = format!("{{\"kept by\":\"keyproof {task}\"}}\n");
        let mut length = head.len() as u64;
        let mut lines = Vec::new();
        let size = file.metadata().map_err(named)?.len();
        let mut begin = vec![0; head.len().min(size as usize)];
        file.read_exact(&mut begin).map_err(named)?;
        if !head.as_bytes().starts_with(&begin) {
            return Err(Trouble::Input(format!(
                "{}: was not written by --keep of keyproof {task}",
                path.display()
            )));
        }
        if size < length {
            file.set_len(0).map_err(named)?;
            file.write_all(head.as_bytes()).map_err(named)?;
        } else {
            length = listed(&file, length, &mut lines).map_err(named)?;
            if length < size {
                file.set_len(length).map_err(named)?;
                remark(&format!(
                    "{}: its last line was not written to its end; what it was about is done anew",
                    path.display()
                ));
            }
        }
        lines.sort_unstable();
        Ok(Keep {
            path: path.to_owned(),
            lines,
            reader: Mutex::new(File::open(path).map_err(named)?),
            writer: Mutex::new(Writer { file, length }),
        })
    }

    /// All that was kept under a print when the file was opened, in that order.
    pub fn get<T: DeserializeOwned>(&self, print: &Print) -> Vec<T> {
        let mark = mark(print);
        let from = self.lines.partition_point(|(other, _)| *other < mark);
        let alike = self.lines[from..]
            .iter()
            .take_while(|(other, _)| *other == mark);
        let of = hex(print);
        let read = alike.filter_map(|&(_, at)| {
            let line: Line<T> = serde_json::from_str(&self.line(at).ok()?).ok()?;
            (line.of == of).then_some(line.kept)
        });
        read.collect()
    }

    fn line(&self, at: u64) -> io::Result<String> {
        let mut file = locked(&self.reader);
        file.seek(SeekFrom::Start(at))?;
        let mut line = String::new();
        BufReader::new(&mut *file)
            .take(MOST_LINE)
            .read_line(&mut line)?;
        Ok(line)
    }

    /// Keeps something under a print. What cannot be written to its end is taken back.
    pub fn put<T: Serialize>(&self, print: &Print, kept: &T) -> Result<(), Trouble> {
        let line = Line {
            of: hex(print),
            kept,
        };
        let mut text = serde_json::to_vec(&line)?;
        text.push(b'\n');
        let mut writer = locked(&self.writer);
        if let Err(fault) = writer.file.write_all(&text) {
            let _ = writer.file.set_len(writer.length);
            return Err(Trouble::Input(format!("{}: {fault}", self.path.display())));
        }
        writer.length += text.len() as u64;
        Ok(())
    }
}

/// Lists the lines of a file from a place on; where the last whole one ends.
fn listed(file: &File, from: u64, lines: &mut Vec<(u64, u64)>) -> io::Result<u64> {
    let mut file = BufReader::with_capacity(1 << 20, file);
    file.seek(SeekFrom::Start(from))?;
    let mut at = from;
    let mut line = Vec::new();
    loop {
        line.clear();
        let read = file.by_ref().take(MOST_LINE).read_until(b'\n', &mut line)? as u64;
        let Some(mark) = read_mark(&line) else {
            // Only the last line may be torn.
            return match file.fill_buf()?.is_empty() {
                true => Ok(at),
                false => Err(io::Error::other(format!(
                    "byte {at}: no line that --keep writes"
                ))),
            };
        };
        lines.push((mark, at));
        at += read;
    }
}

/// The mark of a line that is whole.
fn read_mark(line: &[u8]) -> Option<u64> {
    let of = line.strip_prefix(BEGIN)?;
    let (of, rest) = of.split_at_checked(64)?;
    let whole = rest.starts_with(MIDDLE) && rest.ends_with(b"}\n");
    let mark = std::str::from_utf8(&of[..16]).ok()?;
    u64::from_str_radix(mark, 16).ok().filter(|_| whole)
}

fn mark(print: &Print) -> u64 {
    u64::from_be_bytes(*print.first_chunk().expect("32 bytes"))
}

fn hex(print: &Print) -> String {
    print.iter().map(|byte| format!("{byte:02x}")).collect()
}

fn locked<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

/// The print of several texts together.
pub fn print_of(texts: &[&[u8]]) -> Print {
    let mut print = Sha256::new();
    for text in texts {
        print.update((text.len() as u64).to_be_bytes());
        print.update(text);
    }
    print.finalize().into()
}

/// The print of this very program: what another one found out is not its own.
pub fn program() -> Print {
    let path = std::env::current_exe();
    let read = path.and_then(File::open).and_then(|mut file| {
        let mut print = Sha256::new();
        let mut portion = vec![0; 1 << 16];
        loop {
            match file.read(&mut portion)? {
                0 => return Ok(print.finalize().into()),
                read => print.update(&portion[..read]),
            }
        }
    });
    read.unwrap_or_else(|_: io::Error| print_of(&[env!("CARGO_PKG_VERSION").as_bytes()]))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn file(name: &str) -> PathBuf {
        let path = std::env::temp_dir().join(format!("keyproof-{name}-{}", std::process::id()));
        let _ = fs::remove_file(&path);
        path
    }

    #[test]
    fn what_was_kept_is_there_again() {
        let path = file("kept");
        let (one, two) = (print_of(&[b"one"]), print_of(&[b"two"]));
        let keep = Keep::open(&path, "test").unwrap();
        keep.put(&one, &"first").unwrap();
        keep.put(&two, &"other").unwrap();
        keep.put(&one, &"second").unwrap();
        assert!(keep.get::<String>(&one).is_empty());
        assert!(Keep::open(&path, "test").is_err(), "one run at a time");
        drop(keep);
        let keep = Keep::open(&path, "test").unwrap();
        assert_eq!(keep.get::<String>(&one), ["first", "second"]);
        assert_eq!(keep.get::<String>(&two), ["other"]);
        assert!(keep.get::<String>(&print_of(&[b"three"])).is_empty());
        drop(keep);
        assert!(Keep::open(&path, "another").is_err());
        fs::remove_file(path).unwrap();
    }

    #[test]
    fn a_torn_line_is_dropped_wherever_it_was_torn() {
        let path = file("torn");
        let (one, two) = (print_of(&[b"one"]), print_of(&[b"two"]));
        let keep = Keep::open(&path, "test").unwrap();
        keep.put(&one, &"first").unwrap();
        let first = fs::metadata(&path).unwrap().len() as usize;
        keep.put(&two, &"second").unwrap();
        drop(keep);
        let whole = fs::read(&path).unwrap();
        for length in (0..whole.len()).step_by(7) {
            fs::write(&path, &whole[..length]).unwrap();
            let keep = Keep::open(&path, "test").unwrap();
            let kept = usize::from(length >= first);
            assert_eq!(keep.get::<String>(&one).len(), kept, "{length}");
            assert!(keep.get::<String>(&two).is_empty(), "{length}");
            keep.put(&two, &"again").unwrap();
            drop(keep);
            let keep = Keep::open(&path, "test").unwrap();
            assert_eq!(keep.get::<String>(&two), ["again"], "{length}");
        }
        // In the middle nothing is torn: this is another file.
        let middle = [&whole[..first - 5], b"\n", &whole[first..]].concat();
        fs::write(&path, &middle).unwrap();
        assert!(Keep::open(&path, "test").is_err());
        assert_eq!(fs::read(&path).unwrap(), middle);
        fs::remove_file(path).unwrap();
    }
}
