//! Discovered check: the man that gives check is not the one that moved.
//! Discovered attack: a man moves off the line of a slider of its own side,
//! which then attacks a man it did not attack before, and takes it in the line, or
//! threatens to while the man that moved has a threat of its own.

use shakmaty::{Position, Role, Square};

use super::scene::{Scene, is_slider, is_target};
use super::{Reason, ReasonKind};
use model::men;
use model::tongue::say;

pub fn find(scene: &Scene, at: usize, found: &mut Vec<Reason>) {
    check(scene, at, found);
    attack(scene, at, found);
}

fn check(scene: &Scene, at: usize, found: &mut Vec<Reason>) {
    let after = scene.after(at);
    let mut checkers = after.checkers();
    let Some(king) = after.board().king_of(!scene.solver) else {
        return;
    };
    // Castling moves the rook too; a check by that rook is not discovered.
    if checkers.count() != 1 || scene.mv(at).is_castle() {
        return;
    }
    let Some(checker) = checkers.pop_front().filter(|&s| s != scene.landing(at)) else {
        return;
    };
    let sentence = say!(
        "{move} discovers check from {man}.",
        move = scene.san(at),
        man = men::on(after.board(), checker),
    );
    found.push(scene.reason(
        ReasonKind::DiscoveredCheck,
        at,
        sentence,
        vec![checker, king],
        vec![(checker, king)],
    ));
}

fn attack(scene: &Scene, at: usize, found: &mut Vec<Reason>) {
    let (before, after) = (scene.before(at).board(), scene.after(at).board());
    let Some(from) = scene.mv(at).from().filter(|_| !scene.mv(at).is_castle()) else {
        return;
    };
    for slider in after.by_color(scene.solver) {
        let opened = after.role_at(slider).is_some_and(is_slider)
            && slider != scene.landing(at)
            && before.attacks_from(slider).contains(from);
        if !opened {
            continue;
        }
        let new = after.attacks_from(slider)
            & !before.attacks_from(slider)
            & after.by_color(!scene.solver);
        for target in new {
            if after.role_at(target) == Some(Role::King) || !is_target(after, slider, target) {
                continue;
            }
            if takes(scene, at, slider, target) || threatens(scene, at, slider, target) {
                let sentence = say!(
                    "{move} opens the line of {man} to {object}.",
                    move = scene.san(at),
                    man = men::on(after, slider),
                    object = men::on(after, target),
                );
                found.push(scene.reason(
                    ReasonKind::DiscoveredAttack,
                    at,
                    sentence,
                    vec![target, slider],
                    vec![(slider, target)],
                ));
                return;
            }
        }
    }
}

/// Whether the slider takes the man on that square in one of the solver's
/// later moves, the man not having left it; or the man leaves it and is taken at once.
fn takes(scene: &Scene, at: usize, slider: Square, target: Square) -> bool {
    let mut later = scene.later(at);
    let left = scene.reply(at).filter(|reply| reply.from() == Some(target));
    match (left, scene.next(at)) {
        (Some(reply), Some(next)) => next.is_capture() && next.to() == reply.to(),
        _ => later.any(|mv| mv.from() == Some(slider) && mv.to() == target && mv.is_capture()),
    }
}

/// Whether the slider threatens to take the man, and the man that moved something else.
fn threatens(scene: &Scene, at: usize, slider: Square, target: Square) -> bool {
    let threatened = &scene.facts(at).threatened;
    let by = |from: Square| threatened.iter().filter(move |mv| mv.from() == Some(from));
    by(slider).any(|mv| mv.to() == target && mv.is_capture())
        && by(scene.landing(at)).any(|mv| mv.to() != target)
}
