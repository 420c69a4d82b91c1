//! What is threatened, as the PyPI package `chess` 1.11.2 finds it by brute force: the
//! files that `cargo xtask bench threats` measures by have what `threats.py` prints, and
//! the threats that are told are those.

use keyproof::explain::{Analyst, ThreatKind, Threats};
use keyproof::notation::moves;
use keyproof::prove::Unwatched;
use keyproof_tests::{reference, root};
use serde_json::Value;

use crate::position;

/// Of the positions, every so many are asked again.
const EVERY: usize = 30;

fn checked() -> Vec<Value> {
    let read = |name| std::fs::read_to_string(root().join("tests/threats").join(name));
    let text = ["checked.jsonl", "added.jsonl"].map(|name| read(name).expect("file"));
    let lines = text.iter().flat_map(|text| text.lines());
    let all: Result<_, _> = lines.map(serde_json::from_str).collect();
    all.expect("JSON")
}

#[test]
fn brute_force_finds_what_the_file_says() {
    let all = checked();
    let asked: Vec<&Value> = all.iter().step_by(EVERY).collect();
    assert!(asked.len() > 10, "only {} positions", asked.len());
    let input: String = asked
        .iter()
        .map(|one| format!("{}\n", one["fen"].as_str().expect("a FEN")))
        .collect();
    let printed = reference::python("threats.py", &[], &input);
    assert_eq!(printed.lines().count(), asked.len());
    for (line, one) in printed.lines().zip(asked) {
        let mut found: Value = serde_json::from_str(line).expect("JSON");
        found["source"] = one["source"].clone();
        assert_eq!(&found, one);
    }
}

/// Of the positions asked here, the half that `bench threats` does not hold back was
/// built on.
#[test]
fn what_is_told_mates_or_gains_as_brute_force_has_it() {
    let mut told = 0;
    for one in checked().iter().step_by(EVERY) {
        let fen = one["fen"].as_str().expect("a FEN");
        let threats = Analyst::new(1 << 20).threats(&position(fen), &mut Unwatched);
        assert!(matches!(threats, Threats::Shown { .. }), "{fen}");
        for threat in threats.all() {
            let found = &one["moves"][moves::uci(threat.line[0])];
            match threat.kind {
                ThreatKind::Mate(n) => assert_eq!(found["mate"], n, "{fen}: {threat:?}"),
                _ => {
                    let most = found["net"].as_u64().unwrap_or(0);
                    assert!(u64::from(threat.net) <= most, "{fen}: {threat:?}");
                    assert_eq!(found["dear"], false, "{fen}: {threat:?}");
                }
            }
            told += 1;
        }
    }
    assert!(told > 8, "only {told} threats");
}
