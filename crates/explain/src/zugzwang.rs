//! Zugzwang: the other side, not in check, would keep what it has if it could
//! pass, and every legal reply loses it.

use shakmaty::{Chess, Position};

use super::analyst::{Analyst, hundredths};
use super::scene::Scene;
use super::{Reason, ReasonKind};
use check::Goal;
use model::notation::moves;
use model::tongue::{phrase, say};
use model::transform::passed;
use prove::Watch;

pub fn find(scene: &Scene, at: usize, found: &mut Vec<Reason>) {
    let after = scene.after(at);
    let Some(goal) = scene.facts(at).pass else {
        return;
    };
    let sentence = say!(
        match goal.forced() {
            Some(_) => phrase!("After {move} {side} is in zugzwang: with a pass there would be no {aim} in time, and every move allows it.", "move side aim"),
            None => phrase!("After {move} {side} is in zugzwang: a pass would hold, and every move loses.", "move side aim"),
        },
        move = scene.san(at),
        side = moves::side_name(after.turn()),
        aim = goal.forced().map_or("", |(aim, _)| aim.noun()),
    );
    let king = after.board().king_of(after.turn());
    found.push(scene.reason(
        ReasonKind::Zugzwang,
        at,
        sentence,
        king.into_iter().collect(),
        Vec::new(),
    ));
}

impl Analyst {
    /// Whether the side to move in `after` would be out of danger if it could
    /// pass. `goal` is what the other side is asked after this move, with the
    /// moves then left; that it meets it against every legal move is not
    /// asked here.
    pub(super) fn pass_saves(&mut self, after: &Chess, goal: Goal, watch: &mut dyn Watch) -> bool {
        if after.is_check() || after.is_game_over() {
            return false;
        }
        let Some(before) = passed(after) else {
            return false;
        };
        match (goal.forced(), goal) {
            (Some((aim, n)), _) if !aim.shared() => {
                self.prover().force(aim, &before, n, watch) == Ok(None)
            }
            (_, Goal::Win(margins) | Goal::Draw(margins)) => self
                .best(&before, None, watch)
                .is_some_and(|line| hundredths(line.value) < margins.wrong),
            _ => false,
        }
    }
}
