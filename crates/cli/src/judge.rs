//! Proving all that a puzzle claims.

use std::collections::HashSet;
use std::convert::Infallible;

use keyproof::check::{self, Known, Question, Report, Soundness};
use keyproof::notation::pgn_read::Game;
use keyproof::prove::{Prover, Watch};
use keyproof::puzzle::Puzzle;

use crate::workers::in_order;

/// Bytes that the table of one prover may take.
pub const TABLE: usize = 16 << 20;

/// A prover with the given budget for one question.
pub fn prover(nodes: Option<u64>) -> Prover {
    let mut prover = Prover::new(TABLE);
    prover.budget = nodes;
    prover
}

/// Proves what a game claims, with `threads` threads, and judges it. A
/// game whose text could not be read to the end is never sound.
pub fn judge<W: Watch>(
    game: &Game,
    nodes: Option<u64>,
    threads: usize,
    watch: impl Fn() -> W + Sync,
) -> (Known, Report) {
    let mut known = Known::default();
    if let Ok(puzzle) = Puzzle::from_draft(&game.draft, &game.draft.resolve()) {
        prove(&puzzle, &mut known, nodes, threads, &watch);
    }
    let mut report = check::report(&game.draft, &known);
    if !game.faults.is_empty() {
        report.verdict = Soundness::Unsound;
    }
    (known, report)
}

fn prove<W: Watch>(
    puzzle: &Puzzle,
    known: &mut Known,
    nodes: Option<u64>,
    threads: usize,
    watch: &(impl Fn() -> W + Sync),
) {
    // What stays undecided within the budget is asked once and no more.
    let mut asked: HashSet<Question> = HashSet::new();
    loop {
        let questions: Vec<Question> = check::questions(puzzle, known)
            .into_iter()
            .flat_map(|question| {
                if threads > 1 {
                    by_move(question)
                } else {
                    vec![question]
                }
            })
            .filter(|question| asked.insert(question.clone()))
            .collect();
        if questions.is_empty() {
            return;
        }
        let done: Result<(), Infallible> = in_order(
            &questions,
            threads,
            || (prover(nodes), watch()),
            |(prover, watch), question| check::answer(question, prover, watch),
            |_, answer| {
                known.learn(&answer);
                Ok(())
            },
        );
        let Ok(()) = done;
    }
}

/// One question for each move, so that several provers can share the work.
fn by_move(question: Question) -> Vec<Question> {
    let Question { fen, n, moves } = question;
    moves
        .into_iter()
        .map(|mv| Question {
            fen: fen.clone(),
            n,
            moves: vec![mv],
        })
        .collect()
}
