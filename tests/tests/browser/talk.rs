//! A talk in two windows, by the two keys of a remote, with both loaded anew; and the
//! stage of a student's file by the same keys.

use std::time::Duration;

use keyproof_tests::browser::{Browser, browse, file_url};
use serde_json::json;
use thirtyfour::common::keys::Key;
use thirtyfour::prelude::*;

use crate::{Way, open_desk, play};

async fn to(browser: &Browser, window: &WindowHandle) {
    let switched = browser.driver.switch_to_window(window.clone()).await;
    switched.expect("a window");
}

/// Steps on until the page shows this.
async fn on_to(browser: &Browser, selector: &str, text: &str) {
    for _ in 0..30 {
        if browser.text(selector).await.contains(text) {
            return;
        }
        browser.key(Key::PageDown).await;
        tokio::time::sleep(Duration::from_millis(150)).await;
    }
    panic!("{selector} shows no {text:?}");
}

/// Looks into the audience's window, and comes back.
async fn audience_sees(
    browser: &Browser,
    windows: (&WindowHandle, &WindowHandle),
    what: &[(&str, &str)],
) {
    to(browser, windows.1).await;
    for (selector, text) in what {
        browser.until_text(selector, text).await;
    }
    assert_eq!(browser.count("button, input, select, a").await, 0);
    to(browser, windows.0).await;
}

async fn until_audience(browser: &Browser, windows: (&WindowHandle, &WindowHandle), script: &str) {
    to(browser, windows.1).await;
    browser.until(script, script, vec![]).await;
    to(browser, windows.0).await;
}

/// Begins a talk of the demo lesson in two windows: the speaker's, and the audience's.
async fn two_windows(browser: &Browser) -> (WindowHandle, WindowHandle) {
    browser.press("Open a lesson").await;
    browser.until_text(".verdict-line", "Sound").await;
    browser.press("Board").await;
    browser.press("Give a talk").await;
    browser.find("#talk").await;
    browser.press("Open the audience").await;
    browser.until_text(".talk-head", "F fills its screen").await;
    let speaker = browser.driver.window().await.expect("a window");
    let all = browser.driver.windows().await.expect("windows");
    let audience = all.iter().find(|window| **window != speaker);
    let audience = audience.expect("a second window").clone();
    (speaker, audience)
}

#[test]
fn a_talk_in_two_windows() {
    browse("talk", async |browser| {
        let desk = open_desk(&browser).await;
        let (speaker, audience) = two_windows(&browser).await;
        let both = (&speaker, &audience);
        let players = (".players", "Tomas Brill \u{2013} Gus Harrowell");
        audience_sees(&browser, both, &[players]).await;

        on_to(&browser, ".talk-task", "mate in one").await;
        audience_sees(
            &browser,
            both,
            &[players, (".task", "mate in one"), (".clock", "0:0")],
        )
        .await;
        to(&browser, &audience).await;
        browser.key(Key::PageDown).await;
        browser.until_text(".hint", "look at one square").await;
        to(&browser, &speaker).await;

        // Once it is known why moves fail, a suggestion is refuted on the board.
        browser
            .until_text(".talk-ready", "4.Nf3 loses the queen")
            .await;
        browser
            .type_into(".talk-recto .kp-typed input", "Nf3")
            .await;
        browser.key(Key::Enter).await;
        let refuted = (".wrong", "4.Nf3");
        browser.until_man("h5", "black knight").await;
        // The line for suggestions has the focus and is empty: Backspace comes back.
        browser.key(Key::Backspace).await;
        browser.until_man("h5", "white queen").await;
        // Who suggests the same is one more.
        browser
            .type_into(".talk-recto .kp-typed input", "Nf3")
            .await;
        browser.key(Key::Enter).await;
        browser.until_man("h5", "black knight").await;
        browser.until_text(".talk-count", "2").await;
        audience_sees(&browser, both, &[refuted]).await;
        // So long a refutation stood on the stage before it took itself back.
        tokio::time::sleep(Duration::from_secs(7)).await;
        browser.until_man("h5", "black knight").await;
        audience_sees(&browser, both, &[refuted]).await;
        browser.key(Key::PageDown).await;
        browser.until_man("h5", "white queen").await;

        browser.reload().await;
        browser.until_text(".talk-suggested", "Nf3").await;
        browser.key(Key::PageDown).await;
        audience_sees(&browser, both, &[(".line", "4.Qxf7#")]).await;
        to(&browser, &audience).await;
        browser.reload().await;
        browser.until_text(".line", "4.Qxf7#").await;
        to(&browser, &speaker).await;

        browser.key(Key::Escape).await;
        browser.until_text(".verdict-line", "Sound").await;
        assert_eq!(browser.driver.windows().await.expect("windows").len(), 1);
        browser.assert_no_errors().await;

        browser.press("Save the student").await;
        let file = file_url(&browser.downloaded(".html").await);
        browser.go(&file).await;
        on_the_stage(&browser).await;
        browser.assert_no_errors().await;
        browser.assert_no_request_left(&[&desk, &file]).await;
    });
}

