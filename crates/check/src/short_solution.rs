//! Short solution: the end is forced in fewer moves than claimed. At the first move
//! a fault; after a weak defence, where an unlisted continuation is quicker
//! than the author's, a remark. In a helpmate an unlisted first move that leads
//! to mate sooner counts too.

use super::dual::{shortest_listed, weight};
use super::survey::Turn;
use super::words::{Site, numbered, unlisted};
use super::{Finding, Kind, Mend, Ruling, Weight};
use model::draft::{Edit, NodeId};
use model::puzzle::{Puzzle, Stipulation};
use model::tongue::say;
use play::goal::met;

pub fn find(puzzle: &Puzzle, turn: &Turn, found: &mut Vec<Finding>) {
    if turn.node == NodeId::ROOT {
        key(puzzle, turn, found);
    } else {
        continuation(puzzle, turn, found);
    }
}

fn key(puzzle: &Puzzle, turn: &Turn, found: &mut Vec<Finding>) {
    let Some((aim, claimed)) = turn.goal.forced() else {
        return;
    };
    let accepted = |mv| {
        let child = puzzle.child(turn.node, mv);
        child.is_some_and(|c| puzzle.accepted(turn.node).any(|a| a == c))
    };
    let counts = turn.goal.shared() && !super::no_key(puzzle);
    let unlisted = |mv| counts && puzzle.child(turn.node, mv).is_none();
    for (mv, ruling) in turn.right() {
        let Ruling::Holds {
            length: Some(length),
            line,
            ..
        } = ruling
        else {
            continue;
        };
        if *length >= claimed || !accepted(mv) && !unlisted(mv) {
            continue;
        }
        let san = numbered(puzzle, turn.node, mv);
        let met = met(turn.goal, Some(*length));
        let message = say!(
            "{move} {does}, not only in {n}.",
            move = san,
            does = met,
            n = aim.count(claimed),
        );
        let claim = Edit::SetTag {
            name: "Stipulation".to_owned(),
            value: Some(Stipulation::Forced(aim, *length).to_string()),
        };
        let mends = vec![Mend {
            label: say!(
                "Ask for {aim} in {n}",
                aim = aim.noun(),
                n = aim.count(*length)
            ),
            edits: vec![claim],
        }];
        let site = Site {
            puzzle,
            node: turn.node,
            moves: &[mv],
            line,
        };
        found.push(site.finding(Kind::ShortSolution, Weight::Fault, message, mends));
    }
}

fn continuation(puzzle: &Puzzle, turn: &Turn, found: &mut Vec<Finding>) {
    let Some(listed) = shortest_listed(puzzle, turn) else {
        return;
    };
    for (mv, ruling) in turn.right() {
        let Some(length) = ruling.length().filter(|&n| n < listed) else {
            continue;
        };
        if puzzle.child(turn.node, mv).is_some() {
            continue;
        }
        let san = numbered(puzzle, turn.node, mv);
        let message = say!(
            "{move} {does}, sooner than the listed answer.",
            move = san,
            does = met(turn.goal, Some(length)),
        );
        found.push(unlisted(
            puzzle,
            turn,
            (mv, ruling),
            Kind::ShortSolution,
            weight(puzzle),
            message,
        ));
    }
}

#[cfg(test)]
mod tests {
    use crate::trial::{kinds, mended, report};
    use crate::{Kind, Soundness, Weight};

    const OVERSTATED: &str =
        "[FEN \"6k1/5ppp/8/8/8/8/5PPP/3R2K1 w - - 0 1\"]\n[Stipulation \"#2\"]\n\n1. Rd8# *";

    #[test]
    fn a_key_that_mates_sooner_is_a_fault_and_mended_by_the_claim() {
        let report = report(OVERSTATED);
        assert!(kinds(&report).contains(&Kind::ShortSolution));
        assert_eq!(report.verdict, Soundness::Unsound);
        let after = mended(OVERSTATED, Kind::ShortSolution, 0);
        assert_eq!(after.verdict, Soundness::Sound);
    }

    #[test]
    fn a_quicker_continuation_is_told_with_its_length() {
        let slow = "[FEN \"7k/8/8/8/8/8/R7/1R2K3 w - - 0 1\"]\n[Stipulation \"#3\"]\n\n1. Ra7 Kg8 2. Rc1 Kh8 3. Rc8# *";
        let found = report(slow).findings.into_iter();
        let found = found.filter(|f| f.kind == Kind::ShortSolution && f.path.len() == 2);
        let told: Vec<(String, Weight)> = found.map(|f| (f.message, f.weight)).collect();
        let says = "2.Rb8# mates in 1 move, sooner than the listed answer.";
        assert_eq!(told, [(says.to_owned(), Weight::Remark)]);
    }

    /// A helpmate that is not begun has no solution that could be short.
    #[test]
    fn without_a_solution_none_is_short() {
        let begun = "[FEN \"8/k7/8/8/3K4/8/7Q/8 b - - 0 1\"]\n[Stipulation \"h#3\"]\n\n*";
        assert_eq!(kinds(&report(begun)), [Kind::UnfinishedSolution]);
    }
}
