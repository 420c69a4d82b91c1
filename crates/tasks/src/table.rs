//! The exact result of an ending, from a table that is made where none is kept.

use keyproof::notation::{fen, moves};
use keyproof::prove::Watch;
use keyproof::tables::{Exact, Material, Outcome, TableResult, Tables};
use serde::Serialize;
use shakmaty::{Chess, Move, Position};

use crate::entry::position;
use crate::means::Means;
use crate::trouble::Trouble;

/// What tables know of a position.
#[derive(Clone, Debug, Serialize)]
pub struct Ending {
    /// The position.
    pub fen: String,
    /// What it comes to.
    #[serde(flatten)]
    pub result: EndingResult,
    /// Every legal move, the best first.
    pub moves: Vec<EndingMove>,
    /// The tables that were made for it.
    pub tables: Vec<String>,
}

/// A move and what it comes to, for the side that plays it.
#[derive(Clone, Debug, Serialize)]
pub struct EndingMove {
    /// In UCI.
    pub uci: String,
    /// In SAN.
    pub san: String,
    /// What it comes to.
    #[serde(flatten)]
    pub result: EndingResult,
}

/// A result from the side to move.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct EndingResult {
    /// `win`, `draw` or `loss`.
    pub result: &'static str,
    /// Moves to the mate, the winner's.
    pub mate: Option<u16>,
    /// A draw by the fifty-move rule alone.
    pub by_rule: bool,
}

/// Looks a position of up to four men up, of more where there are files.
///
/// # Errors
/// If the position is illegal, or no table covers it.
pub fn table(fen: &str, means: &Means) -> Result<Ending, Trouble> {
    table_position(&position(fen)?, means)
}

/// Does as [`table`].
///
/// # Errors
/// If no table covers the position.
pub fn table_position(position: &Chess, means: &Means) -> Result<Ending, Trouble> {
    let mut tables = means.tables.clone();
    let before = tables.made_anew();
    let watch = &mut means.watch();
    let known = match Material::of(position) {
        Some(_) => by_distance(&mut tables, position, watch),
        None => by_files(&mut tables, position, watch),
    };
    means.go_on()?;
    let (result, judged) = known.ok_or_else(|| unknown(position))?;
    Ok(Ending {
        fen: fen::write(position),
        result,
        moves: judged
            .iter()
            .map(|&(mv, result)| EndingMove {
                uci: moves::uci(mv),
                san: moves::san(position, mv),
                result,
            })
            .collect(),
        tables: tables
            .made_anew()
            .iter()
            .filter(|made| !before.contains(made))
            .map(Material::to_string)
            .collect(),
    })
}

type Results = (EndingResult, Vec<(Move, EndingResult)>);

/// What our own tables tell: moves to mate, whatever the fifty-move rule says.
fn by_distance(tables: &mut Tables, position: &Chess, watch: &mut dyn Watch) -> Option<Results> {
    let result = tables.probe(position, watch)?;
    let judged = tables.best_moves(position, watch)?;
    let judged = judged
        .into_iter()
        .map(|(m, result)| (m, EndingResult::new(result)));
    Some((EndingResult::new(result), judged.collect()))
}

/// What Syzygy files tell: who wins under the fifty-move rule.
fn by_files(tables: &mut Tables, position: &Chess, watch: &mut dyn Watch) -> Option<Results> {
    let exact = tables.exact(position, watch)?;
    let mut judged = tables.exact_moves(position, watch)?;
    let best = tables.best(position);
    judged.sort_by_key(|&(m, exact)| {
        let outcome = match exact.outcome {
            Outcome::Win => 0,
            Outcome::Draw => 1,
            Outcome::Loss => 2,
        };
        (outcome, Some(m) != best)
    });
    let judged = judged
        .into_iter()
        .map(|(m, exact)| (m, EndingResult::of(exact)));
    Some((EndingResult::of(exact), judged.collect()))
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

impl EndingResult {
    fn of(exact: Exact) -> EndingResult {
        EndingResult {
            result: match exact.outcome {
                Outcome::Win => "win",
                Outcome::Draw => "draw",
                Outcome::Loss => "loss",
            },
            mate: exact.mate,
            by_rule: exact.by_rule,
        }
    }

    fn new(result: TableResult) -> EndingResult {
        let (result, mate) = match result {
            TableResult::Win(n) => ("win", Some(n)),
            TableResult::Draw => ("draw", None),
            TableResult::Loss(n) => ("loss", Some(n)),
        };
        EndingResult {
            result,
            mate,
            by_rule: false,
        }
    }
}
