//! Back-rank mate: the king is mated on its own first rank by a rook or queen
//! along that rank, and its way forward is barred by its own men.

use shakmaty::{Position, Rank, Role, attacks};

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
    let home = (!scene.solver).relative_rank(Rank::First);
    let checker = after
        .checkers()
        .into_iter()
        .find(|&s| s.rank() == home && matches!(board.role_at(s), Some(Role::Rook | Role::Queen)));
    let (Some(checker), true) = (checker, king.rank() == home) else {
        return;
    };
    let forward = attacks::king_attacks(king)
        & shakmaty::Bitboard::from_rank((!scene.solver).relative_rank(Rank::Second));
    let barred = forward & board.by_color(!scene.solver);
    if barred.count() * 2 <= forward.count() {
        return;
    }
    let sentence = say!(
        "{move} mates on the back rank: the king's own men bar its way.",
        move = scene.san(at),
    );
    let mut squares = vec![king, checker];
    squares.extend(barred);
    found.push(scene.reason(
        ReasonKind::BackRankMate,
        at,
        sentence,
        squares,
        vec![(checker, king)],
    ));
}
