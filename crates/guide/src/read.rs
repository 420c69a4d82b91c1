//! Reading pages from Markdown (CommonMark, with tables). Refused is what a page
//! may not have: HTML, pictures, links that lead out of the guide.
//!
//! It is run by `build.rs`, once for each page, and keeps what it makes for good.

use std::iter::Peekable;
use std::path::Path;

use pulldown_cmark::{CodeBlockKind, Event, HeadingLevel, Options, Parser, Tag};

use crate::model::{Block, Inline, Page, Place};

/// The page that names the others, in their order.
pub const INDEX: &str = "index";

/// Reads a folder of pages: the index, and then those it names, in its order.
///
/// # Errors
/// A file that cannot be read, a page that is refused, a file that the index does
/// not name, a link that leads nowhere.
pub fn folder(folder: &Path) -> Result<Vec<Page>, String> {
    let read = |name: &str| {
        let path = folder.join(name).with_extension("md");
        let failed = |fault: &dyn std::fmt::Display| format!("{}: {fault}", path.display());
        let text = std::fs::read_to_string(&path).map_err(|fault| failed(&fault))?;
        page(name, &text).map_err(|fault| failed(&fault))
    };
    let index = read(INDEX)?;
    let mut pages = vec![index];
    for place in links(index.blocks) {
        pages.push(read(place.page)?);
    }
    let files = std::fs::read_dir(folder).map_err(|e| format!("{}: {e}", folder.display()))?;
    for file in files.flatten() {
        let name = file.file_name().to_string_lossy().into_owned();
        let named = |page: &Page| name == format!("{}.md", page.name);
        if !pages.iter().any(named) {
            return Err(format!("{name} is not named in {INDEX}.md"));
        }
    }
    connected(&pages)?;
    Ok(pages)
}

/// Whether each link leads somewhere.
fn connected(pages: &[Page]) -> Result<(), String> {
    let all = pages
        .iter()
        .flat_map(|page| links(page.blocks).into_iter().map(move |to| (page, to)));
    let mut dead = all.filter(|(_, to)| !leads_somewhere(*to, pages));
    match dead.next() {
        Some((page, to)) => Err(format!(
            "{}.md links to {to:?}, which is not there",
            page.name
        )),
        None => Ok(()),
    }
}

/// Reads one page.
///
/// # Errors
/// What a page may not have, or lacks, in a sentence.
pub fn page(name: &str, text: &str) -> Result<Page, String> {
    let mut reader = Reader {
        events: Parser::new_ext(text, Options::ENABLE_TABLES).peekable(),
    };
    let Some(Event::Start(Tag::Heading {
        level: HeadingLevel::H1,
        ..
    })) = reader.events.next()
    else {
        return Err("a page begins with its title, \"# …\"".into());
    };
    let title = plain(reader.inlines()?)?;
    let blocks = reader.blocks()?;
    let mut anchors: Vec<&str> = blocks.iter().filter_map(anchor).collect();
    anchors.sort_unstable();
    match anchors.windows(2).find(|pair| pair[0] == pair[1]) {
        Some(pair) => Err(format!("two headings have the anchor \"{}\"", pair[0])),
        None => Ok(Page {
            name: kept(name.to_owned()),
            title,
            blocks,
        }),
    }
}

/// The places that blocks link to.
pub fn links(blocks: &[Block]) -> Vec<Place> {
    let mut found = Vec::new();
    for block in blocks {
        match block {
            Block::Paragraph(inlines) => found.extend(linked(inlines)),
            Block::List { items, .. } => found.extend(items.iter().flat_map(|item| links(item))),
            Block::Table { head, rows } => {
                let cells = head.iter().chain(rows.iter().copied().flatten());
                found.extend(cells.flat_map(|cell| linked(cell)));
            }
            Block::Heading { .. } | Block::Code(_) => {}
        }
    }
    found
}

fn linked(inlines: &[Inline]) -> Vec<Place> {
    let of = |inline: &Inline| match inline {
        Inline::Link { to, .. } => vec![*to],
        Inline::Emphasis(inlines) | Inline::Strong(inlines) => linked(inlines),
        Inline::Text(_) | Inline::Code(_) => vec![],
    };
    inlines.iter().flat_map(of).collect()
}

fn anchor(block: &Block) -> Option<&'static str> {
    match block {
        Block::Heading { anchor, .. } => Some(anchor),
        _ => None,
    }
}

fn leads_somewhere(place: Place, pages: &[Page]) -> bool {
    let page = pages.iter().find(|page| page.name == place.page);
    page.is_some_and(|page| {
        place.anchor.is_empty()
            || page
                .blocks
                .iter()
                .filter_map(anchor)
                .any(|a| a == place.anchor)
    })
}

