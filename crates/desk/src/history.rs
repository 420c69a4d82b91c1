//! Undo and redo over whole states, which are cheap to copy. What a state is,
//! and when one is worth keeping, is left to the caller.

use std::collections::VecDeque;

/// The states before and after the present one.
#[derive(Clone, Debug)]
pub struct History<T, K> {
    past: VecDeque<T>,
    future: Vec<T>,
    bound: usize,
    run: Option<K>,
}

impl<T, K: PartialEq> History<T, K> {
    /// A history that keeps at most `bound` states.
    pub fn new(bound: usize) -> History<T, K> {
        History {
            past: VecDeque::new(),
            future: Vec::new(),
            bound,
            run: None,
        }
    }
    /// Keeps the state before a change. Changes in a row under the same `run`
    /// (letters typed into one field) count as one. The states that neither undo
    /// nor redo leads to any more come back.
    pub fn keep(&mut self, before: T, run: Option<K>) -> Vec<T> {
        let mut dropped = std::mem::take(&mut self.future);
        if run.is_some() && run == self.run && !self.past.is_empty() {
            return dropped;
        }
        self.run = run;
        if self.past.len() == self.bound {
            dropped.extend(self.past.pop_front());
        }
        self.past.push_back(before);
        dropped
    }
    /// All states but the present one, the oldest first.
    pub fn states(&self) -> impl Iterator<Item = &T> {
        self.past.iter().chain(self.future.iter().rev())
    }
    /// Ends a run of changes: the next one counts on its own.
    pub fn end_run(&mut self) {
        self.run = None;
    }
    /// The state to go back to; the present one is kept for [`Self::redo`].
    pub fn undo(&mut self, present: T) -> Result<T, T> {
        self.run = None;
        match self.past.pop_back() {
            Some(before) => {
                self.future.push(present);
                Ok(before)
            }
            None => Err(present),
        }
    }
    /// The state that was undone last; the present one is kept for
    /// [`Self::undo`].
    pub fn redo(&mut self, present: T) -> Result<T, T> {
        self.run = None;
        match self.future.pop() {
            Some(after) => {
                self.past.push_back(present);
                Ok(after)
            }
            None => Err(present),
        }
    }
    /// Brings every state up to date with something that was not done here.
    /// States that became the same as the one next to them are dropped, so that
    /// each step still changes something.
    pub fn rebase(
        &mut self,
        present: &T,
        mut update: impl FnMut(T) -> T,
        same: impl Fn(&T, &T) -> bool,
    ) {
        let past = std::mem::take(&mut self.past);
        for state in past.into_iter().map(&mut update) {
            if !self.past.back().is_some_and(|last| same(last, &state)) {
                self.past.push_back(state);
            }
        }
        while self.past.back().is_some_and(|last| same(last, present)) {
            self.past.pop_back();
            self.run = None;
        }
        let mut future: Vec<T> = Vec::new();
        for state in std::mem::take(&mut self.future).into_iter().rev() {
            let state = update(state);
            if !same(future.last().unwrap_or(present), &state) {
                future.push(state);
            }
        }
        future.reverse();
        self.future = future;
    }
    pub fn can_undo(&self) -> bool {
        !self.past.is_empty()
    }
    pub fn can_redo(&self) -> bool {
        !self.future.is_empty()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn goes_back_and_forth() {
        let mut history: History<u8, ()> = History::new(10);
        history.keep(1, None);
        history.keep(2, None);
        assert_eq!(history.undo(3), Ok(2));
        assert_eq!(history.undo(2), Ok(1));
        assert_eq!(history.undo(1), Err(1));
        assert_eq!(history.redo(1), Ok(2));
        assert_eq!(history.redo(2), Ok(3));
        assert!(!history.can_redo());
    }

    #[test]
    fn a_run_counts_as_one_until_it_ends() {
        let mut history = History::new(10);
        history.keep("", Some('t'));
        history.keep("a", Some('t'));
        history.end_run();
        history.keep("ab", Some('t'));
        assert_eq!(history.undo("abc"), Ok("ab"));
        assert_eq!(history.undo("ab"), Ok(""));
    }

    #[test]
    fn a_change_drops_what_was_undone() {
        let mut history: History<u8, ()> = History::new(10);
        history.keep(1, None);
        assert_eq!(history.undo(2), Ok(1));
        history.keep(1, None);
        assert!(!history.can_redo());
    }

    #[test]
    fn steps_that_change_nothing_any_more_are_dropped() {
        let mut history: History<u8, ()> = History::new(10);
        for state in [1, 2, 3, 4] {
            history.keep(state, None);
        }
        assert_eq!(history.undo(5), Ok(4));
        // Tens are all that is left: 0, 0, 0 | 0 | 0.
        let mut flat = history.clone();
        flat.rebase(&0, |_| 0, |a, b| a == b);
        assert!(!flat.can_undo() && !flat.can_redo());
        // Halves: 0, 1, 1 | 2 | 2.
        history.rebase(&2, |state| state / 2, |a, b| a == b);
        assert!(!history.can_redo());
        assert_eq!(history.undo(2), Ok(1));
        assert_eq!(history.undo(1), Ok(0));
        assert_eq!(history.undo(0), Err(0));
    }

    #[test]
    fn is_bounded() {
        let mut history: History<u8, ()> = History::new(2);
        for state in 1..=3 {
            history.keep(state, None);
        }
        assert_eq!(history.undo(4), Ok(3));
        assert_eq!(history.undo(3), Ok(2));
        assert_eq!(history.undo(2), Err(2));
    }
}
