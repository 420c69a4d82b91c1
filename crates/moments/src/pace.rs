//! How long the search for moments may still take, from how long its answers
//! took so far. Reads no clock: who answers tells the times.
//!
//! What is open now is only a part of what is to come, since a glance may ask
//! for a look, and a look for a claim. How often they do is taken from what was
//! answered, and each pass has a time of its own, since a claim takes many times
//! as long as a glance; before there is anything to go by, usual shares and
//! ratios stand in.

use super::ask::{Answer, Question};

/// The passes in order.
pub const PASSES: usize = 3;

/// The pass that a question belongs to, from 0.
pub fn pass(question: &Question) -> usize {
    match question {
        Question::Glance { .. } => 0,
        Question::Look { .. } => 1,
        Question::Claim { .. } => 2,
    }
}

/// The pass that an answer belongs to, from 0.
pub fn pass_answered(answer: &Answer) -> usize {
    match answer {
        Answer::Glance { .. } => 0,
        Answer::Look { .. } => 1,
        Answer::Claim { .. } => 2,
    }
}

/// How far the work is.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Tally {
    /// Questions answered, and those asked so far.
    pub answered: usize,
    /// Questions asked so far.
    pub asked: usize,
    /// Answers and open questions of each pass.
    pub done: [usize; PASSES],
    /// Open questions of each pass.
    pub open: [usize; PASSES],
}

/// Times of the answers so far.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Pace {
    answers: [f64; PASSES],
    millis: [f64; PASSES],
}

/// Usual times of the passes, a glance taken as one.
const RATIO: [f64; PASSES] = [1.0, 12.0, 66.0];
/// Usual shares of the answers of a pass that ask for the next.
const SHARE: [f64; PASSES - 1] = [0.35, 0.6];
/// Answers that a usual share counts for.
const WEIGHT: f64 = 6.0;

impl Pace {
    /// An answer of this pass took so many milliseconds.
    pub fn learn(&mut self, pass: usize, millis: f64) {
        self.answers[pass] += 1.0;
        self.millis[pass] += millis;
    }

    /// Milliseconds that so many workers still need; `None` before the first
    /// answer.
    pub fn to_go(&self, tally: &Tally, workers: usize) -> Option<f64> {
        let counted: f64 = std::iter::zip(self.answers, RATIO)
            .map(|(answers, ratio)| answers * ratio)
            .sum();
        let unit = self.millis.iter().sum::<f64>() / counted;
        if !unit.is_finite() || unit <= 0.0 || workers == 0 {
            return None;
        }
        let mean =
            |pass: usize| (self.millis[pass] + unit * RATIO[pass]) / (self.answers[pass] + 1.0);
        let mut coming = tally.open.map(|open| open as f64);
        for pass in 0..PASSES - 1 {
            let [done, next] = [pass, pass + 1].map(|p| tally.done[p] as f64);
            let asked = next + tally.open[pass + 1] as f64;
            let share = (asked + SHARE[pass] * WEIGHT) / (done + WEIGHT);
            coming[pass + 1] += coming[pass] * share.min(1.0);
        }
        let times: Vec<f64> = (0..PASSES).map(|pass| coming[pass] * mean(pass)).collect();
        let whole: f64 = times.iter().sum();
        // The last question is answered by one worker alone.
        let last = (0..PASSES).rfind(|&pass| coming[pass] >= 0.5);
        let least = last.map_or(0.0, mean).min(whole);
        Some((whole / workers as f64).max(least))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A made-up search: which plies ask for a look, which of these for a
    /// claim, and what each pass takes. Told is, after each answer, what is
    /// estimated for one worker and what it truly still takes.
    fn told(
        plies: usize,
        looked: impl Fn(usize) -> bool,
        claimed: impl Fn(usize) -> bool,
        takes: [f64; PASSES],
    ) -> Vec<(f64, f64)> {
        let looks: Vec<usize> = (0..plies).filter(|&ply| looked(ply)).collect();
        let claims = looks.iter().filter(|&&ply| claimed(ply)).count();
        let counts = [plies, looks.len(), claims];
        let mut truth: f64 = std::iter::zip(counts, takes)
            .map(|(count, takes)| count as f64 * takes)
            .sum();
        let mut pace = Pace::default();
        let mut tally = Tally {
            open: [plies, 0, 0],
            ..Tally::default()
        };
        let mut told = Vec::new();
        let mut answer = |pass: usize, asks: bool, tally: &mut Tally| {
            tally.open[pass] -= 1;
            tally.done[pass] += 1;
            if asks {
                tally.open[pass + 1] += 1;
            }
            pace.learn(pass, takes[pass]);
            truth -= takes[pass];
            told.push((pace.to_go(tally, 1).unwrap(), truth));
        };
        for ply in 0..plies {
            answer(0, looked(ply), &mut tally);
        }
        for &ply in &looks {
            answer(1, claimed(ply), &mut tally);
        }
        for _ in 0..claims {
            answer(2, false, &mut tally);
        }
        told
    }

    #[test]
    fn the_estimate_is_within_a_factor_of_two_from_the_first_answer_on() {
        let told = told(80, |p| p % 4 == 1, |p| p % 3 > 0, [25.0, 400.0, 2500.0]);
        let (_, whole) = told[0];
        assert!(whole > 30_000.0);
        for (estimate, truth) in &told {
            assert!(*estimate >= truth / 2.0, "{estimate} for {truth}");
            assert!(*estimate <= truth * 2.0 + 1.0, "{estimate} for {truth}");
        }
        assert!(told.last().unwrap().0 < 1.0);
    }

    #[test]
    fn a_game_that_asks_for_less_than_usual_ends_sooner_than_told_and_never_later() {
        let told = told(60, |p| p % 20 == 3, |_| true, [30.0, 300.0, 900.0]);
        for (estimate, truth) in &told {
            assert!(estimate * 1.05 + 1.0 >= *truth, "{estimate} for {truth}");
        }
        let near: Vec<_> = told.iter().skip(50).collect();
        for (estimate, truth) in near {
            assert!(*estimate <= truth * 2.5 + 500.0, "{estimate} for {truth}");
        }
    }

    #[test]
    fn nothing_is_told_before_an_answer_and_workers_share_the_work() {
        let tally = Tally {
            open: [0, 0, 4],
            ..Tally::default()
        };
        let mut pace = Pace::default();
        assert_eq!(pace.to_go(&tally, 2), None);
        pace.learn(2, 1000.0);
        assert_eq!(pace.to_go(&tally, 2), Some(2000.0));
        let one = Tally {
            open: [0, 0, 1],
            ..tally
        };
        assert_eq!(pace.to_go(&one, 2), Some(1000.0));
    }
}
