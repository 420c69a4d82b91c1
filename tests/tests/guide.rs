//! The guide against the code: what it names is there, and what is there is named.
//! (Tasks and options of the command are checked beside its arguments.)

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use keyproof::explain::ReasonKind;
use keyproof_guide::{Block, Inline, PAGES, page};
use keyproof_tests::{kinds, root};

type Names = BTreeSet<String>;

/// What of the first cells of a page's tables is set as code.
fn named(name: &str) -> Names {
    let blocks = page(name).expect("a page").blocks;
    let rows = blocks.iter().filter_map(|block| match block {
        Block::Table { rows, .. } => Some(*rows),
        _ => None,
    });
    let cells = rows.flatten().map(|row| row[0]);
    let code = |inline: &Inline| match inline {
        Inline::Code(text) => Some((*text).to_owned()),
        _ => None,
    };
    cells.flatten().filter_map(code).collect()
}

#[test]
fn every_finding_is_explained() {
    assert_eq!(named("check"), kinds());
}

#[test]
fn every_reason_is_explained() {
    let page = std::fs::read_to_string(root().join("web/guide/check.md")).expect("the page");
    let table = page
        .lines()
        .filter_map(|line| line.strip_prefix("| ")?.split(" |").next());
    let told: BTreeSet<&str> = table.flat_map(|cell| cell.split(", ")).collect();
    let missing: Vec<&str> = ReasonKind::ALL
        .into_iter()
        .map(ReasonKind::title)
        .filter(|title| !told.contains(title))
        .collect();
    assert!(missing.is_empty(), "{missing:?}");
}

#[test]
fn every_tag_is_explained() {
    let sources = sources();
    let mut told = named("pgn-tags");
    let used: Names = sources.iter().flat_map(|source| tags(source)).collect();
    assert!(used.len() > 20, "{used:?}");
    let untold: Vec<&String> = used.difference(&told).collect();
    assert!(untold.is_empty(), "web/guide/pgn-tags.md lacks {untold:?}");

    for hint in ["Hint1", "Hint9"] {
        assert!(told.remove(hint), "{hint}");
    }
    assert!(sources.iter().any(|source| source.contains("\"Hint{")));
    let is_unused = |tag: &&String| {
        !sources
            .iter()
            .any(|source| source.contains(&format!("\"{tag}\"")))
    };
    let unused: Vec<&String> = told.iter().filter(is_unused).collect();
    assert!(
        unused.is_empty(),
        "web/guide/pgn-tags.md has {unused:?}, which no code reads"
    );
}

/// The tags that a source names where a tag is meant.
fn tags(source: &str) -> Names {
    const BEFORE: [&str; 7] = [
        "tag(\"",
        "told(draft, \"",
        "name: \"",
        "TAG: &str = \"",
        "LABELS: &str = \"",
        "REST: &str = \"",
        "=> \"Wrong",
    ];
    let mut found = Names::new();
    for before in BEFORE {
        let start = before.split('"').nth(1).unwrap_or_default();
        for rest in source.split(before).skip(1) {
            let word: String = rest
                .chars()
                .take_while(char::is_ascii_alphanumeric)
                .collect();
            let tag = format!("{start}{word}");
            let ends = rest[word.len()..].starts_with('"');
            if ends && tag.starts_with(|c: char| c.is_ascii_uppercase()) {
                found.insert(tag);
            }
        }
    }
    found
}

/// The text of all sources but those of tests.
fn sources() -> Vec<String> {
    let mut files = Vec::new();
    for room in std::fs::read_dir(root().join("crates"))
        .expect("crates")
        .flatten()
    {
        let chores = ["xtask", "bench", "guide"];
        if !chores.iter().any(|chore| room.file_name() == *chore) {
            rust_files(&room.path().join("src"), &mut files);
        }
    }
    let text = |file: &PathBuf| {
        let text = std::fs::read_to_string(file).expect("a source");
        let code = text.split("#[cfg(test)]\nmod tests {").next();
        code.unwrap_or_default().to_owned()
    };
    files.iter().map(text).collect()
}

fn rust_files(folder: &Path, files: &mut Vec<PathBuf>) {
    for entry in std::fs::read_dir(folder).into_iter().flatten().flatten() {
        let path = entry.path();
        if path.is_dir() {
            rust_files(&path, files);
        } else if path.extension().is_some_and(|e| e == "rs") && !path.ends_with("tests.rs") {
            files.push(path);
        }
    }
}

/// What is set in italics and begins with a capital is something to press.
#[test]
fn every_button_named_is_there() {
    let path = root().join("web/locales/de.toml");
    let texts = std::fs::read_to_string(path)
        .expect("a language")
        .replace('\u{2019}', "'");
    for page in PAGES {
        for name in italics(page.blocks) {
            let name = name.trim_end_matches([' ', '\u{2026}']).to_owned();
            let is_name = name.starts_with(|c: char| c.is_uppercase());
            let there = texts.contains(&format!("\n\"{name}"));
            assert!(
                !is_name || there,
                "{}.md names \"{name}\", which is nowhere",
                page.name
            );
        }
    }
}

fn italics(blocks: &[Block]) -> Vec<String> {
    let in_line = |inlines: &[Inline]| {
        let of = |inline: &Inline| match inline {
            Inline::Emphasis(inlines) => Some(keyproof_guide::words(inlines)),
            _ => None,
        };
        inlines.iter().filter_map(of).collect::<Vec<_>>()
    };
    let of = |block: &Block| match block {
        Block::Paragraph(inlines) => in_line(inlines),
        Block::List { items, .. } => items.iter().flat_map(|item| italics(item)).collect(),
        Block::Table { rows, .. } => rows
            .iter()
            .copied()
            .flatten()
            .flat_map(|cell| in_line(cell))
            .collect(),
        Block::Heading { .. } | Block::Code(_) => vec![],
    };
    blocks.iter().flat_map(of).collect()
}
