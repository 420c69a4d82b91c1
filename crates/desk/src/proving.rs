//! Spreading the checker's questions over workers: which worker is at what,
//! what to ask next, and what is no longer worth answering. Starting workers
//! and carrying messages is left to the edge.

use std::collections::{HashMap, HashSet};

use keyproof::check::{Goal, Question};
use keyproof::moments;

use crate::lane::Lane;
use crate::wire::{Ask, Order, Post};
use crate::work::SheetId;

/// Positions that one piece of work may take before it is left undecided.
pub const FIRST_BUDGET: u64 = 20_000_000;

/// A piece of work that a worker is at.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Job {
    pub sheet: SheetId,
    pub question: Question,
    pub budget: u64,
    /// Positions seen so far.
    pub nodes: u64,
}

/// A question about a game whose moments are looked for, that a worker is at.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SeekJob {
    pub sheet: SheetId,
    pub question: moments::Question,
}

/// What a worker is at.
#[derive(Clone, Debug, PartialEq, Eq)]
enum Task {
    Check(Job),
    Seek(SeekJob),
}

/// A puzzle's open questions, in order of weight.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Agenda<'a> {
    pub sheet: SheetId,
    pub questions: &'a [Question],
    pub budget: u64,
}

impl Agenda<'_> {
    /// Whether a job answers any of it.
    fn asks(&self, job: &Job) -> bool {
        self.sheet == job.sheet
            && self.questions.iter().any(|question| {
                let asked = targets(question);
                same_position(question, &job.question)
                    && targets(&job.question).iter().any(|m| asked.contains(m))
            })
    }
}

/// The workers and what was asked of them.
#[derive(Clone, Debug, Default)]
pub struct Bench {
    seats: Vec<Lane<Task>>,
    /// The budget at which each move of each position was given up or
    /// answered, at each effort; it is not asked again at the same.
    tried: HashMap<(SheetId, String, Goal, String, u8), u64>,
    next_ticket: u32,
    stopped: bool,
    /// Questions about games that broke a worker down.
    given_up: Vec<moments::Question>,
}

