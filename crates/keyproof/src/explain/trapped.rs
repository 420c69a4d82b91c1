//! Trapped piece: after the solver's move a piece of the other side is
//! attacked so that it would be lost, every square it can go to is covered so
//! that it would be lost there too, and the solver takes it in the line.

use shakmaty::{Board, Color, Position, Role, Square};

use super::exchange::{best_capture, exchange_gain, worth};
use super::scene::{Scene, capital, name, named};
use super::{Reason, ReasonKind};

pub fn find(scene: &Scene, at: usize, found: &mut Vec<Reason>) {
    let after = scene.after(at);
    let board = after.board();
    let before = scene.before(at).board();
    for prey in board.by_color(!scene.solver) {
        let Some(role) = board.role_at(prey) else {
            continue;
        };
        if matches!(role, Role::King | Role::Pawn) || best_capture(board, prey, scene.solver) <= 0 {
            continue;
        }
        let Some(flights) = flights(scene, at, prey, role) else {
            continue;
        };
        if !caught(scene, at, prey) {
            continue;
        }
        let gained = best_capture(board, prey, scene.solver);
        let was = if before.role_at(prey) == Some(role) {
            best_capture(before, prey, scene.solver)
        } else {
            0
        };
        let attack = if was >= gained {
            "takes its last square"
        } else {
            "attacks it"
        };
        let squares: Vec<String> = flights
            .iter()
            .map(|(square, guard)| format!("{square} ({})", named_from(board, *guard)))
            .collect();
        let sentence = if squares.is_empty() {
            format!(
                "{} is trapped: it has no square to go to, and {} {attack}.",
                capital(&named(board, prey)),
                scene.san(at)
            )
        } else {
            format!(
                "{} is trapped: {} {attack}, and its squares are covered: {}.",
                capital(&named(board, prey)),
                scene.san(at),
                squares.join(", ")
            )
        };
        let mut shown = vec![prey];
        shown.extend(flights.iter().map(|(square, _)| *square));
        let mut arrows: Vec<(Square, Square)> = board
            .attacks_to(prey, scene.solver, board.occupied())
            .into_iter()
            .map(|s| (s, prey))
            .collect();
        arrows.extend(flights.iter().map(|&(square, guard)| (guard, square)));
        found.push(scene.reason(ReasonKind::TrappedPiece, at, sentence, shown, arrows));
    }
}

/// Whether the solver's move attacks the piece on a square and leaves it no
/// square to go to.
pub fn traps(scene: &Scene, at: usize, prey: Square) -> bool {
    let board = scene.after(at).board();
    board.role_at(prey).is_some_and(|role| {
        !matches!(role, Role::King | Role::Pawn)
            && board.color_at(prey) == Some(!scene.solver)
            && best_capture(board, prey, scene.solver) > 0
            && flights(scene, at, prey, role).is_some()
    })
}

/// Every legal flight of the piece with a man that would take it there; `None`
/// if one of them saves it.
fn flights(scene: &Scene, at: usize, prey: Square, role: Role) -> Option<Vec<(Square, Square)>> {
    let after = scene.after(at);
    let mut flights = Vec::new();
    for mv in after
        .legal_moves()
        .into_iter()
        .filter(|m| m.from() == Some(prey))
    {
        let mut then = after.clone();
        then.play_unchecked(mv);
        let won = mv.capture().map_or(0, worth);
        let lost = best_capture(then.board(), mv.to(), scene.solver);
        if lost <= won || then.is_checkmate() || then.is_check() {
            return None;
        }
        let guard = taker(then.board(), mv.to(), scene.solver)?;
        flights.push((mv.to(), guard));
    }
    // A piece pinned to its king has no move, but is not trapped by covered
    // squares.
    let free = (after.board().attacks_from(prey) & !after.board().by_color(!scene.solver)).any();
    let pinned = flights.is_empty() && free && !after.is_check();
    (!pinned && role != Role::King).then_some(flights)
}

/// The least man of a side that attacks a square.
fn taker(board: &Board, square: Square, side: Color) -> Option<Square> {
    let attackers = board.attacks_to(square, side, board.occupied());
    Role::ALL
        .into_iter()
        .find_map(|role| (attackers & board.by_role(role)).first())
}

/// Whether the piece is taken in the line, on its square or where it fled to,
/// with a gain.
fn caught(scene: &Scene, at: usize, prey: Square) -> bool {
    let mut square = prey;
    if let Some(reply) = scene.reply(at)
        && reply.from() == Some(prey)
    {
        square = reply.to();
    }
    let (Some(next), Some(position)) = (scene.next(at), scene.after_reply(at)) else {
        return false;
    };
    next.is_capture() && next.to() == square && exchange_gain(position.board(), next) > 0
}

fn named_from(board: &Board, square: Square) -> String {
    board.role_at(square).map_or(square.to_string(), |role| {
        format!("{} {square}", name(role))
    })
}
