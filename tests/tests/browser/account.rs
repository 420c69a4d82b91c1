//! What a student did is told as it was, whatever is pressed afterwards; and what happens
//! on the board can be heard.

use keyproof::account::Account;
use keyproof_tests::browser::{Browser, browse, file_url};
use serde_json::json;

use crate::{Way, lesson, play, press_rare, publish};

/// Opens a mate in one, and tells its address.
async fn open(browser: &Browser) -> String {
    let puzzle = [lesson("Ask for a knight")];
    let url = file_url(&publish(&puzzle, &browser.folder.join("one.html")));
    browser.go(&url).await;
    browser.script("localStorage.clear();", vec![]).await;
    browser.reload().await;
    browser.until_open().await;
    url
}

/// The first line of the account for the coach.
async fn account(browser: &Browser) -> String {
    let line = "return deep('.kp-account textarea')[0].value.split('\\n')[0];";
    let line = browser.script(line, vec![]).await;
    line.as_str().expect("a line").to_owned()
}

async fn show_the_solution(browser: &Browser) {
    browser.press("Show the solution").await;
    browser
        .until_text(".kp-turn", "The solution is shown")
        .await;
}

/// What the account says of a puzzle that was shown before it was solved.
const FOUND_LATER: &str = "Ask for a knight: 0 of 1 found, 1 shown, one of them found later";

async fn assert_solved_this_time(browser: &Browser) {
    browser
        .until_text(".kp-verdict", "Solved this time, without a wrong move.")
        .await;
    assert_eq!(account(browser).await, FOUND_LATER);
}

async fn start_over(browser: &Browser) {
    press_rare(browser, "Start over").await;
    browser.until_man("g7", "white pawn").await;
}

#[test]
fn what_was_shown_is_not_found_by_starting_over() {
    browse("account-shown", async |browser| {
        open(&browser).await;
        show_the_solution(&browser).await;
        start_over(&browser).await;
        play(&browser, Way::Typing, 0, "g7", "g8n").await;
        assert_solved_this_time(&browser).await;
        browser.reload().await;
        browser
            .until_text(".kp-verdict", "Last time the solution was shown.")
            .await;
        assert_eq!(account(&browser).await, FOUND_LATER);
        browser.assert_no_errors().await;
    });
}

#[test]
fn a_wrong_move_counts_after_starting_over_and_after_a_reload() {
    browse("account-wrong", async |browser| {
        open(&browser).await;
        play(&browser, Way::Typing, 0, "g7", "g8q").await;
        browser.until_text(".kp-verdict", "no check").await;
        start_over(&browser).await;
        browser.reload().await;
        browser.until_open().await;
        assert_eq!(
            account(&browser).await,
            "Ask for a knight: 0 of 1 found, 1 wrong move"
        );
        play(&browser, Way::Typing, 0, "g7", "g8n").await;
        browser
            .until_text(".kp-verdict", "Solved, with one wrong move.")
            .await;
        let found = "Ask for a knight: 1 of 1 found, 1 wrong move";
        assert_eq!(account(&browser).await, found);
        // What is found stays found, and is seen to be.
        start_over(&browser).await;
        assert_eq!(account(&browser).await, found);
        browser.reload().await;
        browser
            .until_text(".kp-verdict", "Solved last time, with one wrong move.")
            .await;
        assert_eq!(account(&browser).await, found);
        browser.assert_no_errors().await;
    });
}

/// What was missed is offered once more, also when the file is opened another day.
#[test]
fn what_was_missed_is_asked_again_another_day() {
    browse("account-again", async |browser| {
        open(&browser).await;
        show_the_solution(&browser).await;
        browser.reload().await;
        browser
            .until_text(".kp-verdict", "Last time the solution was shown.")
            .await;
        browser.press("Again, what was missed").await;
        browser.until_man("g7", "white pawn").await;
        play(&browser, Way::Mouse, 0, "g7", "g8").await;
        browser.press("white knight").await;
        assert_solved_this_time(&browser).await;
        assert_eq!(browser.count("[data-do=again]").await, 0);
        browser.assert_no_errors().await;
    });
}

/// What is to be heard of the board, which is told nobody's eyes.
async fn until_heard(browser: &Browser, words: &str) {
    browser
        .until(
            &format!("{words} in words"),
            "return deep('.kp-hidden[role=status]').some((e) => e.textContent.includes(arguments[0]));",
            vec![json!(words)],
        )
        .await;
}

#[test]
fn the_end_and_what_is_taken_back_can_be_heard() {
    browse("account-heard", async |browser| {
        open(&browser).await;
        play(&browser, Way::Typing, 0, "g7", "g8q").await;
        until_heard(&browser, "back to the position before").await;
        play(&browser, Way::Typing, 0, "g7", "g8n").await;
        until_heard(&browser, ", mate").await;
    });
}

/// The account is saved as it stands, and shared where the browser has it.
#[test]
fn the_account_is_saved_and_shared() {
    browse("account-given", async |browser| {
        let url = open(&browser).await;
        play(&browser, Way::Typing, 0, "g7", "g8n").await;
        browser.until_text(".kp-turn", "Solved").await;
        browser.press("For your coach").await;
        browser.press("Save").await;
        let saved = browser.downloaded(".txt").await;
        let saved = std::fs::read_to_string(saved).expect("a text");
        let account = "return deep('.kp-account textarea')[0].value;";
        assert_eq!(browser.script(account, vec![]).await, json!(saved));
        assert!(Account::read(&saved).is_ok(), "{saved}");

        // Engines without a way to share have no button for it; here is a stand-in.
        for has in [false, true] {
            let share = match has {
                true => "(told) => { globalThis.shared = told.text; return Promise.resolve(); }",
                false => "undefined",
            };
            let path = browser.folder.join("one.html");
            let page = std::fs::read_to_string(&path).expect("a file");
            let given = format!(
                "<head><script>Object.defineProperty(navigator, 'share', {{ value: {share} }});</script>"
            );
            let path = browser.folder.join(format!("share-{has}.html"));
            std::fs::write(&path, page.replacen("<head>", &given, 1)).expect("a file");
            assert_ne!(url, file_url(&path));
            browser.go(&file_url(&path)).await;
            browser.until_open().await;
            browser.press("For your coach").await;
            if has {
                browser.press("Share").await;
                let shared = "return globalThis.shared === deep('.kp-account textarea')[0].value;";
                assert_eq!(browser.script(shared, vec![]).await, json!(true));
            } else {
                assert_eq!(browser.count("[data-give=share]").await, 0);
            }
        }
    });
}
