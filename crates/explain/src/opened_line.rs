//! Opened line: the man that replies leaves the line of a slider of the solver's, which
//! goes along that line in the next move, or over it gives the mate, or wins what it
//! takes there for nothing.

use shakmaty::{Position, Square, attacks};

use super::scene::{Scene, is_slider, landing};
use super::{Reason, ReasonKind};
use model::men;
use model::notation::moves;
use model::tongue::say;

pub fn find(scene: &Scene, at: usize, found: &mut Vec<Reason>) {
    let (Some(reply), Some(next)) = (scene.reply(at), scene.next(at)) else {
        return;
    };
    let (Some(opened), Some(user)) = (reply.from(), next.from()) else {
        return;
    };
    // What goes away of its own accord opens nothing: the reply takes what was offered.
    let drawn = reply.is_capture() && reply.to() == scene.landing(at);
    if !drawn || next.is_castle() || !is_slider(next.role()) || next.to() == reply.to() {
        return;
    }
    let target = landing(next, scene.solver);
    let Some(end) = end(scene, at, (opened, user, target)) else {
        return;
    };
    if !scene.next_pays(at) {
        return;
    }
    let after = scene.after(at);
    let sentence = say!(
        "{reply} opens the line of {man} to {square}.",
        reply = moves::line(after, &[reply], u32::from(after.fullmoves())),
        man = men::on(after.board(), user),
        square = end.to_string(),
    );
    found.push(scene.reason(
        ReasonKind::OpenedLine,
        at,
        sentence,
        vec![opened, end],
        vec![(target, end), (user, target)],
    ));
}

/// Where the line leads on which the reply left a square: the square that the slider goes
/// to, or the king that it then mates.
fn end(
    scene: &Scene,
    at: usize,
    (opened, user, target): (Square, Square, Square),
) -> Option<Square> {
    if attacks::between(user, target).contains(opened) {
        return Some(target);
    }
    let last = scene.after_next(at).filter(|last| last.is_checkmate())?;
    let king = last.board().king_of(!scene.solver)?;
    let checks = last.checkers().contains(target);
    (checks && attacks::between(target, king).contains(opened)).then_some(king)
}
