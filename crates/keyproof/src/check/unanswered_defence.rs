//! Unanswered defence: a legal reply that the author does not list. A fault
//! when none of the author's answers at that turn meets it; a remark when one
//! does.

use shakmaty::{Move, Position};

use super::survey::Replies;
use super::words::{Site, add_line, line, numbered};
use super::{Finding, Kind, Mend, Weight, undecided};
use crate::notation::moves;
use crate::prove::Verdict;
use crate::puzzle::Puzzle;

pub fn find(puzzle: &Puzzle, replies: &Replies, found: &mut Vec<Finding>) {
    if replies.empty {
        return;
    }
    for (defence, mate) in &replies.uncovered {
        match mate {
            Some(Verdict::Forces { line, .. }) => {
                found.push(uncovered(puzzle, replies, *defence, line))
            }
            Some(Verdict::Unknown { nodes }) => {
                found.push(undecided::open(puzzle, replies.node, *defence, *nodes));
            }
            // The move before it fails then, which is found there.
            Some(Verdict::Fails { .. }) | None => {}
        }
    }
    for (answer, defences) in &replies.covered {
        found.push(covered(puzzle, replies, *answer, defences));
    }
}

fn uncovered(puzzle: &Puzzle, replies: &Replies, defence: Move, mate: &[Move]) -> Finding {
    let position = puzzle.position(replies.node);
    let san = numbered(puzzle, replies.node, defence);
    let mut after = position.clone();
    after.play_unchecked(defence);
    let message = format!("{san} is not answered; {} would do.", line(&after, mate));
    let mut shown = vec![defence];
    shown.extend(mate);
    let label = format!("Answer {san} with {}", line(&after, &mate[..1]));
    let mends = vec![Mend {
        label,
        edits: vec![add_line(puzzle, replies.node, &shown, &[])],
    }];
    Site {
        puzzle,
        node: replies.node,
        moves: &[defence],
        line: &shown,
    }
    .finding(Kind::UnansweredDefence, Weight::Fault, message, mends)
}

fn covered(puzzle: &Puzzle, replies: &Replies, answer: Move, defences: &[Move]) -> Finding {
    let position = puzzle.position(replies.node);
    let after = |defence: Move| {
        let mut after = position.clone();
        after.play_unchecked(defence);
        after
    };
    let names: Vec<String> = defences.iter().map(|&d| moves::san(position, d)).collect();
    let first = after(defences[0]);
    let message = format!(
        "{} {} not listed, and {} to {} as well.",
        listing(&names),
        if names.len() == 1 { "is" } else { "are" },
        if names.len() == 1 { "falls" } else { "fall" },
        line(&first, &[answer]),
    );
    let edits = defences
        .iter()
        .filter_map(|&defence| {
            let after = after(defence);
            let reply = after
                .legal_moves()
                .into_iter()
                .find(|m| moves::uci(*m) == moves::uci(answer))?;
            Some(add_line(puzzle, replies.node, &[defence, reply], &[]))
        })
        .collect();
    let mends = vec![Mend {
        label: "List them".replace("them", if names.len() == 1 { "it" } else { "them" }),
        edits,
    }];
    let shown = [defences[0], answer];
    Site {
        puzzle,
        node: replies.node,
        moves: defences,
        line: &shown,
    }
    .finding(Kind::UnansweredDefence, Weight::Remark, message, mends)
}

/// "Kf8", "Kf8 and Kh8", "Kf8, Kh8 and 3 more".
fn listing(names: &[String]) -> String {
    match names {
        [one] => one.clone(),
        [rest @ .., last] if names.len() <= 4 => format!("{} and {last}", rest.join(", ")),
        _ => format!(
            "{} and {} more defences",
            names[..3].join(", "),
            names.len() - 3
        ),
    }
}

#[cfg(test)]
mod tests {
    use super::listing;
    use crate::check::trial::{kinds, mended, report};
    use crate::check::{Kind, Soundness, Weight};

    /// Rooks on the sixth and seventh would mate whatever Black plays.
    const LADDER: &str =
        "[FEN \"7k/p7/8/8/8/8/1R6/R5K1 w - - 0 1\"]\n[Stipulation \"#2\"]\n\n1. Rb7 Kg8 2. Rxa7 *";

    #[test]
    fn names_are_listed_as_in_a_sentence() {
        let names: Vec<String> = ["a", "b", "c", "d", "e"].map(String::from).to_vec();
        assert_eq!(listing(&names[..1]), "a");
        assert_eq!(listing(&names[..2]), "a and b");
        assert_eq!(listing(&names), "a, b, c and 2 more defences");
    }

    /// After 1.Rb7 Black has king moves and pawn moves; 2.Ra8 mates against
    /// some of them only.
    const PARTLY: &str =
        "[FEN \"6k1/8/6K1/8/8/8/p6R/8 w - - 0 1\"]\n[Stipulation \"#2\"]\n\n1. Rc2 a1=Q 2. Rc8# *";

    #[test]
    fn defences_that_fall_to_a_listed_answer_are_a_remark() {
        let _ = LADDER;
        let report = report(PARTLY);
        let unanswered: Vec<_> = report
            .findings
            .iter()
            .filter(|f| f.kind == Kind::UnansweredDefence)
            .collect();
        assert!(!unanswered.is_empty());
        for finding in &unanswered {
            assert!(finding.weight != Weight::Open);
        }
        let after = mended(PARTLY, Kind::UnansweredDefence, 0);
        assert!(
            kinds(&after)
                .iter()
                .filter(|k| **k == Kind::UnansweredDefence)
                .count()
                < unanswered.len()
        );
        assert_ne!(after.verdict, Soundness::Undecided);
    }
}