/// The same two keys through the student's file.
async fn on_the_stage(browser: &Browser) {
    browser
        .until_text(".kp-head", "The queen that waited")
        .await;
    browser.press("More").await;
    browser.press("Present").await;
    browser.find(".kp-stage").await;
    on_to(browser, ".kp-task", "mate in one").await;
    play(browser, Way::Mouse, 0, "g1", "f3").await;
    browser.until_man("h5", "black knight").await;
    tokio::time::sleep(Duration::from_secs(3)).await;
    browser.until_man("h5", "black knight").await;
    browser.key(Key::PageDown).await;
    browser.until_man("h5", "white queen").await;
    on_to(browser, ".kp-hints", "look at one square").await;
    browser.type_keys(" ").await;
    browser.until_man("f7", "white queen").await;
    on_to(browser, ".kp-task", "best move").await;
    browser.key(Key::Escape).await;
    browser
        .until("no stage", "return !deep('.kp-stage').length;", vec![])
        .await;
}

async fn choose(browser: &Browser, list: &str, value: &str) {
    browser.find(list).await;
    let set = "const list = deep(arguments[0])[0];
        list.value = arguments[1];
        list.dispatchEvent(new Event('change', { bubbles: true }));
        return list.value;";
    let set = browser.script(set, vec![json!(list), json!(value)]).await;
    assert_eq!(set, json!(value));
}

/// What the speaker draws, counts and sets is seen in the audience's window, and one key
/// comes back from what would be.
#[test]
fn what_the_speaker_does_reaches_the_audience() {
    browse("talk-tools", async |browser| {
        open_desk(&browser).await;
        let (speaker, audience) = two_windows(&browser).await;
        let both = (&speaker, &audience);

        // A countdown, of which the audience sees what is left.
        choose(&browser, "#talk-limit", "300").await;
        on_to(&browser, ".talk-task", "mate in one").await;
        audience_sees(&browser, both, &[(".clock", "4:")]).await;

        // Suggestions are only counted, and the counts shown and hidden.
        browser.press("Only count").await;
        for mv in ["Nf3", "d3"] {
            browser.type_into(".talk-recto .kp-typed input", mv).await;
            browser.key(Key::Enter).await;
        }
        browser.until_text(".talk-suggested", "d3").await;
        browser.press("One more for Nf3").await;
        browser.press("One more for Nf3").await;
        browser.press("Show the counts").await;
        audience_sees(&browser, both, &[(".count", "Nf3: 3"), (".count", "d3: 1")]).await;
        browser.press("Show the counts").await;
        until_audience(&browser, both, "return deep('.count').length === 0").await;

        // The pencil's kinds and tones.
        browser.press("Pencil").await;
        for (kind, tone, from, to) in [
            ("solid", "in colour", "h5", "f7"),
            ("dashed", "in ink", "c4", "f7"),
            ("dotted", "in grey", "f6", "h5"),
        ] {
            browser.press(kind).await;
            browser.press(tone).await;
            browser.drag(from, to).await;
        }
        let drawn = "return ['accent', 'ink', 'faint'].every((tone, i) =>
            deep(`.tone-${tone} .kp-${['answer', 'try', 'threat'][i]}`).length > 0);";
        until_audience(&browser, both, drawn).await;
        browser.press("Wipe").await;
        until_audience(&browser, both, "return deep('[class^=tone-]').length === 0").await;

        // A dimmed board with light on a square; a pointer that follows the mouse.
        browser.press("Spotlight").await;
        browser.square("e8").await.click().await.expect("a press");
        until_audience(&browser, both, "return deep('.talk-dim').length === 1").await;
        browser.press("Wipe").await;
        browser.press("Pointer").await;
        let middle = browser.square("d5").await;
        let pointer = browser
            .driver
            .action_chain()
            .move_to_element_center(&middle);
        pointer.perform().await.expect("a pointer");
        until_audience(&browser, both, "return deep('.talk-pointer').length === 1").await;
        browser.press("Pointer").await;

        // What if, and back by one key.
        browser.press("What if").await;
        browser.drag("h5", "e5").await;
        browser.until_man("e5", "white queen").await;
        audience_sees(&browser, both, &[(".line", "4.Qxe5+")]).await;
        browser.key(Key::Escape).await;
        browser.until_man("h5", "white queen").await;
        audience_sees(&browser, both, &[(".task", "mate in one")]).await;

        // One colour around the board, and the whole screen.
        choose(&browser, "#talk-margin", "green").await;
        let green = "const [r, g, b] = getComputedStyle(document.body).backgroundColor.match(/\\d+/g).map(Number);
            return g > 2 * r && g > 2 * b;";
        until_audience(&browser, both, green).await;
        to(&browser, &audience).await;
        browser.type_keys("f").await;
        browser
            .until(
                "the whole screen",
                "return !!document.fullscreenElement;",
                vec![],
            )
            .await;
        browser.type_keys("f").await;
        // As recordings have it: the board as high as the picture, and nothing scrolls.
        browser.window(1920, 1080).await;
        let fits = "const board = deep('.audience-board svg')[0].getBoundingClientRect();
            const page = document.scrollingElement;
            return board.height > 1000 && page.scrollHeight <= 1080 && page.scrollWidth <= 1920;";
        browser
            .until("a board as high as the picture", fits, vec![])
            .await;
        to(&browser, &speaker).await;

        browser.press("Save the moments").await;
        let moments = browser.downloaded("moments.txt").await;
        let moments = std::fs::read_to_string(moments).expect("a text");
        let lines: Vec<&str> = moments.lines().collect();
        assert!(
            lines[0].starts_with("0:00 ") && lines[0].contains("Tomas Brill"),
            "{moments}"
        );
        assert!(lines[1].contains("mate in one"), "{moments}");
        browser.assert_no_errors().await;
    });
}
