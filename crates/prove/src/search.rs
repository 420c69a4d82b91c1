//! The depth-first AND/OR search: the solver needs one move, the defence
//! must be beaten in every reply.

use super::bitboards::{Bitboards, Constraints};
use super::generate::Steps;
use super::shortcuts::{Shortcut, Shortcuts};
use super::spend::{Spend, Stopped};
use super::step::Step;
use super::table::Table;

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

/// Steps that decided sister positions, per number of moves left, the latest
/// first. They are tried before others are even generated, and skipped then
/// only if they were tried: what cannot be taken over from another position
/// (see [`Bitboards::takes_over`]) is not kept, and would be searched in its turn.
#[derive(Clone, Copy, Default)]
struct Killers {
    refutations: [Step; 3],
    mating: Step,
}

impl Killers {
    fn refutes(&mut self, step: Step) {
        let [first, second, third] = self.refutations;
        if step == second {
            self.refutations = [second, first, third];
        } else if step != first {
            self.refutations = [step, first, second];
        }
    }
}

pub(super) struct Search<'w> {
    pub spend: Spend<'w>,
    shortcuts: Shortcuts,
    table: &'w mut Table,
    /// Positions with so many moves left, or more, are looked up in the table.
    hashed: u8,
    killers: [Killers; 256],
}

