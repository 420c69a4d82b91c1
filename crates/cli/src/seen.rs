//! `keyproof seen`: earlier games with the positions of a game.

use std::fs::File;
use std::io::{Read, Write};
use std::path::{Path, PathBuf};
use std::time::Instant;

use keyproof::seen::{LeftOut, Played, Sought, packed};
use keyproof_tasks::{Entry, SeenPosition, cores, read_index, seen_positions};
use serde::Serialize;

use crate::arguments::Seen;
use crate::input::{self, Item, Stream};
use crate::output::{self, BOLD, FAINT, Outcome, Progress, Trouble, counted};
use crate::stop;
use crate::terminal;
use crate::workers::Crew;

/// Looks through the collections for every position of the game.
pub fn run(task: &Seen) -> Result<Outcome, Trouble> {
    stop::listen();
    let games = input::read(std::slice::from_ref(&task.file));
    if !games.faults.is_empty() {
        return Err(Trouble::Input(games.faults.join("\n")));
    }
    let entries: Vec<Entry> = games
        .entries
        .into_iter()
        .filter(|entry| task.game.is_none_or(|n| n as usize == entry.index))
        .collect();
    if entries.is_empty() {
        return Err(Trouble::Input(format!(
            "{}: there is no such game",
            task.file.display()
        )));
    }
    let mut outcome = Outcome::Sound;
    let mut sought = Sought::new(task.most);
    let mut asked = Vec::new();
    for entry in &entries {
        match entry.course() {
            Ok(course) => {
                let positions = (0..=course.plies.len()).map(|ply| course.position(ply));
                let numbers = sought.seek(&entry.game.draft, positions);
                asked.push((entry, course, numbers));
            }
            Err(sentence) => {
                output::complain(&sentence);
                outcome = Outcome::Unreadable;
            }
        }
    }
    let begin = Instant::now();
    look_through(task, &mut sought)?;
    let looked_at = LookedAt {
        games: sought.games(),
        positions: sought.positions(),
        seconds: begin.elapsed().as_secs_f64(),
    };
    let mut out = terminal::stdout();
    for (entry, course, numbers) in &asked {
        let shown = Shown {
            file: &entry.file,
            index: entry.index,
            title: entry.title(),
            positions: seen_positions(course, |ply| sought.summary(*numbers.get(ply)?)),
            plies: course.plies.len(),
            collection: &looked_at,
        };
        match task.json {
            true => output::line(&mut out, &shown)?,
            false => describe(&mut out, &shown)?,
        }
    }
    out.flush()?;
    if !task.json {
        output::say(format_args!(
            "{} positions of {} looked through in {:.2} s",
            keyproof::check::thousands(looked_at.positions as u64),
            counted(looked_at.games, "game"),
            looked_at.seconds
        ));
    }
    Ok(stop::ended(outcome, false))
}

/// Looks at the games of the collections, each once; those of indexes first.
fn look_through(task: &Seen, sought: &mut Sought) -> Result<(), Trouble> {
    let (indexes, files): (Vec<PathBuf>, Vec<PathBuf>) = task
        .collections
        .iter()
        .cloned()
        .partition(|path| is_index(path));
    let mut left_out = LeftOuts::default();
    for path in &indexes {
        let bytes = std::fs::read(path).map_err(|fault| format!("{}: {fault}", path.display()))?;
        let index = read_index(&bytes, &format!("{}: this index", path.display()))?;
        for game in index.played() {
            left_out.note(sought.look(&game));
        }
    }
    let stream = Stream::new(&files);
    let mut progress = Progress::of(stream.total(), "game");
    let bar = progress.bar.clone();
    let crew = Crew {
        threads: cores(),
        unordered: false,
    };
    crew.spread(
        stream,
        |item| item.as_ref().map_or(0, Item::weight),
        || (),
        |(), item| {
            Some(
                item.as_ref()
                    .ok()
                    .map(|item| Played::of(&item.entry.game.draft)),
            )
        },
        |item, played| {
            match item {
                Ok(item) => progress.add(item.way),
                Err(told) => return told.unread().map_or(Ok(()), |s| Err(Trouble::Input(s))),
            }
            if let Some(played) = played {
                left_out.note(played.and_then(|game| sought.look(&game)));
            }
            Ok(())
        },
    )?;
    bar.finish_and_clear();
    left_out.say();
    Ok(())
}

fn is_index(path: &Path) -> bool {
    let mut mark = [0; 8];
    let read = File::open(path).and_then(|mut file| file.read_exact(&mut mark));
    read.is_ok() && packed::begins(&mark)
}

/// Games that were left out.
#[derive(Default)]
struct LeftOuts {
    unreadable: usize,
    twice: usize,
}

impl LeftOuts {
    fn note(&mut self, looked: Result<(), LeftOut>) {
        match looked {
            Ok(()) => {}
            Err(LeftOut::Twice) => self.twice += 1,
            Err(LeftOut::NoStart | LeftOut::Full) => self.unreadable += 1,
        }
    }

    fn say(&self) {
        if self.unreadable > 0 {
            let games = counted(self.unreadable, "game");
            output::complain(&format!("{games} without a legal start position left out"));
        }
        if self.twice > 0 {
            let games = counted(self.twice, "game");
            output::complain(&format!("{games} given more than once counted once"));
        }
    }
}

/// What of the collections was looked at.
#[derive(Serialize)]
struct LookedAt {
    games: usize,
    positions: usize,
    seconds: f64,
}

#[derive(Serialize)]
struct Shown<'a> {
    file: &'a str,
    index: usize,
    title: String,
    plies: usize,
    positions: Vec<SeenPosition>,
    collection: &'a LookedAt,
}

fn describe(out: &mut impl Write, game: &Shown) -> std::io::Result<()> {
    writeln!(
        out,
        "{BOLD}{}{BOLD:#}  {FAINT}{} ({}){FAINT:#}",
        game.title, game.file, game.index
    )?;
    for row in &game.positions {
        let place = row.after.as_ref().map_or_else(
            || "At the start".to_owned(),
            |after| format!("After {after}"),
        );
        let next: Vec<String> = row
            .summary
            .next
            .iter()
            .take(6)
            .map(|next| format!("{} {}", next.san, next.score.games))
            .collect();
        let score = row.summary.score;
        writeln!(
            out,
            "  {place}: {} ({} won by White, {} drawn, {} won by Black); next {}",
            counted(score.games, "game"),
            score.white,
            score.draws,
            score.black,
            match next.is_empty() {
                true => "nothing".to_owned(),
                false => next.join(", "),
            }
        )?;
    }
    let Some(last) = game.positions.last() else {
        return writeln!(out, "  No position of it occurs in the collection.");
    };
    writeln!(out, "  The last of them occurred in")?;
    for earlier in &last.summary.earlier {
        let h = &earlier.header;
        let known = |text: &str| {
            if text.is_empty() {
                "?".to_owned()
            } else {
                text.to_owned()
            }
        };
        writeln!(
            out,
            "    {} – {}  {}  {}  {}  {}",
            known(&h.white),
            known(&h.black),
            h.result,
            known(&h.event),
            known(&h.date),
            earlier
                .next
                .as_deref()
                .map_or(String::new(), |san| format!("then {san}")),
        )?;
    }
    if last.ply < game.plies {
        writeln!(out, "  New from the next move on.")?;
    }
    Ok(())
}
