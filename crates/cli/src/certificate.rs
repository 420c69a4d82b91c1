//! Certificates in files. None is written that the checker does not accept.

use std::collections::HashSet;
use std::path::{Path, PathBuf};

use keyproof::check::{Goal, Known, Ruling, thousands};
use keyproof::prove::Watch;
use keyproof::prove::certificate::{self, Uncertified};
use keyproof::puzzle::{Puzzle, Stipulation};
use serde::Serialize;
use shakmaty::{Chess, Move, Position};

use crate::input::Entry;
use crate::judge::prover;
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

/// Proves that each key forces mate in its length, and that no other move does
/// in `n` or fewer; `nodes` bounds each question.
///
/// # Errors
/// A sentence: what is undecided, or does not hold.
pub fn certify(
    position: &Chess,
    n: u8,
    keys: &[(Move, u8)],
    nodes: Option<u64>,
    watch: &mut dyn Watch,
) -> Result<Certified, String> {
    let mut prover = prover(nodes);
    let text = certificate::text(&mut prover, position, n, keys, watch);
    let text = text.map_err(|reason| match reason {
        Uncertified::Undecided { .. } => "no certificate: the budget did not settle it".to_owned(),
        Uncertified::Wrong(m) => format!("no certificate: {m} was judged wrongly"),
    })?;
    match keyproof_certify::verify(&text) {
        Ok(accepted) => Ok(Certified {
            text,
            positions: accepted.positions,
        }),
        Err(rejected) => Err(format!("no certificate: the checker rejects {rejected}")),
    }
}

/// The certificate of a puzzle's first moves. `None` if it claims no mate, or
/// if a first move is undecided.
///
/// # Errors
/// As [`certify`].
pub fn of_puzzle(
    entry: &Entry,
    known: &Known,
    nodes: Option<u64>,
    watch: &mut dyn Watch,
) -> Result<Option<Certified>, String> {
    let draft = &entry.game.draft;
    let Ok(puzzle) = Puzzle::from_draft(draft, &draft.resolve()) else {
        return Ok(None);
    };
    let Stipulation::Mate(n) = puzzle.stipulation() else {
        return Ok(None);
    };
    let start = puzzle.start();
    let mut keys = Vec::new();
    for m in start.legal_moves() {
        match known.ruling(start, Goal::Mate(n), m) {
            Some(Ruling::Holds {
                length: Some(length),
                ..
            }) => keys.push((m, *length)),
            Some(Ruling::Fails { .. }) => {}
            _ => return Ok(None),
        }
    }
    certify(start, n, &keys, nodes, watch).map(Some)
}

/// Writes a certificate to a file.
pub fn write(certified: &Certified, file: &Path) -> Result<Written, Trouble> {
    let name = file.display().to_string();
    std::fs::write(file, &certified.text)
        .map_err(|fault| Trouble::Input(format!("{name}: {fault}")))?;
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
        let stem = Path::new(&entry.file).file_stem();
        let stem = stem.map_or("-".into(), |stem| stem.to_string_lossy());
        let stem = if stem == "-" { "puzzle".into() } else { stem };
        let place = entry
            .place
            .as_ref()
            .map_or(String::new(), |p| format!("-{p}"));
        let mut name = format!("{stem}-{}{place}", entry.index);
        while !self.taken.insert(name.clone()) {
            name.push_str("-again");
        }
        write(certified, &self.path.join(format!("{name}.txt")))
    }
}
