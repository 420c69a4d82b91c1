//! `keyproof check`: one verdict per puzzle, with its findings.

use std::io::Write;
use std::path::Path;

use indicatif::ProgressBar;
use keyproof::aim::Aim;
use keyproof::check::{Second, Soundness, thousands};
use keyproof::puzzle::Stipulation;
use keyproof_tasks::{
    Certificate, CheckOptions, Checked, Entry, Follow, Means, QUESTIONS, Row, check_entry,
};

use crate::arguments::Check;
use crate::certificate::{self, Folder};
use crate::findings::describe;
use crate::input::{Item, Stream};
use crate::keep::{self, Keep, Print};
use crate::output::{self, Outcome, Progress, Trouble, counted};
use crate::workers::Crew;
use crate::{stop, tables, terminal};

/// Checks every puzzle of the files named, and prints each as soon as it is done.
pub fn run(task: &Check) -> Result<Outcome, Trouble> {
    stop::listen();
    let stream = Stream::new(&task.files).with_prints(task.keep.is_some());
    let mut progress = Progress::of(stream.total(), "puzzle");
    let bar = progress.bar.clone();
    let (crew, puzzles) = Crew::of(stream.puzzles(), task.unordered);
    let follow = Ticking(bar.clone());
    let checker = Checker::new(task, means(crew.threads_each(), &follow))?;
    let mut folder = Folder::open(task.certificates.as_deref().unwrap_or(Path::new(".")))?;
    let mut printer = Printer::new(task.json);
    let mut outcome = Outcome::Sound;
    crew.spread(
        puzzles,
        |item| item.as_ref().map_or(0, Item::weight),
        || (),
        |(), item| match item {
            Ok(item) => checker.check(item).map(|checked| checked.map(Some)),
            Err(_) => Some(Ok(None)),
        },
        |item, checked| {
            let Item { entry, way, .. } = match item {
                Ok(item) => item,
                Err(told) => {
                    if bar.suspend(|| told.say()) {
                        outcome = outcome.max(Outcome::Unreadable);
                    }
                    return Ok(());
                }
            };
            let Some(checked) = checked? else {
                return Ok(());
            };
            outcome = outcome.max(match checked.report.verdict {
                _ if !entry.game.faults.is_empty() => Outcome::Unreadable,
                Soundness::Sound => Outcome::Sound,
                _ => Outcome::Unsound,
            });
            progress.add(way);
            bar.suspend(|| {
                let written = files(task, &entry, &checked, &mut folder)?;
                if checked.certified.is_err() {
                    outcome = outcome.max(Outcome::Unsound);
                }
                let mut row = Row::new(&entry, &checked.report);
                row.certificate = written;
                printer.puzzle(&row)
            })
        },
    )?;
    bar.finish_and_clear();
    printer.end()?;
    Ok(stop::ended(outcome, task.keep.is_some()))
}

/// Checks puzzles, or knows from an earlier run what came of it.
struct Checker<'a> {
    options: CheckOptions,
    means: Means<'a>,
    keep: Option<Keep>,
    /// Stands for all that a verdict depends on beside the puzzle.
    setting: Print,
}

impl Checker<'_> {
    fn new<'a>(task: &Check, means: Means<'a>) -> Result<Checker<'a>, Trouble> {
        let keep = task.keep.as_ref().map(|path| Keep::open(path, "check"));
        let options = CheckOptions {
            nodes: Some(task.effort.nodes),
            unchecked: task.unchecked,
            certificates: task.certificates.is_some(),
        };
        let asked = format!("{options:?} {:?}", task.endings.syzygy);
        Ok(Checker {
            options,
            means,
            setting: match keep {
                Some(_) => keep::print_of(&[&keep::program(), asked.as_bytes()]),
                None => Print::default(),
            },
            keep: keep.transpose()?,
        })
    }

    /// `None` if it was asked to stop before all was done.
    fn check(&self, item: &Item) -> Option<Result<Checked, Trouble>> {
        let place = item.entry.place.as_deref().unwrap_or_default().as_bytes();
        let print = |print: Print| keep::print_of(&[&self.setting, &print, place]);
        let keeping = self.keep.as_ref().zip(item.print.map(print));
        if let Some((keep, print)) = &keeping
            && let Some(known) = keep.get(print).pop()
        {
            return Some(Ok(known));
        }
        let checked = check_entry(&item.entry, &self.options, &self.means);
        if stop::asked() {
            return None;
        }
        let kept = keeping.map_or(Ok(()), |(keep, print)| keep.put(&print, &checked));
        Some(kept.map(|()| checked))
    }
}

