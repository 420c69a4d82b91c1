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
