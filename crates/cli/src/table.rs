//! `keyproof table`: the exact result of an ending, from a table that is made
//! where none is kept.

use std::io::Write;
use std::time::Instant;

use keyproof_tasks::{Ending, EndingResult, position, table_position};
use serde::Serialize;
use shakmaty::{Chess, Color, Position};

use crate::arguments::Table;
use crate::check::{Ticking, means};
use crate::output::{self, BOLD, FAINT, Outcome, Trouble, counted};

/// Makes the tables that the position needs and tells what they know of it.
pub fn run(task: &Table) -> Result<Outcome, Trouble> {
    let position = position(&task.fen)?;
    let begun = Instant::now();
    let bar = output::progress(0, "table");
    let ending = table_position(&position, &means(1, &Ticking(bar.clone())));
    bar.finish_and_clear();
    let sheet = Timed {
        ending: ending?,
        milliseconds: begun.elapsed().as_millis(),
    };
    output::print(task.json, &sheet, |out| describe(out, &position, &sheet))?;
    Ok(Outcome::Sound)
}

#[derive(Serialize)]
struct Timed {
    #[serde(flatten)]
    ending: Ending,
    milliseconds: u128,
}

/// "White mates in 12 moves", "draw".
fn words(result: EndingResult, turn: Color) -> String {
    let winner = match result.result {
        "win" => turn,
        _ => !turn,
    };
    match result.mate {
        Some(0) => format!("{winner:?} has mated"),
        Some(n) => format!("{winner:?} mates in {}", counted(n.into(), "move")),
        None if result.result != "draw" => format!("{winner:?} wins"),
        None if result.by_rule => "draw by the fifty-move rule alone".to_owned(),
        None => "draw".to_owned(),
    }
}

fn describe(out: &mut impl Write, position: &Chess, sheet: &Timed) -> std::io::Result<()> {
    let turn = position.turn();
    let headline = match position.is_stalemate() {
        true => "draw: stalemate".to_owned(),
        false => words(sheet.ending.result, turn),
    };
    writeln!(out, "{BOLD}{headline}{BOLD:#}, by endgame table")?;
    let best = sheet.ending.moves.first().map(|m| m.result);
    for judged in &sheet.ending.moves {
        let mark = if Some(judged.result) == best {
            '*'
        } else {
            ' '
        };
        writeln!(
            out,
            "  {mark} {:<8} {}",
            judged.san,
            words(judged.result, turn)
        )?;
    }
    let made = match &sheet.ending.tables[..] {
        [] => "no table had to be made".to_owned(),
        names => format!("made: {}", names.join(", ")),
    };
    let seconds = sheet.milliseconds as f64 / 1000.0;
    writeln!(out, "{FAINT}{made}; {seconds:.2} s{FAINT:#}")
}
