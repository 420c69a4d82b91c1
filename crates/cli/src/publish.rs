//! `keyproof publish`: the student's file.

use std::io::Write;
use std::path::Path;

use keyproof::check::{Report, Second, Soundness};
use keyproof::course::Standard;
use keyproof::resolved::Resolved;
use keyproof_tasks::{
    CourseOptions, Entry, How, Judged, PublishOptions, Row, cores, publish_judged, student_page,
};

use crate::arguments::{CourseStandard, Publish};
use crate::certificate::{Folder, folder_of};
use crate::check::{Counting, disagreement, means};
use crate::file;
use crate::findings::describe;
use crate::input;
use crate::output::{self, Outcome, Trouble, counted};
use crate::terminal;

/// Checks the puzzles of a file and writes the student's page.
pub fn run(task: &Publish) -> Result<Outcome, Trouble> {
    student_page()?;
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
    let judged = judge_all(&puzzles, Some(task.effort.nodes), task.unchecked)?;
    let reports = judged.iter().map(|judged| &judged.report);
    let reports = std::iter::zip(&puzzles, reports);
    if refused(reports, task.unsound, &task.output)? {
        return Ok(Outcome::Unsound);
    }
    let bar = output::progress(puzzles.len(), "reason");
    let follow = Counting(bar.clone());
    let page = publish_judged(
        &input.entries,
        &puzzles,
        &judged,
        &options(task, &input.entries),
        &means(cores(), &follow),
    );
    bar.finish_and_clear();
    let bytes = page?.into_bytes();
    write(&task.output, &bytes)?;
    eprintln!(
        "{}: {}, {:.1} KB",
        task.output.display(),
        counted(puzzles.len(), "puzzle"),
        bytes.len() as f64 / 1000.0
    );
    Ok(Outcome::Sound)
}

fn options(task: &Publish, entries: &[Entry]) -> PublishOptions {
    PublishOptions {
        title: Some(title(task, entries)),
        certificates: task.certificates,
        element: task.element,
        course: task.course.map(|standard| CourseOptions {
            standard: match standard {
                CourseStandard::Scorm12 => Standard::Scorm12,
                CourseStandard::Cmi5 => Standard::Cmi5,
            },
            pass: task.pass,
        }),
        unsound: task.unsound,
        unchecked: task.unchecked,
        nodes: Some(task.effort.nodes),
    }
}

/// Judges all puzzles, with all cores.
fn judge_all(
    entries: &[Entry],
    nodes: Option<u64>,
    unchecked: bool,
) -> Result<Vec<Judged>, Trouble> {
    let bar = output::progress(entries.len(), "puzzle");
    let follow = Counting(bar.clone());
    let how = How { nodes, unchecked };
    let judged = keyproof_tasks::judge_all(entries, how, &means(cores(), &follow));
    bar.finish_and_clear();
    Ok(judged?)
}

/// Tells of every puzzle that cannot be given out as asked; whether there is
/// one. What our two programs disagree about is written beside `output`.
pub fn refused<'a>(
    judged: impl IntoIterator<Item = (&'a Entry, &'a Report)>,
    unsound: bool,
    output: &Path,
) -> Result<bool, Trouble> {
    let mut any = false;
    let mut err = terminal::stderr();
    let mut folder = Folder::open(folder_of(output))?;
    for (entry, report) in judged {
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
        describe(&mut err, &Row::new(entry, report))?;
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
    file::write(path, bytes)
}
