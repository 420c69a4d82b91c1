//! Every chore of the project, as `cargo xtask CHORE`.
//!
//! This file reads the command line; each chore is a module of its own. What
//! the chores have in common (running programs, finding folders) is in
//! [`shell`].

mod archive;
mod before;
mod bench;
mod campaign;
mod fuzz;
mod games;
mod guide;
mod letters;
mod libraries;
mod pack;
mod pages;
mod release;
mod revision;
mod serve;
mod setup;
mod shell;
mod stamp;
mod suites;
mod template;
mod words;

use std::process::ExitCode;

const HELP: &str = "\
The chores of Keyproof. Each can be run alone on a fresh clone.

  cargo xtask setup            install what building and testing need
  cargo xtask build            build dist/keyproof.html, dist/student.html and the command dist/keyproof
  cargo xtask build student    build dist/student.html alone
  cargo xtask release          build all and lay into dist/release what is given out: page, element,
                               command, wheel, npm package, the program's source, checksums
  cargo xtask release twice    the same of two clones in other folders, compared byte by byte
  cargo xtask deny             hold the libraries against deny.toml, with cargo-deny
  cargo xtask guide            build dist/guide, the guide as plain pages
  cargo xtask wheel            build dist/keyproof-*.whl, the Python package
  cargo xtask package          build dist/npm, the npm package, with wasm-pack
  cargo xtask crates           build target/package, the Rust crates as a registry takes them
  cargo xtask serve [--port N] build what is missing and serve dist/ on 127.0.0.1
  cargo xtask test [PART...]   run all tests, or some of: unit outside browser; or, which
                               takes minutes to build, those of the libraries: libraries,
                               and of the example for Spark, which is installed: spark;
                               or in one engine alone, all that is meant for it: chromium
                               firefox webkit
  cargo xtask bench [--quick] [--NAME=VALUE...] [PART...]
                               print sizes, times and counts, or some of: pages puzzles
                               prover exactness cancelling certificates gains second search tables
                               lessons reasons coach moments threats student desk tasks spread streams
  cargo xtask bench --before=REVISION [...]
                               measure an earlier revision and this one in one run, and
                               print both, figure by figure
  cargo xtask campaign prover [--seconds N] [--stratum NAME] [--n QUESTION] [--seed N]
                               compare the prover with brute force, for hours if need be,
                               going on where it was stopped
  cargo xtask campaign gains [--n N] [--positions N] [--seed N] [--jobs N]
                               compare the prover of gains with brute force
  cargo xtask campaign draws [--positions N] [--seed N] [--jobs N]
                               compare the prover of draws by force with brute force
  cargo xtask campaign fuzz [TARGET...] [--runs=N] [--seconds=N] [--jobs=N]
                               feed every reader with bytes of strangers, guided by what
                               they reach (crates/fuzz)
  cargo xtask campaign kills [--times=N] [--seed=N]
                               kill the browser (SIGKILL), 500 times at moments drawn by chance,
                               while an author works in it, and look for the work
  cargo xtask campaign mutants [OPTION...]
                               break prover and checker of certificates on purpose, and
                               list what no test notices
  cargo xtask train [--seconds N]
                               play games on all cores and learn the search's network from them
  cargo xtask campaign match REVISION [GAMES [ms|nodes N [SEED]]]
                               a match of the search against that of an earlier revision
  cargo xtask campaign calibration [--help]
                               measure how often searched rulings are wrong, and make the
                               table of it that the program uses
";

fn main() -> ExitCode {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let args: Vec<&str> = args.iter().map(String::as_str).collect();
    let done = match args.as_slice() {
        ["setup"] => setup::everything(),
        ["build"] => pages::build_all(),
        ["build", "student"] => pages::build_student(),
        ["release"] => release::release(),
        ["release", "twice"] => release::twice(),
        ["deny"] => release::deny(),
        ["guide"] => guide::build(),
        ["wheel"] => libraries::wheel(),
        ["package"] => libraries::package(),
        ["crates"] => libraries::crates(),
        ["serve"] => serve::serve(0),
        ["serve", "--port", port] => match port.parse() {
            Ok(port) => serve::serve(port),
            Err(_) => Err(format!(
                "--port takes a number from 0 to 65535, not {port:?}"
            )),
        },
        ["test", parts @ ..] => suites::run_parts(parts),
        ["bench", parts @ ..] => before::run(parts),
        ["campaign", "calibration", args @ ..] => campaign::calibration(args),
        ["campaign", "fuzz", args @ ..] => fuzz::run_with(args),
        ["campaign", "kills", args @ ..] => suites::kills(args),
        ["campaign", "mutants", args @ ..] => campaign::mutants(args),
        ["campaign", "match", args @ ..] => games::compare(args),
        ["campaign", args @ ..] => campaign::run_with(args),
        ["train", args @ ..] => games::train(args),
        [] | ["help" | "--help" | "-h", ..] => {
            print!("{HELP}");
            Ok(())
        }
        other => Err(format!("no such chore: {}\n\n{HELP}", other.join(" "))),
    };
    match done {
        Ok(()) => ExitCode::SUCCESS,
        Err(fault) => {
            eprintln!("xtask: {fault}");
            ExitCode::FAILURE
        }
    }
}
