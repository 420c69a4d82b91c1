//! `keyproof complete`: every defence answered.

use std::path::Path;

use keyproof::notation::pgn_write;
use keyproof_tasks::{Entry, complete};

use crate::arguments::Complete;
use crate::check::{Ticking, means};
use crate::file::Out;
use crate::input::{Item, Stream};
use crate::output::{self, Outcome, Progress, Trouble, counted};
use crate::stop;
use crate::workers::Crew;

/// Fills in the best answer to each unanswered defence and writes the PGN.
pub fn run(task: &Complete) -> Result<Outcome, Trouble> {
    stop::listen();
    let stream = Stream::new(std::slice::from_ref(&task.file));
    let mut progress = Progress::of(stream.total(), "puzzle");
    let bar = progress.bar.clone();
    let (crew, puzzles) = Crew::of(stream, false);
    let follow = Ticking(bar.clone());
    let means = means(crew.threads_each(), &follow);
    let to_file = task
        .output
        .as_deref()
        .is_some_and(|path| path != Path::new("-"));
    let mut out = Out::to(task.output.as_deref())?;
    let mut written = 0;
    crew.spread(
        puzzles,
        |item| item.as_ref().map_or(0, Item::weight),
        || (),
        |(), item| {
            let entry = item.as_ref().ok().map(|item| &item.entry);
            let Some(entry) = entry.filter(|entry| entry.game.faults.is_empty()) else {
                return Some(None);
            };
            let filled = complete(&entry.game.draft, Some(task.effort.nodes), &means);
            (!stop::asked()).then_some(Some(filled))
        },
        |item, filled| {
            let Item { entry, way, .. } = match item {
                Ok(item) => item,
                Err(told) => return told.unread().map_or(Ok(()), |s| Err(Trouble::Input(s))),
            };
            let Some((draft, answered)) = filled else {
                return Err(unread(&entry, if to_file { 0 } else { written }));
            };
            progress.add(way);
            written += 1;
            out.put(&pgn_write::write(&draft))?;
            out.hand_on()?;
            let answered = counted(answered, "defence");
            bar.suspend(|| output::say(format_args!("{}: {answered} answered", entry.title())));
            Ok(())
        },
    )?;
    bar.finish_and_clear();
    let outcome = stop::ended(Outcome::Sound, false);
    out.end(outcome, |_| ())?;
    Ok(outcome)
}

/// What was not read would be lost in what is written.
fn unread(entry: &Entry, written: usize) -> Trouble {
    let fault = &entry.game.faults[0];
    let so_far = match written {
        0 => "nothing was written".to_owned(),
        _ => format!(
            "only what stands before it was written, {}",
            counted(written, "puzzle")
        ),
    };
    Trouble::Input(format!(
        "{}:{}:{}: expected {}, found {:?}; {so_far}",
        entry.file, fault.place.line, fault.place.column, fault.expected, fault.text
    ))
}
