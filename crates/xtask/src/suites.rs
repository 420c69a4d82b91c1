//! Running the tests, all of them or by part.

use crate::pages;
use crate::setup;
use crate::shell::{self, Done};

/// Runs the parts named, all when none is named.
pub fn run(parts: &[&str]) -> Done {
    let all = ["unit", "outside", "browser"];
    if let Some(unknown) = parts.iter().find(|part| !all.contains(part)) {
        return Err(format!(
            "no such part of the tests: {unknown} (there are {})",
            all.join(", ")
        ));
    }
    let parts = if parts.is_empty() { &all[..] } else { parts };
    for part in parts {
        match *part {
            "unit" => unit()?,
            "outside" => outside()?,
            _ => browser()?,
        }
    }
    Ok(())
}

/// Formatting, lints, unit and property tests of every crate.
fn unit() -> Done {
    setup::for_testing()?;
    shell::run(shell::cargo().args(["fmt", "--all", "--check"]))?;
    shell::run(
        shell::cargo()
            .args(["clippy", "--quiet", "--workspace", "--all-targets"])
            .args(["--", "-D", "warnings"]),
    )?;
    shell::run(shell::cargo().args(["test", "--workspace", "--exclude", "keyproof-tests"]))
}

/// The corpus, published values, and cross-checks with a reference library.
fn outside() -> Done {
    setup::for_testing()?;
    cargo_suite("outside")
}

/// The pages in a real browser.
fn browser() -> Done {
    setup::for_testing()?;
    pages::build_all()?;
    cargo_suite("browser")
}

fn cargo_suite(name: &str) -> Done {
    shell::run(
        shell::cargo()
            .args(["test", "--package", "keyproof-tests", "--test", name])
            .env("PYTHONPATH", setup::python_chess_dir()),
    )
}
