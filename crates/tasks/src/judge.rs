//! Proving all that a puzzle claims, filling in answers, and explaining.

use std::collections::HashSet;
use std::convert::Infallible;
use std::sync::atomic::{AtomicU64, Ordering};

use keyproof::check::{self, Claim, Judge, Known, Question, Report, Soundness};
use keyproof::draft::Draft;
use keyproof::explain::{Analyst, Explanation, Inquiry};
use keyproof::notation::pgn_read::Game;
use keyproof::puzzle::Puzzle;
use keyproof::resolved::Resolved;
use keyproof_second::{Heard, put, put_explained};

use crate::means::{Follow, Means, TABLE};
use crate::workers::in_order;

/// A game that was judged.
pub struct Judged {
    /// What is known of its moves.
    pub known: Known,
    /// The verdict, and what it rests on.
    pub report: Report,
    /// What the independent checker said of it.
    pub heard: Vec<Heard>,
    /// Whether it was given up since it asked for more than one puzzle may.
    pub given_up: bool,
}

/// How many times the nodes of one question a puzzle may take: of one that is sound, few
/// questions come near their bound.
pub const QUESTIONS: u64 = 10;

/// Follows the work on a puzzle and stops it at its bound.
struct Thrifty<'a> {
    follow: &'a dyn Follow,
    /// Nodes of all questions.
    spent: AtomicU64,
    most: u64,
}

impl Follow for Thrifty<'_> {
    fn go_on(&self) -> bool {
        self.follow.go_on()
    }

    fn spend(&self, nodes: u64) -> bool {
        let before = self.spent.fetch_add(nodes, Ordering::Relaxed);
        self.follow.spend(nodes) && before + nodes <= self.most
    }

    fn done(&self) {
        self.follow.done();
    }
}

/// Nodes for one question of the prover, as long as nobody says otherwise: more settle
/// little more, and take long.
pub const NODES: u64 = 100_000_000;

/// How a game is judged.
#[derive(Clone, Copy, Debug, Default)]
pub struct How {
    /// Nodes for one question; none: no bound.
    pub nodes: Option<u64>,
    /// Whether nothing is to be checked a second time.
    pub unchecked: bool,
}

/// Proves what a game claims, has the proofs checked, and judges it. A
/// game whose text could not be read to the end is never sound.
pub fn judge(game: &Game, how: How, means: &Means) -> Judged {
    let (mut known, mut heard) = (Known::default(), Vec::new());
    let resolved = Resolved::of(&game.draft);
    let most = how.nodes.unwrap_or(u64::MAX).saturating_mul(QUESTIONS);
    let thrifty = Thrifty {
        follow: means.follow,
        spent: AtomicU64::new(0),
        most,
    };
    let means = &Means {
        follow: &thrifty,
        ..means.clone()
    };
    if let Ok(puzzle) = resolved.puzzle() {
        prove(puzzle, &mut known, how.nodes, means);
        if !how.unchecked {
            heard = check_twice(puzzle, &mut known, how.nodes, means);
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
        given_up: thrifty.spent.into_inner() > most,
    }
}

/// Puts all that a puzzle's verdict rests on to the independent checker.
pub fn check_twice(
    puzzle: &Puzzle,
    known: &mut Known,
    nodes: Option<u64>,
    means: &Means,
) -> Vec<Heard> {
    known.want_second();
    let claims: Vec<Claim> = check::claims(puzzle, known);
    let mut heard = Vec::with_capacity(claims.len());
    let done: Result<(), Infallible> = in_order(
        &claims,
        means.threads,
        || (means.prover(nodes), means.watch()),
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
pub fn explain(game: &Game, known: &Known, means: &Means) -> Option<Explanation> {
    let puzzle = Resolved::of(&game.draft).into_puzzle().ok()?;
    let inquiry = Inquiry::of(&puzzle, known)?;
    let tongue = keyproof_tongues::of_inquiry(&inquiry);
    let mut analyst = Analyst::with_tables(TABLE, means.tables.clone());
    let watch = &mut means.watch();
    Some(tongue.speaks(|| {
        let mut told = analyst.explain(&inquiry, watch);
        if known.wants_second() {
            put_explained(&mut told, watch);
        }
        told
    }))
}

/// A draft with every defence answered, and how many answers were filled in.
/// Where something must be forced, what is filled in is followed to its end;
/// other lines end where their point is made.
pub fn complete(draft: &Draft, nodes: Option<u64>, means: &Means) -> (Draft, usize) {
    let (mut known, mut draft) = (Known::default(), draft.clone());
    let mut answered = 0;
    loop {
        let resolved = Resolved::of(&draft);
        let Ok(puzzle) = resolved.puzzle() else {
            return (draft, answered);
        };
        prove(puzzle, &mut known, nodes, means);
        let filling = loop {
            let tongue = keyproof_tongues::of_game(&draft);
            let filling = tongue.speaks(|| check::fill(&resolved, &known));
            if filling.questions.is_empty() {
                break filling;
            }
            answer_all(&filling.questions, &mut known, nodes, means);
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

fn prove(puzzle: &Puzzle, known: &mut Known, nodes: Option<u64>, means: &Means) {
    known.limit_effort(Judge::most_effort(nodes));
    // What stays undecided within the budget is asked once and no more.
    let mut asked: HashSet<Question> = HashSet::new();
    loop {
        let questions: Vec<Question> = check::questions(puzzle, known)
            .into_iter()
            .flat_map(|question| {
                if means.threads > 1 {
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
        answer_all(&questions, known, nodes, means);
    }
}

fn answer_all(questions: &[Question], known: &mut Known, nodes: Option<u64>, means: &Means) {
    let done: Result<(), Infallible> = in_order(
        questions,
        means.threads,
        || (means.judge(nodes), means.watch()),
        |(judge, watch), question| judge.answer(question, watch),
        |_, answer| {
            known.learn(&answer);
            Ok(())
        },
    );
    let Ok(()) = done;
}
