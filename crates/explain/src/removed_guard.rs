//! Removing the guard: the solver takes a man that guarded another man, or a
//! square, and then takes that man, or mates on that square.

use shakmaty::Position;

use super::scene::{Scene, guards};
use super::{Reason, ReasonKind};
use check::exchange::worth;
use model::men;
use model::tongue::say;

pub fn find(scene: &Scene, at: usize, found: &mut Vec<Reason>) {
    let mv = scene.mv(at);
    let (Some(next), Some(reply), Some(role)) = (scene.next(at), scene.reply(at), mv.capture())
    else {
        return;
    };
    if mv.is_en_passant() {
        return;
    }
    let before = scene.before(at).board();
    let guard = mv.to();
    let target = next.to();
    let prize = next.capture().filter(|_| {
        before
            .role_at(target)
            .is_some_and(|r| Some(r) == next.capture())
    });
    let pays =
        prize.is_some_and(|r| worth(r) >= worth(shakmaty::Role::Knight)) || scene.next_mates(at);
    let undefended = scene.after_next(at).is_some_and(|p| {
        p.is_checkmate()
            || p.board()
                .attacks_to(target, !scene.solver, p.board().occupied())
                .is_empty()
    });
    if target == guard
        || !pays
        || !undefended
        || !guards(before, guard, target)
        || reply.from() == Some(target)
    {
        return;
    }
    let object = match prize {
        Some(_) => men::on(before, target),
        None => target.to_string(),
    };
    let sentence = say!(
        "{move} takes {man} that guarded {object}.",
        move = scene.san(at),
        man = men::the(role),
        object = object,
    );
    found.push(scene.reason(
        ReasonKind::RemovedGuard,
        at,
        sentence,
        vec![target, guard],
        vec![(guard, target)],
    ));
}