impl<'w> Search<'w> {
    /// A search for questions of up to `n` moves.
    pub fn new(spend: Spend<'w>, shortcuts: Shortcuts, table: &'w mut Table, n: u8) -> Search<'w> {
        // With few moves left positions hardly ever come again.
        let hashed = match n {
            _ if !shortcuts.take(Shortcut::Table) => u8::MAX,
            0..4 => u8::MAX,
            4 => 3,
            _ => 2,
        };
        match n {
            0..4 => {}
            4..6 => table.reserve(1 << 20),
            _ => table.reserve(usize::MAX),
        }
        Search {
            spend,
            shortcuts,
            table,
            hashed,
            killers: [Killers::default(); 256],
        }
    }

    /// A step of the side to move that forces mate within `n`, or
    /// [`Step::NONE`].
    pub fn mating_step(&mut self, board: &Bitboards, n: u8) -> Result<Step, Stopped> {
        self.spend.node()?;
        if n == 0 {
            return Ok(Step::NONE);
        }
        let step = self.answer(board).unwrap_or(Step::NONE);
        if n == 1 || !step.is_none() {
            return Ok(step);
        }
        if n < self.hashed {
            return self.any_wins(board, n);
        }
        let place = self.table.place(board);
        let fact = self.table.fact(&place).unwrap_or_default();
        if n <= fact.not_within {
            return Ok(Step::NONE);
        }
        if fact.within != 0 && fact.within <= n {
            return Ok(fact.step);
        }
        for n in (fact.not_within + 1).max(2)..=n {
            let step = self.any_wins(board, n)?;
            if !step.is_none() {
                self.table.proved(&place, n, step);
                return Ok(step);
            }
        }
        self.table.refuted(&place, n);
        Ok(Step::NONE)
    }

    /// A step that forces mate within `n`, at least 2, or [`Step::NONE`].
    fn any_wins(&mut self, board: &Bitboards, n: u8) -> Result<Step, Stopped> {
        let constraints = board.constraints();
        let mut tried = Step::NONE;
        let killer = self.killers[usize::from(n)].mating;
        if board.takes_over(&constraints, killer) {
            tried = killer;
            if self.outcome(&board.play(killer), n - 1)? == Outcome::Wins {
                return Ok(killer);
            }
        }
        let mut steps = Steps::new();
        board.legal(&constraints, &mut steps);
        if self.shortcuts.take(Shortcut::Checks) {
            checks_first(board, &mut steps);
        }
        if n == 2 {
            return self.last_but_one(board, &constraints, tried, &steps);
        }
        for step in steps {
            if step != tried && self.outcome(&board.play(step), n - 1)? == Outcome::Wins {
                self.won(n, step);
                return Ok(step);
            }
        }
        Ok(Step::NONE)
    }

    /// The step among `steps` that forces mate in two; `tried` does not.
    fn last_but_one(
        &mut self,
        board: &Bitboards,
        constraints: &Constraints,
        tried: Step,
        steps: &Steps,
    ) -> Result<Step, Stopped> {
        let killers = self.killers[1].refutations;
        let mut refutation = None;
        let mut attempts = 0;
        if constraints.checkers.is_empty() && self.shortcuts.take(Shortcut::NullMove) {
            refutation = board.null_move_refutation(&killers);
            attempts = 2;
        }
        for &step in steps {
            if step == tried
                || refutation
                    .as_ref()
                    .is_some_and(|refutation| refutation.refutes(step))
            {
                continue;
            }
            match self.outcome_before_last(&board.play(step))? {
                Outcome::Wins => {
                    self.won(2, step);
                    return Ok(step);
                }
                Outcome::Refuted(reply)
                    if refutation.is_none() && attempts > 0 && !killers.contains(&reply) =>
                {
                    refutation = board.null_move_refutation(&[reply]);
                    attempts -= 1;
                }
                _ => {}
            }
        }
        Ok(Step::NONE)
    }

    /// What comes of the solver's step that led to `after`, with `left` more
    /// of the solver's moves allowed.
    pub fn outcome(&mut self, after: &Bitboards, left: u8) -> Result<Outcome, Stopped> {
        match left {
            0 => {
                self.spend.node()?;
                let wins = after.is_checkmate();
                return Ok(if wins { Outcome::Wins } else { Outcome::Ends });
            }
            1 => return self.outcome_before_last(after),
            _ => {}
        }
        let constraints = after.constraints();
        let mut tried = [Step::NONE; 3];
        let killers = self.killers[usize::from(left)].refutations;
        for (killer, tried) in killers.into_iter().zip(&mut tried) {
            if !after.takes_over(&constraints, killer) {
                continue;
            }
            *tried = killer;
            if self.mating_step(&after.play(killer), left)?.is_none() {
                self.refuted(left, killer);
                return Ok(Outcome::Refuted(killer));
            }
        }
        let mut replies = Steps::new();
        after.legal(&constraints, &mut replies);
        for &reply in &replies {
            if !tried.contains(&reply) && self.mating_step(&after.play(reply), left)?.is_none() {
                self.refuted(left, reply);
                return Ok(Outcome::Refuted(reply));
            }
        }
        Ok(if replies.is_empty() && constraints.checkers.is_empty() {
            Outcome::Ends
        } else {
            Outcome::Wins
        })
    }

    /// [`Search::outcome`] with one more move left, which must mate.
    fn outcome_before_last(&mut self, after: &Bitboards) -> Result<Outcome, Stopped> {
        let mut tried = [Step::NONE; 3];
        let mut mate = Step::NONE;
        let killers = self.killers[1].refutations;
        for (killer, tried) in killers.into_iter().zip(&mut tried) {
            if !after.can_go(killer) {
                continue;
            }
            self.spend.node()?;
            *tried = killer;
            match self.answer(&after.play(killer)) {
                Some(answer) if answer.is_none() => {
                    self.refuted(1, killer);
                    return Ok(Outcome::Refuted(killer));
                }
                Some(answer) => mate = answer,
                None => {}
            }
        }
        let constraints = after.constraints();
        let mut replies = Steps::new();
        after.legal(&constraints, &mut replies);
        for &reply in &replies {
            if tried.contains(&reply) {
                continue;
            }
            self.spend.node()?;
            let board = after.play(reply);
            if self.shortcuts.take(Shortcut::StillMates) && board.still_mates(mate) {
                continue;
            }
            mate = self.answer(&board).unwrap_or(Step::NONE);
            if mate.is_none() {
                self.refuted(1, reply);
                return Ok(Outcome::Refuted(reply));
            }
        }
        Ok(if replies.is_empty() && constraints.checkers.is_empty() {
            Outcome::Ends
        } else {
            Outcome::Wins
        })
    }

    /// Keeps a reply that refuted with `left` of the solver's moves to come.
    fn refuted(&mut self, left: u8, reply: Step) {
        let shortcut = if left == 1 {
            Shortcut::LastRefuters
        } else {
            Shortcut::Refuters
        };
        if self.shortcuts.take(shortcut) && !reply.is_special() {
            self.killers[usize::from(left)].refutes(reply);
        }
    }

    /// Keeps a step that forced mate in `n`.
    fn won(&mut self, n: u8, step: Step) {
        if self.shortcuts.take(Shortcut::Winners) && !step.is_special() {
            self.killers[usize::from(n)].mating = step;
        }
    }

    /// [`Bitboards::answer`].
    fn answer(&self, board: &Bitboards) -> Option<Step> {
        if self.shortcuts.take(Shortcut::QuickMate) {
            board.answer()
        } else {
            board.played_answer()
        }
    }

    /// A shortest forced mate within `n`: its first step and its length.
    pub fn shortest(&mut self, board: &Bitboards, n: u8) -> Result<Option<(Step, u8)>, Stopped> {
        for length in 1..=n {
            let step = self.mating_step(board, length)?;
            if !step.is_none() {
                return Ok(Some((step, length)));
            }
        }
        Ok(None)
    }
}

/// Puts what may give check before what cannot.
pub(super) fn checks_first(board: &Bitboards, steps: &mut Steps) {
    let checks = board.checks();
    let mut front = 0;
    for i in 0..steps.len() {
        if checks.may_give(steps[i]) {
            steps.swap(i, front);
            front += 1;
        }
    }
}
