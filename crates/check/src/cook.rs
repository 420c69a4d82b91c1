//! Cook: an unlisted first move that meets the stipulation as well, and does not carry out
//! a threat that is listed.

use super::survey::Turn;
use super::words::{numbered, unlisted};
use super::{Finding, Kind, Weight, threat};
use model::draft::NodeId;
use model::puzzle::Puzzle;
use model::tongue::{phrase, say};
use play::goal::met;

pub fn find(puzzle: &Puzzle, turn: &Turn, found: &mut Vec<Finding>) {
    let counts = turn.node == NodeId::ROOT && super::counts_unlisted(puzzle, turn.node);
    if !counts || super::no_key(puzzle) {
        return;
    }
    for (mv, ruling) in turn.right() {
        let listed = puzzle.child(turn.node, mv).is_some();
        if listed || threat::is_listed(puzzle, turn, mv, ruling) {
            continue;
        }
        let san = numbered(puzzle, turn.node, mv);
        let sooner = ruling.length() < turn.goal.moves_left();
        // Shorter help is a short solution, whoever listed it.
        if sooner && turn.goal.shared() {
            continue;
        }
        let message = say!(
            match sooner {
                true => phrase!("{move} {does} as well, sooner than claimed, and is not listed.", "move does"),
                false => phrase!("{move} {does} as well, and is not listed.", "move does"),
            },
            move = san,
            does = met(turn.goal, ruling.length()),
        );
        found.push(unlisted(
            puzzle,
            turn,
            (mv, ruling),
            Kind::Cook,
            Weight::Fault,
            message,
        ));
    }
}

#[cfg(test)]
mod tests {
    use crate::trial::{kinds, mended, report};
    use crate::{Kind, Soundness};

    /// Two rooks, each of which mates on the back rank.
    const TWO_ROOKS: &str =
        "[FEN \"6k1/5ppp/8/8/8/8/8/R2R2K1 w - - 0 1\"]\n[Stipulation \"#1\"]\n\n1. Ra8# *";

    #[test]
    fn an_unlisted_mate_is_a_cook() {
        let report = report(TWO_ROOKS);
        assert_eq!(kinds(&report), [Kind::Cook]);
        assert_eq!(report.verdict, Soundness::Unsound);
        assert_eq!(report.findings[0].moves, ["d1d8"]);
        assert!(report.findings[0].path.is_empty());
        assert_eq!(
            report.findings[0].message,
            "1.Rd8# mates in 1 move as well, and is not listed."
        );
    }

    #[test]
    fn accepting_it_mends_the_puzzle() {
        assert_eq!(mended(TWO_ROOKS, Kind::Cook, 0).verdict, Soundness::Sound);
    }

    #[test]
    fn a_cook_that_is_quicker_is_told_so() {
        let quicker = "[FEN \"7k/1R6/8/8/8/8/8/R3K3 w - - 0 1\"]\n[Stipulation \"#2\"]\n\n1. Kd2 Kg8 2. Ra8# *";
        let report = report(quicker);
        let told = |mv: &str| {
            let mut found = report.findings.iter();
            let cook = found.find(|f| f.kind == Kind::Cook && f.moves == [mv]);
            cook.map_or("", |f| f.message.as_str())
        };
        assert_eq!(
            told("a1a8"),
            "1.Ra8# mates in 1 move as well, sooner than claimed, and is not listed."
        );
        assert_eq!(
            told("e1f2"),
            "1.Kf2 mates in 2 moves as well, and is not listed."
        );
    }
}
