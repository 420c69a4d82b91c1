//! What the prover says of mates, gains and draws by force, as it is put to a checker that
//! shares nothing with it, and what that checker may say. Writing certificates is left to
//! [`prove::certificate`], and what follows for a report to the checker of
//! puzzles.

use model::aim::Aim;
use model::notation::{fen, moves::read_uci};
use prove::certificate::Claimed;
use shakmaty::{Chess, Move};

use crate::goal::Goal;

/// What was found of the moves of one position, to be certified. Moves are in
/// UCI, sorted.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Claim {
    /// The solver is to move.
    pub fen: String,
    /// What was asked of the moves.
    pub goal: Goal,
    /// The solver's moves in which mate, or the gain, is to be forced.
    pub n: u8,
    /// Moves that force it, each in so many moves or fewer.
    pub holds: Vec<(String, u8)>,
    /// Moves that do not force it in `n`.
    pub fails: Vec<String>,
    /// Moves that hold a draw by force.
    #[cfg_attr(feature = "serde", serde(default))]
    pub drawn: Vec<String>,
    /// Whether the lengths are the least.
    pub shortest: bool,
}

/// A claim with its moves read.
pub struct ReadClaim {
    /// Where it is claimed.
    pub position: Chess,
    /// Mate, or a gain.
    pub aim: Aim,
    /// The solver's moves in which it is to be forced.
    pub n: u8,
    /// Moves that force it, each in so many moves or fewer.
    pub holds: Vec<(Move, u8)>,
    /// Moves that do not force it in `n`.
    pub fails: Vec<Move>,
    /// Moves that hold a draw by force.
    pub drawn: Vec<Move>,
    /// Whether the lengths are the least.
    pub shortest: bool,
}

/// What came of putting a claim to the checker.
#[derive(Clone, Debug, PartialEq, Eq)]
#[cfg_attr(
    feature = "serde",
    derive(serde::Serialize, serde::Deserialize),
    serde(rename_all = "snake_case")
)]
pub enum Opinion {
    /// Every step of the certificate was accepted; the checker set up so many
    /// positions.
    Accepted {
        /// How many it looked at.
        positions: usize,
    },
    /// There is no certificate to be checked.
    Unreached(Unreached),
    /// It says no.
    Against(Against),
}

/// Why a claim could not be put to the checker.
#[derive(Clone, Debug, PartialEq, Eq)]
#[cfg_attr(
    feature = "serde",
    derive(serde::Serialize, serde::Deserialize),
    serde(rename_all = "snake_case")
)]
pub enum Unreached {
    /// The certificate takes more positions than may be looked at, or too long
    /// a text.
    Budget,
    /// Whatever was to do it broke down, and says why.
    Broke(String),
}

/// What speaks against a claim.
#[derive(Clone, Debug, PartialEq, Eq)]
#[cfg_attr(
    feature = "serde",
    derive(serde::Serialize, serde::Deserialize),
    serde(rename_all = "snake_case")
)]
pub enum Against {
    /// Writing the certificate, the prover found that in this position this
    /// move (UCI) does not do what the claim needs.
    Itself {
        /// Where.
        fen: String,
        /// The move in UCI.
        mv: String,
    },
    /// The checker rejects the certificate at a line, from 1.
    Checker {
        /// The line of the certificate, from 1.
        line: usize,
        /// What stands there.
        text: String,
        /// Why it is refused.
        reason: String,
    },
}

impl Claim {
    /// What is claimed to be forced: a gain where one is asked, and else mate.
    pub fn aim(&self) -> Aim {
        match self.goal.forced() {
            Some((aim @ Aim::Gain(_), _)) => aim,
            _ => Aim::Mate,
        }
    }

    /// The claim with position and moves read; `None` if one of them is not
    /// legal.
    pub fn read(&self) -> Option<ReadClaim> {
        let position = fen::read(&self.fen).ok()?;
        let holds = self.holds.iter();
        let holds = holds.map(|(mv, length)| Some((read_uci(&position, mv)?, *length)));
        let moves = |moves: &[String]| -> Option<Vec<Move>> {
            moves.iter().map(|mv| read_uci(&position, mv)).collect()
        };
        Some(ReadClaim {
            holds: holds.collect::<Option<_>>()?,
            fails: moves(&self.fails)?,
            drawn: moves(&self.drawn)?,
            aim: self.aim(),
            n: self.n,
            shortest: self.shortest,
            position,
        })
    }
}

impl ReadClaim {
    /// As what a certificate is written of.
    pub fn claimed(&self) -> Claimed<'_> {
        Claimed {
            aim: self.aim,
            position: &self.position,
            n: self.n,
            holds: &self.holds,
            fails: &self.fails,
            drawn: &self.drawn,
            shortest: self.shortest,
        }
    }
}
