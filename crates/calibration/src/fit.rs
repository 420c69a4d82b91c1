//! The table made of what was measured: signs weighed by logistic regression, then
//! the share of wrong rulings among those of about the same weight, made to rise
//! (pool adjacent violators; Ayer et al. 1955). So what a search says of itself is
//! what was counted, and the regression only sorts. The shares are counted where each
//! ruling was weighed by what was learnt from other positions, since those on one
//! position are wrong together.

use std::fmt::Write;
use std::fs;
use std::path::Path;

use keyproof::check::signs::{Fit, SIGNS, Step, step};

use super::sample::{Called, Measured};

/// A ruling.
#[derive(Clone)]
pub struct Case {
    pub signs: [i32; SIGNS],
    pub wrong: bool,
    pub effort: u8,
    /// The number of its position.
    pub position: usize,
}

/// Parts of the positions that are weighed by what the others teach.
const FOLDS: usize = 5;

/// Weights are kept in ten-thousandths.
const PARTS: f64 = 10_000.0;

/// Rulings that are counted together at least, and steps of the regression.
const TOGETHER: usize = 120;
const STEPS: usize = 1_500;
/// What keeps weights small, and the length of a step.
const RIDGE: f64 = 1e-3;
const RATE: f64 = 0.5;

/// A table as it is made; [`Fit`] is what the program keeps of it.
pub struct Table {
    pub weights: [i32; SIGNS],
    pub efforts: Vec<(u8, Vec<Step>)>,
    pub cases: usize,
    pub wrong: usize,
}

/// All searched rulings of one kind.
pub fn cases<'a>(sample: impl IntoIterator<Item = &'a Measured>, called: Called) -> Vec<Case> {
    let mut cases = Vec::new();
    for measured in sample {
        for ruled in measured.rulings.iter().filter(|r| r.called == called) {
            if let Some(signs) = ruled.signs {
                cases.push(Case {
                    signs,
                    wrong: measured.is_wrong(ruled),
                    effort: ruled.effort,
                    position: measured.number,
                });
            }
        }
    }
    cases
}

impl Table {
    pub fn of(cases: &[Case]) -> Table {
        let all: Vec<&Case> = cases.iter().collect();
        let mut weighed: Vec<(u8, i32, bool)> = Vec::new();
        for fold in 0..FOLDS {
            let inside = |case: &&&Case| case.position / FOLDS % FOLDS == fold;
            let (inside, outside): (Vec<&Case>, Vec<&Case>) = all.iter().partition(inside);
            let fit = Fit {
                weights: regress(&outside),
                efforts: &[],
            };
            let each = inside.iter();
            weighed.extend(each.map(|c| (c.effort, fit.weigh(&c.signs), c.wrong)));
        }
        weighed.sort_unstable();
        let of_effort = |all: &[(u8, i32, bool)]| {
            let weighed: Vec<(i32, bool)> = all.iter().map(|w| (w.1, w.2)).collect();
            (all[0].0, rising(&weighed))
        };
        Table {
            weights: regress(&all),
            efforts: weighed.chunk_by(|a, b| a.0 == b.0).map(of_effort).collect(),
            cases: cases.len(),
            wrong: cases.iter().filter(|case| case.wrong).count(),
        }
    }

    /// In ten-thousandths, of a ruling at an effort.
    pub fn chance(&self, signs: &[i32; SIGNS], effort: u8) -> u16 {
        let fit = Fit {
            weights: self.weights,
            efforts: &[],
        };
        let known = self
            .efforts
            .iter()
            .rev()
            .find(|(least, _)| *least <= effort);
        let steps = known.or(self.efforts.first()).map_or(&[][..], |of| &of.1);
        step(steps, fit.weigh(signs)).unwrap_or(PARTS as u16)
    }

    fn text(&self, name: &str) -> String {
        let mut text = format!(
            "/// Made of {} rulings, {} of them wrong.\npub const {name}: Fit = Fit {{\n    weights: {:?},\n    efforts: &[\n",
            self.cases, self.wrong, self.weights
        );
        for (effort, steps) in &self.efforts {
            writeln!(text, "        ({effort}, &{steps:?}),").expect("a text grows");
        }
        text + "    ],\n};\n"
    }
}

/// Logistic regression by steps down the slope, over signs brought to the same
/// spread.
fn regress(cases: &[&Case]) -> [i32; SIGNS] {
    let n = cases.len().max(1) as f64;
    let column = |i: usize| cases.iter().map(move |case| f64::from(case.signs[i]));
    let mean: Vec<f64> = (0..SIGNS).map(|i| column(i).sum::<f64>() / n).collect();
    let spread: Vec<f64> = (0..SIGNS)
        .map(|i| (column(i).map(|v| (v - mean[i]).powi(2)).sum::<f64>() / n).sqrt())
        .collect();
    let rows: Vec<[f64; SIGNS]> = cases
        .iter()
        .map(|case| {
            std::array::from_fn(|i| match spread[i] > 0.0 {
                true => (f64::from(case.signs[i]) - mean[i]) / spread[i],
                false => 0.0,
            })
        })
        .collect();
    let (mut weights, mut constant) = ([0.0; SIGNS], -3.0);
    for _ in 0..STEPS {
        let (mut slope, mut level) = ([0.0; SIGNS], 0.0);
        for (row, case) in rows.iter().zip(cases) {
            let sum: f64 = row.iter().zip(&weights).map(|(a, b)| a * b).sum();
            let off = 1.0 / (1.0 + (-sum - constant).exp()) - f64::from(u8::from(case.wrong));
            level += off;
            for (slope, value) in slope.iter_mut().zip(row) {
                *slope += off * value;
            }
        }
        constant -= RATE * level / n * 4.0;
        for (weight, slope) in weights.iter_mut().zip(&slope) {
            *weight -= RATE * (slope / n + RIDGE * *weight) * 4.0;
        }
    }
    // The first sign is the same in all cases, and carries the constant.
    let raw = |i: usize| match spread[i] > 0.0 {
        true => weights[i] / spread[i],
        false => 0.0,
    };
    let shift: f64 = (0..SIGNS).map(|i| raw(i) * mean[i]).sum();
    std::array::from_fn(|i| match i {
        0 => ((constant - shift) / 10.0 * PARTS).round() as i32,
        _ => (raw(i) * PARTS).round() as i32,
    })
}

