//! What became of a question, and how that is kept for another day.

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
    /// What the student played until it was done with, in SAN; wrong moves end in
    /// `?`.
    pub moves: String,
}

/// Letters behind the number of wrong moves.
const BEGUN: char = 'b';
const SHOWN: char = 's';
const LATER: char = 'l';
const HINT: char = 'h';

impl Mark {
    /// `2`, `1bhh`, `0sl+3:Ra7? Ra8#`: wrong moves, letters (one for each hint), the
    /// cost of hints, and the moves.
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
        if self.cost > 0 {
            text.push_str(&["+", &self.cost.to_string()].concat());
        }
        if !self.moves.is_empty() {
            text.push_str(&[":", &self.moves].concat());
        }
        text
    }

    /// Reads what was written; `None` if it was not.
    pub fn read(text: &str) -> Option<Mark> {
        let (text, moves) = text.split_once(':').unwrap_or((text, ""));
        let (text, cost) = text.split_once('+').unwrap_or((text, "0"));
        let mut mark = Mark {
            done: true,
            cost: cost.parse().ok()?,
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

#[cfg(test)]
mod tests {
    use super::*;

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
        ] {
            assert_eq!(Mark::read(text).map(|m| m.write()).as_deref(), Some(text));
        }
        for text in ["", "x", "-1", "b", "1x", "1+", "1+x", "s1"] {
            assert_eq!(Mark::read(text), None, "{text}");
        }
    }
}
