//! Ambiguous variation: a side move of the solver without a glyph that tells
//! whether the author accepts it or shows it as a try.

use super::survey::Turn;
use super::undecided::is_talked_of;
use super::words::{Site, numbered};
use super::{Finding, Kind, Mend, Ruling, Weight};
use model::draft::Edit;
use model::puzzle::{Puzzle, Role};
use model::tongue::{phrase, say};

pub fn find(puzzle: &Puzzle, turn: &Turn, found: &mut Vec<Finding>) {
    for child in puzzle.with_role(turn.node, Role::Unclear) {
        let mv = puzzle.node(child).mv;
        let ruling = turn.ruling(mv);
        if ruling.is_some_and(Ruling::is_open) && is_talked_of(puzzle, turn.node, mv) {
            continue;
        }
        let san = numbered(puzzle, turn.node, mv);
        let message = say!(
            "{move} is a side line without a mark: say whether it is accepted or a try.",
            move = san,
        );
        let mend = |label, nag| Mend {
            label: say!(label, move = san),
            edits: vec![Edit::SetNags {
                node: child,
                nags: vec![nag],
            }],
        };
        let mut mends = vec![
            mend(phrase!("Accept {move}", "move"), 1),
            mend(phrase!("Mark as a try: {move}", "move"), 2),
        ];
        if ruling.is_some_and(Ruling::fails) {
            mends.reverse();
        }
        let line = ruling.map_or(vec![mv], |r| r.line().to_vec());
        let site = Site {
            puzzle,
            node: turn.node,
            moves: &[mv],
            line: &line,
        };
        found.push(site.finding(Kind::AmbiguousVariation, Weight::Fault, message, mends));
    }
}

#[cfg(test)]
mod tests {
    use crate::trial::{kinds, mended, report};
    use crate::{Kind, Soundness};

    const UNMARKED: &str = "[FEN \"6k1/5ppp/8/8/8/8/8/R2R2K1 w - - 0 1\"]\n[Stipulation \"#1\"]\n\n1. Ra8# (1. Rd8#) (1. Kf2) *";

    #[test]
    fn the_likelier_reading_comes_first() {
        let report = report(UNMARKED);
        assert_eq!(
            kinds(&report),
            [Kind::AmbiguousVariation, Kind::AmbiguousVariation]
        );
        assert_eq!(report.findings[0].mends[0].label, "Accept 1.Rd8#");
        assert_eq!(report.findings[1].mends[0].label, "Mark as a try: 1.Kf2");
        let after = mended(UNMARKED, Kind::AmbiguousVariation, 0);
        assert_eq!(kinds(&after), [Kind::AmbiguousVariation]);
        assert_eq!(after.verdict, Soundness::Unsound);
    }

    /// Words tell the student what a move is that lies between right and wrong; one that
    /// is known to be wrong still wants its mark.
    #[test]
    fn words_do_not_stand_for_a_mark() {
        let told = UNMARKED.replace("(1. Kf2)", "(1. Kf2 {Quiet.})");
        assert_ne!(told, UNMARKED);
        assert_eq!(kinds(&report(&told)), kinds(&report(UNMARKED)));
    }
}
