//! The second check of mates: which proofs are to be written out and put to the
//! independent checker, one at a time, and what came of each. Doing it is left
//! to a worker of its own.

use std::collections::{HashMap, HashSet};

use keyproof::check::{Goal, Known, Ruling, Soundness, thousands};
use keyproof::notation::{fen, moves};
use keyproof::puzzle::{Puzzle, Stipulation};
use keyproof::tongue::{marked, phrase, say, tr};
use serde::{Deserialize, Serialize};
use shakmaty::Position;

use crate::look::Look;

/// The longest mate whose proof is written out: the texts grow fortyfold with
/// each move.
const LONGEST: u8 = 5;

/// Bytes of proofs that are kept for when what they prove is claimed again.
const KEPT: usize = 16 << 20;

/// What is to be proved: that each key mates in its length, and that no other
/// first move does within `moves`.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct Claimed {
    pub fen: String,
    pub moves: u8,
    /// In UCI, each with its length.
    pub keys: Vec<(String, u8)>,
}

/// A proof that the checker accepted.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Accepted {
    pub text: String,
    /// Positions that the checker set up.
    pub positions: usize,
}

/// Why a proof is not checked a second time.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Refusal {
    /// The position or a key is not legal.
    Illegal(String),
    /// The proof takes more positions than may be looked at.
    Budget,
    /// A move that was judged wrongly.
    Wrong(String),
    /// What the checker says against the proof.
    Rejected(String),
    /// The worker broke down, and says why.
    Broke(String),
}

impl Refusal {
    fn words(&self) -> String {
        let (text, what) = match self {
            Refusal::Illegal(what) => (
                phrase("not checked a second time: {what} is not legal"),
                what.as_str(),
            ),
            Refusal::Budget => (
                phrase("not checked a second time: the budget did not reach"),
                "",
            ),
            Refusal::Wrong(what) => (
                phrase("not checked a second time: {what} was judged wrongly"),
                what.as_str(),
            ),
            Refusal::Rejected(what) => (
                phrase("not checked a second time: the proof was rejected at {what}"),
                what.as_str(),
            ),
            Refusal::Broke(what) => (
                phrase("not checked a second time: its worker broke down ({what})"),
                what.as_str(),
            ),
        };
        say(text, "what", &[marked(what)])
    }
}

/// What the worker of the second check must do.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum SecondOrder {
    Check {
        ticket: u32,
        claimed: Claimed,
    },
    /// Give up what it is at.
    End,
}

