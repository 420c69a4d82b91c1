//! What the command prints with: outcomes, troubles, colours, the progress bar.

use std::fmt;
use std::io::{self, Write};
use std::time::Instant;

use anstyle::{AnsiColor, Style};
use indicatif::{ProgressBar, ProgressStyle};
use keyproof::check::{Soundness, thousands};
use serde::Serialize;

use crate::terminal;

pub const BOLD: Style = Style::new().bold();
pub const FAINT: Style = Style::new().dimmed();

/// How a run ended; the number is the exit code.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Outcome {
    Sound = 0,
    Unsound = 1,
    Unreadable = 2,
    /// It was interrupted (128 and the number of the signal, as shells have it).
    Stopped = 130,
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

impl From<String> for Trouble {
    fn from(sentence: String) -> Trouble {
        Trouble::Input(sentence)
    }
}

impl From<keyproof_tasks::Trouble> for Trouble {
    fn from(trouble: keyproof_tasks::Trouble) -> Trouble {
        Trouble::Input(trouble.to_string())
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
    say(format_args!("{red}error:{red:#} {sentence}"));
}

/// Says on standard error what is worth knowing, though nothing is lost by it.
pub fn remark(sentence: &str) {
    let yellow = AnsiColor::Yellow.on_default().bold();
    say(format_args!("{yellow}note:{yellow:#} {sentence}"));
}

/// Says something on standard error. Where nobody listens any more, work goes on.
pub fn say(sentence: fmt::Arguments) {
    let _ = writeln!(terminal::stderr(), "{sentence}");
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

/// How far a stream is: how much is done, how fast, and how long the rest may take. A
/// line on standard error; invisible unless that is a terminal.
pub struct Progress {
    pub bar: ProgressBar,
    thing: &'static str,
    done: u64,
    /// Bytes of the input behind which all is done.
    way: u64,
    total: Option<u64>,
    begin: Instant,
}

impl Progress {
    /// Of an input of so many bytes, if that is known.
    pub fn of(total: Option<u64>, thing: &'static str) -> Progress {
        let template = match total {
            Some(_) => "{bar:24} {msg}",
            None => "{spinner} {msg}",
        };
        let style = ProgressStyle::with_template(template)
            .expect("a template that parses")
            .progress_chars("=> ");
        let bar = match total {
            Some(total) => ProgressBar::new(total),
            None => ProgressBar::new_spinner(),
        };
        Progress {
            bar: bar.with_style(style),
            thing,
            done: 0,
            way: 0,
            total,
            begin: Instant::now(),
        }
    }

    /// One more is done, which ends `way` bytes into the input.
    pub fn add(&mut self, way: u64) {
        self.done += 1;
        self.way = self.way.max(way);
        if !self.bar.is_hidden() {
            self.bar.set_position(self.way);
            self.bar
                .set_message(self.words(self.begin.elapsed().as_secs_f64()));
        }
    }

    /// "12,345 puzzles, 51 a second, about 3 min to go".
    fn words(&self, seconds: f64) -> String {
        let things = match self.done {
            1 => format!("1 {}", self.thing),
            many => format!("{} {}s", thousands(many), self.thing),
        };
        let rate = self.done as f64 / seconds.max(1e-3);
        let rate = match rate {
            10.0.. => format!("{} a second", thousands(rate as u64)),
            1.0.. => format!("{rate:.1} a second"),
            _ => format!("{:.1} a minute", rate * 60.0),
        };
        let left = self.total.filter(|_| seconds >= 1.0 && self.way > 0);
        let left = left.map_or(String::new(), |total| {
            let rest = total.saturating_sub(self.way) as f64;
            format!(", about {} to go", time(seconds * rest / self.way as f64))
        });
        format!("{things}, {rate}{left}")
    }
}

/// "40 s", "3 min", "2 h 5 min".
fn time(seconds: f64) -> String {
    let whole = seconds.ceil() as u64;
    match whole {
        0..90 => format!("{whole} s"),
        90..5400 => format!("{} min", whole.div_ceil(60)),
        _ => format!("{} h {} min", whole / 3600, whole % 3600 / 60),
    }
}

/// Prints one of many results for programs, a line.
pub fn line<T: Serialize>(out: &mut impl Write, result: &T) -> Result<(), Trouble> {
    let mut text = serde_json::to_vec(result)?;
    text.push(b'\n');
    Ok(out.write_all(&text)?)
}

/// Prints a result on standard output: as JSON if asked, else in words.
pub fn print<T: Serialize>(
    json: bool,
    result: &T,
    describe: impl FnOnce(&mut terminal::Stdout) -> std::io::Result<()>,
) -> Result<(), Trouble> {
    let mut out = terminal::stdout();
    if json {
        serde_json::to_writer(&mut out, result)?;
        writeln!(out)?;
    } else {
        describe(&mut out)?;
    }
    Ok(out.flush()?)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn progress_tells_rate_and_time_to_go() {
        let mut progress = Progress::of(Some(1000), "puzzle");
        progress.add(10);
        assert_eq!(progress.words(0.5), "1 puzzle, 2.0 a second");
        (progress.done, progress.way) = (12_345, 250);
        let told = "12,345 puzzles, 1,234 a second, about 30 s to go";
        assert_eq!(progress.words(10.0), told);
        (progress.done, progress.way) = (1, 1);
        let told = "1 puzzle, 1.0 a minute, about 16 h 39 min to go";
        assert_eq!(progress.words(60.0), told);
        progress.total = None;
        assert_eq!(progress.words(60.0), "1 puzzle, 1.0 a minute");
    }
}
