//! What may be forced: mate, selfmate or stalemate. The last two are proved
//! here by a plain AND/OR search, in which only the end of a line differs: as
//! exact as the mate prover, and slower.

use shakmaty::{Chess, Move, Position};

use super::spend::{Spend, Stopped};
use super::{Prover, Verdict, Watch};

/// What a line must end in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Aim {
    /// The solver mates.
    Mate,
    /// The solver makes the other side mate him.
    Selfmate,
    /// The other side, not in check, has no legal move.
    Stalemate,
}

impl Aim {
    /// The trade's sign, which stands before the number of moves.
    pub fn sign(self) -> &'static str {
        match self {
            Aim::Mate => "#",
            Aim::Selfmate => "s#",
            Aim::Stalemate => "==",
        }
    }

    pub fn noun(self) -> &'static str {
        match self {
            Aim::Mate => "mate",
            Aim::Selfmate => "selfmate",
            Aim::Stalemate => "stalemate",
        }
    }

    /// Whether a move of the other side, which led to `position`, ends the
    /// line as the solver wishes.
    pub fn ended(self, position: &Chess) -> bool {
        self == Aim::Selfmate && position.is_checkmate()
    }
}

impl Prover {
    /// [`Prover::judge`] for any aim: lines run to the end aimed at.
    pub fn judge_aim(
        &mut self,
        aim: Aim,
        position: &Chess,
        n: u8,
        moves: Option<&[Move]>,
        watch: &mut dyn Watch,
    ) -> Vec<(Move, Verdict)> {
        if aim == Aim::Mate {
            return self.judge(position, n, moves, watch);
        }
        let mut asked = position.legal_moves().to_vec();
        if let Some(moves) = moves {
            asked = moves
                .iter()
                .copied()
                .filter(|mv| asked.contains(mv))
                .collect();
        }
        self.plain(aim, n, watch, |search| {
            let mut judged = Vec::with_capacity(asked.len());
            for &mv in &asked {
                search.spend.share = judged.len() as f32 / asked.len() as f32;
                let nodes = search.spend.nodes;
                let verdict = search.verdict(position, mv, n);
                let verdict = verdict.unwrap_or_else(|Stopped| Verdict::Unknown {
                    nodes: search.spend.nodes - nodes,
                });
                judged.push((mv, verdict));
            }
            judged
        })
    }

    /// [`Prover::mate`] for any aim.
    pub fn force(
        &mut self,
        aim: Aim,
        position: &Chess,
        n: u8,
        watch: &mut dyn Watch,
    ) -> Result<Option<(Move, Verdict)>, u64> {
        if aim == Aim::Mate {
            return self.mate(position, n, watch);
        }
        self.plain(aim, n, watch, |search| {
            let forced = match search.shortest(position, n) {
                Ok(Some((mv, length))) => {
                    search.verdict(position, mv, length).map(|v| Some((mv, v)))
                }
                Ok(None) => Ok(None),
                Err(stopped) => Err(stopped),
            };
            forced.map_err(|Stopped| search.spend.nodes)
        })
    }

    /// [`Prover::longest_defence`] for any aim. A reply that itself ends the
    /// line needs 0 moves more.
    pub fn holds_out(
        &mut self,
        aim: Aim,
        position: &Chess,
        n: u8,
        watch: &mut dyn Watch,
    ) -> Option<(Move, u8)> {
        if aim == Aim::Mate {
            return self.longest_defence(position, n, watch);
        }
        self.plain(aim, n, watch, |search| {
            search.longest(position, n).ok().flatten()
        })
    }

    fn plain<T>(
        &mut self,
        aim: Aim,
        n: u8,
        watch: &mut dyn Watch,
        ask: impl FnOnce(&mut Plain) -> T,
    ) -> T {
        let mut search = Plain {
            spend: Spend::new(self.budget, watch),
            aim,
            killers: vec![None; usize::from(n) + 1],
        };
        let answer = ask(&mut search);
        self.nodes += search.spend.nodes;
        answer
    }
}

/// What comes of a solver's move.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Outcome {
    Forces,
    /// This reply escapes.
    Refuted(Move),
    /// The game is over otherwise, or no move is left.
    Ends,
}

