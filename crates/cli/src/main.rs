//! The `keyproof` command: prove mates, look positions up and into, check and
//! complete puzzles, check certificates, publish lessons.
//!
//! This crate reads files and arguments, spreads the work over the cores and
//! prints. What is right and wrong is decided in the core.

mod analyse;
mod arguments;
mod certificate;
mod check;
mod complete;
mod diagram;
mod export;
mod file;
mod findings;
mod handout;
mod input;
mod keep;
mod moments;
mod output;
mod packed;
mod publish;
mod seen;
mod solve;
mod stop;
mod table;
mod tables;
mod terminal;
mod verify;
mod workers;

use std::process::ExitCode;

use clap::Parser;

use arguments::{Arguments, Task};
use output::{Outcome, Trouble};

fn main() -> ExitCode {
    #[cfg(feature = "broken-prover")]
    break_down();
    #[cfg(all(target_os = "linux", target_env = "gnu"))]
    give_memory_back();
    let task = Arguments::parse().task;
    if let Err(fault) = keyproof::search::Network::own() {
        output::complain(&format!(
            "{fault}: what is searched is judged by simpler rules, less well"
        ));
    }
    let opened = task.endings().map_or(Ok(()), tables::open);
    let done = opened.and_then(|()| run(task));
    tables::close();
    match done {
        Ok(outcome) => ExitCode::from(outcome as u8),
        // Whoever read our output has seen enough.
        Err(Trouble::Output(fault)) if fault.kind() == std::io::ErrorKind::BrokenPipe => {
            ExitCode::SUCCESS
        }
        Err(trouble) => {
            output::complain(&trouble.to_string());
            ExitCode::from(output::Outcome::Unreadable as u8)
        }
    }
}

/// Has what is dropped in pieces of a megabyte and more, tables of searches above all, go
/// back at once. The C library else raises that bound to the largest piece it has seen, and
/// holes of the size of tables stay behind: ten times the memory in a game of 40 moves.
#[cfg(all(target_os = "linux", target_env = "gnu"))]
fn give_memory_back() {
    // SAFETY: it changes where later pieces are taken from, and no thread runs yet.
    unsafe { libc::mallopt(libc::M_MMAP_THRESHOLD, 1 << 20) };
}

/// Breaks the prover as the environment says: `KEYPROOF_BROKEN` holds a seed and
/// in how many answers one is flipped.
#[cfg(feature = "broken-prover")]
fn break_down() {
    let told = std::env::var("KEYPROOF_BROKEN").unwrap_or_default();
    let numbers: Vec<u64> = told.split(' ').filter_map(|n| n.parse().ok()).collect();
    if let [seed, one_in] = numbers[..] {
        keyproof::prove::broken::break_down(seed, one_in);
    }
}

fn run(task: Task) -> Result<Outcome, Trouble> {
    match task {
        Task::Solve(task) => solve::run(&task),
        Task::Analyse(task) => analyse::run(&task),
        Task::Table(task) => table::run(&task),
        Task::Complete(task) => complete::run(&task),
        Task::Check(task) => check::run(&task),
        Task::Publish(task) => publish::run(&task),
        Task::Verify(task) => verify::run(&task),
        Task::Moments(task) => moments::run(&task),
        Task::Seen(task) => seen::run(&task),
        Task::Export(task) => export::run(&task),
        Task::Handout(task) => handout::run(&task),
        Task::Diagram(task) => diagram::run(&task),
    }
}
