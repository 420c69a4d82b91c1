//! Names of puzzles in sentences.

use keyproof::tongue::say;

use crate::work::{Sheet, title, untitled};

/// The name of a sheet at its place on the desk.
pub fn named(sheet: &Sheet, place: usize) -> String {
    Name::of(sheet, place).said()
}

/// The name of a sheet, kept to be said in any language.
#[derive(Clone, Default)]
pub struct Name {
    title: Option<String>,
    place: usize,
}

impl Name {
    pub fn of(sheet: &Sheet, place: usize) -> Name {
        Name {
            title: title(&sheet.draft),
            place,
        }
    }
    /// The number of its place.
    pub fn number(&self) -> String {
        (self.place + 1).to_string()
    }
    pub fn said(&self) -> String {
        let title = self.title.clone();
        title.unwrap_or_else(|| untitled(self.place))
    }
}

/// All these names.
pub fn said(names: &[Name]) -> Vec<String> {
    names.iter().map(Name::said).collect()
}

/// Names as a list in a sentence; of many only the first.
pub fn list(names: &[String]) -> String {
    /// Names that a sentence takes.
    const MOST: usize = 6;
    match names {
        [] => String::new(),
        [one] => one.clone(),
        _ if names.len() > MOST => and_more(&names[..MOST - 1], names.len() + 1 - MOST),
        [rest @ .., last] => say!("{list} and {last}", list = rest.join(", "), last = last),
    }
}

/// Names as a list, and so many that are not named.
pub fn and_more(names: &[String], more: usize) -> String {
    say!(
        "{list} and {n} more",
        list = names.join(", "),
        n = more.to_string()
    )
}

/// A name for a file, without its kind.
pub fn stem(name: &str) -> String {
    let plain = |c: char| match c.is_alphanumeric() {
        true => c.to_ascii_lowercase(),
        false => '-',
    };
    let stem: String = name.chars().map(plain).collect();
    let parts: Vec<&str> = stem.split('-').filter(|p| !p.is_empty()).collect();
    let stem: String = parts.join("-").chars().take(60).collect();
    match stem.is_empty() {
        true => "puzzle".into(),
        false => stem,
    }
}
