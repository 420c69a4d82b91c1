//! Skewer: a slider attacks a man that must leave the line, and takes the man
//! behind it.

use shakmaty::{Position, Role};

use super::scene::{Scene, rays};
use super::{Reason, ReasonKind};
use check::exchange::worth;
use model::men;
use model::tongue::say;

pub fn find(scene: &Scene, at: usize, found: &mut Vec<Reason>) {
    let board = scene.after(at).board();
    let slider = scene.landing(at);
    let (Some(reply), Some(next), Some(hunter)) =
        (scene.reply(at), scene.next(at), board.role_at(slider))
    else {
        return;
    };
    for (front, behind) in rays(board, slider) {
        let Some(behind) = behind else { continue };
        let (Some(first), Some(second)) = (board.piece_at(front), board.piece_at(behind)) else {
            continue;
        };
        let enemies = first.color != scene.solver && second.color != scene.solver;
        let driven = first.role == Role::King || worth(first.role) > worth(hunter);
        let ordered = worth(first.role) >= worth(second.role) && second.role != Role::Pawn;
        let shown =
            reply.from() == Some(front) && next.from() == Some(slider) && next.to() == behind;
        if enemies && driven && ordered && shown {
            let sentence = say!(
                "{move} drives {man} off the line and takes {object} behind it.",
                move = scene.san(at),
                man = men::on(board, front),
                object = men::on(board, behind),
            );
            found.push(scene.reason(
                ReasonKind::Skewer,
                at,
                sentence,
                vec![front, behind, slider],
                vec![(slider, behind)],
            ));
            return;
        }
    }
}
