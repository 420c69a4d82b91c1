//! What may be aimed at: mate, selfmate, stalemate, helpmate or a gain of material. All
//! but mate are proved here by one search, in which only the end of a line differs, and
//! who chooses the replies: as exact as the mate prover, and slower. What is particular
//! to gains is in [`gain`](super::gain).

use shakmaty::{Chess, Color, Move, Position};

use super::bitboards::{Bitboards, Constraints};
use super::generate::Steps;
use super::search::checks_first;
use super::shortcuts::{Shortcut, Shortcuts};
use super::spend::{Spend, Stopped};
use super::step::Step;
use super::table::Table;
use super::{Aim, Prover, Subject, Verdict, Watch};

/// Whether gains are proved: the student's page goes by what was proved at publishing.
pub(super) const GAINS: bool = cfg!(feature = "gains");

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
        let judged = self.aimed(aim, position, n, watch, |search| {
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
        });
        #[cfg(feature = "broken-prover")]
        let judged = match aim {
            Aim::Gain(_) => judged
                .into_iter()
                .map(|(mv, verdict)| (mv, super::broken::verdict(mv, n, verdict)))
                .collect(),
            _ => judged,
        };
        judged
    }

    /// [`Prover::mate`] for any aim.
    ///
    /// # Errors
    /// The positions looked at, if it is undecided.
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
        let forced = self.aimed(aim, position, n, watch, |search| {
            let board = Bitboards::of(position);
            let forced = match search.shortest(&board, n) {
                Ok(Some((step, length))) => {
                    let mv = board.move_of(step);
                    search.verdict(position, mv, length).map(|v| Some((mv, v)))
                }
                Ok(None) => Ok(None),
                Err(stopped) => Err(stopped),
            };
            forced.map_err(|Stopped| search.spend.nodes)
        });
        #[cfg(feature = "broken-prover")]
        let forced = match aim {
            Aim::Gain(_) => forced.map(|found| {
                let first = position.legal_moves().first().copied();
                super::broken::mate(first, n, found)
            }),
            _ => forced,
        };
        forced
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
        // The solver is not the one to move.
        self.asked(aim, !position.turn(), n, watch, |search| {
            let board = Bitboards::of(position);
            let (step, needed) = search.longest(&board, n).ok().flatten()?;
            Some((board.move_of(step), needed))
        })
    }

    /// The helpmates of exactly `n` half moves, as lines in an order of their
    /// own, no more than `most`; whether that is all of them.
    ///
    /// # Errors
    /// The positions looked at, if it is undecided.
    pub fn helpmates(
        &mut self,
        position: &Chess,
        n: u8,
        most: usize,
        watch: &mut dyn Watch,
    ) -> Result<(Vec<Vec<Move>>, bool), u64> {
        self.aimed(Aim::Helpmate, position, n, watch, |search| {
            let mut found = Vec::new();
            let walked = search.walk(
                &Bitboards::of(position),
                n,
                most,
                &mut Vec::new(),
                &mut found,
            );
            walked.map_err(|Stopped| search.spend.nodes)?;
            let all = found.len() <= most;
            found.truncate(most);
            Ok((found, all))
        })
    }

    fn aimed<T>(
        &mut self,
        aim: Aim,
        position: &Chess,
        n: u8,
        watch: &mut dyn Watch,
        ask: impl FnOnce(&mut Aimed) -> T,
    ) -> T {
        self.asked(aim, position.turn(), n, watch, ask)
    }

    pub(super) fn asked<T>(
        &mut self,
        aim: Aim,
        solver: Color,
        n: u8,
        watch: &mut dyn Watch,
        ask: impl FnOnce(&mut Aimed) -> T,
    ) -> T {
        let mut search = self.search_for(aim, solver, n, watch);
        let answer = ask(&mut search);
        let nodes = search.spend.nodes;
        self.nodes += nodes;
        answer
    }

    /// Apart from what is asked of it, so that it stands in the program once.
    #[inline(never)]
    fn search_for<'w>(
        &'w mut self,
        aim: Aim,
        solver: Color,
        n: u8,
        watch: &'w mut dyn Watch,
    ) -> Aimed<'w> {
        let gain = matches!(aim, Aim::Gain(_));
        let mating = if n % 2 == 1 { solver } else { !solver };
        let mut target = 0;
        self.table_for(match aim {
            Aim::Gain(gain) if GAINS => {
                target = gain.target();
                Subject::Gain(solver, target)
            }
            _ => Subject::Aim(aim, aim.shared().then_some(mating)),
        });
        self.table.reserve(if n < 4 { 1 << 20 } else { usize::MAX });
        let left_out = gain && !GAINS;
        Aimed {
            spend: Spend::new(if left_out { Some(0) } else { self.budget }, watch),
            shortcuts: self.shortcuts,
            table: &mut self.table,
            aim,
            solver,
            target,
            refuters: vec![Step::NONE; 2 * usize::from(n) + 2],
            winners: vec![Step::NONE; usize::from(n) + 1],
        }
    }
}

