//! Readers of strangers' bytes under a fuzzer guided by coverage (`crates/fuzz`).

use std::collections::VecDeque;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::{Mutex, MutexGuard, PoisonError};

use crate::campaign::only_options;
use crate::shell::{Done, cargo, output, root, run, target};

/// What makes LLVM count which branches are taken, and what is compared, for libFuzzer. All
/// of it is stable, so that it needs no other toolchain than the rest.
const GUIDED: &str = "--cfg fuzzing -Cpasses=sancov-module \
    -Cllvm-args=-sanitizer-coverage-level=4 \
    -Cllvm-args=-sanitizer-coverage-inline-8bit-counters \
    -Cllvm-args=-sanitizer-coverage-pc-table \
    -Cllvm-args=-sanitizer-coverage-trace-compares \
    -Cdebug-assertions -Coverflow-checks -Ccodegen-units=1";

/// Runs targets of `crates/fuzz` guided by coverage: those named, or all; `--runs=N` times
/// each (10 million), `--seconds=N` at most, `--jobs=N` at a time (as many as there are
/// cores). What they found worth keeping lies in `target/fuzz`, and is gone on with; inputs
/// that fail lie there as `NAME-crash-…`, and belong under `tests/fuzz` once they are mended.
pub fn run_with(args: &[&str]) -> Done {
    only_options(args, &["--runs=", "--seconds=", "--jobs="])?;
    let option = |name: &str| args.iter().find_map(|arg| arg.strip_prefix(name));
    let number = |name: &str, usual: usize| {
        option(name).map_or(Ok(usual), |text| {
            text.parse()
                .map_err(|_| format!("{name}{text}: a number is expected"))
        })
    };
    let runs = number("--runs=", 10_000_000)?;
    let seconds = number("--seconds=", 0)?;
    let cores = std::thread::available_parallelism().map_or(1, usize::from);
    let jobs = number("--jobs=", cores)?.max(1);
    let named: Vec<&str> = args
        .iter()
        .filter(|arg| !arg.starts_with("--"))
        .copied()
        .collect();
    let program = guided()?;
    let all = output(Command::new(&program).env("KEYPROOF_FUZZ", "list"));
    let all = all.ok_or("the program of the targets does not tell their names")?;
    let all: Vec<&str> = all.lines().collect();
    if let Some(unknown) = named.iter().find(|name| !all.contains(name)) {
        let all = all.join(", ");
        return Err(format!("{unknown} is no target; there are {all}"));
    }
    let chosen = all.into_iter();
    let chosen = chosen.filter(|name| named.is_empty() || named.contains(name));
    let left = Mutex::new(chosen.collect::<VecDeque<_>>());
    let failed = Mutex::new(Vec::new());
    std::thread::scope(|scope| {
        for _ in 0..jobs {
            scope.spawn(|| {
                while let Some(name) = locked(&left).pop_front() {
                    if let Err(fault) = fuzzed(&program, name, runs, seconds) {
                        locked(&failed).push(fault);
                    }
                }
            });
        }
    });
    match &locked(&failed)[..] {
        [] => Ok(()),
        faults => Err(faults.join("\n")),
    }
}

fn locked<T>(of: &Mutex<T>) -> MutexGuard<'_, T> {
    of.lock().unwrap_or_else(PoisonError::into_inner)
}

/// Builds the program, beside what is built otherwise.
fn guided() -> Result<PathBuf, String> {
    let folder = target().join("fuzz/build");
    // With a target named, scripts and macros of the build are left as they are.
    let machine = "x86_64-unknown-linux-gnu";
    run(cargo()
        .args(["build", "--release", "--package", "keyproof-fuzz"])
        .args(["--bin", "keyproof-fuzz", "--features", "guided"])
        .args(["--target", machine, "--target-dir"])
        .arg(&folder)
        .env("RUSTFLAGS", GUIDED)
        .env("CARGO_PROFILE_RELEASE_LTO", "off"))?;
    Ok(folder.join(machine).join("release/keyproof-fuzz"))
}

/// Runs one target; its last lines are printed.
fn fuzzed(program: &Path, name: &str, runs: usize, seconds: usize) -> Done {
    let folder = target().join("fuzz").join(name);
    std::fs::create_dir_all(&folder).map_err(|fault| format!("{}: {fault}", folder.display()))?;
    let kept = root().join("tests/fuzz").join(name);
    let prefix = target().join(format!("fuzz/{name}-"));
    let mut fuzzer = Command::new(program);
    fuzzer
        .env("KEYPROOF_FUZZ", name)
        .env("KEYPROOF_SEEDS", &folder)
        .arg(&folder)
        .args(kept.is_dir().then_some(&kept))
        .args([
            format!("-runs={runs}"),
            format!("-max_total_time={seconds}"),
        ])
        .arg(format!("-artifact_prefix={}", prefix.display()))
        .args(["-timeout=20", "-rss_limit_mb=2048", "-max_len=4096"])
        .arg("-print_final_stats=1");
    let output = fuzzer
        .output()
        .map_err(|fault| format!("{}: {fault}", program.display()))?;
    let told = String::from_utf8_lossy(&output.stderr);
    let shown = |line: &&str| {
        line.starts_with("Done")
            || line.starts_with("stat::number_of_executed")
            || line.contains("panicked")
            || line.starts_with("SUMMARY")
    };
    let lines: Vec<&str> = told.lines().filter(shown).collect();
    println!("{name}: {}", lines.join("; "));
    match output.status.success() {
        true => Ok(()),
        false => Err(format!("{name} fails:\n{}", tail(&told, 30))),
    }
}

fn tail(text: &str, count: usize) -> String {
    let lines: Vec<&str> = text.lines().collect();
    lines[lines.len().saturating_sub(count)..].join("\n")
}
