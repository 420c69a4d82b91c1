//! Gains of material, on positions kept from the prover's campaign and on positions
//! of middle games, which the PyPI package `chess` 1.11.2 judges here by brute force.

use std::collections::BTreeMap;

use keyproof::notation::moves;
use keyproof::prove::{Unwatched, Verdict};
use keyproof_tests::{reference, root};
use shakmaty::Position;

use crate::{position, prover};

/// Legal moves of the positions that are asked for gains in two, since brute force in
/// Python takes long over them.
const MOST_MOVES: usize = 16;

/// Middle games of our own making, in which men hang, forks and skewers wait, and
/// captures cost more than they bring.
const MIDDLE_GAMES: [&str; 6] = [
    "r4rk1/1p3ppp/8/n7/1P4b1/7P/P4PP1/R4RK1 w - - 0 1",
    "r1bq1rk1/pppp1ppp/2n2n2/2b1p1N1/2B1P3/3P4/PPP2PPP/RNBQK2R w KQ - 0 1",
    "r3k2r/ppp2ppp/2n5/3q4/3P4/2N5/PPP2PPP/R2QK2R w KQkq - 0 1",
    "2r3k1/1P3pp1/7p/3pP3/8/5N2/5PPP/3R2K1 w - d6 0 1",
    "4k2r/1b3ppp/8/8/2B5/8/5PPP/R3K2R w KQk - 0 1",
    "3r2k1/5ppp/8/1q6/8/1Q6/5PPP/3R2K1 w - - 0 1",
];

#[test]
fn brute_force_finds_the_same_gains() {
    let text = std::fs::read_to_string(root().join("tests/strata.tsv")).expect("file");
    let kept = text.lines().filter_map(|line| line.split('\t').nth(2));
    let gains = [1, 2, 3, 5, 6, 9];
    let mut asked: Vec<(u8, u8, &str)> = kept
        .filter(|fen| position(fen).legal_moves().len() <= MOST_MOVES)
        .enumerate()
        .map(|(i, fen)| (gains[i % gains.len()], 2, fen))
        .collect();
    for fen in MIDDLE_GAMES {
        asked.extend([(1, 1, fen), (3, 1, fen)]);
    }
    assert!(asked.len() > 80, "only {} positions", asked.len());
    let input: String = asked
        .iter()
        .map(|(k, n, fen)| format!("{k} {n} {fen}\n"))
        .collect();
    let judged = reference::python("gains.py", &[], &input);
    let judged: Vec<BTreeMap<String, u8>> = serde_json::from_str(&judged).expect("JSON");
    assert_eq!(judged.len(), asked.len());
    let mut found = 0;
    for ((k, n, fen), theirs) in asked.into_iter().zip(judged) {
        let verdicts = prover().judge_gain(&position(fen), k, n, None, &mut Unwatched);
        let ours: BTreeMap<String, u8> = verdicts
            .into_iter()
            .filter_map(|(mv, verdict)| match verdict {
                Verdict::Forces { length, .. } => Some((moves::uci(mv), length)),
                _ => None,
            })
            .collect();
        found += ours.len();
        assert_eq!(ours, theirs, "a gain of {k} in {n}: {fen}");
    }
    assert!(found > 60, "only {found} moves gain");
}
