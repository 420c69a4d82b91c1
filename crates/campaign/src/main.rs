//! The command of the campaigns; `cargo xtask campaign` builds and runs it.

use std::path::PathBuf;
use std::process::ExitCode;

use campaign::cells::{Cell, Question};
use campaign::outside::{self, Subject};
use campaign::run::{self, Plan};
use campaign::strata::Stratum;
use campaign::{by_lines, draws, gains};

const HELP: &str = "\
cargo xtask campaign prover [OPTIONS]
  compares the prover with brute force, and goes on where it was stopped
cargo xtask campaign gains [OPTIONS]
  compares the prover of gains with brute force, and goes on where it was stopped
cargo xtask campaign draws [OPTIONS]
  compares the prover of draws by force with brute force, and goes on where it was stopped
cargo xtask campaign outside gains|draws [OPTIONS]
  prints what the prover says of positions, for tests/outside/gains.py or draws.py with
  --against to hold against brute force
cargo xtask campaign examples EACH SEED
  prints positions with their keys, EACH of each stratum and question

  --seconds N      stop after so many seconds
  --stratum NAME   this stratum alone (may be given more than once)
  --n QUESTION     3, 4, s#, == or h# alone (may be given more than once);
                   of gains, the moves allowed (2 unless said)
  --positions N    so many positions of each stratum and question
  --seed N         other positions (in a file of their own)
  --jobs N         so many threads, instead of one for each core
  --state FILE     where the state is kept (target/campaign/prover-SEED.json,
                   target/campaign/gains-N-SEED.tsv,
                   target/campaign/draws-SEED.tsv)
";

fn main() -> ExitCode {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let done = match args.split_first() {
        Some((first, rest)) if first == "prover" => prover(rest),
        Some((first, rest)) if first == "gains" => gains(rest),
        Some((first, rest)) if first == "draws" => draws(rest),
        Some((first, rest)) if first == "outside" => outside(rest),
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

/// An option and its value.
fn option(pair: &[String]) -> Result<(&String, &String), String> {
    match pair {
        [name, value] => Ok((name, value)),
        _ => Err(format!("{} needs a value", pair[0])),
    }
}

/// The value of an option that takes a number.
fn number(name: &str, value: &str) -> Result<u64, String> {
    let fault = |_| format!("{name} takes a number, not {value:?}");
    value.parse().map_err(fault)
}

/// A plan for gains, and their moves.
fn gaining(args: &[String]) -> Result<(by_lines::Plan, u8), String> {
    let mut n = 2;
    let plan = by_lines(args, |name, value| {
        if name != "--n" {
            return Ok(false);
        }
        let moves = u8::try_from(number(name, value)?).ok();
        let moves = moves.filter(|n| (1..=4).contains(n));
        n = moves.ok_or_else(|| format!("--n takes 1 to 4, not {value}"))?;
        Ok(true)
    })?;
    Ok((plan, n))
}

/// Prints what the prover says, for another library to judge.
fn outside(args: &[String]) -> Result<bool, String> {
    let (plan, subject) = match args.split_first() {
        Some((first, rest)) if first == "gains" => {
            let (plan, n) = gaining(rest)?;
            (plan, Subject::Gains(n))
        }
        Some((first, rest)) if first == "draws" => {
            (by_lines(rest, |_, _| Ok(false))?, Subject::Draws)
        }
        _ => return Err("outside takes `gains` or `draws`".to_owned()),
    };
    print!("{}", outside::lines(&plan, subject));
    Ok(true)
}

/// Compares gains; whether nothing differed.
fn gains(args: &[String]) -> Result<bool, String> {
    let (mut plan, n) = gaining(args)?;
    let file = || PathBuf::from(format!("target/campaign/gains-{n}-{}.tsv", plan.seed));
    plan.file = Some(plan.file.clone().unwrap_or_else(file));
    Ok(told(&gains::run(&plan, n)?))
}

/// Compares draws by force; whether nothing differed.
fn draws(args: &[String]) -> Result<bool, String> {
    let mut plan = by_lines(args, |_, _| Ok(false))?;
    let file = || PathBuf::from(format!("target/campaign/draws-{}.tsv", plan.seed));
    plan.file = Some(plan.file.clone().unwrap_or_else(file));
    Ok(told(&draws::run(&plan)?))
}

/// Prints what differs; whether nothing does.
fn told(differences: &[String]) -> bool {
    for text in differences {
        println!("DIFFERS {text}");
    }
    println!("{} differences", differences.len());
    differences.is_empty()
}

/// What is asked of a campaign that keeps lines. `other` takes the options that are not
/// common to all.
fn by_lines(
    args: &[String],
    mut other: impl FnMut(&str, &str) -> Result<bool, String>,
) -> Result<by_lines::Plan, String> {
    let mut plan = by_lines::Plan {
        positions: 400,
        seed: 1,
        jobs: std::thread::available_parallelism().map_or(1, usize::from),
        strata: Vec::new(),
        seconds: None,
        file: None,
    };
    for pair in args.chunks(2) {
        let (name, value) = option(pair)?;
        let number = || number(name, value);
        match name.as_str() {
            "--positions" => plan.positions = number()?,
            "--seed" => plan.seed = number()?,
            "--jobs" => plan.jobs = number()? as usize,
            "--seconds" => plan.seconds = Some(number()?),
            "--state" => plan.file = Some(PathBuf::from(value)),
            "--stratum" => {
                let named = Stratum::ALL.into_iter().find(|s| s.name() == value);
                plan.strata.push(named.ok_or_else(|| {
                    let names = Stratum::ALL.map(Stratum::name);
                    format!("no stratum {value:?} (there are {names:?})")
                })?);
            }
            name if other(name, value)? => {}
            name => return Err(format!("no such option: {name}")),
        }
    }
    if plan.strata.is_empty() {
        plan.strata = Stratum::ALL.to_vec();
    }
    Ok(plan)
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
        let (name, value) = option(pair)?;
        let number = || number(name, value);
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
