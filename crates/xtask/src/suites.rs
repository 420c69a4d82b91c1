//! Running the tests, all of them or by part.

use crate::pages;
use crate::setup;
use crate::shell::{Done, cargo, root, run};

/// A part of the tests: its name on the command line, and what runs it.
type Part = (&'static str, fn() -> Done);

const PARTS: [Part; 3] = [("unit", unit), ("outside", outside), ("browser", browser)];

/// Runs the parts named, all when none is named.
pub fn run_parts(named: &[&str]) -> Done {
    let known = PARTS.map(|(name, _)| name);
    if let Some(unknown) = named.iter().find(|name| !known.contains(name)) {
        let known = known.join(", ");
        return Err(format!(
            "no such part of the tests: {unknown} (there are {known})"
        ));
    }
    for (name, part) in PARTS {
        if named.is_empty() || named.contains(&name) {
            part().map_err(|fault| format!("tests, part {name}: {fault}"))?;
        }
    }
    Ok(())
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
    suites(|name| !is_browser_suite(name))
}

/// The pages in a real browser.
fn browser() -> Done {
    setup::for_testing()?;
    pages::build_pages()?;
    pages::build_command()?;
    suites(is_browser_suite)?;
    pages::hold_budget()
}

fn is_browser_suite(name: &str) -> bool {
    name.starts_with("browser")
}

/// Runs the suites of `tests/` whose name fits.
fn suites(fits: impl Fn(&str) -> bool) -> Done {
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
    run(&mut test)
}
