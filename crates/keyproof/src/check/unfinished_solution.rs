//! Solution that stops before the mate: a line of the author's that ends while
//! the stipulation is not yet met.

use super::survey::{Replies, Turn};
use super::words::{Site, add_line, line, numbered};
use super::{Finding, Kind, Mend, Weight, undecided};
use crate::prove::Verdict;
use crate::puzzle::Puzzle;

/// A puzzle without a first move that the author accepts.
pub fn no_key(puzzle: &Puzzle, turn: &Turn) -> Finding {
    let mut mends = Vec::new();
    let mut shown = Vec::new();
    let nags: &[u8] = if puzzle.children(turn.node).is_empty() {
        &[]
    } else {
        &[1]
    };
    let mut message = "There is no solution yet: play the key.".to_owned();
    match turn.forcing().first() {
        Some(&(mv, _, mate)) => {
            let label = format!("Take {} as the key", numbered(puzzle, turn.node, mv));
            mends.push(Mend {
                label,
                edits: vec![add_line(puzzle, turn.node, mate, nags)],
            });
            shown = mate.to_vec();
        }
        None if turn
            .verdicts
            .iter()
            .all(|(_, v)| matches!(v, Some(Verdict::Fails { .. }))) =>
        {
            message = format!(
                "There is no solution, and none can be: no move mates in {}.",
                turn.left
            );
        }
        None => {}
    }
    Site {
        puzzle,
        node: turn.node,
        moves: &[],
        line: &shown,
    }
    .finding(Kind::UnfinishedSolution, Weight::Fault, message, mends)
}

pub fn find(puzzle: &Puzzle, replies: &Replies, found: &mut Vec<Finding>) {
    let node = puzzle.node(replies.node);
    if replies.empty {
        let san = numbered(puzzle, node.parent, node.mv);
        let mut mends = Vec::new();
        let mut shown = vec![node.mv];
        if let Some(Verdict::Forces { line, .. }) = &replies.verdict {
            shown = line.clone();
            mends.push(Mend {
                label: "Finish the line".to_owned(),
                edits: vec![add_line(puzzle, replies.node, &line[1..], &[])],
            });
        }
        let message = format!("The line stops after {san}, before the mate.");
        found.push(
            Site {
                puzzle,
                node: node.parent,
                moves: &[node.mv],
                line: &shown,
            }
            .finding(Kind::UnfinishedSolution, Weight::Fault, message, mends),
        );
    }
    for (defence, mate) in &replies.unfinished {
        let mv = puzzle.node(*defence).mv;
        let san = numbered(puzzle, replies.node, mv);
        let mut shown = vec![mv];
        let mut mends = Vec::new();
        match mate {
            Some(Verdict::Forces { line: mate, .. }) => {
                shown.extend(mate);
                let label = format!(
                    "Answer with {}",
                    line(puzzle.position(*defence), &mate[..1])
                );
                let nags: &[u8] = if puzzle.children(*defence).is_empty() {
                    &[]
                } else {
                    &[1]
                };
                mends.push(Mend {
                    label,
                    edits: vec![add_line(puzzle, *defence, mate, nags)],
                });
            }
            Some(Verdict::Unknown { nodes }) => {
                found.push(undecided::open(puzzle, replies.node, mv, *nodes))
            }
            // The move before it fails then, which is found there.
            Some(Verdict::Fails { .. }) => continue,
            None => {}
        }
        let message = format!("The line stops after {san}, which is not answered.");
        found.push(
            Site {
                puzzle,
                node: replies.node,
                moves: &[mv],
                line: &shown,
            }
            .finding(Kind::UnfinishedSolution, Weight::Fault, message, mends),
        );
    }
}

#[cfg(test)]
mod tests {
    use crate::check::Kind;
    use crate::check::trial::{kinds, mended, report};

    const STOPS: &str =
        "[FEN \"k7/8/1K6/8/8/8/8/2R5 w - - 0 1\"]\n[Stipulation \"#2\"]\n\n1. Rd1 *";
    const STOPS_AFTER_DEFENCE: &str =
        "[FEN \"k7/8/1K6/8/8/8/8/2R5 w - - 0 1\"]\n[Stipulation \"#2\"]\n\n1. Rd1 Kb8 *";
    const EMPTY: &str = "[FEN \"6k1/5ppp/8/8/8/8/8/R5K1 w - - 0 1\"]\n[Stipulation \"#1\"]\n\n*";

    #[test]
    fn every_way_of_stopping_early_is_found_and_mended() {
        for text in [STOPS, STOPS_AFTER_DEFENCE, EMPTY] {
            let report = report(text);
            assert!(kinds(&report).contains(&Kind::UnfinishedSolution), "{text}");
            let after = mended(text, Kind::UnfinishedSolution, 0);
            assert!(
                !kinds(&after).contains(&Kind::UnfinishedSolution),
                "{text}: {:?}",
                after.findings
            );
        }
    }
}
