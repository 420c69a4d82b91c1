//! A page of the guide as a tree of plain data.

/// One page: a file of `web/guide`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Page {
    /// The file's name without its ending.
    pub name: &'static str,
    /// Its first heading.
    pub title: &'static str,
    /// What follows that heading.
    pub blocks: &'static [Block],
}

/// A piece of a page.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Block {
    /// The heading of a section.
    Heading {
        /// The text in small letters, with dashes between its words.
        anchor: &'static str,
        text: &'static str,
    },
    Paragraph(&'static [Inline]),
    /// Lines as they are typed.
    Code(&'static str),
    List {
        numbered: bool,
        items: &'static [&'static [Block]],
    },
    /// A table: the cells of its head, and those of each row.
    Table {
        head: &'static [&'static [Inline]],
        rows: &'static [&'static [&'static [Inline]]],
    },
}

/// A piece of a paragraph.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Inline {
    Text(&'static str),
    Code(&'static str),
    Emphasis(&'static [Inline]),
    Strong(&'static [Inline]),
    Link { to: Place, text: &'static [Inline] },
}

/// A page, or a section of it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Place {
    /// The page's name.
    pub page: &'static str,
    /// The anchor of a heading on it; empty for the page's beginning.
    pub anchor: &'static str,
}
