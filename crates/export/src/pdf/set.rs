//! Setting text in Times: which codes letters have, how wide they are, and where lines
//! break.

use pdf_writer::{Content, Name, Str};

use super::widths::WIDTHS;

/// A cut of Times.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Font {
    Upright,
    Bold,
    Slanted,
}

impl Font {
    pub const ALL: [Font; 3] = [Font::Upright, Font::Bold, Font::Slanted];

    /// What it is called on a page.
    pub fn name(self) -> &'static [u8] {
        [&b"F0"[..], b"F1", b"F2"][self as usize]
    }

    /// What readers call it (ISO 32000-1, 9.6.2.2).
    pub fn base(self) -> &'static [u8] {
        [&b"Times-Roman"[..], b"Times-Bold", b"Times-Italic"][self as usize]
    }

    /// How wide a text of codes is, at size 1.
    fn width(self, codes: &[u8]) -> f32 {
        let widths = &WIDTHS[self as usize];
        let widths = codes.iter().map(|&code| {
            let place = usize::from(code).checked_sub(32);
            place.map_or(0, |place| u32::from(widths[place]))
        });
        widths.sum::<u32>() as f32 / 1000.0
    }
}

/// A line that is set: texts of codes in their fonts, one after the other.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Line {
    runs: Vec<(Font, Vec<u8>)>,
}

impl Line {
    pub fn width(&self, size: f32) -> f32 {
        let widths = self.runs.iter().map(|(font, codes)| font.width(codes));
        size * widths.sum::<f32>()
    }

    /// Puts it on a page, its baseline beginning at a point.
    pub fn put(&self, page: &mut Content, size: f32, x: f32, y: f32) {
        page.begin_text().next_line(x, y);
        for (font, codes) in &self.runs {
            page.set_font(Name(font.name()), size).show(Str(codes));
        }
        page.end_text();
    }

    fn add(&mut self, font: Font, codes: &[u8]) {
        match self.runs.last_mut() {
            Some((last, run)) if *last == font => run.extend_from_slice(codes),
            _ => self.runs.push((font, codes.to_vec())),
        }
    }
}

/// The letters that were wanted and are not there.
#[derive(Default)]
pub(super) struct Letters {
    missing: String,
}

impl Letters {
    /// Those that have no code, each once, in the order in which they came.
    pub fn missing(&self) -> String {
        self.missing.clone()
    }

    fn codes(&mut self, text: &str) -> Vec<u8> {
        let mut codes = Vec::with_capacity(text.len());
        for letter in text.chars() {
            match code(letter) {
                Some(code) => codes.push(code),
                None => {
                    codes.push(b'?');
                    if !self.missing.contains(letter) {
                        self.missing.push(letter);
                    }
                }
            }
        }
        codes
    }

    /// A text on one line, however wide.
    pub fn line(&mut self, text: &str, font: Font) -> Line {
        let mut line = Line::default();
        line.add(font, &self.codes(text));
        line
    }

    /// Texts with spaces between, broken into lines no wider than `width`; a word that is
    /// wider breaks where it must.
    pub fn lines(&mut self, texts: &[(Font, String)], size: f32, width: f32) -> Vec<Line> {
        let most = width / size;
        let (mut lines, mut line, mut full) = (Vec::new(), Line::default(), 0.0);
        for (font, text) in texts {
            let codes = self.codes(text);
            for word in codes.split(|&code| code == b' ').filter(|w| !w.is_empty()) {
                let mut word = word;
                let between = font.width(b" ");
                if !line.runs.is_empty() {
                    if full + between + font.width(word) <= most {
                        line.add(*font, b" ");
                        full += between;
                    } else {
                        lines.push(std::mem::take(&mut line));
                        full = 0.0;
                    }
                }
                while font.width(word) > most && word.len() > 1 {
                    let fits = (1..word.len())
                        .rev()
                        .find(|&n| font.width(&word[..n]) <= most);
                    let (now, later) = word.split_at(fits.unwrap_or(1));
                    line.add(*font, now);
                    lines.push(std::mem::take(&mut line));
                    word = later;
                }
                line.add(*font, word);
                full += font.width(word);
            }
        }
        if !line.runs.is_empty() {
            lines.push(line);
        }
        lines
    }
}

