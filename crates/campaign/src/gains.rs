//! Gains of material by brute force, and the prover of gains against it. The rules of
//! a gain are those of `prove::gain`, written here a second time over shakmaty's
//! positions: every legal move is tried, and nothing is left out.

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::fs::File;
use std::io::{Read, Write};
use std::path::PathBuf;
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Mutex, MutexGuard};
use std::time::Instant;

use prove::corpus::Seeded;
use prove::gain::LONGEST_EXCHANGE;
use prove::{Aim, Prover, Shortcuts, Unwatched, Verdict};
use shakmaty::fen::Fen;
use shakmaty::{Chess, Color, EnPassantMode, Move, Position, Role};

use crate::brute::{Capped, played};
use crate::strata::{Bounds, Stratum};

/// Most positions that brute force looks at for one question.
const LEAVES: u64 = 60_000_000;

/// Gains that are asked for, by turns: a pawn, the exchange, a piece, a rook, a queen
/// for a knight, a queen, and mate.
const GAINS: [u8; 8] = [1, 2, 3, 1, 5, 6, 9, 50];

/// A search for gains over the rules alone.
pub struct Brute {
    solver: Color,
    target: i32,
    left: u64,
}

fn balance(position: &Chess, color: Color) -> i32 {
    let board = position.board();
    let mut sum = 0;
    for sq in board.occupied() {
        let Some(piece) = board.piece_at(sq) else {
            continue;
        };
        let worth = match piece.role {
            Role::Pawn => 1,
            Role::Knight => 3,
            Role::Bishop => 3,
            Role::Rook => 5,
            Role::Queen => 9,
            Role::King => 0,
        };
        sum += if piece.color == color { worth } else { -worth };
    }
    sum
}

impl Brute {
    /// For the side to move, and a gain of `k`.
    pub fn new(position: &Chess, k: u8) -> Brute {
        let solver = position.turn();
        Brute {
            solver,
            target: balance(position, solver) + i32::from(k),
            left: LEAVES,
        }
    }

    fn spend(&mut self) -> Result<(), Capped> {
        self.left = self.left.checked_sub(1).ok_or(Capped)?;
        Ok(())
    }

    /// Whether the solver, to move, forces the gain within `n`.
    fn forces(&mut self, position: &Chess, n: u8) -> Result<bool, Capped> {
        for m in position.legal_moves() {
            if self.gains(position, m, n)? {
                return Ok(true);
            }
        }
        Ok(false)
    }

    /// Whether a move of the solver's does, the first of `n`.
    ///
    /// # Errors
    /// It takes too long.
    pub fn gains(&mut self, position: &Chess, m: Move, n: u8) -> Result<bool, Capped> {
        self.spend()?;
        let after = played(position, m);
        if after.is_checkmate() {
            return Ok(true);
        }
        if after.is_stalemate() {
            return Ok(false);
        }
        if balance(&after, self.solver) >= self.target && self.stays(&after, 0)? {
            return Ok(true);
        }
        if n <= 1 {
            return Ok(false);
        }
        for reply in after.legal_moves() {
            if !self.forces(&played(&after, reply), n - 1)? {
                return Ok(false);
            }
        }
        Ok(true)
    }

    /// Whether the exchange game comes out at the target or above.
    fn stays(&mut self, position: &Chess, plies: u8) -> Result<bool, Capped> {
        self.spend()?;
        let solves = position.turn() == self.solver;
        if position.is_checkmate() {
            return Ok(!solves);
        }
        if position.is_stalemate() || plies >= LONGEST_EXCHANGE {
            return Ok(false);
        }
        let checked = position.is_check();
        if !checked && (balance(position, self.solver) >= self.target) == solves {
            // Stopping decides it for whoever is to move.
            return Ok(solves);
        }
        for m in position.legal_moves() {
            let loud = checked || m.is_capture() || m.is_promotion();
            if loud && self.stays(&played(position, m), plies + 1)? == solves {
                return Ok(solves);
            }
        }
        Ok(!solves)
    }
}

