//! Undecided: a move that the prover could not judge within its budget, and
//! stipulations that this version does not check at all.

use shakmaty::Move;

use super::survey::Turn;
use super::words::{Site, numbered};
use super::{Finding, Kind, Weight};
use crate::draft::NodeId;
use crate::prove::Verdict;
use crate::puzzle::Puzzle;

pub fn find(puzzle: &Puzzle, turn: &Turn, found: &mut Vec<Finding>) {
    for (mv, verdict) in &turn.verdicts {
        if let Some(Verdict::Unknown { nodes }) = verdict {
            found.push(open(puzzle, turn.node, *mv, *nodes));
        }
    }
}

/// A move that could not be decided.
pub fn open(puzzle: &Puzzle, node: NodeId, mv: Move, nodes: u64) -> Finding {
    let san = numbered(puzzle, node, mv);
    let message = format!("{san} is undecided after {nodes} positions.");
    Site {
        puzzle,
        node,
        moves: &[mv],
        line: &[mv],
    }
    .finding(Kind::Undecided, Weight::Open, message, Vec::new())
}

/// A stipulation other than mate.
pub fn not_yet_checked(puzzle: &Puzzle) -> Finding {
    let message = format!(
        "The stipulation {} is not yet checked: only mates (#n) are.",
        puzzle.stipulation()
    );
    Site {
        puzzle,
        node: NodeId::ROOT,
        moves: &[],
        line: &[],
    }
    .finding(Kind::NotYetChecked, Weight::Open, message, Vec::new())
}

#[cfg(test)]
mod tests {
    use crate::check::trial::{kinds, report};
    use crate::check::{Kind, Soundness};

    #[test]
    fn other_stipulations_are_said_to_be_unchecked() {
        for stipulation in ["+", "=", "bm"] {
            let report = report(&format!(
                "[FEN \"6k1/5ppp/8/8/8/8/8/R5K1 w - - 0 1\"]\n[Stipulation \"{stipulation}\"]\n\n1. Ra8# *"
            ));
            assert_eq!(kinds(&report), [Kind::NotYetChecked]);
            assert_eq!(report.verdict, Soundness::Undecided);
        }
    }
}
