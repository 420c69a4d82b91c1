//! The corpus of reasons, `tests/reasons/reasons.epd`: positions of our own,
//! each with a line (`pv`), what is asked (`c2`), the reasons that hold (`c0`),
//! and the one that narrowly does not (`c1`). Every claim is confirmed by
//! prover or search, and precision and recall are held at what is reached.

use std::collections::BTreeMap;

use shakmaty::{Chess, Move, Position};

use super::{Analyst, ReasonKind, reasons};
use check::{Goal, Judge, Known, Question};
use model::notation::{fen, moves};
use model::puzzle::Stipulation;
use prove::Unwatched;

struct Entry {
    id: String,
    position: Chess,
    line: Vec<Move>,
    goal: Goal,
    holds: Vec<ReasonKind>,
    nearly: Vec<ReasonKind>,
}

/// Reasons that need a search: told only of the positions that name them.
const SEARCHED: [ReasonKind; 5] = [
    ReasonKind::Zugzwang,
    ReasonKind::OnlyMove,
    ReasonKind::ImmunePiece,
    ReasonKind::MoveOrder,
    ReasonKind::ParriedThreat,
];

fn corpus() -> Vec<Entry> {
    let path = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/../../tests/reasons/reasons.epd"
    );
    let text = std::fs::read_to_string(path).expect("the corpus");
    let lines = text.lines().filter(|l| !l.trim().is_empty());
    let (read, faults): (Vec<_>, Vec<_>) = lines.map(read).partition(Result::is_ok);
    let faults: Vec<String> = faults.into_iter().filter_map(Result::err).collect();
    assert!(faults.is_empty(), "{}", faults.join("\n"));
    read.into_iter().filter_map(Result::ok).collect()
}

/// Reads a line of EPD (PGN Standard 16.2).
fn read(line: &str) -> Result<Entry, String> {
    let mut fields = line.splitn(5, ' ');
    let board: Vec<&str> = fields.by_ref().take(4).collect();
    let operations: BTreeMap<&str, &str> = fields
        .next()
        .unwrap_or("")
        .split(';')
        .filter_map(|op| op.trim().split_once(' '))
        .map(|(code, operand)| (code, operand.trim_matches('"')))
        .collect();
    let position = fen::read(&format!("{} 0 1", board.join(" ")))
        .map_err(|fault| format!("{line}: {fault:?}"))?;
    let mut at = position.clone();
    let mut played = Vec::new();
    for san in operations["pv"].split(' ') {
        let mv = moves::read(&at, san).map_err(|fault| format!("{line}: {san}: {fault:?}"))?;
        at.play_unchecked(mv);
        played.push(mv);
    }
    let kinds = |code| {
        let names = operations.get(code).copied().unwrap_or("").split(", ");
        names
            .filter(|name| !name.is_empty())
            .map(|name| {
                let mut all = ReasonKind::ALL.into_iter();
                all.find(|kind| kind.title() == name)
                    .unwrap_or_else(|| panic!("{line}: no reason {name}"))
            })
            .collect()
    };
    Ok(Entry {
        id: operations["id"].to_owned(),
        line: played,
        goal: goal(operations["c2"]),
        holds: kinds("c0"),
        nearly: kinds("c1"),
        position,
    })
}

fn goal(text: &str) -> Goal {
    let stipulation = Stipulation::read(text).expect("a stipulation");
    let margins = stipulation.margins();
    match stipulation {
        Stipulation::Forced(aim, n) => Goal::Forced(aim, n),
        Stipulation::Win => Goal::Win(margins),
        Stipulation::Draw => Goal::Draw(margins),
        Stipulation::Best => Goal::Best(margins),
    }
}

impl Entry {
    fn names(&self, kind: ReasonKind) -> bool {
        self.holds.contains(&kind) || self.nearly.contains(&kind)
    }

    fn given(&self, judge: &mut Judge) -> Vec<ReasonKind> {
        let given = if SEARCHED.iter().any(|&kind| self.names(kind)) {
            let mut known = Known::default();
            let legal = self.position.legal_moves();
            let question = Question::about(&self.position, self.goal, &legal);
            known.learn(&judge.answer(&question, &mut Unwatched));
            let mut analyst = Analyst::new(4 << 20);
            let around = analyst.around(&self.position, &self.line, &mut Unwatched);
            analyst.reasons(
                &self.position,
                self.goal,
                &self.line,
                &known,
                &around,
                &mut Unwatched,
            )
        } else {
            reasons(&self.position, &self.line)
        };
        let mut kinds: Vec<ReasonKind> = given.into_iter().map(|r| r.kind).collect();
        kinds.sort_unstable();
        kinds.dedup();
        kinds
    }
}

/// How a detector does.
#[derive(Clone, Copy, Default)]
struct Score {
    right: usize,
    wrong: usize,
    missed: usize,
    near_misses: usize,
}

#[test]
fn precision_and_recall_are_what_they_were() {
    let mut judge = Judge::new(8 << 20);
    let mut scores: BTreeMap<ReasonKind, Score> = BTreeMap::new();
    let mut faults = Vec::new();
    for entry in corpus() {
        let given = entry.given(&mut judge);
        for kind in ReasonKind::ALL {
            if SEARCHED.contains(&kind) && !entry.names(kind) {
                continue;
            }
            let score = scores.entry(kind).or_default();
            score.near_misses += usize::from(entry.nearly.contains(&kind));
            match (entry.holds.contains(&kind), given.contains(&kind)) {
                (true, true) => score.right += 1,
                (true, false) => {
                    score.missed += 1;
                    faults.push(format!("{}: misses {}", entry.id, kind.title()));
                }
                (false, true) => {
                    score.wrong += 1;
                    faults.push(format!("{}: wrongly gives {}", entry.id, kind.title()));
                }
                (false, false) => {}
            }
        }
    }
    println!("{:20} shown near precision recall", "reason");
    for (kind, score) in &scores {
        let held = score.right + score.missed;
        let given = score.right + score.wrong;
        println!(
            "{:20} {held:5} {:4} {:8}% {:5}%",
            kind.title(),
            score.near_misses,
            (100 * score.right).checked_div(given).unwrap_or(100),
            (100 * score.right).checked_div(held).unwrap_or(100),
        );
        if held < 6 || score.near_misses < 6 {
            faults.push(format!("too few for {}", kind.title()));
        }
    }
    assert_eq!(scores.len(), ReasonKind::ALL.len());
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

#[test]
fn every_claim_of_the_corpus_is_real() {
    let mut judge = Judge::new(8 << 20);
    let mut wrong = Vec::new();
    for entry in corpus() {
        let mut at = entry.position.clone();
        let mut goal = Some(entry.goal);
        for (ply, &mv) in entry.line.iter().enumerate() {
            if ply % 2 == 0 {
                let ruling = goal.and_then(|asked| {
                    let question = Question::about(&at, asked, &[mv]);
                    let mut known = Known::default();
                    known.learn(&judge.answer(&question, &mut Unwatched));
                    known.ruling(&at, asked, mv).cloned()
                });
                if !ruling.as_ref().is_some_and(|r| r.holds()) {
                    wrong.push(format!("{}: {}: {ruling:?}", entry.id, moves::san(&at, mv)));
                }
                goal = goal.and_then(Goal::next);
            }
            at.play_unchecked(mv);
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}
