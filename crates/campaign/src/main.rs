//! The command of the campaigns; `cargo xtask campaign` builds and runs it.

use std::path::PathBuf;
use std::process::ExitCode;

use campaign::cells::{Cell, Question};
use campaign::gains;
use campaign::run::{self, Plan};

const HELP: &str = "\
cargo xtask campaign prover [OPTIONS]
  compares the prover with brute force, and goes on where it was stopped
cargo xtask campaign gains [--n 2|3] [--positions N] [--seed N] [--jobs N]
  compares the prover of gains with brute force
cargo xtask campaign examples EACH SEED
  prints positions with their keys, EACH of each stratum and question

  --seconds N      stop after so many seconds
  --stratum NAME   this stratum alone (may be given more than once)
  --n QUESTION     3, 4, s#, == or h# alone (may be given more than once)
  --positions N    so many positions of each stratum and question
  --seed N         other positions (in a file of their own)
  --jobs N         so many threads, instead of one for each core
  --state FILE     where the state is kept (target/campaign/prover-SEED.json)
";

fn main() -> ExitCode {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let done = match args.split_first() {
        Some((first, rest)) if first == "prover" => prover(rest),
        Some((first, rest)) if first == "gains" => gains(rest),
        Some((first, rest)) if first == "examples" => examples(rest),
        _ => {
            print!("{HELP}");
            return ExitCode::SUCCESS;
        }
    };
    match done {
        Ok(true) => ExitCode::SUCCESS,
        Ok(false) => ExitCode::FAILURE,
        Err(fault) => {
            eprintln!("campaign: {fault}\n\n{HELP}");
            ExitCode::FAILURE
        }
    }
}

fn examples(args: &[String]) -> Result<bool, String> {
    let numbers: Vec<u64> = args.iter().filter_map(|arg| arg.parse().ok()).collect();
    let [each, seed] = numbers[..] else {
        return Err("examples takes two numbers".to_owned());
    };
    print!("{}", run::examples(seed, each as usize)?);
    Ok(true)
}

/// Compares gains; whether nothing differed.
fn gains(args: &[String]) -> Result<bool, String> {
    let mut plan = gains::Plan {
        n: 2,
        positions: 400,
        seed: 1,
        jobs: std::thread::available_parallelism().map_or(1, usize::from),
    };
    for pair in args.chunks(2) {
        let number = pair.get(1).and_then(|text| text.parse::<u64>().ok());
        let number = number.ok_or_else(|| format!("{} takes a number", pair[0]))?;
        match pair[0].as_str() {
            "--n" => plan.n = u8::try_from(number).map_err(|_| format!("{number} moves"))?,
            "--positions" => plan.positions = number,
            "--seed" => plan.seed = number,
            "--jobs" => plan.jobs = number as usize,
            name => return Err(format!("no such option: {name}")),
        }
    }
    let differences = gains::run(&plan);
    println!("{} differences", differences.len());
    Ok(differences.is_empty())
}

/// Runs the campaign; whether nothing differed.
fn prover(args: &[String]) -> Result<bool, String> {
    let plan = plan(args)?;
    let state = run::run(&plan)?;
    print!("{}", state.table());
    for text in &state.differences {
        println!("DIFFERS {text}");
    }
    println!("{} differences", state.differences.len());
    Ok(state.differences.is_empty())
}

fn plan(args: &[String]) -> Result<Plan, String> {
    let mut plan = Plan {
        cells: Cell::all(),
        seed: 1,
        seconds: None,
        jobs: std::thread::available_parallelism().map_or(1, usize::from),
        positions: None,
        file: PathBuf::new(),
    };
    let (mut strata, mut questions): (Vec<&str>, Vec<&str>) = (Vec::new(), Vec::new());
    for pair in args.chunks(2) {
        let [name, value] = pair else {
            return Err(format!("{} needs a value", pair[0]));
        };
        let number = || {
            let fault = |_| format!("{name} takes a number, not {value:?}");
            value.parse::<u64>().map_err(fault)
        };
        match name.as_str() {
            "--seconds" => plan.seconds = Some(number()?),
            "--positions" => plan.positions = Some(number()?),
            "--seed" => plan.seed = number()?,
            "--jobs" => plan.jobs = number()? as usize,
            "--state" => plan.file = PathBuf::from(value),
            "--stratum" => strata.push(value),
            "--n" => questions.push(value.trim_start_matches('#')),
            _ => return Err(format!("no such option: {name}")),
        }
    }
    let named = |question: Question| question.name().trim_start_matches('#').to_owned();
    for stratum in &strata {
        if plan
            .cells
            .iter()
            .all(|cell| cell.stratum.name() != *stratum)
        {
            let names: Vec<&str> = plan.cells.iter().map(|cell| cell.stratum.name()).collect();
            return Err(format!("no stratum {stratum:?} (there are {names:?})"));
        }
    }
    for asked in &questions {
        if Question::ALL
            .iter()
            .all(|question| named(*question) != *asked)
        {
            return Err(format!("no question {asked:?}"));
        }
    }
    plan.cells.retain(|cell| {
        (strata.is_empty() || strata.contains(&cell.stratum.name()))
            && (questions.is_empty() || questions.contains(&named(cell.question).as_str()))
    });
    if plan.file.as_os_str().is_empty() {
        plan.file = PathBuf::from(format!("target/campaign/prover-{}.json", plan.seed));
    }
    Ok(plan)
}
