//! Selfmates, stalemates and helpmates, checked from start to end.

use super::trial::{kinds, mended, report};
use super::{Finding, Kind, Report, Soundness, Weight};

/// The king takes the queen with mate at once, or goes to d1 and does so
/// there.
const SELFMATE: &str = "[FEN \"8/8/8/5Q2/8/8/6PP/2r1k2K w - - 0 1\"]\n[Stipulation \"s#2\"]\n\n1. Qf2+ Kd1 (1... Kxf2#) 2. Qd2+ Kxd2# *";

/// The rook takes the seventh rank, the queen the rest.
const STALEMATE: &str =
    "[FEN \"4k3/8/8/8/6R1/1K6/1P6/3Q4 w - - 0 1\"]\n[Stipulation \"==2\"]\n\n1. Rg7 Kf8 2. Qd7 *";

fn first(report: &Report, kind: Kind) -> &Finding {
    let mut found = report.findings.iter();
    found
        .find(|f| f.kind == kind)
        .unwrap_or_else(|| panic!("{:?}", report.findings))
}

fn assert_sound(text: &str) {
    let report = report(text);
    assert_eq!(report.verdict, Soundness::Sound, "{:?}", report.findings);
    let weights = report.findings.iter().map(|f| f.weight);
    assert!(weights.into_iter().all(|w| w == Weight::Remark));
}

#[test]
fn selfmates_and_stalemates_are_sound() {
    assert_sound(SELFMATE);
    assert_sound(STALEMATE);
}

#[test]
fn a_last_move_of_the_other_side_may_be_left_out() {
    assert_sound(&SELFMATE.replace(" (1... Kxf2#)", "").replace(" Kxd2#", ""));
}

#[test]
fn a_selfmate_that_stops_early_is_unfinished() {
    let text = SELFMATE.replace(" Kd1 (1... Kxf2#) 2. Qd2+ Kxd2#", "");
    let found = report(&text);
    let finding = first(&found, Kind::UnfinishedSolution);
    assert_eq!(
        finding.message,
        "The line stops after 1.Qf2+, before the mate."
    );
    let after = mended(&text, Kind::UnfinishedSolution, 0);
    assert_eq!(after.verdict, Soundness::Sound, "{:?}", after.findings);
    let text = SELFMATE
        .replace(" Kd1 (1... Kxf2#) 2. Qd2+", " Kxf2#")
        .replace("Kxf2# Kxd2#", "Kxf2#");
    let found = report(&text);
    let finding = first(&found, Kind::UnansweredDefence);
    assert_eq!(finding.moves, ["e1d1"]);
    assert_eq!(finding.weight, Weight::Fault);
}

#[test]
fn a_selfmate_that_is_not_forced_is_found() {
    let found = report(&SELFMATE.replace("1. Qf2+ Kd1 (1... Kxf2#) 2. Qd2+ Kxd2#", "1. Qf3"));
    let message = &first(&found, Kind::NoSolution).message;
    assert!(
        message.starts_with("1.Qf3 does not force selfmate in 2: ")
            && message.ends_with(" and there is no selfmate in time."),
        "{message}"
    );
    let found = report(&SELFMATE.replace("2. Qd2+ Kxd2#", "2. Qe1+"));
    let message = &first(&found, Kind::FailingAnswer).message;
    assert!(
        message.starts_with("2.Qe1+ does not force selfmate in 1: "),
        "{message}"
    );
    let cooked = report(&SELFMATE.replace(
        "1. Qf2+ Kd1 (1... Kxf2#) 2. Qd2+ Kxd2#",
        "1. Qf3 $1 (1. Qf4 $1)",
    ));
    assert_eq!(
        first(&cooked, Kind::Cook).message,
        "1.Qf2+ forces selfmate in 2 as well, and is not listed."
    );
}

