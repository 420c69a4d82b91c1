//! Measured, not tested: how soon the authoring page is there. `cargo xtask bench
//! desk` prints it.

use keyproof::notation::pgn_write;
use keyproof_tests::browser::{Browser, browse, file_url, page};
use serde_json::json;

use crate::shelf::{many, open_file};
use crate::whole_lesson;

/// How often the page is opened; the middle one counts.
const TIMES: usize = 7;

/// Runs before the page's own scripts: notes when something is painted first,
/// and when the page can be worked with, which is when a board takes moves or, on
/// an empty desk, a puzzle can be begun.
const NOTE: &str = "
new PerformanceObserver((list) => globalThis.painted ??= list.getEntries()[0].startTime)
  .observe({ type: 'paint', buffered: true });
const look = setInterval(() => {
  if (!document.querySelector('.kp-board.kp-open, .welcome .ways')) return;
  clearInterval(look);
  globalThis.open = performance.now();
}, 1);";

#[test]
#[ignore = "measures: `cargo xtask bench desk`"]
fn how_soon_the_desk_is_there() {
    browse("there", async |browser| {
        before_the_page(&browser, NOTE).await;
        let file = page("keyproof.html");
        let size = std::fs::metadata(&file).expect("a page").len();
        println!(
            "The authoring page: {:.1} KB (aim: 1,500 KB)",
            size as f64 / 1000.0
        );
        let url = file_url(&file);
        opened(&browser, &url, "An empty desk").await;
        let lesson: String = whole_lesson().iter().map(pgn_write::write).collect();
        open_file(&browser, "lesson.pgn", &lesson).await;
        saved(&browser).await;
        let count = whole_lesson().len();
        opened(&browser, &url, &format!("A desk with {count} puzzles")).await;
        open_file(&browser, "all.pgn", &many(2000)).await;
        saved(&browser).await;
        let all = count + 2000;
        opened(&browser, &url, &format!("A desk with {all} puzzles")).await;
    });
}

async fn before_the_page(browser: &Browser, script: &str) {
    browser
        .devtools(
            "Page.addScriptToEvaluateOnNewDocument",
            json!({ "source": script }),
        )
        .await;
}

async fn saved(browser: &Browser) {
    browser.until_text(".kept", "saved in this browser").await;
}

/// Opens the page again and again, and prints how soon it is there.
async fn opened(browser: &Browser, url: &str, what: &str) {
    let (mut painted, mut open) = (Vec::new(), Vec::new());
    for _ in 0..TIMES {
        browser.go("about:blank").await;
        browser.go(url).await;
        browser
            .until(
                "a page to work with",
                "return globalThis.open > 0 && globalThis.painted > 0;",
                vec![],
            )
            .await;
        let times = browser
            .script("return [globalThis.painted, globalThis.open];", vec![])
            .await;
        painted.push(times[0].as_f64().expect("a time"));
        open.push(times[1].as_f64().expect("a time"));
    }
    painted.sort_by(f64::total_cmp);
    open.sort_by(f64::total_cmp);
    println!(
        "{what}: first paint after {:.0} ms, to be worked with after {:.0} ms (middle of {TIMES}, longest {:.0})",
        painted[TIMES / 2],
        open[TIMES / 2],
        open[TIMES - 1]
    );
}
