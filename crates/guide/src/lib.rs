//! The user's guide: the pages of `web/guide` as plain data, made of their Markdown
//! when this crate is built, and what is found in them.
//!
//! It leaves to others how a page looks: `author` draws it beside the work, `xtask`
//! writes it as a plain page.

mod find;
mod model;
#[cfg(test)]
mod read;

pub use find::{Found, find};
pub use model::{Block, Inline, Page, Place};

include!(concat!(env!("OUT_DIR"), "/pages.rs"));

/// The page of this name.
pub fn page(name: &str) -> Option<&'static Page> {
    PAGES.iter().find(|page| page.name == name)
}

/// Whether there is such a page, and such a heading on it.
pub fn has(place: Place) -> bool {
    page(place.page).is_some_and(|page| {
        let is = |block: &Block| matches!(block, Block::Heading { anchor, .. } if *anchor == place.anchor);
        place.anchor.is_empty() || page.blocks.iter().any(is)
    })
}

/// The words of a paragraph or a cell, without its marks.
pub fn words(inlines: &[Inline]) -> String {
    let of = |inline: &Inline| match inline {
        Inline::Text(text) | Inline::Code(text) => (*text).to_owned(),
        Inline::Emphasis(inlines) | Inline::Strong(inlines) => words(inlines),
        Inline::Link { text, .. } => words(text),
    };
    inlines.iter().map(of).collect()
}
