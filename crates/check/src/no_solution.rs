//! No solution: a first move that the author accepts does not meet the
//! stipulation.

use shakmaty::Move;

use super::survey::Turn;
use super::words::{Site, add_line, into_try, numbered};
use super::{Finding, Kind, Mend, Ruling, Weight};
use model::draft::{Edit, NodeId};
use model::puzzle::Puzzle;
use model::tongue::say;
use play::failure::clause;

pub fn find(puzzle: &Puzzle, turn: &Turn, found: &mut Vec<Finding>) {
    if turn.node == NodeId::ROOT {
        failing(puzzle, turn, Kind::NoSolution, found);
    }
}

/// Accepted moves at this turn that fail, as findings of `kind`.
pub fn failing(puzzle: &Puzzle, turn: &Turn, kind: Kind, found: &mut Vec<Finding>) {
    let position = puzzle.position(turn.node);
    for child in puzzle.accepted(turn.node) {
        let mv = puzzle.node(child).mv;
        let Some(ruling @ Ruling::Fails { line, .. }) = turn.ruling(mv) else {
            continue;
        };
        let san = numbered(puzzle, turn.node, mv);
        let message = say!(
            "{move} {fault}: {why}.",
            move = san,
            fault = turn.goal.missed(),
            why = clause(position, ruling, turn.goal),
        );
        let site = Site {
            puzzle,
            node: turn.node,
            moves: &[mv],
            line,
        };
        found.push(site.finding(
            kind,
            Weight::Fault,
            message,
            mends(puzzle, turn, child, line),
        ));
    }
}

fn mends(puzzle: &Puzzle, turn: &Turn, child: NodeId, line: &[Move]) -> Vec<Mend> {
    let san = numbered(puzzle, turn.node, puzzle.node(child).mv);
    let unlisted = turn
        .right()
        .into_iter()
        .find(|(mv, _)| puzzle.child(turn.node, *mv).is_none());
    let mut mends = Vec::new();
    if let Some((right, ruling)) = unlisted {
        let mut edits = into_try(puzzle, child, line);
        edits.push(add_line(puzzle, turn.node, ruling.line(), &[1]));
        let label = say!(
            "Accept {right} and make {move} a try",
            right = numbered(puzzle, turn.node, right),
            move = san,
        );
        mends.push(Mend { label, edits });
    } else if puzzle.accepted(turn.node).count() > 1 {
        mends.push(Mend {
            label: say!("Make {move} a try", move = san),
            edits: into_try(puzzle, child, line),
        });
    }
    mends.push(Mend {
        label: say!("Remove {move}", move = san),
        edits: vec![Edit::Remove { node: child }],
    });
    mends
}

#[cfg(test)]
mod tests {
    use crate::trial::{kinds, mended, report};
    use crate::{Kind, Soundness};

    /// The rook on h1 guards nothing: the king goes to f8.
    const ESCAPES: &str =
        "[FEN \"6k1/4Rppp/8/8/8/8/8/R5K1 w - - 0 1\"]\n[Stipulation \"#1\"]\n\n1. Re6 *";

    #[test]
    fn a_key_that_fails_is_shown_with_what_works() {
        let report = report(ESCAPES);
        assert!(kinds(&report).contains(&Kind::NoSolution));
        let finding = report
            .findings
            .iter()
            .find(|f| f.kind == Kind::NoSolution)
            .unwrap();
        assert_eq!(finding.moves, ["e7e6"]);
        assert_eq!(finding.message, "1.Re6 does not mate: it is not mate.");
    }

    #[test]
    fn the_mend_keeps_the_move_as_a_try() {
        let after = mended(ESCAPES, Kind::NoSolution, 0);
        assert!(!kinds(&after).contains(&Kind::NoSolution));
        assert_ne!(after.verdict, Soundness::Undecided);
    }

    /// A try is offered where a key is left, or put beside it.
    #[test]
    fn what_is_offered_leaves_a_key_where_there_is_one() {
        let offered = |text: &str| -> Vec<String> {
            let mut found = report(text).findings.into_iter();
            let found = found.find(|f| f.kind == Kind::NoSolution).expect("a fault");
            found.mends.into_iter().map(|mend| mend.label).collect()
        };
        let beside = "Accept 1.Ra8# and make 1.Re6 a try";
        assert_eq!(offered(ESCAPES), [beside, "Remove 1.Re6"]);
        let listed = ESCAPES.replace("Re6 *", "Re6 (1. Ra8# $1) (1. Re8# $1) *");
        assert_eq!(offered(&listed), ["Make 1.Re6 a try", "Remove 1.Re6"]);
        let none = "[FEN \"6k1/5p1p/8/8/8/8/8/R5K1 w - - 0 1\"]\n[Stipulation \"#1\"]\n\n1. Ra7 *";
        assert_eq!(offered(none), ["Remove 1.Ra7"]);
    }
}
