//! Decoy: the solver offers a man; the man that takes it is lured to a square
//! where the solver mates it, or attacks it together with another.

use shakmaty::{Position, Role};

use super::scene::{Scene, is_target};
use super::{Reason, ReasonKind};
use check::exchange::worth;
use model::men;
use model::tongue::{phrase, say};

pub fn find(scene: &Scene, at: usize, found: &mut Vec<Reason>) {
    let (Some(reply), Some(next), Some(lured)) =
        (scene.reply(at), scene.next(at), scene.after_reply(at))
    else {
        return;
    };
    let square = scene.landing(at);
    let Some(man) = lured.board().role_at(square) else {
        return;
    };
    if reply.to() != square || !reply.is_capture() {
        return;
    }
    let offered =
        worth(reply.capture().unwrap_or(Role::Pawn)) - scene.mv(at).capture().map_or(0, worth);
    if offered <= 0 {
        return;
    }
    let (text, other) = if man == Role::King && scene.next_mates(at) {
        (
            phrase!(
                "{move} lures {man} to {square}, and mates it there.",
                "move man square other"
            ),
            String::new(),
        )
    } else {
        let Some(after) = scene.after_next(at) else {
            return;
        };
        let hunter = super::scene::landing(next, scene.solver);
        let board = after.board();
        let both = board.attacks_from(hunter) & board.by_color(!scene.solver);
        let targets: Vec<_> = both
            .into_iter()
            .filter(|&s| is_target(board, hunter, s))
            .collect();
        let forked = targets.contains(&square)
            && targets.len() > 1
            && scene.later(at + 1).next().is_some_and(|mv| {
                mv.from() == Some(hunter) && mv.is_capture() && targets.contains(&mv.to())
            });
        if !forked {
            return;
        }
        let other = targets
            .into_iter()
            .find(|&s| s != square)
            .map_or(String::new(), |s| men::on(board, s));
        let text = phrase!(
            "{move} lures {man} to {square}, where it can be attacked together with {other}.",
            "move man square other"
        );
        (text, other)
    };
    let sentence = say!(
        text,
        move = scene.san(at),
        man = men::the(man),
        square = square.to_string(),
        other = other,
    );
    found.push(scene.reason(ReasonKind::Decoy, at, sentence, vec![square], Vec::new()));
}
