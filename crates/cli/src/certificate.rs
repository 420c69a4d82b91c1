//! Certificates in files.

use std::collections::HashSet;
use std::path::{Path, PathBuf};

use keyproof::check::{Disagreement, thousands};
use keyproof_tasks::{Certificate, Certified, Entry};

use crate::output::Trouble;

/// Writes a certificate to a file.
pub fn write(certified: &Certified, file: &Path) -> Result<Certificate, Trouble> {
    save(file, &certified.text)?;
    Ok(Certificate {
        file: Some(file.display().to_string()),
        text: None,
        bytes: certified.text.len(),
        positions: certified.positions,
    })
}

/// "certificate: key.txt (0.2 KB, accepted, 1,204 positions)".
pub fn line(written: &Certificate) -> String {
    format!(
        "certificate: {} ({:.1} KB, accepted, {} positions)",
        written.file.as_deref().unwrap_or_default(),
        written.bytes as f64 / 1000.0,
        thousands(written.positions as u64)
    )
}

/// A folder for the certificates of many puzzles.
pub struct Folder {
    path: PathBuf,
    taken: HashSet<String>,
}

impl Folder {
    /// The folder, made if it is missing.
    pub fn open(path: &Path) -> Result<Folder, Trouble> {
        std::fs::create_dir_all(path)
            .map_err(|fault| Trouble::Input(format!("{}: {fault}", path.display())))?;
        Ok(Folder {
            path: path.to_owned(),
            taken: HashSet::new(),
        })
    }

    /// Writes a puzzle's certificate to `FILE-INDEX.txt`, after the puzzle's
    /// file and its number in it.
    pub fn write(&mut self, entry: &Entry, certified: &Certified) -> Result<Certificate, Trouble> {
        let file = self.file(entry, "");
        write(certified, &file)
    }

    /// Writes what our two programs disagree about to
    /// `FILE-INDEX-disagreement.txt`; its name.
    pub fn write_disagreement(
        &mut self,
        entry: &Entry,
        found: &Disagreement,
    ) -> Result<String, Trouble> {
        write_disagreement(&self.file(entry, "-disagreement"), found)
    }

    fn file(&mut self, entry: &Entry, kind: &str) -> PathBuf {
        let stem = Path::new(&entry.file).file_stem();
        let stem = stem.map_or("-".into(), |stem| stem.to_string_lossy());
        let stem = if stem == "-" { "puzzle".into() } else { stem };
        let place = entry
            .place
            .as_ref()
            .map_or(String::new(), |p| format!("-{p}"));
        let mut name = format!("{stem}-{}{place}{kind}", entry.index);
        while !self.taken.insert(name.clone()) {
            name.push_str("-again");
        }
        self.path.join(format!("{name}.txt"))
    }
}

/// The folder that a file stands in.
pub fn folder_of(file: &Path) -> &Path {
    let parent = file.parent().filter(|p| !p.as_os_str().is_empty());
    parent.unwrap_or(Path::new("."))
}

/// Writes what our two programs disagree about to a file.
pub fn write_disagreement(file: &Path, found: &Disagreement) -> Result<String, Trouble> {
    save(file, &found.text())?;
    Ok(file.display().to_string())
}

fn save(file: &Path, text: &str) -> Result<(), Trouble> {
    crate::file::write(file, text.as_bytes())
}
