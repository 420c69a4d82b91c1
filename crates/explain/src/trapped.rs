//! Trapped piece: after the solver's move, which is no check, a piece of the
//! other side is attacked so that it would be lost, every square it can go to
//! is covered so that it would be lost there too, and the solver takes it in
//! the line.

use shakmaty::{Board, Color, Piece, Position, Role, Square};

use super::scene::{Scene, capital};
use super::{Reason, ReasonKind};
use check::exchange::{best_capture, exchange_gain, worth};
use model::men;
use model::tongue::{phrase, say, tr};

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
        let attacked = was < gained;
        let squares: Vec<String> = flights
            .iter()
            .map(|(square, guard)| format!("{square} ({})", named_from(board, *guard)))
            .collect();
        let text = match (squares.is_empty(), attacked) {
            (true, true) => {
                phrase!(
                    "{man} is trapped: it has no square to go to, and {move} attacks it.",
                    "man move squares"
                )
            }
            (true, false) => phrase!(
                "{man} is trapped: it has no square to go to, and {move} takes its last square.",
                "man move squares"
            ),
            (false, true) => phrase!(
                "{man} is trapped: {move} attacks it, and its squares are covered: {squares}.",
                "man move squares"
            ),
            (false, false) => phrase!(
                "{man} is trapped: {move} takes its last square, and its squares are covered: {squares}.",
                "man move squares"
            ),
        };
        let sentence = capital(&say!(
            text,
            man = men::on(board, prey),
            move = scene.san(at),
            squares = squares.join(", "),
        ));
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

/// Every square the piece could go to, with a man that would take it there;
/// `None` if one of them saves it, or could not be gone to because the piece
/// is pinned. A piece that is lost because its king is in check is not
/// trapped.
fn flights(scene: &Scene, at: usize, prey: Square, role: Role) -> Option<Vec<(Square, Square)>> {
    if scene.after(at).is_check() {
        return None;
    }
    let board = scene.after(at).board();
    let side = !scene.solver;
    let mut flights = Vec::new();
    for to in board.attacks_from(prey) & !board.by_color(side) {
        let mut then = board.clone();
        let taken = then.remove_piece_at(to);
        then.discard_piece_at(prey);
        then.set_piece_at(to, Piece { color: side, role });
        let won = taken.map_or(0, |piece| worth(piece.role));
        if exposed(&then, side, None) || exposed(&then, scene.solver, Some(to)) {
            return None;
        }
        if best_capture(&then, to, scene.solver) <= won {
            return None;
        }
        flights.push((to, taker(&then, to, scene.solver)?));
    }
    Some(flights)
}

/// Whether a side's king is attacked, by another man than the one on `but`,
/// which can be taken.
fn exposed(board: &Board, side: Color, but: Option<Square>) -> bool {
    board.king_of(side).is_some_and(|king| {
        let mut attackers = board.attacks_to(king, !side, board.occupied());
        if let Some(but) = but {
            attackers.discard(but);
        }
        attackers.any()
    })
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
        format!("{} {square}", role_name(role))
    })
}

/// A man's name: "knight".
fn role_name(role: Role) -> &'static str {
    tr(match role {
        Role::Pawn => phrase("pawn"),
        Role::Knight => phrase("knight"),
        Role::Bishop => phrase("bishop"),
        Role::Rook => phrase("rook"),
        Role::Queen => phrase("queen"),
        Role::King => phrase("king"),
    })
}
