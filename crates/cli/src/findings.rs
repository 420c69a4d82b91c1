//! What the checker found, as text for people.

use std::io::Write;

use keyproof::check::{Second, Weight};
use keyproof_tasks::Row;

use crate::output::{self, BOLD, FAINT};

/// Writes one puzzle as text, for people: the verdict, then each finding with
/// its place, what shows it, and how to mend it.
///
/// # Errors
/// Those of `out`.
pub fn describe(out: &mut impl Write, row: &Row) -> std::io::Result<()> {
    let (word, colour) = output::verdict(row.verdict);
    let stipulation = row.stipulation.as_deref().unwrap_or("no stipulation");
    writeln!(
        out,
        "{colour}{word:<9}{colour:#}  {BOLD}{}{BOLD:#}  {stipulation}  {FAINT}{} ({}){FAINT:#}",
        row.title,
        row.file,
        row.number()
    )?;
    for finding in &row.findings {
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
    match &row.second {
        Second::Nothing | Second::Waiting | Second::Unreached(_) | Second::Against(_) => Ok(()),
        second => writeln!(out, "    {FAINT}{}{FAINT:#}", second.words()),
    }
}

fn weight(weight: Weight) -> &'static str {
    match weight {
        Weight::Fault => "fault",
        Weight::Remark => "remark",
        Weight::Open => "open",
    }
}
