//! EPD as another library reads it.

use keyproof::notation::{epd, fen, moves};
use keyproof::resolved::Resolved;
use keyproof_tests::reference;
use serde_json::{Value, json};
use shakmaty::Move;

/// Source: the `.epd` files of chess, not of its variants, in the source
/// distribution of the PyPI package `chess` 1.11.2, and its own reader.
const FILES: [&str; 5] = [
    "examples/bratko_kopec/bratko-kopec.epd",
    "data/endgame.epd",
    "data/endgame-dm-4.epd",
    "data/endgame-dm-5.epd",
    "fuzz/corpus/epd/pv.epd",
];

fn lines(text: &str) -> Vec<&str> {
    let lines = text.lines().map(str::trim);
    lines
        .filter(|line| !line.is_empty() && !line.starts_with(['#', '%']))
        .collect()
}

fn ucis(moves: Vec<Move>) -> Vec<String> {
    moves.into_iter().map(moves::uci).collect()
}

/// A line as we read it, in the form in which `epd.py` prints it.
fn ours(line: &str) -> Value {
    let record = epd::record(line, 1).unwrap_or_else(|fault| panic!("{line}: {fault:?}"));
    let sorted = |opcode| {
        let mut moves = ucis(
            record
                .moves(opcode)
                .unwrap_or_else(|m| panic!("{line}: {m}")),
        );
        moves.sort();
        moves
    };
    let text = |opcode: &str| record.operands(opcode).map(|operands| operands.join(" "));
    let mut opcodes: Vec<&str> = record
        .operations
        .iter()
        .map(|o| o.opcode.as_str())
        .collect();
    opcodes.sort_unstable();
    json!({
        "fen": fen::write(&record.position),
        "bm": sorted("bm"),
        "am": sorted("am"),
        "pv": ucis(record.line()),
        "dm": text("dm").map(|n| n.parse::<i32>().expect("a number")),
        "id": text("id"),
        "c0": text("c0"),
        "opcodes": opcodes,
    })
}

fn theirs(text: &str) -> Vec<Value> {
    let printed = reference::python("epd.py", &[], text);
    let read = |line: &str| serde_json::from_str(line).expect("JSON");
    printed.lines().map(read).collect()
}

#[test]
fn records_are_read_as_another_library_reads_them() {
    let mut compared = 0;
    for name in FILES {
        let text = reference::file(name);
        let theirs = theirs(&text);
        let lines = lines(&text);
        assert_eq!(lines.len(), theirs.len(), "{name}");
        for (line, theirs) in std::iter::zip(lines, theirs) {
            assert_eq!(ours(line), theirs, "{name}: {line}");
            compared += 1;
        }
    }
    assert!(compared >= 300, "{compared} records");
}

/// What we write of a record, the other library reads as it read the record.
#[test]
fn what_we_write_is_read_the_same() {
    for name in [
        "examples/bratko_kopec/bratko-kopec.epd",
        "fuzz/corpus/epd/pv.epd",
    ] {
        let text = reference::file(name);
        let games = epd::read(&text);
        assert!(games.iter().all(|game| game.faults.is_empty()));
        let written: Vec<String> = games
            .iter()
            .map(|game| epd::write(&Resolved::of(&game.draft)).expect("a record"))
            .collect();
        assert_eq!(theirs(&written.join("\n")), theirs(&text), "{name}");
    }
}
