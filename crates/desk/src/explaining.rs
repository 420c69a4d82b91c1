//! The worker that explains: what it is asked, and whether an answer is still
//! wanted. Starting it and carrying messages is left to the edge.

use keyproof::explain::Inquiry;

use crate::work::SheetId;

/// What the worker is at.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
enum Stage {
    /// It has not told that it is there.
    #[default]
    Absent,
    Starting,
    Idle,
    Busy(Job),
}

/// An inquiry put to the worker.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Job {
    pub ticket: u32,
    pub sheet: SheetId,
    pub inquiry: Inquiry,
}

/// What the edge must do.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Order {
    Ask(Job),
    /// End the worker and start a new one.
    Restart,
}

/// The worker that explains, as the desk sees it.
#[derive(Clone, Debug, Default)]
pub struct Explainer {
    stage: Stage,
    next_ticket: u32,
}

impl Explainer {
    /// Whether there is one to wait for.
    pub fn is_there(&self) -> bool {
        self.stage != Stage::Absent
    }
    /// The worker is ready.
    pub fn ready(&mut self) {
        self.stage = Stage::Idle;
    }
    /// The worker broke down; what it was at is not asked again.
    pub fn broke(&mut self) -> (Order, Option<Job>) {
        match std::mem::replace(&mut self.stage, Stage::Starting) {
            Stage::Busy(job) => (Order::Restart, Some(job)),
            _ => (Order::Restart, None),
        }
    }
    /// The job that is done, if it was not given up.
    pub fn done(&mut self, ticket: u32) -> Option<Job> {
        match &self.stage {
            Stage::Busy(job) if job.ticket == ticket => {
                let job = job.clone();
                self.stage = Stage::Idle;
                Some(job)
            }
            _ => None,
        }
    }
    /// Gives up what is no longer wanted, and asks what is wanted first.
    pub fn assign(&mut self, wanted: &[(SheetId, &Inquiry)]) -> Option<Order> {
        match &self.stage {
            Stage::Absent | Stage::Starting => None,
            Stage::Busy(job) => {
                let still = wanted
                    .iter()
                    .any(|(sheet, inquiry)| *sheet == job.sheet && **inquiry == job.inquiry);
                (!still).then(|| self.broke().0)
            }
            Stage::Idle => {
                let &(sheet, inquiry) = wanted.first()?;
                self.next_ticket += 1;
                let job = Job {
                    ticket: self.next_ticket,
                    sheet,
                    inquiry: inquiry.clone(),
                };
                self.stage = Stage::Busy(job.clone());
                Some(Order::Ask(job))
            }
        }
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
        let Some(Order::Ask(job)) = explainer.assign(&wanted) else {
            panic!("it is idle")
        };
        assert_eq!(job.inquiry, a);
        assert_eq!(explainer.assign(&wanted), None);
        assert_eq!(explainer.done(job.ticket), Some(job));
    }

    #[test]
    fn what_is_no_longer_wanted_is_given_up() {
        let (a, b) = (inquiry("a"), inquiry("b"));
        let mut explainer = Explainer::default();
        explainer.ready();
        explainer.assign(&[(SheetId(1), &a)]);
        assert_eq!(explainer.assign(&[(SheetId(1), &b)]), Some(Order::Restart));
        assert_eq!(explainer.done(1), None);
        explainer.ready();
        assert!(explainer.assign(&[(SheetId(1), &b)]).is_some());
    }
}
