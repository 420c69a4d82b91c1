//! `keyproof analyse`: what a position is worth, and why.

use std::io::Write;

use keyproof::check::{Answer, Goal, Judge, Question, thousands};
use keyproof::explain::{Analyst, Explanation, Inquiry};
use keyproof::notation::{fen, moves};
use keyproof::puzzle::Stipulation;
use keyproof::search::{Grade, Limits, Line, Search, Value};
use keyproof::tongue::Speech;
use serde::Serialize;
use shakmaty::{Chess, Position};

use crate::arguments::Analyse;
use crate::check::Ticking;
use crate::input::position;
use crate::judge::TABLE;
use crate::output::{self, BOLD, FAINT, Outcome, Trouble};
use crate::tables;

/// Searches a position and explains what was found.
pub fn run(task: &Analyse) -> Result<Outcome, Trouble> {
    let position = position(&task.fen)?;
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
    let bar = output::progress(0, "line");
    let watch = &mut Ticking(bar.clone());
    let mut search = Search::with_tables(TABLE, tables::at_hand());
    let limits = Limits {
        lines: task.lines.into(),
        ..Limits::nodes(task.nodes)
    };
    let lines = search.lines(&position, &[], &limits, watch);
    let explanation = match lines.first() {
        Some(best) => explain(&position, best, watch),
        None => Explanation::default(),
    };
    bar.finish_and_clear();
    let sheet = Sheet {
        fen: fen::write(&position),
        lines: lines
            .iter()
            .map(|line| Shown::new(&position, line))
            .collect(),
        explanation,
        nodes: search.nodes,
    };
    output::print(task.json, &sheet, |out| describe(out, &position, &sheet))?;
    Ok(Outcome::Sound)
}

/// Explains the best line as the answer to "find the best move".
fn explain(position: &Chess, best: &Line, watch: &mut Ticking) -> Explanation {
    let goal = Goal::Best(Stipulation::Best.margins());
    let moves: Vec<_> = position.legal_moves().into_iter().collect();
    let question = Question::about(position, goal, &moves);
    let answer: Answer = Judge::with_tables(TABLE, tables::at_hand()).answer(&question, watch);
    let inquiry = Inquiry {
        fen: fen::write(position),
        goal,
        line: best.moves.iter().map(|&mv| moves::uci(mv)).collect(),
        answers: vec![answer],
        tries: Vec::new(),
        speech: Speech::default(),
    };
    Analyst::with_tables(TABLE, tables::at_hand()).explain(&inquiry, watch)
}

#[derive(Serialize)]
struct Sheet {
    fen: String,
    /// The best first.
    lines: Vec<Shown>,
    #[serde(flatten)]
    explanation: Explanation,
    nodes: u64,
}

#[derive(Serialize)]
struct Shown {
    /// Hundredths of a pawn for the side to move; `null` where there is a mate.
    value: Option<i32>,
    /// Moves to the mate; negative if the side to move is mated.
    mate: Option<i32>,
    grade: Grade,
    depth: u8,
    line: Vec<String>,
    #[serde(skip)]
    san: String,
    #[serde(skip)]
    text: String,
}

impl Shown {
    fn new(position: &Chess, line: &Line) -> Shown {
        let (value, mate) = match line.value {
            Value::Cp(value) => (Some(value), None),
            Value::MateIn(n) => (None, Some(i32::from(n))),
            Value::MatedIn(n) => (None, Some(-i32::from(n))),
        };
        Shown {
            value,
            mate,
            grade: line.grade,
            depth: line.depth,
            line: line.moves.iter().map(|&mv| moves::uci(mv)).collect(),
            san: moves::san(position, line.moves[0]),
            text: moves::line(position, &line.moves, position.fullmoves().get()),
        }
    }

    /// "+1.35", "mates in 3".
    fn worth(&self) -> String {
        match (self.value, self.mate) {
            (Some(value), _) => format!("{:+.2}", f64::from(value) / 100.0),
            (_, Some(n)) if n > 0 => format!("mates in {n}"),
            (_, Some(n)) => format!("is mated in {}", -n),
            _ => String::new(),
        }
    }

    fn known(&self) -> String {
        match self.grade {
            Grade::Proved => "proved by one program".to_owned(),
            Grade::Table => "by table".to_owned(),
            Grade::Searched => format!("searched to depth {}", self.depth),
        }
    }
}

fn describe(out: &mut impl Write, position: &Chess, sheet: &Sheet) -> std::io::Result<()> {
    let side = format!("{:?}", position.turn());
    for (i, shown) in sheet.lines.iter().enumerate() {
        let (bold, end) = match i {
            0 => (format!("{BOLD}"), format!("{BOLD:#}")),
            _ => Default::default(),
        };
        let worth = match shown.value {
            Some(_) => format!("{} for {side}", shown.worth()),
            None => format!("{side} {}", shown.worth()),
        };
        writeln!(
            out,
            "{bold}{:<8}{end} {worth}, {}",
            shown.san,
            shown.known()
        )?;
        writeln!(out, "         {FAINT}{}{FAINT:#}", shown.text)?;
    }
    let told = &sheet.explanation;
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
        writeln!(out, "tempting {} {FAINT}({rules}){FAINT:#}", tried.sentence)?;
    }
    if told.difficulty.level > 0 {
        writeln!(out, "{}", told.difficulty.sentence())?;
    }
    writeln!(out, "{FAINT}{} positions{FAINT:#}", thousands(sheet.nodes))
}
