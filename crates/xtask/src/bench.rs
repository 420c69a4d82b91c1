//! Measuring: sizes, times and counts, for a person to read. Building what is
//! measured is done here; measuring the core is left to `crates/bench`.

use std::path::PathBuf;
use std::process::Command;

use crate::libraries;
use crate::pages;
use crate::setup;
use crate::shell::{Done, cargo, command, dist, output, run, target};
use crate::stamp::when_stale;

/// A part of the measurements: its name on the command line, and what runs it.
type Part = (&'static str, fn(&Asked) -> Done);

/// What is asked of a part.
struct Asked<'a> {
    /// Small samples.
    quick: bool,
    /// `--NAME=VALUE`, for the parts that `crates/bench` measures.
    options: Vec<&'a str>,
}

const PARTS: [Part; 20] = [
    ("pages", pages),
    ("student", student),
    ("desk", desk),
    ("tasks", tasks),
    ("puzzles", |asked| measure("puzzles", asked)),
    ("prover", |asked| measure("prover", asked)),
    ("gains", |asked| measure("gains", asked)),
    ("exactness", exactness),
    ("cancelling", |asked| measure("cancelling", asked)),
    ("certificates", |asked| measure("certificates", asked)),
    ("second", |asked| measure("second", asked)),
    ("search", |asked| measure("search", asked)),
    ("tables", tables),
    ("reasons", reasons),
    ("lessons", lessons),
    ("moments", |asked| measure("moments", asked)),
    ("threats", |asked| measure("threats", asked)),
    ("coach", |asked| measure("coach", asked)),
    ("spread", spread),
    ("streams", streams),
];

/// Runs the parts named, all when none is named; `--quick` takes small samples, and
/// `--NAME=VALUE` is handed on.
pub fn run_parts(args: &[&str]) -> Done {
    let option = |arg: &&str| arg.starts_with("--") && arg.contains('=');
    let asked = Asked {
        quick: args.contains(&"--quick"),
        options: args.iter().copied().filter(option).collect(),
    };
    let named = args.iter().filter(|arg| **arg != "--quick" && !option(arg));
    let named: Vec<&str> = named.copied().collect();
    let known = PARTS.map(|(name, _)| name);
    if let Some(unknown) = named.iter().find(|name| !known.contains(name)) {
        return Err(format!(
            "no such part of the measurements: {unknown} (there are {})",
            known.join(", ")
        ));
    }
    for (name, part) in PARTS {
        if named.is_empty() || named.contains(&name) {
            part(&asked).map_err(|fault| format!("bench, part {name}: {fault}"))?;
        }
    }
    Ok(())
}

/// The sizes of all that is handed out.
fn pages(_asked: &Asked) -> Done {
    println!("\nSizes of what is handed out\n---------------------------");
    pages::build_all()
}

/// How soon the student's page takes a move, and how soon it answers one, in
/// Chromium.
fn student(_asked: &Asked) -> Done {
    println!("\nThe student's page in Chromium\n------------------------------");
    setup::for_testing()?;
    pages::build_student()?;
    let suite = ["--package", "keyproof-tests", "--test", "browser"];
    counted(&suite, "the_page_answers", "1")
}

/// How soon the desk is there, how soon one of 2,000 puzzles answers, and how soon a
/// keystroke is painted in small trees and in trees of 5,000 moves, and what an
/// hour of work keeps in memory, in Chromium.
fn desk(_asked: &Asked) -> Done {
    println!("\nThe authoring page in Chromium\n------------------------------");
    setup::for_testing()?;
    pages::build_all()?;
    run(&mut timed("how_soon_the_desk_is_there"))?;
    run(&mut timed("how_soon_a_large_desk_answers"))?;
    run(&mut timed("how_soon_the_desk_paints_a_keystroke"))?;
    run(&mut timed("what_an_hour_of_work_keeps"))
}

/// What eight tasks cost at the desk: presses, keys, and what had to be scrolled to.
fn tasks(_asked: &Asked) -> Done {
    println!("\nEight tasks at the desk, in Chromium\n------------------------------------");
    setup::for_testing()?;
    pages::build_all()?;
    let mut tests = cargo();
    tests
        .args(["test", "--quiet", "--package", "keyproof-tests"])
        .args(["--test", "browser", "--", "--nocapture"])
        .args(["--test-threads", "1", "tasks::"]);
    tell(&mut tests)
}

