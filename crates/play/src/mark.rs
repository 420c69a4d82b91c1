//! What became of a question, and how that is kept for another day.

use model::tongue::{lettered, phrase, tr};

/// What became of a question: what happened first counts, whatever is tried
/// after "Start over" or on another day.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Mark {
    /// Wrong moves until it was done with.
    pub mistakes: u32,
    /// It was found, or the solution was shown.
    pub done: bool,
    /// The solution was shown, or the question passed by.
    pub shown: bool,
    /// It was found after it had been shown.
    pub later: bool,
    /// Points that the hints cost.
    pub cost: u32,
    /// Hints that were shown.
    pub hints: usize,
    /// How long it was in sight until it was done with, in whole seconds; 0 in what an
    /// earlier version kept.
    pub seconds: u32,
    /// What the student played until it was done with, in SAN, or answered (see
    /// [`YES_NO`]); what was wrong ends in `?`.
    pub moves: String,
}

/// What is kept of an answer, yes or no.
pub const YES_NO: [&str; 2] = ["yes", "no"];

/// Letters behind the number of wrong moves.
const BEGUN: char = 'b';
const SHOWN: char = 's';
const LATER: char = 'l';
const HINT: char = 'h';
/// Before the seconds, and before the cost.
const TIME: char = 't';
const COST: char = '+';

impl Mark {
    /// `2`, `1bhh`, `0slt95+3:Ra7? Ra8#`: wrong moves, letters (one for each hint), the
    /// seconds, the cost of hints, and the moves.
    pub fn write(&self) -> String {
        let mut text = self.mistakes.to_string();
        for (times, letter) in [
            (usize::from(!self.done), BEGUN),
            (usize::from(self.shown), SHOWN),
            (usize::from(self.later), LATER),
            (self.hints, HINT),
        ] {
            for _ in 0..times {
                text.push(letter);
            }
        }
        for (sign, number) in [(TIME, self.seconds), (COST, self.cost)] {
            if number > 0 {
                text.push(sign);
                text.push_str(&number.to_string());
            }
        }
        if !self.moves.is_empty() {
            text.push_str(&[":", &self.moves].concat());
        }
        text
    }

    /// The seconds as people write them: `0:07`, `12:00`.
    pub fn time(&self) -> String {
        let (minutes, seconds) = (self.seconds / 60, self.seconds % 60);
        let zero = if seconds < 10 { ":0" } else { ":" };
        [&minutes.to_string(), zero, &seconds.to_string()].concat()
    }

    /// What the student played, in the letters of the language, or answered.
    pub fn played(&self) -> String {
        played(&self.moves)
    }

    /// Reads what was written; `None` if it was not.
    pub fn read(text: &str) -> Option<Mark> {
        let (text, moves) = text.split_once(':').unwrap_or((text, ""));
        let (text, cost) = text.split_once(COST).unwrap_or((text, "0"));
        let (text, seconds) = text.split_once(TIME).unwrap_or((text, "0"));
        let mut mark = Mark {
            done: true,
            cost: cost.parse().ok()?,
            seconds: seconds.parse().ok()?,
            moves: moves.to_owned(),
            ..Mark::default()
        };
        let digits = text.bytes().take_while(u8::is_ascii_digit).count();
        let (digits, letters) = text.split_at(digits);
        for letter in letters.chars() {
            match letter {
                BEGUN => mark.done = false,
                SHOWN => mark.shown = true,
                LATER => mark.later = true,
                HINT => mark.hints += 1,
                _ => return None,
            }
        }
        mark.mistakes = digits.parse().ok()?;
        Some(mark)
    }
}

/// What is kept as played, in the letters of the language, or as answered.
pub fn played(kept: &str) -> String {
    let (answer, wrong) = match kept.strip_suffix('?') {
        Some(answer) => (answer, "?"),
        None => (kept, ""),
    };
    match YES_NO.contains(&answer) {
        true if answer == YES_NO[0] => [tr(phrase("yes")), wrong].concat(),
        true => [tr(phrase("no")), wrong].concat(),
        false => lettered(kept),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_answer_is_told_as_a_word_and_a_move_as_a_move() {
        for (kept, told) in [
            ("yes", "yes"),
            ("no?", "no?"),
            ("Ra7? Ra8#", "Ra7? Ra8#"),
            ("", ""),
        ] {
            assert_eq!(played(kept), told);
        }
    }

    #[test]
    fn marks_come_back_as_they_were() {
        for text in [
            "0",
            "2",
            "1b:Ra7?",
            "0s",
            "3sl+4:Ra7? Ra8#",
            "12+1",
            "1bhh:Ra7?",
            "0t95",
            "1bht3600+2:Ra7?",
            "1st4:no?",
        ] {
            assert_eq!(Mark::read(text).map(|m| m.write()).as_deref(), Some(text));
        }
        for text in [
            "", "x", "-1", "b", "1x", "1+", "1+x", "s1", "0t", "0t-1", "0+1t2",
        ] {
            assert_eq!(Mark::read(text), None, "{text}");
        }
    }
}
