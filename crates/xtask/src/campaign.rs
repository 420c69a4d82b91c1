//! Campaigns: comparisons and measurements that take hours. What is compared is in
//! `crates/campaign`, what is measured in `crates/calibration`.

use crate::setup;
use crate::shell::{Done, cargo, command, root, run, target};

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

/// Breaks prover, checker of puzzles, student's session and checker of certificates in
/// each place on purpose, one at a time, and runs the tests of that crate; what survives
/// is listed, and kept in `target/campaign/mutants.out`. Arguments go to cargo-mutants, such as
/// `--file`, `--shard` or `--list`.
pub fn mutants(args: &[&str]) -> Done {
    setup::mutants()?;
    let folder = target().join("campaign");
    std::fs::create_dir_all(&folder).map_err(|fault| format!("{}: {fault}", folder.display()))?;
    run(command("cargo-mutants")
        .current_dir(root())
        .args(["mutants", "--file", "crates/{prove,check,certify}/**/*.rs"])
        .args(["--file", "crates/play/src/{session,walk}.rs"])
        .args(["--exclude", "**/{broken,corpus}.rs"])
        .args(["--jobs", "1", "--timeout", "120", "--output"])
        .arg(folder)
        .args(args))
}
