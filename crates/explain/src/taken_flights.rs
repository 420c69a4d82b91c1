//! Flights taken: a move that is no check guards squares next to the other king that
//! nobody guarded, and the man still guards them, alone, when the king is mated. In
//! problems a *flight* is a square that the king may go to (common practice, no source).

use shakmaty::{Bitboard, Board, Position, Square, attacks};

use super::scene::{Scene, joined};
use super::{Reason, ReasonKind};
use model::tongue::say;

pub fn find(scene: &Scene, at: usize, found: &mut Vec<Reason>) {
    let last = scene.last();
    let board = last.board();
    let guard = scene.landing(at);
    let stayed = scene
        .rest(at)
        .all(|mv| mv.from() != Some(guard) && mv.to() != guard);
    let mates = last.is_checkmate() && scene.later(at).next().is_some();
    if !mates || !stayed || scene.after(at).is_check() || scene.mv(at).is_castle() {
        return;
    }
    let (Some(king), Some(from)) = (board.king_of(!scene.solver), scene.mv(at).from()) else {
        return;
    };
    let flights = attacks::king_attacks(king) & !board.by_color(!scene.solver);
    let alone: Vec<Square> = (flights & board.attacks_from(guard))
        .into_iter()
        .filter(|&square| guarded(board, square, king, Bitboard::EMPTY, scene))
        .filter(|&square| !guarded(board, square, king, Bitboard::from_square(guard), scene))
        .filter(|&square| !reached(scene.before(at).board(), from, square))
        .collect();
    if alone.is_empty() {
        return;
    }
    let names: Vec<String> = alone.iter().map(Square::to_string).collect();
    let sentence = say!(
        "{move} takes {squares} from the king.",
        move = scene.san(at),
        squares = joined(&names),
    );
    found.push(scene.reason(
        ReasonKind::TakenFlights,
        at,
        sentence,
        alone.clone(),
        alone.into_iter().map(|square| (guard, square)).collect(),
    ));
}

/// Whether the solver guards a square, the king being off the board, by a man that is
/// not among `without`.
fn guarded(board: &Board, square: Square, king: Square, without: Bitboard, scene: &Scene) -> bool {
    let occupied = board.occupied() ^ Bitboard::from_square(king);
    let occupied = occupied & !without;
    (board.attacks_to(square, scene.solver, occupied) & !without).any()
}

/// Whether the man guarded the square from where it came.
fn reached(board: &Board, from: Square, square: Square) -> bool {
    board.attacks_from(from).contains(square)
}
