//! `keyproof seen`: earlier games with the positions of a game.

use std::io::Write;
use std::path::{Path, PathBuf};
use std::time::Instant;

use keyproof::draft::Draft;
use keyproof::moments::Course;
use keyproof::notation::{fen, moves, pgn_read};
use keyproof::seen::{Builder, Index, LeftOut, Summary};
use serde::Serialize;

use crate::arguments::Seen;
use crate::input::{self, Entry};
use crate::output::{self, BOLD, FAINT, Outcome, Trouble, counted};

/// Builds the index of the collections and looks every position of the game up.
pub fn run(task: &Seen) -> Result<Outcome, Trouble> {
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
    let begin = Instant::now();
    let index = collect(&task.collections)?;
    let seconds = begin.elapsed().as_secs_f64();
    let mut outcome = Outcome::Sound;
    let mut shown = Vec::new();
    for entry in &entries {
        match Course::of(&entry.game.draft) {
            Ok(course) => shown.push(Shown {
                file: entry.file.clone(),
                index: entry.index,
                title: entry.title(),
                positions: positions(&index, &entry.game.draft, &course, task.most),
                plies: course.plies.len(),
            }),
            Err(fault) => {
                let reasons = fault.reasons().join(" ");
                output::complain(&format!("{}, game {}: {reasons}", entry.file, entry.index));
                outcome = Outcome::Unreadable;
            }
        }
    }
    let mut out = anstream::stdout();
    let size = Size::of(&index, seconds);
    if task.json {
        let all = All {
            index: size,
            games: shown,
        };
        serde_json::to_writer(&mut out, &all)?;
        writeln!(out)?;
    } else {
        for game in &shown {
            describe(&mut out, game)?;
        }
        size.describe()?;
    }
    out.flush()?;
    Ok(outcome)
}

fn collect(paths: &[PathBuf]) -> Result<Index, Trouble> {
    let mut builder = Builder::new();
    let (mut unreadable, mut twice) = (0, 0);
    let bar = output::progress(0, "game");
    for path in files(paths)? {
        let bytes =
            std::fs::read(&path).map_err(|e| Trouble::Input(format!("{}: {e}", path.display())))?;
        let text = pgn_read::decode(&bytes);
        pgn_read::each(&text, &mut |game| {
            match builder.add(&game.draft) {
                Ok(()) => {}
                Err(LeftOut::Twice) => twice += 1,
                Err(LeftOut::NoStart | LeftOut::Full) => unreadable += 1,
            }
            if builder.games().is_multiple_of(1000) {
                bar.set_length(builder.games() as u64);
                bar.set_position(builder.games() as u64);
            }
        });
    }
    bar.finish_and_clear();
    if unreadable > 0 {
        let games = counted(unreadable, "game");
        output::complain(&format!("{games} without a legal start position left out"));
    }
    if twice > 0 {
        let games = counted(twice, "game");
        output::complain(&format!("{games} given more than once counted once"));
    }
    Ok(builder.index())
}

/// The PGN files named, and those of the folders named.
fn files(paths: &[PathBuf]) -> Result<Vec<PathBuf>, Trouble> {
    let mut found = Vec::new();
    for path in paths {
        if !path.is_dir() {
            found.push(path.clone());
            continue;
        }
        let place = |e: std::io::Error| Trouble::Input(format!("{}: {e}", path.display()));
        let mut inside: Vec<PathBuf> = std::fs::read_dir(path)
            .map_err(place)?
            .flatten()
            .map(|entry| entry.path())
            .filter(|path| is_pgn(path))
            .collect();
        inside.sort();
        found.append(&mut inside);
    }
    Ok(found)
}

fn is_pgn(path: &Path) -> bool {
    path.extension()
        .is_some_and(|end| end.eq_ignore_ascii_case("pgn"))
}

/// Every position of a game that occurred in another one.
fn positions(index: &Index, game: &Draft, course: &Course, most: usize) -> Vec<Row> {
    let own = index.same_as(game);
    let row = |ply: usize| {
        let position = course.position(ply);
        let before = ply.checked_sub(1).map(|before| &course.plies[before]);
        Row {
            ply,
            after: before.map(|p| {
                let number = shakmaty::Position::fullmoves(&p.before).get();
                moves::line(&p.before, &[p.played], number)
            }),
            fen: fen::write(position),
            summary: index.summary(position, own, most),
        }
    };
    let rows = (0..=course.plies.len()).map(row);
    rows.filter(|row| row.summary.score.games > 0).collect()
}

#[derive(Serialize)]
struct All {
    index: Size,
    games: Vec<Shown>,
}

#[derive(Serialize)]
struct Size {
    games: usize,
    positions: usize,
    bytes: usize,
    bytes_per_position: f64,
    header_bytes: usize,
    seconds: f64,
}

#[derive(Serialize)]
struct Shown {
    file: String,
    index: usize,
    title: String,
    plies: usize,
    positions: Vec<Row>,
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

impl Size {
    fn of(index: &Index, seconds: f64) -> Size {
        Size {
            games: index.games(),
            positions: index.positions(),
            bytes: index.bytes(),
            bytes_per_position: index.bytes() as f64 / index.positions().max(1) as f64,
            header_bytes: index.header_bytes(),
            seconds,
        }
    }

    fn describe(&self) -> std::io::Result<()> {
        eprintln!(
            "{} positions of {}, {:.1} bytes a position, {:.1} KB of names, indexed in {:.2} s",
            keyproof::check::thousands(self.positions as u64),
            counted(self.games, "game"),
            self.bytes_per_position,
            self.header_bytes as f64 / 1000.0,
            self.seconds
        );
        Ok(())
    }
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
