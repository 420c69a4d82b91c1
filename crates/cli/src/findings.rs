//! What the checker found, ready to be shown: with its place in the file, as
//! text for people and as a row of JSON.

use std::io::Write;

use keyproof::check::{Finding, Report, Second, Weight};
use keyproof::draft::Resolution;
use keyproof::notation::{Place, TextFault, moves};
use serde::Serialize;
use shakmaty::Position;

use crate::input::Entry;
use crate::output::{self, BOLD, FAINT};

/// A finding as it is shown. Moves are in UCI.
#[derive(Serialize)]
pub struct Shown<'a> {
    kind: &'a str,
    weight: Weight,
    path: &'a [String],
    moves: &'a [String],
    line: &'a [String],
    message: String,
    place: Option<Place>,
    mends: Vec<&'a str>,
    /// The line in SAN.
    #[serde(skip)]
    san: String,
}

/// All findings of a puzzle: first the places where its text cannot be read,
/// then those of the checker.
pub fn shown<'a>(entry: &'a Entry, report: &'a Report, resolution: &Resolution) -> Vec<Shown<'a>> {
    let unreadable = entry.game.faults.iter().map(Shown::unreadable);
    let found = report
        .findings
        .iter()
        .map(|finding| Shown::found(finding, entry, resolution));
    unreadable.chain(found).collect()
}

/// Writes one puzzle as text, for people: the verdict, then each finding with
/// its place, what shows it, and how to mend it.
///
/// # Errors
/// Those of `out`.
pub fn describe(out: &mut impl Write, entry: &Entry, report: &Report) -> std::io::Result<()> {
    let (word, colour) = output::verdict(report.verdict);
    let stipulation = entry
        .game
        .draft
        .tag("Stipulation")
        .unwrap_or("no stipulation");
    writeln!(
        out,
        "{colour}{word:<9}{colour:#}  {BOLD}{}{BOLD:#}  {stipulation}  {FAINT}{} ({}){FAINT:#}",
        entry.title(),
        entry.file,
        entry.number()
    )?;
    for finding in shown(entry, report, &entry.game.draft.resolve()) {
        let place = finding
            .place
            .map_or_else(String::new, |p| format!("{}:{}: ", p.line, p.column));
        let kind = finding.kind.replace('_', " ");
        let weight = weight(finding.weight);
        writeln!(
            out,
            "    {place}{weight}, {BOLD}{kind}{BOLD:#}: {}",
            finding.message
        )?;
        if !finding.san.is_empty() {
            writeln!(out, "        line: {}", finding.san)?;
        }
        for mend in &finding.mends {
            writeln!(out, "        mend: {mend}")?;
        }
    }
    match &report.second {
        Second::Nothing | Second::Waiting | Second::Unreached(_) | Second::Against(_) => Ok(()),
        second => writeln!(out, "    {FAINT}{}{FAINT:#}", second.words()),
    }
}

impl<'a> Shown<'a> {
    fn found(finding: &'a Finding, entry: &Entry, resolution: &Resolution) -> Shown<'a> {
        Shown {
            kind: finding.kind.name(),
            weight: finding.weight,
            path: &finding.path,
            moves: &finding.moves,
            line: &finding.line,
            message: finding.message.clone(),
            place: place(finding, entry, resolution),
            mends: finding
                .mends
                .iter()
                .map(|mend| mend.label.as_str())
                .collect(),
            san: line(finding, resolution).unwrap_or_default(),
        }
    }

    fn unreadable(fault: &'a TextFault) -> Shown<'a> {
        Shown {
            kind: "unreadable_text",
            weight: Weight::Fault,
            path: &[],
            moves: &[],
            line: &[],
            message: format!("Expected {}, found {:?}.", fault.expected, fault.text),
            place: Some(fault.place),
            mends: vec![],
            san: String::new(),
        }
    }
}

/// Where a finding stands: at the first move at fault if the author wrote it,
/// else at the move before it.
fn place(finding: &Finding, entry: &Entry, resolution: &Resolution) -> Option<Place> {
    let draft = &entry.game.draft;
    let node = draft.node(finding.node)?;
    let at_fault = finding.moves.first().and_then(|mv| {
        node.children.iter().find(|child| {
            let played = resolution
                .steps
                .get(child.0 as usize)
                .and_then(Option::as_ref);
            match played {
                Some(step) => moves::uci(step.mv) == *mv,
                None => draft.node(**child).is_some_and(|child| child.text == *mv),
            }
        })
    });
    match at_fault {
        Some(&child) => draft.node(child)?.place,
        None => node.place,
    }
}

/// The line that shows a finding, in SAN.
fn line(finding: &Finding, resolution: &Resolution) -> Option<String> {
    let position = resolution.position(finding.node)?;
    let line = moves::read_ucis(position, &finding.line);
    (!line.is_empty()).then(|| moves::line(position, &line, position.fullmoves().get()))
}

fn weight(weight: Weight) -> &'static str {
    match weight {
        Weight::Fault => "fault",
        Weight::Remark => "remark",
        Weight::Open => "open",
    }
}
