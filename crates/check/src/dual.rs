//! Dual: an unlisted continuation that meets the stipulation as well. A
//! remark, unless the author asks for uniqueness at every move.

use super::runs_on::past_the_point;
use super::survey::Turn;
use super::words::{numbered, unlisted};
use super::{Finding, Kind, Weight};
use model::draft::NodeId;
use model::puzzle::Puzzle;
use model::tongue::say;
use play::goal::met;

pub fn find(puzzle: &Puzzle, turn: &Turn, found: &mut Vec<Finding>) {
    if turn.node == NodeId::ROOT || !answered(puzzle, turn) {
        return;
    }
    if !puzzle.unique() && past_the_point(puzzle, turn.node, found) {
        return;
    }
    let listed = shortest_listed(puzzle, turn);
    for (mv, ruling) in turn.right() {
        let sooner = listed.is_some() && ruling.length() < listed;
        if puzzle.child(turn.node, mv).is_some() || sooner {
            continue;
        }
        let san = numbered(puzzle, turn.node, mv);
        let message = say!(
            "{move} {does} as well, and is not listed.",
            move = san,
            does = met(turn.goal, ruling.length()),
        );
        found.push(unlisted(
            puzzle,
            turn,
            (mv, ruling),
            Kind::Dual,
            weight(puzzle),
            message,
        ));
    }
}

/// The weight of what is merely not unique.
pub fn weight(puzzle: &Puzzle) -> Weight {
    if puzzle.unique() {
        Weight::Fault
    } else {
        Weight::Remark
    }
}

/// The length of the shortest mate among the author's accepted moves that
/// work.
pub fn shortest_listed(puzzle: &Puzzle, turn: &Turn) -> Option<u8> {
    puzzle
        .accepted(turn.node)
        .filter_map(|c| turn.length(puzzle.node(c).mv))
        .min()
}

/// Whether one of the author's accepted moves works.
fn answered(puzzle: &Puzzle, turn: &Turn) -> bool {
    let mut rulings = puzzle
        .accepted(turn.node)
        .filter_map(|c| turn.ruling(puzzle.node(c).mv));
    rulings.any(|ruling| ruling.holds())
}

#[cfg(test)]
mod tests {
    use crate::trial::{mended, report, with_tag};
    use crate::{Finding, Kind, Report, Weight};

    /// After 1.Kf7+ Kh7 the queen mates on h1 and on g7.
    const TWO_MATES: &str =
        "[FEN \"7k/8/5K2/8/8/8/8/Q7 w - - 0 1\"]\n[Stipulation \"#2\"]\n\n1. Kf7+ Kh7 2. Qh1# *";

    fn duals(report: &Report) -> Vec<&Finding> {
        report
            .findings
            .iter()
            .filter(|f| f.kind == Kind::Dual)
            .collect()
    }

    #[test]
    fn a_dual_is_a_remark_or_a_fault_as_the_author_asks() {
        let plain = report(TWO_MATES);
        assert_eq!(duals(&plain).len(), 1);
        for dual in duals(&plain) {
            assert_eq!(
                (dual.weight, dual.path.len(), dual.line.len()),
                (Weight::Remark, 2, 1)
            );
        }
        let strict = report(&with_tag(TWO_MATES, "Uniqueness", "every move"));
        assert!(duals(&strict).iter().all(|f| f.weight == Weight::Fault));
        assert_eq!(duals(&mended(TWO_MATES, Kind::Dual, 0)).len(), 0);
    }

    /// After 1.Ra7 Kg8 the rook mates at once; so does the author's, a move later, and
    /// so would others.
    #[test]
    fn what_is_quicker_than_the_listed_answer_is_no_dual() {
        let slow = "[FEN \"7k/8/8/8/8/8/R7/1R2K3 w - - 0 1\"]\n[Stipulation \"#3\"]\n\n1. Ra7 Kg8 2. Rc1 Kh8 3. Rc8# *";
        let report = report(slow);
        let at = |f: &&Finding| f.path == ["a2a7", "h8g8"];
        let found = |kind: Kind| -> Vec<&str> {
            let all = report.findings.iter().filter(at);
            let moves = all.filter(|f| f.kind == kind).flat_map(|f| &f.moves);
            moves.map(String::as_str).collect()
        };
        assert_eq!(found(Kind::ShortSolution), ["b1b8"]);
        assert!(found(Kind::Dual).contains(&"b1d1"), "{:?}", report.findings);
        assert!(!found(Kind::Dual).contains(&"b1b8"));
        // And what is slower is one.
        let quick = slow.replace("2. Rc1 Kh8 3. Rc8#", "2. Rb8#");
        let report = crate::trial::report(&quick);
        let slower = duals(&report);
        let slower = slower.iter().find(|f| f.moves == ["b1d1"]);
        let told = slower.map_or("", |f| f.message.as_str());
        assert_eq!(told, "2.Rd1 mates in 2 moves as well, and is not listed.");
    }

    /// The queen wins whatever she does; a line that runs on has no duals, unless every
    /// move is to be the only one.
    #[test]
    fn past_the_point_a_dual_counts_only_where_every_move_does() {
        let on =
            "[FEN \"8/8/4k3/8/8/8/8/QK6 w - - 0 1\"]\n[Stipulation \"+\"]\n\n1. Qd4 Kf5 2. Kc2 *";
        let plain = report(on);
        let kinds = crate::trial::kinds(&plain);
        assert!(kinds.contains(&Kind::RunsOn), "{kinds:?}");
        assert_eq!(duals(&plain).len(), 0);
        let strict = report(&with_tag(on, "Uniqueness", "every move"));
        assert!(duals(&strict).len() > 5);
    }
}
