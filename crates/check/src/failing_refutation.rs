//! Refutation that fails: the reply given against a try does not save the
//! other side.

use super::survey::Claimed;
use super::words::{Site, add_line, line, numbered};
use super::{Finding, Kind, Mend, Ruling, Weight, undecided};
use model::draft::Edit;
use model::puzzle::Puzzle;
use model::tongue::{phrase, say};

pub fn find(puzzle: &Puzzle, claimed: &Claimed, found: &mut Vec<Finding>) {
    let node = puzzle.node(claimed.node);
    let answer = match &claimed.met {
        Some(Ruling::Holds { line, .. }) => line,
        Some(open @ Ruling::Open { .. }) => {
            found.push(undecided::open(puzzle, node.parent, node.mv, open));
            return;
        }
        _ => return,
    };
    let san = numbered(puzzle, node.parent, node.mv);
    let message = say!(
        match answer.is_empty() {
            true => phrase!("{move} does not refute the try: it mates, as the solver wishes.", "move line"),
            false => phrase!("{move} does not refute the try: {line}.", "move line"),
        },
        move = san,
        line = line(&node.after, answer),
    );
    let mut poor = vec![Edit::SetNags {
        node: claimed.node,
        nags: vec![2],
    }];
    if node.children.is_empty() && !answer.is_empty() {
        poor.push(add_line(puzzle, claimed.node, answer, &[]));
    }
    let mut mends = Vec::new();
    if let Some(real) = claimed.real.filter(|&mv| mv != node.mv) {
        let mut edits = vec![add_line(puzzle, node.parent, &[real], &[])];
        edits.extend(poor);
        let label = say!(
            "Refute it by {move} instead",
            move = numbered(puzzle, node.parent, real),
        );
        mends.push(Mend { label, edits });
    }
    mends.push(Mend {
        label: say!("Remove {move}", move = san),
        edits: vec![Edit::Remove { node: claimed.node }],
    });
    let mut shown = vec![node.mv];
    shown.extend(answer);
    let site = Site {
        puzzle,
        node: node.parent,
        moves: &[node.mv],
        line: &shown,
    };
    found.push(site.finding(Kind::FailingRefutation, Weight::Fault, message, mends));
}

#[cfg(test)]
mod tests {
    use crate::trial::{draft, kinds, mended, report};
    use crate::{Judge, Kind, Known, Soundness, Weight, check};
    use model::draft::Edit;
    use prove::Unwatched;

    /// The king may not step into the corner; the pawn's move saves Black.
    const WEAK_REPLY: &str =
        "[FEN \"1k6/8/1K6/8/8/7p/8/2R5 w - - 0 1\"]\n[Stipulation \"#2\"]\n\n1. Rc2 $2 Ka8 *";

    #[test]
    fn a_reply_that_is_mated_refutes_nothing() {
        let report = report(WEAK_REPLY);
        let finding = report
            .findings
            .iter()
            .find(|f| f.kind == Kind::FailingRefutation)
            .unwrap();
        assert_eq!(finding.path, ["c1c2"]);
        assert_eq!(finding.moves, ["b8a8"]);
        assert_eq!(finding.message, "1...Ka8 does not refute the try: 2.Rc8#.");
        assert_eq!(report.verdict, Soundness::Unsound);
    }

    #[test]
    fn it_is_mended_by_the_reply_that_does_refute() {
        let after = mended(WEAK_REPLY, Kind::FailingRefutation, 0);
        assert!(!kinds(&after).contains(&Kind::FailingRefutation));
    }

    fn refutation(text: &str) -> crate::Finding {
        let mut found = report(text).findings.into_iter();
        let found = found.find(|f| f.kind == Kind::FailingRefutation);
        found.expect("a refutation that fails")
    }

    /// The weak reply stays in the file, as a poor one, with the answer it falls to where
    /// none is written.
    #[test]
    fn the_mend_shows_what_the_weak_reply_falls_to() {
        let edits = |text: &str| refutation(text).mends[0].edits.clone();
        let label = &refutation(WEAK_REPLY).mends[0].label;
        assert_eq!(label, "Refute it by 1...h2 instead");
        let [_, poor, answer] = &edits(WEAK_REPLY)[..] else {
            panic!("{:?}", edits(WEAK_REPLY));
        };
        assert!(matches!(poor, Edit::SetNags { nags, .. } if nags == &[2]));
        assert!(matches!(answer, Edit::AddLine { moves, .. } if moves == &["Rc8#"]));
        let written = WEAK_REPLY.replace("Ka8 *", "Ka8 2. Rc8# *");
        assert_eq!(edits(&written).len(), 2);
    }

    #[test]
    fn a_refutation_that_could_not_be_judged_is_open() {
        let deep = "[FEN \"r1b2rk1/pp3ppp/2n1p3/3q4/3P4/2PB1N2/P4PPP/R2Q1RK1 w - - 0 1\"]\n[Stipulation \"#4\"]\n\n1. Bxh7+ $2 Kh8 *";
        let mut judge = Judge::new(1 << 20);
        judge.set_budget(Some(1));
        let mut known = Known::default();
        let report = check(&draft(deep), &mut known, &mut judge, &mut Unwatched);
        let mut found = report.findings.iter();
        let open = found.find(|f| f.moves == ["g8h8"]).expect("a finding");
        assert_eq!((open.kind, open.weight), (Kind::Undecided, Weight::Open));
    }

    /// Every position has a best move: a reply does not have to leave none.
    #[test]
    fn a_reply_to_a_move_that_is_not_the_best_need_refute_nothing() {
        let best = "[FEN \"6k1/3q1p1p/8/3N4/8/8/5PPP/6K1 w - - 0 1\"]\n[Stipulation \"bm\"]\n\n1. Nf6+ (1. h3 $2 Qxd5) *";
        let findings = report(best).findings;
        assert!(findings.iter().all(|f| f.path != ["h2h3"]), "{findings:?}");
    }
}
