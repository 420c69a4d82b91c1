//! Quiet move: neither check nor capture nor promotion, and the side to move
//! was not in check. Said of the first move only.

use shakmaty::Position;

use super::scene::Scene;
use super::{Reason, ReasonKind};
use model::tongue::say;

pub fn find(scene: &Scene, at: usize, found: &mut Vec<Reason>) {
    let mv = scene.mv(at);
    let loud = mv.is_capture()
        || mv.is_promotion()
        || scene.after(at).is_check()
        || scene.before(at).is_check();
    if at > 0 || loud || scene.solver_moves() < 2 {
        return;
    }
    let sentence = say!(
        "{move} is a quiet move: no check and no capture.",
        move = scene.san(at),
    );
    found.push(scene.reason(
        ReasonKind::QuietMove,
        at,
        sentence,
        vec![scene.landing(at)],
        Vec::new(),
    ));
}
