//! What counts is seen at a glance: three sizes of type, and at most one button in ink,
//! in every view of the desk.

use keyproof_tests::browser::{Browser, browse};
use serde_json::json;

use crate::leaves::{leaves, turn_to};
use crate::{open_desk, paste, paste_whole, staircase};

/// The sizes of type that are seen, each with what has it, and the buttons in ink. The
/// clock of a talk is read from across a room, and a raised figure is no type of its own.
const SEEN: &str = "
const shown = (e) => seen(e) && e.getBoundingClientRect().width > 2 && !e.closest('svg, .kp-board, .kp-hidden, option, .talk-clock, .mark small');
const sizes = {};
for (const e of deep('.desk *').filter(shown)) {
  const own = [...e.childNodes].filter((n) => n.nodeType === 3).map((n) => n.textContent.trim()).join('');
  const text = own || (e.matches('input, textarea, select') ? e.value || e.placeholder : '');
  if (text) sizes[Math.round(parseFloat(getComputedStyle(e).fontSize) * 10) / 10] ??= text.slice(0, 30);
}
const ink = deep('.desk button.main').filter((e) => seen(e) && !e.disabled).map((e) => e.textContent);
return [Object.entries(sizes), ink];";

async fn is_plain(browser: &Browser, view: &str) {
    let told = browser.script(SEEN, vec![]).await;
    let count = |of: usize| told[of].as_array().expect("a list").len();
    assert!((1..=3).contains(&count(0)), "{view}: {}", told[0]);
    assert!(count(1) <= 1, "{view}: {}", told[1]);
}

async fn each_leaf_is_plain(browser: &Browser, what: &str) {
    for (width, height) in [(1440, 900), (360, 740)] {
        browser.window(width, height).await;
        for leaf in leaves(browser).await {
            turn_to(browser, &leaf).await;
            is_plain(browser, &format!("{what}, {leaf}, {width}")).await;
        }
    }
    browser.window(1440, 900).await;
}

#[test]
fn a_puzzle_has_three_sizes_and_one_button_in_ink() {
    browse("hierarchy", async |browser| {
        open_desk(&browser).await;
        is_plain(&browser, "the empty desk").await;
        browser.press("Paste").await;
        browser.find("#paste-text").await;
        is_plain(&browser, "a text to be pasted").await;
        browser.press("Close").await;
        paste(&browser, &staircase()).await;
        browser.until_text(".findings", "1.Rb7").await;
        browser.until_text(".because", "Difficulty").await;
        each_leaf_is_plain(&browser, "a puzzle").await;

        // What stands beside the leaf on which one gives out.
        turn_to(&browser, "Give out").await;
        browser.press("Desk").await;
        is_plain(&browser, "a menu").await;
        browser.press("Guide").await;
        browser.find(".guide").await;
        is_plain(&browser, "the guide").await;
        browser.press("Back to the desk").await;
        browser.window(1920, 1080).await;
        browser.press("Paste").await;
        browser.find("#paste-text").await;
        is_plain(&browser, "the list beside the leaf").await;
        browser.window(1440, 900).await;
        is_plain(&browser, "the list").await;
        browser.press("Close").await;
        turn_to(&browser, "Check").await;
        browser
            .until_text("#found-head", "What the checker found")
            .await;
        browser.press("Show on the board").await;
        browser.find("#show-end").await;
        turn_to(&browser, "Give out").await;
        is_plain(&browser, "a line that is shown").await;
        browser.press("Back to the solution").await;
        browser.press("Set up the position").await;
        browser.find("#setup-head").await;
        is_plain(&browser, "setting up").await;
    });
}

/// A game, before and after its moments were found, and one that asks: each leaf, the
/// student's page beside it, a talk, and the class.
#[test]
fn a_game_and_a_lesson_have_three_sizes_and_one_button_in_ink() {
    browse("hierarchy-lesson", async |browser| {
        open_desk(&browser).await;
        let game = "[White \"Pell, Orla\"]\n[Black \"Tarn, Jonas\"]\n\n1. e4 e5 2. Bc4 Nc6 3. Qh5 Nf6 4. Nf3 Nxh5 *";
        paste_whole(&browser, game).await;
        turn_to(&browser, "Check").await;
        browser.until_text(".verdict", "asks nothing yet").await;
        each_leaf_is_plain(&browser, "a game").await;
        browser.press("Find the moments").await;
        browser.until_text(".found", "mate in one").await;
        let press =
            "deep('.found .entry').find((e) => e.textContent.includes('mate in one')).click();";
        browser.script(press, vec![]).await;
        browser.until_text(".moment", "4.Qxf7#").await;
        is_plain(&browser, "a moment").await;
        browser.press("Ask here").await;
        browser.until_text(".verdict-line", "Sound").await;
        each_leaf_is_plain(&browser, "a lesson").await;

        turn_to(&browser, "Give out").await;
        browser.press("See it as a student").await;
        browser.find(".preview iframe").await;
        is_plain(&browser, "as the student sees it").await;
        browser.press("Back to the desk").await;
        browser.press("What the class answered").await;
        browser.until_focus("class-head").await;
        is_plain(&browser, "the class").await;
        browser.press("Back to the desk").await;
        browser.press("Give a talk").await;
        browser.find("#talk").await;
        is_plain(&browser, "a talk").await;
        browser.press("To the next question").await;
        browser.find(".talk-clock").await;
        is_plain(&browser, "a question of a talk").await;
        assert_eq!(browser.over_the_edge().await, json!(0));
    });
}
