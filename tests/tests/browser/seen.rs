//! Where the positions of a game occurred in the author's earlier games.

use keyproof_tests::browser::{Browser, browse};
use serde_json::json;

use crate::looks::on_all_papers;
use crate::{open_desk, paste};

/// The open game, and earlier ones, of an invented club.
const OPEN: &str =
    "[White \"Lund, Ada\"]\n[Black \"Voss, Emil\"]\n\n1. e4 e5 2. Nf3 Nf6 3. Nxe5 d6 *";
const EARLIER: &str = "[Event \"Club evening\"]\n[White \"Pell, Orla\"]\n[Black \"Tarn, Jonas\"]\n[Date \"2023.04.01\"]\n\n1. e4 e5 2. Nf3 Nc6 3. Bb5 a6 1-0\n
[Event \"Club evening\"]\n[White \"Voss, Emil\"]\n[Black \"Pell, Orla\"]\n[Date \"2024.11.??\"]\n\n1. Nf3 e5 2. e4 d6 3. d4 0-1\n";

/// Gives files to the page as the file dialogue would, or by dropping them.
async fn give(browser: &Browser, dropped: bool, name: &str, text: &str) {
    browser.find("#earlier-files").await;
    browser
        .script(
            "const files = new DataTransfer();
             files.items.add(new File([arguments[1]], arguments[0]));
             const input = deep('#earlier-files')[0];
             if (arguments[2]) {
               const event = new DragEvent('drop', { bubbles: true, cancelable: true, dataTransfer: files });
               deep('.seen')[0].dispatchEvent(event);
             } else {
               input.files = files.files;
               input.dispatchEvent(new Event('change', { bubbles: true }));
             }",
            vec![json!(name), json!(text), json!(dropped)],
        )
        .await;
}

#[test]
fn earlier_games_are_found_kept_and_removed() {
    browse("seen", async |browser| {
        open_desk(&browser).await;
        paste(&browser, OPEN).await;
        browser.until_text(".seen", "Give your earlier games").await;
        give(&browser, false, "club.pgn", EARLIER).await;
        browser
            .until_text(
                ".seen-count",
                "in 2 earlier games: 1 won by White, 1 won by Black",
            )
            .await;
        browser.until_text(".seen-holding", "2 games in 1 KB").await;
        // By another order of moves the same position.
        for _ in 0..3 {
            browser.press("One move on").await;
        }
        browser.until_text(".seen-next", "2...Nc6").await;
        browser.until_text(".seen-next", "2...d6").await;
        // The latest comes first.
        browser
            .until_text(".seen-games li:nth-child(1)", "2024-11")
            .await;
        on_all_papers(&browser, "desk-seen").await;

        browser.press("Pell, Orla \u{2013} Tarn, Jonas").await;
        browser.until_text(".shown-line", "2...Nc6 3.Bb5 a6").await;
        browser.press("Back to the solution").await;
        browser.press("One move on").await;
        browser
            .until_text(".seen-count", "in none of your earlier games")
            .await;
        browser.until_text(".seen-last", "2.Nf3").await;

        browser.until_text(".kept", "saved in this browser").await;
        browser.reload().await;
        browser
            .until_text(".seen-count", "in 2 earlier games")
            .await;
        give(&browser, true, "more.pgn", OPEN).await;
        // The open game itself does not count.
        browser.until_text(".seen-holding", "3 games").await;
        browser
            .until_text(".seen-count", "in 2 earlier games")
            .await;
        let entries = "return deep('.contents .entry').length;";
        let entries = browser.script(entries, vec![]).await;
        assert_eq!(entries, json!(1), "nothing else came");
        give(&browser, true, "again.pgn", EARLIER).await;
        browser.until_text(".seen-holding", "counted once: 2").await;

        browser.press("Remove the earlier games").await;
        browser.until_text(".seen", "Give your earlier games").await;
        browser.reload().await;
        browser.until_text(".seen", "Give your earlier games").await;
        browser.assert_no_errors().await;
    });
}

#[test]
fn a_large_collection_is_read_in_the_background_and_can_be_stopped() {
    browse("seen-large", async |browser| {
        open_desk(&browser).await;
        paste(&browser, OPEN).await;
        let line = "1. Nf3 Nf6 2. Ng1 Ng8 3. Nf3 Nf6 4. Ng1 Ng8 5. Nf3 Nf6 6. Ng1 Ng8 ";
        let games: String = (0..60_000)
            .map(|n| format!("[White \"A{n}\"]\n\n{line}1/2-1/2\n\n"))
            .collect();
        give(&browser, false, "many.pgn", &games).await;
        browser
            .until_text(".seen .running", "positions so far")
            .await;
        browser.press("Stop reading").await;
        browser.until_text(".seen", "Give your earlier games").await;
        give(&browser, false, "many.pgn", &games).await;
        // The page goes on meanwhile.
        browser.press("One move on").await;
        browser.until_man("e4", "white pawn").await;
        browser.press("One move back").await;
        browser
            .until_text(".seen-holding", "780,000 positions of 60,000 games")
            .await;
        browser.until_text(".seen-count", "60,000 drawn").await;
        browser.assert_no_errors().await;
    });
}
