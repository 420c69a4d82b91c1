//! Bytes taken as decisions.

/// Decisions that bytes stand for, one after the other; without bytes left all are 0.
#[derive(Clone, Debug)]
pub struct Choices<'a>(&'a [u8]);

impl<'a> Choices<'a> {
    /// The decisions of these bytes.
    pub fn new(bytes: &'a [u8]) -> Choices<'a> {
        Choices(bytes)
    }

    /// Whether there are bytes left.
    pub fn goes_on(&self) -> bool {
        !self.0.is_empty()
    }

    /// The next byte.
    pub fn byte(&mut self) -> u8 {
        let Some((&first, rest)) = self.0.split_first() else {
            return 0;
        };
        self.0 = rest;
        first
    }

    /// A number below `bound`, which is at most 256; 0 if there is none.
    pub fn below(&mut self, bound: usize) -> usize {
        usize::from(self.byte()) % bound.max(1)
    }

    /// A text of a few letters, as UTF-8 as far as it is any.
    pub fn text(&mut self) -> String {
        let length = self.below(12).min(self.0.len());
        let (text, rest) = self.0.split_at(length);
        self.0 = rest;
        String::from_utf8_lossy(text).into_owned()
    }

    /// All that is left.
    pub fn rest(self) -> &'a [u8] {
        self.0
    }
}
