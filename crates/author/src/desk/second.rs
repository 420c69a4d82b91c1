//! The second check of the puzzles' mates.

use super::Desk;
use crate::message::Effect;
use crate::second::{Accepted, Claimed, Second};
use crate::work::SheetId;
use keyproof::puzzle::Stipulation;

/// What an export can say of its mates.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Proofs {
    /// It has none, or not all of them are checked.
    Unchecked,
    /// All accepted: their texts, and the positions that the checker set up.
    Checked(String, usize),
}

impl Desk {
    /// What is known of the second check of a puzzle.
    pub fn second(&self, id: SheetId) -> Second<'_> {
        let claimed = self.looks.get(&id).and_then(Claimed::of);
        self.second.of(claimed.as_ref())
    }
    /// Whether exports are to carry the proofs.
    pub fn with_proofs(&self) -> bool {
        self.with_proofs
    }
    /// Whether any puzzle on the desk has a proof that can be carried.
    pub fn has_proofs(&self) -> bool {
        let mut ids = self.work.sheets.iter().map(|sheet| sheet.id);
        ids.any(|id| self.second(id) != Second::Unasked)
    }

    /// Hands the second check what the desk claims now, the open puzzle first.
    pub(super) fn assign_second(&mut self) -> Vec<Effect> {
        if self.bench.is_empty() || self.bench.stopped() {
            return vec![];
        }
        let looks = self.in_order().filter_map(|id| self.looks.get(&id));
        let wanted: Vec<Claimed> = looks.filter_map(Claimed::of).collect();
        let orders = self.second.assign(&wanted);
        orders.into_iter().map(Effect::Second).collect()
    }
    pub(super) fn end_second(&mut self) -> Option<Effect> {
        self.second.end().map(Effect::Second)
    }
    pub(super) fn second_done(
        &mut self,
        ticket: u32,
        result: Result<Accepted, String>,
    ) -> Vec<Effect> {
        self.second.done(ticket, result);
        self.assign_second()
    }
    /// The proofs of the puzzles that claim a mate.
    pub(super) fn proofs(&self, ids: &[SheetId]) -> Proofs {
        let (mut texts, mut positions) = (Vec::new(), 0);
        for &id in ids {
            match self.second(id) {
                Second::Accepted(accepted) => {
                    texts.push(accepted.text.as_str());
                    positions += accepted.positions;
                }
                _ if self.claims_mate(id) => return Proofs::Unchecked,
                _ => {}
            }
        }
        match texts.is_empty() {
            true => Proofs::Unchecked,
            false => Proofs::Checked(texts.join("\n"), positions),
        }
    }
    pub(super) fn claims_mate(&self, id: SheetId) -> bool {
        let look = self.looks.get(&id);
        let asked = look.and_then(|look| look.lesson.as_ref());
        let asked = asked.into_iter().flat_map(|lesson| &lesson.asked);
        let asked = asked.map(|asked| asked.moment.stipulation);
        let puzzle = look.and_then(|look| look.puzzle.as_ref());
        puzzle
            .map(|puzzle| puzzle.stipulation())
            .into_iter()
            .chain(asked)
            .any(|asks| matches!(asks, Stipulation::Mate(_)))
    }
}