/// Writes the files that go with a puzzle: its certificate, if it is asked for, which is
/// given back, and what our two programs disagree about.
fn files(
    task: &Check,
    entry: &Entry,
    checked: &Checked,
    folder: &mut Folder,
) -> Result<Option<Option<Certificate>>, Trouble> {
    let place = format!("{}, puzzle {}", entry.file, entry.number());
    if checked.given_up {
        let most = thousands(task.effort.nodes.saturating_mul(QUESTIONS));
        output::remark(&format!(
            "{place}: given up after {most} positions, the most for one puzzle (see --nodes)"
        ));
    }
    let written = match &checked.certified {
        Ok(Some(certified)) => Some(Some(folder.write(entry, certified)?)),
        Ok(None) => task.certificates.as_ref().map(|_| None),
        Err(sentence) => {
            output::complain(&format!("{place}: {sentence}"));
            Some(None)
        }
    };
    if let Second::Against(found) = &checked.report.second {
        let file = folder.write_disagreement(entry, found)?;
        output::complain(&disagreement(&place, &file));
    }
    Ok(written)
}

/// That our two programs disagree about a puzzle, and where it is written.
pub fn disagreement(place: &str, file: &str) -> String {
    format!("{place}: our two programs disagree: do not give this out; see {file}")
}

/// Keeps a progress bar moving while a proof runs, until it is asked to stop.
pub struct Ticking(pub ProgressBar);

impl Follow for Ticking {
    fn go_on(&self) -> bool {
        self.0.tick();
        !stop::asked()
    }
}

/// Keeps a progress bar moving, and counts what is done, until it is asked to stop.
pub struct Counting(pub ProgressBar);

impl Follow for Counting {
    fn go_on(&self) -> bool {
        self.0.tick();
        !stop::asked()
    }

    fn done(&self) {
        self.0.inc(1);
    }
}

/// What a task may use: so many threads, and the tables of this run.
pub fn means(threads: usize, follow: &dyn Follow) -> Means<'_> {
    Means {
        threads: threads.max(1),
        tables: tables::at_hand(),
        follow,
    }
}

/// Prints puzzles as they come, then what is due at the end.
struct Printer {
    out: terminal::Stdout,
    json: bool,
    counts: [usize; 3],
}

impl Printer {
    fn new(json: bool) -> Printer {
        Printer {
            out: terminal::stdout(),
            json,
            counts: [0; 3],
        }
    }

    fn puzzle(&mut self, row: &Row) -> Result<(), Trouble> {
        self.counts[row.verdict as usize] += 1;
        if self.json {
            return output::line(&mut self.out, row);
        }
        describe(&mut self.out, row)?;
        let stipulation = row.stipulation.as_deref();
        match (&row.certificate, stipulation.and_then(Stipulation::read)) {
            (Some(Some(written)), _) => writeln!(self.out, "  {}", certificate::line(written))?,
            (Some(None), Some(Stipulation::Forced(Aim::Mate | Aim::Gain(_), _)) | None)
            | (None, _) => {}
            (Some(None), Some(_)) => writeln!(
                self.out,
                "  no certificate: only mates, gains and draws by force are certified"
            )?,
        }
        Ok(())
    }

    fn end(mut self) -> Result<(), Trouble> {
        if !self.json && self.counts.iter().sum::<usize>() > 1 {
            let [sound, unsound, undecided] = self.counts;
            let all = counted(sound + unsound + undecided, "puzzle");
            writeln!(
                self.out,
                "{all}: {sound} sound, {unsound} unsound, {undecided} undecided"
            )?;
        }
        self.out.flush()?;
        Ok(())
    }
}
