//! Overload: one man guards two things; the solver takes the first, and when
//! that man takes back, the second.

use shakmaty::{Position, Role};

use super::scene::{Scene, capital, guards, landing};
use super::{Reason, ReasonKind};
use check::exchange::worth;
use model::men;
use model::tongue::say;

pub fn find(scene: &Scene, at: usize, found: &mut Vec<Reason>) {
    let (Some(reply), Some(next), Some(later)) =
        (scene.reply(at), scene.next(at), scene.after_reply(at))
    else {
        return;
    };
    let before = scene.before(at).board();
    let (first, second) = (scene.mv(at).to(), next.to());
    let Some(guard) = reply
        .from()
        .filter(|_| !reply.is_castle() && reply.to() == first)
    else {
        return;
    };
    let both = scene.mv(at).is_capture()
        && guards(before, guard, first)
        && guards(before, guard, second)
        && first != second
        && !guards(later.board(), landing(reply, !scene.solver), second);
    let prize = next
        .capture()
        .is_some_and(|r| worth(r) >= worth(Role::Knight))
        && later
            .board()
            .attacks_to(second, !scene.solver, later.board().occupied())
            .is_empty();
    if both && (prize || scene.next_mates(at)) {
        let object = if next.is_capture() {
            men::on(before, second)
        } else {
            second.to_string()
        };
        let sentence = capital(&say!(
            "{man} has to guard {square} as well as {object}, and cannot do both.",
            man = men::on(before, guard),
            square = first.to_string(),
            object = object,
        ));
        found.push(scene.reason(
            ReasonKind::Overload,
            at,
            sentence,
            vec![guard, first, second],
            vec![(guard, first), (guard, second)],
        ));
    }
}