impl Bench {
    /// A bench of workers that are being started.
    pub fn new(seats: usize) -> Bench {
        Bench {
            seats: vec![Lane::Starting; seats],
            ..Bench::default()
        }
    }
    pub fn len(&self) -> usize {
        self.seats.len()
    }
    pub fn is_empty(&self) -> bool {
        self.seats.is_empty()
    }
    /// Whether the author stopped the work.
    pub fn stopped(&self) -> bool {
        self.stopped
    }
    /// How many workers are at these questions, and the positions they have
    /// seen.
    pub fn at_work(&self, agenda: &Agenda) -> (usize, u64) {
        self.jobs()
            .filter(|job| agenda.asks(job))
            .fold((0, 0), |(count, nodes), j| (count + 1, nodes + j.nodes))
    }
    /// The question among these that a worker has been at for longest.
    pub fn working_on(&self, agenda: &Agenda) -> Option<&Question> {
        let jobs = self.seats.iter().filter_map(|seat| match seat {
            Lane::Busy {
                ticket,
                task: Task::Check(job),
            } => Some((ticket, job)),
            _ => None,
        });
        let jobs = jobs.filter(|(_, job)| agenda.asks(job));
        let (_, oldest) = jobs.min_by_key(|(ticket, _)| **ticket)?;
        Some(&oldest.question)
    }
    /// A worker is ready.
    pub fn ready(&mut self, seat: usize) {
        if let Some(seat) = self.seats.get_mut(seat) {
            seat.ready();
        }
    }
    /// A worker told how far it is. It may begin to count anew for each move;
    /// what was told before stays.
    pub fn progress(&mut self, seat: usize, ticket: u32, nodes: u64) {
        let seat = self.seats.get_mut(seat);
        if let Some(Task::Check(job)) = seat.and_then(|seat| seat.at(ticket)) {
            job.nodes = job.nodes.max(nodes);
        }
    }
    /// A worker is done: the job it was at, unless that was given up before.
    pub fn done(&mut self, seat: usize, ticket: u32) -> Option<Job> {
        match self.seats.get_mut(seat)?.done(ticket)? {
            Task::Check(job) => {
                self.mark_tried(&job);
                Some(job)
            }
            Task::Seek(_) => None,
        }
    }
    /// A worker broke down. Its question counts as tried, so that it does not
    /// break the next one too.
    pub fn broke(&mut self, seat: usize) -> Vec<Order> {
        match self.seats.get_mut(seat).and_then(Lane::restart) {
            Some(Task::Check(job)) => self.mark_tried(&job),
            Some(Task::Seek(errand)) => self.given_up.push(errand.question),
            None => {}
        }
        self.restart(seat)
    }
    /// Ends all work until [`Self::go_on`].
    pub fn stop(&mut self) -> Vec<Order> {
        self.stopped = true;
        let busy: Vec<usize> = self.busy_seats().collect();
        busy.into_iter()
            .flat_map(|seat| self.restart(seat))
            .collect()
    }
    pub fn go_on(&mut self) {
        self.stopped = false;
    }
    /// What was tried may be asked again with the same budget: the workers know more.
    pub fn try_anew(&mut self) {
        self.tried.clear();
    }
    /// Hands out work: ends what no agenda asks any more, then gives each idle
    /// worker the next piece, earlier agendas first.
    pub fn assign(&mut self, agendas: &[Agenda]) -> Vec<Order> {
        let mut orders = Vec::new();
        let stale: Vec<usize> = self
            .busy_seats()
            .filter(|&seat| !self.still_asked(seat, agendas))
            .collect();
        for seat in stale {
            orders.extend(self.restart(seat));
        }
        if self.stopped {
            return orders;
        }
        for seat in 0..self.seats.len() {
            if !self.seats[seat].is_idle() {
                continue;
            }
            let Some((sheet, question, budget)) = self.next_piece(agendas) else {
                break;
            };
            let job = Job {
                sheet,
                question: question.clone(),
                budget,
                nodes: 0,
            };
            let ticket = self.begin(seat, Task::Check(job));
            let ask = Ask::Question {
                ticket,
                question,
                budget,
            };
            orders.push(Order::Ask(Post::Judge(seat), ask));
        }
        orders
    }
    /// Hands the idle workers questions about a game, the first ones first, and
    /// ends what is no longer asked. What [`Self::assign`] has to hand out goes
    /// first.
    pub fn seek(&mut self, wanted: Option<(SheetId, &[moments::Question])>) -> Vec<Order> {
        let (sheet, questions) = wanted.unwrap_or((SheetId(0), &[]));
        let mut orders = Vec::new();
        for seat in 0..self.seats.len() {
            if let Some(Task::Seek(errand)) = self.seats[seat].task()
                && !(errand.sheet == sheet && questions.contains(&errand.question))
            {
                orders.extend(self.restart(seat));
            }
        }
        for seat in 0..self.seats.len() {
            if !self.seats[seat].is_idle() {
                continue;
            }
            let next = questions
                .iter()
                .find(|question| !self.is_sought(question) && !self.given_up.contains(question));
            let Some(question) = next else { break };
            let question = question.clone();
            let errand = SeekJob {
                sheet,
                question: question.clone(),
            };
            let ticket = self.begin(seat, Task::Seek(errand));
            let ask = Ask::Seek {
                ticket,
                question: Box::new(question),
            };
            orders.push(Order::Ask(Post::Judge(seat), ask));
        }
        orders
    }
    /// A worker answered a question about a game: the errand, unless that was
    /// given up before.
    pub fn sought(&mut self, seat: usize, ticket: u32) -> Option<SeekJob> {
        match self.seats.get_mut(seat)?.done(ticket)? {
            Task::Seek(errand) => Some(errand),
            Task::Check(_) => None,
        }
    }
    /// Whether a question about a game is left out because it broke a worker
    /// down.
    pub fn gave_up(&self, question: &moments::Question) -> bool {
        self.given_up.contains(question)
    }
    /// Forgets what was asked of these sheets.
    pub fn forget(&mut self, gone: &HashSet<SheetId>) {
        self.tried.retain(|(sheet, ..), _| !gone.contains(sheet));
    }
    /// The sheets of the games that are being looked through.
    #[cfg(test)]
    pub fn looked_through(&self) -> impl Iterator<Item = SheetId> {
        let tasks = self.seats.iter().filter_map(Lane::task);
        tasks.filter_map(|task| match task {
            Task::Seek(errand) => Some(errand.sheet),
            Task::Check(_) => None,
        })
    }
    /// The sheets of which something is kept.
    #[cfg(test)]
    pub fn kept(&self) -> impl Iterator<Item = &SheetId> {
        self.tried.keys().map(|(sheet, ..)| sheet)
    }
    /// Whether anything of these questions is still to be asked or is being
    /// answered.
    pub fn has_work(&self, agenda: &Agenda) -> bool {
        self.at_work(agenda).0 > 0
            || agenda.questions.iter().any(|q| {
                targets(q)
                    .iter()
                    .any(|m| !self.was_tried(agenda.sheet, q, m, agenda.budget))
            })
    }

