//! Try that works: a move marked as a try meets the stipulation.

use super::survey::Turn;
use super::words::{Site, numbered};
use super::{Finding, Kind, Mend, Ruling, Weight};
use model::draft::Edit;
use model::puzzle::{Puzzle, Role};
use model::tongue::say;
use play::goal::met;

pub fn find(puzzle: &Puzzle, turn: &Turn, found: &mut Vec<Finding>) {
    for child in puzzle.with_role(turn.node, Role::Try) {
        let mv = puzzle.node(child).mv;
        let Some(ruling @ Ruling::Holds { line, .. }) = turn.ruling(mv) else {
            continue;
        };
        let san = numbered(puzzle, turn.node, mv);
        let message = say!(
            "{move} is marked as a try, but it {does}.",
            move = san,
            does = met(turn.goal, ruling.length()),
        );
        let mends = vec![
            Mend {
                label: say!("Accept {move}", move = san),
                edits: vec![Edit::SetNags {
                    node: child,
                    nags: vec![1],
                }],
            },
            Mend {
                label: say!("Remove {move}", move = san),
                edits: vec![Edit::Remove { node: child }],
            },
        ];
        let site = Site {
            puzzle,
            node: turn.node,
            moves: &[mv],
            line,
        };
        found.push(site.finding(Kind::WorkingTry, Weight::Fault, message, mends));
    }
}

#[cfg(test)]
mod tests {
    use crate::trial::{kinds, mended, report};
    use crate::{Kind, Soundness};

    const WORKS: &str = "[FEN \"6k1/5ppp/8/8/8/8/8/R2R2K1 w - - 0 1\"]\n[Stipulation \"#1\"]\n\n1. Ra8# (1. Rd8# $2) *";

    #[test]
    fn a_try_that_mates_is_found_and_can_be_accepted() {
        assert_eq!(kinds(&report(WORKS)), [Kind::WorkingTry]);
        assert_eq!(mended(WORKS, Kind::WorkingTry, 0).verdict, Soundness::Sound);
    }
}
