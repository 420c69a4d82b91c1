//! One worker as the desk sees it: whether it is there, and what it is at.

/// A worker for tasks of one kind, one at a time. Each task has a ticket, so that an
/// answer to what was given up is known as one.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub enum Lane<T> {
    /// No worker was started, or it never told that it is there.
    #[default]
    Absent,
    /// Started anew, and not there yet.
    Starting,
    /// Ready for the next task; or to be started with it.
    Idle,
    Busy {
        ticket: u32,
        task: T,
    },
}

impl<T> Lane<T> {
    pub fn is_idle(&self) -> bool {
        matches!(self, Lane::Idle)
    }
    /// What the worker is at.
    pub fn task(&self) -> Option<&T> {
        match self {
            Lane::Busy { task, .. } => Some(task),
            _ => None,
        }
    }
    /// What the worker is at, if it is at this ticket.
    pub fn at(&mut self, ticket: u32) -> Option<&mut T> {
        match self {
            Lane::Busy { ticket: at, task } if *at == ticket => Some(task),
            _ => None,
        }
    }
    /// The worker is there.
    pub fn ready(&mut self) {
        *self = Lane::Idle;
    }
    /// A task was put to the worker.
    pub fn begin(&mut self, ticket: u32, task: T) {
        *self = Lane::Busy { ticket, task };
    }
    /// The task that is done; `None` if it was given up before.
    pub fn done(&mut self, ticket: u32) -> Option<T> {
        self.at(ticket)?;
        self.end()
    }
    /// The worker is at nothing any more; the next task starts another if this one
    /// was ended. Returns what it was at.
    pub fn end(&mut self) -> Option<T> {
        self.leave(Lane::Idle)
    }
    /// Another worker is being started. Returns what the last one was at.
    pub fn restart(&mut self) -> Option<T> {
        self.leave(Lane::Starting)
    }

    fn leave(&mut self, next: Lane<T>) -> Option<T> {
        match std::mem::replace(self, next) {
            Lane::Busy { task, .. } => Some(task),
            _ => None,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_answer_counts_only_for_what_the_worker_is_at() {
        let mut lane = Lane::default();
        assert!(!lane.is_idle());
        lane.ready();
        assert!(lane.is_idle());
        lane.begin(1, "a");
        assert_eq!((lane.done(2), lane.task()), (None, Some(&"a")));
        assert_eq!(lane.done(1), Some("a"));
        assert_eq!(lane.done(1), None);
        assert!(lane.is_idle());
    }

    #[test]
    fn what_is_ended_is_told_once_and_nothing_is_put_to_a_worker_that_starts() {
        let mut lane = Lane::Idle;
        lane.begin(1, "a");
        assert_eq!(lane.restart(), Some("a"));
        assert_eq!(lane, Lane::Starting);
        assert!(!lane.is_idle());
        assert_eq!((lane.done(1), lane.end()), (None, None));
    }
}
