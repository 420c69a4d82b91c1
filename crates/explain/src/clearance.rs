//! Clearance: the man that moves leaves a square that another man of its side needs for
//! the next move: to stand on, to pass over, or to guard over it the square of a mate.
//! What is discovered at once is told as that; and nothing is said of the move that
//! merely takes back.

use shakmaty::{Board, Position, Role, Square, attacks};

use super::scene::{Scene, is_slider, landing};
use super::{Reason, ReasonKind};
use check::exchange::worth;
use model::men;
use model::tongue::say;

pub fn find(scene: &Scene, at: usize, found: &mut Vec<Reason>) {
    let (Some(left), Some(next), Some(last)) =
        (scene.mv(at).from(), scene.next(at), scene.after_next(at))
    else {
        return;
    };
    // What has just come to the square did not stand at the end of a shut line.
    let came = scene.reply(at).is_some_and(|reply| reply.to() == next.to());
    let by_itself =
        came || next.from() == Some(scene.landing(at)) || next.to() == scene.landing(at);
    if by_itself || scene.mv(at).is_castle() || next.is_castle() {
        return;
    }
    let pays = scene.next_mates(at)
        || last.is_check()
        || next.is_promotion()
        || next
            .capture()
            .is_some_and(|r| worth(r) >= worth(Role::Knight));
    let Some(user) = next.from().filter(|_| pays) else {
        return;
    };
    let before = scene.before(at).board();
    // A man that was not there yet, or stands elsewhere, had no use for the square.
    if before.piece_at(user) != scene.after(at).board().piece_at(user) {
        return;
    }
    let target = landing(next, scene.solver);
    if target == left {
        let sentence = say!(
            "{move} clears {square} for {man}.",
            move = scene.san(at),
            square = left.to_string(),
            man = men::on(before, user),
        );
        tell(scene, at, sentence, (left, user, target), found);
        return;
    }
    let slider = if attacks::between(user, target).contains(left) && !discovered(scene, at, user) {
        Some(user)
    } else if scene.next_mates(at) {
        only_guard(last.board(), scene, target).filter(|&guard| {
            attacks::between(guard, target).contains(left)
                && before.piece_at(guard) == last.board().piece_at(guard)
        })
    } else {
        None
    };
    let Some(slider) = slider else {
        return;
    };
    let sentence = say!(
        "{move} clears the line of {man} to {square}.",
        move = scene.san(at),
        man = men::on(before, slider),
        square = target.to_string(),
    );
    tell(scene, at, sentence, (left, slider, target), found);
}

/// Whether the slider attacks at once, by the move, what it then takes.
fn discovered(scene: &Scene, at: usize, slider: Square) -> bool {
    let after = scene.after(at);
    let target = scene.next(at).filter(|next| next.is_capture());
    after.checkers().contains(slider)
        || target.is_some_and(|next| after.board().by_color(!scene.solver).contains(next.to()))
}

/// The one slider of the solver's that guards the square.
fn only_guard(board: &Board, scene: &Scene, square: Square) -> Option<Square> {
    let guards = board.attacks_to(square, scene.solver, board.occupied());
    let guard = guards.single_square()?;
    board.role_at(guard).is_some_and(is_slider).then_some(guard)
}

fn tell(
    scene: &Scene,
    at: usize,
    sentence: String,
    (left, user, target): (Square, Square, Square),
    found: &mut Vec<Reason>,
) {
    found.push(scene.reason(
        ReasonKind::Clearance,
        at,
        sentence,
        vec![left, target],
        vec![(user, target)],
    ));
}
