//! Spreading the work on a stream over the cores.

use std::collections::{BTreeMap, VecDeque};
use std::sync::mpsc;
use std::sync::{Condvar, Mutex, MutexGuard, PoisonError};
use std::thread;

use keyproof_tasks::cores;

use crate::stop;

/// What may be under way of a stream, in bytes of memory: enough that a job of minutes
/// does not hold up the cores, and a quarter of what the command may take.
const MOST_AHEAD: usize = 16_000_000;

/// Jobs that are read ahead for each thread: a portion of a file is parsed at once, for
/// some milliseconds, in which the other threads must not run out of the smallest puzzles.
const READY: usize = 64;

/// Who works on a stream of jobs.
#[derive(Clone, Copy)]
pub struct Crew {
    pub threads: usize,
    /// Whether results come as they are done; else they come in the order of the jobs.
    pub unordered: bool,
}

/// Jobs that are still to be handed out.
struct Source<Jobs: Iterator> {
    /// Out of here while a thread reads, and once all is read.
    jobs: Option<Jobs>,
    reading: bool,
    /// Read, and not begun.
    ready: VecDeque<(usize, usize, Jobs::Item)>,
    /// How many were read so far.
    read: usize,
    /// The weight of all jobs that are read and not yet taken as done.
    ahead: usize,
    over: bool,
}

/// A source that threads share, and are woken by when it changes.
struct Shared<Jobs: Iterator> {
    source: Mutex<Source<Jobs>>,
    changed: Condvar,
    /// How many jobs are read ahead.
    most_ready: usize,
}

impl<Jobs: Iterator> Shared<Jobs> {
    fn new(jobs: Jobs, threads: usize) -> Shared<Jobs> {
        Shared {
            source: Mutex::new(Source {
                jobs: Some(jobs),
                reading: false,
                ready: VecDeque::new(),
                read: 0,
                ahead: 0,
                over: false,
            }),
            changed: Condvar::new(),
            most_ready: if threads > 1 { READY * threads } else { 1 },
        }
    }

    fn lock(&self) -> MutexGuard<'_, Source<Jobs>> {
        self.source.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn end(&self) {
        self.lock().over = true;
        self.changed.notify_all();
    }

    fn put_down(&self, weight: usize) {
        self.lock().ahead -= weight;
        self.changed.notify_all();
    }

    /// The next job with its number and its weight. One thread at a time reads, as much as
    /// there is room for, while the others take what is ready.
    fn next(&self, weigh: impl Fn(&Jobs::Item) -> usize) -> Option<(usize, usize, Jobs::Item)> {
        let mut source = self.lock();
        loop {
            if source.over {
                return None;
            }
            let room = source.ahead < MOST_AHEAD && source.ready.len() < self.most_ready;
            if room && let Some(mut jobs) = source.jobs.take() {
                source.reading = true;
                drop(source);
                let job = jobs.next();
                source = self.lock();
                source.reading = false;
                if let Some(job) = job {
                    let (number, weight) = (source.read, weigh(&job));
                    source.read += 1;
                    source.ahead += weight;
                    source.ready.push_back((number, weight, job));
                    source.jobs = Some(jobs);
                }
                self.changed.notify_all();
            } else if let Some(job) = source.ready.pop_front() {
                return Some(job);
            } else if source.jobs.is_none() && !source.reading {
                return None;
            } else {
                source = self
                    .changed
                    .wait(source)
                    .unwrap_or_else(PoisonError::into_inner);
            }
        }
    }
}

/// Ends the work of all when one of them ends, however it does.
struct Ending<'a, Jobs: Iterator>(&'a Shared<Jobs>);

impl<Jobs: Iterator> Drop for Ending<'_, Jobs> {
    fn drop(&mut self) {
        self.0.end();
    }
}

impl Crew {
    /// A thread for each core, or for each job where those are fewer; and the jobs.
    pub fn of<Jobs: Iterator>(
        mut jobs: Jobs,
        unordered: bool,
    ) -> (Crew, impl Iterator<Item = Jobs::Item>) {
        let first: Vec<_> = jobs.by_ref().take(cores()).collect();
        let crew = Crew {
            threads: first.len(),
            unordered,
        };
        (crew, first.into_iter().chain(jobs))
    }

    /// The threads that each job may use: the cores that the crew leaves.
    pub fn threads_each(self) -> usize {
        cores() / self.threads.max(1)
    }

