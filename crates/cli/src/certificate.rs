//! Certificates in files. None is written that the checker does not accept.

use keyproof::aim::Aim;
use keyproof::resolved::Resolved;
use std::collections::HashSet;
use std::path::{Path, PathBuf};

use keyproof::check::{Against, Disagreement, Goal, Opinion, thousands};
use keyproof_second::Heard;
use serde::Serialize;
use shakmaty::Position;

use crate::input::Entry;
use crate::output::Trouble;

/// An accepted text of certificates.
pub struct Certified {
    pub text: String,
    /// Positions that the checker set up.
    pub positions: usize,
}

/// A certificate that was written.
#[derive(Serialize)]
pub struct Written {
    pub file: String,
    pub bytes: usize,
    /// Positions that the checker set up.
    pub positions: usize,
}

impl Written {
    /// "certificate: key.txt (0.2 KB, accepted, 1,204 positions)".
    pub fn line(&self) -> String {
        format!(
            "certificate: {} ({:.1} KB, accepted, {} positions)",
            self.file,
            self.bytes as f64 / 1000.0,
            thousands(self.positions as u64)
        )
    }
}

/// The certificate of a claim.
///
/// # Errors
/// A sentence: why there is none.
pub fn of(heard: &Heard) -> Result<Certified, String> {
    match (&heard.opinion, &heard.text) {
        (Opinion::Accepted { positions }, Some(text)) => Ok(Certified {
            text: text.clone(),
            positions: *positions,
        }),
        (Opinion::Accepted { .. } | Opinion::Unreached(_), _) => {
            Err("no certificate: the budget did not settle it".into())
        }
        (Opinion::Against(Against::Itself { mv, .. }), _) => {
            Err(format!("no certificate: {mv} was judged wrongly"))
        }
        (Opinion::Against(Against::Checker { line, reason, .. }), _) => Err(format!(
            "no certificate: the checker rejects line {line}: {reason}"
        )),
    }
}

/// The certificate of a puzzle's first moves. `None` if it claims no mate or gain, or
/// if a first move is undecided.
///
/// # Errors
/// As [`of`].
pub fn of_puzzle(entry: &Entry, heard: &[Heard]) -> Result<Option<Certified>, String> {
    let draft = &entry.game.draft;
    let Ok(puzzle) = Resolved::of(draft).into_puzzle() else {
        return Ok(None);
    };
    let Some((Aim::Mate | Aim::Gain(_), _)) = puzzle.stipulation().forced() else {
        return Ok(None);
    };
    // The first moves are put to the checker first.
    let first = heard.first().filter(|first| {
        let claim = &first.claim;
        let judged = claim.holds.len() + claim.fails.len();
        claim.goal == Goal::of(&puzzle) && judged == puzzle.start().legal_moves().len()
    });
    first.map(of).transpose()
}

/// Writes a certificate to a file.
pub fn write(certified: &Certified, file: &Path) -> Result<Written, Trouble> {
    let name = file.display().to_string();
    save(file, &certified.text)?;
    Ok(Written {
        file: name,
        bytes: certified.text.len(),
        positions: certified.positions,
    })
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
    pub fn write(&mut self, entry: &Entry, certified: &Certified) -> Result<Written, Trouble> {
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
    std::fs::write(file, text)
        .map_err(|fault| Trouble::Input(format!("{}: {fault}", file.display())))
}
