//! Nothing that an author typed is lost: two tabs, a browser that is killed,
//! refuses, is full or was updated, and backups.

use std::time::Duration;

use keyproof_tests::browser::{Browser, browse, file_url, page};
use serde_json::json;
use thirtyfour::WindowHandle;

use crate::{open_desk, paste};

const TWO: &str = "[Event \"Lantern one\"]\n\n1. e4 *\n\n[Event \"Lantern two\"]\n\n1. d4 *\n";

async fn saved(browser: &Browser) {
    browser
        .until(
            "saved, and nothing but that",
            "return deep('.kept')[0]?.textContent === 'saved in this browser';",
            vec![],
        )
        .await;
}

/// Waits until the row of puzzles is this.
async fn until_row(browser: &Browser, titles: &[&str]) {
    browser
        .until(
            &format!("the row {titles:?}"),
            "return JSON.stringify(deep('.entry-title').map((e) => e.textContent)) === arguments[0];",
            vec![json!(json!(titles).to_string())],
        )
        .await;
}

/// Writes a title in the place of the open puzzle's.
async fn call(browser: &Browser, title: &str) {
    browser.script("deep('#title')[0].select();", vec![]).await;
    browser.type_into("#title", title).await;
}

async fn to(browser: &Browser, tab: &WindowHandle) {
    browser
        .driver
        .switch_to_window(tab.clone())
        .await
        .expect("a tab");
}

/// Whether the page would ask before it is closed.
async fn asks_before_closing(browser: &Browser) -> bool {
    let asks = browser
        .script(
            "const e = new Event('beforeunload', { cancelable: true }); dispatchEvent(e); return e.defaultPrevented;",
            vec![],
        )
        .await;
    asks == json!(true)
}

/// Runs before every script of the pages opened in this tab from now on.
async fn first_of_all(browser: &Browser, source: &str) {
    browser
        .devtools(
            "Page.addScriptToEvaluateOnNewDocument",
            json!({ "source": source }),
        )
        .await;
}

/// Two tabs with the two puzzles, and the page's address.
async fn two_tabs(browser: &Browser, before: &str) -> (WindowHandle, WindowHandle) {
    first_of_all(browser, before).await;
    let desk = open_desk(browser).await;
    paste(browser, TWO).await;
    saved(browser).await;
    let one = browser.driver.window().await.expect("a tab");
    let two = browser.driver.new_tab().await.expect("a second tab");
    to(browser, &two).await;
    first_of_all(browser, before).await;
    browser.go(&desk).await;
    until_row(browser, &["Lantern one", "Lantern two"]).await;
    (one, two)
}

/// Different puzzles in two tabs: each tab gets the other's without a reload,
/// and the caret stays where it is.
#[test]
fn two_tabs_have_each_others_work() {
    browse("two-tabs", async |browser| {
        let (one, two) = two_tabs(&browser, "").await;
        browser.press("Lantern two").await;
        call(&browser, "Second lamp").await;
        browser
            .script(
                "const field = deep('#title')[0]; field.focus(); field.setSelectionRange(3, 3);",
                vec![],
            )
            .await;
        saved(&browser).await;
        to(&browser, &one).await;
        until_row(&browser, &["Lantern one", "Second lamp"]).await;
        browser.press("Lantern one").await;
        call(&browser, "First lamp").await;
        saved(&browser).await;
        to(&browser, &two).await;
        until_row(&browser, &["First lamp", "Second lamp"]).await;
        let field = browser
            .script(
                "const e = focused(); return [e.id, e.value, e.selectionStart];",
                vec![],
            )
            .await;
        assert_eq!(field, json!(["title", "Second lamp", 3]));
        assert_eq!(browser.count(".notice").await, 0);
        assert!(!asks_before_closing(&browser).await);
        browser.assert_no_errors().await;
    });
}

/// The same puzzle in two tabs: both versions are there in both, and the one who
/// came second is told. Here without a channel between the tabs.
#[test]
fn two_versions_of_one_puzzle_are_both_kept() {
    browse("versions", async |browser| {
        let (one, two) = two_tabs(&browser, "delete globalThis.BroadcastChannel;").await;
        // The first tab types while it is behind the other, and so has not seen
        // what that one wrote.
        let put = "const put = (title) => {
              const field = deep('#title')[0];
              field.value = title;
              field.dispatchEvent(new InputEvent('input', { bubbles: true }));
            };";
        to(&browser, &one).await;
        browser.press("Lantern one").await;
        let when_told = format!("{put} addEventListener('storage', () => put('Lamp by one'));");
        browser.script(&when_told, vec![]).await;
        to(&browser, &two).await;
        browser.press("Lantern one").await;
        browser
            .script(&format!("{put} put('Lamp by two');"), vec![])
            .await;
        saved(&browser).await;
        browser
            .script("localStorage.setItem('now', 'type');", vec![])
            .await;
        to(&browser, &one).await;
        browser.until_text(".entry-title", "Lamp by one").await;
        saved(&browser).await;
        let until_three = async || {
            let three = "return deep('.entry-title').length === 3;";
            browser.until("three puzzles", three, vec![]).await;
        };
        for tab in [&two, &one] {
            to(&browser, tab).await;
            let seen = "dispatchEvent(new Event('focus'));";
            browser.script(seen, vec![]).await;
            until_three().await;
        }
        let row = browser.text(".entry-title").await;
        assert!(
            row.contains("Lamp by two") && row.contains("Lamp by one"),
            "{row}"
        );
        let mut told = browser.text(".notice").await;
        to(&browser, &two).await;
        told.push_str(&browser.text(".notice").await);
        assert_eq!(
            told.matches("was changed here and in another tab").count(),
            1,
            "{told}"
        );
        browser.reload().await;
        until_three().await;
    });
}

