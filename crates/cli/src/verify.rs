//! `keyproof verify`: is a certificate a proof?

use std::io::{Read, Write};
use std::path::Path;

use anstyle::AnsiColor;
use keyproof::check::thousands;
use keyproof_tasks::{Verification, verify};

use crate::arguments::Verify;
use crate::output::{self, FAINT, Outcome, Trouble};
use crate::terminal;

/// Checks every file named, in order.
pub fn run(task: &Verify) -> Result<Outcome, Trouble> {
    let mut outcome = Outcome::Sound;
    let mut out = terminal::stdout();
    let mut rows = Vec::new();
    for file in &task.files {
        let name = file.display().to_string();
        let text = match read(file) {
            Ok(text) => text,
            Err(fault) => {
                output::complain(&format!("{name}: {fault}"));
                outcome = Outcome::Unreadable;
                continue;
            }
        };
        let mut row = verify(&text);
        row.file = name;
        if !row.is_accepted() {
            outcome = outcome.max(Outcome::Unsound);
        }
        match task.json {
            true => rows.push(row),
            false => describe(&mut out, &row)?,
        }
    }
    if task.json {
        serde_json::to_writer(&mut out, &rows)?;
        writeln!(out)?;
    }
    out.flush()?;
    Ok(outcome)
}

fn read(file: &Path) -> std::io::Result<String> {
    if file == Path::new("-") {
        let mut text = String::new();
        std::io::stdin().lock().read_to_string(&mut text)?;
        return Ok(text);
    }
    std::fs::read_to_string(file)
}

fn describe(out: &mut impl Write, row: &Verification) -> std::io::Result<()> {
    let colour = match row.is_accepted() {
        true => AnsiColor::Green,
        false => AnsiColor::Red,
    };
    let colour = colour.on_default().bold();
    writeln!(out, "{}: {colour}{}{colour:#}", row.file, row.status)?;
    for sentence in &row.sentences {
        writeln!(out, "  {sentence}")?;
    }
    if row.is_accepted() {
        let positions = thousands(row.positions as u64);
        writeln!(out, "  {FAINT}{positions} positions checked{FAINT:#}")?;
    }
    Ok(())
}
