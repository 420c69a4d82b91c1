//! Sizes and times, for a person to read.

use std::time::Instant;

use crate::pages;
use crate::shell::{Done, command, dist, output};

/// Prints the sizes of everything that is handed out, and how long the demo
/// lesson takes to check.
pub fn run() -> Done {
    pages::build_all()?;
    let keyproof = dist().join("keyproof");
    let begun = Instant::now();
    let checked = output(command(&keyproof.to_string_lossy()).args(["check", "puzzles"]))
        .ok_or("the demo lesson in puzzles/ is not sound: see `dist/keyproof check puzzles`")?;
    let spent = begun.elapsed();
    println!(
        "puzzles/ checked in {} ms: {}",
        spent.as_millis(),
        checked.lines().last().unwrap_or("")
    );
    Ok(())
}
