//! Handouts as they come out of a printer.

use keyproof::handout::{PerPage, handout};
use keyproof::notation::pgn_write;
use keyproof::resolved::Resolved;
use keyproof_tests::browser::{browse, file_url, pages};

use crate::{lesson, open_desk, paste_whole, whole_lesson};

/// Every sheet of diagrams is one page of A4, also where a task takes two lines.
#[test]
fn each_sheet_of_a_handout_is_one_page() {
    browse("handouts", async |browser| {
        let posed: Vec<Resolved> = whole_lesson().iter().map(Resolved::of).collect();
        let drafts: Vec<&Resolved> = posed.iter().collect();
        for (number, per_page) in [(2, PerPage::Two), (4, PerPage::Four), (6, PerPage::Six)] {
            let (html, _) = handout("Thursday night", "en", &drafts, per_page);
            let file = browser.folder.join(format!("{number}.html"));
            std::fs::write(&file, html).expect("a file");
            browser.go(&file_url(&file)).await;
            let sheets = browser
                .script(
                    "document.querySelector('.answers').remove();
                     deep('.grid figure:first-child figcaption').forEach((e) => e.append(' Find the move that wins the queen within two moves, against every defence.'));
                     return deep('.sheet').length;",
                    vec![],
                )
                .await;
            let sheets = sheets.as_u64().expect("a number") as usize;
            assert!(sheets > 1, "{number} a page: {sheets}");
            assert_eq!(pages(&browser.printed().await), sheets, "{number} a page");
        }
    });
}

/// The desk makes the document itself: a page for the diagram and one for its solution.
#[test]
fn a_handout_is_saved_as_pdf_from_the_page() {
    browse("handout-pdf", async |browser| {
        open_desk(&browser).await;
        paste_whole(&browser, &pgn_write::write(&lesson("Less is more"))).await;
        browser.until_text(".verdict-line", "Sound").await;
        browser.press("Save as PDF").await;
        let file = browser.downloaded(".pdf").await;
        let bytes = std::fs::read(file).expect("a file");
        assert_eq!(pages(&bytes), 2);
        browser.assert_no_errors().await;
    });
}