/// A position is asked for a gain.
fn compare(prover: &mut Prover, position: &Chess, k: u8, n: u8) -> Result<u64, Option<String>> {
    let judged = prover.judge_gain(position, k, n, None, &mut Unwatched);
    let fen = Fen::from_position(position, EnPassantMode::Legal);
    let mut keys = 0;
    let differs = |text: String| Some(format!("{fen} gain of {k} in {n}: {text}"));
    if judged.len() != position.legal_moves().len() {
        return Err(differs("not all moves are judged".to_owned()));
    }
    let mut brute = Brute::new(position, k);
    for (m, verdict) in judged {
        let mut within = None;
        for fewer in 1..=n {
            if brute.gains(position, m, fewer).map_err(|Capped| None)? {
                within = Some(fewer);
                break;
            }
        }
        let fault = match &verdict {
            Verdict::Forces { length, line } => {
                keys += 1;
                let mut last = position.clone();
                let legal = line.iter().all(|&m| {
                    let legal = last.is_legal(m);
                    if legal {
                        last.play_unchecked(m);
                    }
                    legal
                });
                let stands = last.is_checkmate()
                    || balance(&last, position.turn()) >= brute.target
                        && brute.stays(&last, 0).map_err(|Capped| None)?;
                within != Some(*length)
                    || !legal
                    || !stands
                    || line.first() != Some(&m)
                    || line.len() != 2 * usize::from(*length) - 1
            }
            Verdict::Fails { line } => {
                let escapes = match line.get(1) {
                    Some(&reply) => {
                        let next = played(&played(position, m), reply);
                        !brute.forces(&next, n - 1).map_err(|Capped| None)?
                    }
                    None => true,
                };
                within.is_some() || !escapes
            }
            Verdict::Unknown { .. } => true,
        };
        if fault {
            return Err(differs(format!("{m}: {verdict:?}, but {within:?}")));
        }
    }
    Ok(keys)
}

/// What a campaign of gains is asked to do.
pub struct Plan {
    pub n: u8,
    /// Positions of each stratum.
    pub positions: u64,
    pub seed: u64,
    pub jobs: usize,
    /// The strata that take part.
    pub strata: Vec<Stratum>,
    /// Seconds after which no further position is begun.
    pub seconds: Option<u64>,
    /// Where what is done is kept, a position a line; without it nothing is.
    pub file: Option<PathBuf>,
}

/// What was compared in a stratum.
#[derive(Clone, Copy, Debug, Default)]
struct Tally {
    positions: u64,
    keyed: u64,
    keys: u64,
    capped: u64,
}

/// What came of a position: how many keys it has, that it took too long, or what
/// differs. Kept as a line: stratum, number and this, parted by tabs.
enum Told {
    Keys(u64),
    Capped,
    Differs(String),
}

impl Told {
    fn of(compared: Result<u64, Option<String>>) -> Told {
        match compared {
            Ok(keys) => Told::Keys(keys),
            Err(None) => Told::Capped,
            Err(Some(text)) => Told::Differs(text),
        }
    }

    fn line(&self, (stratum, i): (&str, u64)) -> String {
        let told = match self {
            Told::Keys(keys) => keys.to_string(),
            Told::Capped => "capped".to_owned(),
            Told::Differs(text) => format!("DIFFERS {text}"),
        };
        format!("{stratum}\t{i}\t{told}\n")
    }

    fn read(line: &str) -> Option<((&str, u64), Told)> {
        let mut fields = line.splitn(3, '\t');
        let place = (fields.next()?, fields.next()?.parse().ok()?);
        let told = fields.next()?;
        let told = match (told.parse(), told.strip_prefix("DIFFERS ")) {
            (Ok(keys), _) => Told::Keys(keys),
            (_, Some(text)) => Told::Differs(text.to_owned()),
            _ => Told::Capped,
        };
        Some((place, told))
    }
}

/// Positions in which something can be taken, threatened or answered: no bounds are
/// needed to end.
const RICH: Bounds = Bounds {
    moves: 60,
    replies: 60,
};

