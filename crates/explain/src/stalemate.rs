//! Stalemate: the line ends with one side stalemated. Saves the side that is
//! stalemated.

use shakmaty::Position;

use super::scene::Scene;
use super::{Reason, ReasonKind};
use model::tongue::say;

pub fn find(scene: &Scene, at: usize, found: &mut Vec<Reason>) {
    let ends = at + 1 == scene.solver_moves();
    let last = scene.last();
    if !ends || !last.is_stalemate() || last.turn() != scene.solver {
        return;
    }
    let Some(king) = last.board().king_of(scene.solver) else {
        return;
    };
    let sentence = say!("{move} ends in stalemate.", move = scene.san(at));
    found.push(scene.reason(ReasonKind::Stalemate, at, sentence, vec![king], Vec::new()));
}