#[test]
fn a_selfmate_that_takes_less_is_short() {
    let text = "[FEN \"8/8/8/8/8/8/5QPP/2rk3K w - - 0 1\"]\n[Stipulation \"s#2\"]\n\n1. Qd2+ (1. Qe2+ $1) *";
    let found = report(text);
    assert_eq!(
        first(&found, Kind::ShortSolution).message,
        "1.Qd2+ forces selfmate in 1, not only in 2."
    );
    let after = mended(text, Kind::ShortSolution, 0);
    assert_eq!(after.verdict, Soundness::Sound, "{:?}", after.findings);
}

#[test]
fn a_reply_that_mates_refutes_no_selfmate() {
    let text = SELFMATE
        .replace("s#2", "s#1")
        .replace("1. Qf2+ Kd1 (1... Kxf2#) 2. Qd2+ Kxd2#", "1. Qf2+ $2 Kxf2#");
    let found = report(&text);
    assert_eq!(
        first(&found, Kind::FailingRefutation).message,
        "1...Kxf2# does not refute the try: it mates, as the solver wishes."
    );
    let after = mended(&text, Kind::FailingRefutation, 0);
    assert!(!kinds(&after).contains(&Kind::FailingRefutation));
    let right = report(&text.replace("Kxf2#", "Kd1"));
    assert!(!kinds(&right).contains(&Kind::FailingRefutation));
}

#[test]
fn a_stalemate_that_fails_says_so() {
    let found = report(&STALEMATE.replace("2. Qd7", "2. Qe2"));
    assert_eq!(
        first(&found, Kind::FailingAnswer).message,
        "2.Qe2 does not give stalemate: it is not stalemate."
    );
    let found = report(&STALEMATE.replace(" 2. Qd7", ""));
    assert!(kinds(&found).contains(&Kind::UnfinishedSolution));
    let short = "[FEN \"5k2/6R1/8/8/8/1K6/1P6/3Q4 w - - 0 1\"]\n[Stipulation \"==2\"]\n\n1. Qd7 *";
    assert_eq!(
        first(&report(short), Kind::ShortSolution).message,
        "1.Qd7 forces stalemate in 1, not only in 2."
    );
}

/// The king walks into the corner's file of its own will.
const HELPMATE: &str = "[FEN \"8/k7/8/8/3K4/8/7Q/8 b - - 0 1\"]\n[Stipulation \"h#2\"]\n\n1... Ka6 2. Kc5 Ka5 3. Qa2# *";

/// The pawn steps aside, or the king loses a move.
const TWO_SOLUTIONS: &str = "[FEN \"8/6k1/8/6K1/6p1/7R/8/5N2 b - - 0 1\"]\n[Stipulation \"h#2\"]\n\n1... Kf8 (1... Kg8 $1 2. Kf6 Kf8 3. Rh8#) 2. Kf6 g3 3. Rh8# *";

#[test]
fn helpmates_are_sound_with_either_side_to_begin() {
    assert_sound(HELPMATE);
    assert_sound(TWO_SOLUTIONS);
    assert_sound(
        "[FEN \"8/4p3/7K/8/3P3k/8/3R4/8 w - - 0 1\"]\n[Stipulation \"h#2.5\"]\n\n1. Kg6 e5 2. Kf5 Kh5 3. Rh2# *",
    );
}

#[test]
fn a_helpmate_that_is_not_listed_is_a_cook_or_a_dual() {
    let text = TWO_SOLUTIONS.replace(" (1... Kg8 $1 2. Kf6 Kf8 3. Rh8#)", "");
    let found = report(&text);
    assert_eq!(kinds(&found), [Kind::Cook]);
    assert_eq!(
        found.findings[0].message,
        "1...Kg8 leads to helpmate in 2 as well, and is not listed."
    );
    let after = mended(&text, Kind::Cook, 0);
    assert_eq!(after.verdict, Soundness::Sound, "{:?}", after.findings);
    // In the corner the queen mates from other squares as well.
    let text = "[FEN \"8/k1K5/8/8/8/8/8/1Q6 b - - 0 1\"]\n[Stipulation \"h#1\"]\n\n1... Ka8 (1... Ka6 $1 2. Qb6#) 2. Qb7# *";
    let found = report(text);
    assert_eq!(found.verdict, Soundness::Sound);
    assert!(kinds(&found).iter().all(|&kind| kind == Kind::Dual));
    assert_eq!(
        found.findings[0].message,
        "2.Qa1# mates as well, and is not listed."
    );
    let strict = report(&format!("[Uniqueness \"every move\"]\n{text}"));
    assert_eq!(strict.verdict, Soundness::Unsound);
}

