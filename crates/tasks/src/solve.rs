//! Every first move that forces mate, selfmate, stalemate or a gain, and every helpmate.

use std::convert::Infallible;

use keyproof::check::{Claim, Goal, Second};
use keyproof::explain::reasons;
use keyproof::notation::fen;
use keyproof::notation::moves::{self, Named};
use keyproof::prove::{Aim, Gain, Prover, Verdict, Watch};
use keyproof::puzzle::{MOST_MOVES, Stipulation};
use keyproof_second::{Heard, put};
use serde::Serialize;
use shakmaty::{Chess, Move, Position};

use crate::certificate::{self, Certificate, Certified};
use crate::entry;
use crate::means::Means;
use crate::trouble::Trouble;
use crate::workers::in_order;

/// How a position is solved.
#[derive(Clone, Debug, Default)]
pub struct SolveOptions {
    /// Whether to give an answer to every defence.
    pub tree: bool,
    /// Whether to say why each key works.
    pub reasons: bool,
    /// Nodes that may be spent on one question; none: no bound.
    pub nodes: Option<u64>,
    /// Whether nothing is to be checked a second time.
    pub unchecked: bool,
    /// Whether a certificate is asked for: that each key forces it, and that no other move
    /// does. Of mates and gains alone.
    pub certificate: bool,
}

/// Reads what is to be forced: `#2`, `s#2`, `==2`, `h#2.5`, `gain 9 in 2`.
///
/// # Errors
/// A sentence that says what may be forced.
pub fn forced(text: &str) -> Result<Stipulation, String> {
    let read = Stipulation::read(text).filter(|s| s.forced().is_some());
    read.ok_or_else(|| {
        format!(
            "nothing to force; write #n, s#n, ==n or h#n, n up to {MOST_MOVES}, or gain k in n, \
             k 1 to {} pawns, n 1 to {}",
            Gain::MOST,
            Gain::MOST_MOVES
        )
    })
}

/// Judges every legal first move of a position and names those that force what is asked
/// for (as [`forced`] reads it).
///
/// # Errors
/// If the position is illegal, or nothing that can be forced is asked for; if a certificate
/// is asked for and there is none.
pub fn solve(
    fen: &str,
    stipulation: &str,
    options: &SolveOptions,
    means: &Means,
) -> Result<Solution, Trouble> {
    let position = entry::position(fen)?;
    let asked =
        forced(stipulation).map_err(|fault| Trouble::Input(format!("{stipulation:?}: {fault}")))?;
    let (mut solution, certified) = solve_position(&position, asked, options, means)?;
    if let Some(certified) = certified {
        let certified = certified.map_err(Trouble::Input)?;
        solution.certificate = Some(Some(certified.into()));
    }
    Ok(solution)
}

/// Does as [`solve`], and gives the certificate apart, if it is asked for: it, or a
/// sentence why there is none.
///
/// # Errors
/// If it is stopped.
///
/// # Panics
/// If the stipulation is none that [`forced`] reads.
pub fn solve_position(
    position: &Chess,
    asked: Stipulation,
    options: &SolveOptions,
    means: &Means,
) -> Result<(Solution, Option<Result<Certified, String>>), Trouble> {
    let (aim, n) = asked.forced().expect("something to force");
    let task = Asked {
        written: aim,
        aim: aim.from(position),
        n,
        options,
        means,
    };
    let mut solution = find(position, &task);
    means.go_on()?;
    let heard = match options.unchecked {
        true => None,
        false => check_twice(position, &task, &mut solution),
    };
    means.go_on()?;
    let certified = options
        .certificate
        .then(|| certify(&task, &solution, heard.as_ref()));
    Ok((solution, certified))
}

/// What to force from a position, and how.
struct Asked<'a> {
    written: Aim,
    aim: Aim,
    n: u8,
    options: &'a SolveOptions,
    means: &'a Means<'a>,
}

/// What came of solving.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Status {
    /// At least one first move forces the aim in time.
    Proved,
    /// None does.
    Refuted,
    /// None is known to, and some are undecided; or the checker has not said
    /// yes.
    Unknown,
}

/// What is known of a position's first moves.
#[derive(Clone, Debug, Serialize)]
pub struct Solution {
    /// The position.
    pub fen: String,
    /// What was to be forced.
    pub stipulation: String,
    /// What came of it.
    pub status: Status,
    /// The moves that force it, the shortest first.
    pub keys: Vec<Key>,
    /// First moves that the budget did not settle, in UCI.
    pub undecided: Vec<String>,
    /// Nodes that were spent.
    pub nodes: u64,
    /// What the independent checker says.
    pub second: Second,
    /// The certificate, where one is asked for: null where there is none.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub certificate: Option<Option<Certificate>>,
}

