//! What certificates claim, and what the checker says of them.

use std::fmt;

use shakmaty::{CastlingMode, Chess, Move, fen::Fen, san::San};

/// What a text of certificates proves.
#[derive(Clone, Debug, Default)]
pub struct Accepted {
    /// All claims, in the order written.
    pub claims: Vec<Claim>,
    /// How many positions were reached by playing a move of the proof.
    pub positions: usize,
}

/// A claim about the side to move, the solver.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Claim {
    pub position: Chess,
    /// The solver's moves allowed, the first included.
    pub moves: usize,
    pub kind: Kind,
    pub firsts: Vec<Move>,
}

/// What is claimed of the first moves.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// Each of `firsts` forces mate in time; if there is none, some move does.
    Mate,
    /// No move but `firsts` forces mate in time.
    Only,
}

impl Claim {
    pub(crate) fn new(position: Chess, moves: usize, kind: Kind, firsts: Vec<Move>) -> Claim {
        Claim {
            position,
            moves,
            kind,
            firsts,
        }
    }

    /// The same kind of claim about a position one move later.
    pub(crate) fn below(&self, position: Chess) -> Claim {
        Claim::new(position, self.moves - 1, self.kind, Vec::new())
    }
}

/// The first place at which a certificate fails.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Rejected {
    /// The line of the text, from 1; the last line if something is missing.
    pub line: usize,
    /// Why, as a phrase.
    pub reason: String,
}

/// "Qh7 forces mate in 3 or fewer", "no move but Qh7 forces mate in 3 or fewer".
impl fmt::Display for Claim {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        let san = |&m: &Move| San::from_move(&self.position, m).to_string();
        let firsts = self.firsts.iter().map(san).collect::<Vec<_>>().join(", ");
        match (self.kind, self.firsts.is_empty()) {
            (Kind::Mate, true) => write!(f, "some move")?,
            (Kind::Mate, false) => write!(f, "{firsts}")?,
            (Kind::Only, true) => write!(f, "no move")?,
            (Kind::Only, false) => write!(f, "no move but {firsts}")?,
        }
        match self.moves {
            1 => write!(f, " mates at once"),
            moves => write!(f, " forces mate in {moves} or fewer"),
        }
    }
}

/// "line 12: g7h8 is not a legal move".
impl fmt::Display for Rejected {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        write!(f, "line {}: {}", self.line, self.reason)
    }
}

impl std::error::Error for Rejected {}

pub(crate) fn position(fen: &str) -> Result<Chess, String> {
    let fen: Fen = fen.parse().map_err(|fault| format!("FEN: {fault}"))?;
    fen.into_position(CastlingMode::Standard)
        .map_err(|fault| format!("FEN: {fault}"))
}
