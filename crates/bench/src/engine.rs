//! Who does the work: this program, its wasm in node, and Python.

use std::io::Write;
use std::process::{Command, Stdio};

use keyproof_bench::{Host, Outcome, Tasks};

/// Does the tasks in this process, on one core.
pub fn native(tasks: &[String]) -> Result<Vec<Outcome>, String> {
    let mut worker = Tasks::new();
    tasks.iter().map(|task| worker.run(task, &Here)).collect()
}

/// Does the tasks in node.
pub fn wasm(module: &str, tasks: &[String]) -> Result<Vec<Outcome>, String> {
    let told = through(
        Command::new("node").args(["crates/bench/host.mjs", module]),
        tasks,
    )?;
    let outcomes: Option<Vec<Outcome>> = told.lines().map(outcome).collect();
    outcomes
        .filter(|outcomes| outcomes.len() == tasks.len())
        .ok_or_else(|| format!("the wasm did not do all of its tasks:\n{told}"))
}

fn outcome(line: &str) -> Option<Outcome> {
    let mut fields = line.split('\t');
    Some(Outcome {
        ms: fields.next()?.parse().ok()?,
        nodes: fields.next()?.parse().ok()?,
        answer: fields.next()?.to_owned(),
    })
}

/// Brute force with the PyPI package `chess`: milliseconds and answer for
/// each `N FEN`, `capped` for an answer that took too long.
pub fn brute_force(
    seconds: u32,
    processes: usize,
    positions: &[String],
) -> Result<Vec<(f64, String)>, String> {
    let args = [seconds.to_string(), processes.to_string()];
    let told = python("brute_sets.py", &args, positions)?;
    let read = |line: &str| -> Option<(f64, String)> {
        let (ms, answer) = line.split_once('\t')?;
        Some((ms.parse().ok()?, answer.to_owned()))
    };
    let answers: Option<Vec<_>> = told.lines().map(read).collect();
    answers
        .filter(|answers| answers.len() == positions.len())
        .ok_or_else(|| format!("Python did not answer as expected:\n{told}"))
}

/// Runs a script of `tests/outside/` with the package `chess` in reach.
pub fn python(script: &str, args: &[String], input: &[String]) -> Result<String, String> {
    let library = ".tools/chess-1.11.2";
    if !std::path::Path::new(library).is_dir() {
        return Err(format!("{library} is missing: run `cargo xtask setup`"));
    }
    let python = std::env::var("KEYPROOF_PYTHON").unwrap_or_else(|_| "python3".to_owned());
    let mut command = Command::new(python);
    command
        .arg(format!("tests/outside/{script}"))
        .args(args)
        .env("PYTHONPATH", library)
        .env("PYTHONDONTWRITEBYTECODE", "1");
    through(&mut command, input)
}

/// Gives a program lines and takes what it prints. It must succeed.
pub fn through(command: &mut Command, lines: &[String]) -> Result<String, String> {
    let name = format!("{:?}", command.get_program());
    let failed = |why: &dyn std::fmt::Display| format!("{name}: {why}");
    let mut child = command
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .map_err(|e| failed(&e))?;
    let mut stdin = child.stdin.take().ok_or("no pipe")?;
    let text: String = lines.iter().map(|line| format!("{line}\n")).collect();
    let feeder = std::thread::spawn(move || stdin.write_all(text.as_bytes()));
    let output = child.wait_with_output().map_err(|e| failed(&e))?;
    let fed = feeder.join().map_err(|_| failed(&"a thread broke"))?;
    if !output.status.success() {
        return Err(failed(&output.status));
    }
    fed.map_err(|e| failed(&e))?;
    String::from_utf8(output.stdout).map_err(|e| failed(&e))
}

pub struct Here;

impl Host for Here {
    /// Of this thread, so that a busy machine does not count.
    #[cfg(unix)]
    fn now(&self) -> f64 {
        let time = rustix::time::clock_gettime(rustix::time::ClockId::ThreadCPUTime);
        time.tv_sec as f64 * 1e3 + time.tv_nsec as f64 / 1e6
    }

    #[cfg(not(unix))]
    fn now(&self) -> f64 {
        use std::{sync::OnceLock, time::Instant};
        static START: OnceLock<Instant> = OnceLock::new();
        START.get_or_init(Instant::now).elapsed().as_secs_f64() * 1e3
    }
}
