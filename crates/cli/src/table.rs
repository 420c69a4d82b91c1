//! `keyproof table`: the exact result of an ending, from a table made on the
//! spot.

use std::io::Write;
use std::time::Instant;

use keyproof::notation::{fen, moves};
use keyproof::tables::{Material, TableResult, Tables};
use serde::Serialize;
use shakmaty::{Chess, Color, Position};

use crate::arguments::Table;
use crate::check::Ticking;
use crate::input::position;
use crate::output::{self, BOLD, FAINT, Outcome, Trouble, counted};

/// Makes the tables that the position needs and tells what they know of it.
pub fn run(task: &Table) -> Result<Outcome, Trouble> {
    let position = position(&task.fen)?;
    let material = Material::of(&position).ok_or_else(|| {
        let men = position.board().occupied().count();
        Trouble::Input(match men {
            0..=4 => "no table: a side may still castle, which tables do not cover".into(),
            _ => format!("no table: there are {men} men on the board, and tables go up to four"),
        })
    })?;
    let begun = Instant::now();
    let mut tables = Tables::new();
    let made = tables.missing(material);
    let bar = output::progress(0, "table");
    let watch = &mut Ticking(bar.clone());
    let result = tables.probe(&position, watch);
    let judged = tables.best_moves(&position, watch);
    bar.finish_and_clear();
    let (Some(result), Some(judged)) = (result, judged) else {
        return Err(Trouble::Input(
            "no table: this position cannot be looked up".into(),
        ));
    };
    let sheet = Sheet {
        fen: fen::write(&position),
        result: Shown::new(result),
        moves: judged
            .iter()
            .map(|&(mv, result)| Judged {
                uci: moves::uci(mv),
                san: moves::san(&position, mv),
                result: Shown::new(result),
            })
            .collect(),
        tables: made.iter().map(Material::to_string).collect(),
        milliseconds: begun.elapsed().as_millis(),
    };
    output::print(task.json, &sheet, |out| describe(out, &position, &sheet))?;
    Ok(Outcome::Sound)
}

#[derive(Serialize)]
struct Sheet {
    fen: String,
    #[serde(flatten)]
    result: Shown,
    /// The best first.
    moves: Vec<Judged>,
    /// The tables that were made for it.
    tables: Vec<String>,
    milliseconds: u128,
}

#[derive(Serialize)]
struct Judged {
    uci: String,
    san: String,
    #[serde(flatten)]
    result: Shown,
}

/// A result from the side to move.
#[derive(Clone, Copy, PartialEq, Eq, Serialize)]
struct Shown {
    result: &'static str,
    /// Moves to the mate, the winner's.
    mate: Option<u16>,
}

impl Shown {
    fn new(result: TableResult) -> Shown {
        match result {
            TableResult::Win(n) => Shown {
                result: "win",
                mate: Some(n),
            },
            TableResult::Draw => Shown {
                result: "draw",
                mate: None,
            },
            TableResult::Loss(n) => Shown {
                result: "loss",
                mate: Some(n),
            },
        }
    }

    /// "White mates in 12 moves", "draw".
    fn words(self, turn: Color) -> String {
        let winner = match self.result {
            "win" => turn,
            _ => !turn,
        };
        match self.mate {
            Some(0) => format!("{winner:?} has mated"),
            Some(n) => format!("{winner:?} mates in {}", counted(n.into(), "move")),
            None => "draw".to_owned(),
        }
    }
}

fn describe(out: &mut impl Write, position: &Chess, sheet: &Sheet) -> std::io::Result<()> {
    let turn = position.turn();
    let headline = match position.is_stalemate() {
        true => "draw: stalemate".to_owned(),
        false => sheet.result.words(turn),
    };
    writeln!(out, "{BOLD}{headline}{BOLD:#}, by endgame table")?;
    let best = sheet.moves.first().map(|m| m.result);
    for judged in &sheet.moves {
        let mark = if Some(judged.result) == best {
            '*'
        } else {
            ' '
        };
        writeln!(
            out,
            "  {mark} {:<8} {}",
            judged.san,
            judged.result.words(turn)
        )?;
    }
    let made = match &sheet.tables[..] {
        [] => "no table was needed".to_owned(),
        names => format!("made: {}", names.join(", ")),
    };
    let seconds = sheet.milliseconds as f64 / 1000.0;
    writeln!(out, "{FAINT}{made}; {seconds:.2} s{FAINT:#}")
}
