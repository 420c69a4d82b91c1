//! What is written to a terminal: nothing in an author's words, or in a file's name,
//! steers it. Data that goes to a file or on to another program is left as it is.

use std::borrow::Cow;
use std::io::{self, IsTerminal, Write};

/// A stream that lets through to a terminal what can be read, and colours.
pub struct Readable<Stream> {
    stream: Stream,
    is_terminal: bool,
}

/// Standard output.
pub type Stdout = Readable<anstream::Stdout>;

/// Standard output, for words.
pub fn stdout() -> Stdout {
    Readable {
        stream: anstream::stdout(),
        is_terminal: io::stdout().is_terminal(),
    }
}

/// Standard error, for words.
pub fn stderr() -> Readable<anstream::Stderr> {
    Readable {
        stream: anstream::stderr(),
        is_terminal: io::stderr().is_terminal(),
    }
}

impl<Stream: Write> Write for Readable<Stream> {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        if !self.is_terminal {
            return self.stream.write(bytes);
        }
        let text = String::from_utf8_lossy(bytes);
        self.stream.write_all(readable(&text).as_bytes())?;
        Ok(bytes.len())
    }
    fn flush(&mut self) -> io::Result<()> {
        self.stream.flush()
    }
}

/// A text without what steers a terminal: control characters but for line ends and tabs
/// (ECMA-48), sequences that they begin but for those of colour (SGR), and what turns the
/// direction of all that follows (UAX #9). What is left out leaves a mark.
pub fn readable(text: &str) -> Cow<'_, str> {
    if !text.contains(steers) {
        return Cow::Borrowed(text);
    }
    let mut rest = text;
    let mut plain = String::with_capacity(text.len());
    while let Some(c) = rest.chars().next() {
        let length = match colour(rest) {
            Some(length) => {
                plain.push_str(&rest[..length]);
                length
            }
            None => {
                plain.push(if steers(c) {
                    char::REPLACEMENT_CHARACTER
                } else {
                    c
                });
                c.len_utf8()
            }
        };
        rest = &rest[length..];
    }
    Cow::Owned(plain)
}

fn steers(c: char) -> bool {
    let turns = matches!(
        c,
        '\u{61c}' | '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}'
    );
    turns || c.is_control() && !matches!(c, '\n' | '\t')
}

/// The length of the colour's sequence that a text begins with, in bytes.
fn colour(text: &str) -> Option<usize> {
    let sequence = text.strip_prefix("\u{1b}[")?;
    let end = sequence.find(|c: char| !c.is_ascii_digit() && c != ';')?;
    sequence[end..].starts_with('m').then_some(2 + end + 1)
}

#[cfg(test)]
mod tests {
    use super::readable;

    #[test]
    fn only_colours_reach_a_terminal() {
        for (text, left) in [
            ("Ra8# e\u{301} \u{2654}\n\t", "Ra8# e\u{301} \u{2654}\n\t"),
            ("\u{1b}[1mbold\u{1b}[0m", "\u{1b}[1mbold\u{1b}[0m"),
            ("a\u{1b}[2Jb", "a\u{fffd}[2Jb"),
            ("a\u{1b}]0;title\u{7}b", "a\u{fffd}]0;title\u{fffd}b"),
            ("a\u{9b}31mb", "a\u{fffd}31mb"),
            (
                "a\u{202e}b\r\u{0}\u{1b}",
                "a\u{fffd}b\u{fffd}\u{fffd}\u{fffd}",
            ),
        ] {
            assert_eq!(readable(text), left);
        }
    }
}
