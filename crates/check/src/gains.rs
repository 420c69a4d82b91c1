//! Puzzles that ask for a gain of material, judged like mates. The first is our own; no
//! value is from outside: the prover is held against brute force elsewhere.

use crate::trial::{kinds, report};
use crate::{Kind, Soundness, Weight};

/// The knight forks king and queen.
const FORK: &str = "[FEN \"6k1/3q1p1p/8/3N4/8/8/5PPP/6K1 w - - 0 1\"]\n[Stipulation \"gain 9 in 2\"]\n\n1. Nf6+ (1. Nb6 $2 Qd1#) 1... Kg7 2. Nxd7 *";

#[test]
fn a_fork_is_sound_up_to_where_the_gain_stands() {
    let report = report(FORK);
    assert_eq!(report.verdict, Soundness::Sound, "{:?}", report.findings);
    assert!(report.findings.iter().all(|f| f.weight == Weight::Remark));
}

#[test]
fn what_is_wrong_with_a_gain_is_found() {
    for (old, new, kind) in [
        ("gain 9 in 2", "gain 10 in 2", Kind::NoSolution),
        ("gain 9 in 2", "gain 9 in 3", Kind::ShortSolution),
        ("gain 9 in 2", "gain 9 in 1", Kind::NoSolution),
        (" 1... Kg7 2. Nxd7", "", Kind::UnfinishedSolution),
        (" 2. Nxd7", "", Kind::UnfinishedSolution),
        ("2. Nxd7 *", "2. Nxd7 h6 3. Ne5 *", Kind::RunsOn),
        ("2. Nxd7 *", "2. Nxh7 *", Kind::FailingAnswer),
    ] {
        let text = FORK.replace(old, new);
        let found = report(&text);
        assert!(
            kinds(&found).contains(&kind),
            "{text}: {:?}",
            found.findings
        );
    }
    // Where the gain stands no reply is to be answered; before it two are not listed.
    let on = report(&FORK.replace("2. Nxd7 *", "2. Nxd7 h6 3. Ne5 *"));
    assert_eq!(kinds(&on), [Kind::UnansweredDefence, Kind::RunsOn]);
    assert_eq!(on.findings[0].path, ["d5f6"]);
    // A rook less is won by the fork alone too, and the claim is too small, not wrong.
    let rook = report(&FORK.replace("gain 9", "gain 5"));
    assert_eq!(rook.verdict, Soundness::Sound, "{:?}", rook.findings);
}

#[test]
fn where_the_game_is_over_the_side_to_move_is_said_to_be_mated() {
    let mated = "[FEN \"k7/1Q6/1K6/8/8/8/8/8 b - - 0 1\"]\n[Stipulation \"gain 9 in 2\"]\n\n*";
    let found = report(mated).findings.remove(0);
    let says = "There is no solution, and none can be: Black is mated.";
    assert_eq!(found.message, says);
    let stuck = mated.replace("1Q6/1K6", "8/1QK5");
    let found = report(&stuck).findings.remove(0);
    assert!(
        found.message.ends_with("Black is stalemated."),
        "{}",
        found.message
    );
}

#[test]
fn a_second_key_is_a_cook() {
    // Either capture wins the rook.
    let two = "[FEN \"6k1/5ppp/8/3r4/8/2N5/5PPP/3R2K1 w - - 0 1\"]\n[Stipulation \"gain 5 in 1\"]\n\n1. Rxd5 *";
    assert!(kinds(&report(two)).contains(&Kind::Cook));
    // A way out that is not answered.
    let away = "[FEN \"k7/8/8/1r6/8/2N5/8/4K3 w - - 0 1\"]\n[Stipulation \"gain 5 in 2\"]\n\n1. Kd2 Rd5+ 2. Nxd5 *";
    let found = report(away);
    assert_ne!(found.verdict, Soundness::Sound, "{:?}", found.findings);
}
