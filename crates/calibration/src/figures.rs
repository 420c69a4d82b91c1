//! How true a table is: what it says against what came out (reliability diagram,
//! Murphy and Winkler 1977), the Brier score (Brier 1950), and what becomes of the
//! six best moves as the checker goes about them, doubling its effort where it is
//! not sure.

use keyproof::check::Chance;
use keyproof::check::chance::measured;
use keyproof::check::signs::SIGNS;

use super::fit::{Table, cases};
use super::sample::{Called, Measured, Ruled, Task};

/// Parts that positions are split into, each judged by a table of the others.
const PARTS: usize = 5;

/// A searched ruling: its chance of being wrong, and whether it is.
type Said = (u16, bool);

/// Judges each position by a table made of others.
pub fn of_others(sample: &[Measured]) {
    let mut judged: Vec<(&Measured, Vec<u16>)> = Vec::new();
    for part in 0..PARTS {
        let (inside, outside): (Vec<_>, Vec<_>) = sample
            .iter()
            .partition(|measured| measured.number % PARTS == part);
        let right = Table::of(&cases(outside.iter().copied(), Called::Right));
        let wrong = Table::of(&cases(outside.iter().copied(), Called::Wrong));
        judged.extend(inside.into_iter().map(|measured| {
            let chance = |ruled: &Ruled, signs: &[i32; SIGNS]| match ruled.called {
                Called::Right => right.chance(signs, ruled.effort),
                _ => wrong.chance(signs, ruled.effort),
            };
            (measured, chances(measured, chance))
        }));
    }
    println!("Each position judged by a table made of four fifths of the others");
    print(&judged);
}

/// Judges by the table that the program has.
pub fn of_program(sample: &[Measured]) {
    let judged: Vec<_> = sample
        .iter()
        .map(|one| {
            let chance = |ruled: &Ruled, signs: &[i32; SIGNS]| {
                measured(ruled.called == Called::Right, signs).0
            };
            (one, chances(one, chance))
        })
        .collect();
    println!("Judged by the program's table");
    print(&judged);
}

/// The chance of each ruling; nothing of what is proved, or open.
fn chances(measured: &Measured, chance: impl Fn(&Ruled, &[i32; SIGNS]) -> u16) -> Vec<u16> {
    let rulings = measured.rulings.iter();
    rulings
        .map(|r| r.signs.as_ref().map_or(0, |signs| chance(r, signs)))
        .collect()
}

fn print(judged: &[(&Measured, Vec<u16>)]) {
    println!("{} positions", judged.len());
    for (called, name) in [(Called::Right, "right"), (Called::Wrong, "wrong")] {
        let mut said: Vec<Said> = Vec::new();
        for (measured, chances) in judged {
            for (ruled, &chance) in measured.rulings.iter().zip(chances) {
                if ruled.called == called && ruled.signs.is_some() {
                    said.push((chance, measured.is_wrong(ruled)));
                }
            }
        }
        reliability(name, &mut said);
    }
    let mut tasks = vec![vec![Task::Best], vec![Task::Win, Task::Draw]];
    tasks.retain(|tasks| {
        judged
            .iter()
            .any(|(m, _)| m.rulings.iter().any(|r| tasks.contains(&r.task)))
    });
    for tasks in tasks {
        plain(judged, &tasks);
        for first in [0, 2] {
            doubling(judged, &tasks, first);
        }
    }
}

fn reliability(name: &str, said: &mut [Said]) {
    said.sort_unstable();
    let n = said.len().max(1) as f64;
    let wrong = said.iter().filter(|s| s.1).count() as f64;
    let square = |s: &Said| (f64::from(s.0) / 10_000.0 - f64::from(u8::from(s.1))).powi(2);
    let brier = said.iter().map(square).sum::<f64>() / n;
    let flat = wrong / n * (1.0 - wrong / n);
    println!(
        "\nCalled {name}: {} searched rulings, {wrong} wrong",
        said.len()
    );
    println!(
        "  Brier score {brier:.5}; {flat:.5} if all were said to be as likely wrong as they are on the whole"
    );
    println!("     said %        rulings   said   came out (of the bin, %)");
    let edges = [0, 10, 25, 50, 100, 200, 400, 800, 1_600, 10_001];
    for pair in edges.windows(2) {
        let bin: Vec<&Said> = said
            .iter()
            .filter(|s| (pair[0]..pair[1]).contains(&i32::from(s.0)))
            .collect();
        if bin.is_empty() {
            continue;
        }
        let count = bin.len() as f64;
        let mean = bin.iter().map(|s| f64::from(s.0) / 100.0).sum::<f64>() / count;
        let out = bin.iter().filter(|s| s.1).count() as f64 / count * 100.0;
        println!(
            "  {:6.2} to {:6.2} {:8} {mean:6.2} {out:6.2}",
            f64::from(pair[0]) / 100.0,
            f64::from(pair[1].min(10_000)) / 100.0,
            bin.len()
        );
    }
}

