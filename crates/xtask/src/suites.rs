//! Running the tests, all of them or by part.

use std::process::Command;

use crate::bench;
use crate::campaign::only_options;
use crate::libraries;
use crate::pages;
use crate::setup;
use crate::shell::{Done, cargo, root, run, side_by_side};

/// A part of the tests: its name on the command line, and what runs it.
type Part = (&'static str, fn() -> Done);

/// What `cargo xtask test` runs.
const PARTS: [Part; 3] = [("unit", unit), ("outside", outside), ("browser", browser)];

/// What is run when it is named: a wheel and a package are minutes to build.
const ASKED_FOR: [Part; 2] = [(LIBRARIES, libraries), ("spark", libraries::test_spark)];

/// The engines, each a part that can be named alone. The first takes all tests, the others
/// those of [`STUDENTS`], of which "browser" takes a [`HANDFUL`].
const ENGINES: [&str; 3] = ["chromium", "firefox", "webkit"];

/// What a student does, which is done in every engine; by the beginning of the tests'
/// names.
const STUDENTS: [&str; 11] = [
    "student::",
    "account::",
    "commands::commands_are_no_words_for_a_student",
    "commands::commands_are_no_words_on_paper",
    "every_move::first_moves_of_random",
    "saved::",
    "embedding::",
    "fits::",
    "hands::",
    "lesson::",
    "everybody::nothing_hinders_a_",
];

/// What is done in every engine whenever the pages are tested: start, right, wrong, hint,
/// solution, reload, settings that are kept, frame, element, what is said where nothing
/// runs, save and reopen. By the tests' whole names.
const HANDFUL: [&str; 9] = [
    "account::what_was_shown_is_not_found_by_starting_over",
    "embedding::a_frame_tells_its_height_and_the_result_with_and_without_sandbox",
    "embedding::two_elements_on_a_page_of_hostile_styles_are_solved_apart",
    "embedding::where_wasm_is_refused_the_puzzle_can_still_be_read",
    "fits::a_plain_board_is_kept",
    "saved::a_saved_page_has_the_work_in_it",
    "saved::a_saved_students_page_goes_on",
    "student::hints_and_starting_over",
    "student::solved_by_mouse",
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
    in_engines(&engines, &["--skip", PACKAGE], &STUDENTS)
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

/// The pages: all tests in Chromium, and a handful in each other engine.
fn browser() -> Done {
    let handful: Vec<&str> = std::iter::once("--exact").chain(HANDFUL).collect();
    in_engines(&ENGINES, &["--skip", PACKAGE], &handful)?;
    pages::hold_budget()
}

/// Kills the browser, at moments drawn by chance, while an author's work is done in it.
pub fn kills(args: &[&str]) -> Done {
    const OPTIONS: [(&str, &str); 2] =
        [("--times=", "KEYPROOF_KILLS"), ("--seed=", "KEYPROOF_SEED")];
    only_options(args, &OPTIONS.map(|(option, _)| option))?;
    setup::for_testing()?;
    pages::build_pages()?;
    let mut test = suites(is_browser_suite)?;
    test.args(["--", "kills::", "--nocapture"])
        .env("KEYPROOF_KILLS", "500");
    for (option, variable) in OPTIONS {
        for value in args.iter().filter_map(|arg| arg.strip_prefix(option)) {
            value
                .parse::<u64>()
                .map_err(|_| format!("{option}{value}: a number is expected"))?;
            test.env(variable, value);
        }
    }
    run(&mut test)
}

/// The pages in browsers of these engines: which tests of the first, and of the others.
fn in_engines(engines: &[&str], of_first: &[&str], of_others: &[&str]) -> Done {
    if engines.is_empty() {
        return Ok(());
    }
    setup::for_testing()?;
    let others = engines.iter().any(|engine| *engine != ENGINES[0]);
    let drivers = || match others {
        true => setup::for_other_engines(),
        false => Ok(()),
    };
    side_by_side([&drivers, &|| {
        pages::build_pages().and_then(|()| pages::build_command())
    }])?;
    for engine in engines {
        let mut test = suites(is_browser_suite)?;
        test.env("KEYPROOF_ENGINE", engine).arg("--");
        test.args(match *engine == ENGINES[0] {
            true => of_first,
            false => of_others,
        });
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::shell::read;

    /// Whether the browser's suite has a test of this whole name.
    fn is_a_test(name: &str) -> bool {
        let (module, name) = name.split_once("::").expect("a module and a test");
        let file = root().join(format!("tests/tests/browser/{module}.rs"));
        let text = read(&file).unwrap_or_default();
        text.contains(&format!("#[test]\nfn {name}() {{"))
    }

    #[test]
    fn each_of_the_handful_is_a_test_that_students_have_in_every_engine() {
        for name in HANDFUL {
            assert!(is_a_test(name), "{name}");
            assert!(
                STUDENTS.iter().any(|begin| name.starts_with(begin)),
                "{name}"
            );
        }
        assert!(!is_a_test("student::solved_by"));
    }

    /// What is not meant by its beginning any more would be left out without a word.
    #[test]
    fn each_beginning_is_that_of_some_test() {
        for begin in STUDENTS {
            let (module, name) = begin.split_once("::").expect("a module");
            let file = root().join(format!("tests/tests/browser/{module}.rs"));
            let text = read(&file).expect("a module of the browser's tests");
            assert!(text.contains(&format!("#[test]\nfn {name}")), "{begin}");
        }
    }
}
