//! Gains of material, proved.
//!
//! A *gain of k in n*: the solver can force, within n moves of his own, that after a
//! move of his the balance of material is at least k higher than at the start and
//! stays so after all exchanges. The balance is his men less the other side's: pawn
//! 1, knight and bishop 3, rook 5, queen 9, king 0. It stays so if the solver comes
//! out no lower in the exchange game from there, the other side to move: each side in
//! turn takes a man, promotes a pawn, or stops, which ends the game; a side in check
//! must answer it, by any legal move, and may not stop. Whoever is mated loses
//! everything, and where a side is stalemated the gain has failed. Mate within the n
//! moves is a gain of everything. All replies of the other side count at every turn,
//! quiet ones too.
//!
//! It says nothing of what comes later: what is won may be lost again by a move that
//! takes nothing, and a gain is not a won game. An exchange game of more than 64 plies,
//! which checks answered by checks alone could bring about, counts as failing.

use model::aim::Gain;
use model::worth::pawns;
use shakmaty::{Chess, Color, Move, Role};

use super::aims::{Aimed, GAINS};
use super::bitboards::Bitboards;
use super::generate::Steps;
use super::search::checks_first;
use super::shortcuts::Shortcut;
use super::spend::Stopped;
use super::step::Step;
use super::{Aim, Prover, Verdict, Watch};

/// Plies of an exchange game; in a longer one the gain has failed.
pub const LONGEST_EXCHANGE: u8 = 64;

/// A gain that is on no board: only mate gains as much.
pub const EVERYTHING: u8 = 104;

impl Prover {
    /// [`Prover::judge_aim`] for a gain of `k` from this position.
    ///
    /// The line of a move that forces it runs, against the longest defence, to the
    /// solver's move with which the gain stands, or to mate. That of one that does not
    /// has the reply that refutes it as its second move; a line of one move alone
    /// stalemates, or is the last move allowed and gains too little.
    pub fn judge_gain(
        &mut self,
        position: &Chess,
        k: u8,
        n: u8,
        moves: Option<&[Move]>,
        watch: &mut dyn Watch,
    ) -> Vec<(Move, Verdict)> {
        let aim = Aim::Gain(Gain::at(k, position));
        self.judge_aim(aim, position, n, moves, watch)
    }
}

/// The most that a move gains.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Gained {
    /// The move.
    pub mv: Move,
    /// In pawns.
    pub k: u8,
    /// In how many moves of the solver's.
    pub length: u8,
    /// To the move with which the gain stands, as of [`Prover::judge_gain`].
    pub line: Vec<Move>,
    /// The reply that holds it to that; `None` where no reply is needed, or where it is
    /// undecided whether more is gained.
    pub held_by: Option<Move>,
}

impl Prover {
    /// The most that each of these moves, all if none are given, gains within `n`, as far
    /// as `most`. Those that gain nothing are left out; what is undecided counts as not
    /// gained.
    pub fn most_gained(
        &mut self,
        position: &Chess,
        most: u8,
        n: u8,
        moves: Option<&[Move]>,
        watch: &mut dyn Watch,
    ) -> Vec<Gained> {
        let mut gained: Vec<Gained> = Vec::new();
        let mut left = moves.map(<[Move]>::to_vec);
        for k in 1..=most {
            let judged = self.judge_gain(position, k, n, left.as_deref(), watch);
            let left = left.insert(Vec::new());
            for (mv, verdict) in judged {
                let known = gained.iter().position(|gain| gain.mv == mv);
                match (verdict, known) {
                    (Verdict::Forces { length, line }, _) => {
                        left.push(mv);
                        let gain = Gained {
                            mv,
                            k,
                            length,
                            line,
                            held_by: None,
                        };
                        match known {
                            Some(i) => gained[i] = gain,
                            None => gained.push(gain),
                        }
                    }
                    (Verdict::Fails { line }, Some(i)) => {
                        gained[i].held_by = line.get(1).copied();
                    }
                    _ => {}
                }
            }
            if left.is_empty() {
                break;
            }
        }
        gained
    }
}

