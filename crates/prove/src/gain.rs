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
//! takes nothing, and a gain is not a won game.
//!
//! An exchange game of more than [`LONGEST_EXCHANGE`] plies, which checks answered by
//! checks alone could bring about, counts as failing.

use shakmaty::{Chess, Color, Move, Position, Role};

use super::generate::Steps;
use super::men::Men;
use super::search::checks_first;
use super::spend::{Spend, Stopped};
use super::step::Step;
use super::table::Table;
use super::{Prover, Subject, Verdict, Watch};

/// What a man counts for in a balance of material.
pub fn worth(role: Role) -> i32 {
    match role {
        Role::Pawn => 1,
        Role::Knight | Role::Bishop => 3,
        Role::Rook => 5,
        Role::Queen => 9,
        Role::King => 0,
    }
}

/// The men of one colour less those of the other.
pub fn balance(position: &Chess, color: Color) -> i32 {
    Men::of(position).balance(color)
}

/// Plies of an exchange game; in a longer one the gain has failed.
pub const LONGEST_EXCHANGE: u8 = 64;

/// A gain that is on no board: only mate gains as much.
pub const EVERYTHING: u8 = 104;

impl Prover {
    /// Judges the given moves (all legal moves when `None`): does each force a gain
    /// of at least `k` within `n` moves of the solver, itself included? Answers in
    /// the order given; moves that are not legal in `position` are left out.
    ///
    /// The line of a move that does runs, against the longest defence, to the solver's
    /// move with which the gain stands, or to mate. That of one that does not has the
    /// reply that refutes it as its second move; a line of one move alone stalemates,
    /// or is the last move allowed and gains too little.
    pub fn judge_gain(
        &mut self,
        position: &Chess,
        k: u8,
        n: u8,
        moves: Option<&[Move]>,
        watch: &mut dyn Watch,
    ) -> Vec<(Move, Verdict)> {
        let legal = position.legal_moves();
        let asked: Vec<Move> = match moves {
            Some(moves) => moves
                .iter()
                .copied()
                .filter(|m| legal.contains(m))
                .collect(),
            None => legal.to_vec(),
        };
        self.gaining(position, k, n, watch, |search| {
            let men = Men::of(position);
            let mut judged = Vec::with_capacity(asked.len());
            for &mv in &asked {
                search.spend.share = judged.len() as f32 / asked.len() as f32;
                let nodes = search.spend.nodes;
                let verdict = search.verdict(&men, mv, n);
                let verdict = verdict.unwrap_or_else(|Stopped| Verdict::Unknown {
                    nodes: search.spend.nodes - nodes,
                });
                judged.push((mv, verdict));
            }
            judged
        })
    }

    fn gaining<T>(
        &mut self,
        position: &Chess,
        k: u8,
        n: u8,
        watch: &mut dyn Watch,
        ask: impl FnOnce(&mut Search) -> T,
    ) -> T {
        let solver = position.turn();
        let target = balance(position, solver) + i32::from(k);
        self.table_for(Subject::Gain(solver, target));
        if n >= HASHED {
            self.table.reserve(if n < 4 { 1 << 20 } else { usize::MAX });
        }
        let mut search = Search {
            spend: Spend::new(self.budget, watch),
            table: &mut self.table,
            solver,
            target,
            refuters: vec![[Step::NONE; 2]; usize::from(n) + 1],
            gainers: vec![Step::NONE; usize::from(n) + 1],
        };
        let answer = ask(&mut search);
        self.nodes += search.spend.nodes;
        answer
    }
}

/// Positions with so many moves left, or more, are looked up in the table.
const HASHED: u8 = 2;

struct Search<'w> {
    spend: Spend<'w>,
    table: &'w mut Table,
    solver: Color,
    /// The solver's balance of material that must be reached.
    target: i32,
    /// The replies that last refuted a move, by the moves that were left.
    refuters: Vec<[Step; 2]>,
    /// The solver's step that last gained, by the moves left.
    gainers: Vec<Step>,
}

