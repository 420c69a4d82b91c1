//! Published mates (`tests/outside/published.txt`, the source beside each):
//! the prover must find exactly the keys that are known, at their lengths.

use std::collections::BTreeMap;

use keyproof::notation::{fen, moves};
use keyproof_tests::{reference, root};
use shakmaty::{Chess, Position};

use crate::{keys, position};

struct Mate {
    source: String,
    position: Chess,
    n: u8,
    keys: Vec<String>,
}

#[test]
fn every_published_mate_has_its_keys() {
    let mates = published();
    assert!(mates.len() >= 20, "only {} mates", mates.len());
    for mate in mates {
        let wanted: Vec<(String, u8)> = mate.keys.iter().map(|k| (k.clone(), mate.n)).collect();
        assert_eq!(keys(&mate.position, mate.n), wanted, "{}", mate.source);
        if mate.n > 1 {
            assert_eq!(keys(&mate.position, mate.n - 1), [], "{}", mate.source);
        }
    }
}

/// The same by brute force with the PyPI package `chess` 1.11.2, up to three
/// moves.
#[test]
fn brute_force_finds_the_same_keys() {
    let mates: Vec<Mate> = published().into_iter().filter(|m| m.n <= 3).collect();
    let pgn: String = mates
        .iter()
        .map(|m| {
            format!(
                "[FEN \"{}\"]\n[SetUp \"1\"]\n[Stipulation \"#{}\"]\n\n*\n\n",
                fen::write(&m.position),
                m.n
            )
        })
        .collect();
    let judged: Vec<serde_json::Value> =
        serde_json::from_str(&reference::python("brute.py", &["-"], &pgn)).expect("JSON");
    assert_eq!(judged.len(), mates.len());
    for (mate, judged) in mates.iter().zip(judged) {
        let found: BTreeMap<String, u8> =
            serde_json::from_value(judged["keys"].clone()).expect("a map of keys");
        let wanted: BTreeMap<String, u8> = mate
            .keys
            .iter()
            .map(|san| {
                let mv = moves::read(&mate.position, san).expect("a legal key");
                (moves::uci(mv), mate.n)
            })
            .collect();
        assert_eq!(found, wanted, "{}", mate.source);
    }
}

fn published() -> Vec<Mate> {
    let path = root().join("tests/outside/published.txt");
    let text = std::fs::read_to_string(&path).unwrap_or_else(|e| panic!("{}: {e}", path.display()));
    text.split("\n\n")
        .filter(|block| block.contains("source "))
        .map(read)
        .collect()
}

fn read(block: &str) -> Mate {
    let field = |name: &str| {
        block
            .lines()
            .find_map(|line| line.strip_prefix(name)?.strip_prefix(' '))
            .map(str::trim)
    };
    let source = field("source").expect("a source").to_owned();
    let position = match (field("fen"), field("moves")) {
        (Some(fen), _) => position(fen),
        (None, Some(moves)) => play(moves, &source),
        _ => panic!("{source}: neither fen nor moves"),
    };
    let mut keys: Vec<String> = field("keys")
        .expect("keys")
        .split(' ')
        .map(str::to_owned)
        .collect();
    keys.sort();
    Mate {
        n: field("mate")
            .and_then(|n| n.parse().ok())
            .expect("a number of moves"),
        source,
        position,
        keys,
    }
}

/// Plays a game from the initial position; move numbers are skipped.
fn play(text: &str, source: &str) -> Chess {
    let mut position = Chess::default();
    for word in text.split(' ') {
        let san = word.rsplit('.').next().unwrap_or_default();
        let mv = moves::read(&position, san).unwrap_or_else(|e| panic!("{source}: {word}: {e:?}"));
        position.play_unchecked(mv);
    }
    position
}
