//! `keyproof publish`: the student's file.

use keyproof::resolved::Resolved;
use std::io::Write;
use std::path::Path;

use keyproof::check::{Second, Soundness};
use keyproof::course::{Course, Standard};
use keyproof::explain::Explanation;
use keyproof::publish::{self, Item, page_of_games, with_certificates};

use crate::arguments::{CourseStandard, Publish};
use crate::certificate::{self, Folder, folder_of};
use crate::check::{Ticking, disagreement};
use crate::findings::describe;
use crate::input::{self, Entry};
use crate::judge::{How, Judged, explain, judge};
use crate::output::{self, Outcome, Trouble, counted};
use crate::workers::{cores, in_order};

/// The student's page, if it was built before this command.
const STUDENT_PAGE: Option<&str> = include!(concat!(env!("OUT_DIR"), "/student_page.rs"));

/// Checks the puzzles of a file and writes the student's page.
pub fn run(task: &Publish) -> Result<Outcome, Trouble> {
    let template = STUDENT_PAGE.ok_or_else(|| {
        Trouble::Input(
            "this command was built without the student's page: run `cargo xtask build`, and use dist/keyproof".into(),
        )
    })?;
    let mut input = input::read(std::slice::from_ref(&task.file));
    let puzzles = input.puzzles();
    if !input.faults.is_empty() {
        return Err(Trouble::Input(input.faults.join("\n")));
    }
    if task.output == task.file {
        return Err(Trouble::Input(
            "the page would overwrite the puzzles: choose another -o".into(),
        ));
    }
    let judged = judge_all(&puzzles, task.effort.nodes, task.unchecked)?;
    if refused(&puzzles, &judged, task.unsound, &task.output)? {
        return Ok(Outcome::Unsound);
    }
    let explanations = explain_all(&puzzles, &judged)?;
    let resolved = |entries: &[Entry]| -> Vec<Resolved> {
        let drafts = entries.iter().map(|entry| &entry.game.draft);
        drafts.map(Resolved::of).collect()
    };
    let (posed, games) = (resolved(&puzzles), resolved(&input.entries));
    let items: Vec<Item> = std::iter::zip(&posed, &judged)
        .zip(&explanations)
        .map(|((resolved, judged), explanation)| Item {
            resolved,
            known: &judged.known,
            explanation: explanation.as_ref(),
        })
        .collect();
    let games: Vec<&Resolved> = games.iter().collect();
    let title = title(task, &input.entries);
    let language = games[0].draft().tag("Language").unwrap_or("en");
    let tongue = keyproof_tongues::of_game(games[0].draft());
    let page = tongue.speaks(|| {
        let page = match task.element {
            true => Ok(publish::element(&games, &items)),
            false => page_of_games(template, &title, language, &games, &items),
        };
        let page = page.map_err(Trouble::Input)?;
        match task.certificates {
            true => certified(&page, &puzzles, &judged),
            false => Ok(page),
        }
    })?;
    let bytes = match task.course {
        None => page.into_bytes(),
        Some(standard) => Course {
            page: &page,
            title: &title,
            language,
            pass: task.pass,
        }
        .package(match standard {
            CourseStandard::Scorm12 => Standard::Scorm12,
            CourseStandard::Cmi5 => Standard::Cmi5,
        })
        .map_err(Trouble::Input)?,
    };
    write(&task.output, &bytes)?;
    eprintln!(
        "{}: {}, {:.1} KB",
        task.output.display(),
        counted(items.len(), "puzzle"),
        bytes.len() as f64 / 1000.0
    );
    Ok(Outcome::Sound)
}

