//! Fork, or double attack: the man that moved attacks two targets at once (the
//! king, a man worth more than itself, or an unguarded piece), and takes one
//! of them at the solver's next move, or threatens to take either.

use shakmaty::{Move, Position, Square};

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
    let takes =
        |mv: &Move| mv.from() == Some(hunter) && mv.is_capture() && targets.contains(&mv.to());
    let threatened = scene.facts(at).threatened.iter().filter(|mv| takes(mv));
    let pays = scene.next(at).is_some_and(|mv| takes(&mv)) || threatened.count() > 1;
    if targets.len() < 2 || !pays {
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
