//! `keyproof solve`: every first move that forces mate, selfmate or stalemate,
//! and every helpmate.

use std::io::Write;
use std::path::Path;

use keyproof::check::{Claim, Goal, Second};
use keyproof::explain::reasons;
use keyproof::notation::{fen, moves};
use keyproof::prove::{Aim, Prover, Verdict};
use keyproof::puzzle::Stipulation;
use keyproof_second::{Heard, put};
use serde::Serialize;
use shakmaty::{Chess, Move, Position};

use crate::arguments::Solve;
use crate::certificate::{self, Certified, Written, folder_of};
use crate::check::{Ticking, disagreement};
use crate::input;
use crate::judge::prover;
use crate::output::{self, BOLD, FAINT, Outcome, Trouble, counted};
use crate::workers::{cores, in_order};

/// Judges every legal first move and prints those that force the aim in time.
pub fn run(task: &Solve) -> Result<Outcome, Trouble> {
    let position = input::position(&task.fen)?;
    let mut solution = solve(&position, task);
    let mut certified = true;
    let heard = match task.unchecked {
        true => None,
        false => check_twice(&position, task, &mut solution),
    };
    if let Second::Against(found) = &solution.second {
        let folder = folder_of(task.certificate.as_deref().unwrap_or(Path::new("-")));
        let file = folder.join("solve-disagreement.txt");
        let file = certificate::write_disagreement(&file, found)?;
        output::complain(&disagreement(&solution.fen, &file));
    }
    if let Some(file) = &task.certificate {
        match certify(task, &solution, heard.as_ref()) {
            Ok(proof) => solution.certificate = Some(Some(certificate::write(&proof, file)?)),
            Err(sentence) => {
                output::complain(&sentence);
                solution.certificate = Some(None);
                certified = false;
            }
        }
    }
    let mut out = anstream::stdout();
    if task.json {
        serde_json::to_writer(&mut out, &solution)?;
        writeln!(out)?;
    } else {
        describe(&mut out, &position, task.claim(), &solution)?;
    }
    out.flush()?;
    Ok(match solution.status {
        Status::Proved if certified => Outcome::Sound,
        Status::Proved | Status::Refuted | Status::Unknown => Outcome::Unsound,
    })
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
enum Status {
    /// At least one first move forces the aim in time.
    Proved,
    /// None does.
    Refuted,
    /// None is known to, and some are undecided; or the checker has not said
    /// yes.
    Unknown,
}

#[derive(Serialize)]
struct Solution {
    fen: String,
    stipulation: String,
    status: Status,
    keys: Vec<Key>,
    /// First moves that the budget did not settle, in UCI.
    undecided: Vec<String>,
    nodes: u64,
    /// What the independent checker says.
    second: Second,
    /// The certificate asked for, if it could be written.
    #[serde(skip_serializing_if = "Option::is_none")]
    certificate: Option<Option<Written>>,
}

#[derive(Serialize)]
struct Key {
    #[serde(flatten)]
    named: Named,
    length: u8,
    /// Found by checks alone where the full search ended without an answer: it
    /// mates in `length`, and perhaps sooner.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    by_checks: bool,
    /// The longest defence, in UCI.
    line: Vec<String>,
    /// Why the key and the moves after it work, if asked for.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    reasons: Vec<Why>,
    #[serde(skip_serializing_if = "Option::is_none")]
    tree: Option<Vec<Branch>>,
    /// All helpmates of that length, in UCI, no more than [`MOST_SOLUTIONS`].
    #[serde(skip_serializing_if = "Vec::is_empty")]
    solutions: Vec<Vec<String>>,
    /// The line, and where several are named each of them.
    #[serde(skip)]
    lines: Vec<Vec<Move>>,
    /// Whether there are more helpmates than are named.
    #[serde(skip)]
    more: bool,
}

/// Helpmates named for one first move.
const MOST_SOLUTIONS: usize = 100;

#[derive(Serialize)]
struct Why {
    kind: &'static str,
    sentence: String,
}

#[derive(Serialize)]
struct Named {
    uci: String,
    san: String,
}

impl Named {
    fn new(position: &Chess, mv: Move) -> Named {
        Named {
            uci: moves::uci(mv),
            san: moves::san(position, mv),
        }
    }
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
#[derive(Serialize)]
struct Branch {
    defence: Named,
    /// The defence itself ends the line: it mates, in a selfmate.
    #[serde(skip)]
    ends: bool,
    /// `None` when none is needed, or the budget did not find it.
    answer: Option<Reply>,
    tree: Vec<Branch>,
}

#[derive(Serialize)]
struct Reply {
    #[serde(flatten)]
    named: Named,
    length: u8,
}

/// What to force from this position, and in how many moves.
fn claim(position: &Chess, task: &Solve) -> (Aim, u8) {
    let (aim, n) = task.claim();
    (aim.from(position), n)
}

/// Whether the independent checker knows such claims.
fn is_certified(aim: Aim) -> bool {
    matches!(aim, Aim::Mate | Aim::Gain(_))
}

fn solve(position: &Chess, task: &Solve) -> Solution {
    let (aim, n) = claim(position, task);
    let first_moves: Vec<Move> = position.legal_moves().into_iter().collect();
    let bar = output::progress(first_moves.len(), "first move");
    let mut keys = Vec::new();
    let mut undecided = Vec::new();
    let mut nodes = 0;
    let done: Result<(), std::convert::Infallible> = in_order(
        &first_moves,
        cores(),
        || (prover(task.effort.nodes), Ticking(bar.clone())),
        |(prover, watch), &mv| {
            let before = prover.nodes;
            let verdict = prover.judge_aim(aim, position, n, Some(&[mv]), watch).pop();
            let mut key = match verdict {
                Some((mv, Verdict::Forces { length, line })) => Some(Key {
                    named: Named::new(position, mv),
                    length,
                    by_checks: false,
                    line: line.iter().map(|&mv| moves::uci(mv)).collect(),
                    reasons: match task.reasons {
                        true => why(position, &line),
                        false => Vec::new(),
                    },
                    tree: (task.tree && !aim.shared())
                        .then(|| tree(aim, &after(position, mv), length - 1, prover, watch)),
                    solutions: Vec::new(),
                    lines: vec![line],
                    more: false,
                }),
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
            bar.inc(1);
            Ok(())
        },
    );
    let Ok(()) = done;
    if aim == Aim::Mate && keys.is_empty() && !undecided.is_empty() {
        let prover = &mut prover(task.effort.nodes);
        if let Some(key) = by_checks(position, task, prover, &mut Ticking(bar.clone())) {
            undecided.retain(|mv| *mv != key.named.uci);
            keys.push(key);
        }
        nodes += prover.nodes;
    }
    bar.finish_and_clear();
    keys.sort_by_key(|key| key.length);
    let certified = is_certified(aim) && !first_moves.is_empty();
    Solution {
        second: match task.unchecked && certified {
            true => Second::Skipped,
            false => Second::Nothing,
        },
        fen: fen::write(position),
        stipulation: Stipulation::Forced(aim, n).to_string(),
        status: match (keys.is_empty(), undecided.is_empty()) {
            (false, _) => Status::Proved,
            (true, true) => Status::Refuted,
            (true, false) => Status::Unknown,
        },
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
    watch: &mut Ticking,
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
    task: &Solve,
    prover: &mut Prover,
    watch: &mut Ticking,
) -> Option<Key> {
    let (aim, n) = task.claim();
    let line = prover.mate_by_checks(position, n, watch).ok()??;
    let first = *line.first()?;
    let length = u8::try_from(line.len().div_ceil(2)).ok()?;
    let reasons = task.reasons.then(|| why(position, &line));
    let left = length - 1;
    Some(Key {
        named: Named::new(position, first),
        length,
        by_checks: true,
        line: line.iter().map(|&mv| moves::uci(mv)).collect(),
        reasons: reasons.unwrap_or_default(),
        tree: task
            .tree
            .then(|| tree(aim, &after(position, first), left, prover, watch)),
        solutions: Vec::new(),
        lines: vec![line],
        more: false,
    })
}

/// Puts a solution to the independent checker, and takes back what it does not
/// accept. `None` where there is nothing to be put to it.
fn check_twice(position: &Chess, task: &Solve, solution: &mut Solution) -> Option<Heard> {
    let (aim, n) = claim(position, task);
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
        shortest: !by_checks,
    };
    let bar = output::progress(0, "position");
    let heard = put(
        claim,
        &mut prover(task.effort.nodes),
        &mut Ticking(bar.clone()),
    );
    bar.finish_and_clear();
    solution.second = Second::of(&heard.claim, &heard.opinion);
    if !matches!(solution.second, Second::Accepted { .. }) {
        solution.status = Status::Unknown;
    }
    Some(heard)
}

fn certify(task: &Solve, solution: &Solution, heard: Option<&Heard>) -> Result<Certified, String> {
    match task.claim().0 {
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
    watch: &mut Ticking,
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

fn describe(
    out: &mut impl Write,
    position: &Chess,
    (aim, n): (Aim, u8),
    solution: &Solution,
) -> std::io::Result<()> {
    let proved = match solution.second {
        Second::Accepted { .. } => "proved",
        _ => "proved by one program",
    };
    let headline = match solution.status {
        _ if matches!(solution.second, Second::Against(_)) => {
            format!("undecided: {}", solution.second.words())
        }
        Status::Proved if aim == Aim::Helpmate => {
            let lines = solution.keys.iter().map(|key| key.lines.len()).sum();
            let more = solution.keys.iter().any(|key| key.more);
            let least = if more { "at least " } else { "" };
            format!("{proved}: {least}{}", counted(lines, "solution"))
        }
        Status::Proved => format!("{proved}: {}", counted(solution.keys.len(), "key")),
        Status::Refuted if position.legal_moves().is_empty() => {
            "refuted: there is no legal move".into()
        }
        Status::Refuted if aim == Aim::Helpmate => {
            format!("refuted: there is no helpmate in {} or fewer", aim.count(n))
        }
        Status::Refuted if aim == Aim::Mate => {
            format!("refuted: no first move mates in {n} or fewer")
        }
        Status::Refuted if matches!(aim, Aim::Gain(_)) => {
            format!("refuted: no first move wins {} in {n} or fewer", aim.what())
        }
        Status::Refuted => format!(
            "refuted: no first move forces {} in {n} or fewer",
            aim.noun()
        ),
        Status::Unknown => "unknown: the budget did not settle it".into(),
    };
    writeln!(
        out,
        "{BOLD}{} {headline}{BOLD:#}",
        Stipulation::Forced(aim, n)
    )?;
    for key in &solution.keys {
        for line in &key.lines {
            let line = moves::line(position, line, 1);
            writeln!(
                out,
                "  {:<8} {} in {}   {FAINT}{line}{FAINT:#}",
                key.named.san,
                aim.noun(),
                aim.count(key.length)
            )?;
        }
        if key.more {
            writeln!(out, "  {:<8} and more", key.named.san)?;
        }
        if key.by_checks {
            writeln!(
                out,
                "    found by checks alone, each reply tried; it may mate sooner"
            )?;
        }
        for reason in &key.reasons {
            writeln!(out, "    {}: {}", reason.kind, reason.sentence)?;
        }
        if let Some(tree) = &key.tree {
            describe_tree(out, tree, position.turn().is_white())?;
        }
    }
    if !solution.undecided.is_empty() {
        writeln!(out, "  undecided: {}", solution.undecided.join(" "))?;
    }
    if let Some(Some(written)) = &solution.certificate {
        writeln!(out, "  {}", written.line())?;
    }
    let words = solution.second.words();
    if !words.is_empty() {
        writeln!(out, "  {FAINT}{words}{FAINT:#}")?;
    }
    writeln!(out, "{FAINT}{} nodes{FAINT:#}", solution.nodes)
}

/// The tree as indented lines, one per defence.
fn describe_tree(
    out: &mut impl Write,
    tree: &[Branch],
    solver_is_white: bool,
) -> std::io::Result<()> {
    let mut open: Vec<(usize, &Branch)> = tree.iter().rev().map(|branch| (1, branch)).collect();
    while let Some((depth, branch)) = open.pop() {
        let indent = "    ".repeat(depth);
        let (defence, answer) = match solver_is_white {
            true => (
                format!("{depth}...{}", branch.defence.san),
                format!("{}.", depth + 1),
            ),
            false => (
                format!("{}.{}", depth + 1, branch.defence.san),
                format!("{}...", depth + 1),
            ),
        };
        match &branch.answer {
            Some(reply) => writeln!(out, "{indent}{defence}  {answer}{}", reply.named.san)?,
            None if branch.ends => writeln!(out, "{indent}{defence}")?,
            None => writeln!(out, "{indent}{defence}  (not settled within the budget)")?,
        }
        open.extend(branch.tree.iter().rev().map(|branch| (depth + 1, branch)));
    }
    Ok(())
}
