//! Answer that fails: a later move that the author accepts no longer meets
//! the stipulation. The line shows the defence that beats it.

use super::no_solution::failing;
use super::survey::Turn;
use super::{Finding, Kind};
use model::draft::NodeId;
use model::puzzle::Puzzle;

pub fn find(puzzle: &Puzzle, turn: &Turn, found: &mut Vec<Finding>) {
    if turn.node != NodeId::ROOT {
        failing(puzzle, turn, Kind::FailingAnswer, found);
    }
}

#[cfg(test)]
mod tests {
    use crate::Kind;
    use crate::trial::{kinds, mended, report};

    const SLOW: &str =
        "[FEN \"k7/8/1K6/8/8/8/8/2R5 w - - 0 1\"]\n[Stipulation \"#2\"]\n\n1. Rd1 Kb8 2. Rd7 *";

    #[test]
    fn an_answer_that_does_not_mate_is_found_where_it_stands() {
        let report = report(SLOW);
        assert_eq!(
            kinds(&report)
                .into_iter()
                .filter(|k| *k == Kind::FailingAnswer)
                .count(),
            1
        );
        let finding = report
            .findings
            .iter()
            .find(|f| f.kind == Kind::FailingAnswer)
            .unwrap();
        assert_eq!(
            (finding.path.as_slice(), finding.moves.as_slice()),
            (
                &["c1d1".to_owned(), "a8b8".to_owned()][..],
                &["d1d7".to_owned()][..]
            )
        );
        assert!(!kinds(&mended(SLOW, Kind::FailingAnswer, 0)).contains(&Kind::FailingAnswer));
    }
}
