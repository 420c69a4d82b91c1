//! Games read from a stream as another library reads them from one.

use std::io::BufReader;

use keyproof::notation::moves;
use keyproof::notation::stream::{Form, Games};
use keyproof::resolved::Resolved;
use keyproof_tests::reference;
use serde_json::{Value, json};

/// Source: the published games in `data/pgn` of the source distribution of the PyPI
/// package `chess` 1.11.2, and its own reader, which takes one game after another.
const FILES: [&str; 3] = [
    "data/pgn/kasparov-deep-blue-1997.pgn",
    "data/pgn/molinari-bordais-1979.pgn",
    "data/pgn/nepomniachtchi-liren-game1.pgn",
];

/// The games of a text in the form in which `stream.py` prints them. What is read at a
/// time is less than a game, so that games lie across the seams.
fn ours(text: &str) -> Vec<Value> {
    let source = BufReader::with_capacity(100, text.as_bytes());
    let games = Games::new(source, Form::Pgn);
    games
        .map(|game| {
            let draft = game.expect("a game").game.draft;
            let resolved = Resolved::of(&draft);
            let line = resolved.main_line();
            let played = line
                .iter()
                .filter_map(|&node| Some(resolved.step(node)?.mv));
            let line: Vec<String> = played.map(moves::uci).collect();
            json!([draft.tag("White"), draft.tag("Date"), line])
        })
        .collect()
}

#[test]
fn a_stream_gives_the_games_that_another_library_gives() {
    let text: String = FILES
        .iter()
        .map(|file| reference::file(file) + "\n")
        .collect();
    // More than is read at a time.
    let text = text.repeat(40);
    let theirs: Vec<Value> = reference::python("stream.py", &[], &text)
        .lines()
        .map(|line| serde_json::from_str(line).expect("JSON"))
        .collect();
    assert!(theirs.len() >= 40 * 8, "{}", theirs.len());
    assert_eq!(ours(&text), theirs);
}
