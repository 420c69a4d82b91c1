//! Spreading work over the cores, with results in the order of the input.

use std::collections::BTreeMap;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::mpsc;

/// The number of cores.
pub fn cores() -> usize {
    std::thread::available_parallelism().map_or(1, usize::from)
}

/// Works on all `jobs` with `threads` threads, each with a `tool` of its own,
/// and hands the results to `take` on this thread, in the order of the jobs,
/// as soon as they are there. One thread is this one: none is started.
///
/// # Errors
/// The first one of `take`; jobs not begun by then are left undone.
pub fn in_order<Job: Sync, Tool, Product: Send, Fault>(
    jobs: &[Job],
    threads: usize,
    tool: impl Fn() -> Tool + Sync,
    work: impl Fn(&mut Tool, &Job) -> Product + Sync,
    mut take: impl FnMut(&Job, Product) -> Result<(), Fault>,
) -> Result<(), Fault> {
    if threads <= 1 {
        let mut tool = tool();
        return jobs
            .iter()
            .try_for_each(|job| take(job, work(&mut tool, job)));
    }
    let next = AtomicUsize::new(0);
    std::thread::scope(|scope| {
        let (sender, receiver) = mpsc::channel();
        for _ in 0..threads.clamp(1, jobs.len().max(1)) {
            let sender = sender.clone();
            let (next, tool, work) = (&next, &tool, &work);
            scope.spawn(move || {
                let mut tool = tool();
                loop {
                    let index = next.fetch_add(1, Ordering::Relaxed);
                    let Some(job) = jobs.get(index) else { break };
                    if sender.send((index, work(&mut tool, job))).is_err() {
                        break;
                    }
                }
            });
        }
        drop(sender);
        let mut early = BTreeMap::new();
        let mut due = 0;
        for (index, product) in receiver {
            early.insert(index, product);
            while let Some(product) = early.remove(&due) {
                take(&jobs[due], product)?;
                due += 1;
            }
        }
        Ok(())
    })
}

#[cfg(test)]
mod tests {
    use super::in_order;

    #[test]
    fn results_come_in_the_order_of_the_jobs() {
        let jobs: Vec<u64> = (0..200).collect();
        let mut seen = Vec::new();
        let done: Result<(), ()> = in_order(
            &jobs,
            4,
            || 0u64,
            |worked, &job| {
                *worked += 1;
                // Early jobs take longest, so later ones overtake them.
                (0..(200 - job) * 50).fold(job, |sum, i| std::hint::black_box(sum ^ i ^ i))
            },
            |&job, product| {
                assert_eq!(job, product);
                seen.push(job);
                Ok(())
            },
        );
        assert_eq!(done, Ok(()));
        assert_eq!(seen, jobs);
    }

    #[test]
    fn a_fault_ends_the_work() {
        let jobs: Vec<usize> = (0..1000).collect();
        let mut taken = 0;
        let done = in_order(
            &jobs,
            2,
            || (),
            |(), &job| job,
            |_, _| {
                taken += 1;
                if taken == 3 { Err("enough") } else { Ok(()) }
            },
        );
        assert_eq!((done, taken), (Err("enough"), 3));
    }

    #[test]
    fn no_jobs_are_no_trouble() {
        let done: Result<(), ()> = in_order(&[] as &[u8], 4, || (), |(), _| (), |_, ()| Ok(()));
        assert_eq!(done, Ok(()));
    }
}