/// The parser's events, each read once. What ends a piece is taken with it.
struct Reader<'a> {
    events: Peekable<Parser<'a>>,
}

impl Reader<'_> {
    /// Blocks up to the end of what holds them.
    fn blocks(&mut self) -> Result<&'static [Block], String> {
        let mut blocks = Vec::new();
        loop {
            // An item of a tight list holds words without a paragraph.
            if self.events.peek().is_some_and(is_inline) {
                blocks.push(Block::Paragraph(self.inlines_before_blocks()?));
                continue;
            }
            match self.events.next() {
                None | Some(Event::End(_)) => return Ok(kept_all(blocks)),
                Some(Event::Start(tag)) => blocks.push(self.block(tag)?),
                Some(other) => return Err(refused(&other)),
            }
        }
    }
    fn block(&mut self, tag: Tag) -> Result<Block, String> {
        match tag {
            Tag::Heading {
                level: HeadingLevel::H2,
                ..
            } => {
                let text = plain(self.inlines()?)?;
                let anchor = kept(anchor_of(text));
                Ok(Block::Heading { anchor, text })
            }
            Tag::Heading { .. } => {
                Err("a section has a heading of the second level, \"## …\"".into())
            }
            Tag::Paragraph => Ok(Block::Paragraph(self.inlines()?)),
            Tag::CodeBlock(CodeBlockKind::Indented) => Ok(Block::Code(self.code()?)),
            Tag::List(first) => Ok(Block::List {
                numbered: first.is_some(),
                items: self.each(|reader| reader.blocks())?,
            }),
            Tag::Table(_) => {
                self.events.next();
                Ok(Block::Table {
                    head: self.each(Reader::inlines)?,
                    rows: self.each(|reader| reader.each(Reader::inlines))?,
                })
            }
            other => Err(refused(&Event::Start(other))),
        }
    }
    /// What `read` makes of each part, up to the end of what holds them.
    fn each<T>(
        &mut self,
        read: impl Fn(&mut Self) -> Result<T, String>,
    ) -> Result<&'static [T], String> {
        let mut parts = Vec::new();
        while let Some(Event::Start(_)) = self.events.next() {
            parts.push(read(self)?);
        }
        Ok(kept_all(parts))
    }
    fn code(&mut self) -> Result<&'static str, String> {
        let mut text = String::new();
        while let Some(Event::Text(line)) = self.events.next() {
            text.push_str(&line);
        }
        Ok(kept(text.trim_end().to_owned()))
    }
    /// Words up to the end of what holds them.
    fn inlines(&mut self) -> Result<&'static [Inline], String> {
        let inlines = self.inlines_before_blocks()?;
        match self.events.next() {
            None | Some(Event::End(_)) => Ok(inlines),
            Some(other) => Err(refused(&other)),
        }
    }
    /// Words up to what is none, which is left.
    fn inlines_before_blocks(&mut self) -> Result<&'static [Inline], String> {
        let mut inlines = Vec::new();
        let mut text = String::new();
        loop {
            match self.events.next_if(is_inline) {
                Some(Event::Text(words)) => text.push_str(&words),
                Some(Event::SoftBreak) => text.push(' '),
                other => {
                    if !text.is_empty() {
                        inlines.push(Inline::Text(kept(std::mem::take(&mut text))));
                    }
                    match other {
                        None => return Ok(kept_all(inlines)),
                        Some(event) => inlines.push(self.inline(event)?),
                    }
                }
            }
        }
    }
    fn inline(&mut self, event: Event) -> Result<Inline, String> {
        match event {
            Event::Code(text) => Ok(Inline::Code(kept(text.into_string()))),
            Event::Start(Tag::Emphasis) => Ok(Inline::Emphasis(self.inlines()?)),
            Event::Start(Tag::Strong) => Ok(Inline::Strong(self.inlines()?)),
            Event::Start(Tag::Link { dest_url, .. }) => Ok(Inline::Link {
                to: place(&dest_url)?,
                text: self.inlines()?,
            }),
            other => Err(refused(&other)),
        }
    }
}

fn is_inline(event: &Event) -> bool {
    match event {
        Event::Text(_) | Event::Code(_) | Event::SoftBreak => true,
        Event::Start(tag) => matches!(tag, Tag::Emphasis | Tag::Strong | Tag::Link { .. }),
        _ => false,
    }
}

