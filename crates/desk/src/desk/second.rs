//! The second check of the puzzles' mates and gains of material.

use std::collections::HashSet;

use keyproof::check::{Claim, Opinion, Second};
use keyproof_second::Heard;

use super::Desk;
use crate::message::{Effect, Scope};
use crate::second::Wanted;
use crate::wire::{Order, Post};
use crate::work::SheetId;

/// What an export can say of its mates and gains.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Proofs {
    /// It has none, or not all of them are checked.
    Unchecked,
    /// All accepted: their texts, and the positions that the checker set up.
    Checked(String, usize),
}

impl Desk {
    /// Whether exports are to carry the proofs.
    pub fn with_proofs(&self) -> bool {
        self.giving_out.with_proofs
    }
    /// Whether any puzzle on the desk has a proof that can be carried.
    pub fn has_proofs(&self) -> bool {
        let carries = |second: &Second| matches!(second, Second::Waiting | Second::Accepted { .. });
        let mut models = self.checking.models.values();
        models.any(|model| carries(&model.report.second) && !model.first_claims().is_empty())
    }

    /// Hands the second check what the desk claims now, the open puzzle first.
    pub(super) fn assign_second(&mut self) -> Vec<Effect> {
        if self.checking.bench.is_empty() || self.checking.bench.stopped() {
            return vec![];
        }
        let wanted: Vec<Wanted> = self
            .in_order()
            .into_iter()
            .map(|sheet| Wanted {
                sheet,
                claims: self.to_be_checked(sheet),
                budget: self.budget(sheet),
            })
            .collect();
        let orders = self.checking.second.assign(&wanted);
        orders.into_iter().map(Effect::Work).collect()
    }
    /// What the checker has not heard of a sheet, or what it accepted and is to be
    /// carried and was not kept.
    fn to_be_checked(&self, id: SheetId) -> Vec<Claim> {
        let Some(model) = self.checking.models.get(&id) else {
            return vec![];
        };
        let mut claims = model.claims.clone();
        if self.giving_out.with_proofs && matches!(model.report.second, Second::Accepted { .. }) {
            let first = model.first_claims().into_iter();
            claims.extend(first.filter(|claim| self.checking.second.text(claim).is_none()));
        }
        claims
    }
    pub(super) fn end_second(&mut self) -> Option<Effect> {
        self.checking.second.end().map(Effect::Work)
    }
    pub(super) fn second_done(&mut self, ticket: u32, heard: Vec<Heard>) -> Vec<Effect> {
        if let Some(sheet) = self.checking.second.done(ticket) {
            self.hear(sheet, heard);
        }
        self.assign()
    }
    pub(super) fn second_broke(&mut self, why: &str) -> Vec<Effect> {
        let mut effects = Vec::new();
        if let Some((sheet, heard)) = self.checking.second.broke(why) {
            effects.push(Effect::Work(Order::End(Post::Second)));
            self.hear(sheet, heard);
        }
        effects.extend(self.assign());
        effects
    }
    fn hear(&mut self, id: SheetId, heard: Vec<Heard>) {
        let Some(model) = self.checking.models.get_mut(&id) else {
            return;
        };
        model.hear(&heard);
        // Of a puzzle, what is said of its first moves can be carried.
        let first: HashSet<Claim> = model.first_claims().into_iter().collect();
        for one in heard {
            if first.contains(&one.claim) {
                self.checking.second.keep(one, &first);
            }
        }
        self.list.shelf.verdicts_changed();
        self.put_away_if_checked(id);
    }
    /// The proofs of the puzzles that claim a mate or a gain.
    pub(super) fn proofs(&self, ids: &[SheetId]) -> Proofs {
        let (mut texts, mut all) = (Vec::new(), 0);
        for model in ids.iter().filter_map(|id| self.checking.models.get(id)) {
            let claims = model.first_claims();
            if claims.is_empty() {
                continue;
            }
            let Second::Accepted { .. } = model.report.second else {
                return Proofs::Unchecked;
            };
            for claim in claims {
                match (model.known.heard(&claim), self.checking.second.text(&claim)) {
                    (Some(Opinion::Accepted { positions }), Some(text)) => {
                        all += positions;
                        texts.push(text);
                    }
                    (Some(Opinion::Accepted { positions }), None)
                        if !self.giving_out.with_proofs =>
                    {
                        all += positions;
                    }
                    _ => return Proofs::Unchecked,
                }
            }
        }
        match all {
            0 => Proofs::Unchecked,
            _ => Proofs::Checked(texts.join("\n"), all),
        }
    }
    pub(super) fn claims_proof(&self, id: SheetId) -> bool {
        let model = self.checking.models.get(&id);
        model.is_some_and(|model| !model.first_claims().is_empty())
    }

    /// Saves what our two programs disagree about in the open puzzle.
    pub(super) fn save_disagreement(&self) -> Vec<Effect> {
        let Some((_, model)) = self.opened() else {
            return vec![];
        };
        let Second::Against(found) = &model.report.second else {
            return vec![];
        };
        vec![Effect::Download {
            name: format!("{}-disagreement.txt", self.file_stem(Scope::Open)),
            kind: "text/plain",
            text: found.text(),
        }]
    }
}
