//! What a sentence rests on where it is proved: a claim that the independent checker can be
//! asked about, and what it said. Asking it is left to others.

use model::aim::{Aim, Gain};
use model::notation::moves;
use model::tongue::{plural, say, tr};
use play::claim::{Claim, Opinion};
use shakmaty::{Chess, Move};

use super::scene::capital;
use check::{Goal, Question, checked};

/// A proof that a move forces mate or a gain of material.
#[derive(Clone, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Proof {
    /// What is claimed.
    pub claim: Claim,
    /// What is gained, in pawns, as it is told: what a wrong move brought before is taken
    /// off. 0 where it is mate.
    pub net: u8,
    /// What the checker says; `None` where it was not asked.
    pub opinion: Option<Opinion>,
}

impl Proof {
    /// That `mv` forces mate within `n` moves.
    pub(crate) fn mate(position: &Chess, mv: Move, n: u8) -> Proof {
        Proof::of(position, mv, Aim::Mate, n, 0)
    }

    /// That `mv` forces a gain of `k` within `n` moves, told as one of `net`.
    pub(crate) fn gain(position: &Chess, mv: Move, k: u8, n: u8, net: u8) -> Proof {
        Proof::of(position, mv, Aim::Gain(Gain::at(k, position)), n, net)
    }

    fn of(position: &Chess, mv: Move, aim: Aim, n: u8, net: u8) -> Proof {
        let goal = Goal::Forced(aim, n);
        let claim = Claim {
            fen: Question::about(position, goal, &[]).fen,
            goal,
            n,
            holds: vec![(moves::uci(mv), n)],
            fails: Vec::new(),
            drawn: Vec::new(),
            shortest: false,
        };
        Proof {
            claim,
            net,
            opinion: None,
        }
    }

    /// What is proved, and how far that is checked: "proved: material worth 9 pawns within
    /// 2 moves; 57 positions, checked a second time".
    pub fn words(&self) -> String {
        let checked = match self.checked() {
            Some(checked) => checked,
            None => return tr("our two programs disagree: do not give this out").into(),
        };
        let (worth, n) = (self.worth(), self.claim.n.to_string());
        match (self.net, self.claim.n) {
            (0, _) => say!("proved: mate in {n}; {checked}", n = n, checked = checked),
            (_, 1) => say!(
                "proved: material worth {worth} at once; {checked}",
                worth = worth,
                checked = checked
            ),
            _ => say!(
                "proved: material worth {worth} within {n} moves; {checked}",
                worth = worth,
                n = n,
                checked = checked
            ),
        }
    }

    /// The same as a sentence.
    pub(crate) fn sentence(&self) -> String {
        let checked = match self.checked() {
            Some(checked) if self.net > 0 => checked,
            _ => return capital(&format!("{}.", self.words())),
        };
        match self.claim.n {
            1 => say!(
                "Proved: material worth {worth}, at once and after all exchanges; {checked}.",
                worth = self.worth(),
                checked = checked
            ),
            n => say!(
                "Proved: material worth {worth}, within {moves} moves against every reply and after all exchanges; {checked}.",
                worth = self.worth(),
                moves = n.to_string(),
                checked = checked
            ),
        }
    }

    fn worth(&self) -> String {
        plural!(usize::from(self.net), "one pawn", "{n} pawns")
    }

    /// How far it is checked; `None` if the checker says no.
    fn checked(&self) -> Option<String> {
        match &self.opinion {
            Some(Opinion::Against(_)) => None,
            opinion => Some(checked(opinion.as_ref(), false)),
        }
    }
}

/// What a move is proved to win.
#[derive(Clone, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Won {
    /// "1.Nf6+ wins the queen (1.Nf6+ Kg7 2.Nxd7)."
    pub sentence: String,
    /// What that rests on.
    pub proof: Proof,
}

/// A sentence with what it rests on behind it, in brackets.
pub fn with_proof(sentence: &str, proof: Option<&Proof>) -> String {
    match proof {
        Some(proof) => format!("{sentence} ({})", proof.words()),
        None => sentence.to_owned(),
    }
}
