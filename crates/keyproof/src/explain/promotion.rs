//! Promotion: a pawn of the solver's promotes, to a queen or, with purpose, to
//! less.

use shakmaty::Role;

use super::scene::{Scene, name};
use super::{Reason, ReasonKind};

pub fn find(scene: &Scene, at: usize, found: &mut Vec<Reason>) {
    let Some(role) = scene.mv(at).promotion() else {
        return;
    };
    let sentence = match role {
        Role::Queen => format!("{} promotes the pawn.", scene.san(at)),
        other => format!(
            "{} promotes to a {}, not to a queen.",
            scene.san(at),
            name(other)
        ),
    };
    let square = scene.landing(at);
    found.push(scene.reason(
        ReasonKind::Promotion,
        at,
        sentence,
        vec![square],
        Vec::new(),
    ));
}
