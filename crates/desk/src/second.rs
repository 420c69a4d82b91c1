//! The second check of mates: which proofs are to be written out and put to the
//! independent checker, one puzzle after another, and the certificates that it
//! accepted. Doing it is left to a worker of its own, and what follows from it to
//! [`keyproof::check`].

use std::collections::{HashMap, HashSet};

use keyproof::check::{Claim, Opinion, Unreached};
use keyproof_second::Heard;

use crate::lane::Lane;
use crate::wire::{Ask, Order, Post};
use crate::work::SheetId;

/// Bytes of certificates that are kept for when they are to be carried.
const KEPT: usize = 16 << 20;

/// Claims that the worker is given at once.
const AT_ONCE: usize = 64;

/// What is to be checked of a sheet.
pub struct Wanted {
    pub sheet: SheetId,
    pub claims: Vec<Claim>,
    pub budget: u64,
}

/// What the worker is at, and the certificates that were accepted.
#[derive(Debug)]
pub struct SecondChecks {
    tickets: u32,
    lane: Lane<At>,
    /// Each with the ticket it was given.
    texts: HashMap<Claim, (u32, String)>,
    /// Bytes of the texts in it.
    bytes: usize,
}

#[derive(Debug)]
struct At {
    sheet: SheetId,
    claims: Vec<Claim>,
}

impl Default for SecondChecks {
    fn default() -> SecondChecks {
        SecondChecks {
            tickets: 0,
            // The worker is started when it is asked for something.
            lane: Lane::Idle,
            texts: HashMap::new(),
            bytes: 0,
        }
    }
}

impl SecondChecks {
    /// The certificate of a claim, if it was accepted and is kept.
    pub fn text(&self, claim: &Claim) -> Option<&str> {
        self.texts.get(claim).map(|(_, text)| text.as_str())
    }

    /// What to do next, given what is to be checked, the most wanted first.
    pub fn assign(&mut self, wanted: &[Wanted]) -> Vec<Order> {
        let mut orders = Vec::new();
        let is_wanted = |at: &At| {
            let of_sheet = wanted.iter().find(|w| w.sheet == at.sheet);
            of_sheet.is_some_and(|w| w.claims.iter().any(|claim| at.claims.contains(claim)))
        };
        if self.lane.task().is_some_and(|at| !is_wanted(at)) {
            orders.extend(self.end());
        }
        if self.lane.is_idle()
            && let Some(next) = wanted.iter().find(|w| !w.claims.is_empty())
        {
            self.tickets += 1;
            let claims: Vec<Claim> = next.claims.iter().take(AT_ONCE).cloned().collect();
            let (ticket, sheet, budget) = (self.tickets, next.sheet, next.budget);
            let at = At {
                sheet,
                claims: claims.clone(),
            };
            self.lane.begin(ticket, at);
            let ask = Ask::Second {
                ticket,
                claims,
                budget,
            };
            orders.push(Order::Ask(Post::Second, ask));
        }
        orders
    }

    /// Ends what is being checked.
    pub fn end(&mut self) -> Option<Order> {
        self.lane.end().map(|_| Order::End(Post::Second))
    }

    /// The worker broke down over what it was at: none of that could be checked.
    pub fn broke(&mut self, why: &str) -> Option<(SheetId, Vec<Heard>)> {
        let At { sheet, claims } = self.lane.end()?;
        let heard = claims.into_iter().map(|claim| Heard {
            claim,
            opinion: Opinion::Unreached(Unreached::Broke(why.to_owned())),
            text: None,
        });
        Some((sheet, heard.collect()))
    }

    /// The sheet that a check was of, unless it was given up before.
    pub fn done(&mut self, ticket: u32) -> Option<SheetId> {
        Some(self.lane.done(ticket)?.sheet)
    }

    /// Keeps a certificate. Where all together is too much, the oldest go, but not
    /// those of `claimed`.
    pub fn keep(&mut self, heard: Heard, claimed: &HashSet<Claim>) {
        let Some(text) = heard.text else {
            return;
        };
        self.bytes += text.len();
        let before = self.texts.insert(heard.claim, (self.tickets, text));
        self.bytes -= before.map_or(0, |(_, text)| text.len());
        if self.bytes <= KEPT {
            return;
        }
        let spare = self
            .texts
            .iter()
            .filter(|(claim, _)| !claimed.contains(claim));
        let mut spare: Vec<(u32, Claim)> =
            spare.map(|(claim, (t, _))| (*t, claim.clone())).collect();
        spare.sort_unstable_by_key(|(ticket, _)| *ticket);
        for (_, claim) in spare {
            if self.bytes <= KEPT {
                break;
            }
            if let Some((_, text)) = self.texts.remove(&claim) {
                self.bytes -= text.len();
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use keyproof::aim::Aim;
    use keyproof::check::Goal;

    fn claim(fen: &str) -> Claim {
        Claim {
            fen: fen.into(),
            goal: Goal::Forced(Aim::Mate, 2),
            n: 2,
            holds: vec![],
            fails: vec![],
            drawn: vec![],
            shortest: true,
        }
    }
    fn wanted(sheet: u64, fens: &[&str]) -> Wanted {
        Wanted {
            sheet: SheetId(sheet),
            claims: fens.iter().map(|fen| claim(fen)).collect(),
            budget: 1,
        }
    }
    fn accepted(claim: Claim, bytes: usize) -> Heard {
        Heard {
            claim,
            opinion: Opinion::Accepted { positions: 1 },
            text: Some("x".repeat(bytes)),
        }
    }
    fn tickets(orders: &[Order]) -> Vec<u32> {
        let ticket = |order: &Order| match order {
            Order::Ask(_, Ask::Second { ticket, .. }) => Some(*ticket),
            _ => None,
        };
        orders.iter().filter_map(ticket).collect()
    }

    #[test]
    fn one_puzzle_is_checked_after_another() {
        let mut checks = SecondChecks::default();
        let both = [wanted(1, &["p", "q"]), wanted(2, &["r"])];
        assert_eq!(tickets(&checks.assign(&both)), [1]);
        assert!(checks.assign(&both).is_empty());
        assert_eq!(checks.done(2), None);
        assert_eq!(checks.done(1), Some(SheetId(1)));
        assert_eq!(tickets(&checks.assign(&both[1..])), [2]);
        assert_eq!(checks.broke("memory").unwrap().1.len(), 1);
        assert!(checks.broke("memory").is_none());
    }

    #[test]
    fn old_certificates_go_where_they_are_too_much_and_those_claimed_stay() {
        let mut checks = SecondChecks::default();
        let all: Vec<Claim> = (0..5).map(|i| claim(&i.to_string())).collect();
        let claimed = HashSet::from([all[0].clone()]);
        for one in &all {
            checks.tickets += 1;
            checks.keep(accepted(one.clone(), KEPT / 3), &claimed);
        }
        let kept = all.iter().filter(|one| checks.text(one).is_some());
        // The first is claimed all along; of the others, the newest are kept.
        assert_eq!(kept.map(|one| one.fen.as_str()).collect::<String>(), "034");
    }

    #[test]
    fn what_is_no_longer_claimed_is_ended_and_its_answer_not_taken() {
        let mut checks = SecondChecks::default();
        checks.assign(&[wanted(1, &["p"])]);
        let orders = checks.assign(&[wanted(1, &["q"])]);
        assert_eq!(orders[0], Order::End(Post::Second));
        assert_eq!(tickets(&orders), [2]);
        assert_eq!(checks.done(1), None);
        assert_eq!(checks.done(2), Some(SheetId(1)));
    }
}
