//! The desk with a prover that is broken on purpose: it calls nothing sound that
//! is not, and gives nothing of the kind out.

use keyproof::check::Soundness;
use keyproof::prove::broken::{break_down, flipped};

use super::tests::{bring, desk, run};
use crate::message::{Effect, GiveOutMsg, Msg, Scope};

/// Two rooks, with both keys; with one left out; with a move that is no key.
const PUZZLES: [(&str, Soundness); 3] = [
    (
        "1. Ra7 (1. Rb7 $1 Kg8 2. Ra8#) 1... Kg8 2. Rb8# *",
        Soundness::Sound,
    ),
    ("1. Ra7 Kg8 2. Rb8# *", Soundness::Unsound),
    (
        "1. Ra7 (1. Rb7 $1 Kg8 2. Ra8#) (1. Ra6 $1) 1... Kg8 2. Rb8# *",
        Soundness::Unsound,
    ),
];

#[test]
fn nothing_wrong_is_called_sound_or_given_out() {
    let (mut flips, mut doubted, mut given) = (0, 0, 0);
    for seed in 0..60 {
        let one_in = [1000, 100, 30][seed as usize % 3];
        for (line, truth) in PUZZLES {
            let text = format!(
                "[FEN \"7k/8/8/8/8/8/R7/1R2K3 w - - 0 1\"]\n[Stipulation \"#2\"]\n\n{line}\n"
            );
            break_down(seed, one_in);
            let mut desk = desk();
            bring(&mut desk, &text);
            let effects = run(&mut desk, Msg::GiveOut(GiveOutMsg::Publish(Scope::Open)));
            flips += flipped();
            break_down(0, 0);
            let gives = |effect: &Effect| matches!(effect, Effect::FetchTemplate(_));
            let verdict = desk.opened().expect("a puzzle").1.report.verdict;
            match verdict {
                Soundness::Undecided => doubted += 1,
                verdict => assert_eq!(verdict, truth, "seed {seed}, one in {one_in}"),
            }
            let gives = effects.iter().any(gives);
            assert_eq!(gives, verdict == Soundness::Sound);
            given += u64::from(gives);
        }
    }
    assert!(
        flips > 20 && doubted > 20 && given > 20,
        "{flips} {doubted} {given}"
    );
}
