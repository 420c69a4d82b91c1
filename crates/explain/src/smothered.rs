//! Smothered mate: a knight mates a king that its own men leave no square.

use shakmaty::{Position, Role, attacks};

use super::scene::Scene;
use super::{Reason, ReasonKind};
use model::tongue::say;

pub fn find(scene: &Scene, at: usize, found: &mut Vec<Reason>) {
    let after = scene.after(at);
    let board = after.board();
    let Some(king) = board
        .king_of(!scene.solver)
        .filter(|_| after.is_checkmate())
    else {
        return;
    };
    let own = attacks::king_attacks(king) & !board.by_color(!scene.solver);
    let knight = after
        .checkers()
        .single_square()
        .filter(|&s| board.role_at(s) == Some(Role::Knight));
    let (Some(knight), true) = (knight, own.is_empty()) else {
        return;
    };
    let sentence = say!(
        "{move} is smothered mate: the king is shut in by its own men.",
        move = scene.san(at),
    );
    found.push(scene.reason(
        ReasonKind::SmotheredMate,
        at,
        sentence,
        vec![king, knight],
        vec![(knight, king)],
    ));
}
