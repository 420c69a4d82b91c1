//! Deflection: the reply to the solver's offer or check draws a man away from
//! a man or square it guarded, which the solver then takes, or mates on. A man
//! taken through the square that its guard left was skewered, and one that was
//! worth taking guarded as it was needed no deflection.

use shakmaty::{Position, Role, attacks};

use super::scene::{Scene, guards, landing};
use super::{Reason, ReasonKind};
use check::exchange::worth;
use model::men;
use model::tongue::say;

pub fn find(scene: &Scene, at: usize, found: &mut Vec<Reason>) {
    if let Some((guard, sentence, target)) = deflected(scene, at) {
        found.push(scene.reason(
            ReasonKind::Deflection,
            at,
            sentence,
            vec![guard, target],
            vec![(guard, target)],
        ));
    }
}

fn deflected(scene: &Scene, at: usize) -> Option<(shakmaty::Square, String, shakmaty::Square)> {
    let (reply, next) = (scene.reply(at)?, scene.next(at)?);
    let (board, later) = (scene.after(at).board(), scene.after_reply(at)?.board());
    let guard = reply.from().filter(|_| !reply.is_castle())?;
    let target = next.to();
    let forced = reply.to() == scene.landing(at)
        || scene.after(at).is_check() && board.role_at(guard) == Some(Role::King);
    let left =
        guards(board, guard, target) && !guards(later, landing(reply, !scene.solver), target);
    let untouched = target != scene.landing(at) && target != reply.to();
    let prize = next
        .capture()
        .is_some_and(|r| worth(r) >= worth(Role::Knight));
    let needed = scene.next_mates(at)
        || next
            .capture()
            .is_some_and(|r| worth(r) <= worth(next.role()));
    let safe = later
        .attacks_to(target, !scene.solver, later.occupied())
        .is_empty();
    let through = next
        .from()
        .is_some_and(|from| attacks::between(from, target).contains(guard));
    (forced && left && untouched && needed && !through && (scene.next_mates(at) || prize && safe))
        .then(|| {
            let object = if prize {
                men::on(board, target)
            } else {
                target.to_string()
            };
            let sentence = say!(
                "{move} draws {man} away from {object}.",
                move = scene.san(at),
                man = men::on(board, guard),
                object = object,
            );
            (guard, sentence, target)
        })
}
