//! From a game to a lesson on the desk, and through the lesson as a student.

use keyproof::draft::Draft;
use keyproof::lesson::{self, TAG};
use keyproof_tests::browser::{Browser, browse, file_url};
use serde_json::json;

use crate::looks::on_all_papers;
use crate::{Way, open_desk, paste, play, reread};

/// A game of our own making. White has mate in one and develops a knight;
/// Black then takes the queen.
const GAME: &str = "[Event \"Board four\"]\n[White \"Pell, Orla\"]\n[Black \"Tarn, Jonas\"]\n\n1. e4 e5 2. Bc4 Nc6 3. Qh5 Nf6 {He saw the queen only.} 4. Nf3 {Development first.} 4... Nxh5 {And that was that.} 5. O-O *";

/// Chooses what is asked where the author stands.
async fn ask_here(browser: &Browser, what: &str) {
    browser.find("#ask-here").await;
    browser
        .script(
            "const select = deep('#ask-here')[0];
             select.value = arguments[0];
             select.dispatchEvent(new Event('change', { bubbles: true }));",
            vec![json!(what)],
        )
        .await;
}

/// Goes on through the game until the lesson asks.
async fn on_to(browser: &Browser, task: &str) {
    browser.press("To the question").await;
    browser.until_text(".kp-task", task).await;
}

#[test]
fn a_game_becomes_a_lesson_that_is_walked_to_its_end() {
    browse("lesson-desk", async |browser| {
        let desk = open_desk(&browser).await;
        paste(&browser, GAME).await;
        browser.until_text(".verdict-line", "A game").await;
        assert_eq!(browser.count(".finding").await, 0);
        browser.press("Find the moments").await;
        browser.until_text(".sought", "the best first").await;
        browser.until_text(".kept", "saved in this browser").await;
        browser.reload().await;
        browser.until_text(".sought", "the best first").await;
        browser.press("4. White").await;
        browser.until_text(".moment", "4.Qxf7#").await;
        browser.until_text(".moment", "proved").await;
        browser.until_man("h5", "white queen").await;
        on_all_papers(&browser, "desk-moments").await;
        browser.press("Ask here").await;
        browser
            .until_text(".asked li:nth-child(1) .entry-verdict", "sound")
            .await;

        browser.until_text(".draft", "Look at the checks.").await;

        browser.press("4.Nf3").await;
        ask_here(&browser, "bm").await;
        browser
            .until_text(".asked li:nth-child(2) .entry-verdict", "sound")
            .await;
        browser.until_text(".verdict-line", "Sound").await;
        on_all_papers(&browser, "desk-lesson").await;

        browser.press("Save the PGN").await;
        let saved = std::fs::read_to_string(browser.downloaded(".pgn").await).expect("a file");
        let draft = reread(&saved);
        assert_eq!(draft.tag(TAG), Some("4w #1, 4b bm"));
        let hints = |draft: &Draft| {
            draft
                .tags()
                .iter()
                .filter(|(name, _)| name.starts_with("Hint"))
                .count()
        };
        assert_eq!(hints(&draft), 0, "nobody asked for hints");
        assert_eq!(
            lesson::excerpts(&keyproof::resolved::Resolved::of(&draft)).len(),
            2
        );
        assert!(browser.text("#frame").await.is_empty(), "it is folded");
        browser.press("Show it in a page").await;
        browser
            .until_text("#frame", "<iframe src=\"orla-pell-jonas-tarn.html\"")
            .await;

        browser.press("See it as a student").await;
        browser.find(".preview iframe").await;
        browser.press("Back to the desk").await;
        browser.press("Save the student").await;
        let file = file_url(&browser.downloaded(".html").await);
        browser.go(&file).await;
        browser.until_text(".kp-head", "Board four").await;
        walk(&browser).await;
        browser.assert_no_errors().await;
        browser.assert_no_request_left(&[&desk, &file]).await;
    });
}

/// Answers each moment once wrong and once right, to the end of the game.
async fn walk(browser: &Browser) {
    on_to(browser, "mate in one").await;
    assert!(!browser.text(".kp-flow").await.contains("Nf3"));
    play(browser, Way::Mouse, 0, "g1", "f3").await;
    browser.until_text(".kp-verdict", "Nxh5").await;
    browser.until_man("g1", "white knight").await;
    play(browser, Way::Mouse, 0, "h5", "f7").await;
    browser.until_text(".kp-flow", "Nf3").await;
    look_around(browser).await;

    on_to(browser, "best move").await;
    assert!(!browser.text(".kp-flow").await.contains("O-O"));
    play(browser, Way::Mouse, 0, "a7", "a6").await;
    browser.until_text(".kp-verdict", "5.Qxf7#").await;
    browser.until_man("a7", "black pawn").await;
    play(browser, Way::Mouse, 0, "f6", "h5").await;
    browser.until_text(".kp-flow", "O-O").await;
    browser.press("As far as it goes").await;
    browser.until_man("f1", "white rook").await;
}

/// At a moment that is answered: any move, back, and the game goes on.
async fn look_around(browser: &Browser) {
    browser.press("Look around").await;
    browser.until_man("f7", "black pawn").await;
    play(browser, Way::Typing, 0, "h5", "e5").await;
    browser.until_text(".kp-turn", "4.Qxe5+").await;
    play(browser, Way::Typing, 0, "c6", "e5").await;
    browser.until_text(".kp-turn", "4.Qxe5+ Nxe5").await;
    browser.press("One move back").await;
    browser.until_man("e5", "white queen").await;
    browser.press("Enough looked around").await;
    browser.until_man("f7", "white queen").await;
    let answered = browser.text(".kp-flow .kp-moment b").await;
    assert_eq!(answered.matches('\u{2713}').count(), 1, "{answered}");
}
