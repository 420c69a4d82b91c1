//! Measuring: references and rulings, on all cores, a line of a file for each
//! position, so that what is there need not be measured again.

use std::collections::HashSet;
use std::fs::{self, File, OpenOptions};
use std::io::Write;
use std::path::{Path, PathBuf};
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::thread;
use std::time::{Duration, Instant};

use keyproof::check::{Evidence, Goal, Judge, Question, Ruling};
use keyproof::notation::{fen, moves};
use keyproof::prove::Unwatched;
use keyproof::search::{Limits, Search};
use shakmaty::{Chess, Move};

use super::positions;
use super::sample::{self, Called, Measured, Ruled, Task};

pub struct Plan {
    pub seed: u64,
    pub positions: usize,
    /// Files to take positions from, instead of own games.
    pub from: Vec<PathBuf>,
    /// Files of what was measured, whose positions are ruled on anew and keep their
    /// references.
    pub again: Vec<PathBuf>,
    /// Nodes of the reference search, over all its lines.
    pub reference: u64,
    /// Rulings are made at these efforts, in doublings of the least.
    pub efforts: Vec<u8>,
    /// After so many seconds no position is begun.
    pub seconds: Option<u64>,
    pub threads: usize,
    pub file: PathBuf,
}

impl Default for Plan {
    fn default() -> Plan {
        Plan {
            seed: 1,
            positions: 2_000,
            from: Vec::new(),
            again: Vec::new(),
            reference: 6_400_000,
            efforts: vec![0, 2, 4],
            seconds: None,
            threads: thread::available_parallelism().map_or(1, usize::from),
            file: PathBuf::from(".campaign/calibration/own.jsonl"),
        }
    }
}

/// Lines of a reference, and the bytes of its table and of a judge's.
const LINES: usize = 6;
const REFERENCE_TABLE: usize = 64 << 20;
const TABLE: usize = keyproof::check::TABLE_BYTES;

/// A win is asked for where the best value is at least this, else a draw.
const WINNING: i32 = 150;

/// # Errors
/// What cannot be read or written.
pub fn run(plan: &Plan) -> Result<(), String> {
    let mut given = Vec::new();
    for path in &plan.from {
        given.extend(positions::of_file(path)?);
    }
    let known = match plan.again.is_empty() {
        true => Vec::new(),
        false => sample::read(&plan.again)?,
    };
    let fresh = match plan.from.is_empty() {
        true => plan.positions,
        false => given.len(),
    };
    let count = known.len() + fresh;
    let fault = |e: std::io::Error| format!("{}: {e}", plan.file.display());
    if let Some(folder) = plan.file.parent() {
        fs::create_dir_all(folder).map_err(fault)?;
    }
    let done = measured(&plan.file);
    // The `i`th position with its reference, unless it is measured already.
    let nth = |i: usize| -> Option<Measured> {
        if let Some(measured) = known.get(i) {
            let anew = !done.contains(&(measured.seed, measured.number));
            return anew.then(|| measured.clone());
        }
        let number = i - known.len();
        if done.contains(&(plan.seed, number)) {
            return None;
        }
        let given = given.get(number).cloned();
        let position = given.unwrap_or_else(|| positions::own(plan.seed, number));
        referred(plan, number, &position)
    };
    let file = OpenOptions::new()
        .create(true)
        .append(true)
        .open(&plan.file);
    let file = Mutex::new(file.map_err(fault)?);
    let began = Instant::now();
    let late = || {
        plan.seconds
            .is_some_and(|s| began.elapsed() > Duration::from_secs(s))
    };
    let (next, measured) = (AtomicUsize::new(0), AtomicUsize::new(done.len()));
    thread::scope(|scope| {
        let workers: Vec<_> = (0..plan.threads)
            .map(|_| {
                scope.spawn(|| -> Result<(), String> {
                    loop {
                        let i = next.fetch_add(1, Ordering::Relaxed);
                        if i >= count || late() {
                            return Ok(());
                        }
                        let Some(mut row) = nth(i) else {
                            continue;
                        };
                        row.rulings = rulings(plan, &row)?;
                        write(&file, &row).map_err(fault)?;
                        let all = measured.fetch_add(1, Ordering::Relaxed) + 1;
                        eprint!(
                            "\r{all} of {count} positions, {} s ",
                            began.elapsed().as_secs()
                        );
                    }
                })
            })
            .collect();
        let ended = workers
            .into_iter()
            .map(|w| w.join().map_err(|_| "a thread broke down".to_owned())?);
        ended.collect::<Result<Vec<()>, String>>()
    })?;
    eprintln!();
    Ok(())
}

