//! Campaigns: comparisons and measurements that take hours. What is compared is in
//! `crates/campaign`, what is measured in `crates/calibration`.

use crate::setup;
use crate::shell::{Done, cargo, command, root, run, target};

/// Refuses an option that is none of these, each with its `=`.
///
/// # Errors
/// Names the first that is not known, and those that there are.
pub fn only_options(args: &[&str], known: &[&str]) -> Done {
    let unknown = |arg: &&&str| arg.starts_with('-') && !known.iter().any(|k| arg.starts_with(k));
    match args.iter().find(unknown) {
        None => Ok(()),
        Some(arg) => Err(format!(
            "{arg} is no option; there are {}",
            known.join(", ")
        )),
    }
}

/// Runs the command of the campaigns.
pub fn run_with(args: &[&str]) -> Done {
    run(cargo()
        .args([
            "run",
            "--quiet",
            "--release",
            "--package",
            "keyproof-campaign",
        ])
        .arg("--")
        .args(args))
}

/// How often searched rulings are wrong.
pub fn calibration(args: &[&str]) -> Done {
    run(cargo()
        .args(["run", "--quiet", "--release"])
        .args(["--package", "keyproof-calibration", "--"])
        .args(args))
}

/// What is not broken: a prover that is broken as it is, what only makes puzzles for
/// tests, and a table of measurements, any number of which could as well be another
/// (`calibrated`; that it rises, and leaves nothing certain, a test of `chance` holds).
const LEFT: &str = "**/{broken,corpus,calibrated}.rs";

/// What is broken on purpose, and whose tests should notice. The tests of `check` search
/// for a minute, and notice nothing in the prover that its own do not.
const BROKEN: [(&[&str], &[&str]); 3] = [
    (
        &["crates/{prove,certify}/**/*.rs"],
        &["keyproof-prove", "keyproof-certify", "keyproof-campaign"],
    ),
    (&["crates/play/src/{session,walk}.rs"], &["keyproof-play"]),
    (&["crates/check/**/*.rs"], &["keyproof-check"]),
];

/// Breaks prover, checker of puzzles, student's session and checker of certificates in
/// each place on purpose, one at a time, and runs the tests that should notice; what
/// survives is listed, and kept in `target/campaign`. Arguments go to cargo-mutants, such
/// as `--shard` or `--list`.
pub fn mutants(args: &[&str]) -> Done {
    setup::mutants()?;
    let mut told = Ok(());
    for (i, (files, tests)) in BROKEN.into_iter().enumerate() {
        let folder = target().join(format!("campaign/{}", i + 1));
        std::fs::create_dir_all(&folder)
            .map_err(|fault| format!("{}: {fault}", folder.display()))?;
        let mut mutants = command("cargo-mutants");
        mutants.current_dir(root()).arg("mutants");
        for file in files {
            mutants.args(["--file", file]);
        }
        for test in tests {
            mutants.args(["--test-package", test]);
        }
        mutants
            .args(["--exclude", LEFT])
            .args(["--jobs", "1", "--timeout", "300", "--output"])
            .arg(folder)
            .args(args);
        // It fails where something survives; the others are run all the same.
        told = told.and(run(&mut mutants));
    }
    told
}