/// A puzzle that is removed in one tab goes in the other, which can have it back.
#[test]
fn what_another_tab_removed_can_be_had_back() {
    browse("removed", async |browser| {
        let (one, two) = two_tabs(&browser, "").await;
        browser.press("Lantern two").await;
        browser.press("Remove Lantern two").await;
        saved(&browser).await;
        to(&browser, &one).await;
        browser
            .until_text(".notice", "Lantern two was taken off")
            .await;
        until_row(&browser, &["Lantern one"]).await;
        browser.press("Bring back").await;
        saved(&browser).await;
        to(&browser, &two).await;
        until_row(&browser, &["Lantern one", "Lantern two"]).await;
    });
}

/// Chromium is killed a moment after the last letter. Writing begins 300
/// milliseconds after a change and asks for the disk; the test waits a second in
/// all, and the words are there when the profile is opened again.
#[test]
fn words_survive_a_killed_browser() {
    browse("killed", async |browser| {
        let desk = open_desk(&browser).await;
        paste(&browser, TWO).await;
        saved(&browser).await;
        call(&browser, "Typed and gone").await;
        tokio::time::sleep(Duration::from_secs(1)).await;
        let again = browser.killed().await;
        again.go(&desk).await;
        until_row(&again, &["Typed and gone", "Lantern two"]).await;
        again
            .driver
            .clone()
            .quit()
            .await
            .expect("a browser that closes");
    });
}

/// The database is deleted while the page is at work, as clearing a site's data does.
/// What is on the desk stays there, and is written anew with the next change.
#[test]
fn a_database_deleted_under_the_page_is_written_anew() {
    browse("deleted", async |browser| {
        let desk = open_desk(&browser).await;
        paste(&browser, TWO).await;
        saved(&browser).await;
        for title in ["After the first time", "After the second"] {
            browser
                .script(
                    "window.gone = false;
                     indexedDB.deleteDatabase('keyproof').onsuccess = () => { window.gone = true; };",
                    vec![],
                )
                .await;
            browser
                .until("the database gone", "return window.gone;", vec![])
                .await;
            call(&browser, title).await;
            saved(&browser).await;
            until_row(&browser, &[title, "Lantern two"]).await;
        }
        browser.go(&desk).await;
        until_row(&browser, &["After the second", "Lantern two"]).await;
        browser.assert_no_errors().await;
    });
}

/// In a sandboxed frame a browser keeps nothing: that is told at once, nothing
/// says "saved", and a backup is the way out.
#[test]
fn a_browser_that_keeps_nothing_says_so() {
    browse("refused", async |browser| {
        let around = browser.folder.join("around.html");
        let frame = format!(
            "<iframe sandbox='allow-scripts allow-downloads' width=1200 height=850 src='{}'></iframe>",
            file_url(&page("keyproof.html"))
        );
        std::fs::write(&around, frame).expect("a file");
        browser.go(&file_url(&around)).await;
        browser.driver.enter_frame(0).await.expect("a frame");
        browser
            .until_text(".notice", "does not keep your work here")
            .await;
        paste(&browser, TWO).await;
        browser
            .until_text(".kept", "not saved in this browser")
            .await;
        assert!(asks_before_closing(&browser).await);
        let way_out = browser.find(".notice.warning button").await;
        way_out.click().await.expect("a press");
        let backup = browser.downloaded(".pgn").await;
        let text = std::fs::read_to_string(backup).expect("a file");
        assert!(
            text.contains("Lantern one") && text.contains("Lantern two"),
            "{text}"
        );
        assert_eq!(
            browser.count(".notice.warning").await,
            0,
            "the press puts it away"
        );
        browser
            .until_text(".kept", "not saved in this browser")
            .await;
    });
}

