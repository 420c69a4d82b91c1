//! A page that the browser saves is the page as it stands: whatever had been
//! taken out of it is gone, and shadow roots may be written as templates. Opened
//! again, it must work, with the work where it was.
//!
//! Source: the HTML Standard on serialising fragments, with and without shadow
//! roots (`getHTML`), which is what "complete" saves write; read as Chromium
//! does it, since no driver can press the browser's own "Save page as".

use std::path::{Path, PathBuf};

use keyproof_tests::browser::{Browser, browse, file_url};
use serde_json::json;

use crate::{Way, lesson, open_desk, paste, play, publish, staircase};

/// Saves the page as it stands.
async fn save(browser: &Browser, shadows: bool, to: &Path) -> PathBuf {
    let text = browser
        .script(
            "const roots = arguments[0] ? deep('*').map((e) => e.shadowRoot).filter(Boolean) : [];
             const page = document.documentElement;
             const own = page.cloneNode(false).outerHTML.replace('</html>', '');
             return '<!DOCTYPE html>' + own + page.getHTML({ shadowRoots: roots }) + '</html>';",
            vec![json!(shadows)],
        )
        .await;
    std::fs::write(to, text.as_str().expect("a text")).expect("a file that can be written");
    to.to_owned()
}

#[test]
fn a_saved_students_page_goes_on() {
    browse("saved-student", async |browser| {
        let puzzle = lesson("Castling comes second");
        let file = publish(&[puzzle], &browser.folder.join("one.html"));
        for shadows in [true, false] {
            browser.go(&file_url(&file)).await;
            browser.until_text(".kp-task", "mate in 2").await;
            browser.script("localStorage.clear();", vec![]).await;
            let saved = save(&browser, shadows, &browser.folder.join("saved.html")).await;
            let again = save_of_saved(&browser, &saved, shadows).await;
            for page in [saved, again] {
                browser.go(&file_url(&page)).await;
                play(&browser, Way::Mouse, 0, "h3", "h4").await;
                browser.until_man("d3", "black king").await;
                play(&browser, Way::Typing, 1, "e1", "c1").await;
                browser.until_text(".kp-turn", "Solved").await;
                browser.assert_no_errors().await;
                browser.script("localStorage.clear();", vec![]).await;
            }
        }
    });
}

/// The saved page, opened and saved once more.
async fn save_of_saved(browser: &Browser, saved: &Path, shadows: bool) -> PathBuf {
    browser.go(&file_url(saved)).await;
    browser.until_text(".kp-task", "mate in 2").await;
    save(browser, shadows, &browser.folder.join("again.html")).await
}

/// What was done before it was saved is told after, also where the browser keeps
/// nothing.
#[test]
fn a_saved_page_has_the_work_in_it() {
    browse("saved-work", async |browser| {
        let puzzle = lesson("Castling comes second");
        let file = publish(&[puzzle], &browser.folder.join("one.html"));
        browser.go(&file_url(&file)).await;
        play(&browser, Way::Mouse, 0, "h3", "h4").await;
        browser.until_man("d3", "black king").await;
        play(&browser, Way::Mouse, 1, "e1", "c1").await;
        browser.until_text(".kp-turn", "Solved").await;
        let saved = save(&browser, false, &browser.folder.join("saved.html")).await;
        browser.script("localStorage.clear();", vec![]).await;
        browser.go(&file_url(&saved)).await;
        browser.until_open().await;
        let account = "return deep('.kp-account textarea')[0].value;";
        let account = browser.script(account, vec![]).await;
        let account = account.as_str().expect("a line");
        assert!(account.contains("1 of 1 found"), "{account}");
    });
}

/// Engines that give each file a store of its own open the saved page with an empty
/// one: the work is in the page.
#[test]
fn a_saved_desk_goes_on() {
    browse("saved-desk", async |browser| {
        open_desk(&browser).await;
        paste(&browser, &staircase()).await;
        browser.until_text(".finding", "1.Rb7").await;
        browser.until_text(".kept", "saved in this browser").await;
        let saved = save(&browser, true, &browser.folder.join("saved.html")).await;
        browser.go(&file_url(&saved)).await;
        // Until the program is there, the page shows what it showed when it was saved, and
        // takes nothing. (Its element of that name is the window's `keyproof` till then.)
        let started = "return !!window.keyproof?.module && !deep('#keyproof')[0].inert;";
        browser.until("the program", started, vec![]).await;
        browser.until_text(".finding", "1.Rb7").await;
        browser.press("Accept 1.Rb7").await;
        browser.until_text(".verdict-line", "Sound").await;
        let pages = "return [deep('.desk.notices').length, deep('#keyproof .spread').length];";
        assert_eq!(browser.script(pages, vec![]).await, json!([1, 1]));
        browser.press("See it as a student").await;
        browser.find(".preview iframe").await;
        browser.assert_no_errors().await;
    });
}
