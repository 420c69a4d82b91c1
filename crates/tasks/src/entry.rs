//! Puzzles and games out of texts.

use keyproof::lesson;
use keyproof::moments::Course;
use keyproof::notation::pgn_read::{self, Game};
use keyproof::notation::{epd, fen};
use keyproof::resolved::Resolved;
use shakmaty::Chess;

/// A puzzle or game and where it came from.
pub struct Entry {
    /// The file as the user would name it; `-` for standard input, empty for a text that
    /// came from none.
    pub file: String,
    /// Its number in that file, from 1.
    pub index: usize,
    /// Where it stands in its game, if that is a lesson: `17b`.
    pub place: Option<String>,
    /// What could be read.
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
    pub fn puzzles(&self) -> Vec<Entry> {
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

    /// Its main line.
    ///
    /// # Errors
    /// Without a legal start, with a sentence that names the game.
    pub fn course(&self) -> Result<Course, String> {
        Course::of(&self.game.draft)
            .map_err(|fault| format!("{}: {}", self.at(), fault.reasons().join(" ")))
    }

    /// Its file and number, as sentences name them: "monday.pgn, game 3".
    pub(crate) fn at(&self) -> String {
        match self.file.as_str() {
            "" => format!("game {}", self.index),
            file => format!("{file}, game {}", self.index),
        }
    }
}

/// The games of a PGN text.
///
/// # Errors
/// If there is none.
pub fn read_pgn(text: &str, file: &str) -> Result<Vec<Entry>, String> {
    entries(pgn_read::read(text), file)
}

/// The positions of an EPD text.
///
/// # Errors
/// If there is none.
pub fn read_epd(text: &str, file: &str) -> Result<Vec<Entry>, String> {
    entries(epd::read(text), file)
}

fn entries(games: Vec<Game>, file: &str) -> Result<Vec<Entry>, String> {
    if games.is_empty() {
        return Err(match file {
            "" => "no game in this text".to_owned(),
            file => format!("{file}: no game in this file"),
        });
    }
    let entry = |(at, game)| Entry {
        file: file.to_owned(),
        index: at + 1,
        place: None,
        game,
    };
    Ok(games.into_iter().enumerate().map(entry).collect())
}

/// What is wrong with the tag that lists a lesson's moments, in sentences that name the
/// game.
pub fn wrong_lists(entry: &Entry) -> Vec<String> {
    let draft = &entry.game.draft;
    if !lesson::is_lesson(draft) {
        return Vec::new();
    }
    let faults = lesson::moments(&Resolved::of(draft)).err();
    let faults = faults.into_iter().flatten();
    faults
        .map(|fault| format!("{}: {fault}", entry.at()))
        .collect()
}

/// The puzzles of all games, those at the moments of lessons among them.
///
/// # Errors
/// If a tag lists moments wrongly.
pub(crate) fn puzzles(entries: &[Entry]) -> Result<Vec<Entry>, String> {
    let wrong: Vec<String> = entries.iter().flat_map(wrong_lists).collect();
    match wrong.is_empty() {
        true => Ok(entries.iter().flat_map(Entry::puzzles).collect()),
        false => Err(wrong.join("\n")),
    }
}

/// Reads a position.
///
/// # Errors
/// With a sentence that says what is wrong with it.
pub fn position(text: &str) -> Result<Chess, String> {
    fen::read(text).map_err(|fault| {
        format!(
            "no legal position: {:?}: {}",
            fault.text,
            fault.reasons().join(" ")
        )
    })
}
