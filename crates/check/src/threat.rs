//! A puzzle that asks what is threatened: the solver is the side that threatens, and the
//! other side is taken to have passed. What is a threat is said in `explain::threats`.

use model::aim::Aim;
use model::draft::Edit;
use model::notation::fen;
use model::notation::moves::side_name;
use model::puzzle::{Posed, Puzzle};
use model::resolved::Resolved;
use model::tongue::{say, tr};
use model::transform::passed;
use shakmaty::{Chess, EnPassantMode, Move, Position};

use super::exchange::captured;
use super::survey::Turn;
use super::{Mend, Ruling};

/// Whether a draft asks what is threatened, be it a puzzle or not yet.
pub fn is_asked(resolved: &Resolved) -> bool {
    resolved.draft().tag(Posed::TAG).and_then(Posed::read) == Some(Posed::Threat)
}

/// Why what is threatened cannot be asked in the puzzle's position, or of its stipulation.
pub fn unfit(puzzle: &Puzzle, turn: &Turn) -> Option<String> {
    let start = puzzle.start();
    let (side, other) = (side_name(start.turn()), side_name(!start.turn()));
    if !matches!(turn.goal.forced(), Some((Aim::Mate | Aim::Gain(_), _))) {
        return Some(
            tr("A threat is a mate or a gain of material: the stipulation must be one of the two.")
                .to_owned(),
        );
    }
    if let Some(square) = start.ep_square(EnPassantMode::Legal) {
        return Some(say!(
            "After a pass of {other} no pawn can be taken en passant on {square}.",
            other = other,
            square = square.to_string(),
        ));
    }
    let Some(before) = passed(start) else {
        let king = start.board().king_of(start.turn());
        return Some(say!(
            "{side}'s king on {square} stands in check, so that {other} cannot have been to move.",
            side = side,
            other = other,
            square = king.map_or(String::new(), |king| king.to_string()),
        ));
    };
    before.legal_moves().is_empty().then(|| {
        say!(
            "{other} has no move: the game is over, and nothing is threatened.",
            other = other,
        )
    })
}

/// What lets the other side threaten, if it may be to move in this position.
pub fn mend(start: &Chess) -> Option<Mend> {
    let after = passed(start)?;
    Some(Mend {
        label: say!("Ask what {side} threatens", side = side_name(after.turn())),
        edits: vec![Edit::SetTag {
            name: "FEN".to_owned(),
            value: Some(fen::write(&after)),
        }],
    })
}

/// Whether a move that is not listed carries out a threat that is: it mates on the same
/// square as soon, or takes the same man at once.
pub fn is_listed(puzzle: &Puzzle, turn: &Turn, mv: Move, ruling: &Ruling) -> bool {
    let same = |other: Move| match turn.goal.forced() {
        Some((Aim::Mate, _)) => other.to() == mv.to(),
        _ => {
            ruling.length() == Some(1) && captured(mv).is_some() && captured(other) == captured(mv)
        }
    };
    puzzle.posed() == Posed::Threat
        && puzzle.accepted(turn.node).any(|id| {
            let other = puzzle.node(id).mv;
            turn.length(other) == ruling.length() && same(other)
        })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trial::draft;
    use crate::{Evidence, Goal};
    use model::draft::NodeId;
    use model::notation::moves::read_uci;

    /// Whether the second move, which takes so many moves, carries out the threat that the
    /// first does in as many as are given with it.
    fn listed(fen: &str, claim: &str, key: (&str, &str, u8), other: (&str, u8)) -> bool {
        let text = format!(
            "[FEN \"{fen}\"]\n[Stipulation \"{claim}\"]\n[Question \"threat\"]\n\n1. {} *",
            key.0
        );
        let puzzle = Resolved::of(&draft(&text)).into_puzzle().expect("a puzzle");
        let ruling = |uci: &str, length| {
            let mv = read_uci(puzzle.start(), uci).expect("a legal move");
            let ruling = Ruling::Holds {
                length: Some(length),
                line: vec![mv],
                evidence: Evidence::Proved,
            };
            (mv, Some(ruling))
        };
        let turn = Turn {
            node: NodeId::ROOT,
            goal: Goal::of(&puzzle),
            aside: false,
            rulings: vec![ruling(key.1, key.2), ruling(other.0, other.1)],
        };
        let (mv, ruling) = &turn.rulings[1];
        is_listed(&puzzle, &turn, *mv, ruling.as_ref().expect("a ruling"))
    }

    #[test]
    fn a_mate_on_the_same_square_is_the_same_threat_if_it_takes_as_long() {
        let knights = "6k1/8/8/8/8/4n3/3n2PP/6RK b - - 0 1";
        let is = |key, other| listed(knights, "#2", ("Nef1", "e3f1", key), ("d2f1", other));
        assert!(is(1, 1) && is(2, 2));
        assert!(!is(2, 1) && !is(1, 2));
        let elsewhere = listed(knights, "#2", ("Nef1", "e3f1", 1), ("e3g4", 1));
        assert!(!elsewhere);
    }

    #[test]
    fn taking_the_same_man_is_the_same_threat_if_that_is_all() {
        let taken = "6k1/5ppp/8/3n4/2P5/8/5PPP/3R2K1 w - - 0 1";
        let is = |key, length, other| listed(taken, "gain 3 in 2", key, (other, length));
        assert!(is(("cxd5", "c4d5", 1), 1, "d1d5"));
        // What wins later wins more than what it takes first.
        assert!(!is(("cxd5", "c4d5", 2), 2, "d1d5"));
        assert!(!is(("cxd5", "c4d5", 1), 1, "h2h3"));
        assert!(!is(("c5", "c4c5", 1), 1, "h2h3"), "neither takes anything");
    }
}
