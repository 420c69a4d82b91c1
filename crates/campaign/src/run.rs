//! Running a campaign: chunks of positions on all cores, tallies kept in a
//! file, so that a stopped campaign goes on.

use std::collections::{BTreeMap, BTreeSet};
use std::path::PathBuf;
use std::sync::{Mutex, MutexGuard};
use std::time::{Duration, Instant};

use serde::{Deserialize, Serialize};
use shakmaty::fen::Fen;
use shakmaty::{CastlingMode, EnPassantMode, Move};

use crate::cells::{Asked, Cell};
use crate::compare::{Fault, Keys, Provers, Told};

/// Positions that are done, or lost, at once.
const CHUNK: u64 = 50;

/// How often the file is written and progress printed.
const PAUSE: Duration = Duration::from_secs(20);

/// What is to be done.
pub struct Plan {
    pub cells: Vec<Cell>,
    pub seed: u64,
    /// Seconds after which no further position is begun.
    pub seconds: Option<u64>,
    pub jobs: usize,
    /// Positions of each cell, instead of what its question wants.
    pub positions: Option<u64>,
    pub file: PathBuf,
}

/// What a campaign has found so far.
#[derive(Debug, Serialize, Deserialize)]
pub struct State {
    seed: u64,
    cells: BTreeMap<String, Tally>,
    /// All differences, in words.
    pub differences: Vec<String>,
}

/// What was compared in one cell.
#[derive(Clone, Debug, Default, Serialize, Deserialize)]
pub struct Tally {
    /// Chunks done: all before the first, and these.
    first: u64,
    beyond: BTreeSet<u64>,
    pub positions: u64,
    pub black: u64,
    pub capped: u64,
    pub differences: u64,
    pub with_keys: u64,
    pub keys: u64,
    pub sets: u64,
    pub castling: u64,
    pub castling_decides: u64,
    pub en_passant: u64,
    pub en_passant_decides: u64,
    pub promotion: u64,
    pub underpromotion: u64,
    pub double_check: u64,
    pub stalemate: u64,
}

impl Tally {
    fn add(&mut self, told: &Told) {
        self.with_keys += u64::from(told.keys > 0);
        self.keys += told.keys;
        self.sets += told.sets;
        self.castling += u64::from(told.took.castling);
        self.castling_decides += u64::from(told.castling_decides);
        self.en_passant += u64::from(told.took.en_passant);
        self.en_passant_decides += u64::from(told.en_passant_decides);
        self.promotion += u64::from(told.took.promotion);
        self.underpromotion += u64::from(told.took.underpromotion);
        self.double_check += u64::from(told.took.double_check);
        self.stalemate += u64::from(told.took.stalemate);
    }

    /// Adds the counts of a chunk and marks it as done.
    fn take(&mut self, chunk: u64, other: &Tally) {
        for (sum, more) in [
            (&mut self.positions, other.positions),
            (&mut self.black, other.black),
            (&mut self.capped, other.capped),
            (&mut self.differences, other.differences),
            (&mut self.with_keys, other.with_keys),
            (&mut self.keys, other.keys),
            (&mut self.sets, other.sets),
            (&mut self.castling, other.castling),
            (&mut self.castling_decides, other.castling_decides),
            (&mut self.en_passant, other.en_passant),
            (&mut self.en_passant_decides, other.en_passant_decides),
            (&mut self.promotion, other.promotion),
            (&mut self.underpromotion, other.underpromotion),
            (&mut self.double_check, other.double_check),
            (&mut self.stalemate, other.stalemate),
        ] {
            *sum += more;
        }
        self.beyond.insert(chunk);
        while self.beyond.remove(&self.first) {
            self.first += 1;
        }
    }

    fn has(&self, chunk: u64) -> bool {
        chunk < self.first || self.beyond.contains(&chunk)
    }
}

