//! What certificates claim, and what the checker says of them.

use std::fmt;

use shakmaty::{CastlingMode, Chess, Move, Position, fen::Fen, san::San};

use crate::exchange::balance;

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
    /// The solver's moves allowed, the first included; 0 where a draw is held.
    pub moves: usize,
    pub kind: Kind,
    pub firsts: Vec<Move>,
    /// The balance of material that must be reached, in pawns, where a gain is claimed;
    /// `None` where mate is.
    pub target: Option<i32>,
}

/// What is claimed of the first moves.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// Each of `firsts` forces it in time; if there is none, some move does.
    Forces,
    /// No move but `firsts` forces it in time.
    Only,
    /// Each of `firsts` holds a draw by force; if there is none, some move does.
    Draws,
}

impl Claim {
    /// What a line must end in.
    pub(crate) fn end(&self) -> &'static str {
        self.target.map_or("mate", |_| "the gain")
    }

    /// The same kind of claim about a position one move later.
    pub(crate) fn below(&self, position: Chess) -> Claim {
        let (moves, firsts) = (self.moves.saturating_sub(1), Vec::new());
        Claim {
            position,
            moves,
            firsts,
            ..*self
        }
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

/// "Qh7 forces mate in 3 or fewer", "no move but Qh7 forces a gain of 9 in 3 or fewer".
impl fmt::Display for Claim {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        let san = |&m: &Move| San::from_move(&self.position, m).to_string();
        let firsts = self.firsts.iter().map(san).collect::<Vec<_>>().join(", ");
        match (self.kind, self.firsts.is_empty()) {
            (Kind::Forces | Kind::Draws, true) => write!(f, "some move")?,
            (Kind::Forces | Kind::Draws, false) => write!(f, "{firsts}")?,
            (Kind::Only, true) => write!(f, "no move")?,
            (Kind::Only, false) => write!(f, "no move but {firsts}")?,
        }
        let gained = |target| target - balance(&self.position, self.position.turn());
        match (self.target.map(gained), self.moves) {
            _ if self.kind == Kind::Draws => write!(f, " holds a draw by force"),
            (None, 1) => write!(f, " mates at once"),
            (None, moves) => write!(f, " forces mate in {moves} or fewer"),
            (Some(k), 1) => write!(f, " gains {k} at once"),
            (Some(k), moves) => write!(f, " forces a gain of {k} in {moves} or fewer"),
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
