//! Moves that threaten something: all that, after a pass, force mate or a gain.

use shakmaty::{Chess, Move, Position, Role, Square};

use super::{LONGEST_GAIN, LONGEST_MATE};
use crate::analyst::{Analyst, played};
use check::exchange::captured;
use model::worth::{balance, pawns};
use prove::gain::{EVERYTHING, Gained};
use prove::{Aim, Gain, Verdict, Watch};

/// What is threatened after a pass.
pub(super) struct Finding {
    /// Those first that mate, then the greatest and soonest, by the least man.
    pub threats: Vec<Found>,
    /// All moves that mate, or gain at once, with the pawns they net, those that cost
    /// more than they bring among them.
    pub winning: Vec<(Move, u8)>,
}

/// Moves that do the same: one threat.
pub(super) struct Found {
    /// The best first; with what each nets, in pawns, if it gains.
    pub moves: Vec<(Move, u8)>,
    pub force: Force,
    /// Of the first move, to where it mates or the gain stands.
    pub line: Vec<Move>,
}

/// What a move forces.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Force {
    /// Mate in so many moves.
    Mate(u8),
    /// A gain in so many moves.
    Gain(u8),
}

/// Gains beyond this are not told apart: two queens.
const MOST_NET: u8 = 18;

impl Found {
    /// The first of its moves.
    pub fn first(&self) -> Move {
        self.moves[0].0
    }

    /// What it nets after the pass, in pawns; 0 if it mates.
    pub fn net(&self) -> u8 {
        self.moves[0].1
    }

    /// The greatest come first, then the soonest.
    pub fn rank(&self) -> (u8, u8) {
        match self.force {
            Force::Mate(n) => (0, n),
            Force::Gain(n) => (u8::MAX - self.net(), n),
        }
    }

    pub fn mates(&self) -> bool {
        matches!(self.force, Force::Mate(_))
    }

    /// Whether it is carried out with its first move.
    pub fn at_once(&self) -> bool {
        matches!(self.force, Force::Mate(1) | Force::Gain(1))
    }

    fn does_as(&self, other: &Found) -> bool {
        let same = match self.force {
            Force::Mate(_) => self.first().to() == other.first().to(),
            Force::Gain(1) => victim(self.first()) == victim(other.first()),
            Force::Gain(_) => false,
        };
        self.force == other.force && same
    }
}

/// Where what a move takes, or else promotes, stands.
pub(super) fn victim(mv: Move) -> Option<Square> {
    captured(mv).or_else(|| mv.from())
}

/// Whether a move takes or promotes.
pub(super) fn exchanges(mv: Move) -> bool {
    mv.is_capture() || mv.is_promotion()
}

impl Analyst {
    /// The threats among the moves after a pass.
    pub(super) fn found(&mut self, from: &Chess, watch: &mut dyn Watch) -> Finding {
        let mut found: Vec<Found> = Vec::new();
        let mut winning = Vec::new();
        let judged = self.prover().judge(from, LONGEST_MATE, None, watch);
        let mut left = Vec::new();
        for (mv, verdict) in judged {
            match verdict {
                Verdict::Forces { length, line } => {
                    winning.push((mv, EVERYTHING));
                    found.push(Found {
                        moves: vec![(mv, 0)],
                        force: Force::Mate(length),
                        line,
                    });
                }
                _ => left.push(mv),
            }
        }
        for gain in self.gains(from, &left, LONGEST_GAIN, watch) {
            if gain.length == 1 {
                winning.push((gain.mv, gain.k));
            }
            if !self.is_dear(from, &gain, watch) {
                found.push(Found {
                    moves: vec![(gain.mv, gain.k)],
                    force: Force::Gain(gain.length),
                    line: gain.line,
                });
            }
        }
        found.sort_by_key(|one| (one.rank(), one.first().role()));
        let mut threats: Vec<Found> = Vec::new();
        for one in found {
            match threats.iter_mut().find(|known| known.does_as(&one)) {
                Some(known) => known.moves.extend(one.moves),
                None => threats.push(one),
            }
        }
        Finding { threats, winning }
    }

    /// What each of these moves gains within `n` moves, where it gains anything, against
    /// the reply that holds it to that.
    pub(crate) fn gains(
        &mut self,
        from: &Chess,
        moves: &[Move],
        n: u8,
        watch: &mut dyn Watch,
    ) -> Vec<Gained> {
        let prover = self.prover_of_gains();
        let mut gains = prover.most_gained(from, MOST_NET, n, Some(moves), watch);
        for gain in &mut gains {
            if let Some(line) = self.defended(from, gain, watch) {
                gain.line = line;
            }
        }
        gains
    }

    /// The line of a gain against the reply that holds it to what it nets; `None` where
    /// it stands at once.
    fn defended(
        &mut self,
        from: &Chess,
        gain: &Gained,
        watch: &mut dyn Watch,
    ) -> Option<Vec<Move>> {
        let reply = gain.held_by.filter(|_| gain.length > 1)?;
        let after = played(&played(from, gain.mv), reply);
        let aim = Aim::Gain(Gain::at(gain.k, from));
        let judged = self
            .prover_of_gains()
            .judge_aim(aim, &after, gain.length - 1, None, watch);
        let lines = judged.into_iter().filter_map(|(_, verdict)| match verdict {
            Verdict::Forces { line, .. } => Some(line),
            _ => None,
        });
        let best = lines.max_by_key(|line| brings(line[0]))?;
        Some([gain.mv, reply].into_iter().chain(best).collect())
    }

    /// Whether a gain costs more than it brings: the other side then mates within two
    /// moves, or, if the gain stands at once, wins within two all that the move brought.
    fn is_dear(&mut self, from: &Chess, gain: &Gained, watch: &mut dyn Watch) -> bool {
        let after = played(from, gain.mv);
        if matches!(self.prover().mate(&after, 2, watch), Ok(Some(_))) {
            return true;
        }
        if gain.length > 1 {
            return false;
        }
        let side = from.turn();
        let brought = balance(after.board(), side) - balance(from.board(), side);
        let back = Aim::Gain(Gain::at(brought.unsigned_abs(), &after));
        let forced = self.prover_of_gains().force(back, &after, 2, watch);
        matches!(forced, Ok(Some(_)))
    }
}

/// By how many pawns a move changes the balance.
pub(crate) fn brings(mv: Move) -> u8 {
    let pawns = |role: Option<Role>| role.and_then(pawns).unwrap_or(0);
    pawns(mv.capture()) + pawns(mv.promotion()).saturating_sub(1)
}
