//! Answers with the milliseconds they took, in memory and in a file.

use std::collections::HashMap;
use std::fs::{File, OpenOptions, read_to_string};
use std::io::Write;
use std::sync::Mutex;
use std::time::Instant;

use keyproof::moments::{Answer, Question, answer};
use keyproof::prove::Watch;
use keyproof_bench::Host;

use crate::engine::Here;

/// Answers given so far, and until when more are given.
pub struct Kept {
    known: Mutex<HashMap<String, (Answer, f64)>>,
    file: Option<Mutex<File>>,
    end: Option<Instant>,
}

impl Kept {
    /// The answers of a file, which gets the new ones too: one a line, so that a run
    /// that is cut off has lost nothing but what it was at.
    pub fn open(path: Option<&String>, end: Option<Instant>) -> Result<Kept, String> {
        let mut kept = Kept {
            known: Mutex::default(),
            file: None,
            end,
        };
        let Some(path) = path else {
            return Ok(kept);
        };
        let known = kept.known.get_mut().expect("no panic");
        for line in read_to_string(path).unwrap_or_default().lines() {
            // The last line of a run that was cut off may be half a one.
            if let Ok((question, answer, ms)) = serde_json::from_str(line) {
                known.insert(question, (answer, ms));
            }
        }
        let file = OpenOptions::new().create(true).append(true).open(path);
        kept.file = Some(Mutex::new(file.map_err(|e| format!("{path}: {e}"))?));
        Ok(kept)
    }

    /// The answer with the milliseconds it took; `None` when the time is over.
    pub fn answer(&self, question: &Question) -> Result<Option<(Answer, f64)>, String> {
        let asked = serde_json::to_string(question).map_err(|e| e.to_string())?;
        if let Some(known) = self.known.lock().expect("no panic").get(&asked) {
            return Ok(Some(known.clone()));
        }
        let begin = Here.now();
        let mut until = Until(self.end);
        if until.over() {
            return Ok(None);
        }
        let Some(answer) = answer(question, &mut until) else {
            return match until.over() {
                true => Ok(None),
                false => Err(format!("a question that cannot be read: {asked}")),
            };
        };
        let ms = Here.now() - begin;
        if let Some(file) = &self.file {
            let line = serde_json::to_string(&(&asked, &answer, ms)).map_err(|e| e.to_string())?;
            let written = writeln!(file.lock().expect("no panic"), "{line}");
            written.map_err(|e| e.to_string())?;
        }
        let mut known = self.known.lock().expect("no panic");
        known.insert(asked, (answer.clone(), ms));
        Ok(Some((answer, ms)))
    }
}

/// Stops when the time is over.
struct Until(Option<Instant>);

impl Until {
    fn over(&self) -> bool {
        self.0.is_some_and(|end| Instant::now() >= end)
    }
}

impl Watch for Until {
    fn go_on(&mut self, _nodes: u64, _share: f32) -> bool {
        !self.over()
    }
}
