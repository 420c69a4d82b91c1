//! The command with a prover that is broken on purpose: what it calls sound or
//! proved is so all the same.

use std::path::PathBuf;
use std::process::{Command, Output};

use serde_json::Value;

/// Two rooks, with both keys; with one left out; with a move that is no key. And a
/// mate in three, with both keys. Positions of our own.
const PUZZLES: &str = r##"[Event "Both"]
[FEN "7k/8/8/8/8/8/R7/1R2K3 w - - 0 1"]
[Stipulation "#2"]

1. Ra7 (1. Rb7 $1 Kg8 2. Ra8#) 1... Kg8 2. Rb8# *

[Event "Cooked"]
[FEN "7k/8/8/8/8/8/R7/1R2K3 w - - 0 1"]
[Stipulation "#2"]

1. Ra7 Kg8 2. Rb8# *

[Event "Wrong"]
[FEN "7k/8/8/8/8/8/R7/1R2K3 w - - 0 1"]
[Stipulation "#2"]

1. Ra7 (1. Rb7 $1 Kg8 2. Ra8#) (1. Ra6 $1) 1... Kg8 2. Rb8# *

[Event "Corner"]
[FEN "8/8/8/8/8/2K5/1R6/k7 w - - 0 1"]
[Stipulation "#3"]

1. Rb3 (1. Rc2 $1 Kb1 2. Kb3 Ka1 3. Rc1#) 1... Ka2 2. Kc2 Ka1 3. Ra3# *

[Event "Fork"]
[FEN "6k1/3q1p1p/8/3N4/8/8/5PPP/6K1 w - - 0 1"]
[Stipulation "gain 9 in 2"]

1. Nf6+ (1. Nb6 $2 Qd1#) 1... Kg7 2. Nxd7 *

[Event "Taken back"]
[FEN "3r2k1/3q1p1p/8/3N4/8/8/5PPP/6K1 w - - 0 1"]
[Stipulation "gain 9 in 2"]

1. Nf6+ Kg7 2. Nxd7 *
"##;

const TRUTH: [&str; 6] = ["sound", "unsound", "unsound", "sound", "sound", "unsound"];

fn run(args: &[&str], folder: &PathBuf, broken: &str) -> Output {
    Command::new(env!("CARGO_BIN_EXE_keyproof"))
        .args(args)
        .current_dir(folder)
        .env("KEYPROOF_BROKEN", broken)
        .output()
        .expect("the command runs")
}

fn json(output: &Output) -> Value {
    serde_json::from_slice(&output.stdout).expect("JSON")
}

fn folder(name: &str) -> PathBuf {
    let folder = std::env::temp_dir().join(format!("keyproof-{name}-{}", std::process::id()));
    let _ = std::fs::remove_dir_all(&folder);
    std::fs::create_dir_all(&folder).expect("a folder");
    std::fs::write(folder.join("puzzles.pgn"), PUZZLES).expect("a file");
    folder
}

#[test]
fn check_calls_nothing_sound_that_is_not() {
    let folder = folder("broken-check");
    let check = ["check", "puzzles.pgn", "--json"];
    let told = |broken: &str| {
        let output = run(&check, &folder, broken);
        let rows = std::str::from_utf8(&output.stdout).expect("text").lines();
        let verdict = |row| {
            let row: Value = serde_json::from_str(row).expect("JSON");
            row["verdict"].as_str().expect("a verdict").to_owned()
        };
        rows.map(verdict).collect::<Vec<_>>()
    };
    assert_eq!(told(""), TRUTH);
    let mut doubted = 0;
    for seed in 0..40 {
        let one_in = [1000, 100][seed % 2];
        for (verdict, truth) in told(&format!("{seed} {one_in}")).iter().zip(TRUTH) {
            match verdict.as_str() {
                "undecided" => doubted += 1,
                verdict => assert_eq!(verdict, truth, "seed {seed}, one in {one_in}"),
            }
        }
    }
    assert!(doubted > 0, "no answer was flipped");
    let reports = std::fs::read_dir(&folder)
        .expect("a folder")
        .filter(|file| {
            let name = file.as_ref().expect("a file").file_name();
            name.to_string_lossy().ends_with("-disagreement.txt")
        });
    assert!(reports.count() > 0);
}

#[test]
fn solve_calls_nothing_proved_that_is_not() {
    let folder = folder("broken-solve");
    let position = "7k/8/8/8/8/8/R7/1R2K3 w - - 0 1";
    let solve = ["solve", "--fen", position, "--mate", "2", "--json"];
    let mut doubted = 0;
    for seed in 0..40 {
        let solved = json(&run(&solve, &folder, &format!("{seed} 60")));
        match solved["status"].as_str() {
            Some("proved") => assert_eq!(solved["keys"].as_array().expect("keys").len(), 2),
            Some("unknown") => doubted += 1,
            status => panic!("{status:?}"),
        }
    }
    assert!(doubted > 0, "no answer was flipped");
}

#[test]
fn a_handout_of_what_is_doubted_is_refused() {
    let folder = folder("broken-handout");
    let text = PUZZLES
        .split("\n[Event \"Cooked\"]")
        .next()
        .expect("a puzzle");
    std::fs::write(folder.join("puzzles.pgn"), text).expect("a file");
    let handout = ["handout", "puzzles.pgn", "-o", "print.html"];
    let page = folder.join("print.html");
    assert!(run(&handout, &folder, "").status.success());
    std::fs::remove_file(&page).expect("a page");
    // Every answer is flipped, so that no certificate can be written.
    let ran = run(&handout, &folder, "1 1");
    assert_eq!(ran.status.code(), Some(1));
    assert!(!page.exists());
    assert!(folder.join("puzzles-1-disagreement.txt").exists());
}
