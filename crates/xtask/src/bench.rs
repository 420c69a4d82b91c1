//! Measuring: sizes, times and counts, for a person to read. Building what is
//! measured is done here; measuring the core is left to `crates/bench`.

use std::path::PathBuf;
use std::process::Command;

use crate::pages;
use crate::setup;
use crate::shell::{Done, cargo, command, output, run, target};
use crate::stamp::when_stale;

/// A part of the measurements: its name on the command line, and what runs it.
type Part = (&'static str, fn(quick: bool) -> Done);

const PARTS: [Part; 16] = [
    ("pages", pages),
    ("student", student),
    ("desk", desk),
    ("puzzles", |quick| measure("puzzles", quick)),
    ("prover", |quick| measure("prover", quick)),
    ("gains", |quick| measure("gains", quick)),
    ("exactness", exactness),
    ("cancelling", |quick| measure("cancelling", quick)),
    ("certificates", |quick| measure("certificates", quick)),
    ("second", |quick| measure("second", quick)),
    ("search", |quick| measure("search", quick)),
    ("tables", tables),
    ("reasons", reasons),
    ("lessons", lessons),
    ("moments", |quick| measure("moments", quick)),
    ("threats", |quick| measure("threats", quick)),
];

/// Runs the parts named, all when none is named; `--quick` takes small samples.
pub fn run_parts(args: &[&str]) -> Done {
    let quick = args.contains(&"--quick");
    let named: Vec<&str> = args.iter().copied().filter(|a| *a != "--quick").collect();
    let known = PARTS.map(|(name, _)| name);
    if let Some(unknown) = named.iter().find(|name| !known.contains(name)) {
        return Err(format!(
            "no such part of the measurements: {unknown} (there are {})",
            known.join(", ")
        ));
    }
    for (name, part) in PARTS {
        if named.is_empty() || named.contains(&name) {
            part(quick).map_err(|fault| format!("bench, part {name}: {fault}"))?;
        }
    }
    Ok(())
}

/// The sizes of all that is handed out.
fn pages(_quick: bool) -> Done {
    println!("\nSizes of what is handed out\n---------------------------");
    pages::build_all()
}

/// How soon the student's page takes a move, and how soon it answers one, in
/// Chromium.
fn student(_quick: bool) -> Done {
    println!("\nThe student's page in Chromium\n------------------------------");
    setup::for_testing()?;
    pages::build_student()?;
    let suite = ["--package", "keyproof-tests", "--test", "browser"];
    counted(&suite, "the_page_answers", "1")
}

/// How soon the desk is there, how soon one of 2,000 puzzles answers, and how soon a
/// keystroke is painted in small trees and in trees of 5,000 moves, and what an
/// hour of work keeps in memory, in Chromium.
fn desk(_quick: bool) -> Done {
    println!("\nThe authoring page in Chromium\n------------------------------");
    setup::for_testing()?;
    pages::build_all()?;
    run(&mut timed("how_soon_the_desk_is_there"))?;
    run(&mut timed("how_soon_a_large_desk_answers"))?;
    run(&mut timed("how_soon_the_desk_paints_a_keystroke"))?;
    run(&mut timed("what_an_hour_of_work_keeps"))
}

/// A part that `crates/bench` measures.
fn measure(part: &str, quick: bool) -> Done {
    setup::for_building()?;
    setup::for_testing()?;
    let wasm = wasm()?;
    run(cargo().args([
        "build",
        "--quiet",
        "--release",
        "--package",
        "keyproof-bench",
    ]))?;
    let mut bench = command(&target().join("release/keyproof-bench").to_string_lossy());
    bench.arg(part).arg(&wasm);
    if quick {
        bench.arg("--quick");
    }
    run(&mut bench)
}

/// `crates/bench` for the browser, built as the author's page is.
fn wasm() -> Result<PathBuf, String> {
    let product = target().join("bench/keyproof_bench.wasm");
    let inputs = [
        "crates/bench",
        "crates/model",
        "crates/prove",
        "crates/tables",
        "crates/search",
        "crates/play",
        "crates/check",
        "crates/explain",
        "crates/moments",
        "crates/export",
        "crates/index",
        "crates/keyproof",
        "Cargo.toml",
        "Cargo.lock",
    ];
    when_stale("bench", &inputs, &product, || {
        run(cargo()
            .args(["build", "--quiet", "--package", "keyproof-bench", "--lib"])
            .args(["--profile", "author", "--target", "wasm32-unknown-unknown"]))?;
        std::fs::create_dir_all(target().join("bench")).map_err(|fault| fault.to_string())?;
        let built = target().join("wasm32-unknown-unknown/author/keyproof_bench.wasm");
        run(command("wasm-opt")
            .args(pages::QUICK)
            .args(pages::FEATURES.split(' '))
            .arg(built)
            .arg("-o")
            .arg(&product))
    })?;
    Ok(product)
}

/// The prover against a naive search, and against brute force in Python.
fn exactness(quick: bool) -> Done {
    println!(
        "\nExactness against a naive search, n up to 3\n-------------------------------------------"
    );
    let positions = if quick { "400" } else { "10000" };
    counted(
        &["--package", "keyproof-prove", "--lib"],
        "up_to_three_moves_nothing_differs_from_a_naive_search",
        positions,
    )?;
    measure("exactness", quick)
}

/// How long tables take, and that they equal those that others made.
fn tables(quick: bool) -> Done {
    measure("tables", quick)?;
    println!("\nAgainst the Syzygy tables of the PyPI package `chess`");
    let positions = if quick { "2000" } else { "100000" };
    counted(
        &["--package", "keyproof-tests", "--test", "tables"],
        "",
        positions,
    )
}

/// From a game to a lesson; then what is published of twelve puzzles, and how
/// soon the student can move.
fn lessons(quick: bool) -> Done {
    measure("lessons", quick)?;
    pages::build_all()?;
    let published = target().join("bench/twelve.html");
    run(command("dist/keyproof")
        .args(["publish", "puzzles/thursday-night.pgn", "-o"])
        .arg(&published))?;
    let size = std::fs::metadata(&published).map_err(|fault| fault.to_string())?;
    println!(
        "Published, twelve puzzles: {:.1} KB",
        size.len() as f64 / 1000.0
    );
    run(timed("how_soon_the_student_can_move").env("KEYPROOF_PUBLISHED", published))
}

/// A browser test that measures and is left out otherwise.
fn timed(test: &str) -> Command {
    let mut tests = cargo();
    tests
        .args(["test", "--quiet", "--package", "keyproof-tests"])
        .args(["--test", "browser", "--", "--ignored", "--nocapture", test]);
    tests
}

/// Precision and recall of the reasons, on positions made for them.
fn reasons(_quick: bool) -> Done {
    println!("\nReasons why a key works\n-----------------------");
    let suite = ["--package", "keyproof-explain", "--lib"];
    counted(&suite, "precision_and_recall", "1")
}

/// Runs tests on so many positions and prints what they tell of them.
fn counted(suite: &[&str], test: &str, positions: &str) -> Done {
    let mut tests = cargo();
    tests
        .args(["test", "--quiet", "--release"])
        .args(suite)
        .args(["--", "--nocapture", test])
        .env("KEYPROOF_POSITIONS", positions);
    let told = output(&mut tests)
        .ok_or_else(|| format!("failed: KEYPROOF_POSITIONS={positions} cargo test {test}"))?;
    let of_the_tests = ["running ", "test result: "];
    for line in told.lines() {
        let line = line.trim_start_matches('.').trim();
        if !line.is_empty() && !of_the_tests.iter().any(|start| line.starts_with(start)) {
            println!("{line}");
        }
    }
    Ok(())
}
