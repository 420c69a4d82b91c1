//! What is known of the puzzles, and what is asked of the workers that check,
//! prove and explain.

use std::collections::HashMap;

use keyproof::check::{Answer, Question};
use keyproof::explain::Explanation;
use keyproof::tongue::phrase;

use super::looking::Looking;
use super::reasons::Filling;
use super::{Desk, because};
use crate::collection;
use crate::endings::Endings;
use crate::explaining::Explainer;
use crate::message::{CheckMsg, Effect};
use crate::proving::{Agenda, Bench, FIRST_BUDGET};
use crate::second::SecondChecks;
use crate::view_model::ViewModel;
use crate::wire::Post;
use crate::work::{Sheet, SheetId};

/// What is known, and who is at work.
pub(super) struct Checking {
    pub models: HashMap<SheetId, ViewModel>,
    pub looking: Looking,
    /// What puzzles may spend on one piece of work, where it is not the first
    /// budget.
    pub budgets: HashMap<SheetId, u64>,
    pub bench: Bench,
    pub second: SecondChecks,
    pub explainer: Explainer,
    pub filling: Option<Filling>,
    pub fill_questions: Vec<Question>,
    /// The proof is unfolded.
    pub proof_open: bool,
    /// Endgame tables that were opened from files.
    pub endings: Option<Endings>,
}

impl Checking {
    /// With so many workers being started.
    pub fn new(workers: usize) -> Checking {
        Checking {
            models: HashMap::new(),
            looking: Looking::default(),
            budgets: HashMap::new(),
            bench: Bench::new(workers),
            second: SecondChecks::default(),
            explainer: Explainer::default(),
            filling: None,
            fill_questions: Vec::new(),
            proof_open: false,
            endings: None,
        }
    }
}

impl Desk {
    pub fn model(&self, id: SheetId) -> Option<&ViewModel> {
        self.checking.models.get(&id)
    }
    /// The open puzzle, and what follows from it.
    pub fn opened(&self) -> Option<(&Sheet, &ViewModel)> {
        let sheet = self.document.work.opened()?;
        Some((sheet, self.checking.models.get(&sheet.id)?))
    }
    pub fn bench(&self) -> &Bench {
        &self.checking.bench
    }
    /// What a puzzle may spend on one piece of work, in positions.
    pub fn budget(&self, id: SheetId) -> u64 {
        self.checking
            .budgets
            .get(&id)
            .copied()
            .unwrap_or(FIRST_BUDGET)
    }
    /// Whether something of a puzzle is being proved or checked, or waits for it.
    pub fn is_checking(&self, id: SheetId) -> bool {
        let waits = |model: &ViewModel| {
            !model.claims.is_empty() || self.checking.bench.has_work(&self.agenda(id, model))
        };
        !self.checking.bench.is_empty() && self.checking.models.get(&id).is_some_and(waits)
    }

    /// How many workers are at what a puzzle's verdict needs, and the positions
    /// they have seen.
    pub fn at_work(&self, id: SheetId) -> (usize, u64) {
        self.checking.models.get(&id).map_or((0, 0), |model| {
            self.checking.bench.at_work(&self.agenda(id, model))
        })
    }

    /// What is being worked on for a puzzle's verdict, in words.
    pub fn working_on(&self, id: SheetId) -> Option<String> {
        let model = self.checking.models.get(&id)?;
        let question = self.checking.bench.working_on(&self.agenda(id, model))?;
        model.name(question)
    }

