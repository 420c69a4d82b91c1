//! Running the tests, all of them or by part.

use std::process::Command;

use crate::bench;
use crate::libraries;
use crate::pages;
use crate::setup;
use crate::shell::{Done, cargo, root, run};

/// A part of the tests: its name on the command line, and what runs it.
type Part = (&'static str, fn() -> Done);

/// What `cargo xtask test` runs.
const PARTS: [Part; 3] = [("unit", unit), ("outside", outside), ("browser", browser)];

/// What is run when it is named: a wheel and a package are minutes to build.
const ASKED_FOR: [Part; 1] = [(LIBRARIES, libraries)];

/// The engines, each a part that can be named alone; "browser" is the first of them. That
/// one takes all tests, the others those of [`STUDENTS`].
const ENGINES: [&str; 3] = ["chromium", "firefox", "webkit"];

/// What a student does, which is done in every engine; by the beginning of the tests'
/// names.
const STUDENTS: [&str; 7] = [
    "student::",
    "saved::",
    "embedding::",
    "fits::",
    "hands::",
    "lesson::",
    "everybody::nothing_hinders_a_",
];

/// Runs the parts named, those of [`PARTS`] when none is named.
pub fn run_parts(named: &[&str]) -> Done {
    let parts = PARTS.iter().chain(&ASKED_FOR);
    let known = parts.clone().map(|(name, _)| *name).chain(ENGINES);
    let known: Vec<&str> = known.collect();
    if let Some(unknown) = named.iter().find(|name| !known.contains(name)) {
        let known = known.join(", ");
        return Err(format!(
            "no such part of the tests: {unknown} (there are {known})"
        ));
    }
    for (name, part) in parts {
        let meant = named.is_empty() && PARTS.iter().any(|(meant, _)| meant == name);
        if meant || named.contains(name) {
            part().map_err(|fault| format!("tests, part {name}: {fault}"))?;
        }
    }
    let alone = |engine: &&str| !named.contains(&"browser") && named.contains(engine);
    let engines: Vec<&str> = ENGINES.into_iter().filter(alone).collect();
    in_engines(&engines)
}

/// Formatting, lints, docs, unit and property tests of every crate, and the command.
fn unit() -> Done {
    setup::for_testing()?;
    run(cargo().args(["fmt", "--all", "--check"]))?;
    run(cargo()
        .args(["clippy", "--quiet", "--workspace", "--all-targets"])
        .args(["--", "--deny", "warnings"]))?;
    run(cargo()
        .args(["doc", "--quiet", "--workspace", "--lib", "--no-deps"])
        .env("RUSTDOCFLAGS", "--deny warnings"))?;
    pages::build_student()?;
    run(cargo().args(["test", "--workspace", "--exclude", "keyproof-tests"]))?;
    broken()
}

/// What our programs say with a prover that is broken on purpose.
fn broken() -> Done {
    let with = |names: &[&str], which: &[&str]| {
        let mut test = cargo();
        test.arg("test");
        for name in names {
            test.args(["--package", name]);
            test.args(["--features", &format!("{name}/broken-prover")]);
        }
        run(test.args(which))
    };
    with(&["keyproof-second", "keyproof-cli"], &["--test", "broken"])?;
    with(&["keyproof-desk"], &["--lib", "broken"])
}

/// The corpus, published values, and cross-checks with a reference library.
fn outside() -> Done {
    setup::for_testing()?;
    bench::alike_in_wasm()?;
    run(&mut suites(|name| {
        !is_browser_suite(name) && name != LIBRARIES
    })?)
}

/// The libraries for other languages, as they are installed, and the package in a page.
fn libraries() -> Done {
    setup::for_testing()?;
    setup::for_building()?;
    libraries::test()?;
    run(suites(is_browser_suite)?.args(["--", PACKAGE]))
}

/// The pages in Chromium. The other engines are asked for by name: not all that a
/// student does was seen to pass there.
fn browser() -> Done {
    in_engines(&ENGINES[..1])?;
    pages::hold_budget()
}

/// The pages in browsers of these engines.
fn in_engines(engines: &[&str]) -> Done {
    if engines.is_empty() {
        return Ok(());
    }
    setup::for_testing()?;
    pages::build_pages()?;
    pages::build_command()?;
    for engine in engines {
        let mut test = suites(is_browser_suite)?;
        test.env("KEYPROOF_ENGINE", engine);
        test.args(["--", "--skip", PACKAGE]);
        if *engine != ENGINES[0] {
            setup::for_other_engines()?;
            test.args(STUDENTS);
        }
        eprintln!("tests in {engine}:");
        run(&mut test)?;
    }
    Ok(())
}

/// The suite that needs the libraries built.
const LIBRARIES: &str = "libraries";

/// The browser's tests that need them.
const PACKAGE: &str = "package::";

fn is_browser_suite(name: &str) -> bool {
    name.starts_with("browser")
}

/// What runs the suites of `tests/` whose name fits.
fn suites(fits: impl Fn(&str) -> bool) -> Result<Command, String> {
    let folder = root().join("tests/tests");
    let entries =
        std::fs::read_dir(&folder).map_err(|fault| format!("{}: {fault}", folder.display()))?;
    let mut names: Vec<String> = entries
        .flatten()
        .map(|entry| entry.path())
        .filter(|path| {
            path.join("main.rs").is_file() || path.extension().is_some_and(|e| e == "rs")
        })
        .filter_map(|path| Some(path.file_stem()?.to_string_lossy().into_owned()))
        .filter(|name| fits(name))
        .collect();
    names.sort();
    if names.is_empty() {
        return Err(format!("no such suite in {}", folder.display()));
    }
    let mut test = cargo();
    test.args(["test", "--package", "keyproof-tests", "--lib"]);
    for name in names {
        test.args(["--test", &name]);
    }
    Ok(test)
}
