//! Looking for words in the guide.

use crate::{Block, PAGES, Page, Place, words};

/// A section in which all words were found.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Found {
    pub place: Place,
    /// The page's title.
    pub page: &'static str,
    /// The section's heading; empty where it is the page's beginning.
    pub heading: &'static str,
    /// The words around the first one found.
    pub around: String,
}

/// Letters told before and after the first word that is found.
const BEFORE: usize = 40;
const AFTER: usize = 80;

/// A heading, and all words below it up to the next one.
struct Section {
    page: &'static Page,
    anchor: &'static str,
    heading: &'static str,
    text: String,
}

/// The sections in which every word of `typed` occurs, those first that have all of
/// them in title and heading. Capitals do not matter. Nothing typed finds nothing.
pub fn find(typed: &str) -> Vec<Found> {
    let wanted: Vec<String> = typed.split_whitespace().map(str::to_lowercase).collect();
    let Some(first) = wanted.first() else {
        return Vec::new();
    };
    let mut found = Vec::new();
    for section in PAGES[1..].iter().flat_map(sections) {
        let head = format!("{} {}", section.page.title, section.heading).to_lowercase();
        let text = section.text.to_lowercase();
        if wanted
            .iter()
            .all(|word| head.contains(word) || text.contains(word))
        {
            let only_below = !wanted.iter().all(|word| head.contains(word));
            found.push((only_below, section.told(first)));
        }
    }
    found.sort_by_key(|(only_below, _)| *only_below);
    found.into_iter().map(|(_, found)| found).collect()
}

impl Section {
    fn told(&self, first: &str) -> Found {
        Found {
            place: Place {
                page: self.page.name,
                anchor: self.anchor,
            },
            page: self.page.title,
            heading: self.heading,
            around: around(&self.text, first),
        }
    }
}

/// The words of a text around the first place where `word` stands; its beginning
/// where it does not.
fn around(text: &str, word: &str) -> String {
    let letters: Vec<char> = text.chars().collect();
    let small: String = letters
        .iter()
        .map(|c| c.to_lowercase().next().unwrap_or(*c))
        .collect();
    let at = small
        .find(word)
        .map_or(0, |byte| small[..byte].chars().count());
    let is_space = |i: &usize| letters[*i].is_whitespace();
    let from = match at.saturating_sub(BEFORE) {
        0 => 0,
        early => (early..at).find(is_space).map_or(at, |space| space + 1),
    };
    let to = match at + word.chars().count() + AFTER {
        late if late >= letters.len() => letters.len(),
        late => (at..late).rev().find(is_space).unwrap_or(late),
    };
    let told: String = letters[from..to].iter().collect();
    let open = if from > 0 { "\u{2026} " } else { "" };
    let cut = if to < letters.len() { " \u{2026}" } else { "" };
    format!("{open}{told}{cut}")
}

fn sections(page: &'static Page) -> Vec<Section> {
    let section = |anchor, heading| Section {
        page,
        anchor,
        heading,
        text: String::new(),
    };
    let mut all = vec![section("", "")];
    for block in page.blocks {
        match block {
            Block::Heading { anchor, text } => all.push(section(anchor, text)),
            other => all.last_mut().expect("one at least").add(other),
        }
    }
    all
}

impl Section {
    fn add(&mut self, block: &Block) {
        match block {
            Block::Heading { text, .. } | Block::Code(text) => self.say(text),
            Block::Paragraph(inlines) => self.say(&words(inlines)),
            Block::List { items, .. } => items.iter().copied().flatten().for_each(|b| self.add(b)),
            Block::Table { head, rows } => {
                let cells = head.iter().chain(rows.iter().copied().flatten());
                cells.for_each(|cell| self.say(&words(cell)));
            }
        }
    }
    fn say(&mut self, words: &str) {
        if !self.text.is_empty() {
            self.text.push(' ');
        }
        self.text.push_str(words);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_word_must_occur() {
        let found = find("STUBBORN defences");
        assert!(
            found.iter().any(|f| f.place.page == "pgn-tags"),
            "{found:?}"
        );
        assert_eq!(find("stubborn xyzzy"), []);
        assert_eq!(find("  "), []);
    }

    #[test]
    fn what_a_section_is_called_by_comes_first() {
        let found = find("backup");
        assert_eq!(
            found[0].place,
            Place {
                page: "keep",
                anchor: "backups"
            }
        );
        assert!(found.len() > 1);
        assert!(found.iter().all(|f| crate::has(f.place)));
    }

    #[test]
    fn around_a_word_stand_whole_words() {
        let text = format!(
            "{}the Needle {}",
            "hay and straw ".repeat(9),
            "and stubble ".repeat(20)
        );
        let told = around(&text, "needle");
        assert!(told.starts_with("\u{2026} "), "{told}");
        assert!(told.contains("the Needle and"), "{told}");
        assert!(
            told.ends_with("stubble \u{2026}") || told.ends_with("and \u{2026}"),
            "{told}"
        );
        assert_eq!(around("short", "r"), "short");
        assert_eq!(around("other words", "none"), "other words");
    }
}
