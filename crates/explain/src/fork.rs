//! Fork, or double attack: the man that moved attacks two targets at once (the
//! king, a man worth more than itself, or an unguarded piece), and takes one
//! of them at the solver's next move.

use shakmaty::{Position, Square};

use super::scene::{Scene, is_target, joined};
use super::{Reason, ReasonKind};
use model::men;
use model::tongue::say;

pub fn find(scene: &Scene, at: usize, found: &mut Vec<Reason>) {
    let after = scene.after(at);
    let board = after.board();
    let hunter = scene.landing(at);
    let targets: Vec<Square> = (board.attacks_from(hunter) & board.by_color(!scene.solver))
        .into_iter()
        .filter(|&s| is_target(board, hunter, s))
        .collect();
    let taken = scene.next(at).is_some_and(|mv| {
        mv.from() == Some(hunter) && mv.is_capture() && targets.contains(&mv.to())
    });
    if targets.len() < 2 || !taken {
        return;
    }
    let names: Vec<String> = targets.iter().map(|&s| men::on(board, s)).collect();
    let sentence = say!(
        "{move} attacks {men} at once.",
        move = scene.san(at),
        men = joined(&names),
    );
    let arrows = targets.iter().map(|&s| (hunter, s)).collect();
    let mut squares = vec![hunter];
    squares.extend(targets);
    found.push(scene.reason(ReasonKind::Fork, at, sentence, squares, arrows));
}
