//! Hostile strings as the words of a picture and of a row of JSON, read by others: an XML
//! parser (`roxmltree`, of the crates.io registry, after XML 1.0, Fifth Edition) and, of
//! JSON, the grammar of RFC 8259: one value a line, no control character in a string.

use keyproof::notation::pgn_write;
use keyproof::picture::Picture;
use keyproof_tasks::{CheckOptions, Means, check};
use keyproof_tests::hostile::{puzzles, strings};
use roxmltree::Document;
use shakmaty::Board;

#[test]
fn the_title_of_a_picture_is_text_in_it_whatever_it_holds() {
    let board = Board::default();
    let picture = |title: &str| {
        Picture {
            board: &board,
            black_below: false,
            coordinates: true,
            marks: &[],
            title,
        }
        .svg()
    };
    let names = |svg: &Document| -> Vec<String> {
        let elements = svg.descendants().filter(|node| node.is_element());
        let named = elements.map(|node| {
            let attributes = node.attributes().map(|attribute| attribute.name());
            format!(
                "{} {:?}",
                node.tag_name().name(),
                attributes.collect::<Vec<_>>()
            )
        });
        named.collect()
    };
    let plain = picture("a title");
    let expected = names(&Document::parse(&plain).unwrap());
    let all = strings();
    assert_eq!(all.len(), 500);
    for title in all.iter().filter(|title| !title.is_empty()) {
        let svg = picture(title);
        let read = Document::parse(&svg).unwrap_or_else(|e| panic!("{title:?}: {e}"));
        assert_eq!(names(&read), expected, "{title:?}");
    }
}

#[test]
fn a_row_of_json_is_one_line_and_says_what_was_written() {
    let text: String = puzzles(&strings())
        .iter()
        .map(|draft| pgn_write::write(draft) + "\n")
        .collect();
    let rows = check(&text, &CheckOptions::default(), &Means::default()).unwrap();
    assert!(rows.len() >= 20, "{}", rows.len());
    for row in &rows {
        let line = serde_json::to_string(row).unwrap();
        let control = line.chars().find(|c| u32::from(*c) < 0x20);
        assert_eq!(control, None, "{line}");
        let read: serde_json::Value = serde_json::from_str(&line).unwrap();
        assert_eq!(read["title"], row.title);
    }
}
