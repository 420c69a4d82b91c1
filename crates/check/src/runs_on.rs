//! Line that runs on: its point is made, and of what follows more moves than
//! one are right every time, so that there is nothing left to find.

use super::survey::{Replies, Survey};
use super::words::{Site, numbered};
use super::{Finding, Goal, Kind, Mend, Weight, point};
use model::draft::{Edit, NodeId};
use model::puzzle::Puzzle;
use model::tongue::say;

pub fn find(puzzle: &Puzzle, survey: &Survey, replies: &Replies, found: &mut Vec<Finding>) {
    let measured = matches!(replies.goal, Goal::Win(_) | Goal::Draw(_));
    let stands = point::stands(replies.goal, replies.ruling.as_ref());
    let (Some(point), true, false) = (replies.point, measured || stands, replies.empty) else {
        return;
    };
    let mut below = survey
        .turns
        .iter()
        .filter(|turn| is_below(puzzle, turn.node, replies.node));
    if past_the_point(puzzle, replies.node, found) || below.any(|turn| turn.right().len() < 2) {
        return;
    }
    let node = puzzle.node(replies.node);
    let san = numbered(puzzle, node.parent, node.mv);
    let message = say!(
        "The point is made with {move}: {point}. What follows leaves nothing to find.",
        move = san,
        point = point.words(),
    );
    let mends = vec![Mend {
        label: say!("Cut what follows {move}", move = san),
        edits: vec![Edit::RemoveAfter { node: replies.node }],
    }];
    let site = Site {
        puzzle,
        node: node.parent,
        moves: &[node.mv],
        line: &[node.mv],
    };
    found.push(site.finding(Kind::RunsOn, Weight::Remark, message, mends));
}

/// Whether a node stands in what a line runs on with, by what was found so far.
pub fn past_the_point(puzzle: &Puzzle, node: NodeId, found: &[Finding]) -> bool {
    let cuts = found
        .iter()
        .filter(|f| f.kind == Kind::RunsOn)
        .flat_map(|f| f.mends.iter().flat_map(|mend| &mend.edits));
    cuts.into_iter()
        .any(|edit| matches!(edit, Edit::RemoveAfter { node: cut } if is_below(puzzle, node, *cut)))
}

fn is_below(puzzle: &Puzzle, node: NodeId, top: NodeId) -> bool {
    let mut at = node;
    while at != top {
        if at == NodeId::ROOT {
            return false;
        }
        at = puzzle.node(at).parent;
    }
    true
}

#[cfg(test)]
mod tests {
    use crate::trial::{draft, kinds, mended, report};
    use crate::{Judge, Kind, Known, Soundness, Weight, check};
    use model::resolved::Resolved;
    use prove::Unwatched;

    /// The knight forks king and queen, and White goes on a queen up.
    const GOES_ON: &str = "[FEN \"6k1/3q1p1p/8/3N4/8/8/5PPP/6K1 w - - 0 1\"]\n[Stipulation \"+\"]\n\n1. Nf6+ Kg7 2. Nxd7 h6 3. h3 h5 4. g3 *";

    #[test]
    fn a_line_that_goes_on_after_its_point_is_cut_there() {
        let report = report(GOES_ON);
        assert_eq!(kinds(&report), [Kind::RunsOn], "{:?}", report.findings);
        let finding = &report.findings[0];
        assert_eq!(finding.weight, Weight::Remark);
        assert_eq!(report.verdict, Soundness::Sound);
        assert_eq!(
            finding.message,
            "The point is made with 2.Nxd7: there is nothing left to take or to promote. What follows leaves nothing to find."
        );
        let after = mended(GOES_ON, Kind::RunsOn, 0);
        assert!(!kinds(&after).contains(&Kind::RunsOn));
    }

    #[test]
    fn a_line_that_stops_at_its_point_does_not_run_on() {
        let stops = GOES_ON.replace(" h6 3. h3 h5 4. g3", "");
        assert!(!kinds(&report(&stops)).contains(&Kind::RunsOn));
    }

    #[test]
    fn an_ending_of_only_moves_does_not_run_on() {
        // The king must take the opposition each time (common practice, no
        // source); the table knows every position, and yet there is much to
        // find.
        let text =
            "[FEN \"8/8/3k4/8/4K3/4P3/8/8 w - - 0 1\"]\n[Stipulation \"+\"]\n\n1. Kd4 Ke6 2. Ke4 *";
        let kinds = kinds(&report(text));
        assert!(!kinds.contains(&Kind::RunsOn), "{kinds:?}");
    }

    /// Two right moves leave nothing to find, one does.
    #[test]
    fn a_line_runs_on_where_every_turn_has_two_right_moves() {
        let (draft, mut known) = (draft(GOES_ON), Known::default());
        check(&draft, &mut known, &mut Judge::new(1 << 20), &mut Unwatched);
        let puzzle = Resolved::of(&draft).into_puzzle().expect("a puzzle");
        let runs_on = |right: usize| {
            let mut survey = crate::survey::survey(&puzzle, &known);
            for turn in survey.turns.iter_mut().skip(2) {
                let mut left = right;
                turn.rulings.retain(|(_, ruling)| {
                    let holds = ruling.as_ref().is_some_and(|ruling| ruling.holds());
                    let keep = !holds || left > 0;
                    left -= usize::from(holds && keep);
                    keep
                });
            }
            let mut found = Vec::new();
            for replies in &survey.replies {
                super::find(&puzzle, &survey, replies, &mut found);
            }
            found.len()
        };
        assert_eq!([1, 2, 3].map(runs_on), [0, 1, 1]);
    }
}
