//! Double check: the move gives check with two men at once.

use shakmaty::Position;

use super::scene::{Scene, joined};
use super::{Reason, ReasonKind};
use model::men;
use model::tongue::say;

pub fn find(scene: &Scene, at: usize, found: &mut Vec<Reason>) {
    let after = scene.after(at);
    let checkers = after.checkers();
    let Some(king) = after.board().king_of(!scene.solver) else {
        return;
    };
    if checkers.count() < 2 {
        return;
    }
    let men: Vec<String> = checkers
        .into_iter()
        .map(|s| men::on(after.board(), s))
        .collect();
    let sentence = say!(
        "{move} is double check, from {men}: only the king can move.",
        move = scene.san(at),
        men = joined(&men),
    );
    let mut squares = vec![king];
    squares.extend(checkers);
    let arrows = checkers.into_iter().map(|s| (s, king)).collect();
    found.push(scene.reason(ReasonKind::DoubleCheck, at, sentence, squares, arrows));
}
