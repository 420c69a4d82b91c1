//! Measured, not tested: what the authoring page holds in memory over an hour of
//! work. `cargo xtask bench desk` prints it.

use keyproof_tests::browser::{Browser, browse};
use serde_json::{Value, json};
use thirtyfour::prelude::*;

use crate::{open_desk, staircase};

/// Rounds of work: two hours', if each takes half a minute. A round is four changes,
/// so the five hundred that can be undone are full after the first hour.
const ROUNDS: usize = 240;
/// Rounds after which is looked.
const EVERY: usize = 20;

#[test]
#[ignore = "measures: `cargo xtask bench desk`"]
fn what_an_hour_of_work_keeps() {
    browse("hour", async |browser| {
        open_desk(&browser).await;
        for done in 1..=ROUNDS {
            round(&browser).await;
            if done % EVERY == 0 {
                println!("After {done} rounds: {}", held(&browser).await);
            }
        }
        browser.assert_no_errors().await;
    });
}

/// A puzzle is pasted, mended, worded, tried, set up, undone, and removed. All of
/// it by scripts: the driver holds on to each element that it was given.
async fn round(browser: &Browser) {
    press(browser, "Paste").await;
    let paste = "const field = deep('#paste-text')[0];
                 if (field) field.value = arguments[0];
                 return !!field;";
    let text = vec![json!(staircase())];
    browser.until("the box to paste into", paste, text).await;
    press(browser, "Read it").await;
    press(browser, "Accept 1.Rb7").await;
    browser.until_text(".verdict-line", "Sound").await;
    let focus = "deep('#move-here')[0].focus();";
    browser.script(focus, vec![]).await;
    for _ in 0..4 {
        browser.key(Key::Right).await;
    }
    let write = "const field = deep('#words-here')[0];
                 if (!field) return false;
                 field.value += ' Rank by rank.';
                 field.dispatchEvent(new InputEvent('input', { bubbles: true }));
                 return true;";
    browser.until("a field for words", write, vec![]).await;
    press(browser, "See it as a student").await;
    let preview = "return deep('.preview iframe').length === 1;";
    browser.until("the preview", preview, vec![]).await;
    press(browser, "Back to the desk").await;
    press(browser, "Set up the position").await;
    press(browser, "Done").await;
    for name in ["Undo", "Redo", "Undo", "Redo"] {
        press(browser, name).await;
    }
    press(browser, "Remove The staircase").await;
    let away = "for (const button of deep('.notice button:last-child')) button.click();
                return deep('.welcome').length === 1;";
    browser.until("an empty desk", away, vec![]).await;
}

async fn press(browser: &Browser, name: &str) {
    let press = "const named = (e) => [e.ariaLabel, e.textContent.trim()].some((n) => n?.startsWith(arguments[0]));
                 const button = deep('button').find((e) => seen(e) && !e.disabled && named(e));
                 button?.click();
                 return !!button;";
    browser.until(name, press, vec![json!(name)]).await;
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
