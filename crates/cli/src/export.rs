//! `keyproof export`: puzzles as PGN or EPD.

use keyproof::resolved::Resolved;

use keyproof::lesson::excerpts;
use keyproof::notation::{epd, pgn_write};
use keyproof_tasks::{Entry, cores};

use crate::arguments::Export;
use crate::file::Out;
use crate::input::{Item, Stream};
use crate::output::{self, Outcome, Progress, Trouble, counted};
use crate::stop;
use crate::workers::Crew;

/// Writes the puzzles selected; those of a lesson one by one when EPD is asked.
pub fn run(task: &Export) -> Result<Outcome, Trouble> {
    stop::listen();
    if let Some(output) = task.output.as_ref().filter(|o| task.files.contains(o)) {
        return Err(Trouble::Input(format!(
            "{} is read: choose another -o",
            output.display()
        )));
    }
    let stream = Stream::new(&task.files);
    let mut progress = Progress::of(stream.total(), "puzzle");
    let bar = progress.bar.clone();
    let mut out = Out::to(task.output.as_deref())?;
    let last = task.only.as_ref().map_or(usize::MAX, |only| only.last());
    let crew = Crew {
        threads: cores(),
        unordered: task.unordered,
    };
    let mut outcome = Outcome::Sound;
    let (mut met, mut written) = (0, 0);
    crew.spread(
        numbered(stream, last),
        |(_, item)| item.as_ref().map_or(0, Item::weight),
        || (),
        |(), (number, item)| {
            let chosen = task.only.as_ref().is_none_or(|only| only.has(*number));
            let entry = item.as_ref().ok().filter(|_| chosen);
            Some(entry.map(|item| Exported::of(&item.entry, task.to_pgn)))
        },
        |(number, item), exported| {
            met = met.max(number);
            match item {
                Ok(item) => progress.add(item.way),
                Err(told) => {
                    if bar.suspend(|| told.say()) {
                        outcome = Outcome::Unreadable;
                    }
                }
            }
            let Some(exported) = exported else {
                return Ok(());
            };
            for (worse, sentence) in exported.troubles {
                outcome = outcome.max(worse);
                bar.suspend(|| output::complain(&sentence));
            }
            written += exported.puzzles;
            out.put(&exported.text)
        },
    )?;
    bar.finish_and_clear();
    let outcome = stop::ended(outcome, false);
    if outcome != Outcome::Stopped && task.only.is_some() && met < last {
        return Err(Trouble::Input(format!(
            "--only names {last}, and there are {}",
            counted(met, "puzzle")
        )));
    }
    let written = counted(written, "puzzle");
    out.end(outcome, |file| {
        output::say(format_args!("{file}: {written}"))
    })?;
    Ok(outcome)
}

/// Counts the games of a stream from 1, up to the last that is wanted; what else it has
/// to tell has number 0.
fn numbered<Told>(
    stream: impl Iterator<Item = Result<Item, Told>>,
    last: usize,
) -> impl Iterator<Item = (usize, Result<Item, Told>)> {
    let mut met = 0;
    let mut stream = stream.fuse();
    std::iter::from_fn(move || {
        let item = (met < last).then(|| stream.next()).flatten()?;
        met += usize::from(item.is_ok());
        Some((if item.is_ok() { met } else { 0 }, item))
    })
}

/// One game as it is written.
struct Exported {
    text: String,
    puzzles: usize,
    troubles: Vec<(Outcome, String)>,
}

impl Exported {
    fn of(entry: &Entry, to_pgn: bool) -> Exported {
        let place = format!("{}, puzzle {}", entry.file, entry.index);
        let unread = entry.game.faults.iter().map(|fault| {
            let sentence = format!(
                "{place}, line {}, column {}: expected {}, found {:?}",
                fault.place.line, fault.place.column, fault.expected, fault.text
            );
            (Outcome::Unreadable, sentence)
        });
        let mut exported = Exported {
            text: String::new(),
            puzzles: 0,
            troubles: unread.collect(),
        };
        if to_pgn {
            exported.text = pgn_write::write(&entry.game.draft);
            exported.puzzles = 1;
            return exported;
        }
        for excerpt in excerpts(&Resolved::of(&entry.game.draft)) {
            match epd::write(&excerpt.resolved) {
                Ok(record) => {
                    exported.text.push_str(&record);
                    exported.text.push('\n');
                    exported.puzzles += 1;
                }
                Err(sentence) => {
                    let sentence = format!("{place}: left out: {sentence}");
                    exported.troubles.push((Outcome::Unsound, sentence));
                }
            }
        }
        exported
    }
}
