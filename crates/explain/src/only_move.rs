//! Only move: every other legal move fails what is asked, and there are
//! others.

use shakmaty::Position;

use super::scene::Scene;
use super::{Reason, ReasonKind};
use check::{Goal, Known};
use model::tongue::{phrase, say};

pub fn find(scene: &Scene, at: usize, found: &mut Vec<Reason>) {
    let others = scene.before(at).legal_moves().len() - 1;
    if others == 0 || !scene.facts(at).only {
        return;
    }
    let sentence = say!(
        match others {
            1 => phrase!("{move} is the only move: the other one fails.", "move n"),
            2 => phrase!("{move} is the only move: both others fail.", "move n"),
            _ => phrase!("{move} is the only move: all {n} others fail.", "move n"),
        },
        move = scene.san(at),
        n = others.to_string(),
    );
    found.push(scene.reason(
        ReasonKind::OnlyMove,
        at,
        sentence,
        vec![scene.landing(at)],
        Vec::new(),
    ));
}

/// Whether all legal moves are known, and all but the one played fail.
pub fn holds(scene: &Scene, at: usize, goal: Goal, known: &Known) -> bool {
    let position = scene.before(at);
    let rulings = known.rulings(position, goal);
    rulings.len() == position.legal_moves().len()
        && rulings
            .iter()
            .all(|(mv, ruling)| ruling.fails() != (*mv == scene.mv(at)))
        && known
            .ruling(position, goal, scene.mv(at))
            .is_some_and(|ruling| ruling.holds())
}
