//! The second check of the puzzles' mates.

use super::Desk;
use crate::message::Effect;
use crate::second::{Accepted, Claimed, Refusal, Second};
use crate::work::SheetId;

/// What an export can say of its mates.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Proofs {
    /// It has none, or not all of them are checked.
    Unchecked,
    /// All accepted: their texts, and the positions that the checker set up.
    Checked(String, usize),
}

impl Desk {
    /// What is known of the second check of each mate of a puzzle or lesson.
    pub fn second(&self, id: SheetId) -> Vec<Second<'_>> {
        let claimed = self.looks.get(&id).map_or_else(Vec::new, Claimed::all);
        let mates = claimed.iter();
        mates
            .map(|claimed| self.second.of(claimed.as_ref()))
            .collect()
    }
    /// Whether exports are to carry the proofs.
    pub fn with_proofs(&self) -> bool {
        self.with_proofs
    }
    /// Whether any puzzle on the desk has a proof that can be carried.
    pub fn has_proofs(&self) -> bool {
        let mut ids = self.work.sheets.iter().map(|sheet| sheet.id);
        ids.any(|id| self.second(id).iter().any(|mate| *mate != Second::Unasked))
    }

    /// Hands the second check what the desk claims now, the open puzzle first.
    pub(super) fn assign_second(&mut self) -> Vec<Effect> {
        if self.bench.is_empty() || self.bench.stopped() {
            return vec![];
        }
        let ids = self.in_hand();
        let looks = ids.iter().filter_map(|id| self.looks.get(id));
        let wanted: Vec<Claimed> = looks.flat_map(Claimed::all).flatten().collect();
        let orders = self.second.assign(&wanted);
        orders.into_iter().map(Effect::Second).collect()
    }
    pub(super) fn end_second(&mut self) -> Option<Effect> {
        self.second.end().map(Effect::Second)
    }
    pub(super) fn second_done(
        &mut self,
        ticket: u32,
        result: Result<Accepted, Refusal>,
    ) -> Vec<Effect> {
        self.second.done(ticket, result);
        self.assign_second()
    }
    /// The proofs of the puzzles that claim a mate.
    pub(super) fn proofs(&self, ids: &[SheetId]) -> Proofs {
        let (mut texts, mut positions) = (Vec::new(), 0);
        for &id in ids {
            for mate in self.second(id) {
                let Second::Accepted(accepted) = mate else {
                    return Proofs::Unchecked;
                };
                texts.push(accepted.text.as_str());
                positions += accepted.positions;
            }
        }
        match texts.is_empty() {
            true => Proofs::Unchecked,
            false => Proofs::Checked(texts.join("\n"), positions),
        }
    }
    pub(super) fn claims_mate(&self, id: SheetId) -> bool {
        !self.second(id).is_empty()
    }
}
