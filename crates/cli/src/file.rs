//! Writing files so that a name stands for the old file or for the whole new one,
//! never for half of one: what is written lies beside until it is all there.

use std::fs::{self, File};
use std::io::{self, BufWriter, Stdout, Write};
use std::path::{Path, PathBuf};

use crate::output::{Outcome, Trouble, remark};

/// A file that is being written.
pub struct Beside {
    /// As it was named, for messages.
    path: PathBuf,
    /// What it stands for, links followed.
    whole: PathBuf,
    /// Where it is written until it is whole; `None` for a device or a pipe, which
    /// cannot be put in another's place.
    part: Option<PathBuf>,
    out: BufWriter<File>,
}

impl Beside {
    /// Begins a file, beside the one that may be there.
    pub fn create(path: &Path) -> Result<Beside, Trouble> {
        let whole = fs::canonicalize(path).unwrap_or_else(|_| path.to_owned());
        let known = fs::metadata(&whole).ok();
        let special = known.as_ref().is_some_and(|known| !known.is_file());
        let part = (!special).then(|| {
            let mut name = whole.clone().into_os_string();
            name.push(".part");
            PathBuf::from(name)
        });
        let begun = File::create(part.as_ref().unwrap_or(&whole)).and_then(|file| {
            if let (Some(_), Some(known)) = (&part, known) {
                file.set_permissions(known.permissions())?;
            }
            Ok(file)
        });
        Ok(Beside {
            out: BufWriter::new(begun.map_err(|fault| named(path, &fault))?),
            path: path.to_owned(),
            whole,
            part,
        })
    }

    /// Writes on.
    pub fn put(&mut self, bytes: &[u8]) -> Result<(), Trouble> {
        let written = self.out.write_all(bytes);
        written.map_err(|fault| named(&self.path, &fault))
    }

    /// Puts the file in its place.
    pub fn finish(mut self) -> Result<(), Trouble> {
        let done = self.out.flush().and_then(|()| {
            let Some(part) = &self.part else {
                return Ok(());
            };
            self.out.get_ref().sync_all()?;
            fs::rename(part, &self.whole)
        });
        done.map_err(|fault| named(&self.path, &fault))?;
        self.part = None;
        Ok(())
    }

    /// Leaves what is written beside, and says where.
    pub fn leave(mut self) -> Result<String, Trouble> {
        let done = self.out.flush();
        done.map_err(|fault| named(&self.path, &fault))?;
        let part = self.part.take();
        Ok(part
            .unwrap_or_else(|| self.path.clone())
            .display()
            .to_string())
    }
}

impl Drop for Beside {
    /// What did not become whole goes.
    fn drop(&mut self) {
        if let Some(part) = &self.part {
            let _ = fs::remove_file(part);
        }
    }
}

/// Writes a file at once.
pub fn write(path: &Path, bytes: &[u8]) -> Result<(), Trouble> {
    let mut file = Beside::create(path)?;
    file.put(bytes)?;
    file.finish()
}

/// Where a stream of text goes: a file, or standard output.
pub enum Out {
    File(Beside),
    Standard(BufWriter<Stdout>),
}

impl Out {
    /// The file named; standard output for none and for `-`.
    pub fn to(path: Option<&Path>) -> Result<Out, Trouble> {
        Ok(match path.filter(|path| *path != Path::new("-")) {
            Some(path) => Out::File(Beside::create(path)?),
            None => Out::Standard(BufWriter::new(io::stdout())),
        })
    }

    pub fn put(&mut self, text: &str) -> Result<(), Trouble> {
        match self {
            Out::File(file) => file.put(text.as_bytes()),
            Out::Standard(out) => Ok(out.write_all(text.as_bytes())?),
        }
    }

    /// Hands on what standard output was given, so that whoever reads it has it.
    pub fn hand_on(&mut self) -> Result<(), Trouble> {
        match self {
            Out::File(_) => Ok(()),
            Out::Standard(out) => Ok(out.flush()?),
        }
    }

    /// Ends the stream: a file is put in its place, and `told` of; that of a run that
    /// was stopped is left beside, which is said.
    pub fn end(mut self, outcome: Outcome, told: impl FnOnce(&str)) -> Result<(), Trouble> {
        self.hand_on()?;
        let Out::File(file) = self else { return Ok(()) };
        let name = file.path.display().to_string();
        if outcome == Outcome::Stopped {
            let left = file.leave()?;
            remark(&format!("{name} is as it was; what is done is in {left}"));
        } else {
            file.finish()?;
            told(&name);
        }
        Ok(())
    }
}

fn named(path: &Path, fault: &io::Error) -> Trouble {
    Trouble::Input(format!("{}: {fault}", path.display()))
}