/// Lines for a file of tests, `each` of a cell: stratum, question, FEN and
/// keys, separated by tabs. Positions in which something is at stake.
///
/// # Errors
/// A difference.
pub fn examples(seed: u64, each: usize) -> Result<String, String> {
    let mut provers = Provers::default();
    let mut text = String::new();
    for cell in Cell::all() {
        let mut found = 0;
        let mut i = 0;
        while found < each && i < 60 {
            i += 1;
            let asked = cell.asked(seed, i, &mut provers);
            let (aim, position, n) = (asked.aim, &asked.position, asked.n);
            let (told, keys) = match provers.compare(aim, position, n, asked.off) {
                Ok(told) => told,
                Err(Fault::Capped) => continue,
                Err(Fault::Differs(text)) => return Err(text),
            };
            let decides = told.castling_decides || told.en_passant_decides;
            // The longer it is looked for, the less is asked of it.
            let wanted = match i {
                0..20 if cell.stratum.is_special() => decides,
                0..40 => !keys.is_empty(),
                _ => true,
            };
            if wanted && keys.len() <= 12 {
                found += 1;
                text += &line(cell, &asked, &keys);
            }
        }
    }
    Ok(text)
}

fn line(cell: Cell, asked: &Asked, keys: &Keys) -> String {
    let named = |(m, length): &(Move, u8)| format!("{}={length}", m.to_uci(CastlingMode::Standard));
    let mut keys: Vec<String> = keys.iter().map(named).collect();
    keys.sort();
    let fen = Fen::from_position(&asked.position, EnPassantMode::PseudoLegal);
    let (sign, count) = (asked.aim.sign(), asked.aim.count(asked.n));
    format!(
        "{}\t{sign}{count}\t{fen}\t{}\n",
        cell.stratum.name(),
        keys.join(" ")
    )
}

/// A campaign on its way.
struct Work {
    state: State,
    /// By cell, the chunk to be given out next.
    next: Vec<u64>,
}

/// Runs the plan until it is done or its time is over.
///
/// # Errors
/// The file cannot be read or written, or is of another seed.
pub fn run(plan: &Plan) -> Result<State, String> {
    let work = Mutex::new(Work {
        state: read(plan)?,
        next: vec![0; plan.cells.len()],
    });
    let begun = Instant::now();
    let over = || plan.seconds.is_some_and(|s| begun.elapsed().as_secs() >= s);
    std::thread::scope(|scope| {
        let mut workers: Vec<_> = (0..plan.jobs.max(1))
            .map(|_| scope.spawn(|| labour(plan, &work, &over)))
            .collect();
        let mut told = Instant::now();
        while !workers.is_empty() {
            std::thread::sleep(Duration::from_millis(200));
            workers.retain(|worker| !worker.is_finished());
            if told.elapsed() >= PAUSE || workers.is_empty() {
                told = Instant::now();
                let state = &held(&work).state;
                write(plan, state)?;
                let positions: u64 = state.cells.values().map(|tally| tally.positions).sum();
                eprintln!(
                    "{:5} s: {positions} positions, {} differences",
                    begun.elapsed().as_secs(),
                    state.differences.len()
                );
            }
        }
        Ok::<(), String>(())
    })?;
    let work = work.into_inner().unwrap_or_else(|e| e.into_inner());
    Ok(work.state)
}

fn held(work: &Mutex<Work>) -> MutexGuard<'_, Work> {
    work.lock().unwrap_or_else(|e| e.into_inner())
}

fn labour(plan: &Plan, work: &Mutex<Work>, over: &impl Fn() -> bool) {
    let mut provers = Provers::default();
    loop {
        let given = held(work).give(plan);
        let Some((at, chunk)) = given else { return };
        let cell = plan.cells[at];
        let mut tally = Tally::default();
        let mut differences = Vec::new();
        for i in chunk * CHUNK..(chunk + 1) * CHUNK {
            if over() {
                return;
            }
            let asked = cell.asked(plan.seed, i, &mut provers);
            match provers.compare(asked.aim, &asked.position, asked.n, asked.off) {
                Ok((told, _)) => tally.add(&told),
                Err(Fault::Capped) => {
                    tally.capped += 1;
                    continue;
                }
                Err(Fault::Differs(text)) => {
                    tally.differences += 1;
                    differences.push(format!("{}: {text}", cell.stratum.name()));
                }
            }
            tally.positions += 1;
            tally.black += u64::from(shakmaty::Position::turn(&asked.position).is_black());
        }
        for text in &differences {
            eprintln!("DIFFERS {text}");
        }
        let state = &mut held(work).state;
        state.differences.extend(differences);
        let sum = state.cells.entry(cell.name()).or_default();
        sum.take(chunk, &tally);
    }
}

