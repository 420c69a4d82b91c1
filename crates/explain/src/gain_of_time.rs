//! Gain of time: a move that is no check attacks a man which must go, so that the other
//! side has no time to meet what follows: mate, or the capture of something else for
//! nothing, by another man or by this one. Where one man attacks both, it is a fork.

use shakmaty::{Position, Role};

use super::scene::{Scene, is_target};
use super::{Reason, ReasonKind};
use model::men;
use model::tongue::say;

pub fn find(scene: &Scene, at: usize, found: &mut Vec<Reason>) {
    let (Some(reply), Some(next)) = (scene.reply(at), scene.next(at)) else {
        return;
    };
    let (before, after) = (scene.before(at).board(), scene.after(at).board());
    let attacker = scene.landing(at);
    let Some(attacked) = reply.from().filter(|_| !reply.is_castle()) else {
        return;
    };
    let new = after.attacks_from(attacker).contains(attacked)
        && before
            .attacks_to(attacked, scene.solver, before.occupied())
            .is_empty()
        && is_target(after, attacker, attacked)
        && after.role_at(attacked) != Some(Role::King);
    let follows = scene.next_pays(at);
    let forked = next.from() == Some(attacker)
        && next.is_capture()
        && after.attacks_from(attacker).contains(next.to());
    let same = next.to() == reply.to();
    if !new || !follows || forked || same || reply.is_capture() || scene.after(at).is_check() {
        return;
    }
    let sentence = say!(
        "{move} gains time: {man} is attacked and must go, and {next} follows.",
        move = scene.san(at),
        man = men::on(after, attacked),
        next = scene.san(at + 1),
    );
    found.push(scene.reason(
        ReasonKind::GainOfTime,
        at,
        sentence,
        vec![attacked, next.to()],
        vec![(attacker, attacked)],
    ));
}
