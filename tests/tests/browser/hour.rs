//! Measured, not tested: what the authoring page holds in memory over an hour of
//! work. `cargo xtask bench desk` prints it.

use keyproof_tests::browser::{Browser, browse};
use serde_json::{Value, json};
use thirtyfour::prelude::*;

use crate::{open_desk, paste, staircase};

/// Rounds of work, a minute's each.
const ROUNDS: usize = 60;
/// Rounds after which is looked.
const EVERY: usize = 10;

#[test]
#[ignore = "measures: `cargo xtask bench desk`"]
fn what_an_hour_of_work_keeps() {
    browse("hour", async |browser| {
        open_desk(&browser).await;
        for done in 1..=ROUNDS {
            round(&browser).await;
            if done % EVERY == 0 {
                println!("After {done} minutes: {}", held(&browser).await);
            }
        }
        browser.assert_no_errors().await;
    });
}

/// A puzzle is pasted, mended, worded, tried, set up, undone, and removed.
async fn round(browser: &Browser) {
    paste(browser, &staircase()).await;
    browser.until_text(".verdict-line", "Unsound").await;
    browser.press("Accept 1.Rb7").await;
    browser.until_text(".verdict-line", "Sound").await;
    browser
        .script("deep('#move-here')[0].focus();", vec![])
        .await;
    for _ in 0..4 {
        browser.key(Key::Right).await;
    }
    browser
        .type_into("#words-here", "Rank by rank, as on a stair.")
        .await;
    browser.press("See it as a student").await;
    browser.find(".preview iframe").await;
    browser.press("Back to the desk").await;
    browser.press("Set up the position").await;
    browser.find(".setup").await;
    browser.press("Done").await;
    browser
        .script("deep('#move-here')[0].focus();", vec![])
        .await;
    browser.held(Key::Control, "k").await;
    browser.find("#finder-list").await;
    browser.key(Key::Escape).await;
    for name in ["Undo", "Redo", "Undo", "Redo"] {
        browser.press(name).await;
    }
    browser.press("Remove The staircase").await;
    browser.until_text(".kept", "").await;
    let away = "for (const button of deep('.notice button:last-child')) button.click();";
    browser.script(away, vec![]).await;
}

/// What the page holds once what is no longer used has been thrown away.
async fn held(browser: &Browser) -> String {
    browser
        .devtools("HeapProfiler.collectGarbage", json!({}))
        .await;
    browser.devtools("Performance.enable", json!({})).await;
    let metrics = browser.devtools("Performance.getMetrics", json!({})).await;
    let metric = |name: &str| {
        let all = metrics["metrics"].as_array().expect("metrics");
        let found = all.iter().find(|metric| metric["name"] == name);
        found.and_then(|m| m["value"].as_f64()).expect("a number")
    };
    format!(
        "{:.2} MB of the program's memory, {:.2} MB of scripts' objects, {} nodes, {} listeners",
        memory(browser).await / 1e6,
        metric("JSHeapUsedSize") / 1e6,
        metric("Nodes"),
        metric("JSEventListeners")
    )
}

/// The bytes of the page's wasm memories.
async fn memory(browser: &Browser) -> f64 {
    let of = async |method: &str, params: Value, path: &str| {
        let answer = browser.devtools(method, params).await;
        answer.pointer(path).cloned().expect("an object")
    };
    let kind = json!({ "expression": "WebAssembly.Memory.prototype" });
    let kind = of("Runtime.evaluate", kind, "/result/objectId").await;
    let all = json!({ "prototypeObjectId": kind });
    let all = of("Runtime.queryObjects", all, "/objects/objectId").await;
    let sum = json!({
        "objectId": all,
        "functionDeclaration": "function() { return this.reduce((sum, m) => sum + m.buffer.byteLength, 0); }",
        "returnByValue": true,
    });
    let sum = of("Runtime.callFunctionOn", sum, "/result/value").await;
    sum.as_f64().expect("bytes")
}
