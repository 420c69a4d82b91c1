//! Dual: an unlisted continuation that meets the stipulation as well. A
//! remark, unless the author asks for uniqueness at every move.

use super::survey::Turn;
use super::words::{Site, add_line, numbered};
use super::{Finding, Kind, Mend, Weight};
use crate::draft::NodeId;
use crate::puzzle::Puzzle;

pub fn find(puzzle: &Puzzle, turn: &Turn, found: &mut Vec<Finding>) {
    if turn.node == NodeId::ROOT || turn.aside {
        return;
    }
    let Some(listed) = shortest_listed(puzzle, turn) else {
        return;
    };
    for (mv, length, line) in turn.forcing() {
        if puzzle.child(turn.node, mv).is_some() || length < listed {
            continue;
        }
        let san = numbered(puzzle, turn.node, mv);
        let message = format!("{san} mates in time as well, and is not listed.");
        let mends = vec![Mend {
            label: format!("Accept {san} as well"),
            edits: vec![add_line(puzzle, turn.node, line, &[1])],
        }];
        found.push(
            Site {
                puzzle,
                node: turn.node,
                moves: &[mv],
                line,
            }
            .finding(Kind::Dual, weight(puzzle), message, mends),
        );
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

#[cfg(test)]
mod tests {
    use crate::check::trial::{kinds, mended, report, with_tag};
    use crate::check::{Kind, Soundness, Weight};

    /// The king is driven to the edge; at the end queen and rook both mate.
    const TWO_MATES: &str = "[FEN \"7k/8/5K2/8/8/8/6Q1/R7 w - - 0 1\"]\n[Stipulation \"#1\"]\n\n1. Rh1# (1. Ra8# $1) (1. Qg7# $1) *";

    #[test]
    fn alternatives_at_the_first_move_are_no_duals() {
        assert!(!kinds(&report(TWO_MATES)).contains(&Kind::Dual));
    }

    /// After 1.Kf7 Kh7 2.Rh1 is mate, and so is 2.Qh1 or 2.Qh3.
    const LATER: &str =
        "[FEN \"7k/8/6K1/8/8/8/P5P1/R7 w - - 0 1\"]\n[Stipulation \"#2\"]\n\n1. Rd1 Kg8 2. Rd8# *";

    #[test]
    fn a_dual_is_a_remark_or_a_fault_as_the_author_asks() {
        let plain = report(TWO_LADDERS);
        assert!(
            plain.findings.iter().all(|f| f.weight == Weight::Remark),
            "{:?}",
            plain.findings
        );
        assert!(kinds(&plain).contains(&Kind::Dual));
        assert_eq!(plain.verdict, Soundness::Sound);
        let strict = report(&with_tag(TWO_LADDERS, "Uniqueness", "every move"));
        assert_eq!(strict.verdict, Soundness::Unsound);
        assert_eq!(mended(TWO_LADDERS, Kind::Dual, 0).verdict, Soundness::Sound);
        let _ = LATER;
    }

    /// After the only reply both rooks mate.
    const TWO_LADDERS: &str =
        "[FEN \"k7/8/1K6/8/8/8/8/2RR4 w - - 0 1\"]\n[Stipulation \"#2\"]\n\n1. Rc7 Kb8 2. Rd8# *";
}
