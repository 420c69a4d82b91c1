//! Positions kept from the prover's campaign (`tests/strata.tsv`), which the
//! PyPI package `chess` 1.11.2 judges here by brute force. The prover answers
//! as the file has it: `crates/campaign` tests that.

use std::collections::BTreeMap;

use keyproof_tests::{reference, root};
use serde::Deserialize;
use shakmaty::Position;

use crate::position;

#[derive(Deserialize)]
struct Judged {
    keys: BTreeMap<String, u8>,
}

/// First moves of a mate in three at most; longer questions are left out, since
/// brute force in Python takes long over them.
const MOST_MOVES: usize = 12;

#[test]
fn brute_force_finds_the_keys_of_what_was_kept() {
    let text = std::fs::read_to_string(root().join("tests/strata.tsv")).expect("file");
    let mut lines: Vec<[&str; 4]> = Vec::new();
    for line in text.lines() {
        let cells: Vec<&str> = line.split('\t').collect();
        lines.push(cells.try_into().unwrap_or_else(|_| panic!("{line}")));
    }
    lines.retain(|[_, question, fen, _]| match *question {
        "s#2" | "==2" | "h#1" | "h#1.5" | "h#2" => true,
        "#3" => position(fen).legal_moves().len() <= MOST_MOVES,
        _ => false,
    });
    assert!(lines.len() > 100, "only {} positions", lines.len());
    let input: String = lines
        .iter()
        .map(|[_, question, fen, _]| format!("{question} {fen}\n"))
        .collect();
    let judged = reference::python("brute_aims.py", &[], &input);
    let judged: Vec<Judged> = serde_json::from_str(&judged).expect("JSON");
    assert_eq!(judged.len(), lines.len());
    for ([stratum, question, fen, keys], judged) in lines.into_iter().zip(judged) {
        let theirs: Vec<String> = judged
            .keys
            .iter()
            .map(|(m, length)| format!("{m}={length}"))
            .collect();
        assert_eq!(theirs.join(" "), keys, "{stratum} {question} {fen}");
    }
}
