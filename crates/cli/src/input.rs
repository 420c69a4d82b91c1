//! Reading puzzles from files, folders and standard input.

use keyproof::resolved::Resolved;
use std::io::Read;
use std::path::{Path, PathBuf};

use keyproof::lesson;
use keyproof::notation::pgn_read::{self, Game};
use keyproof::notation::{epd, fen};
use shakmaty::Chess;

use crate::output::Trouble;

/// A puzzle and where it came from.
pub struct Entry {
    /// The file as the user would name it; `-` for standard input.
    pub file: String,
    /// Its number in that file, from 1.
    pub index: usize,
    /// Where it stands in its game, if that is a lesson: `17b`.
    pub place: Option<String>,
    pub game: Game,
}

impl Entry {
    /// The puzzle's title, or its number where it has none.
    pub fn title(&self) -> String {
        let title = self
            .tags_title()
            .unwrap_or_else(|| format!("Puzzle {}", self.index));
        match &self.place {
            Some(place) => format!("{title}, {place}"),
            None => title,
        }
    }

    /// Its number in the file, with its place in the game.
    pub fn number(&self) -> String {
        match &self.place {
            Some(place) => format!("{}, {place}", self.index),
            None => self.index.to_string(),
        }
    }

    /// What is asked of a lesson's student, one puzzle for each moment; of any
    /// other game, itself.
    fn puzzles(&self) -> Vec<Entry> {
        lesson::excerpts(&Resolved::of(&self.game.draft))
            .into_iter()
            .map(|excerpt| Entry {
                file: self.file.clone(),
                index: self.index,
                place: excerpt.moment.map(|moment| moment.place.to_string()),
                game: Game {
                    draft: excerpt.resolved.draft().clone(),
                    faults: self.game.faults.clone(),
                },
            })
            .collect()
    }

    /// The title that the tags give: the event, else the players.
    pub fn tags_title(&self) -> Option<String> {
        let tag = |name| {
            let value = self.game.draft.tag(name)?.trim();
            (!value.is_empty() && value != "?").then_some(value)
        };
        tag("Event")
            .map(str::to_owned)
            .or_else(|| Some(format!("{}–{}", tag("White")?, tag("Black")?)))
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
        for entry in &self.entries {
            let draft = &entry.game.draft;
            if !lesson::is_lesson(draft) {
                continue;
            }
            if let Err(faults) = lesson::moments(&Resolved::of(draft)) {
                let place = format!("{}, game {}", entry.file, entry.index);
                let sentences = faults.iter().map(|fault| format!("{place}: {fault}"));
                self.faults.extend(sentences);
            }
        }
        self.entries.iter().flat_map(Entry::puzzles).collect()
    }
}

/// Reads a position given as an argument.
///
/// # Errors
/// With a sentence that says what is wrong with it.
pub fn position(text: &str) -> Result<Chess, Trouble> {
    fen::read(text).map_err(|fault| {
        Trouble::Input(format!(
            "no legal position: {:?}: {}",
            fault.text,
            fault.reasons().join(" ")
        ))
    })
}

/// Reads files, folders (every `.pgn` and `.epd` file below them, by
/// name) and `-`, which is PGN.
pub fn read(paths: &[PathBuf]) -> Input {
    let mut input = Input::default();
    for path in paths {
        if path.is_dir() {
            read_folder(path, &mut input);
        } else {
            read_file(path, &mut input);
        }
    }
    input
}

fn read_folder(folder: &Path, input: &mut Input) {
    let mut files = Vec::new();
    let mut folders = vec![folder.to_owned()];
    while let Some(folder) = folders.pop() {
        let entries = match std::fs::read_dir(&folder) {
            Ok(entries) => entries,
            Err(fault) => {
                input.faults.push(format!("{}: {fault}", folder.display()));
                continue;
            }
        };
        for entry in entries.flatten() {
            let path = entry.path();
            if entry.file_type().is_ok_and(|kind| kind.is_dir()) {
                folders.push(path);
            } else if has_ending(&path, "pgn") || has_ending(&path, "epd") {
                files.push(path);
            }
        }
    }
    if files.is_empty() {
        input.faults.push(format!(
            "{}: no .pgn or .epd file in this folder",
            folder.display()
        ));
    }
    files.sort();
    for file in files {
        read_file(&file, input);
    }
}

fn read_file(path: &Path, input: &mut Input) {
    let mut bytes = Vec::new();
    let done = if path == Path::new("-") {
        std::io::stdin().lock().read_to_end(&mut bytes).map(|_| ())
    } else {
        std::fs::read(path).map(|read| bytes = read)
    };
    if let Err(fault) = done {
        input.faults.push(format!("{}: {fault}", path.display()));
        return;
    }
    let text = pgn_read::decode(&bytes);
    let games = match has_ending(path, "epd") {
        true => epd::read(&text),
        false => pgn_read::read(&text),
    };
    if games.is_empty() {
        input
            .faults
            .push(format!("{}: no game in this file", path.display()));
    }
    input
        .entries
        .extend(games.into_iter().enumerate().map(|(at, game)| Entry {
            file: path.display().to_string(),
            index: at + 1,
            place: None,
            game,
        }));
}

fn has_ending(path: &Path, ending: &str) -> bool {
    let end = path.extension();
    end.is_some_and(|end| end.eq_ignore_ascii_case(ending))
}
