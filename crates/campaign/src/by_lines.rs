//! A campaign that keeps what is done a position a line, and goes on where the file ends.

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::fs::File;
use std::io::{Read, Write};
use std::path::PathBuf;
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Mutex, MutexGuard};
use std::time::Instant;

use prove::Prover;
use prove::corpus::Seeded;

use crate::strata::Stratum;

/// Compares the `i`th position of a stratum: how many keys it has, or what differs;
/// `None` if brute force took too long.
pub type Ask = dyn Fn(&mut Prover, Stratum, &mut Seeded, u64) -> Result<u64, Option<String>> + Sync;

/// What a campaign is asked to do.
pub struct Plan {
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

/// A campaign on its way.
struct Work {
    done: BTreeMap<(&'static str, u64), Told>,
    file: Option<File>,
}

/// Asks of positions of all strata by turns; prints a table, and gives the
/// differences. Goes on where the file ends. With another salt the positions are others.
///
/// # Errors
/// The file cannot be read or written.
pub fn run(plan: &Plan, salt: u64, ask: &Ask) -> Result<Vec<String>, String> {
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
                let mut random = seeded(stratum, plan.seed ^ salt, i);
                let told = Told::of(ask(&mut prover, stratum, &mut random, i));
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

/// Draws the `i`th position of a stratum.
pub fn seeded(stratum: Stratum, seed: u64, i: u64) -> Seeded {
    let mut name = seed;
    for byte in stratum.name().bytes() {
        name = Seeded::new(name ^ u64::from(byte)).draw();
    }
    let mut random = Seeded::new(name.wrapping_add(i.wrapping_mul(0x9e37_79b9_7f4a_7c15)));
    Seeded::new(random.draw())
}