/// A full store is told before and when it refuses; when there is room again,
/// the next change is saved and the notice goes. This Chromium estimates ten
/// gigabytes more than is used, whatever its quota, and does not hold a database
/// to the quota that its protocol sets: both are put in its place.
#[test]
fn a_full_store_is_told_and_tried_again() {
    browse("full", async |browser| {
        first_of_all(
            &browser,
            "navigator.storage.estimate = async () => ({ usage: 9e6, quota: 9.5e6 });
             const put = IDBObjectStore.prototype.put;
             IDBObjectStore.prototype.put = function (value, key) {
               if (globalThis.full) throw new DOMException('no room', 'QuotaExceededError');
               return put.call(this, value, key);
             };",
        )
        .await;
        open_desk(&browser).await;
        paste(&browser, TWO).await;
        saved(&browser).await;
        browser
            .until_text(".notice.warning", "Less than 1 MB")
            .await;
        browser.script("globalThis.full = true;", vec![]).await;
        call(&browser, "No room").await;
        browser
            .until_text(".notice.warning", "storage is full")
            .await;
        browser
            .until_text(".kept", "not saved in this browser")
            .await;
        assert!(asks_before_closing(&browser).await);
        browser.script("globalThis.full = false;", vec![]).await;
        call(&browser, "There is room").await;
        saved(&browser).await;
        let told = browser.text(".notices").await;
        assert!(!told.contains("storage is full"), "{told}");
        assert!(!asks_before_closing(&browser).await);
        browser.reload().await;
        until_row(&browser, &["There is room", "Lantern two"]).await;
    });
}

/// Everything in one file, and back again into a browser that has lost it.
#[test]
fn a_backup_brings_everything_back() {
    browse("backup", async |browser| {
        open_desk(&browser).await;
        paste(&browser, TWO).await;
        browser.press("Lantern two").await;
        saved(&browser).await;
        browser.press("Backup").await;
        browser.press("Save a backup").await;
        let file = browser.downloaded(".pgn").await;
        assert!(
            file.to_string_lossy().contains("keyproof-backup-20"),
            "{file:?}"
        );

        // The browser throws the store away behind the page's back.
        let clear = "const done = arguments[arguments.length - 1];
            const request = indexedDB.open('keyproof');
            request.onsuccess = () => {
              const database = request.result;
              const transaction = database.transaction('work', 'readwrite');
              transaction.objectStore('work').clear();
              transaction.oncomplete = () => { database.close(); done(true); };
            };";
        browser
            .driver
            .execute_async(clear, vec![])
            .await
            .expect("an empty store");
        browser
            .script("dispatchEvent(new Event('focus'));", vec![])
            .await;
        browser.until_text(".notice.warning", "thrown away").await;
        saved(&browser).await;

        // And once more, so that the page comes up empty.
        browser.go("about:blank").await;
        browser.go(&file_url(&page("keyproof.html"))).await;
        until_row(&browser, &["Lantern one", "Lantern two"]).await;
        browser
            .driver
            .execute_async(clear, vec![])
            .await
            .expect("an empty store");
        browser.reload().await;
        browser.named("Open the example").await;
        browser.press("Backup").await;
        let input = browser
            .driver
            .execute(
                "return document.querySelector('.backup input[type=file]');",
                vec![],
            )
            .await
            .and_then(|e| e.element())
            .expect("a way to bring it back");
        input
            .send_keys(file.to_string_lossy())
            .await
            .expect("a file that is opened");
        until_row(&browser, &["Lantern one", "Lantern two"]).await;
        browser.until_text(".contents .here", "Lantern two").await;
        browser.until_text(".notice", "2 puzzles came back").await;
        browser.press("Undo").await;
        browser.named("Open the example").await;
        browser.press("Redo").await;
        until_row(&browser, &["Lantern one", "Lantern two"]).await;
        saved(&browser).await;
        browser.assert_no_errors().await;
    });
}

/// What an earlier version saved is carried over, and then removed.
#[test]
fn work_of_an_earlier_version_is_carried_over() {
    browse("earlier-version", async |browser| {
        open_desk(&browser).await;
        let put = "const [slots, done] = arguments;
            const request = indexedDB.open('keyproof', 1);
            request.onsuccess = () => {
              const database = request.result;
              const transaction = database.transaction('work', 'readwrite');
              for (const [key, slot] of slots) transaction.objectStore('work').put(slot, key);
              transaction.oncomplete = () => { database.close(); done(true); };
            };";
        let slots = json!([
            ["desk 9", { "revision": 4, "time": 9.0, "pgn": TWO, "open": 1, "readings": [], "seeks": [] }],
            ["desk 5", { "revision": 1, "time": 5.0, "pgn": "[Event \"Kept apart\"]\n\n1. c4 *\n", "open": 0, "readings": [] }],
        ]);
        browser
            .driver
            .execute_async(put, vec![slots])
            .await
            .expect("old records");
        browser.reload().await;
        until_row(&browser, &["Lantern one", "Lantern two", "Kept apart"]).await;
        browser.until_text(".contents .here", "Lantern two").await;
        browser.until_text(".notice", "kept apart was added").await;
        saved(&browser).await;
        let keys = "const done = arguments[arguments.length - 1];
            const request = indexedDB.open('keyproof', 1);
            request.onsuccess = () => {
              const database = request.result;
              const keys = database.transaction('work').objectStore('work').getAllKeys();
              keys.onsuccess = () => { database.close(); done(keys.result.map((k) => k.split(' ')[0]).sort().join(' ')); };
            };";
        let keys = browser
            .driver
            .execute_async(keys, vec![])
            .await
            .expect("keys");
        assert_eq!(keys.json(), &json!("row sheet sheet sheet"));
        browser.reload().await;
        until_row(&browser, &["Lantern one", "Lantern two", "Kept apart"]).await;
    });
}
