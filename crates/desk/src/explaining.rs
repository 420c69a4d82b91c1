//! The worker that explains: what it is asked, and whether an answer is still
//! wanted. Starting it and carrying messages is left to the edge.

use keyproof::explain::Inquiry;

use crate::lane::Lane;
use crate::wire::{Ask, Order, Post};
use crate::work::SheetId;

/// An inquiry put to the worker.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Job {
    pub sheet: SheetId,
    pub inquiry: Inquiry,
}

/// The worker that explains, as the desk sees it.
#[derive(Clone, Debug, Default)]
pub struct Explainer {
    lane: Lane<Job>,
    next_ticket: u32,
}

impl Explainer {
    /// Whether there is one to wait for.
    pub fn is_there(&self) -> bool {
        self.lane != Lane::Absent
    }
    /// The worker is ready.
    pub fn ready(&mut self) {
        self.lane.ready();
    }
    /// The worker broke down; what it was at is not asked again.
    pub fn broke(&mut self) -> (Order, Option<Job>) {
        let job = self.lane.restart();
        (Order::Restart(Post::Explain), job)
    }
    /// The job that is done, if it was not given up.
    pub fn done(&mut self, ticket: u32) -> Option<Job> {
        self.lane.done(ticket)
    }
    /// Gives up what is no longer wanted, and asks what is wanted first.
    pub fn assign(&mut self, wanted: &[(SheetId, &Inquiry)]) -> Option<Order> {
        if let Some(job) = self.lane.task() {
            let same = |(sheet, inquiry): &(SheetId, &Inquiry)| {
                *sheet == job.sheet && **inquiry == job.inquiry
            };
            let given_up = !wanted.iter().any(same);
            return given_up.then(|| self.broke().0);
        }
        let &(sheet, inquiry) = wanted.first().filter(|_| self.lane.is_idle())?;
        self.next_ticket += 1;
        let (ticket, inquiry) = (self.next_ticket, inquiry.clone());
        let job = Job {
            sheet,
            inquiry: inquiry.clone(),
        };
        self.lane.begin(ticket, job);
        Some(Order::Ask(Post::Explain, Ask::Explain { ticket, inquiry }))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use keyproof::aim::Aim;
    use keyproof::check::Goal;
    use keyproof::tongue::Speech;

    fn inquiry(fen: &str) -> Inquiry {
        Inquiry {
            fen: fen.into(),
            goal: Goal::Forced(Aim::Mate, 2),
            line: vec![],
            answers: vec![],
            tries: vec![],
            speech: Speech::default(),
        }
    }

    #[test]
    fn one_inquiry_at_a_time_and_the_first_one_first() {
        let (a, b) = (inquiry("a"), inquiry("b"));
        let wanted = [(SheetId(1), &a), (SheetId(2), &b)];
        let mut explainer = Explainer::default();
        assert_eq!(explainer.assign(&wanted), None);
        explainer.ready();
        let Some(Order::Ask(Post::Explain, Ask::Explain { ticket, inquiry })) =
            explainer.assign(&wanted)
        else {
            panic!("it is idle")
        };
        assert_eq!(inquiry, a);
        assert_eq!(explainer.assign(&wanted), None);
        let job = explainer.done(ticket).expect("it is at it");
        assert_eq!((job.sheet, job.inquiry), (SheetId(1), a));
    }

    #[test]
    fn what_is_no_longer_wanted_is_given_up() {
        let (a, b) = (inquiry("a"), inquiry("b"));
        let mut explainer = Explainer::default();
        explainer.ready();
        explainer.assign(&[(SheetId(1), &a)]);
        let order = explainer.assign(&[(SheetId(1), &b)]);
        assert_eq!(order, Some(Order::Restart(Post::Explain)));
        assert_eq!(explainer.done(1), None);
        explainer.ready();
        assert!(explainer.assign(&[(SheetId(1), &b)]).is_some());
    }
}