/// A first move that forces what is asked for.
#[derive(Clone, Debug, Serialize)]
pub struct Key {
    /// The move.
    #[serde(flatten)]
    pub named: Named,
    /// Moves in which it forces it; of a helpmate, half moves.
    pub length: u8,
    /// Found by checks alone where the full search ended without an answer: it
    /// mates in `length`, and perhaps sooner.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub by_checks: bool,
    /// The longest defence, in UCI.
    pub line: Vec<String>,
    /// Why the key and the moves after it work, if asked for.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub reasons: Vec<Why>,
    /// An answer to every defence, if asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub tree: Option<Vec<Branch>>,
    /// All helpmates of that length, in UCI, a hundred at most.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub solutions: Vec<Vec<String>>,
    /// The line, and where several are named each of them.
    #[serde(skip)]
    pub lines: Vec<Vec<Move>>,
    /// Whether there are more helpmates than are named.
    #[serde(skip)]
    pub more: bool,
}

/// Helpmates named for one first move.
const MOST_SOLUTIONS: usize = 100;

/// Why a key works.
#[derive(Clone, Debug, Serialize)]
pub struct Why {
    /// By what: `fork`.
    pub kind: &'static str,
    /// In words.
    pub sentence: String,
}

fn why(position: &Chess, line: &[Move]) -> Vec<Why> {
    let given = reasons(position, line).into_iter();
    given
        .map(|reason| Why {
            kind: reason.kind.title(),
            sentence: reason.sentence,
        })
        .collect()
}

/// A defence with the answer to it.
#[derive(Clone, Debug, Serialize)]
pub struct Branch {
    /// The defence.
    pub defence: Named,
    /// The defence itself ends the line: it mates, in a selfmate.
    #[serde(skip)]
    pub ends: bool,
    /// `None` when none is needed, or the budget did not find it.
    pub answer: Option<Reply>,
    /// The defences after it.
    pub tree: Vec<Branch>,
}

/// The answer to a defence.
#[derive(Clone, Debug, Serialize)]
pub struct Reply {
    /// The move.
    #[serde(flatten)]
    pub named: Named,
    /// Moves in which it forces what is left.
    pub length: u8,
}

/// Whether the independent checker knows such claims.
fn is_certified(aim: Aim) -> bool {
    matches!(aim, Aim::Mate | Aim::Gain(_))
}

/// A key that forces what is asked by a line of this length; its tree is not made yet.
fn key(position: &Chess, mv: Move, length: u8, line: Vec<Move>, task: &Asked) -> Key {
    Key {
        named: Named::new(position, mv),
        length,
        by_checks: false,
        line: line.iter().map(|&mv| moves::uci(mv)).collect(),
        reasons: match task.options.reasons {
            true => why(position, &line),
            false => Vec::new(),
        },
        tree: None,
        solutions: Vec::new(),
        lines: vec![line],
        more: false,
    }
}

fn find(position: &Chess, task: &Asked) -> Solution {
    let (aim, n) = (task.aim, task.n);
    let first_moves: Vec<Move> = position.legal_moves().into_iter().collect();
    let mut keys = Vec::new();
    let mut undecided = Vec::new();
    let mut nodes = 0;
    let done: Result<(), Infallible> = in_order(
        &first_moves,
        task.means.threads,
        || (task.means.prover(task.options.nodes), task.means.watch()),
        |(prover, watch), &mv| {
            let before = prover.nodes;
            let verdict = prover.judge_aim(aim, position, n, Some(&[mv]), watch).pop();
            let mut key = match verdict {
                Some((mv, Verdict::Forces { length, line })) => {
                    let mut key = key(position, mv, length, line, task);
                    key.tree = (task.options.tree && !aim.shared())
                        .then(|| tree(aim, &after(position, mv), length - 1, prover, watch));
                    Some(key)
                }
                Some((_, Verdict::Fails { .. })) => None,
                Some((_, Verdict::Unknown { .. })) | None => {
                    return (Err(mv), prover.nodes - before);
                }
            };
            if let Some(key) = key.as_mut().filter(|_| aim.shared())
                && !name_solutions(key, position, mv, prover, watch)
            {
                return (Err(mv), prover.nodes - before);
            }
            (Ok(key), prover.nodes - before)
        },
        |_, (judged, spent)| {
            nodes += spent;
            match judged {
                Ok(key) => keys.extend(key),
                Err(mv) => undecided.push(moves::uci(mv)),
            }
            task.means.follow.done();
            Ok(())
        },
    );
    let Ok(()) = done;
    if aim == Aim::Mate && keys.is_empty() && !undecided.is_empty() {
        let prover = &mut task.means.prover(task.options.nodes);
        if let Some(key) = by_checks(position, task, prover, &mut task.means.watch()) {
            undecided.retain(|mv| *mv != key.named.uci);
            keys.push(key);
        }
        nodes += prover.nodes;
    }
    keys.sort_by_key(|key| key.length);
    let certified = is_certified(aim) && !first_moves.is_empty();
    let status = match (keys.is_empty(), undecided.is_empty()) {
        (false, _) => Status::Proved,
        (true, true) => Status::Refuted,
        (true, false) => Status::Unknown,
    };
    Solution {
        second: match task.options.unchecked && certified {
            true => Second::Skipped,
            false => Second::Nothing,
        },
        fen: fen::write(position),
        stipulation: Stipulation::Forced(aim, n).to_string(),
        status,
        keys,
        undecided,
        nodes,
        certificate: None,
    }
}

