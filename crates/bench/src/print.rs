//! Numbers for people.

use keyproof_bench::Outcome;

/// The value that so many per cent stay at or below.
pub fn percentile(values: &[f64], share: usize) -> f64 {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    match sorted.len() {
        0 => f64::NAN,
        n => sorted[(n - 1) * share / 100],
    }
}

pub fn times(outcomes: &[Outcome]) -> Vec<f64> {
    outcomes.iter().map(|outcome| outcome.ms).collect()
}

pub fn total(outcomes: &[Outcome]) -> f64 {
    times(outcomes).iter().sum()
}

/// Median and 95th percentile, `0.36 / 0.91`.
pub fn spread(values: &[f64]) -> String {
    format!(
        "{} / {}",
        short(percentile(values, 50)),
        short(percentile(values, 95))
    )
}

/// About three digits.
pub fn short(value: f64) -> String {
    match value {
        v if v < 0.1 => format!("{v:.3}"),
        v if v < 10.0 => format!("{v:.2}"),
        v if v < 100.0 => format!("{v:.1}"),
        v => format!("{v:.0}"),
    }
}

pub fn kb(bytes: f64) -> String {
    format!("{:.1} KB", bytes / 1000.0)
}

pub fn heading(text: &str) {
    println!("\n{text}");
    println!("{}", "-".repeat(text.chars().count()));
}