/// What is known of a puzzle's second check.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Second<'a> {
    /// No sound mate, or a longer one than is checked twice.
    Unasked,
    Waiting,
    Accepted(&'a Accepted),
    /// It came to no end, or the checker rejected the proof.
    Refused(&'a Refusal),
}

/// The proofs that are to be checked, and those that have been.
#[derive(Debug, Default)]
pub struct SecondChecks {
    tickets: u32,
    at: Option<(u32, Claimed)>,
    /// Each with the ticket it was given.
    done: HashMap<Claimed, (u32, Result<Accepted, Refusal>)>,
    /// Bytes of the texts in it.
    bytes: usize,
}

impl Claimed {
    /// What each mate of a puzzle, or of a lesson's moments, claims; `None` for
    /// one that is not found to be sound, or is too long.
    pub fn all(look: &Look) -> Vec<Option<Claimed>> {
        let asked = look.lesson.iter().flat_map(|lesson| &lesson.asked);
        let asked = asked.filter_map(|a| Some((a.puzzle.as_ref()?, a.report.verdict)));
        let puzzle = look.puzzle.iter().map(|p| (p, look.report.verdict));
        puzzle
            .chain(asked)
            .filter_map(|(puzzle, verdict)| match puzzle.stipulation() {
                Stipulation::Mate(n) => Some((puzzle, n, verdict)),
                _ => None,
            })
            .map(|(puzzle, n, verdict)| {
                let fit = verdict == Soundness::Sound && n <= LONGEST;
                fit.then(|| Claimed::of(puzzle, n, &look.known)).flatten()
            })
            .collect()
    }
    fn of(puzzle: &Puzzle, n: u8, known: &Known) -> Option<Claimed> {
        let start = puzzle.start();
        let mut keys = Vec::new();
        for mv in start.legal_moves() {
            match known.ruling(start, Goal::Mate(n), mv)? {
                Ruling::Holds { length, .. } => keys.push((moves::uci(mv), (*length)?)),
                Ruling::Fails { .. } => {}
                Ruling::Open { .. } => return None,
            }
        }
        Some(Claimed {
            fen: fen::write(start),
            moves: n,
            keys,
        })
    }
}

impl SecondChecks {
    /// What is known of this claim.
    pub fn of(&self, claimed: Option<&Claimed>) -> Second<'_> {
        let Some(claimed) = claimed else {
            return Second::Unasked;
        };
        match self.done.get(claimed) {
            None => Second::Waiting,
            Some((_, Ok(accepted))) => Second::Accepted(accepted),
            Some((_, Err(why))) => Second::Refused(why),
        }
    }

    /// What to do next, given what the desk claims, the most wanted first.
    pub fn assign(&mut self, wanted: &[Claimed]) -> Vec<SecondOrder> {
        let mut orders = Vec::new();
        self.let_go(wanted);
        if self.at.as_ref().is_some_and(|(_, at)| !wanted.contains(at)) {
            orders.extend(self.end());
        }
        if self.at.is_none()
            && let Some(next) = wanted.iter().find(|c| !self.done.contains_key(c))
        {
            self.tickets += 1;
            self.at = Some((self.tickets, next.clone()));
            orders.push(SecondOrder::Check {
                ticket: self.tickets,
                claimed: next.clone(),
            });
        }
        orders
    }

    /// Ends what is being checked.
    pub fn end(&mut self) -> Option<SecondOrder> {
        self.at.take().map(|_| SecondOrder::End)
    }

    /// The worker broke down over what it was at.
    pub fn broke(&mut self, why: String) -> Option<SecondOrder> {
        let (ticket, claimed) = self.at.take()?;
        self.keep(ticket, claimed, Err(Refusal::Broke(why)));
        Some(SecondOrder::End)
    }

    /// Takes what came of a check, unless it was given up before.
    pub fn done(&mut self, ticket: u32, result: Result<Accepted, Refusal>) {
        if let Some((_, claimed)) = self.at.take_if(|(at, _)| *at == ticket) {
            self.keep(ticket, claimed, result);
        }
    }

    fn keep(&mut self, ticket: u32, claimed: Claimed, result: Result<Accepted, Refusal>) {
        self.bytes += length(&result);
        self.done.insert(claimed, (ticket, result));
    }
    /// Lets the oldest go of what is not wanted, where all together is too much.
    fn let_go(&mut self, wanted: &[Claimed]) {
        if self.bytes <= KEPT {
            return;
        }
        let wanted: HashSet<&Claimed> = wanted.iter().collect();
        let spare = self
            .done
            .iter()
            .filter(|(claimed, _)| !wanted.contains(claimed));
        let mut spare: Vec<(u32, Claimed)> = spare
            .map(|(claimed, (ticket, _))| (*ticket, claimed.clone()))
            .collect();
        spare.sort_unstable_by_key(|(ticket, _)| *ticket);
        for (_, claimed) in spare {
            if self.bytes <= KEPT {
                break;
            }
            if let Some((_, result)) = self.done.remove(&claimed) {
                self.bytes -= length(&result);
            }
        }
    }
}

/// Bytes of the proof, if there is one.
fn length(result: &Result<Accepted, Refusal>) -> usize {
    result.as_ref().map_or(0, |accepted| accepted.text.len())
}

