//! Measured, not tested: how soon a published file takes a first move.

use std::path::PathBuf;

use keyproof_tests::browser::{browse, file_url};
use serde_json::json;

/// Openings of the file that are timed.
const TIMES: usize = 7;

/// Prints the milliseconds from the start of loading to a board that takes
/// moves, of the file in `KEYPROOF_PUBLISHED`.
#[test]
#[ignore = "measures: `cargo xtask bench lessons`"]
fn how_soon_the_student_can_move() {
    let path = std::env::var_os("KEYPROOF_PUBLISHED").expect("KEYPROOF_PUBLISHED names a file");
    let url = file_url(&PathBuf::from(path));
    browse("soon", async move |browser| {
        browser
            .devtools(
                "Page.addScriptToEvaluateOnNewDocument",
                json!({ "source": "const look = setInterval(() => {
                    const open = document.getElementById('keyproof')?.shadowRoot?.querySelector('.kp-board.kp-open');
                    if (open) { globalThis.openAfter = performance.now(); clearInterval(look); }
                }, 1);" }),
            )
            .await;
        let mut times = Vec::new();
        for _ in 0..TIMES {
            browser.go("about:blank").await;
            browser.go(&url).await;
            browser.until_open().await;
            browser
                .until("a time", "return globalThis.openAfter > 0;", vec![])
                .await;
            let time = browser.script("return globalThis.openAfter;", vec![]).await;
            times.push(time.as_f64().expect("milliseconds"));
        }
        times.sort_by(f64::total_cmp);
        println!(
            "First move possible after {:.0} ms (median of {TIMES} openings; from {:.0} to {:.0})",
            times[TIMES / 2],
            times[0],
            times[TIMES - 1]
        );
    });
}
