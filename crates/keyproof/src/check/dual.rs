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

    /// After the forced capture knight and rook both mate.
    const TWO_MATES: &str = "[FEN \"r6k/6pp/7N/8/2Q5/8/8/R5K1 w - - 0 1\"]\n[Stipulation \"#2\"]\n\n1. Qg8+ Rxg8 2. Nf7# *";

    #[test]
    fn a_dual_is_a_remark_or_a_fault_as_the_author_asks() {
        let text = later_dual();
        let plain = report(&text);
        assert_eq!(kinds(&plain), [Kind::Dual]);
        assert_eq!((plain.findings[0].weight, plain.verdict), (Weight::Remark, Soundness::Sound));
        assert_eq!(plain.findings[0].path.len(), 2);
        let strict = report(&with_tag(&text, "Uniqueness", "every move"));
        assert_eq!((strict.findings[0].weight, strict.verdict), (Weight::Fault, Soundness::Unsound));
        let mended = mended(&text, Kind::Dual, 0);
        assert_eq!((kinds(&mended), mended.verdict), (vec![], Soundness::Sound));
    }

    /// King to g6 or f7 first; after 1.Kg6 Kg8 both rooks mate on the back rank.
    fn later_dual() -> String {
        let _ = TWO_MATES;
        "[FEN \"7k/8/5K2/8/8/8/8/RB6 w - - 0 1\"]\n[Stipulation \"#2\"]\n\n1. Kf7 *".to_owned()
    }
}