    fn is_sought(&self, question: &moments::Question) -> bool {
        let mut tasks = self.seats.iter().filter_map(Lane::task);
        tasks.any(|task| matches!(task, Task::Seek(errand) if errand.question == *question))
    }
    fn jobs(&self) -> impl Iterator<Item = &Job> {
        let tasks = self.seats.iter().filter_map(Lane::task);
        tasks.filter_map(|task| match task {
            Task::Check(job) => Some(job),
            Task::Seek(_) => None,
        })
    }
    fn busy_seats(&self) -> impl Iterator<Item = usize> {
        let is_busy = |seat: &usize| matches!(self.seats[*seat].task(), Some(Task::Check(_)));
        (0..self.seats.len()).filter(is_busy)
    }
    fn begin(&mut self, seat: usize, task: Task) -> u32 {
        self.next_ticket += 1;
        self.seats[seat].begin(self.next_ticket, task);
        self.next_ticket
    }
    fn restart(&mut self, seat: usize) -> Vec<Order> {
        let Some(lane) = self.seats.get_mut(seat) else {
            return Vec::new();
        };
        lane.restart();
        vec![Order::Restart(Post::Judge(seat))]
    }
    fn still_asked(&self, seat: usize, agendas: &[Agenda]) -> bool {
        match self.seats[seat].task() {
            Some(Task::Check(job)) => agendas.iter().any(|agenda| agenda.asks(job)),
            _ => true,
        }
    }
    fn was_tried(&self, sheet: SheetId, question: &Question, mv: &str, budget: u64) -> bool {
        let key = (
            sheet,
            question.fen.clone(),
            question.goal,
            mv.to_owned(),
            question.effort,
        );
        self.tried.get(&key).is_some_and(|&spent| spent >= budget)
    }
    fn mark_tried(&mut self, job: &Job) {
        for mv in targets(&job.question) {
            let key = (
                job.sheet,
                job.question.fen.clone(),
                job.question.goal,
                mv.to_owned(),
                job.question.effort,
            );
            self.tried.insert(key, job.budget);
        }
    }
    /// The next piece of work: all moves of a short question, a few moves of a
    /// long one, so that the workers share it.
    fn next_piece(&self, agendas: &[Agenda]) -> Option<(SheetId, Question, u64)> {
        for agenda in agendas {
            for question in agenda.questions {
                let taken: HashSet<&str> = self
                    .jobs()
                    .filter(|j| j.sheet == agenda.sheet && same_position(&j.question, question))
                    .flat_map(|j| targets(&j.question))
                    .collect();
                let left: Vec<&str> = targets(question)
                    .into_iter()
                    .filter(|m| !taken.contains(m))
                    .filter(|m| !self.was_tried(agenda.sheet, question, m, agenda.budget))
                    .collect();
                if left.is_empty() {
                    continue;
                }
                let quick = question.goal.pairs_left().is_some_and(|n| n <= 2);
                let share = if quick || !question.splits() {
                    left.len()
                } else {
                    left.len().div_ceil(2 * self.seats.len().max(1))
                };
                let piece = Question {
                    fen: question.fen.clone(),
                    goal: question.goal,
                    moves: left
                        .into_iter()
                        .take(share)
                        .filter(|m| !m.is_empty())
                        .map(str::to_owned)
                        .collect(),
                    effort: question.effort,
                };
                return Some((agenda.sheet, piece, agenda.budget));
            }
        }
        None
    }
}

