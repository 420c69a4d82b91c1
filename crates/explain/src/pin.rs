//! Pin: a man of the other side may not leave a line to its king. Given when
//! the solver uses it: he attacks the pinned piece and takes it later, where it
//! stands, or next, where it has taken the pinning man, or he goes where only the
//! pinned man could take him.

use shakmaty::{Bitboard, Board, Color, Position, Role, Square, attacks};

use super::scene::{Scene, capital, guards, is_slider};
use super::{Reason, ReasonKind};
use model::men;
use model::tongue::say;

pub fn find(scene: &Scene, at: usize, found: &mut Vec<Reason>) {
    let after = scene.after(at);
    let board = after.board();
    let Some(king) = board.king_of(!scene.solver) else {
        return;
    };
    let landing = scene.landing(at);
    for (pinned, pinner) in pins(board, !scene.solver) {
        let stuck = !attacks::ray(king, pinner).contains(landing);
        let defied = stuck
            && landing != pinner
            && guards(board, pinned, landing)
            && only_pinned_guard(board, landing, scene);
        let before = pins(scene.before(at).board(), !scene.solver);
        let new = before.iter().all(|&(man, _)| man != pinned);
        let attacks = landing == pinner || guards(board, landing, pinned);
        let taken = attacks && board.role_at(pinned) != Some(Role::Pawn) && {
            let reply = scene.reply(at);
            let fights = reply.is_some_and(|r| r.from() == Some(pinned) && r.to() == pinner);
            let stays = reply.is_some_and(|r| r.from() != Some(pinned));
            stays
                && scene
                    .later(at)
                    .any(|mv| mv.is_capture() && mv.to() == pinned)
                || fights && takes(scene, at, pinner)
        };
        let sentence = if defied {
            capital(&say!(
                "{man} cannot take on {square}: {pinner} pins it to the king.",
                man = men::on(board, pinned),
                square = landing.to_string(),
                pinner = men::on(board, pinner),
            ))
        } else if taken && new {
            say!(
                "{move} pins {man} to the king.",
                move = scene.san(at),
                man = men::on(board, pinned),
            )
        } else if taken {
            capital(&say!(
                "{man} is pinned to the king, and {move} attacks it.",
                man = men::on(board, pinned),
                move = scene.san(at),
            ))
        } else {
            continue;
        };
        found.push(scene.reason(
            ReasonKind::Pin,
            at,
            sentence,
            vec![pinned, pinner, king],
            vec![(pinner, king)],
        ));
        return;
    }
}

/// Whether the solver's next move takes on a square.
fn takes(scene: &Scene, at: usize, square: Square) -> bool {
    scene
        .next(at)
        .is_some_and(|mv| mv.is_capture() && mv.to() == square)
}

/// Every man of a side that is pinned to its king, with the man that pins it.
pub fn pins(board: &Board, side: Color) -> Vec<(Square, Square)> {
    let Some(king) = board.king_of(side) else {
        return Vec::new();
    };
    let sliders = board.by_color(!side) & board.sliders();
    sliders
        .into_iter()
        .filter_map(|slider| {
            let piece = board.piece_at(slider)?;
            let open = attacks::attacks(slider, piece, Bitboard::EMPTY);
            if !is_slider(piece.role) || !open.contains(king) {
                return None;
            }
            let men = attacks::between(slider, king) & board.occupied();
            let pinned = men.single_square()?;
            (board.color_at(pinned) == Some(side)).then_some((pinned, slider))
        })
        .collect()
}

/// Whether every man of the other side that could take on a square is pinned
/// off that square's line.
fn only_pinned_guard(board: &Board, square: Square, scene: &Scene) -> bool {
    let side = !scene.solver;
    let pinned = pins(board, side);
    let takers = board.attacks_to(square, side, board.occupied());
    takers.into_iter().all(|taker| {
        if Some(taker) == board.king_of(side) {
            return board
                .attacks_to(square, scene.solver, board.occupied())
                .any();
        }
        pinned
            .iter()
            .any(|&(man, pinner)| man == taker && !attacks::ray(man, pinner).contains(square))
    })
}