/// What comes of a solver's move.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Outcome {
    /// It mates, the gain stands, or every reply is met.
    Gains,
    /// This reply escapes.
    Refuted(Step),
    /// Stalemate, or no move is left and the gain does not stand.
    Ends,
}

impl Search<'_> {
    fn reached(&self, men: &Men) -> bool {
        men.balance(self.solver) >= self.target
    }

    /// What comes of the solver's step that led to `after`, the first of `n`.
    fn outcome(&mut self, after: &Men, n: u8) -> Result<Outcome, Stopped> {
        self.spend.node()?;
        if self.reached(after) && self.comes_out(after, false, 0)? {
            return Ok(Outcome::Gains);
        }
        let duty = after.duty();
        if n == 1 {
            let mates = duty.checkers.any() && after.is_stuck(&duty);
            return Ok(if mates { Outcome::Gains } else { Outcome::Ends });
        }
        let mut replies = Steps::new();
        after.legal(&duty, &mut replies);
        if replies.is_empty() {
            let mates = duty.checkers.any();
            return Ok(if mates { Outcome::Gains } else { Outcome::Ends });
        }
        self.sort_replies(after, &mut replies, n);
        for reply in replies {
            if self.forcing(&after.play(reply), n - 1)?.is_none() {
                let [first, _] = self.refuters[usize::from(n)];
                if first != reply {
                    self.refuters[usize::from(n)] = [reply, first];
                }
                return Ok(Outcome::Refuted(reply));
            }
        }
        Ok(Outcome::Gains)
    }

    /// What refuted sister moves first, then what takes the most.
    fn sort_replies(&self, after: &Men, replies: &mut Steps, n: u8) {
        let killers = self.refuters[usize::from(n)];
        let rank = |step: Step| match killers.iter().position(|&k| k == step) {
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

    /// A step that forces the gain within `n`, or [`Step::NONE`].
    fn forcing(&mut self, men: &Men, n: u8) -> Result<Step, Stopped> {
        if n < HASHED {
            return self.any_forces(men, n);
        }
        let place = self.table.place(men);
        let fact = self.table.fact(&place).unwrap_or_default();
        if n <= fact.not_within {
            return Ok(Step::NONE);
        }
        if fact.within != 0 && fact.within <= n {
            return Ok(fact.step);
        }
        let step = self.any_forces(men, n)?;
        if step.is_none() {
            self.table.refuted(&place, n);
        } else {
            self.table.proved(&place, n, step);
        }
        Ok(step)
    }

    fn any_forces(&mut self, men: &Men, n: u8) -> Result<Step, Stopped> {
        self.spend.node()?;
        let mate = men.mate_in_one();
        if !mate.is_none() {
            return Ok(mate);
        }
        let duty = men.duty();
        let mut steps = Steps::new();
        if n == 1 && !self.reached(men) {
            // Nothing else brings the balance nearer.
            men.exchanging(&duty, &mut steps);
        } else {
            men.legal(&duty, &mut steps);
            checks_first(men, &mut steps);
            let taking = |step: &Step| men.them().contains(step.to()) || step.is_promotion();
            steps.sort_by_key(|step| !taking(step));
        }
        let gainer = self.gainers[usize::from(n)];
        if let Some(at) = steps.iter().position(|&step| step == gainer) {
            steps.swap(0, at);
        }
        for step in steps {
            if self.outcome(&men.play(step), n)? == Outcome::Gains {
                self.gainers[usize::from(n)] = step;
                return Ok(step);
            }
        }
        Ok(Step::NONE)
    }

    /// Whether the exchange game comes out at the target or above, the solver to move
    /// (`solves`) or the other side.
    fn comes_out(&mut self, men: &Men, solves: bool, plies: u8) -> Result<bool, Stopped> {
        self.spend.node()?;
        if plies >= LONGEST_EXCHANGE {
            return Ok(false);
        }
        let duty = men.duty();
        let mut steps = Steps::new();
        if duty.checkers.any() {
            // No answer to the check: mate.
            men.legal(&duty, &mut steps);
        } else {
            let reached = self.reached(men);
            if reached == solves {
                // Stopping decides it for whoever is to move, unless it is stalemate.
                return Ok(reached && !men.is_stuck(&duty));
            }
            if reached && men.is_stuck(&duty) {
                return Ok(false);
            }
            men.exchanging(&duty, &mut steps);
        }
        most_taken_first(men, &mut steps);
        for step in steps {
            if self.comes_out(&men.play(step), !solves, plies + 1)? == solves {
                return Ok(solves);
            }
        }
        Ok(!solves)
    }

    /// A step that gains soonest, and in how many moves.
    fn soonest(&mut self, men: &Men, n: u8) -> Result<Option<(Step, u8)>, Stopped> {
        for length in 1..=n {
            let step = self.forcing(men, length)?;
            if !step.is_none() {
                return Ok(Some((step, length)));
            }
        }
        Ok(None)
    }

    /// The reply that holds out longest, and the solver's moves still needed after
    /// it; `None` where the game is over.
    fn longest(&mut self, after: &Men, n: u8) -> Result<Option<(Step, u8)>, Stopped> {
        let mut replies = Steps::new();
        after.legal(&after.duty(), &mut replies);
        self.sort_replies(after, &mut replies, n);
        let mut longest = None;
        for reply in replies {
            let Some((_, needed)) = self.soonest(&after.play(reply), n)? else {
                return Ok(None);
            };
            if longest.is_none_or(|(_, most)| needed > most) {
                longest = Some((reply, needed));
            }
        }
        Ok(longest)
    }

    fn verdict(&mut self, men: &Men, mv: Move, n: u8) -> Result<Verdict, Stopped> {
        let after = men.play(Step::of(mv));
        let mut outcome = Outcome::Ends;
        for length in 1..=n {
            outcome = self.outcome(&after, length)?;
            if outcome == Outcome::Gains {
                let line = self.line(mv, after, length)?;
                return Ok(Verdict::Forces { length, line });
            }
        }
        let mut line = vec![mv];
        if let Outcome::Refuted(reply) = outcome {
            line.push(after.move_of(reply));
        }
        Ok(Verdict::Fails { line })
    }

    /// The line of a move that gains in `length`, against the longest defence.
    fn line(&mut self, mv: Move, mut men: Men, length: u8) -> Result<Vec<Move>, Stopped> {
        let mut line = vec![mv];
        let mut left = length;
        while left > 1 {
            let Some((reply, needed)) = self.longest(&men, left - 1)? else {
                break;
            };
            line.push(men.move_of(reply));
            men = men.play(reply);
            let Some((step, length)) = self.soonest(&men, needed)? else {
                break;
            };
            line.push(men.move_of(step));
            men = men.play(step);
            left = length;
        }
        Ok(line)
    }
}

/// What takes the most, by the least man, comes first.
fn most_taken_first(men: &Men, steps: &mut Steps) {
    let rank = |step: Step| {
        let taken = men.role_at(step.to()).map_or(0, worth);
        worth(step.role()) - 10 * (taken + worth(step.arriving()) - worth(step.role()))
    };
    steps.sort_by_cached_key(|&step| rank(step));
}

impl Men {
    /// The men of one colour less those of the other.
    fn balance(&self, color: Color) -> i32 {
        let of = |role| {
            let men = self.by(role);
            let ours = (men & self.side(color)).count() as i32;
            ours - (men & self.side(!color)).count() as i32
        };
        of(Role::Pawn)
            + 3 * (of(Role::Knight) + of(Role::Bishop))
            + 5 * of(Role::Rook)
            + 9 * of(Role::Queen)
    }
}

#[cfg(test)]
mod tests;
