//! `keyproof export`: puzzles as PGN or EPD.

use keyproof::resolved::Resolved;
use std::io::Write;

use keyproof::lesson::excerpts;
use keyproof::notation::{epd, pgn_write};

use crate::arguments::Export;
use crate::input;
use crate::output::{self, Outcome, Trouble, counted};

/// Writes the puzzles selected; those of a lesson one by one when EPD is asked.
pub fn run(task: &Export) -> Result<Outcome, Trouble> {
    let input = input::read(&task.files);
    let mut outcome = Outcome::Sound;
    for fault in &input.faults {
        output::complain(fault);
        outcome = Outcome::Unreadable;
    }
    if let Some(output) = task.output.as_ref().filter(|o| task.files.contains(o)) {
        return Err(Trouble::Input(format!(
            "{} is read: choose another -o",
            output.display()
        )));
    }
    let count = input.entries.len();
    if let Some(only) = task.only.as_ref().filter(|only| only.last() > count) {
        return Err(Trouble::Input(format!(
            "--only names {}, and there are {}",
            only.last(),
            counted(count, "puzzle")
        )));
    }
    let (mut text, mut written) = (String::new(), 0);
    for (i, entry) in input.entries.iter().enumerate() {
        if task.only.as_ref().is_some_and(|only| !only.has(i + 1)) {
            continue;
        }
        let place = format!("{}, puzzle {}", entry.file, entry.index);
        for fault in &entry.game.faults {
            output::complain(&format!(
                "{place}, line {}, column {}: expected {}, found {:?}",
                fault.place.line, fault.place.column, fault.expected, fault.text
            ));
            outcome = Outcome::Unreadable;
        }
        if task.to_pgn {
            text.push_str(&pgn_write::write(&entry.game.draft));
            written += 1;
            continue;
        }
        for excerpt in excerpts(&Resolved::of(&entry.game.draft)) {
            match epd::write(&excerpt.resolved) {
                Ok(record) => {
                    text.push_str(&record);
                    text.push('\n');
                    written += 1;
                }
                Err(sentence) => {
                    output::complain(&format!("{place}: left out: {sentence}"));
                    outcome = outcome.max(Outcome::Unsound);
                }
            }
        }
    }
    match &task.output {
        None => {
            let mut out = std::io::stdout();
            out.write_all(text.as_bytes())?;
            out.flush()?;
        }
        Some(file) => {
            std::fs::write(file, text)
                .map_err(|e| Trouble::Input(format!("{}: {e}", file.display())))?;
            eprintln!("{}: {}", file.display(), counted(written, "puzzle"));
        }
    }
    Ok(outcome)
}
