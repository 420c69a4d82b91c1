//! The depth-first AND/OR search: the solver needs one move, the defence
//! must be beaten in every reply.

use shakmaty::{Chess, Move, MoveList, Position};

use super::spend::{Spend, Stopped};

/// What comes of a solver's move when `left` more moves may follow it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Outcome {
    /// It mates, or every reply is met by mate in time.
    Wins,
    /// This reply is not mated in time.
    Refuted(Move),
    /// Stalemate, or no move is left and it is not mate.
    Ends,
}

pub(super) struct Search<'w> {
    pub spend: Spend<'w>,
}

impl Search<'_> {
    /// A move of the side to move that forces mate within `n`, if any.
    pub fn mating_move(&mut self, position: &Chess, n: u8) -> Result<Option<Move>, Stopped> {
        if n == 0 {
            return Ok(None);
        }
        for m in solver_moves(position, n) {
            let after = played(position, m);
            if self.outcome(&after, n - 1)? == Outcome::Wins {
                return Ok(Some(m));
            }
        }
        Ok(None)
    }

    /// What comes of the solver's move that led to `after`, with `left` more
    /// solver's moves allowed.
    pub fn outcome(&mut self, after: &Chess, left: u8) -> Result<Outcome, Stopped> {
        self.spend.node()?;
        if left == 0 {
            return Ok(if after.is_checkmate() {
                Outcome::Wins
            } else {
                Outcome::Ends
            });
        }
        let replies = replies(after);
        if replies.is_empty() {
            return Ok(if after.is_check() {
                Outcome::Wins
            } else {
                Outcome::Ends
            });
        }
        for reply in replies {
            if self.mating_move(&played(after, reply), left)?.is_none() {
                return Ok(Outcome::Refuted(reply));
            }
        }
        Ok(Outcome::Wins)
    }

    /// A shortest forced mate within `n`: its first move and its length.
    pub fn shortest(&mut self, position: &Chess, n: u8) -> Result<Option<(Move, u8)>, Stopped> {
        for length in 1..=n {
            if let Some(m) = self.mating_move(position, length)? {
                return Ok(Some((m, length)));
            }
        }
        Ok(None)
    }
}

pub(super) fn played(position: &Chess, m: Move) -> Chess {
    let mut after = position.clone();
    after.play_unchecked(m);
    after
}

/// The solver's legal moves; with one move left only those that give check.
fn solver_moves(position: &Chess, n: u8) -> MoveList {
    let mut moves = position.legal_moves();
    if n == 1 {
        moves.retain(|&mut m| played(position, m).is_check());
    } else {
        moves.sort_by_cached_key(|&m| !played(position, m).is_check());
    }
    moves
}

/// The legal replies, captures first.
fn replies(position: &Chess) -> MoveList {
    let mut moves = position.legal_moves();
    moves.sort_by_key(|m| !m.is_capture());
    moves
}