    pub(super) fn update_check(&mut self, msg: CheckMsg) -> Vec<Effect> {
        match msg {
            CheckMsg::LookOn => self.look_turn(),
            CheckMsg::Proof(open) => {
                self.checking.proof_open = open;
                self.assign()
            }
            CheckMsg::Fill => self.begin_filling(),
            CheckMsg::Ready(post) => self.ready(post),
            CheckMsg::Progress {
                seat,
                ticket,
                nodes,
            } => {
                self.checking.bench.progress(seat, ticket, nodes);
                if let Some(id) = self.document.work.open {
                    self.catch_up(id);
                }
                vec![]
            }
            CheckMsg::Answered {
                seat,
                ticket,
                answer,
            } => self.answered(seat, ticket, &answer),
            CheckMsg::Broke { post, why } => self.broke(post, why),
            CheckMsg::SecondDone { ticket, heard } => self.second_done(ticket, heard),
            CheckMsg::SaveDisagreement => self.save_disagreement(),
            CheckMsg::NoWorkers(why) => self.no_workers(why),
            CheckMsg::Explained {
                ticket,
                explanation,
            } => {
                if let Some(job) = self.checking.explainer.done(ticket) {
                    self.explained(job, *explanation);
                }
                vec![]
            }
            CheckMsg::Stop => {
                let orders = self.checking.bench.stop().into_iter().map(Effect::Work);
                orders.chain(self.end_second()).collect()
            }
            CheckMsg::GoOn => self.check_on(),
            CheckMsg::SearchOn => {
                if let Some(id) = self.document.work.open {
                    self.search_on(id);
                }
                self.check_on()
            }
            CheckMsg::Endings(event) => self.endings_event(event),
        }
    }
    /// Goes on where checking was stopped.
    pub(super) fn check_on(&mut self) -> Vec<Effect> {
        self.checking.bench.go_on();
        self.assign()
    }
    fn catch_up(&mut self, id: SheetId) {
        if let Some(model) = self.checking.models.get_mut(&id) {
            model.catch_up();
        }
    }
    /// A worker answered a question.
    fn answered(&mut self, seat: usize, ticket: u32, answer: &Answer) -> Vec<Effect> {
        if let Some(job) = self.checking.bench.done(seat, ticket)
            && let Some(model) = self.checking.models.get_mut(&job.sheet)
        {
            model.learn(answer);
            if !self.is_checking(job.sheet) {
                self.catch_up(job.sheet);
            }
            self.put_away_if_checked(job.sheet);
        }
        self.assign()
    }
    fn ready(&mut self, post: Post) -> Vec<Effect> {
        match post {
            Post::Judge(seat) => {
                self.checking.bench.ready(seat);
                self.put_away_checked();
                return self.assign();
            }
            Post::Explain => self.checking.explainer.ready(),
            // These are started with what they are asked.
            Post::Second | Post::Earlier => {}
        }
        vec![]
    }
    fn broke(&mut self, post: Post, why: String) -> Vec<Effect> {
        match post {
            Post::Judge(seat) => self.judge_broke(seat, why),
            Post::Second => self.second_broke(&why),
            Post::Explain => self.explainer_broke(why),
            Post::Earlier => self.earlier(collection::Event::Broke(why)),
        }
    }
    /// A worker broke down over a question.
    pub(super) fn judge_broke(&mut self, seat: usize, why: String) -> Vec<Effect> {
        let orders = self.checking.bench.broke(seat);
        let text = phrase!(
            "A checking worker broke down and was started anew ({why}).",
            "why"
        );
        self.warn(because(text, why), Vec::new);
        let orders = orders.into_iter().map(Effect::Work);
        orders.chain(self.assign()).collect()
    }
    /// Workers cannot run here.
    fn no_workers(&mut self, why: String) -> Vec<Effect> {
        self.checking.explainer = Explainer::default();
        let text = phrase!(
            "This browser runs no workers for this page ({why}), so nothing can be checked here.",
            "why"
        );
        self.warn(because(text, why), Vec::new);
        vec![]
    }
    /// The worker that explains broke down: what it was at goes without reasons.
    fn explainer_broke(&mut self, why: String) -> Vec<Effect> {
        let (order, job) = self.checking.explainer.broke();
        if let Some(job) = job {
            self.explained(job, Explanation::default());
        }
        let text = phrase!(
            "The worker that finds reasons broke down and was started anew ({why}).",
            "why"
        );
        self.warn(because(text, why), Vec::new);
        vec![Effect::Work(order)]
    }

    pub(super) fn agenda<'a>(&self, id: SheetId, model: &'a ViewModel) -> Agenda<'a> {
        Agenda {
            sheet: id,
            questions: &model.questions,
            budget: self.budget(id),
        }
    }
    /// Hands out work: first what is asked where the author stands in the
    /// proof, then what the verdicts need.
    pub(super) fn assign(&mut self) -> Vec<Effect> {
        let mut bench = std::mem::take(&mut self.checking.bench);
        let open = self.document.work.open;
        let proof = self.proof_questions();
        let agendas: Vec<Agenda> = open
            .into_iter()
            .flat_map(|id| {
                let filling = self.proof_agenda(id, &self.checking.fill_questions);
                [self.proof_agenda(id, &proof), filling]
            })
            .chain(
                self.in_order()
                    .into_iter()
                    .filter_map(|id| Some(self.agenda(id, self.checking.models.get(&id)?))),
            )
            .filter(|agenda| !agenda.questions.is_empty())
            .collect();
        let orders = bench.assign(&agendas);
        self.checking.bench = bench;
        let mut effects: Vec<Effect> = orders.into_iter().map(Effect::Work).collect();
        effects.extend(self.assign_seek());
        effects.extend(self.assign_second());
        effects
    }
}
