//! Draws by force, on positions kept from the prover's campaign and on perpetual checks and
//! stalemates of our own, which the PyPI package `chess` 1.11.2 judges here by brute force.

use std::collections::BTreeMap;

use keyproof::notation::moves::{self, read_uci};
use keyproof::prove::Unwatched;
use keyproof_tests::{DRAWS, reference, root};

use crate::{position, prover};

/// Positions that brute force looks at for one move at most.
const MOST: &str = "100";

#[test]
fn brute_force_finds_the_same_draws() {
    let text = std::fs::read_to_string(root().join("tests/strata.tsv")).expect("file");
    let kept = text.lines().filter_map(|line| line.split('\t').nth(2));
    let few = |fen: &&str| fen.chars().filter(char::is_ascii_alphabetic).count() < 16;
    let asked: Vec<&str> = kept.filter(few).step_by(2).chain(DRAWS).collect();
    let input: String = asked.iter().map(|fen| format!("{fen}\n")).collect();
    let judged = reference::python("draws.py", &[MOST], &input);
    let judged: Vec<BTreeMap<String, Option<bool>>> = serde_json::from_str(&judged).expect("JSON");
    assert_eq!(judged.len(), asked.len());
    let (mut held, mut not) = (0, 0);
    for (fen, theirs) in asked.into_iter().zip(judged) {
        let start = position(fen);
        for (uci, theirs) in theirs {
            let Some(theirs) = theirs else { continue };
            let mv = read_uci(&start, &uci).expect("a legal move");
            let found = prover().draw(&start, Some(&[mv]), &mut Unwatched);
            let ours = found.map(|plan| plan.is_some());
            assert_eq!(ours, Ok(theirs), "{} in {fen}", moves::uci(mv));
            *if theirs { &mut held } else { &mut not } += 1;
        }
    }
    println!("{held} moves hold, {not} do not");
    assert!(held >= 60 && not >= 60, "{held} moves hold, {not} do not");
}
