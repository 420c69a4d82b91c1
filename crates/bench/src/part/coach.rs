//! What is said of a whole position, held against what was written by hand before the
//! program was asked: `tests/reasons/coach.epd`, of which its README tells.

use std::collections::BTreeMap;
use std::time::Instant;

use keyproof::check::{Goal, Judge, Question};
use keyproof::explain::{Analyst, Explanation, Inquiry};
use keyproof::notation::{fen, moves};
use keyproof::prove::Unwatched;
use keyproof::puzzle::Stipulation;
use keyproof::search::{Limits, Search};
use keyproof_bench::TABLE;
use shakmaty::{Chess, Position};

use crate::Setting;
use crate::print::{heading, percentile, short};

const COACH: &str = "tests/reasons/coach.epd";
/// Positions that the search may look at for the line that is explained.
const NODES: u64 = 400_000;

/// A position with its best move, and what a coach would say of it.
struct Entry {
    id: String,
    position: Chess,
    best: String,
    said: Vec<String>,
}

pub fn run(setting: &Setting) -> Result<(), String> {
    heading("What a coach would say, written by hand, and told");
    let text = std::fs::read_to_string(COACH).map_err(|fault| format!("{COACH}: {fault}"))?;
    let read = text.lines().map(|line| Entry::read(line).ok_or(line));
    let entries: Result<Vec<Entry>, &str> = read.collect();
    let entries = entries.map_err(|line| format!("{COACH}: {line}"))?;
    let mut tally: BTreeMap<&str, [usize; 2]> = BTreeMap::new();
    let (mut missed, mut ms) = (Vec::new(), Vec::new());
    for entry in entries.iter().step_by(setting.of(1, 8)) {
        let began = Instant::now();
        let Some(told) = entry.explained() else {
            println!("{}: another move is best now than {}", entry.id, entry.best);
            continue;
        };
        ms.push(began.elapsed().as_secs_f64() * 1_000.0);
        for said in &entry.said {
            let is_told = entry.is_told(said, &told);
            let [all, some] = tally.entry(kind(said)).or_default();
            *all += 1;
            *some += usize::from(is_told);
            if !is_told {
                missed.push(format!("{}: {said}", entry.id));
            }
        }
    }
    let sum = |i: usize| tally.values().map(|counts| counts[i]).sum::<usize>();
    println!(
        "{} positions, {} of {} told; ms a position: median {}, 95th {}",
        ms.len(),
        sum(1),
        sum(0),
        short(percentile(&ms, 50)),
        short(percentile(&ms, 95)),
    );
    for (kind, [all, some]) in &tally {
        println!("  {kind:<20} {some:>3} of {all:>3}");
    }
    println!("not told: {}", missed.join("; "));
    Ok(())
}

/// What kind of thing was said: a reason by its title, or the first word of the others.
fn kind(said: &str) -> &str {
    let others = ["before", "after", "fails", "wins"];
    let first = said.split(' ').next().unwrap_or(said);
    match others.contains(&first) {
        true => first,
        false => said,
    }
}

/// SAN without the signs of check and mate.
fn bare(san: &str) -> &str {
    san.trim_end_matches(['+', '#'])
}

impl Entry {
    fn read(line: &str) -> Option<Entry> {
        let (board, operations) = line.split_once(" bm ")?;
        let (best, rest) = operations.split_once(';')?;
        let operand = |code: &str| Some(rest.split_once(code)?.1.split('"').nth(1)?.to_owned());
        Some(Entry {
            id: operand(" id ")?,
            position: fen::read(&format!("{board} 0 1")).ok()?,
            best: best.to_owned(),
            said: operand(" c0 ")?.split(", ").map(str::to_owned).collect(),
        })
    }

    /// What is said of the best line, as `keyproof analyse` does it; `None` if it begins
    /// with another move.
    fn explained(&self) -> Option<Explanation> {
        let limits = Limits::nodes(NODES);
        let lines = Search::new(TABLE).lines(&self.position, &[], &limits, &mut Unwatched);
        let best = lines.first()?;
        if bare(&moves::shown(&self.position, best.moves[0])) != bare(&self.best) {
            return None;
        }
        let goal = Goal::Best(Stipulation::Best.margins());
        let question = Question::about(&self.position, goal, &self.position.legal_moves());
        let answer = Judge::new(TABLE).answer(&question, &mut Unwatched);
        let inquiry = Inquiry::of_best(&self.position, best, answer);
        Some(Analyst::new(TABLE).explain(&inquiry, &mut Unwatched))
    }

    fn is_told(&self, said: &str, told: &Explanation) -> bool {
        let (_, what) = said.split_once(' ').unwrap_or((said, ""));
        let san = bare(what.split(' ').next().unwrap_or(what));
        match kind(said) {
            "wins" => told.won.is_some(),
            "before" => told.before.threats.iter().any(|t| bare(&t.san) == san),
            "after" => told.after.threats.iter().any(|t| bare(&t.san) == san),
            "fails" => told.failures.iter().any(|failed| {
                let first = moves::read_ucis(&self.position, &failed.line[..1]);
                first
                    .iter()
                    .any(|&mv| bare(&moves::shown(&self.position, mv)) == san)
            }),
            reason => told.whys.iter().any(|why| why.title == reason),
        }
    }
}