/// What is known of all mates of a puzzle or lesson, for the verdict line;
/// `None` if one of them is not checked twice.
pub fn words(mates: &[Second]) -> Option<String> {
    if mates.is_empty() || mates.contains(&Second::Unasked) {
        return None;
    }
    let mut positions = 0;
    for mate in mates {
        match mate {
            Second::Refused(why) => return Some(why.words()),
            Second::Accepted(accepted) => positions += accepted.positions,
            Second::Unasked | Second::Waiting => {}
        }
    }
    Some(if mates.contains(&Second::Waiting) {
        tr("being checked by a second, independent program").into()
    } else {
        let positions = thousands(positions as u64);
        say(
            "checked by a second, independent program, {n} positions",
            "n",
            &[&positions],
        )
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn claimed(fen: &str) -> Claimed {
        Claimed {
            fen: fen.into(),
            moves: 2,
            keys: vec![],
        }
    }
    fn accepted() -> Result<Accepted, Refusal> {
        Ok(Accepted {
            text: "proof".into(),
            positions: 1204,
        })
    }
    fn tickets(orders: &[SecondOrder]) -> Vec<u32> {
        let ticket = |order: &SecondOrder| match order {
            SecondOrder::Check { ticket, .. } => Some(*ticket),
            SecondOrder::End => None,
        };
        orders.iter().filter_map(ticket).collect()
    }

    #[test]
    fn one_proof_is_checked_after_another_and_none_twice() {
        let mut checks = SecondChecks::default();
        let wanted = [claimed("p"), claimed("q")];
        assert_eq!(tickets(&checks.assign(&wanted)), [1]);
        assert!(checks.assign(&wanted).is_empty());
        assert_eq!(checks.of(Some(&wanted[0])), Second::Waiting);
        checks.done(1, accepted());
        assert_eq!(tickets(&checks.assign(&wanted)), [2]);
        checks.done(2, Err(Refusal::Budget));
        assert!(checks.assign(&wanted).is_empty());
        let words = words(&[checks.of(Some(&wanted[0]))]).unwrap();
        assert!(words.ends_with("1,204 positions"), "{words}");
        assert_eq!(
            checks.of(Some(&wanted[1])),
            Second::Refused(&Refusal::Budget)
        );
    }

    #[test]
    fn old_proofs_go_where_they_are_too_much_and_those_claimed_stay() {
        let mut checks = SecondChecks::default();
        let all: Vec<Claimed> = (0..5).map(|i| claimed(&i.to_string())).collect();
        let long = || Accepted {
            text: "x".repeat(KEPT / 3),
            positions: 1,
        };
        let accepts = |checks: &SecondChecks| {
            let held = |claimed: &&Claimed| matches!(checks.of(Some(claimed)), Second::Accepted(_));
            let held = all.iter().filter(held);
            held.map(|claimed| claimed.fen.clone()).collect::<String>()
        };
        let also = |one: &Claimed| [all[0].clone(), one.clone()];
        for one in &all {
            let ticket = tickets(&checks.assign(&also(one)));
            checks.done(ticket[0], Ok(long()));
            if one == &all[0] {
                continue;
            }
            assert!(checks.assign(&also(one)).is_empty());
        }
        // The first is claimed all along; of the others, the newest are kept.
        assert_eq!(accepts(&checks), "034");
        assert_eq!(tickets(&checks.assign(&[all[1].clone()])).len(), 1);
    }

    #[test]
    fn what_is_no_longer_claimed_is_ended_and_its_answer_not_taken() {
        let mut checks = SecondChecks::default();
        checks.assign(&[claimed("p")]);
        let orders = checks.assign(&[claimed("q")]);
        assert_eq!(orders[0], SecondOrder::End);
        assert_eq!(tickets(&orders), [2]);
        checks.done(1, accepted());
        assert_eq!(checks.of(Some(&claimed("p"))), Second::Waiting);
        assert_eq!(checks.of(Some(&claimed("q"))), Second::Waiting);
        assert_eq!(checks.of(None), Second::Unasked);
    }
}
