//! Interference: a man lands between a slider of the other side and a man or
//! square it guarded, which the solver then takes, or mates on.

use shakmaty::{Position, attacks};

use super::scene::{Scene, guards, is_slider};
use super::{Reason, ReasonKind};
use model::men;
use model::tongue::say;

pub fn find(scene: &Scene, at: usize, found: &mut Vec<Reason>) {
    let (before, after) = (scene.before(at).board(), scene.after(at).board());
    let (Some(next), Some(last)) = (scene.next(at), scene.after_next(at)) else {
        return;
    };
    let (square, target) = (scene.landing(at), next.to());
    if !scene.next_pays(at) || target == square {
        return;
    }
    for slider in before.by_color(!scene.solver) & before.sliders() {
        let cut = before.role_at(slider).is_some_and(is_slider)
            && attacks::between(slider, target).contains(square)
            && guards(before, slider, target)
            && !guards(after, slider, target)
            && last.board().piece_at(slider) == before.piece_at(slider);
        if cut {
            let object = if next.is_capture() {
                men::on(after, target)
            } else {
                target.to_string()
            };
            let sentence = say!(
                "{move} cuts {man} off from {object}.",
                move = scene.san(at),
                man = men::on(after, slider),
                object = object,
            );
            found.push(scene.reason(
                ReasonKind::Interference,
                at,
                sentence,
                vec![square, slider, target],
                vec![(slider, target)],
            ));
            return;
        }
    }
}
