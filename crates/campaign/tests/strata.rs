//! Positions kept from the campaign, against the prover: with all shortcuts,
//! with each of them switched off, and with none. The keys in
//! `tests/strata.tsv` are those of brute force over shakmaty; `tests/outside`
//! asks the PyPI package `chess` for them.

use std::path::Path;

use prove::{Aim, Prover, Shortcut, Shortcuts, Unwatched, Verdict};
use shakmaty::fen::Fen;
use shakmaty::{CastlingMode, Chess};

struct Kept {
    text: String,
    aim: Aim,
    n: u8,
    position: Chess,
    keys: String,
}

fn kept() -> Vec<Kept> {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/strata.tsv");
    let text = std::fs::read_to_string(file).expect("tests/strata.tsv");
    text.lines().map(read).collect()
}

fn read(line: &str) -> Kept {
    let cells: Vec<&str> = line.split('\t').collect();
    let [_, question, fen, keys] = cells[..] else {
        panic!("{line}");
    };
    let starts = |aim: &Aim| question.starts_with(&aim.sign());
    let aim = Aim::ALL.into_iter().find(starts).expect(question);
    let number: f32 = question[aim.sign().len()..].parse().expect(question);
    let moves = if aim.shared() { 2.0 * number } else { number };
    let fen: Fen = fen.parse().expect(fen);
    Kept {
        text: line.to_owned(),
        aim,
        n: moves as u8,
        position: fen.into_position(CastlingMode::Standard).expect(line),
        keys: keys.to_owned(),
    }
}

/// The keys with their lengths, sorted, as the file has them.
fn keys(prover: &mut Prover, kept: &Kept) -> String {
    let verdicts = prover.judge_aim(kept.aim, &kept.position, kept.n, None, &mut Unwatched);
    let mut keys: Vec<String> = Vec::new();
    for (m, verdict) in verdicts {
        match verdict {
            Verdict::Forces { length, .. } => {
                keys.push(format!("{}={length}", m.to_uci(CastlingMode::Standard)));
            }
            Verdict::Fails { .. } => {}
            Verdict::Unknown { .. } => panic!("undecided: {}", kept.text),
        }
    }
    keys.sort();
    keys.join(" ")
}

#[test]
fn what_was_kept_is_proved_as_brute_force_has_it() {
    let kept = kept();
    assert!(kept.len() > 250, "only {} positions", kept.len());
    let with_keys = kept.iter().filter(|kept| !kept.keys.is_empty()).count();
    assert!(with_keys > 150, "only {with_keys} have keys");
    let mut prover = Prover::new(1 << 20);
    for kept in &kept {
        assert_eq!(keys(&mut prover, kept), kept.keys, "{}", kept.text);
    }
}

#[test]
fn no_shortcut_changes_an_answer() {
    let each = (0..Shortcut::ALL.len()).map(|i| 1 << i);
    let mut provers: Vec<Prover> = each
        .chain([u8::MAX])
        .map(|off| {
            let mut prover = Prover::new(1 << 20);
            prover.shortcuts = Shortcuts::without(off);
            prover
        })
        .collect();
    for kept in kept()
        .iter()
        .filter(|kept| kept.aim != Aim::Mate || kept.n < 4)
    {
        for prover in &mut provers {
            let off = prover.shortcuts;
            assert_eq!(keys(prover, kept), kept.keys, "{off:?} {}", kept.text);
        }
    }
}
