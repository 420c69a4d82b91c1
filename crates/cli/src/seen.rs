//! `keyproof seen`: earlier games with the positions of a game.

use std::io::Write;
use std::time::Instant;

use keyproof::moments::Course;
use keyproof::notation::{fen, moves};
use keyproof::seen::{LeftOut, Played, Sought, Summary};
use keyproof_tasks::{Entry, cores};
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
        match Course::of(&entry.game.draft) {
            Ok(course) => {
                let positions = (0..=course.plies.len()).map(|ply| course.position(ply));
                let numbers = sought.seek(&entry.game.draft, positions);
                asked.push((entry, course, numbers));
            }
            Err(fault) => {
                let reasons = fault.reasons().join(" ");
                output::complain(&format!("{}, game {}: {reasons}", entry.file, entry.index));
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
            positions: rows(&sought, course, numbers),
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

/// Looks at the games of the collections, each once.
fn look_through(task: &Seen, sought: &mut Sought) -> Result<(), Trouble> {
    let stream = Stream::new(&task.collections);
    let mut progress = Progress::of(stream.total(), "game");
    let bar = progress.bar.clone();
    let (mut unreadable, mut twice) = (0, 0);
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
            match played.map(|played| played.and_then(|game| sought.look(&game))) {
                Some(Ok(())) | None => {}
                Some(Err(LeftOut::Twice)) => twice += 1,
                Some(Err(LeftOut::NoStart | LeftOut::Full)) => unreadable += 1,
            }
            Ok(())
        },
    )?;
    bar.finish_and_clear();
    if unreadable > 0 {
        let games = counted(unreadable, "game");
        output::complain(&format!("{games} without a legal start position left out"));
    }
    if twice > 0 {
        let games = counted(twice, "game");
        output::complain(&format!("{games} given more than once counted once"));
    }
    Ok(())
}

/// Every position of a game that occurred in another one.
fn rows(sought: &Sought, course: &Course, numbers: &[usize]) -> Vec<Row> {
    let row = |(ply, number): (usize, &usize)| {
        let before = ply.checked_sub(1).map(|before| &course.plies[before]);
        Some(Row {
            ply,
            after: before.map(|p| {
                let number = shakmaty::Position::fullmoves(&p.before).get();
                moves::line(&p.before, &[p.played], number)
            }),
            fen: fen::write(course.position(ply)),
            summary: sought.summary(*number)?,
        })
    };
    let rows = numbers.iter().enumerate().filter_map(row);
    rows.filter(|row| row.summary.score.games > 0).collect()
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
    positions: Vec<Row>,
    collection: &'a LookedAt,
}

#[derive(Serialize)]
struct Row {
    ply: usize,
    /// The move that led to the position, with its number.
    after: Option<String>,
    fen: String,
    #[serde(flatten)]
    summary: Summary,
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