/// The positions that are measured already, by seed and number.
fn measured(file: &Path) -> HashSet<(u64, usize)> {
    if !file.exists() {
        return HashSet::new();
    }
    let before = sample::read(&[file.to_owned()]).unwrap_or_default();
    before.iter().map(|m| (m.seed, m.number)).collect()
}

fn write(file: &Mutex<File>, row: &Measured) -> std::io::Result<()> {
    let mut text = serde_json::to_string(row)?;
    text.push('\n');
    let mut file = file.lock().unwrap_or_else(|broken| broken.into_inner());
    file.write_all(text.as_bytes())
}

/// A position with its reference, not ruled on yet; `None` where there are not two
/// moves to choose from.
fn referred(plan: &Plan, number: usize, position: &Chess) -> Option<Measured> {
    let limits = Limits {
        lines: LINES,
        ..Limits::nodes(plan.reference)
    };
    let lines = Search::new(REFERENCE_TABLE).lines(position, &[], &limits, &mut Unwatched);
    let lines = lines.iter().map(|line| {
        let value = positions::value(line.value).clamp(-1_000, 1_000);
        (moves::uci(line.moves[0]), value)
    });
    let lines: Vec<(String, i32)> = lines.collect();
    (lines.len() > 1).then(|| Measured {
        seed: plan.seed,
        number,
        fen: fen::write(position),
        reference: plan.reference,
        lines,
        rulings: Vec::new(),
    })
}

/// What the checker says of the moves of the reference, at each effort.
fn rulings(plan: &Plan, measured: &Measured) -> Result<Vec<Ruled>, String> {
    let position = fen::read(&measured.fen).map_err(|fault| fault.reasons().join("; "))?;
    let asked = measured.lines.iter();
    let asked: Vec<Move> = asked
        .filter_map(|(mv, _)| moves::read_uci(&position, mv))
        .collect();
    // Of every other position it is asked whether moves win, or hold.
    let other = match measured.lines[0].1 {
        _ if measured.number % 4 > 1 => None,
        WINNING.. => Some(Task::Win),
        _ => Some(Task::Draw),
    };
    let mut rulings = Vec::new();
    for task in std::iter::once(Task::Best).chain(other) {
        let goal = match task {
            Task::Best => Goal::Best(task.margins()),
            Task::Win => Goal::Win(task.margins()),
            Task::Draw => Goal::Draw(task.margins()),
        };
        let mut judge = Judge::new(TABLE);
        for &effort in &plan.efforts {
            let question = Question::about(&position, goal, &asked).with_effort(effort);
            let answer = judge.answer(&question, &mut Unwatched);
            let each = answer.rulings.iter().zip(judge.signs());
            rulings.extend(each.enumerate().map(|(line, (ruling, signs))| {
                Ruled {
                    line,
                    task,
                    effort,
                    called: called(ruling),
                    signs: signs
                        .filter(|_| called(ruling) != Called::Open)
                        .map(|signs| signs.numbers()),
                    nodes: answer.nodes,
                }
            }));
        }
    }
    Ok(rulings)
}

/// A ruling of which no chance is known counts as open.
fn called(ruling: &Ruling<String>) -> Called {
    if let Some(Evidence::Searched { chance: None, .. }) = ruling.evidence() {
        return Called::Open;
    }
    match ruling {
        Ruling::Holds { .. } => Called::Right,
        Ruling::Fails { .. } => Called::Wrong,
        Ruling::Open { .. } => Called::Open,
    }
}
