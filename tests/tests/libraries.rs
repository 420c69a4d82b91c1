//! The guide's table of the same tasks in four languages: each of its cells is run as it
//! stands, and all come to the same.

use std::path::{Path, PathBuf};
use std::process::Command;

use keyproof_guide::{Block, Inline, page};
use serde_json::Value;

/// Positions and puzzles of our own.
const FEN: &str = "7k/8/5K2/6Q1/8/8/8/8 w - - 0 1";
const ENDING: &str = "8/8/3k4/8/4K3/4P3/8/8 w - - 0 1";
const PUZZLES: &str = "[Event \"Two rooks\"]\n[FEN \"7k/8/8/8/8/8/R7/1R2K3 w - - 0 1\"]\n[Stipulation \"#2\"]\n\n1. Ra7 (1. Rb7 $1 Kg8 2. Ra8#) 1... Kg8 2. Rb8# *\n\n[Event \"Back rank\"]\n[FEN \"6k1/5ppp/8/8/8/8/8/R3K3 w - - 0 1\"]\n[Stipulation \"#1\"]\n\n1. Ra8# *\n";

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

/// The rows of the table: command, Python, JavaScript, Rust.
fn rows() -> Vec<[String; 4]> {
    let blocks = page("libraries").expect("a page").blocks.iter();
    let tables = blocks.filter_map(|block| match block {
        Block::Table { rows, .. } => Some(rows),
        _ => None,
    });
    let cell = |inlines: &&[Inline]| match inlines {
        [Inline::Code(text)] => (*text).to_owned(),
        other => panic!("a cell is code: {other:?}"),
    };
    let rows = tables.flat_map(|rows| rows.iter());
    rows.map(|row| {
        let cells: Vec<String> = row.iter().map(cell).collect();
        cells.try_into().expect("four languages")
    })
    .collect()
}

/// A folder with the files that the guide names; the page is made by the command.
fn folder(command: &str) -> PathBuf {
    let folder = std::env::temp_dir().join(format!("keyproof-libraries-{}", std::process::id()));
    std::fs::create_dir_all(&folder).expect("a folder");
    let game = root().join("puzzles/games/the-queen-that-waited.pgn");
    std::fs::copy(game, folder.join("club.pgn")).expect("a game");
    std::fs::write(folder.join("monday.pgn"), PUZZLES).expect("puzzles");
    let page = shell(command, &folder);
    std::fs::write(folder.join("page.html"), page).expect("a page");
    folder
}

/// What a command of the guide prints.
fn shell(command: &str, folder: &Path) -> String {
    let keyproof = root().join("dist/keyproof");
    let command = command.replacen("keyproof", &keyproof.to_string_lossy(), 1);
    let mut shell = Command::new("sh");
    shell.args(["-c", &command]).current_dir(folder);
    output(shell.env("fen", FEN).env("ending", ENDING))
}

fn output(command: &mut Command) -> String {
    let output = command
        .output()
        .unwrap_or_else(|fault| panic!("{command:?}: {fault}"));
    let errors = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{command:?}: {errors}");
    String::from_utf8(output.stdout).expect("UTF-8")
}

/// What expressions of a language come to, a line of JSON for each.
fn values(command: &mut Command) -> Vec<Value> {
    let told = output(command);
    let lines = told.lines();
    lines
        .map(|line| serde_json::from_str(line).expect("JSON"))
        .collect()
}

fn python(cells: &[String], folder: &Path) -> Vec<Value> {
    let tells: String = cells
        .iter()
        .map(|cell| format!("print(json.dumps({cell}))\n"))
        .collect();
    let program = format!(
        "import json, sys\nfrom pathlib import Path\nfrom keyproof import *\n\
         puzzles, game, page = (Path(name).read_text() for name in ['monday.pgn', 'club.pgn', 'page.html'])\n\
         fen, ending = sys.argv[1:]\n{tells}"
    );
    let python = root().join(std::env::var("KEYPROOF_PYTHON").expect("set by xtask"));
    values(
        Command::new(python)
            .args(["-c", &program, FEN, ENDING])
            .current_dir(folder),
    )
}