/// What comes of a solver's move.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Outcome {
    Forces,
    /// This reply escapes.
    Refuted(Step),
    /// The game is over otherwise, no move is left, or both sides together
    /// find no way.
    Ends,
}

pub(super) struct Aimed<'w> {
    pub spend: Spend<'w>,
    pub shortcuts: Shortcuts,
    table: &'w mut Table,
    pub aim: Aim,
    pub solver: Color,
    /// The balance of material that must be reached for a gain.
    pub target: i32,
    /// The replies that last refuted a move, two for each number of moves that was left.
    pub refuters: Vec<Step>,
    /// The solver's step that last forced the aim, by the moves left.
    winners: Vec<Step>,
}

impl Aimed<'_> {
    /// What comes of the solver's step that led to `after`, the first of `n`.
    fn outcome(&mut self, after: &Bitboards, n: u8) -> Result<Outcome, Stopped> {
        self.spend.node()?;
        let aim = self.aim;
        match aim {
            Aim::Helpmate => self.helped(after, n),
            Aim::Gain(_) if self.gains() && self.stands(after)? => Ok(Outcome::Forces),
            Aim::Stalemate | Aim::Gain(_) if n <= 1 => {
                let constraints = after.constraints();
                Ok(match after.is_stuck(&constraints) {
                    true => self.over(&constraints),
                    false => Outcome::Ends,
                })
            }
            _ => self.answered(after, n),
        }
    }

    /// What comes of a step that leaves no reply.
    fn over(&self, constraints: &Constraints) -> Outcome {
        let forces = match self.aim {
            Aim::Stalemate => constraints.checkers.is_empty(),
            Aim::Gain(_) => constraints.checkers.any(),
            _ => false,
        };
        if forces {
            Outcome::Forces
        } else {
            Outcome::Ends
        }
    }

    /// [`Aimed::outcome`] where the other side helps.
    fn helped(&mut self, after: &Bitboards, n: u8) -> Result<Outcome, Stopped> {
        let mates = n % 2 == 1 && after.is_checkmate();
        let reached = mates || n > 1 && !self.forcing(after, n - 1)?.is_none();
        Ok(if reached {
            Outcome::Forces
        } else {
            Outcome::Ends
        })
    }

    /// [`Aimed::outcome`] against every reply.
    fn answered(&mut self, after: &Bitboards, n: u8) -> Result<Outcome, Stopped> {
        let constraints = after.constraints();
        let mut replies = Steps::new();
        after.legal(&constraints, &mut replies);
        if replies.is_empty() {
            return Ok(self.over(&constraints));
        }
        let checks = after.checks();
        let quick = self.shortcuts.take(Shortcut::Checks);
        let may_mate = |reply| !quick || checks.may_give(reply);
        let at = 2 * usize::from(n);
        if self.gains() {
            self.sort_replies(after, &mut replies, n);
        } else {
            // A reply that gives no check mates nobody: with no move left for the
            // solver it refutes a selfmate.
            let first = if n <= 1 {
                replies.iter().position(|&reply| !may_mate(reply))
            } else {
                replies.iter().position(|&reply| reply == self.refuters[at])
            };
            if let Some(first) = first {
                replies.swap(0, first);
            }
        }
        for reply in replies {
            let next = after.play(reply);
            if self.aim == Aim::Selfmate && may_mate(reply) && next.is_checkmate() {
                continue;
            }
            if n <= 1 || self.forcing(&next, n - 1)?.is_none() {
                if self.shortcuts.take(Shortcut::Refuters) && self.refuters[at] != reply {
                    self.refuters[at + 1] = self.refuters[at];
                    self.refuters[at] = reply;
                }
                return Ok(Outcome::Refuted(reply));
            }
        }
        Ok(Outcome::Forces)
    }

    /// A step that forces the aim within `n`, or [`Step::NONE`].
    fn forcing(&mut self, board: &Bitboards, n: u8) -> Result<Step, Stopped> {
        if self.aim.shared() && n % 2 == 1 {
            self.spend.node()?;
            let mate = if self.shortcuts.take(Shortcut::QuickMate) {
                board.answer()
            } else {
                board.played_answer()
            };
            let step = mate.unwrap_or(Step::NONE);
            if n <= 1 || !step.is_none() {
                return Ok(step);
            }
        }
        let looked_up = n > 1 || !self.gains();
        if !looked_up || !self.shortcuts.take(Shortcut::Table) {
            return self.any_forces(board, n);
        }
        let place = self.table.place(board);
        let fact = self.table.fact(&place).unwrap_or_default();
        if n <= fact.not_within {
            return Ok(Step::NONE);
        }
        if fact.within != 0 && fact.within <= n {
            return Ok(fact.step);
        }
        let step = self.any_forces(board, n)?;
        if step.is_none() {
            self.table.refuted(&place, n);
        } else {
            self.table.proved(&place, n, step);
        }
        Ok(step)
    }

    fn any_forces(&mut self, board: &Bitboards, n: u8) -> Result<Step, Stopped> {
        let mut steps = Steps::new();
        if self.gains() {
            let mate = self.gaining(board, n, &mut steps)?;
            if !mate.is_none() {
                return Ok(mate);
            }
        } else {
            board.legal(&board.constraints(), &mut steps);
            if !self.aim.shared() && self.shortcuts.take(Shortcut::Checks) {
                checks_first(board, &mut steps);
            }
        }
        let winner = self.winners[usize::from(n)];
        if let Some(at) = steps.iter().position(|&step| step == winner) {
            steps.swap(0, at);
        }
        for step in steps {
            if self.outcome(&board.play(step), n)? == Outcome::Forces {
                if self.shortcuts.take(Shortcut::Winners) {
                    self.winners[usize::from(n)] = step;
                }
                return Ok(step);
            }
        }
        Ok(Step::NONE)
    }

    /// A step that forces the aim soonest, and in how many moves.
    fn shortest(&mut self, board: &Bitboards, n: u8) -> Result<Option<(Step, u8)>, Stopped> {
        for length in self.aim.lengths(n) {
            let step = self.forcing(board, length)?;
            if !step.is_none() {
                return Ok(Some((step, length)));
            }
        }
        Ok(None)
    }

    /// The reply that holds out longest, and the solver's moves still needed
    /// after it; `None` if there is none, or if one escapes for `n` moves.
    fn longest(&mut self, after: &Bitboards, n: u8) -> Result<Option<(Step, u8)>, Stopped> {
        let mut replies = Steps::new();
        after.legal(&after.constraints(), &mut replies);
        if self.gains() {
            self.sort_replies(after, &mut replies, n);
        }
        let mut longest = None;
        for reply in replies {
            let next = after.play(reply);
            let needed = if self.aim == Aim::Selfmate && next.is_checkmate() {
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
        let after = Bitboards::of(position).play(Step::of(mv));
        let mut outcome = Outcome::Ends;
        for length in self.aim.lengths(n) {
            outcome = self.outcome(&after, length)?;
            if outcome == Outcome::Forces {
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

    /// The line of a move that forces the aim in `length`, against the longest
    /// defence where there is one.
    fn line(&mut self, mv: Move, mut board: Bitboards, length: u8) -> Result<Vec<Move>, Stopped> {
        let mut line = vec![mv];
        let mut left = length - 1;
        loop {
            if !self.aim.shared() {
                let Some((reply, needed)) = self.longest(&board, left)? else {
                    break;
                };
                line.push(board.move_of(reply));
                board = board.play(reply);
                left = needed;
            }
            let Some((step, length)) = self.shortest(&board, left)? else {
                break;
            };
            line.push(board.move_of(step));
            board = board.play(step);
            left = length - 1;
        }
        Ok(line)
    }

    /// Adds the helpmates of exactly `n` half moves to those found, until
    /// there are more than `most`.
    fn walk(
        &mut self,
        board: &Bitboards,
        n: u8,
        most: usize,
        path: &mut Vec<Move>,
        found: &mut Vec<Vec<Move>>,
    ) -> Result<(), Stopped> {
        let mut steps = Steps::new();
        board.legal(&board.constraints(), &mut steps);
        for step in steps {
            if found.len() > most {
                break;
            }
            let after = board.play(step);
            if n == 0 || self.outcome(&after, n)? != Outcome::Forces {
                continue;
            }
            path.push(board.move_of(step));
            if n == 1 {
                found.push(path.clone());
            } else {
                self.walk(&after, n - 1, most, path, found)?;
            }
            path.pop();
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests;
