//! Move order: the solver's next move, a check or a capture, could be played at once and
//! fails then. Said of the first move only.

use shakmaty::{Move, Position};

use super::analyst::played;
use super::scene::Scene;
use super::{Reason, ReasonKind};
use check::{Goal, Known, Ruling};
use model::notation::moves;
use model::tongue::say;

pub fn find(scene: &Scene, at: usize, found: &mut Vec<Reason>) {
    let Some(line) = &scene.facts(at).too_soon else {
        return;
    };
    let start = scene.before(0);
    let number = u32::from(start.fullmoves());
    let (soon, reply) = line.split_at(1);
    let mv = soon[0];
    let shown = moves::line(start, soon, number);
    let sentence = if reply.is_empty() {
        say!("The order matters: {move} at once fails.", move = shown)
    } else {
        let after = played(start, mv);
        let number = u32::from(after.fullmoves());
        say!(
            "The order matters: {move} at once fails to {reply}.",
            move = shown,
            reply = moves::line(&after, reply, number),
        )
    };
    found.push(scene.reason(
        ReasonKind::MoveOrder,
        at,
        sentence,
        vec![mv.to()],
        mv.from().map(|from| (from, mv.to())).into_iter().collect(),
    ));
}

/// The solver's second move played first, and the reply that refutes it.
pub fn too_soon(scene: &Scene, goal: Goal, known: &Known) -> Option<Vec<Move>> {
    let (next, first) = (scene.next(0)?, scene.mv(0));
    let start = scene.before(0);
    let itself = next.to() == scene.landing(0) || next.from() == Some(scene.landing(0));
    if next == first || itself || !start.is_legal(next) {
        return None;
    }
    let loud = next.is_capture() || played(start, next).is_check();
    if !loud {
        return None;
    }
    match known.ruling(start, goal, next)? {
        Ruling::Fails { line, .. } => {
            let shown = line.iter().copied().take(2).collect::<Vec<_>>();
            (!shown.is_empty()).then_some(shown)
        }
        _ => None,
    }
}