/// The share of wrong ones from each weight on, never falling. Half a wrong one is
/// added to each count, so that nothing is certain.
fn rising(weighed: &[(i32, bool)]) -> Vec<(i32, u16)> {
    // Least weight, wrong ones, all; rulings of the same weight stay together.
    let mut blocks: Vec<(i32, usize, usize)> = Vec::new();
    for alike in weighed.chunk_by(|a, b| a.0 == b.0) {
        let (wrong, all) = (alike.iter().filter(|w| w.1).count(), alike.len());
        match blocks.last_mut() {
            Some(last) if last.2 < TOGETHER => {
                last.1 += wrong;
                last.2 += all;
            }
            _ => blocks.push((alike[0].0, wrong, all)),
        }
    }
    if blocks.len() > 1 && blocks.last().is_some_and(|last| last.2 < TOGETHER) {
        let (_, wrong, all) = blocks.pop().expect("there are two");
        let last = blocks.last_mut().expect("there are two");
        (last.1, last.2) = (last.1 + wrong, last.2 + all);
    }
    let mut pooled: Vec<(i32, usize, usize)> = Vec::new();
    for block in blocks {
        pooled.push(block);
        while let [.., before, last] = pooled.as_slice() {
            if before.1 * last.2 < last.1 * before.2 {
                break;
            }
            let (_, wrong, all) = pooled.pop().expect("there are two");
            let before = pooled.last_mut().expect("there are two");
            (before.1, before.2) = (before.1 + wrong, before.2 + all);
        }
    }
    let share = |wrong: usize, all: usize| (wrong as f64 + 0.5) / (all as f64 + 1.0);
    let mut steps: Vec<(i32, u16)> = Vec::new();
    for (from, wrong, all) in pooled {
        let chance = (share(wrong, all) * PARTS).ceil().clamp(1.0, PARTS) as u16;
        let least = steps.last().map_or(0, |step| step.1);
        steps.push((from, chance.max(least)));
    }
    steps
}

/// Writes the program's table.
///
/// # Errors
/// If the file cannot be written.
pub fn write(sample: &[Measured], path: &Path) -> Result<(), String> {
    let mut text = String::from(
        "//! Written by `cargo xtask campaign calibration --fit`; not to be edited.\n//!\n",
    );
    let mut seeds: Vec<u64> = sample.iter().map(|m| m.seed).collect();
    seeds.sort_unstable();
    seeds.dedup();
    let nodes = sample.iter().map(|m| m.reference).min().unwrap_or(0);
    writeln!(
        text,
        "//! Measured on {} positions of the program's own games (seeds {seeds:?}), against\n//! references of {nodes} nodes.\n\nuse super::signs::Fit;\n",
        sample.len(),
    )
    .expect("a text grows");
    let right = Table::of(&cases(sample, Called::Right));
    let wrong = Table::of(&cases(sample, Called::Wrong));
    text += &right.text("RIGHT");
    text += "\n";
    text += &wrong.text("WRONG");
    fs::write(path, text).map_err(|e| format!("{}: {e}", path.display()))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Rulings that are wrong in one of ten where the sign is there, in one of a
    /// hundred where it is not.
    fn made() -> Vec<Case> {
        (0..20_000)
            .map(|i| {
                let there = i % 2 == 0;
                let mut signs = [0; SIGNS];
                signs[0] = 10;
                signs[7] = i32::from(there);
                Case {
                    signs,
                    wrong: i / 2 % if there { 10 } else { 100 } == 0,
                    effort: 0,
                    position: i / 200,
                }
            })
            .collect()
    }

    #[test]
    fn a_table_says_what_was_counted() {
        let table = Table::of(&made());
        let of = |sign| {
            let mut signs = [0; SIGNS];
            (signs[0], signs[7]) = (10, sign);
            table.chance(&signs, 0)
        };
        assert!((98..=104).contains(&of(0)), "{}", of(0));
        assert!((995..=1_005).contains(&of(1)), "{}", of(1));
    }

    #[test]
    fn shares_never_fall_and_are_never_nothing() {
        let weighed: Vec<(i32, bool)> = (0..2_000).map(|i| (i, i % 3 == 0 && i < 900)).collect();
        let steps = rising(&weighed);
        assert!(
            steps
                .windows(2)
                .all(|s| s[0].1 <= s[1].1 && s[0].0 < s[1].0)
        );
        assert!(steps.iter().all(|step| step.1 > 0));
    }
}
