//! What a task may use of the machine, and how it is followed and stopped.

use keyproof::check::{self, Judge};
use keyproof::prove::{Prover, Watch};
use keyproof::search::Search;
use keyproof::tables::Tables;

use crate::trouble::Trouble;
use crate::workers::in_order;

/// Bytes that the table of one prover, or of a search, may take.
pub const TABLE: usize = check::TABLE_BYTES;

/// Whoever follows a task. Its threads all ask the same one.
pub trait Follow: Sync {
    /// Whether to go on; asked many times a second. A task that is stopped gives
    /// [`Trouble::Stopped`](crate::Trouble::Stopped).
    fn go_on(&self) -> bool {
        true
    }

    /// So many more nodes were spent; whether to go on.
    fn spend(&self, _nodes: u64) -> bool {
        self.go_on()
    }

    /// One more of the things that the task goes through is done.
    fn done(&self) {}
}

/// Nobody follows.
pub struct Unfollowed;

impl Follow for Unfollowed {}

/// What a task may use of the machine, and who follows it.
#[derive(Clone)]
pub struct Means<'a> {
    /// Threads to work with. With one, all is done on the caller's own.
    pub threads: usize,
    /// Where endgame tables come from; what is made is kept there.
    pub tables: Tables,
    /// Who follows.
    pub follow: &'a dyn Follow,
}

impl Default for Means<'_> {
    /// One thread, tables made when they are needed, and nobody who follows.
    fn default() -> Self {
        Means {
            threads: 1,
            tables: Tables::default(),
            follow: &Unfollowed,
        }
    }
}

impl<'a> Means<'a> {
    /// The same with so many threads.
    pub fn on(&self, threads: usize) -> Means<'a> {
        Means {
            threads: threads.max(1),
            ..self.clone()
        }
    }

    /// Who follows, as the core asks.
    pub(crate) fn watch(&self) -> impl Watch + use<'a> {
        Followed {
            follow: self.follow,
            nodes: 0,
        }
    }

    /// # Errors
    /// If the task is to stop.
    pub(crate) fn go_on(&self) -> Result<(), Trouble> {
        match self.follow.go_on() {
            true => Ok(()),
            false => Err(Trouble::Stopped),
        }
    }

    /// Works on all jobs side by side, and gives the results in the order of the jobs.
    ///
    /// # Errors
    /// If the task is to stop.
    pub(crate) fn all<Job: Sync, Product: Send>(
        &self,
        jobs: &[Job],
        work: impl Fn(&Job) -> Product + Sync,
    ) -> Result<Vec<Product>, Trouble> {
        let mut products = Vec::with_capacity(jobs.len());
        in_order(
            jobs,
            self.threads,
            || (),
            |(), job| {
                self.go_on()?;
                let product = work(job);
                self.go_on()?;
                Ok::<_, Trouble>(product)
            },
            |_, product| {
                products.push(product?);
                self.follow.done();
                Ok::<(), Trouble>(())
            },
        )?;
        Ok(products)
    }

    /// What each of so many jobs may use that are worked on side by side.
    pub(crate) fn shared(&self, jobs: usize) -> Means<'a> {
        self.on(self.threads / self.threads.clamp(1, jobs.max(1)))
    }

    /// A prover with a budget for one question.
    pub(crate) fn prover(&self, nodes: Option<u64>) -> Prover {
        let mut prover = Prover::new(TABLE);
        prover.budget = nodes;
        prover
    }

    pub(crate) fn judge(&self, nodes: Option<u64>) -> Judge {
        let mut judge = Judge::with_tables(TABLE, self.tables.clone());
        judge.set_budget(nodes);
        judge
    }

    pub(crate) fn search(&self) -> Search {
        Search::with_tables(TABLE, self.tables.clone())
    }
}

struct Followed<'a> {
    follow: &'a dyn Follow,
    /// Nodes of the question that is being answered.
    nodes: u64,
}

impl Watch for Followed<'_> {
    fn go_on(&mut self, nodes: u64, _share: f32) -> bool {
        // What is fewer than before is of the next question.
        let more = nodes.checked_sub(self.nodes).unwrap_or(nodes);
        self.nodes = nodes;
        self.follow.spend(more)
    }
}