fn javascript(cells: &[String], folder: &Path) -> Vec<Value> {
    let tells: String = cells
        .iter()
        .map(|cell| format!("console.log(JSON.stringify({cell}));\n"))
        .collect();
    let package = root().join(std::env::var("KEYPROOF_PACKAGE").expect("set by xtask"));
    let package = package.canonicalize().expect("the package");
    let program = format!(
        "import {{ analyse, check, moments, publish, solve, table, verify }} from {:?};\n\
         import {{ readFileSync }} from \"node:fs\";\n\
         const [puzzles, game, page] = [\"monday.pgn\", \"club.pgn\", \"page.html\"].map((name) => readFileSync(name, \"utf8\"));\n\
         const [fen, ending] = process.argv.slice(2);\n{tells}",
        package.join("index.js").to_string_lossy()
    );
    std::fs::write(folder.join("table.mjs"), program).expect("a program");
    values(
        Command::new("node")
            .args(["table.mjs", FEN, ENDING])
            .current_dir(folder),
    )
}

fn rust(cells: &[String], folder: &Path) -> Vec<Value> {
    let source = root().join("crates/tasks/examples/guide.rs");
    let source = std::fs::read_to_string(source).expect("the example");
    let joined = |text: &str| {
        text.split_whitespace()
            .collect::<String>()
            .replace(",}", "}")
            .replace(",)", ")")
    };
    for cell in cells {
        assert!(
            joined(&source).contains(&joined(cell)),
            "not in the example: {cell}"
        );
    }
    let mut cargo = Command::new(env!("CARGO"));
    cargo.args([
        "run",
        "--quiet",
        "--package",
        "keyproof-tasks",
        "--example",
        "guide",
        "--",
    ]);
    values(cargo.arg(folder).args([FEN, ENDING]).current_dir(root()))
}

/// The data without what the guide says to be told by the command alone, or to depend on
/// the threads or on earlier calls.
fn shared(mut value: Value) -> Value {
    let mut open = vec![&mut value];
    while let Some(next) = open.pop() {
        match next {
            Value::Array(items) => open.extend(items),
            Value::Object(items) => {
                for name in ["file", "milliseconds", "nodes", "tables"] {
                    items.remove(name);
                }
                open.extend(items.values_mut());
            }
            _ => {}
        }
    }
    value
}

/// What a command printed, as data: of many results each is a line.
fn printed(command: &str, told: String) -> Value {
    let many = ["keyproof check ", "keyproof moments "];
    if many.iter().any(|task| command.starts_with(task)) {
        let read = |line| serde_json::from_str::<Value>(line).expect("JSON");
        return told.lines().map(read).collect();
    }
    serde_json::from_str(&told).unwrap_or(Value::String(told))
}

#[test]
fn the_same_task_comes_to_the_same_in_four_languages() {
    let rows = rows();
    assert_eq!(rows.len(), 7);
    let folder = folder(&rows[5][0]);
    let column = |n: usize| -> Vec<String> { rows.iter().map(|row| row[n].clone()).collect() };
    let by_command: Vec<Value> = rows
        .iter()
        .map(|row| printed(&row[0], shell(&row[0], &folder)))
        .map(shared)
        .collect();
    assert_eq!(by_command[0][0]["verdict"], "sound");
    assert_eq!(by_command[1]["keys"][0]["san"], "Qg7#");
    assert_eq!(by_command[6][0]["status"], "accepted");
    for (language, told) in [
        ("Python", python(&column(1), &folder)),
        ("JavaScript", javascript(&column(2), &folder)),
        ("Rust", rust(&column(3), &folder)),
    ] {
        assert_eq!(told.len(), rows.len(), "{language}");
        for (row, (told, command)) in rows.iter().zip(told.into_iter().zip(&by_command)) {
            assert_eq!(&shared(told), command, "{language}: {}", row[0]);
        }
    }
    std::fs::remove_dir_all(&folder).expect("the folder");
}
