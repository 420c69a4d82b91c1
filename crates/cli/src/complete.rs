//! `keyproof complete`: every defence answered.

use std::io::Write;
use std::path::Path;

use keyproof::notation::pgn_write;

use crate::arguments::Complete;
use crate::check::Ticking;
use crate::input;
use crate::judge::complete;
use crate::output::{self, Outcome, Trouble, counted};

/// Fills in the best answer to each unanswered defence and writes the PGN.
pub fn run(task: &Complete) -> Result<Outcome, Trouble> {
    let input = input::read(std::slice::from_ref(&task.file));
    if !input.faults.is_empty() {
        return Err(Trouble::Input(input.faults.join("\n")));
    }
    // What was not read would be lost in what is written.
    if let Some(entry) = input.entries.iter().find(|e| !e.game.faults.is_empty()) {
        let fault = &entry.game.faults[0];
        return Err(Trouble::Input(format!(
            "{}:{}:{}: expected {}, found {:?}; nothing was written",
            entry.file, fault.place.line, fault.place.column, fault.expected, fault.text
        )));
    }
    let bar = output::progress(input.entries.len(), "puzzle");
    let mut text = String::new();
    let mut told = Vec::new();
    for entry in &input.entries {
        let watch = || Ticking(bar.clone());
        let (draft, answered) = complete(&entry.game.draft, task.effort.nodes, watch);
        text.push_str(&pgn_write::write(&draft));
        told.push(format!(
            "{}: {} answered",
            entry.title(),
            counted(answered, "defence")
        ));
        bar.inc(1);
    }
    bar.finish_and_clear();
    match &task.output {
        Some(path) if path != Path::new("-") => {
            std::fs::write(path, &text)
                .map_err(|fault| Trouble::Input(format!("{}: {fault}", path.display())))?;
        }
        _ => std::io::stdout().lock().write_all(text.as_bytes())?,
    }
    for line in told {
        anstream::eprintln!("{line}");
    }
    Ok(Outcome::Sound)
}