/// The moves a question is about; the empty text for a question about the
/// position as a whole.
fn targets(question: &Question) -> Vec<&str> {
    if question.moves.is_empty() {
        vec![""]
    } else {
        question.moves.iter().map(String::as_str).collect()
    }
}

fn same_position(a: &Question, b: &Question) -> bool {
    a.goal == b.goal && a.fen == b.fen && a.effort == b.effort
}

#[cfg(test)]
mod tests {
    use super::*;
    use keyproof::aim::Aim;

    fn question(fen: &str, n: u8, moves: &[&str]) -> Question {
        Question {
            fen: fen.into(),
            goal: Goal::Forced(Aim::Mate, n),
            moves: moves.iter().map(|&m| m.into()).collect(),
            effort: 0,
        }
    }
    fn agenda(sheet: u64, questions: Vec<Question>) -> Agenda<'static> {
        Agenda {
            sheet: SheetId(sheet),
            questions: questions.leak(),
            budget: 100,
        }
    }
    fn asked(orders: &[Order]) -> Vec<(usize, Vec<String>)> {
        orders
            .iter()
            .filter_map(|o| match o {
                Order::Ask(Post::Judge(seat), Ask::Question { question, .. }) => {
                    Some((*seat, question.moves.clone()))
                }
                _ => None,
            })
            .collect()
    }
    fn two_ready() -> Bench {
        let mut bench = Bench::new(2);
        bench.ready(0);
        bench.ready(1);
        bench
    }

    #[test]
    fn nothing_is_asked_before_a_worker_is_ready() {
        let mut bench = Bench::new(2);
        let agendas = [agenda(1, vec![question("p", 2, &["a"])])];
        assert!(bench.assign(&agendas).is_empty());
        bench.ready(1);
        assert_eq!(asked(&bench.assign(&agendas)), [(1, vec!["a".into()])]);
    }

    #[test]
    fn a_long_question_is_shared_and_no_move_is_asked_twice() {
        let mut bench = two_ready();
        let moves = ["a", "b", "c", "d", "e", "f", "g", "h"];
        let agendas = [agenda(1, vec![question("p", 3, &moves)])];
        let mut seen = Vec::new();
        let mut orders = bench.assign(&agendas);
        assert_eq!(asked(&orders).len(), 2);
        while let Some(order) = orders.pop() {
            let Order::Ask(
                Post::Judge(seat),
                Ask::Question {
                    ticket, question, ..
                },
            ) = order
            else {
                panic!("nothing is stale")
            };
            seen.extend(question.moves);
            assert!(bench.done(seat, ticket).is_some());
            orders.extend(bench.assign(&agendas));
        }
        seen.sort();
        assert_eq!(seen, moves);
        assert!(!bench.has_work(&agendas[0]));
    }

    #[test]
    fn work_that_nobody_asks_for_is_ended() {
        let mut bench = two_ready();
        bench.assign(&[agenda(1, vec![question("p", 3, &["a"])])]);
        let orders = bench.assign(&[agenda(1, vec![question("q", 3, &["a"])])]);
        assert!(orders.contains(&Order::Restart(Post::Judge(0))));
        assert_eq!(asked(&orders), [(1, vec!["a".into()])]);
    }

    #[test]
    fn progress_never_goes_back_and_counts_only_for_its_job() {
        let mut bench = two_ready();
        let agendas = [agenda(1, vec![question("p", 2, &["a", "b"])])];
        bench.assign(&agendas);
        for (ticket, nodes) in [(1, 50), (1, 20), (9, 80)] {
            bench.progress(0, ticket, nodes);
        }
        assert_eq!(bench.at_work(&agendas[0]), (1, 50));
        let other = agenda(1, vec![question("q", 2, &["a", "b"])]);
        assert_eq!(bench.at_work(&other), (0, 0));
    }

    #[test]
    fn an_answer_to_ended_work_is_not_taken() {
        let mut bench = two_ready();
        bench.assign(&[agenda(1, vec![question("p", 3, &["a"])])]);
        bench.assign(&[]);
        assert_eq!(bench.done(0, 1), None);
    }

    #[test]
    fn what_was_given_up_is_asked_again_only_with_more_to_spend() {
        let mut bench = two_ready();
        let mut agenda = agenda(1, vec![question("p", 3, &["a"])]);
        bench.assign(std::slice::from_ref(&agenda));
        bench.done(0, 1);
        assert!(bench.assign(std::slice::from_ref(&agenda)).is_empty());
        agenda.budget = 1000;
        assert_eq!(bench.assign(std::slice::from_ref(&agenda)).len(), 1);
    }

    #[test]
    fn a_move_that_wavers_is_asked_again_with_more_effort() {
        let mut bench = two_ready();
        let first = agenda(1, vec![question("p", 3, &["a"])]);
        bench.assign(std::slice::from_ref(&first));
        bench.done(0, 1);
        let again = agenda(1, vec![question("p", 3, &["a"]).with_effort(1)]);
        let orders = bench.assign(std::slice::from_ref(&again));
        let effort = |order: &Order| match order {
            Order::Ask(_, Ask::Question { question, .. }) => Some(question.effort),
            _ => None,
        };
        assert_eq!(orders.iter().map(effort).collect::<Vec<_>>(), [Some(1)]);
        assert!(bench.has_work(&again));
        assert!(!bench.has_work(&first));
    }

    #[test]
    fn a_question_about_the_position_is_one_piece() {
        let mut bench = two_ready();
        let agendas = [agenda(1, vec![question("p", 3, &[])])];
        assert_eq!(asked(&bench.assign(&agendas)), [(0, vec![])]);
        assert!(bench.assign(&agendas).is_empty());
        bench.done(0, 1);
        assert!(!bench.has_work(&agendas[0]));
    }

    #[test]
    fn stopping_ends_all_work_until_going_on() {
        let mut bench = two_ready();
        let agendas = [agenda(1, vec![question("p", 3, &["a", "b"])])];
        bench.assign(&agendas);
        assert_eq!(bench.stop().len(), 2);
        bench.ready(0);
        assert!(bench.assign(&agendas).is_empty());
        bench.go_on();
        assert_eq!(asked(&bench.assign(&agendas)), [(0, vec!["a".into()])]);
    }

    #[test]
    fn a_question_that_breaks_a_worker_is_not_put_to_the_next() {
        let mut bench = two_ready();
        let agendas = [agenda(1, vec![question("p", 2, &["a"])])];
        bench.assign(&agendas);
        assert_eq!(bench.broke(0), [Order::Restart(Post::Judge(0))]);
        assert!(bench.assign(&agendas).is_empty());
    }

    #[test]
    fn idle_workers_look_for_moments_and_checking_goes_first() {
        let glance = |ply| moments::Question::Glance {
            ply,
            fen: "p".into(),
            nodes: 1,
        };
        let game = [glance(0), glance(1), glance(2)];
        let wanted = Some((SheetId(1), &game[..]));
        let mut bench = two_ready();
        bench.assign(&[agenda(2, vec![question("q", 2, &["b"])])]);
        let orders = bench.seek(wanted);
        let [Order::Ask(Post::Judge(1), Ask::Seek { ticket, question })] = orders.as_slice() else {
            panic!("{orders:?}")
        };
        assert_eq!(**question, game[0]);
        assert!(bench.seek(wanted).is_empty());
        let errand = bench.sought(1, *ticket).expect("it is at it");
        assert_eq!((errand.sheet, &errand.question), (SheetId(1), &**question));
        assert_eq!(bench.sought(1, *ticket), None);
        bench.seek(Some((SheetId(1), &game[1..])));
        assert_eq!(bench.broke(1), [Order::Restart(Post::Judge(1))]);
        bench.ready(1);
        let orders = bench.seek(Some((SheetId(1), &game[1..])));
        let [Order::Ask(_, Ask::Seek { question, .. })] = orders.as_slice() else {
            panic!("{orders:?}")
        };
        assert_eq!(**question, game[2]);
        assert!(bench.gave_up(&game[1]));
        assert_eq!(bench.seek(None), [Order::Restart(Post::Judge(1))]);
    }

    #[test]
    fn the_first_agenda_comes_first() {
        let mut bench = Bench::new(1);
        bench.ready(0);
        let agendas = [
            agenda(2, vec![question("q", 2, &["b"])]),
            agenda(1, vec![question("p", 2, &["a"])]),
        ];
        assert_eq!(asked(&bench.assign(&agendas)), [(0, vec!["b".into()])]);
    }
}
