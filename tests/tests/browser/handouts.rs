//! Handouts as they come out of a printer.

use keyproof::handout::{PerPage, handout};
use keyproof::notation::pgn_write;
use keyproof::resolved::Resolved;
use keyproof_tests::browser::{browse, file_url, pages};

use crate::{lesson, open_desk, paste_whole, staircase, whole_lesson};

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

/// What a dark square looks like where dots are few: along a rank, each line of the
/// hatching as the one before. 96 dots an inch are a screen's (CSS Values 4, 6.2), 72 one
/// for each point.
const EVEN: &str = "
const svg = deep('.sheet svg')[0];
const wide = getComputedStyle(svg).width.replace('px', '') * 1;
const picture = new Image();
const alone = svg.cloneNode(true);
alone.setAttribute('width', 390);
alone.setAttribute('height', 390);
picture.src = 'data:image/svg+xml,' + encodeURIComponent(alone.outerHTML);
return picture.decode().then(() => [96, 72].map((dots) => {
  const side = wide * dots / 96;
  const canvas = document.createElement('canvas');
  canvas.width = canvas.height = Math.ceil(side);
  const ink = canvas.getContext('2d');
  ink.fillStyle = 'white';
  ink.fillRect(0, 0, canvas.width, canvas.height);
  ink.drawImage(picture, 0, 0, side, side);
  // The middle of a1, where nothing stands.
  const [from, to, y] = [21 + 4, 21 + 41, 8 + 7 * 45 + 22].map((unit) => Math.round(unit * side / 390));
  const row = ink.getImageData(from, y, to - from, 1).data.filter((_, i) => i % 4 === 0);
  const step = dots / 24;
  const uneven = [...row].slice(step).map((dot, i) => Math.abs(dot - row[i]));
  return [Math.max(...row) - Math.min(...row), Math.max(...uneven)];
}));";

/// At six a page, where squares are small, the hatching stays even.
#[test]
fn the_hatching_of_small_diagrams_is_even() {
    browse("handout-even", async |browser| {
        let posed = Resolved::of(&keyproof_tests::parse(&staircase(), "the README")[0]);
        let (html, _) = handout("Thursday night", "en", &[&posed], PerPage::Six);
        let file = browser.folder.join("six.html");
        std::fs::write(&file, html).expect("a file");
        browser.go(&file_url(&file)).await;
        let measured = browser.script(EVEN, vec![]).await;
        for dots in measured.as_array().expect("two measurements") {
            let [lines, uneven] = [0, 1].map(|i| dots[i].as_i64().expect("a tone"));
            assert!(lines > 25, "lines are seen: {measured}");
            assert!(uneven < lines / 6, "and are alike: {measured}");
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