    /// Works on `jobs` as they come and hands each with its result to `take` on this
    /// thread. `weigh` says how many bytes a job takes; of many heavy ones few are
    /// under way. A job that brings nothing was given up: in order, none behind it
    /// comes.
    ///
    /// # Errors
    /// The first one of `take`; jobs not begun by then are left undone.
    pub fn spread<Job: Send, Tool, Product: Send, Fault>(
        self,
        jobs: impl Iterator<Item = Job> + Send,
        weigh: impl Fn(&Job) -> usize + Sync,
        tool: impl Fn() -> Tool + Sync,
        work: impl Fn(&mut Tool, &Job) -> Option<Product> + Sync,
        mut take: impl FnMut(Job, Product) -> Result<(), Fault>,
    ) -> Result<(), Fault> {
        let shared = Shared::new(jobs, self.threads);
        thread::scope(|scope| {
            let (sender, receiver) = mpsc::channel();
            for _ in 0..self.threads.max(1) {
                let sender = sender.clone();
                let (shared, weigh, tool, work) = (&shared, &weigh, &tool, &work);
                scope.spawn(move || {
                    let _ending = Ending(shared);
                    let mut tool = tool();
                    while let Some((number, weight, job)) = shared.next(weigh) {
                        let product = work(&mut tool, &job);
                        if sender.send((number, weight, job, product)).is_err() {
                            break;
                        }
                    }
                });
            }
            drop(sender);
            let _ending = Ending(&shared);
            // What cannot be taken need not be worked on to its end.
            let mut take = |job, product| take(job, product).inspect_err(|_| stop::ask());
            let mut early = BTreeMap::new();
            let mut due = 0;
            for (number, weight, job, product) in receiver {
                if self.unordered {
                    if let Some(product) = product {
                        take(job, product)?;
                    }
                    shared.put_down(weight);
                    continue;
                }
                early.insert(number, (weight, job, product));
                while let Some((weight, job, product)) = early.remove(&due) {
                    let Some(product) = product else {
                        return Ok(());
                    };
                    take(job, product)?;
                    shared.put_down(weight);
                    due += 1;
                }
            }
            Ok(())
        })
    }
}

#[cfg(test)]
mod tests {
    use std::sync::atomic::{AtomicUsize, Ordering};

    use super::*;

    const ORDERED: Crew = Crew {
        threads: 4,
        unordered: false,
    };

    /// Early jobs take longest, so later ones overtake them.
    fn slow_at_first(job: u64) -> u64 {
        (0..(200 - job) * 50).fold(job, |sum, i| std::hint::black_box(sum ^ i ^ i))
    }

    #[test]
    fn results_come_in_the_order_of_the_jobs() {
        let mut seen = Vec::new();
        let work = |worked: &mut u64, job: &u64| {
            *worked += 1;
            Some(slow_at_first(*job))
        };
        let done: Result<(), ()> = ORDERED.spread(
            0..200,
            |_| 0,
            || 0,
            work,
            |job, product| {
                assert_eq!(job, product);
                seen.push(job);
                Ok(())
            },
        );
        assert_eq!((done, seen), (Ok(()), (0..200).collect()));
    }

    #[test]
    fn a_fault_ends_the_work() {
        let mut taken = 0;
        let take = |_, _| {
            taken += 1;
            if taken == 3 { Err("enough") } else { Ok(()) }
        };
        let done = ORDERED.spread(0..1000, |_| 0, || (), |(), &job: &i32| Some(job), take);
        assert_eq!((done, taken), (Err("enough"), 3));
    }

    #[test]
    fn unordered_results_all_come() {
        let crew = Crew {
            unordered: true,
            ..ORDERED
        };
        let mut seen = Vec::new();
        let work = |(): &mut (), job: &u64| Some(slow_at_first(*job));
        let done: Result<(), ()> = crew.spread(
            0..200,
            |_| 0,
            || (),
            work,
            |job, product| {
                assert_eq!(job, product);
                seen.push(job);
                Ok(())
            },
        );
        seen.sort_unstable();
        assert_eq!((done, seen), (Ok(()), (0..200).collect()));
    }

    #[test]
    fn few_heavy_jobs_are_under_way() {
        let (read, done) = (AtomicUsize::new(0), AtomicUsize::new(0));
        let jobs = (0..100).inspect(|_| {
            let ahead = read.fetch_add(1, Ordering::SeqCst) - done.load(Ordering::SeqCst);
            assert!(ahead <= 2, "{ahead}");
        });
        let weigh = |_: &i32| MOST_AHEAD / 2;
        let result: Result<(), ()> = ORDERED.spread(
            jobs,
            weigh,
            || (),
            |(), _| Some(()),
            |_, ()| {
                done.fetch_add(1, Ordering::SeqCst);
                Ok(())
            },
        );
        assert_eq!((result, done.into_inner()), (Ok(()), 100));
    }

    /// Else a thread would wait whenever another one parses a portion.
    #[test]
    fn jobs_are_read_before_they_are_needed() {
        let read = AtomicUsize::new(0);
        let jobs = (0..20).inspect(|_| {
            read.fetch_add(1, Ordering::SeqCst);
        });
        let work = |(): &mut (), _: &i32| {
            let begin = std::time::Instant::now();
            while read.load(Ordering::SeqCst) < 20 {
                assert!(begin.elapsed().as_secs() < 60, "nobody reads on");
                thread::yield_now();
            }
            Some(())
        };
        let mut taken = 0;
        let done: Result<(), ()> = ORDERED.spread(
            jobs,
            |_| 0,
            || (),
            work,
            |_, ()| {
                taken += 1;
                Ok(())
            },
        );
        assert_eq!((done, taken), (Ok(()), 20));
    }

    #[test]
    fn nothing_comes_behind_a_job_that_was_given_up() {
        let mut seen = Vec::new();
        let work = |(): &mut (), job: &i32| (*job != 7).then_some(());
        let done: Result<(), ()> = ORDERED.spread(
            0..20,
            |_| 0,
            || (),
            work,
            |job, ()| {
                seen.push(job);
                Ok(())
            },
        );
        assert_eq!((done, seen), (Ok(()), (0..7).collect()));
    }

    #[test]
    fn no_jobs_are_no_trouble() {
        let work = |(): &mut (), _: &u8| Some(());
        let done: Result<(), ()> =
            ORDERED.spread(std::iter::empty(), |_| 0, || (), work, |_, ()| Ok(()));
        assert_eq!(done, Ok(()));
    }
}