impl Aimed<'_> {
    pub fn gains(&self) -> bool {
        GAINS && matches!(self.aim, Aim::Gain(_))
    }

    fn reached(&self, board: &Bitboards) -> bool {
        board.balance(self.solver) >= self.target
    }

    /// Whether the gain is there after the solver's step that led to `after`, and stays.
    pub fn stands(&mut self, after: &Bitboards) -> Result<bool, Stopped> {
        Ok(self.reached(after) && self.comes_out(after, false, 0)?)
    }

    /// What refuted sister moves first, then what takes the most.
    pub fn sort_replies(&self, after: &Bitboards, replies: &mut Steps, n: u8) {
        let refuters = &self.refuters[2 * usize::from(n)..][..2];
        let rank = |step: Step| match refuters.iter().position(|&known| known == step) {
            Some(at) => -100 + at as i32,
            None => {
                let taken = after.role_at(step.to()).map_or(0, worth);
                match taken > 0 || step.is_promotion() {
                    true => worth(step.role()) - 10 * taken - worth(step.arriving()),
                    false => 10,
                }
            }
        };
        replies.sort_by_cached_key(|&step| rank(step));
    }

    /// The solver's steps that may force the gain within `n`, what checks or takes
    /// first; or one that mates at once.
    pub fn gaining(
        &mut self,
        board: &Bitboards,
        n: u8,
        steps: &mut Steps,
    ) -> Result<Step, Stopped> {
        self.spend.node()?;
        let quick = self.shortcuts.take(Shortcut::QuickMate);
        let mate = if quick {
            board.mate_in_one()
        } else {
            Step::NONE
        };
        if !mate.is_none() {
            return Ok(mate);
        }
        let constraints = board.constraints();
        if quick && n == 1 && !self.reached(board) {
            // Nothing else brings the balance nearer.
            board.exchanging(&constraints, steps);
        } else {
            board.legal(&constraints, steps);
            checks_first(board, steps);
            let taking = |step: &Step| board.them().contains(step.to()) || step.is_promotion();
            steps.sort_by_key(|step| !taking(step));
        }
        Ok(Step::NONE)
    }

    /// Whether the exchange game comes out at the target or above, the solver to move
    /// (`solves`) or the other side.
    fn comes_out(&mut self, board: &Bitboards, solves: bool, plies: u8) -> Result<bool, Stopped> {
        self.spend.node()?;
        if plies >= LONGEST_EXCHANGE {
            return Ok(!solves && board.is_checkmate());
        }
        let constraints = board.constraints();
        let mut steps = Steps::new();
        if constraints.checkers.any() {
            // No answer to the check: mate.
            board.legal(&constraints, &mut steps);
        } else {
            let reached = self.reached(board);
            if reached == solves {
                // Stopping decides it for whoever is to move, unless it is stalemate.
                return Ok(reached && !board.is_stuck(&constraints));
            }
            if reached && board.is_stuck(&constraints) {
                return Ok(false);
            }
            board.exchanging(&constraints, &mut steps);
        }
        most_taken_first(board, &mut steps);
        for step in steps {
            if self.comes_out(&board.play(step), !solves, plies + 1)? == solves {
                return Ok(solves);
            }
        }
        Ok(!solves)
    }
}

fn worth(role: Role) -> i32 {
    pawns(role).map_or(0, i32::from)
}

/// What takes the most, by the least man, comes first.
fn most_taken_first(board: &Bitboards, steps: &mut Steps) {
    let rank = |step: Step| {
        let taken = board.role_at(step.to()).map_or(0, worth);
        worth(step.role()) - 10 * (taken + worth(step.arriving()) - worth(step.role()))
    };
    steps.sort_by_cached_key(|&step| rank(step));
}

impl Bitboards {
    /// The men of one colour less those of the other.
    fn balance(&self, color: Color) -> i32 {
        let of = |role| {
            let board = self.by(role);
            let ours = (board & self.side(color)).count() as i32;
            ours - (board & self.side(!color)).count() as i32
        };
        of(Role::Pawn)
            + 3 * (of(Role::Knight) + of(Role::Bishop))
            + 5 * of(Role::Rook)
            + 9 * of(Role::Queen)
    }
}

#[cfg(test)]
mod tests;
