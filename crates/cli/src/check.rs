//! `keyproof check`: one verdict per puzzle, with its findings.

use std::io::Write;
use std::path::Path;

use indicatif::ProgressBar;
use keyproof::aim::Aim;
use keyproof::check::{Report, Second, Soundness};
use keyproof::prove::Watch;
use keyproof::puzzle::Stipulation;
use serde::Serialize;

use crate::arguments::Check;
use crate::certificate::{self, Folder, Written};
use crate::findings::{Shown, describe, shown};
use crate::input::{self, Entry};
use crate::judge::{How, judge};
use crate::output::{self, Outcome, Trouble, counted};
use crate::workers::{cores, in_order};

/// Checks every puzzle of the files named, and prints in input order.
pub fn run(task: &Check) -> Result<Outcome, Trouble> {
    let mut input = input::read(&task.files);
    let puzzles = input.puzzles();
    for fault in &input.faults {
        output::complain(fault);
    }
    let mut outcome = match input.faults.is_empty() {
        true => Outcome::Sound,
        false => Outcome::Unreadable,
    };
    let mut folder = match &task.certificates {
        Some(path) => Folder::open(path)?,
        None => Folder::open(Path::new("."))?,
    };
    let bar = output::progress(puzzles.len(), "puzzle");
    let mut printer = Printer::new(task.json);
    let side_by_side = cores().min(puzzles.len().max(1));
    in_order(
        &puzzles,
        side_by_side,
        || (),
        |(), entry| {
            let watch = || Ticking(bar.clone());
            let how = How {
                nodes: task.effort.nodes,
                threads: cores() / side_by_side,
                unchecked: task.unchecked,
            };
            let judged = judge(&entry.game, how, watch);
            let certified = match task.certificates {
                Some(_) => certificate::of_puzzle(entry, &judged.heard),
                None => Ok(None),
            };
            (judged.report, certified)
        },
        |entry, (report, certified)| {
            if report.verdict != Soundness::Sound {
                outcome = outcome.max(Outcome::Unsound);
            }
            if !entry.game.faults.is_empty() {
                outcome = Outcome::Unreadable;
            }
            bar.inc(1);
            let place = format!("{}, puzzle {}", entry.file, entry.number());
            let written = match certified {
                Ok(Some(certified)) => Some(Some(folder.write(entry, &certified)?)),
                Ok(None) => task.certificates.as_ref().map(|_| None),
                Err(sentence) => {
                    bar.suspend(|| output::complain(&format!("{place}: {sentence}")));
                    outcome = outcome.max(Outcome::Unsound);
                    Some(None)
                }
            };
            if let Second::Against(found) = &report.second {
                let file = folder.write_disagreement(entry, found)?;
                bar.suspend(|| output::complain(&disagreement(&place, &file)));
            }
            bar.suspend(|| printer.puzzle(entry, &report, written))
        },
    )?;
    bar.finish_and_clear();
    printer.end()?;
    Ok(outcome)
}

/// That our two programs disagree about a puzzle, and where it is written.
pub fn disagreement(place: &str, file: &str) -> String {
    format!("{place}: our two programs disagree: do not give this out; see {file}")
}

/// Keeps a progress bar moving while a proof runs.
pub struct Ticking(pub ProgressBar);

impl Watch for Ticking {
    fn go_on(&mut self, _nodes: u64, _share: f32) -> bool {
        self.0.tick();
        true
    }
}

/// Prints puzzles as they come, then what is due at the end.
struct Printer {
    out: anstream::Stdout,
    json: bool,
    counts: [usize; 3],
}

impl Printer {
    fn new(json: bool) -> Printer {
        Printer {
            out: anstream::stdout(),
            json,
            counts: [0; 3],
        }
    }

    fn puzzle(
        &mut self,
        entry: &Entry,
        report: &Report,
        certificate: Option<Option<Written>>,
    ) -> Result<(), Trouble> {
        let first = self.counts == [0; 3];
        self.counts[report.verdict as usize] += 1;
        if self.json {
            self.out.write_all(if first { b"[\n" } else { b",\n" })?;
            serde_json::to_writer(&mut self.out, &Row::new(entry, report, certificate))?;
        } else {
            describe(&mut self.out, entry, report)?;
            let stipulation = entry.game.draft.tag("Stipulation");
            match (certificate, stipulation.and_then(Stipulation::read)) {
                (Some(Some(written)), _) => writeln!(self.out, "  {}", written.line())?,
                (Some(None), Some(Stipulation::Forced(Aim::Mate | Aim::Gain(_), _)) | None)
                | (None, _) => {}
                (Some(None), Some(_)) => writeln!(
                    self.out,
                    "  no certificate: only mates and gains are certified"
                )?,
            }
        }
        Ok(())
    }

    fn end(mut self) -> Result<(), Trouble> {
        if self.json {
            self.out.write_all(if self.counts == [0; 3] {
                b"[]\n"
            } else {
                b"\n]\n"
            })?;
        } else if self.counts.iter().sum::<usize>() > 1 {
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

/// A puzzle in the JSON output.
#[derive(Serialize)]
struct Row<'a> {
    file: &'a str,
    index: usize,
    /// The moment of the lesson it stands at, if it does.
    #[serde(skip_serializing_if = "Option::is_none")]
    place: Option<&'a str>,
    title: String,
    stipulation: Option<&'a str>,
    verdict: Soundness,
    findings: Vec<Shown<'a>>,
    nodes: u64,
    /// What the independent checker says.
    second: &'a Second,
    /// The certificate asked for, if it could be written.
    #[serde(skip_serializing_if = "Option::is_none")]
    certificate: Option<Option<Written>>,
}

impl<'a> Row<'a> {
    fn new(entry: &'a Entry, report: &'a Report, certificate: Option<Option<Written>>) -> Row<'a> {
        Row {
            file: &entry.file,
            index: entry.index,
            place: entry.place.as_deref(),
            title: entry.title(),
            stipulation: entry.game.draft.tag("Stipulation"),
            verdict: report.verdict,
            findings: shown(entry, report, &entry.game.draft.resolve()),
            nodes: report.nodes,
            second: &report.second,
            certificate,
        }
    }
}
