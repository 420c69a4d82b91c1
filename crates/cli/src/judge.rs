//! Proving all that a puzzle claims, filling in answers, and explaining.

use keyproof::resolved::Resolved;
use std::collections::HashSet;
use std::convert::Infallible;

use keyproof::check::{self, Claim, Judge, Known, Question, Report, Soundness};
use keyproof::draft::Draft;
use keyproof::explain::{Analyst, Explanation, Inquiry};
use keyproof::notation::pgn_read::Game;
use keyproof::prove::{Prover, Watch};
use keyproof::puzzle::Puzzle;
use keyproof_second::{Heard, put};

use crate::tables;
use crate::workers::{cores, in_order};

/// Bytes that the table of one prover may take.
pub const TABLE: usize = 16 << 20;

/// A prover with the given budget for one question.
pub fn prover(nodes: Option<u64>) -> Prover {
    let mut prover = Prover::new(TABLE);
    prover.budget = nodes;
    prover
}

pub fn judge_with(nodes: Option<u64>) -> Judge {
    let mut judge = Judge::with_tables(TABLE, tables::at_hand());
    judge.set_budget(nodes);
    judge
}

/// A game that was judged.
pub struct Judged {
    pub known: Known,
    pub report: Report,
    /// What the independent checker said of it.
    pub heard: Vec<Heard>,
}

/// How a game is judged.
#[derive(Clone, Copy)]
pub struct How {
    /// Nodes for one question.
    pub nodes: Option<u64>,
    pub threads: usize,
    /// Whether nothing is to be checked a second time.
    pub unchecked: bool,
}

/// Proves what a game claims, has the proofs checked, and judges it. A
/// game whose text could not be read to the end is never sound.
pub fn judge<W: Watch>(game: &Game, how: How, watch: impl Fn() -> W + Sync) -> Judged {
    let (mut known, mut heard) = (Known::default(), Vec::new());
    let resolved = Resolved::of(&game.draft);
    if let Ok(puzzle) = resolved.puzzle() {
        prove(puzzle, &mut known, how.nodes, how.threads, &watch);
        if !how.unchecked {
            heard = check_twice(puzzle, &mut known, how, &watch);
        }
    }
    let mut report = check::report(&resolved, &known);
    if !game.faults.is_empty() {
        report.verdict = Soundness::Unsound;
    }
    Judged {
        known,
        report,
        heard,
    }
}

/// Puts all that a puzzle's verdict rests on to the independent checker.
pub fn check_twice<W: Watch>(
    puzzle: &Puzzle,
    known: &mut Known,
    how: How,
    watch: &(impl Fn() -> W + Sync),
) -> Vec<Heard> {
    known.want_second();
    let claims: Vec<Claim> = check::claims(puzzle, known);
    let mut heard = Vec::with_capacity(claims.len());
    let done: Result<(), Infallible> = in_order(
        &claims,
        how.threads,
        || (prover(how.nodes), watch()),
        |(prover, watch), claim| put(claim.clone(), prover, watch),
        |_, one| {
            known.hear(&one.claim, one.opinion.clone());
            heard.push(one);
            Ok(())
        },
    );
    let Ok(()) = done;
    heard
}

/// Why a puzzle's key works and its other first moves fail; `None` for what is
/// no puzzle or whose key does not hold.
pub fn explain(game: &Game, known: &Known, watch: &mut dyn Watch) -> Option<Explanation> {
    let puzzle = Resolved::of(&game.draft).into_puzzle().ok()?;
    let inquiry = Inquiry::of(&puzzle, known)?;
    let tongue = keyproof_tongues::of_inquiry(&inquiry);
    Some(tongue.speaks(|| Analyst::with_tables(TABLE, tables::at_hand()).explain(&inquiry, watch)))
}

/// A draft with every defence answered, and how many answers were filled in.
/// Where something must be forced, what is filled in is followed to its end;
/// other lines end where their point is made.
pub fn complete<W: Watch>(
    draft: &Draft,
    nodes: Option<u64>,
    watch: impl Fn() -> W + Sync,
) -> (Draft, usize) {
    let (mut known, mut draft) = (Known::default(), draft.clone());
    let mut answered = 0;
    loop {
        let resolved = Resolved::of(&draft);
        let Ok(puzzle) = resolved.puzzle() else {
            return (draft, answered);
        };
        prove(puzzle, &mut known, nodes, cores(), &watch);
        let filling = loop {
            let tongue = keyproof_tongues::of_game(&draft);
            let filling = tongue.speaks(|| check::fill(&resolved, &known));
            if filling.questions.is_empty() {
                break filling;
            }
            answer_all(&filling.questions, &mut known, nodes, cores(), &watch);
        };
        answered += filling.answered;
        let Some(filled) = filling.draft else {
            return (draft, answered);
        };
        draft = filled;
        if puzzle.stipulation().forced().is_none() {
            return (draft, answered);
        }
    }
}

fn prove<W: Watch>(
    puzzle: &Puzzle,
    known: &mut Known,
    nodes: Option<u64>,
    threads: usize,
    watch: &(impl Fn() -> W + Sync),
) {
    known.limit_effort(Judge::most_effort(nodes));
    // What stays undecided within the budget is asked once and no more.
    let mut asked: HashSet<Question> = HashSet::new();
    loop {
        let questions: Vec<Question> = check::questions(puzzle, known)
            .into_iter()
            .flat_map(|question| {
                if threads > 1 {
                    question.split()
                } else {
                    vec![question]
                }
            })
            .filter(|question| asked.insert(question.clone()))
            .collect();
        if questions.is_empty() {
            return;
        }
        answer_all(&questions, known, nodes, threads, watch);
    }
}

fn answer_all<W: Watch>(
    questions: &[Question],
    known: &mut Known,
    nodes: Option<u64>,
    threads: usize,
    watch: &(impl Fn() -> W + Sync),
) {
    let done: Result<(), Infallible> = in_order(
        questions,
        threads,
        || (judge_with(nodes), watch()),
        |(judge, watch), question| judge.answer(question, watch),
        |_, answer| {
            known.learn(&answer);
            Ok(())
        },
    );
    let Ok(()) = done;
}