/// A campaign on its way.
struct Work {
    done: BTreeMap<(&'static str, u64), Told>,
    file: Option<File>,
}

/// Compares positions of all strata by turns; prints a table, and gives the
/// differences. Goes on where the file ends.
///
/// # Errors
/// The file cannot be read or written.
pub fn run(plan: &Plan) -> Result<Vec<String>, String> {
    let begun = Instant::now();
    let over = || plan.seconds.is_some_and(|s| begun.elapsed().as_secs() >= s);
    let work = Mutex::new(Work::of(plan)?);
    let next = AtomicU64::new(0);
    std::thread::scope(|scope| {
        let labour = || -> Result<(), String> {
            let mut prover = Prover::new(1 << 20);
            loop {
                let at = next.fetch_add(1, Ordering::Relaxed);
                let i = at / plan.strata.len() as u64;
                if i >= plan.positions || over() {
                    return Ok(());
                }
                let stratum = plan.strata[(at % plan.strata.len() as u64) as usize];
                let place = (stratum.name(), i);
                if held(&work).done.contains_key(&place) {
                    continue;
                }
                let (position, k) = drawn(stratum, plan, i);
                // Every second time without some of its shortcuts.
                let off = if i % 2 == 1 { (i / 2) as u8 } else { 0 };
                prover.shortcuts = Shortcuts::without(off);
                let told = Told::of(compare(&mut prover, &position, k, plan.n));
                held(&work).take(place, told)?;
            }
        };
        let workers: Vec<_> = (0..plan.jobs.max(1)).map(|_| scope.spawn(labour)).collect();
        let joined = workers.into_iter().map(|w| w.join().unwrap_or(Ok(())));
        joined.collect::<Result<Vec<()>, String>>()
    })?;
    let work = work.into_inner().unwrap_or_else(|e| e.into_inner());
    print!("{}", work.table(plan));
    Ok(work.differences())
}

fn held(work: &Mutex<Work>) -> MutexGuard<'_, Work> {
    work.lock().unwrap_or_else(|e| e.into_inner())
}

impl Work {
    fn of(plan: &Plan) -> Result<Work, String> {
        let mut work = Work {
            done: BTreeMap::new(),
            file: None,
        };
        let Some(path) = &plan.file else {
            return Ok(work);
        };
        let fault = |fault: std::io::Error| format!("{}: {fault}", path.display());
        if let Some(folder) = path.parent() {
            std::fs::create_dir_all(folder).map_err(fault)?;
        }
        let mut file = File::options()
            .read(true)
            .append(true)
            .create(true)
            .open(path)
            .map_err(fault)?;
        let mut text = String::new();
        file.read_to_string(&mut text).map_err(fault)?;
        // A line that was cut short is done once more.
        let whole = text.rfind('\n').map_or(0, |at| at + 1);
        file.set_len(whole as u64).map_err(fault)?;
        for ((name, i), told) in text[..whole].lines().filter_map(Told::read) {
            let known = Stratum::ALL.iter().find(|stratum| stratum.name() == name);
            if let Some(stratum) = known {
                work.done.insert((stratum.name(), i), told);
            }
        }
        work.file = Some(file);
        Ok(work)
    }

    fn take(&mut self, place: (&'static str, u64), told: Told) -> Result<(), String> {
        let line = told.line(place);
        if matches!(told, Told::Differs(_)) {
            eprint!("{line}");
        }
        if let Some(file) = &mut self.file {
            let written = file.write_all(line.as_bytes());
            written.map_err(|fault| format!("{line}: {fault}"))?;
        }
        self.done.insert(place, told);
        Ok(())
    }

    fn table(&self, plan: &Plan) -> String {
        let mut text = "stratum: positions, with keys, keys, capped\n".to_owned();
        for stratum in &plan.strata {
            let mut sum = Tally::default();
            for ((name, _), told) in &self.done {
                match told {
                    _ if *name != stratum.name() => {}
                    Told::Keys(keys) => {
                        sum.positions += 1;
                        sum.keyed += u64::from(*keys > 0);
                        sum.keys += keys;
                    }
                    Told::Capped => sum.capped += 1,
                    Told::Differs(_) => sum.positions += 1,
                }
            }
            let _ = writeln!(
                text,
                "{:20} {:7} {:7} {:7} {:5}",
                stratum.name(),
                sum.positions,
                sum.keyed,
                sum.keys,
                sum.capped
            );
        }
        text
    }

    fn differences(&self) -> Vec<String> {
        let lines = self.done.iter().map(|(&place, told)| match told {
            Told::Differs(_) => Some(told.line(place).trim_end().to_owned()),
            _ => None,
        });
        lines.flatten().collect()
    }
}

/// The `i`th position of a stratum, and the gain it is asked for.
fn drawn(stratum: Stratum, plan: &Plan, i: u64) -> (Chess, u8) {
    let mut name = plan.seed ^ (u64::from(plan.n) << 40);
    for byte in stratum.name().bytes() {
        name = Seeded::new(name ^ u64::from(byte)).draw();
    }
    let mut random = Seeded::new(name.wrapping_add(i.wrapping_mul(0x9e37_79b9_7f4a_7c15)));
    random = Seeded::new(random.draw());
    let k = GAINS[(i % GAINS.len() as u64) as usize];
    (stratum.draw(&mut random, Aim::Mate, RICH), k)
}
