//! Sacrifice: the man that moved is taken by the reply, the other side is
//! ahead by more than a pawn from it, and the solver does not simply take
//! back: the line goes on otherwise, or the game is over.

use shakmaty::Position;

use super::scene::Scene;
use super::{Reason, ReasonKind};
use check::exchange::worth;
use model::men;
use model::tongue::say;

pub fn find(scene: &Scene, at: usize, found: &mut Vec<Reason>) {
    let Some(reply) = scene.reply(at) else {
        return;
    };
    let next = scene.next(at);
    if next.is_none() && !scene.last().is_game_over() {
        return;
    }
    let square = scene.landing(at);
    let Some(given) = reply.capture().filter(|_| reply.to() == square) else {
        return;
    };
    let lost = worth(given) - scene.mv(at).capture().map_or(0, worth);
    let regained = next
        .filter(|next| next.to() == square)
        .and_then(|next| next.capture())
        .map_or(0, worth);
    if lost - regained < worth(shakmaty::Role::Pawn) * 2 {
        return;
    }
    let sentence = say!("{move} gives up {man}.", move = scene.san(at), man = men::the(given));
    found.push(scene.reason(
        ReasonKind::Sacrifice,
        at,
        sentence,
        vec![square],
        Vec::new(),
    ));
}
