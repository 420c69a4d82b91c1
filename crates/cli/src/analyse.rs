//! `keyproof analyse`: what a position is worth, and why.

use std::io::Write;

use keyproof::check::thousands;
use keyproof::explain::with_proof;
use keyproof::search::Grade;
use keyproof_tasks::{AnalyseOptions, Analysis, BestLine, analyse_position, position};
use shakmaty::{Chess, Position};

use crate::arguments::Analyse;
use crate::check::{Ticking, means};
use crate::output::{self, BOLD, FAINT, Outcome, Trouble};

/// Searches a position and explains what was found.
pub fn run(task: &Analyse) -> Result<Outcome, Trouble> {
    let position = position(&task.fen)?;
    let bar = output::progress(0, "line");
    let options = AnalyseOptions {
        lines: task.lines,
        nodes: task.nodes,
    };
    let sheet = analyse_position(&position, &options, &means(1, &Ticking(bar.clone())));
    bar.finish_and_clear();
    let sheet = sheet?;
    output::print(task.json, &sheet, |out| describe(out, &position, &sheet))?;
    Ok(Outcome::Sound)
}

/// "+1.35", "mates in 3".
fn worth(line: &BestLine) -> String {
    match (line.value, line.mate) {
        (Some(value), _) => format!("{:+.2}", f64::from(value) / 100.0),
        (_, Some(n)) if n > 0 => format!("mates in {n}"),
        (_, Some(n)) => format!("is mated in {}", -n),
        _ => String::new(),
    }
}

fn known(line: &BestLine) -> String {
    match line.grade {
        Grade::Proved => "proved by one program".to_owned(),
        Grade::Table => "by table".to_owned(),
        Grade::Searched => format!("searched to depth {}", line.depth),
    }
}

fn describe(out: &mut impl Write, position: &Chess, sheet: &Analysis) -> std::io::Result<()> {
    let side = format!("{:?}", position.turn());
    for (i, shown) in sheet.lines.iter().enumerate() {
        let (bold, end) = match i {
            0 => (format!("{BOLD}"), format!("{BOLD:#}")),
            _ => Default::default(),
        };
        let worth = match shown.value {
            Some(_) => format!("{} for {side}", worth(shown)),
            None => format!("{side} {}", worth(shown)),
        };
        writeln!(out, "{bold}{:<8}{end} {worth}, {}", shown.san, known(shown))?;
        writeln!(out, "         {FAINT}{}{FAINT:#}", shown.text)?;
    }
    let told = &sheet.explanation;
    for (i, said) in told.gist.iter().enumerate() {
        let head = if i == 0 { "in short" } else { "" };
        writeln!(out, "{head:<8} {}", said.sentence)?;
    }
    for why in told.whys.iter().filter(|why| !why.threat) {
        let move_number = match why.at {
            0 => String::new(),
            at => format!("later, at move {}: ", at + 1),
        };
        writeln!(out, "why      {move_number}{}: {}", why.title, why.sentence)?;
    }
    for why in told.whys.iter().filter(|why| why.threat) {
        writeln!(out, "then     {}", why.sentence)?;
    }
    if !told.standing.is_empty() {
        writeln!(out, "now      {}", told.standing)?;
    }
    for (head, threats) in [("now", &told.before), ("then", &told.after)] {
        for threat in &threats.threats {
            if let Some(proof) = &threat.proof {
                writeln!(
                    out,
                    "{FAINT}{head:<8} {}: {}{FAINT:#}",
                    threat.san,
                    proof.words()
                )?;
            }
        }
    }
    for tried in &told.tries {
        let rules: Vec<&str> = tried.allures.iter().map(|a| a.title()).collect();
        let shows = match tried.shows_at {
            Some(depth) => format!("shows its fault at depth {depth}"),
            None => "looks good at every depth searched".to_owned(),
        };
        let rules = match rules.is_empty() {
            true => shows,
            false => format!("{}; {shows}", rules.join(", ")),
        };
        let told = with_proof(&tried.sentence, tried.proof.as_ref());
        writeln!(out, "tempting {told} {FAINT}({rules}){FAINT:#}")?;
    }
    if told.difficulty.level > 0 {
        writeln!(out, "{}", told.difficulty.sentence())?;
    }
    writeln!(out, "{FAINT}{} positions{FAINT:#}", thousands(sheet.nodes))
}
