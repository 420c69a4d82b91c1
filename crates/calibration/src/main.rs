//! How often a searched ruling is wrong, by what the search shows of itself.
//!
//! Every position gets a reference, its best lines by a long search, and then the
//! rulings that the checker gives on these moves at each effort ([`measure`]). From
//! that the table is made that the program uses ([`fit`]), and said how true it is
//! ([`figures`]), on positions that it was not made from.

mod figures;
mod fit;
mod measure;
mod positions;
mod sample;

use std::path::PathBuf;
use std::process::ExitCode;

const HELP: &str = "\
campaign calibration [--seed N] [--positions N] [--from FILE]… [--reference NODES]
                     [--efforts N,…] [--seconds N] [--threads N] [--file FILE]
    measures positions of the program's own games, or of files with EPD or PGN, and
    goes on with what is in FILE already
campaign calibration --again FILE… [as above]
    rules anew on what was measured, keeping its references, before it measures more
campaign calibration --fit FILE… [--write FILE.rs]
    makes the table of what was measured, and says how true it is, each position
    judged by a table made from others
campaign calibration --check FILE…
    says how true the table is that the program has
";

/// The program's table.
const TABLE: &str = "crates/check/src/calibrated.rs";

fn main() -> ExitCode {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let args: Vec<&str> = args.iter().map(String::as_str).collect();
    match run(&args) {
        Ok(()) => ExitCode::SUCCESS,
        Err(fault) => {
            eprintln!("calibration: {fault}");
            ExitCode::FAILURE
        }
    }
}

fn run(args: &[&str]) -> Result<(), String> {
    let mut plan = measure::Plan::default();
    let (mut mode, mut files, mut write) = ("", Vec::new(), PathBuf::from(TABLE));
    let mut args = args.iter();
    while let Some(&arg) = args.next() {
        let mut value = || {
            let value = args.next().copied();
            value.ok_or_else(|| format!("{arg} takes a value"))
        };
        match arg {
            "--seed" => plan.seed = number(value()?)?,
            "--positions" => plan.positions = number(value()?)? as usize,
            "--from" => plan.from.push(value()?.into()),
            "--again" => plan.again.push(value()?.into()),
            "--reference" => plan.reference = number(value()?)?,
            "--efforts" => plan.efforts = efforts(value()?)?,
            "--seconds" => plan.seconds = Some(number(value()?)?),
            "--threads" => plan.threads = number(value()?)?.max(1) as usize,
            "--file" => plan.file = value()?.into(),
            "--write" => write = value()?.into(),
            "--fit" | "--check" => mode = arg,
            "--help" => {
                print!("{HELP}");
                return Ok(());
            }
            _ if !arg.starts_with("--") && !mode.is_empty() => files.push(PathBuf::from(arg)),
            _ => return Err(format!("{arg} is not understood\n\n{HELP}")),
        }
    }
    match mode {
        "--fit" => {
            let sample = sample::read(&files)?;
            figures::of_others(&sample);
            fit::write(&sample, &write)
        }
        "--check" => {
            figures::of_program(&sample::read(&files)?);
            Ok(())
        }
        _ => measure::run(&plan),
    }
}

fn efforts(text: &str) -> Result<Vec<u8>, String> {
    let all = text.split(',').map(|e| number(e).map(|n| n.min(12) as u8));
    all.collect()
}

fn number(text: &str) -> Result<u64, String> {
    text.parse().map_err(|_| format!("{text:?} is no number"))
}