impl Work {
    /// The next chunk of the cell that is furthest behind.
    fn give(&mut self, plan: &Plan) -> Option<(usize, u64)> {
        let chunks = |cell: &Cell| {
            let wanted = plan.positions.unwrap_or(cell.question.wanted());
            wanted.div_ceil(CHUNK)
        };
        loop {
            let behind = |&at: &usize| {
                let done = self.next[at] as f64 / chunks(&plan.cells[at]) as f64;
                (done * 1e9) as u64
            };
            let open = (0..plan.cells.len()).filter(|&at| self.next[at] < chunks(&plan.cells[at]));
            let at = open.min_by_key(behind)?;
            let chunk = self.next[at];
            self.next[at] += 1;
            let tally = self.state.cells.get(&plan.cells[at].name());
            if !tally.is_some_and(|tally| tally.has(chunk)) {
                return Some((at, chunk));
            }
        }
    }
}

fn read(plan: &Plan) -> Result<State, String> {
    let name = plan.file.display();
    let text = match std::fs::read_to_string(&plan.file) {
        Ok(text) => text,
        Err(fault) if fault.kind() == std::io::ErrorKind::NotFound => {
            return Ok(State {
                seed: plan.seed,
                cells: BTreeMap::new(),
                differences: Vec::new(),
            });
        }
        Err(fault) => return Err(format!("{name}: {fault}")),
    };
    let state: State = serde_json::from_str(&text).map_err(|fault| format!("{name}: {fault}"))?;
    if state.seed != plan.seed {
        return Err(format!(
            "{name} is a campaign with seed {}, not {}: name another file",
            state.seed, plan.seed
        ));
    }
    Ok(state)
}

fn write(plan: &Plan, state: &State) -> Result<(), String> {
    let name = plan.file.display();
    let fault = |fault: std::io::Error| format!("{name}: {fault}");
    if let Some(folder) = plan.file.parent() {
        std::fs::create_dir_all(folder).map_err(fault)?;
    }
    let text = serde_json::to_string_pretty(state).map_err(|fault| format!("{name}: {fault}"))?;
    let new = plan.file.with_extension("new");
    std::fs::write(&new, text).map_err(fault)?;
    std::fs::rename(&new, &plan.file).map_err(fault)
}

impl State {
    /// A table of all cells.
    pub fn table(&self) -> String {
        let mut text = format!(
            "seed {}\n{:24}{:>9}{:>7}{:>7}{:>7}{:>10}{:>9}{:>10}{:>9}{:>7}{:>8}{:>7}{:>8}{:>8}{:>8}{:>8}\n",
            self.seed,
            "stratum, question",
            "positions",
            "black",
            "capped",
            "differ",
            "with keys",
            "keys",
            "move sets",
            "castling",
            "decides",
            "e.p.",
            "decides",
            "promote",
            "under",
            "double+",
            "stale"
        );
        for (name, t) in &self.cells {
            text += &format!(
                "{name:24}{:>9}{:>7}{:>7}{:>7}{:>10}{:>9}{:>10}{:>9}{:>7}{:>8}{:>7}{:>8}{:>8}{:>8}{:>8}\n",
                t.positions,
                t.black,
                t.capped,
                t.differences,
                t.with_keys,
                t.keys,
                t.sets,
                t.castling,
                t.castling_decides,
                t.en_passant,
                t.en_passant_decides,
                t.promotion,
                t.underpromotion,
                t.double_check,
                t.stalemate
            );
        }
        text
    }
}