/// Adds the helpmates that begin with a key; false if the budget was spent.
fn name_solutions(
    key: &mut Key,
    position: &Chess,
    mv: Move,
    prover: &mut Prover,
    watch: &mut dyn Watch,
) -> bool {
    let mut lines = vec![vec![mv]];
    if key.length > 1 {
        let after = after(position, mv);
        let Ok((rest, all)) = prover.helpmates(&after, key.length - 1, MOST_SOLUTIONS, watch)
        else {
            return false;
        };
        key.more = !all;
        let whole = rest.into_iter().map(|rest| [vec![mv], rest].concat());
        lines = whole.collect();
    }
    let ucis = |line: &Vec<Move>| line.iter().map(|&mv| moves::uci(mv)).collect();
    key.solutions = lines.iter().map(ucis).collect();
    key.lines = lines;
    true
}

/// A mate by checks alone, which may lie far beyond what can be searched
/// through. The prover has confirmed every step of it.
fn by_checks(
    position: &Chess,
    task: &Asked,
    prover: &mut Prover,
    watch: &mut dyn Watch,
) -> Option<Key> {
    let (aim, n) = (task.written, task.n);
    let line = prover.mate_by_checks(position, n, watch).ok()??;
    let first = *line.first()?;
    let length = u8::try_from(line.len().div_ceil(2)).ok()?;
    let reasons = task.options.reasons.then(|| why(position, &line));
    let left = length - 1;
    Some(Key {
        named: Named::new(position, first),
        length,
        by_checks: true,
        line: line.iter().map(|&mv| moves::uci(mv)).collect(),
        reasons: reasons.unwrap_or_default(),
        tree: task
            .options
            .tree
            .then(|| tree(aim, &after(position, first), left, prover, watch)),
        solutions: Vec::new(),
        lines: vec![line],
        more: false,
    })
}

/// Puts a solution to the independent checker, and takes back what it does not
/// accept. `None` where there is nothing to be put to it.
fn check_twice(position: &Chess, task: &Asked, solution: &mut Solution) -> Option<Heard> {
    let (aim, n) = (task.aim, task.n);
    if !is_certified(aim) {
        return None;
    }
    let by_checks = solution.keys.iter().any(|key| key.by_checks);
    let keys = solution.keys.iter();
    let holds: Vec<(String, u8)> = keys.map(|k| (k.named.uci.clone(), k.length)).collect();
    let fails = position.legal_moves().into_iter().map(moves::uci);
    let fails: Vec<String> = fails
        .filter(|mv| !solution.undecided.contains(mv))
        .filter(|mv| !holds.iter().any(|(key, _)| key == mv))
        .collect();
    if holds.is_empty() && fails.is_empty() {
        return None;
    }
    let claim = Claim {
        fen: solution.fen.clone(),
        goal: Goal::Forced(aim, n),
        n,
        holds,
        fails,
        drawn: Vec::new(),
        shortest: !by_checks,
    };
    let heard = put(
        claim,
        &mut task.means.prover(task.options.nodes),
        &mut task.means.watch(),
    );
    solution.second = Second::of(&heard.claim, &heard.opinion);
    if !matches!(solution.second, Second::Accepted { .. }) {
        solution.status = Status::Unknown;
    }
    Some(heard)
}

fn certify(task: &Asked, solution: &Solution, heard: Option<&Heard>) -> Result<Certified, String> {
    match task.written {
        Aim::Mate | Aim::Gain(_) => {}
        Aim::Helpmate => {
            return Err(
                "no certificate: a helpmate has no defence to certify; each line shown can be played through"
                    .into(),
            );
        }
        _ => return Err("no certificate: only mates and gains are certified".into()),
    };
    if !solution.undecided.is_empty() {
        return Err("no certificate: some first moves are undecided".into());
    }
    heard.map_or_else(
        || Err("no certificate: there is no legal move".into()),
        certificate::of,
    )
}

/// Every defence with a shortest answer, down to the end of each line. `left`
/// counts the solver's moves left and bounds the depth.
fn tree(
    aim: Aim,
    position: &Chess,
    left: u8,
    prover: &mut Prover,
    watch: &mut dyn Watch,
) -> Vec<Branch> {
    let mut branches = Vec::new();
    for defence in position.legal_moves() {
        let defended = after(position, defence);
        let ends = aim.ended(&defended);
        let answer = match prover.force(aim, &defended, left, watch) {
            Ok(Some((mv, Verdict::Forces { length, .. }))) => Some((mv, length)),
            _ => None,
        };
        branches.push(Branch {
            defence: Named::new(position, defence),
            ends,
            answer: answer.map(|(mv, length)| Reply {
                named: Named::new(&defended, mv),
                length,
            }),
            tree: match answer {
                Some((mv, length)) => tree(aim, &after(&defended, mv), length - 1, prover, watch),
                None => Vec::new(),
            },
        });
    }
    branches
}

fn after(position: &Chess, mv: Move) -> Chess {
    let mut after = position.clone();
    after.play_unchecked(mv);
    after
}
