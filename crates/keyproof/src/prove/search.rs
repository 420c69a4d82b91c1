//! The depth-first AND/OR search: the solver needs one move, the defence
//! must be beaten in every reply.

use super::generate::Steps;
use super::men::{Duty, Men};
use super::spend::{Spend, Stopped};
use super::step::Step;

/// What comes of a solver's move when more moves may follow it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Outcome {
    /// It mates, or every reply is met by mate in time.
    Wins,
    /// This reply is not mated in time.
    Refuted(Step),
    /// Stalemate, or no move is left and it is not mate.
    Ends,
}

/// Steps that decided sister positions, per number of moves left.
#[derive(Clone, Copy, Default)]
struct Killers {
    refutations: [Step; 2],
    mating: Step,
}

impl Killers {
    fn refutes(&mut self, step: Step) {
        if self.refutations[0] != step {
            self.refutations = [step, self.refutations[0]];
        }
    }
}

pub(super) struct Search<'w> {
    pub spend: Spend<'w>,
    killers: [Killers; 256],
}

impl<'w> Search<'w> {
    pub fn new(spend: Spend<'w>) -> Search<'w> {
        Search {
            spend,
            killers: [Killers::default(); 256],
        }
    }

    /// A step of the side to move that forces mate within `n`, or
    /// [`Step::NONE`].
    pub fn mating_step(&mut self, men: &Men, n: u8) -> Result<Step, Stopped> {
        self.spend.node()?;
        if n == 0 {
            return Ok(Step::NONE);
        }
        let step = men.mate_in_one();
        if n == 1 || !step.is_none() {
            return Ok(step);
        }
        if n > 2 {
            let step = self.mating_step(men, n - 1)?;
            if !step.is_none() {
                return Ok(step);
            }
        }
        let duty = men.duty();
        let killer = self.killers[usize::from(n)].mating;
        if men.takes_over(&duty, killer) && self.outcome(&men.play(killer), n - 1)? == Outcome::Wins
        {
            return Ok(killer);
        }
        let mut steps = Steps::new();
        men.legal(&duty, &mut steps);
        if n == 2 {
            return self.last_but_one(men, &duty, killer, &steps);
        }
        for step in steps {
            if step != killer && self.outcome(&men.play(step), n - 1)? == Outcome::Wins {
                self.killers[usize::from(n)].mating = step;
                return Ok(step);
            }
        }
        Ok(Step::NONE)
    }

    /// The step among `steps` that forces mate in two.
    fn last_but_one(
        &mut self,
        men: &Men,
        duty: &Duty,
        killer: Step,
        steps: &Steps,
    ) -> Result<Step, Stopped> {
        let [first, second] = self.killers[1].refutations;
        let mut calm = None;
        let mut calms = 2;
        if duty.checkers.is_empty() {
            calm = men.calm(first).or_else(|| men.calm(second));
        } else {
            calms = 0;
        }
        for (i, &step) in steps.iter().enumerate() {
            if step == killer || calm.as_ref().is_some_and(|calm| calm.refutes(step)) {
                continue;
            }
            match self.outcome(&men.play(step), 1)? {
                Outcome::Wins => {
                    self.killers[2].mating = step;
                    return Ok(step);
                }
                Outcome::Refuted(reply) => {
                    if calm.is_none()
                        && calms > 0
                        && reply != first
                        && reply != second
                        && steps.len() - i > 5
                    {
                        calm = men.calm(reply);
                        calms -= 1;
                    }
                }
                Outcome::Ends => {}
            }
        }
        Ok(Step::NONE)
    }

    /// What comes of the solver's step that led to `after`, with `left` more
    /// of the solver's moves allowed.
    pub fn outcome(&mut self, after: &Men, left: u8) -> Result<Outcome, Stopped> {
        let duty = after.duty();
        if left == 0 {
            self.spend.node()?;
            return Ok(if duty.checkers.any() && after.is_stuck(&duty) {
                Outcome::Wins
            } else {
                Outcome::Ends
            });
        }
        let killers = self.killers[usize::from(left)].refutations;
        for killer in killers {
            if after.takes_over(&duty, killer)
                && self.mating_step(&after.play(killer), left)?.is_none()
            {
                return Ok(Outcome::Refuted(killer));
            }
        }
        let mut replies = Steps::new();
        after.legal(&duty, &mut replies);
        if replies.is_empty() {
            return Ok(if duty.checkers.any() {
                Outcome::Wins
            } else {
                Outcome::Ends
            });
        }
        let mut mate = Step::NONE;
        for reply in replies {
            if killers.contains(&reply) {
                continue;
            }
            let men = after.play(reply);
            if left == 1 {
                self.spend.node()?;
                if men.still_mates(mate) {
                    continue;
                }
                mate = men.mate_in_one();
                if !mate.is_none() {
                    continue;
                }
            } else if !self.mating_step(&men, left)?.is_none() {
                continue;
            }
            self.killers[usize::from(left)].refutes(reply);
            return Ok(Outcome::Refuted(reply));
        }
        Ok(Outcome::Wins)
    }

    /// A shortest forced mate within `n`: its first step and its length.
    pub fn shortest(&mut self, men: &Men, n: u8) -> Result<Option<(Step, u8)>, Stopped> {
        for length in 1..=n {
            let step = self.mating_step(men, length)?;
            if !step.is_none() {
                return Ok(Some((step, length)));
            }
        }
        Ok(None)
    }
}