/// What one search at each effort says, whatever its chance.
fn plain(judged: &[(&Measured, Vec<u16>)], tasks: &[Task]) {
    println!("\n{tasks:?}, one search of each move, taken at its word");
    let most = judged
        .iter()
        .flat_map(|(m, _)| &m.rulings)
        .map(|r| r.effort)
        .max();
    for effort in 0..=most.unwrap_or(0) {
        let mut tally = Tally::default();
        for (measured, _) in judged {
            let rulings = measured.rulings.iter();
            for ruled in rulings.filter(|r| r.effort == effort && tasks.contains(&r.task)) {
                tally.add(measured, ruled, true);
            }
        }
        tally.print(&format!("effort {effort}"));
    }
}

/// What is said when a search that is not sure is doubled, from an effort on.
fn doubling(judged: &[(&Measured, Vec<u16>)], tasks: &[Task], first: u8) {
    let most = judged
        .iter()
        .flat_map(|(m, _)| &m.rulings)
        .map(|r| r.effort)
        .max();
    println!("\n{tasks:?}, doubled from effort {first} on until it is sure");
    for last in first..=most.unwrap_or(0) {
        let mut tally = Tally::default();
        for (measured, chances) in judged {
            for line in 0..measured.lines.len() {
                let ruled = measured.rulings.iter().zip(chances);
                let mut ruled: Vec<(&Ruled, u16)> = ruled
                    .map(|(r, &c)| (r, c))
                    .filter(|(r, _)| r.line == line && tasks.contains(&r.task))
                    .filter(|(r, _)| (first..=last).contains(&r.effort))
                    .collect();
                ruled.sort_by_key(|(r, _)| r.effort);
                let sure = |(r, chance): &&(&Ruled, u16)| {
                    r.called != Called::Open && Chance(*chance).is_small()
                };
                let Some((end, is_sure)) = ruled
                    .iter()
                    .find(sure)
                    .map(|found| (*found, true))
                    .or(ruled.last().map(|last| (*last, false)))
                else {
                    continue;
                };
                let before = ruled.iter().filter(|(r, _)| r.effort <= end.0.effort);
                tally.nodes += before.map(|(r, _)| share(measured, r)).sum::<u64>();
                tally.add(measured, end.0, is_sure);
            }
        }
        tally.print(&format!("up to effort {last}"));
    }
}

/// What a move cost of its question.
fn share(measured: &Measured, ruled: &Ruled) -> u64 {
    ruled.nodes / measured.lines.len() as u64
}

/// What became of moves.
#[derive(Default)]
struct Tally {
    all: usize,
    /// Of all, those that the reference leaves between the margins.
    between: usize,
    right: (usize, usize),
    wrong: (usize, usize),
    /// Of those decided, the ones that the reference leaves between.
    halfway: usize,
    nodes: u64,
}

impl Tally {
    fn add(&mut self, measured: &Measured, ruled: &Ruled, sure: bool) {
        let truth = measured.truth(ruled.task, ruled.line);
        self.all += 1;
        self.between += usize::from(truth == Called::Open);
        if !sure || ruled.called == Called::Open {
            return;
        }
        self.halfway += usize::from(truth == Called::Open);
        let count = match ruled.called {
            Called::Right => &mut self.right,
            _ => &mut self.wrong,
        };
        count.0 += 1;
        count.1 += usize::from(measured.is_wrong(ruled));
    }

    fn print(&self, name: &str) {
        let percent = |part: usize, all: usize| 100.0 * part as f64 / all.max(1) as f64;
        let decided = self.right.0 + self.wrong.0;
        let clear = decided - self.halfway;
        println!(
            "  {name:16} {:5} moves; right {:5}, really wrong {:3} ({:.2} %); wrong {:5}, really right {:3} ({:.2} %); decided {:.1} %, of those really right or wrong {:.1} %; {} nodes a move",
            self.all,
            self.right.0,
            self.right.1,
            percent(self.right.1, self.right.0),
            self.wrong.0,
            self.wrong.1,
            percent(self.wrong.1, self.wrong.0),
            percent(decided, self.all),
            percent(clear, self.all - self.between),
            self.nodes / self.all.max(1) as u64,
        );
    }
}