/// What a Dask cluster of this machine does, over one process of the command on one core.
fn spread(asked: &Asked) -> Done {
    println!("\nWork spread over workers\n-----------------------");
    pages::build_pages()?;
    pages::build_command()?;
    let mut python = libraries::python()?;
    python
        .arg("crates/python/throughput.py")
        .arg(dist().join("keyproof"));
    if asked.quick {
        python.arg("--quick");
    }
    run(&mut python)
}

/// A part that `crates/bench` measures.
fn measure(part: &str, asked: &Asked) -> Done {
    setup::for_building()?;
    setup::for_testing()?;
    natively(part, &wasm()?.to_string_lossy(), asked)
}

/// Runs a part of `crates/bench`, with the core in wasm if it reads that.
fn natively(part: &str, wasm: &str, asked: &Asked) -> Done {
    run(cargo().args([
        "build",
        "--quiet",
        "--release",
        "--package",
        "keyproof-bench",
    ]))?;
    let mut bench = command(&target().join("release/keyproof-bench").to_string_lossy());
    bench.arg(part).arg(wasm).args(&asked.options);
    if asked.quick {
        bench.arg("--quick");
    }
    run(&mut bench)
}

/// Holds the core in wasm, with SIMD and without, against the native one, as cargo builds
/// them for tests.
pub fn alike_in_wasm() -> Done {
    let bench = || {
        let mut bench = cargo();
        bench.args(["build", "--quiet", "--package", "keyproof-bench"]);
        bench
    };
    run(&mut bench())?;
    for (folder, features) in [("plain", ""), ("simd", "-Ctarget-feature=+simd128")] {
        let folder = target().join("alike").join(folder);
        run(bench()
            .args(["--lib", "--target", "wasm32-unknown-unknown"])
            .env("RUSTFLAGS", features)
            .env("CARGO_TARGET_DIR", &folder))?;
        let wasm = folder.join("wasm32-unknown-unknown/debug/keyproof_bench.wasm");
        let native = target().join("debug/keyproof-bench");
        run(command(&native.to_string_lossy())
            .arg("alike")
            .arg(wasm)
            .arg("--quick"))?;
    }
    Ok(())
}

/// `crates/bench` for the browser, built as the author's page is.
fn wasm() -> Result<PathBuf, String> {
    let product = target().join("bench/keyproof_bench.wasm");
    let own = ["crates/bench", "Cargo.toml", "Cargo.lock"];
    let inputs = [&own[..], pages::CORE].concat();
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
fn exactness(asked: &Asked) -> Done {
    println!(
        "\nExactness against a naive search, n up to 3\n-------------------------------------------"
    );
    let positions = if asked.quick { "400" } else { "10000" };
    counted(
        &["--package", "keyproof-prove", "--lib"],
        "up_to_three_moves_nothing_differs_from_a_naive_search",
        positions,
    )?;
    measure("exactness", asked)
}

/// How long tables take, and that they equal those that others made.
fn tables(asked: &Asked) -> Done {
    measure("tables", asked)?;
    println!("\nAgainst the Syzygy tables of the PyPI package `chess`");
    let positions = if asked.quick { "2000" } else { "100000" };
    counted(
        &["--package", "keyproof-tests", "--test", "tables"],
        "",
        positions,
    )
}

/// What the command takes for streams, and for input that is made to hurt.
fn streams(asked: &Asked) -> Done {
    pages::build_command()?;
    let command = format!("--command={}", dist().join("keyproof").display());
    let mut asked = Asked {
        quick: asked.quick,
        options: asked.options.clone(),
    };
    if !asked
        .options
        .iter()
        .any(|option| option.starts_with("--command="))
    {
        asked.options.push(&command);
    }
    natively("streams", "-", &asked)
}

/// From a game to a lesson; then what is published of twelve puzzles, and how
/// soon the student can move.
fn lessons(asked: &Asked) -> Done {
    measure("lessons", asked)?;
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
fn reasons(_asked: &Asked) -> Done {
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
    tell(&mut tests).map_err(|fault| format!("{fault} with KEYPROOF_POSITIONS={positions}"))
}

/// Runs tests and prints what they tell.
fn tell(tests: &mut Command) -> Done {
    let told = output(tests).ok_or_else(|| format!("failed: {tests:?}"))?;
    let of_the_tests = ["running ", "test result: "];
    for line in told.lines() {
        let line = line.trim_start_matches('.').trim();
        if !line.is_empty() && !of_the_tests.iter().any(|start| line.starts_with(start)) {
            println!("{line}");
        }
    }
    Ok(())
}
