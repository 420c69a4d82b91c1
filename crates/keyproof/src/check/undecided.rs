//! Undecided: a move that lies between the author's margins, or that could not
//! be judged within the budget. After the first move only listed moves count,
//! unless the author asks for uniqueness at every move.

use shakmaty::Move;

use super::survey::Turn;
use super::words::{Site, numbered, thousands};
use super::{Evidence, Finding, Kind, Mend, Ruling, Weight};
use crate::draft::{Edit, NodeId};
use crate::puzzle::Puzzle;

pub fn find(puzzle: &Puzzle, turn: &Turn, found: &mut Vec<Finding>) {
    let claimed = |mv| puzzle.child(turn.node, mv).is_some();
    let all = turn.node == NodeId::ROOT || puzzle.unique();
    for (mv, ruling) in &turn.rulings {
        if let Some(ruling @ Ruling::Open { .. }) = ruling
            && (all || claimed(*mv))
        {
            found.push(open(puzzle, turn.node, *mv, ruling));
        }
    }
}

/// A move that could not be decided.
pub fn open(puzzle: &Puzzle, node: NodeId, mv: Move, ruling: &Ruling) -> Finding {
    let san = numbered(puzzle, node, mv);
    let nodes = match ruling {
        Ruling::Open { nodes, .. } => *nodes,
        _ => 0,
    };
    let message = match ruling.evidence() {
        Some(Evidence::Searched {
            depth,
            value: Some(value),
        }) => format!(
            "{san} is undecided: searched to depth {depth}, its value {:+.2} lies between the margins.",
            f64::from(value) / 100.0
        ),
        Some(Evidence::Searched { depth, value: None }) => {
            format!("{san} is undecided: searched to depth {depth}, it lies between the margins.")
        }
        _ => format!("{san} is undecided after {} positions.", thousands(nodes)),
    };
    let mut mends = Vec::new();
    if puzzle.child(node, mv).is_none() && ruling.evidence().is_some() {
        mends.push(Mend {
            label: format!("Accept {san} as well"),
            edits: vec![Edit::AddLine {
                at: node,
                moves: super::words::sans(puzzle.position(node), &[mv]),
                nags: vec![1],
            }],
        });
    }
    let line = if ruling.line().is_empty() {
        &[mv][..]
    } else {
        ruling.line()
    };
    let site = Site {
        puzzle,
        node,
        moves: &[mv],
        line,
    };
    site.finding(Kind::Undecided, Weight::Open, message, mends)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::trial::{draft, kinds};
    use crate::check::{Judge, Known, Soundness, check};
    use crate::prove::Unwatched;

    #[test]
    fn a_budget_that_is_spent_leaves_the_puzzle_undecided() {
        let draft = draft(
            "[FEN \"r1b2rk1/pp3ppp/2n1p3/3q4/3P4/2PB1N2/P4PPP/R2Q1RK1 w - - 0 1\"]\n[Stipulation \"#4\"]\n\n1. Bxh7+ *",
        );
        let mut judge = Judge::new(1 << 20);
        judge.set_budget(Some(1));
        let report = check(&draft, &mut Known::default(), &mut judge, &mut Unwatched);
        let kinds = kinds(&report);
        assert!(kinds.contains(&Kind::Undecided));
        assert!(!kinds.contains(&Kind::NoSolution) && !kinds.contains(&Kind::Cook));
        assert_ne!(report.verdict, Soundness::Sound);
    }

    #[test]
    fn what_was_spent_is_told_with_its_thousands_set_apart() {
        let draft =
            draft("[FEN \"7k/8/8/8/8/8/R7/1R2K3 w - - 0 1\"]\n[Stipulation \"#2\"]\n\n1. Ra7 *");
        let puzzle = Puzzle::from_draft(&draft, &draft.resolve()).unwrap();
        let mv = puzzle.node(draft.walk()[0]).mv;
        let spent = Ruling::Open {
            line: vec![],
            nodes: 20_000_000,
            evidence: None,
        };
        let finding = open(&puzzle, NodeId::ROOT, mv, &spent);
        assert_eq!(
            finding.message,
            "1.Ra7 is undecided after 20,000,000 positions."
        );
    }
}