#[test]
fn a_helpmate_that_fails_says_so_at_the_move() {
    let found = report(&HELPMATE.replace("1... Ka6 2. Kc5 Ka5 3. Qa2#", "1... Kb7"));
    assert_eq!(
        first(&found, Kind::NoSolution).message,
        "1...Kb7 does not lead to helpmate in 2: there is no helpmate in time."
    );
    let found = report(&HELPMATE.replace("2. Kc5 Ka5 3. Qa2#", "2. Kc4 Ka5"));
    assert_eq!(
        first(&found, Kind::FailingAnswer).message,
        "2.Kc4 does not lead to helpmate in 1.5: there is no helpmate in time."
    );
    let found = report(&HELPMATE.replace("3. Qa2#", "3. Qh4"));
    assert_eq!(
        first(&found, Kind::FailingAnswer).message,
        "3.Qh4 does not mate: it is not mate."
    );
    let after = mended(
        &HELPMATE.replace("3. Qa2#", "3. Qh4"),
        Kind::FailingAnswer,
        0,
    );
    assert_eq!(after.verdict, Soundness::Sound, "{:?}", after.findings);
}

#[test]
fn a_helpmate_that_stops_early_is_unfinished() {
    for (cut, last) in [(" 2. Kc5 Ka5 3. Qa2#", "1...Ka6"), (" 3. Qa2#", "2...Ka5")] {
        let text = HELPMATE.replace(cut, "");
        assert_eq!(
            first(&report(&text), Kind::UnfinishedSolution).message,
            format!("The line stops after {last}, before the mate.")
        );
        let after = mended(&text, Kind::UnfinishedSolution, 0);
        assert_eq!(after.verdict, Soundness::Sound, "{:?}", after.findings);
    }
}

#[test]
fn a_helpmate_that_goes_on_with_tries_alone_is_unfinished() {
    let text = HELPMATE.replace("2. Kc5 Ka5 3. Qa2#", "2. Kc4 $2");
    let found = report(&text);
    assert_eq!(kinds(&found), [Kind::UnfinishedSolution]);
    let after = mended(&text, Kind::UnfinishedSolution, 0);
    assert_eq!(after.verdict, Soundness::Sound, "{:?}", after.findings);
}

#[test]
fn a_helpmate_that_takes_less_is_short_listed_or_not() {
    let found = report(&HELPMATE.replace("h#2", "h#3"));
    assert_eq!(
        first(&found, Kind::ShortSolution).message,
        "1...Ka6 leads to helpmate in 2, not only in 3."
    );
    let after = mended(&HELPMATE.replace("h#2", "h#3"), Kind::ShortSolution, 0);
    assert_eq!(after.verdict, Soundness::Sound, "{:?}", after.findings);
    let text = HELPMATE
        .replace("h#2", "h#3")
        .replace("1... Ka6 2. Kc5 Ka5 3. Qa2#", "1... Kb6");
    let found = report(&text);
    assert_eq!(first(&found, Kind::ShortSolution).moves, ["a7a6"]);
}

#[test]
fn a_try_of_a_helpmate_needs_no_refutation() {
    let sound = HELPMATE.replace("Ka6 2.", "Ka6 (1... Kb6 $2 2. Kd5) 2.");
    assert_sound(&sound);
    let works = TWO_SOLUTIONS.replace("$1", "$2");
    assert_eq!(
        first(&report(&works), Kind::WorkingTry).message,
        "1...Kg8 is marked as a try, but it leads to helpmate in 2."
    );
    let unclear = TWO_SOLUTIONS.replace(" $1", "");
    assert_eq!(kinds(&report(&unclear)), [Kind::AmbiguousVariation]);
}
