//! The times of a talk, in milliseconds of the browser's: how long it has lasted, how
//! long the audience thinks, and when its moments were. Reads no clock itself.

use keyproof::moments::clock_time;
use serde::{Deserialize, Serialize};

/// The times of a talk.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Clock {
    /// What the moments are counted from: when the talk, or its recording, began.
    pub zero: u64,
    /// When the clock of the question was started, while it runs.
    since: Option<u64>,
    /// What it had run before.
    spent: u64,
    /// Whether there is such a clock.
    on: bool,
    /// Seconds that the audience has; `None` where time is counted up.
    pub limit: Option<u32>,
    pub moments: Vec<Moment>,
}

/// A moment of the talk.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Moment {
    /// When, in the browser's time.
    pub time: u64,
    pub name: String,
}

impl Clock {
    /// Begins now, with a moment of this name.
    pub fn begin(now: u64, name: String) -> Clock {
        Clock {
            zero: now,
            since: None,
            spent: 0,
            on: false,
            limit: None,
            moments: vec![Moment { time: now, name }],
        }
    }
    /// A question is put: its clock begins.
    pub fn ask(&mut self, now: u64) {
        (self.on, self.since, self.spent) = (true, Some(now), 0);
    }
    /// It is answered: the clock stands.
    pub fn stop(&mut self, now: u64) {
        self.spent = self.thought(now);
        self.since = None;
    }
    /// There is no question any more.
    pub fn put_away(&mut self) {
        (self.on, self.since, self.spent) = (false, None, 0);
    }
    /// Stops the clock or lets it run on.
    pub fn toggle(&mut self, now: u64) {
        match self.since {
            Some(_) => self.stop(now),
            None => (self.on, self.since) = (true, Some(now)),
        }
    }
    /// Whether it runs.
    pub fn runs(&self) -> bool {
        self.since.is_some()
    }
    fn thought(&self, now: u64) -> u64 {
        self.spent + self.since.map_or(0, |since| now.saturating_sub(since))
    }
    /// What the clock of the question shows, and whether the time is up.
    pub fn face(&self, now: u64) -> Option<(String, bool)> {
        let thought = self.thought(now) / 1000;
        let left = |limit: u32| u64::from(limit).saturating_sub(thought);
        self.on.then(|| match self.limit.map(left) {
            Some(left) => (clock_time(left), left == 0),
            None => (clock_time(thought), false),
        })
    }
    /// How long the talk has lasted.
    pub fn used(&self, now: u64) -> String {
        clock_time(now.saturating_sub(self.zero) / 1000)
    }
    /// Counts the moments from now on, as where the recording begins now.
    pub fn count_from(&mut self, now: u64) {
        self.zero = now;
        for moment in &mut self.moments {
            moment.time = moment.time.max(now);
        }
        let last = self.moments.pop();
        self.moments.clear();
        self.moments.extend(last);
    }
    /// Notes a moment, unless it is the last one noted.
    pub fn note(&mut self, now: u64, name: String) {
        if self.moments.iter().all(|moment| moment.name != name) {
            self.moments.push(Moment { time: now, name });
        }
    }
    /// The moments with their times, a line each, as recordings have them for chapters
    /// (common practice, no source).
    pub fn chapters(&self) -> String {
        let line = |moment: &Moment| {
            let seconds = moment.time.saturating_sub(self.zero) / 1000;
            format!("{} {}\n", clock_time(seconds), moment.name)
        };
        self.moments.iter().map(line).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_audience_thinks_until_the_answer() {
        let mut clock = Clock::begin(1_000_000, "Start".into());
        assert_eq!(clock.face(1_000_000), None);
        clock.ask(1_000_000);
        assert_eq!(clock.face(1_065_400), Some(("1:05".into(), false)));
        clock.limit = Some(60);
        assert_eq!(clock.face(1_050_000), Some(("0:10".into(), false)));
        assert_eq!(clock.face(1_065_400), Some(("0:00".into(), true)));
        clock.toggle(1_020_000);
        assert_eq!(clock.face(1_900_000), Some(("0:40".into(), false)));
        clock.toggle(1_900_000);
        assert_eq!(clock.face(1_910_000), Some(("0:30".into(), false)));
        clock.put_away();
        assert_eq!(clock.face(1_910_000), None);
    }

    #[test]
    fn moments_are_chapters_of_the_recording() {
        let mut clock = Clock::begin(0, "The game".into());
        clock.note(72_000, "4. Mate in one.".into());
        clock.note(80_000, "4. Mate in one.".into());
        clock.note(3_849_000, "9. Win.".into());
        let told = "0:00 The game\n1:12 4. Mate in one.\n1:04:09 9. Win.\n";
        assert_eq!(clock.chapters(), told);
        let mut late = Clock::begin(0, "The game".into());
        late.count_from(30_000);
        late.note(100_000, "4. Mate in one.".into());
        assert_eq!(late.chapters(), "0:00 The game\n1:10 4. Mate in one.\n");
        assert_eq!(late.used(30_500), "0:00");
    }
}
