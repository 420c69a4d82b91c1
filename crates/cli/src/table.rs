//! `keyproof table`: the exact result of an ending, from a table that is made
//! where none is kept.

use std::io::Write;
use std::time::Instant;

use keyproof::notation::{fen, moves};
use keyproof::tables::{Exact, Material, Outcome as Ending, TableResult, Tables};
use serde::Serialize;
use shakmaty::{Chess, Color, Move, Position};

use crate::arguments::Table;
use crate::check::Ticking;
use crate::input::position;
use crate::output::{self, BOLD, FAINT, Outcome, Trouble, counted};
use crate::tables;

/// Makes the tables that the position needs and tells what they know of it.
pub fn run(task: &Table) -> Result<Outcome, Trouble> {
    let position = position(&task.fen)?;
    let begun = Instant::now();
    let mut tables = tables::at_hand();
    let bar = output::progress(0, "table");
    let watch = &mut Ticking(bar.clone());
    let known = match Material::of(&position) {
        Some(_) => by_distance(&mut tables, &position, watch),
        None => by_files(&mut tables, &position, watch),
    };
    bar.finish_and_clear();
    let (result, judged) = known.ok_or_else(|| unknown(&position))?;
    let sheet = Sheet {
        fen: fen::write(&position),
        result,
        moves: judged
            .iter()
            .map(|&(mv, result)| Judged {
                uci: moves::uci(mv),
                san: moves::san(&position, mv),
                result,
            })
            .collect(),
        tables: tables.made_anew().iter().map(Material::to_string).collect(),
        milliseconds: begun.elapsed().as_millis(),
    };
    output::print(task.json, &sheet, |out| describe(out, &position, &sheet))?;
    Ok(Outcome::Sound)
}

type Results = (Shown, Vec<(Move, Shown)>);

/// What our own tables tell: moves to mate, whatever the fifty-move rule says.
fn by_distance(tables: &mut Tables, position: &Chess, watch: &mut Ticking) -> Option<Results> {
    let result = tables.probe(position, watch)?;
    let judged = tables.best_moves(position, watch)?;
    let judged = judged
        .into_iter()
        .map(|(m, result)| (m, Shown::new(result)));
    Some((Shown::new(result), judged.collect()))
}

/// What Syzygy files tell: who wins under the fifty-move rule.
fn by_files(tables: &mut Tables, position: &Chess, watch: &mut Ticking) -> Option<Results> {
    let exact = tables.exact(position, watch)?;
    let mut judged = tables.exact_moves(position, watch)?;
    let best = tables.best(position);
    judged.sort_by_key(|&(m, exact)| {
        let outcome = match exact.outcome {
            Ending::Win => 0,
            Ending::Draw => 1,
            Ending::Loss => 2,
        };
        (outcome, Some(m) != best)
    });
    let judged = judged.into_iter().map(|(m, exact)| (m, Shown::of(exact)));
    Some((Shown::of(exact), judged.collect()))
}

fn unknown(position: &Chess) -> Trouble {
    let men = position.board().occupied().count();
    Trouble::Input(match position.castles().is_empty() {
        false => "no table: a side may still castle, which tables do not cover".into(),
        true if men <= 4 => "no table: this position cannot be looked up".into(),
        true => format!(
            "no table: there are {men} men on the board; tables go up to four, and with \
             Syzygy files (--syzygy) up to seven"
        ),
    })
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
    /// A draw by the fifty-move rule alone.
    by_rule: bool,
}

impl Shown {
    fn of(exact: Exact) -> Shown {
        Shown {
            result: match exact.outcome {
                Ending::Win => "win",
                Ending::Draw => "draw",
                Ending::Loss => "loss",
            },
            mate: exact.mate,
            by_rule: exact.by_rule,
        }
    }

    fn new(result: TableResult) -> Shown {
        let (result, mate) = match result {
            TableResult::Win(n) => ("win", Some(n)),
            TableResult::Draw => ("draw", None),
            TableResult::Loss(n) => ("loss", Some(n)),
        };
        Shown {
            result,
            mate,
            by_rule: false,
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
            None if self.result != "draw" => format!("{winner:?} wins"),
            None if self.by_rule => "draw by the fifty-move rule alone".to_owned(),
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
        [] => "no table had to be made".to_owned(),
        names => format!("made: {}", names.join(", ")),
    };
    let seconds = sheet.milliseconds as f64 / 1000.0;
    writeln!(out, "{FAINT}{made}; {seconds:.2} s{FAINT:#}")
}
