//! Looking for the moments of a game: what was found so far, what is asked next,
//! and how long it may still take. Who answers is told by [`crate::proving`].

use keyproof::draft::Draft;
use keyproof::moments::{
    Answer, Course, Moment, Plan, Progress, Question, moments, questions, standing,
};

/// The search of one game, which can be stopped and goes on where it stopped.
pub struct Seek {
    course: Course,
    progress: Progress,
    plan: Plan,
    pub running: bool,
    /// The game has other moves now.
    pub stale: bool,
    /// What is still to be answered.
    pub open: Vec<Question>,
    /// The best first.
    pub found: Vec<Moment>,
    /// Nodes and milliseconds that the workers told of.
    nodes: u64,
    millis: f64,
}

impl Seek {
    /// A search to be begun; `None` for a game without a legal start.
    pub fn of(draft: &Draft) -> Option<Seek> {
        let course = Course::of(draft).ok()?;
        Some(Seek::at(Progress::new(&course), course))
    }
    /// A search that goes on from here; `None` if that is another game's.
    pub fn from(draft: &Draft, progress: Progress) -> Option<Seek> {
        let course = Course::of(draft).ok()?;
        progress.fits(&course).then(|| Seek::at(progress, course))
    }
    fn at(progress: Progress, course: Course) -> Seek {
        let mut seek = Seek {
            progress,
            course,
            plan: Plan::default(),
            running: false,
            stale: false,
            open: Vec::new(),
            found: Vec::new(),
            nodes: 0,
            millis: 0.0,
        };
        seek.look();
        seek
    }
    /// Goes along with a change of the game's tree. While the game itself is
    /// another one, the search is stale and does not run.
    pub fn follow(&mut self, draft: &Draft) {
        let course = Course::of(draft).ok();
        let course = course.filter(|course| self.progress.fits(course));
        self.stale = course.is_none();
        self.running &= !self.stale;
        if let Some(course) = course {
            self.course = course;
            self.found = moments(&self.course, &self.progress);
        }
    }
    /// Takes an answer in, which took a worker so long.
    pub fn learn(&mut self, answer: Answer, millis: f64) {
        let (Answer::Glance { nodes, .. }
        | Answer::Look { nodes, .. }
        | Answer::Claim { nodes, .. }) = &answer;
        self.nodes += nodes;
        self.millis += millis;
        self.progress.learn(answer);
        self.look();
    }
    /// How far it is, to be put away.
    pub fn progress(&self) -> &Progress {
        &self.progress
    }
    /// What the checker's own questions brought.
    pub fn known(&self) -> keyproof::check::Known {
        self.progress.known()
    }
    /// Questions answered, and those asked so far.
    pub fn tally(&self) -> (usize, usize) {
        let standing = standing(&self.course, &self.progress, &self.plan);
        (standing.answered, standing.asked)
    }
    /// About how many seconds so many workers still need; `None` before the
    /// first answer.
    pub fn seconds_to_go(&self, workers: usize) -> Option<u64> {
        if self.nodes == 0 || self.millis <= 0.0 || workers == 0 {
            return None;
        }
        let standing = standing(&self.course, &self.progress, &self.plan);
        let millis = standing.to_come as f64 * self.millis / self.nodes as f64;
        Some((millis / workers as f64 / 1000.0).ceil() as u64)
    }

    fn look(&mut self) {
        self.open = questions(&self.course, &self.progress, &self.plan);
        self.found = moments(&self.course, &self.progress);
    }
}
