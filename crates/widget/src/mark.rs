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
    /// What the student played until it was done with, in SAN; wrong moves end in
    /// `?`.
    pub moves: String,
}

/// Letters behind the number of wrong moves.
const BEGUN: char = 'b';
const SHOWN: char = 's';
const LATER: char = 'l';

impl Mark {
    /// `2`, `1b`, `0sl+3:Ra7? Ra8#`: wrong moves, letters, the cost of hints, and
    /// the moves.
    pub fn write(&self) -> String {
        let mut text = self.mistakes.to_string();
        let letters = [
            (!self.done, BEGUN),
            (self.shown, SHOWN),
            (self.later, LATER),
        ];
        text.extend(
            letters
                .into_iter()
                .filter_map(|(on, letter)| on.then_some(letter)),
        );
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
        let digits = text.trim_end_matches([BEGUN, SHOWN, LATER]);
        for letter in text[digits.len()..].chars() {
            match letter {
                BEGUN => mark.done = false,
                SHOWN => mark.shown = true,
                _ => mark.later = true,
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
        for text in ["0", "2", "1b:Ra7?", "0s", "3sl+4:Ra7? Ra8#", "12+1"] {
            assert_eq!(Mark::read(text).map(|m| m.write()).as_deref(), Some(text));
        }
        for text in ["", "x", "-1", "b", "1x", "1+", "1+x", "s1"] {
            assert_eq!(Mark::read(text), None, "{text}");
        }
    }
}
