//! What a position is worth, and why.

use keyproof::check::{Goal, Question};
use keyproof::explain::{Analyst, Explanation, Inquiry};
use keyproof::notation::{fen, moves};
use keyproof::puzzle::Stipulation;
use keyproof::search::{Grade, Limits, Line, Value};
use keyproof_second::put_explained;
use serde::Serialize;
use shakmaty::{Chess, Position};

use crate::entry::position;
use crate::means::{Means, TABLE};
use crate::trouble::Trouble;

/// How a position is analysed.
#[derive(Clone, Debug)]
pub struct AnalyseOptions {
    /// Best lines to show.
    pub lines: u8,
    /// Positions that the search may look at.
    pub nodes: u64,
}

impl Default for AnalyseOptions {
    fn default() -> Self {
        AnalyseOptions {
            lines: 1,
            nodes: 2_000_000,
        }
    }
}

/// What a position is worth, and why.
#[derive(Debug, Serialize)]
pub struct Analysis {
    /// The position.
    pub fen: String,
    /// The best first.
    pub lines: Vec<BestLine>,
    /// Why the best one works and other moves fail.
    #[serde(flatten)]
    pub explanation: Explanation,
    /// Positions that were looked at.
    pub nodes: u64,
}

/// One of the best lines.
#[derive(Clone, Debug, Serialize)]
pub struct BestLine {
    /// Hundredths of a pawn for the side to move; `null` where there is a mate.
    pub value: Option<i32>,
    /// Moves to the mate; negative if the side to move is mated.
    pub mate: Option<i32>,
    /// How the value is known.
    pub grade: Grade,
    /// Plies that were searched.
    pub depth: u8,
    /// In UCI.
    pub line: Vec<String>,
    /// Its first move in SAN.
    #[serde(skip)]
    pub san: String,
    /// All of it in SAN.
    #[serde(skip)]
    pub text: String,
}

/// Searches a position and explains what was found.
///
/// # Errors
/// If the position is illegal, or the game is over.
pub fn analyse(fen: &str, options: &AnalyseOptions, means: &Means) -> Result<Analysis, Trouble> {
    analyse_position(&position(fen)?, options, means)
}

/// Does as [`analyse`].
///
/// # Errors
/// If the game is over.
pub fn analyse_position(
    position: &Chess,
    options: &AnalyseOptions,
    means: &Means,
) -> Result<Analysis, Trouble> {
    if position.is_game_over() {
        return Err(Trouble::Input(format!(
            "nothing to analyse: the game is over, {}",
            match (position.is_checkmate(), position.is_stalemate()) {
                (true, _) => "it is mate",
                (_, true) => "it is stalemate",
                _ => "neither side can mate",
            }
        )));
    }
    let mut search = means.search();
    let limits = Limits {
        lines: options.lines.into(),
        ..Limits::nodes(options.nodes)
    };
    let lines = search.lines(position, &[], &limits, &mut means.watch());
    means.go_on()?;
    let explanation = match lines.first() {
        Some(best) => explain(position, best, means),
        None => Explanation::default(),
    };
    means.go_on()?;
    Ok(Analysis {
        fen: fen::write(position),
        lines: lines
            .iter()
            .map(|line| BestLine::new(position, line))
            .collect(),
        explanation,
        nodes: search.nodes,
    })
}

/// Explains the best line as the answer to "find the best move".
fn explain(position: &Chess, best: &Line, means: &Means) -> Explanation {
    let goal = Goal::Best(Stipulation::Best.margins());
    let moves: Vec<_> = position.legal_moves().into_iter().collect();
    let question = Question::about(position, goal, &moves);
    let watch = &mut means.watch();
    let answer = means.judge(None).answer(&question, watch);
    let inquiry = Inquiry::of_best(position, best, answer);
    let mut told = Analyst::with_tables(TABLE, means.tables.clone()).explain(&inquiry, watch);
    put_explained(&mut told, watch);
    told
}

impl BestLine {
    fn new(position: &Chess, line: &Line) -> BestLine {
        let (value, mate) = match line.value {
            Value::Cp(value) => (Some(value), None),
            Value::MateIn(n) => (None, Some(i32::from(n))),
            Value::MatedIn(n) => (None, Some(-i32::from(n))),
        };
        BestLine {
            value,
            mate,
            grade: line.grade,
            depth: line.depth,
            line: line.moves.iter().map(|&mv| moves::uci(mv)).collect(),
            san: moves::san(position, line.moves[0]),
            text: moves::line(position, &line.moves, position.fullmoves().get()),
        }
    }
}
