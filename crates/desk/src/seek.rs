//! Looking for the moments of a game: what was found so far, what is asked next,
//! and how long it may still take. Who answers is told by [`crate::proving`].

use keyproof::draft::Draft;
use keyproof::moments::{
    Answer, Course, Moment, Pace, Plan, Progress, Question, moments, pass_answered, questions,
    tally,
};

/// How closely a search looks.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Effort {
    Quick,
    #[default]
    Usual,
    Thorough,
}

impl Effort {
    pub const ALL: [Effort; 3] = [Effort::Quick, Effort::Usual, Effort::Thorough];

    /// What may be spent on each question.
    pub fn plan(self) -> Plan {
        let usual = Plan::default();
        match self {
            Effort::Quick => Plan::nodes(usual.look / 4),
            Effort::Usual => usual,
            Effort::Thorough => Plan::nodes(usual.look * 4),
        }
    }
}

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
    pace: Pace,
}

impl Seek {
    /// A search to be begun; `None` for a game without a legal start.
    pub fn of(draft: &Draft, effort: Effort) -> Option<Seek> {
        let course = Course::of(draft).ok()?;
        let mut progress = Progress::new(&course);
        progress.plan = Some(effort.plan());
        Some(Seek::at(progress, course))
    }
    /// A search that goes on from here; `None` if that is another game's.
    pub fn from(draft: &Draft, progress: Progress) -> Option<Seek> {
        let course = Course::of(draft).ok()?;
        progress.fits(&course).then(|| Seek::at(progress, course))
    }
    fn at(progress: Progress, course: Course) -> Seek {
        let mut seek = Seek {
            plan: progress.plan.unwrap_or_default(),
            progress,
            course,
            running: false,
            stale: false,
            open: Vec::new(),
            found: Vec::new(),
            pace: Pace::default(),
        };
        seek.look();
        seek
    }
    /// Takes in a change of the game's tree. While the game itself is
    /// another one, the search is stale and does not run.
    pub fn tree_changed(&mut self, draft: &Draft) {
        let course = Course::of(draft).ok();
        let course = course.filter(|course| self.progress.fits(course));
        self.stale = course.is_none();
        self.running &= !self.stale;
        if let Some(course) = course {
            self.course = course;
            self.look();
        }
    }
    /// Takes an answer in, which took a worker so long.
    pub fn learn(&mut self, answer: Answer, millis: f64) {
        self.pace.learn(pass_answered(&answer), millis);
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
    /// What may be spent on each question.
    pub fn plan(&self) -> &Plan {
        &self.plan
    }
    /// Questions answered, and those asked so far.
    pub fn tally(&self) -> (usize, usize) {
        let tally = tally(&self.course, &self.progress, &self.plan);
        (tally.answered, tally.asked)
    }
    /// About how many seconds so many workers still need; `None` before the
    /// first answer.
    pub fn seconds_to_go(&self, workers: usize) -> Option<u64> {
        let tally = tally(&self.course, &self.progress, &self.plan);
        let millis = self.pace.to_go(&tally, workers)?;
        Some((millis / 1000.0).ceil() as u64)
    }

    fn look(&mut self) {
        self.open = questions(&self.course, &self.progress, &self.plan);
        self.found = moments(&self.course, &self.progress);
    }
}