/// The code of a letter in `WinAnsiEncoding`, which is code page 1252 (ISO 32000-1, annex
/// D.2). Spaces of every width are one.
fn code(letter: char) -> Option<u8> {
    /// Those from 128 to 159.
    const SPECIAL: &str = "€\0‚ƒ„…†‡ˆ‰Š‹Œ\0Ž\0\0‘’“”•–—˜™š›œ\0žŸ";
    match letter {
        ' '..='~' | '\u{a0}'..='ÿ' => u8::try_from(u32::from(letter)).ok(),
        '\n' | '\t' | '\u{2000}'..='\u{200a}' => Some(b' '),
        '\u{202f}' => Some(0xa0),
        '\u{2212}' => Some(b'-'),
        '\0' => None,
        _ => {
            let place = SPECIAL.chars().position(|special| special == letter)?;
            u8::try_from(128 + place).ok()
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Code page 1252, from the Encoding Standard's `index-windows-1252` (from memory), and
    /// all letters of the languages that we speak, from the locales.
    #[test]
    fn letters_have_their_codes_and_those_of_four_languages_all_have_one() {
        for (letter, wanted) in [
            ('A', 65),
            ('€', 0x80),
            ('“', 0x93),
            ('–', 0x96),
            ('œ', 0x9c),
            ('ß', 0xdf),
            ('ÿ', 0xff),
        ] {
            assert_eq!(code(letter), Some(wanted), "{letter}");
        }
        assert_eq!((code('Ł'), code('ж'), code('\0')), (None, None, None));
        let locales = [
            include_str!("../../../../web/locales/de.toml"),
            include_str!("../../../../web/locales/fr.toml"),
            include_str!("../../../../web/locales/es.toml"),
        ];
        for letter in locales.concat().chars().filter(|c| c.is_alphabetic()) {
            assert!(code(letter).is_some(), "{letter}");
        }
    }

    /// Widths of Times as Adobe's metrics of the fourteen fonts have them ("Font Metrics for
    /// PDF Core 14 Fonts", from memory).
    #[test]
    fn texts_are_as_wide_as_their_letters() {
        let width = |font: Font, text: &str| {
            let line = Letters::default().line(text, font);
            (line.width(1000.0)).round()
        };
        assert_eq!(width(Font::Upright, "A"), 722.0);
        assert_eq!(width(Font::Bold, "ß"), 556.0);
        assert_eq!(width(Font::Slanted, "A \u{2013}"), 611.0 + 250.0 + 500.0);
    }

    #[test]
    fn lines_break_between_words_and_long_words_where_they_must() {
        let mut letters = Letters::default();
        let texts = [
            (Font::Bold, "1.Ra8#".into()),
            (Font::Upright, "over the hills and far away".into()),
        ];
        let lines = letters.lines(&texts, 10.0, 80.0);
        assert!(lines.len() > 1);
        assert!(
            lines.iter().all(|line| line.width(10.0) <= 80.0),
            "{lines:?}"
        );
        let said: Vec<u8> = lines
            .iter()
            .flat_map(|l| &l.runs)
            .flat_map(|(_, codes)| codes.clone())
            .collect();
        let said: Vec<u8> = said.into_iter().filter(|c| *c != b' ').collect();
        assert_eq!(
            String::from_utf8(said).unwrap(),
            "1.Ra8#overthehillsandfaraway"
        );
        let long = letters.lines(&[(Font::Upright, "n".repeat(100))], 10.0, 80.0);
        assert!(long.iter().all(|line| line.width(10.0) <= 80.0));
        assert_eq!(letters.missing(), "");
        letters.line("Łódź, Łuk", Font::Upright);
        assert_eq!(letters.missing(), "Łź");
    }
}
