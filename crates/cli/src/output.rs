//! What the command prints with: outcomes, troubles, colours, the progress bar.

use std::fmt;
use std::io::{self, Write};

use anstyle::{AnsiColor, Style};
use indicatif::{ProgressBar, ProgressStyle};
use keyproof::check::Soundness;
use serde::Serialize;

pub const BOLD: Style = Style::new().bold();
pub const FAINT: Style = Style::new().dimmed();

/// How a run ended; the number is the exit code.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Outcome {
    Sound = 0,
    Unsound = 1,
    Unreadable = 2,
}

/// Why a run could not go on.
#[derive(Debug)]
pub enum Trouble {
    /// Input that cannot be read; a sentence that names the place.
    Input(String),
    /// Standard output cannot be written.
    Output(io::Error),
}

impl From<io::Error> for Trouble {
    fn from(fault: io::Error) -> Trouble {
        Trouble::Output(fault)
    }
}

impl From<serde_json::Error> for Trouble {
    fn from(fault: serde_json::Error) -> Trouble {
        Trouble::Output(fault.into())
    }
}

impl fmt::Display for Trouble {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        match self {
            Trouble::Input(sentence) => f.write_str(sentence),
            Trouble::Output(fault) => write!(f, "cannot write: {fault}"),
        }
    }
}

/// Says on standard error what is wrong.
pub fn complain(sentence: &str) {
    let red = AnsiColor::Red.on_default().bold();
    anstream::eprintln!("{red}error:{red:#} {sentence}");
}

/// Says on standard error what is worth knowing, though nothing is lost by it.
pub fn remark(sentence: &str) {
    let yellow = AnsiColor::Yellow.on_default().bold();
    anstream::eprintln!("{yellow}note:{yellow:#} {sentence}");
}

/// A verdict as its word and its colour.
pub fn verdict(verdict: Soundness) -> (&'static str, Style) {
    match verdict {
        Soundness::Sound => ("sound", AnsiColor::Green.on_default().bold()),
        Soundness::Unsound => ("unsound", AnsiColor::Red.on_default().bold()),
        Soundness::Undecided => ("undecided", AnsiColor::Yellow.on_default().bold()),
    }
}

/// "1 puzzle", "2 puzzles".
pub fn counted(count: usize, thing: &str) -> String {
    match count {
        1 => format!("1 {thing}"),
        _ => format!("{count} {thing}s"),
    }
}

/// A progress bar on standard error; invisible unless that is a terminal.
pub fn progress(length: usize, thing: &'static str) -> ProgressBar {
    let style = ProgressStyle::with_template(&format!(
        "{{bar:24}} {{pos}} of {{len}} {thing}s {{msg}} {{elapsed}}"
    ))
    .expect("a template that parses")
    .progress_chars("=> ");
    ProgressBar::new(length as u64).with_style(style)
}

/// Prints a result on standard output: as JSON if asked, else in words.
pub fn print<T: Serialize>(
    json: bool,
    result: &T,
    describe: impl FnOnce(&mut anstream::Stdout) -> std::io::Result<()>,
) -> Result<(), Trouble> {
    let mut out = anstream::stdout();
    if json {
        serde_json::to_writer(&mut out, result)?;
        writeln!(out)?;
    } else {
        describe(&mut out)?;
    }
    Ok(out.flush()?)
}
