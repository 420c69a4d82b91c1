//! What a question may cost: counts nodes, reports progress, and stops when
//! the budget is spent or the watcher says so.

use super::Watch;

/// Nodes between two looks at the watcher: well under a millisecond's work.
const POLL: u64 = 4096;

/// The question was cancelled or its budget is spent.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Stopped;

pub(super) struct Spend<'w> {
    pub nodes: u64,
    /// Share of the first moves decided, 0 to 1.
    pub share: f32,
    limit: u64,
    next_look: u64,
    watch: &'w mut dyn Watch,
}

impl<'w> Spend<'w> {
    pub fn new(budget: Option<u64>, watch: &'w mut dyn Watch) -> Spend<'w> {
        let limit = budget.unwrap_or(u64::MAX);
        Spend {
            nodes: 0,
            share: 0.0,
            limit,
            next_look: POLL.min(limit),
            watch,
        }
    }

    /// Counts one node. Once it has failed it fails for good.
    #[inline]
    pub fn node(&mut self) -> Result<(), Stopped> {
        if self.nodes >= self.next_look {
            self.look()?;
        }
        self.nodes += 1;
        Ok(())
    }

    /// Counts so many.
    pub fn nodes(&mut self, count: u64) -> Result<(), Stopped> {
        (0..count).try_for_each(|_| self.node())
    }

    #[cold]
    fn look(&mut self) -> Result<(), Stopped> {
        if self.nodes >= self.limit || !self.watch.go_on(self.nodes, self.share) {
            self.limit = self.nodes;
            return Err(Stopped);
        }
        self.next_look = (self.nodes + POLL).min(self.limit);
        Ok(())
    }
}
