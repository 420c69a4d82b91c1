//! The student's page in every window: the board as large as the window allows,
//! what is said and the hint in sight beside it, also above an on-screen keyboard;
//! and the controls, of which the rare ones are folded away.

use keyproof_tests::browser::{Browser, browse, file_url};
use serde_json::json;
use thirtyfour::Key;

use crate::looks::screens;
use crate::{Way, lesson, play, publish};

/// Windows in CSS pixels: phones upright and on their side, a small phone, a tablet
/// both ways, a desk, and a window of 1280 by 800 at 400 %.
const WINDOWS: [(u32, u32); 8] = [
    (360, 740),
    (740, 360),
    (320, 568),
    (568, 320),
    (820, 1180),
    (1180, 820),
    (1440, 900),
    (320, 200),
];

/// Left, top, right and bottom of an element in the window.
async fn edges(browser: &Browser, selector: &str) -> [f64; 4] {
    let found = browser
        .script(
            "const r = deep(arguments[0]).find(seen).getBoundingClientRect();
             return [r.left, r.top, r.right, r.bottom];",
            vec![json!(selector)],
        )
        .await;
    let edge = |i: usize| found[i].as_f64().expect("an edge");
    [edge(0), edge(1), edge(2), edge(3)]
}

#[test]
fn the_board_fills_the_window_and_what_is_said_stays_in_sight() {
    browse("fits", async |browser| {
        let puzzles = [lesson("Ask for a knight"), lesson("Less is more")];
        let file = publish(&puzzles, &browser.folder.join("two.html"));
        for (width, height) in WINDOWS {
            browser.window(width, height).await;
            browser.go(&file_url(&file)).await;
            browser.script("localStorage.clear();", vec![]).await;
            browser.reload().await;
            browser.until_open().await;
            let window = format!("{width} x {height}");
            let (w, h) = (f64::from(width), f64::from(height));
            let [left, top, right, bottom] = edges(&browser, ".kp-board").await;
            let side = right - left;
            if w > h && w > 500.0 {
                // The line below the board takes two lines of text.
                assert!(
                    top >= -1.0 && bottom <= h + 1.0,
                    "{window}: {top} to {bottom}"
                );
                assert!(side > (h - 75.0).min(w * 0.52), "{window}: {side}");
            } else {
                // Magnified, the board is wider than the window is high.
                let room = if h > 300.0 { h - 190.0 } else { w };
                assert!(side > (w - 40.0).min(room), "{window}: {side}");
            }
            browser.press("Hint 1").await;
            play(&browser, Way::Typing, 0, "g7", "g8q").await;
            browser.until_text(".kp-verdict", "no check").await;
            // Wherever in the work the reader is.
            for place in ["start", "center", "end"] {
                browser
                    .script(
                        "deep('.kp-place')[0].scrollIntoView({ block: arguments[0] });",
                        vec![json!(place)],
                    )
                    .await;
                let [_, top, _, bottom] = edges(&browser, ".kp-verdict p").await;
                assert!(
                    top >= -1.0 && bottom <= h + 1.0,
                    "{window}: {top} to {bottom}"
                );
                if h > 300.0 {
                    let [_, top, _, bottom] = edges(&browser, ".kp-hints li").await;
                    assert!(
                        top >= -1.0 && bottom <= h + 1.0,
                        "{window}: {top} to {bottom}"
                    );
                }
            }
            browser
                .view(&screens(&format!("fits-{width}x{height}")))
                .await;
            assert_eq!(browser.over_the_edge().await, json!(0), "{window}");
        }
    });
}

/// No driver opens an on-screen keyboard: the browser's own word of how much of the
/// window is left is put in its place (CSSOM View, `VisualViewport`).
#[test]
fn with_the_keyboard_of_a_phone_open_board_line_and_verdict_are_in_sight() {
    browse("keyboard", async |browser| {
        browser.window(360, 740).await;
        let file = publish(
            &[lesson("Ask for a knight")],
            &browser.folder.join("one.html"),
        );
        browser.go(&file_url(&file)).await;
        browser.until_open().await;
        let [left, _, right, _] = edges(&browser, ".kp-board").await;
        browser
            .script(
                "deep('.kp-typed input')[0].focus();
                 Object.defineProperty(visualViewport, 'height', { value: 400, configurable: true });
                 visualViewport.dispatchEvent(new Event('resize'));",
                vec![],
            )
            .await;
        play(&browser, Way::Typing, 0, "g7", "g8q").await;
        browser.until_text(".kp-verdict", "no check").await;
        for part in [".kp-board", ".kp-verdict p", ".kp-typed input"] {
            let [_, top, _, bottom] = edges(&browser, part).await;
            assert!(top >= -1.0 && bottom <= 401.0, "{part}: {top} to {bottom}");
        }
        let [_, _, _, board] = edges(&browser, ".kp-board").await;
        let [_, said, _, _] = edges(&browser, ".kp-say").await;
        assert!(board <= said + 1.0, "{board} is below {said}");
        browser
            .script(
                "Object.defineProperty(visualViewport, 'height', { value: 740 });
                 visualViewport.dispatchEvent(new Event('resize'));",
                vec![],
            )
            .await;
        let [again, _, edge, _] = edges(&browser, ".kp-board").await;
        assert_eq!((again, edge), (left, right));
    });
}

/// The controls stand in one row, and those that are seldom needed behind one
/// button, which works by keys and says whether it is open.
#[test]
fn rare_controls_are_folded_away() {
    browse("rare", async |browser| {
        let file = publish(
            &[lesson("Ask for a knight")],
            &browser.folder.join("one.html"),
        );
        browser.window(360, 740).await;
        browser.go(&file_url(&file)).await;
        browser.until_open().await;
        let row = "const all = deep('.kp-tools button').filter(seen);
                   return [all.map((b) => b.textContent).join(), new Set(all.map((b) => b.getBoundingClientRect().top)).size];";
        let found = browser.script(row, vec![]).await;
        assert_eq!(found, json!(["Hint 1 of 2,Show the solution,More", 1]));

        let open = "return deep('[data-do=more]')[0].getAttribute('aria-expanded');";
        assert_eq!(browser.script(open, vec![]).await, json!("false"));
        browser
            .script("deep('[data-do=more]')[0].focus();", vec![])
            .await;
        browser.key(Key::Enter).await;
        assert_eq!(browser.script(open, vec![]).await, json!("true"));
        browser.key(Key::Tab).await;
        let focus = "return focused().textContent;";
        assert_eq!(browser.script(focus, vec![]).await, json!("Start over"));
        browser.key(Key::Escape).await;
        assert_eq!(browser.script(open, vec![]).await, json!("false"));
        assert_eq!(browser.script(focus, vec![]).await, json!("More"));
        // A switch stays for another press; what is done folds them.
        browser.key(Key::Enter).await;
        browser.press("Left-handed").await;
        browser.press("Left-handed").await;
        browser.press("Turn the board").await;
        assert_eq!(browser.script(open, vec![]).await, json!("false"));
        browser
            .until(
                "the focus on the board",
                "return !!focused().dataset.square;",
                vec![],
            )
            .await;
    });
}
