//! How likely a searched ruling is wrong: how often rulings whose searches showed the
//! like of themselves were wrong when far more was spent on them.
//!
//! The [`signs`](super::signs) of a ruling are weighed into one number, and a table says
//! what share of rulings with that number was wrong. Weights and table, `calibrated`,
//! are written by `cargo xtask campaign calibration`. All is in whole numbers, so that a
//! page says the same as a command.

use super::signs::{SIGNS, Signs};
use super::{Chance, calibrated};

/// How likely a ruling is wrong.
pub fn of(signs: &Signs) -> Chance {
    measured(signs.right, &signs.numbers())
}

/// How likely a ruling is wrong that called a move right, or wrong, with these
/// [numbers](Signs::numbers).
pub fn measured(right: bool, numbers: &[i32; SIGNS]) -> Chance {
    match right {
        true => calibrated::RIGHT.chance(numbers),
        false => calibrated::WRONG.chance(numbers),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_tables_rise_and_leave_nothing_certain() {
        for fit in [&calibrated::RIGHT, &calibrated::WRONG] {
            assert!(!fit.efforts.is_empty());
            for (_, steps) in fit.efforts {
                assert!(!steps.is_empty());
                let rises = |s: &[(i32, u16)]| s[0].0 < s[1].0 && s[0].1 <= s[1].1;
                assert!(steps.windows(2).all(rises));
                assert!(steps.iter().all(|step| (1..=10_000).contains(&step.1)));
            }
        }
    }
}