/// The page with a certificate of every puzzle that claims a mate.
fn certified(page: &str, entries: &[Entry], judged: &[Judged]) -> Result<String, Trouble> {
    let (mut texts, mut positions) = (Vec::new(), 0);
    for (entry, judged) in std::iter::zip(entries, judged) {
        let of_puzzle = certificate::of_puzzle(entry, &judged.heard);
        let place = |sentence| Trouble::Input(format!("{}: {sentence}", entry.title()));
        if let Some(certified) = of_puzzle.map_err(place)? {
            texts.push(certified.text);
            positions += certified.positions;
        }
    }
    Ok(match texts.is_empty() {
        true => page.to_owned(),
        false => with_certificates(page, &texts.join("\n"), positions),
    })
}

pub fn judge_all(
    entries: &[Entry],
    nodes: Option<u64>,
    unchecked: bool,
) -> Result<Vec<Judged>, Trouble> {
    let bar = output::progress(entries.len(), "puzzle");
    let side_by_side = cores().min(entries.len().max(1));
    let mut judged = Vec::new();
    in_order(
        entries,
        side_by_side,
        || (),
        |(), entry| {
            let watch = || Ticking(bar.clone());
            let how = How {
                nodes,
                threads: cores() / side_by_side,
                unchecked,
            };
            judge(&entry.game, how, watch)
        },
        |_, result| {
            bar.inc(1);
            judged.push(result);
            Ok::<(), Trouble>(())
        },
    )?;
    bar.finish_and_clear();
    Ok(judged)
}

fn explain_all(entries: &[Entry], judged: &[Judged]) -> Result<Vec<Option<Explanation>>, Trouble> {
    let bar = output::progress(entries.len(), "reason");
    let jobs: Vec<_> = std::iter::zip(entries, judged).collect();
    let mut explained = Vec::new();
    in_order(
        &jobs,
        cores(),
        || Ticking(bar.clone()),
        |watch, (entry, judged)| explain(&entry.game, &judged.known, watch),
        |_, explanation| {
            bar.inc(1);
            explained.push(explanation);
            Ok::<(), Trouble>(())
        },
    )?;
    bar.finish_and_clear();
    Ok(explained)
}

/// Tells of every puzzle that cannot be given out as asked; whether there is
/// one. What our two programs disagree about is written beside `output`.
pub fn refused(
    entries: &[Entry],
    judged: &[Judged],
    unsound: bool,
    output: &Path,
) -> Result<bool, Trouble> {
    let mut any = false;
    let mut err = anstream::stderr();
    let mut folder = Folder::open(folder_of(output))?;
    for (entry, Judged { report, .. }) in std::iter::zip(entries, judged) {
        if let Second::Against(found) = &report.second {
            let file = folder.write_disagreement(entry, found)?;
            output::complain(&disagreement(&entry.title(), &file));
        }
        let playable = Resolved::of(&entry.game.draft).puzzle().is_ok();
        if playable && (unsound || report.verdict == Soundness::Sound) {
            if report.second == Second::Skipped {
                writeln!(err, "{}: {}", entry.title(), report.second.words())?;
            }
            continue;
        }
        any = true;
        describe(&mut err, entry, report)?;
    }
    if any {
        output::complain(match unsound {
            false => {
                "not written: these puzzles are not proved sound (--unsound gives them out all the same)"
            }
            true => "not written: these puzzles cannot be played",
        });
    }
    Ok(any)
}

fn title(task: &Publish, entries: &[Entry]) -> String {
    let own = match entries {
        [only] => only.tags_title(),
        _ => None,
    };
    let stem = || {
        task.file
            .file_stem()
            .map(|stem| stem.to_string_lossy().into_owned())
    };
    task.title
        .clone()
        .or(own)
        .or_else(|| stem().filter(|stem| stem != "-"))
        .unwrap_or_else(|| "Puzzles".into())
}

fn write(path: &Path, bytes: &[u8]) -> Result<(), Trouble> {
    if path == Path::new("-") {
        return Ok(std::io::stdout().lock().write_all(bytes)?);
    }
    std::fs::write(path, bytes)
        .map_err(|fault| Trouble::Input(format!("{}: {fault}", path.display())))
}
