//! `keyproof verify`: is a certificate a proof?

use std::io::{Read, Write};
use std::path::Path;

use anstyle::AnsiColor;
use keyproof::notation::fen;
use keyproof_certify::{Accepted, Kind, Rejected};
use serde::Serialize;
use shakmaty::CastlingMode;

use crate::arguments::Verify;
use crate::output::{self, FAINT, Outcome, Trouble};
use keyproof::check::thousands;

/// Checks every file named, in order.
pub fn run(task: &Verify) -> Result<Outcome, Trouble> {
    let mut outcome = Outcome::Sound;
    let mut out = anstream::stdout();
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
        let found = keyproof_certify::verify(carried(&text).unwrap_or(&text));
        if found.is_err() {
            outcome = outcome.max(Outcome::Unsound);
        }
        match task.json {
            true => rows.push(Row::new(name, &found)),
            false => describe(&mut out, &name, &found)?,
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

/// The certificates that a published page carries. They hold nothing that a
/// page would write otherwise.
fn carried(page: &str) -> Option<&str> {
    let (_, rest) = page.split_once(" id=\"keyproof-certificates\">\n")?;
    rest.split_once("</script>").map(|(text, _)| text)
}

fn describe(
    out: &mut impl Write,
    name: &str,
    found: &Result<Accepted, Rejected>,
) -> std::io::Result<()> {
    match found {
        Ok(accepted) => {
            let green = AnsiColor::Green.on_default().bold();
            writeln!(out, "{name}: {green}accepted{green:#}")?;
            for claim in &accepted.claims {
                writeln!(out, "  {claim}")?;
            }
            let positions = thousands(accepted.positions as u64);
            writeln!(out, "  {FAINT}{positions} positions checked{FAINT:#}")
        }
        Err(rejected) => {
            let red = AnsiColor::Red.on_default().bold();
            writeln!(out, "{name}: {red}rejected{red:#}")?;
            writeln!(out, "  {rejected}")
        }
    }
}

/// A file in the JSON output.
#[derive(Serialize)]
struct Row {
    file: String,
    status: &'static str,
    claims: Vec<Claim>,
    positions: usize,
    /// Where and why it is rejected.
    #[serde(skip_serializing_if = "Option::is_none")]
    line: Option<usize>,
    #[serde(skip_serializing_if = "Option::is_none")]
    reason: Option<String>,
}

#[derive(Serialize)]
struct Claim {
    fen: String,
    kind: &'static str,
    mate: usize,
    moves: Vec<String>,
}

impl Row {
    fn new(file: String, found: &Result<Accepted, Rejected>) -> Row {
        let mut row = Row {
            file,
            status: "rejected",
            claims: Vec::new(),
            positions: 0,
            line: None,
            reason: None,
        };
        match found {
            Ok(accepted) => {
                row.status = "accepted";
                row.claims = accepted.claims.iter().map(Claim::new).collect();
                row.positions = accepted.positions;
            }
            Err(rejected) => {
                row.line = Some(rejected.line);
                row.reason = Some(rejected.reason.clone());
            }
        }
        row
    }
}

impl Claim {
    fn new(claim: &keyproof_certify::Claim) -> Claim {
        let uci = |m: &shakmaty::Move| m.to_uci(CastlingMode::Standard).to_string();
        Claim {
            fen: fen::write(&claim.position),
            kind: match claim.kind {
                Kind::Forces => "mate",
                Kind::Only => "only",
            },
            mate: claim.moves,
            moves: claim.firsts.iter().map(uci).collect(),
        }
    }
}