struct Plain<'w> {
    spend: Spend<'w>,
    aim: Aim,
    /// The reply that last refuted a move, by the moves that were left.
    killers: Vec<Option<Move>>,
}

impl Plain<'_> {
    /// What comes of the solver's move that led to `after`, the first of `n`.
    fn outcome(&mut self, after: &Chess, n: u8) -> Result<Outcome, Stopped> {
        self.spend.node()?;
        let mut replies = after.legal_moves();
        if replies.is_empty() {
            let forces = match self.aim {
                Aim::Mate => after.is_check(),
                Aim::Selfmate => false,
                Aim::Stalemate => !after.is_check(),
            };
            return Ok(if forces {
                Outcome::Forces
            } else {
                Outcome::Ends
            });
        }
        if n <= 1 && self.aim != Aim::Selfmate {
            return Ok(Outcome::Ends);
        }
        let killer = &mut self.killers[usize::from(n)];
        if let Some(at) = replies.iter().position(|&mv| Some(mv) == *killer) {
            replies.swap(0, at);
        }
        for reply in replies {
            let next = played(after, reply);
            if self.aim.ended(&next) {
                continue;
            }
            if n <= 1 || self.forcing(&next, n - 1)?.is_none() {
                self.killers[usize::from(n)] = Some(reply);
                return Ok(Outcome::Refuted(reply));
            }
        }
        Ok(Outcome::Forces)
    }

    /// A move that forces the aim within `n`.
    fn forcing(&mut self, position: &Chess, n: u8) -> Result<Option<Move>, Stopped> {
        let mut moves = position.legal_moves();
        if n > 1 {
            moves.sort_by_cached_key(|&mv| !played(position, mv).is_check());
        }
        for mv in moves {
            if self.outcome(&played(position, mv), n)? == Outcome::Forces {
                return Ok(Some(mv));
            }
        }
        Ok(None)
    }

    /// A move that forces the aim soonest, and in how many moves.
    fn shortest(&mut self, position: &Chess, n: u8) -> Result<Option<(Move, u8)>, Stopped> {
        for length in 1..=n {
            if let Some(mv) = self.forcing(position, length)? {
                return Ok(Some((mv, length)));
            }
        }
        Ok(None)
    }

    /// The reply that holds out longest, and the solver's moves still needed
    /// after it; `None` if there is none, or if one escapes for `n` moves.
    fn longest(&mut self, after: &Chess, n: u8) -> Result<Option<(Move, u8)>, Stopped> {
        let mut longest = None;
        for reply in after.legal_moves() {
            let next = played(after, reply);
            let needed = if self.aim.ended(&next) {
                0
            } else {
                match self.shortest(&next, n)? {
                    Some((_, needed)) => needed,
                    None => return Ok(None),
                }
            };
            if longest.is_none_or(|(_, most)| needed > most) {
                longest = Some((reply, needed));
            }
        }
        Ok(longest)
    }

    fn verdict(&mut self, position: &Chess, mv: Move, n: u8) -> Result<Verdict, Stopped> {
        let after = played(position, mv);
        let mut outcome = Outcome::Ends;
        for length in 1..=n {
            outcome = self.outcome(&after, length)?;
            if outcome == Outcome::Forces {
                let line = self.line(mv, after, length)?;
                return Ok(Verdict::Forces { length, line });
            }
        }
        let mut line = vec![mv];
        if let Outcome::Refuted(reply) = outcome {
            line.push(reply);
        }
        Ok(Verdict::Fails { line })
    }

    /// The line of a move that forces the aim in `length`, against the longest
    /// defence.
    fn line(&mut self, mv: Move, mut after: Chess, length: u8) -> Result<Vec<Move>, Stopped> {
        let mut line = vec![mv];
        let mut left = length - 1;
        while let Some((reply, needed)) = self.longest(&after, left)? {
            line.push(reply);
            after.play_unchecked(reply);
            let Some((mv, _)) = self.shortest(&after, needed)? else {
                break;
            };
            line.push(mv);
            after.play_unchecked(mv);
            left = needed - 1;
        }
        Ok(line)
    }
}

fn played(position: &Chess, mv: Move) -> Chess {
    let mut after = position.clone();
    after.play_unchecked(mv);
    after
}

#[cfg(test)]
mod tests;
