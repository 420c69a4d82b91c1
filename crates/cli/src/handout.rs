//! `keyproof handout`: puzzles to print.

use keyproof::check::Report;
use keyproof::handout::{PerPage, handout};
use keyproof::pdf;
use keyproof::resolved::Resolved;
use keyproof::tongue::Tongue;
use keyproof_tasks::{Entry, How, judge};

use crate::arguments::Handout;
use crate::check::{Ticking, means};
use crate::file;
use crate::input::{self, Item, MOST_HELD, Stream};
use crate::output::{self, Outcome, Progress, Trouble, counted};
use crate::publish::refused;
use crate::stop;
use crate::workers::Crew;

/// Writes the puzzles of a file, those of a lesson included, as printable HTML or, where
/// the file to write is called so, as PDF.
pub fn run(task: &Handout) -> Result<Outcome, Trouble> {
    stop::listen();
    if task.output == task.file {
        return Err(Trouble::Input(
            "the handout would overwrite the puzzles: choose another -o".into(),
        ));
    }
    let judged = judge_all(task)?;
    if stop::asked() {
        return Ok(stop::ended(Outcome::Stopped, false));
    }
    let reports = judged.iter().map(|(entry, report)| (entry, report));
    if refused(reports, task.unsound, &task.output)? {
        return Ok(Outcome::Unsound);
    }
    let posed = judged
        .iter()
        .map(|(entry, _)| Resolved::of(&entry.game.draft));
    let posed: Vec<Resolved> = posed.collect();
    let drafts: Vec<&Resolved> = posed.iter().collect();
    let name = task
        .file
        .file_stem()
        .map(|name| name.to_string_lossy().into_owned());
    let title = task.title.clone().or(name).unwrap_or_default();
    let language = drafts
        .first()
        .and_then(|d| d.draft().tag("Language"))
        .unwrap_or("en");
    let per_page = PerPage::of(task.per_page).expect("clap allows 2, 4 and 6 alone");
    let tongue = drafts
        .first()
        .map_or(Tongue::ENGLISH, |d| keyproof_tongues::of_game(d.draft()));
    let extension = task.output.extension();
    let left_out = match extension.is_some_and(|e| e.eq_ignore_ascii_case("pdf")) {
        true => {
            let made = tongue.speaks(|| pdf::handout(&title, language, &drafts, per_page));
            file::write(&task.output, &made.bytes)?;
            if !made.missing.is_empty() {
                output::complain(&format!(
                    "the letters of a PDF lack {}: a question mark stands in their place",
                    made.missing
                ));
            }
            made.left_out
        }
        false => {
            let (html, left_out) = tongue.speaks(|| handout(&title, language, &drafts, per_page));
            file::write(&task.output, html.as_bytes())?;
            left_out
        }
    };
    for i in &left_out {
        output::complain(&format!(
            "puzzle {} is none yet, and left out: check it",
            i + 1
        ));
    }
    let written = counted(drafts.len() - left_out.len(), "puzzle");
    output::say(format_args!("{}: {written}", task.output.display()));
    Ok(match left_out.is_empty() {
        true => Outcome::Sound,
        false => Outcome::Unsound,
    })
}

/// Judges the puzzles as they are read; of each only what is printed stays.
fn judge_all(task: &Handout) -> Result<Vec<(Entry, Report)>, Trouble> {
    let stream = Stream::new(std::slice::from_ref(&task.file));
    let mut progress = Progress::of(stream.total(), "puzzle");
    let bar = progress.bar.clone();
    let (crew, puzzles) = Crew::of(stream.puzzles(), false);
    let how = How {
        nodes: Some(task.effort.nodes),
        unchecked: task.unchecked,
    };
    let follow = Ticking(bar.clone());
    let means = means(crew.threads_each(), &follow);
    let mut judged = Vec::new();
    crew.spread(
        puzzles,
        |item| item.as_ref().map_or(0, Item::weight),
        || (),
        |(), item| {
            let item = item.as_ref().ok();
            let report = item.map(|item| judge(&item.entry.game, how, &means).report);
            (!stop::asked()).then_some(report)
        },
        |item, report| {
            match (item, report) {
                (Ok(_), _) if judged.len() == MOST_HELD => {
                    return Err(Trouble::Input(input::too_many()));
                }
                (Ok(item), Some(report)) => {
                    progress.add(item.way);
                    judged.push((item.entry, report));
                }
                (Err(told), _) => {
                    return told.unread().map_or(Ok(()), |s| Err(Trouble::Input(s)));
                }
                (Ok(_), None) => {}
            }
            Ok(())
        },
    )?;
    bar.finish_and_clear();
    Ok(judged)
}