/// The place that a link names, as `check.md` or `check.md#why-it-works`.
fn place(url: &str) -> Result<Place, String> {
    let (file, anchor) = url.split_once('#').unwrap_or((url, ""));
    match file.strip_suffix(".md") {
        Some(page) if !page.contains(['/', ':']) => Ok(Place {
            page: kept(page.to_owned()),
            anchor: kept(anchor.to_owned()),
        }),
        _ => Err(format!("the link \"{url}\" leads out of the guide")),
    }
}

fn refused(event: &Event) -> String {
    format!("a page of the guide may not have this: {event:?}")
}

/// The anchor of a heading, as common Markdown viewers make it.
fn anchor_of(heading: &str) -> String {
    let letters = heading.to_lowercase();
    let wanted = letters
        .chars()
        .filter(|c| c.is_alphanumeric() || matches!(c, ' ' | '-'));
    wanted.map(|c| if c == ' ' { '-' } else { c }).collect()
}

/// The words of a heading, which has nothing but words.
fn plain(inlines: &[Inline]) -> Result<&'static str, String> {
    match inlines {
        [Inline::Text(text)] => Ok(text),
        other => Err(format!("a heading has words alone, not {other:?}")),
    }
}

fn kept(text: String) -> &'static str {
    text.leak()
}

fn kept_all<T>(list: Vec<T>) -> &'static [T] {
    list.leak()
}

#[cfg(test)]
mod tests {
    use super::*;

    const THERE: Inline = Inline::Link {
        to: Place {
            page: "b",
            anchor: "c",
        },
        text: &[Inline::Text("there")],
    };
    const TREE: &[Block] = &[
        Block::Paragraph(&[
            Inline::Text("Words, "),
            Inline::Emphasis(&[Inline::Text("soft")]),
            Inline::Text(" and "),
            Inline::Strong(&[Inline::Text("strong")]),
            Inline::Text(", "),
            Inline::Code("<b>"),
            Inline::Text("."),
        ]),
        Block::Heading {
            anchor: "what-it-is",
            text: "What \"it\" is",
        },
        Block::List {
            numbered: true,
            items: &[
                &[Block::Paragraph(&[Inline::Text("one")])],
                &[Block::Paragraph(&[Inline::Text("two "), THERE])],
            ],
        },
        Block::Table {
            head: &[&[Inline::Text("a")], &[Inline::Text("b")]],
            rows: &[&[&[Inline::Code("c")], &[]]],
        },
        Block::Code("x < y\n\nz"),
    ];

    #[test]
    fn a_page_becomes_a_tree() {
        let text = "# A page\n\nWords, *soft* and\n**strong**, `<b>`.\n\n## What \"it\" is\n\n1. one\n2. two [there](b.md#c)\n\n| a | b |\n|---|---|\n| `c` | |\n\n    x < y\n\n    z\n";
        let page = page("a", text).unwrap();
        assert_eq!((page.name, page.title), ("a", "A page"));
        assert_eq!(page.blocks, TREE);
        assert_eq!(links(page.blocks).len(), 1);
    }

    #[test]
    fn the_table_has_the_pages_of_the_folder() {
        let pages = folder(Path::new("../../web/guide")).unwrap();
        assert_eq!(pages, crate::PAGES);
    }

    #[test]
    fn a_link_leads_somewhere() {
        let other = page("b", "# B\n\n## Here").unwrap();
        let linking = |to: &str| [page("a", &format!("# A\n\n[x]({to})")).unwrap(), other];
        assert_eq!(connected(&linking("b.md")), Ok(()));
        assert_eq!(connected(&linking("b.md#here")), Ok(()));
        assert!(
            connected(&linking("c.md"))
                .unwrap_err()
                .contains("a.md links to")
        );
        assert!(connected(&linking("b.md#there")).is_err());
    }

    #[test]
    fn what_a_page_may_not_have_is_refused() {
        for (text, says) in [
            ("No title.", "begins with its title"),
            ("# A\n\nText with <b>markup</b>.", "may not have"),
            ("# A\n\n<script>alert(1)</script>", "may not have"),
            ("# A\n\n![picture](a.png)", "may not have"),
            ("# A\n\n> quoted", "may not have"),
            ("# A\n\n- one\n- <i>two</i>", "may not have"),
            ("# A\n\n| a |\n|---|\n| <i>b</i> |", "may not have"),
            ("# A\n\n[out](https://example.org)", "leads out"),
            ("# A\n\n[out](../README.md)", "leads out"),
            ("# A\n\n### Deep", "second level"),
            ("# A `b`", "words alone"),
            ("# A\n\n## B\n\n## B\n", "two headings"),
        ] {
            let fault = page("a", text).unwrap_err();
            assert!(fault.contains(says), "{text:?}: {fault}");
        }
    }
}
