//! A talk in two windows, by the two keys of a remote, with both loaded anew; and the
//! stage of a student's file by the same keys.

use std::time::Duration;

use keyproof_tests::browser::{Browser, browse, file_url};
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

#[test]
fn a_talk_in_two_windows() {
    browse("talk", async |browser| {
        let desk = open_desk(&browser).await;
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

        browser
            .type_into(".talk-recto .kp-typed input", "Nf3")
            .await;
        browser.key(Key::Enter).await;
        let refuted = (".wrong", "4.Nf3");
        browser.until_man("h5", "black knight").await;
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
