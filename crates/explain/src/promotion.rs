//! Promotion: a pawn of the solver's promotes, to a queen or, with purpose, to
//! less.

use shakmaty::Role;

use super::scene::Scene;
use super::{Reason, ReasonKind};
use model::tongue::{phrase, say};

pub fn find(scene: &Scene, at: usize, found: &mut Vec<Reason>) {
    let Some(role) = scene.mv(at).promotion() else {
        return;
    };
    let sentence = match role {
        Role::Queen => phrase!("{move} promotes the pawn.", "move"),
        Role::Rook => phrase!("{move} promotes to a rook, not to a queen.", "move"),
        Role::Bishop => phrase!("{move} promotes to a bishop, not to a queen.", "move"),
        _ => phrase!("{move} promotes to a knight, not to a queen.", "move"),
    };
    let sentence = say!(sentence, move = scene.san(at));
    let square = scene.landing(at);
    found.push(scene.reason(
        ReasonKind::Promotion,
        at,
        sentence,
        vec![square],
        Vec::new(),
    ));
}
