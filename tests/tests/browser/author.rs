//! The author at the desk.

use keyproof_tests::browser::{Server, browse, file_url, page};
use keyproof_tests::{check, snake_case, title};
use serde_json::json;

use crate::{Way, first_moves, open_desk, paste, play, reread, staircase};

/// From a PGN with a cook to a file that a student solves, with the network
/// off.
#[test]
fn a_cook_is_found_and_mended_and_the_file_solves() {
    browse("cook", async |browser| {
        let desk = open_desk(&browser).await;
        paste(&browser, &staircase()).await;
        browser.until_text(".verdict-line", "Unsound").await;
        browser.until_text(".finding", "1.Rb7").await;
        assert!(browser.text(".findings").await.contains("cook"));
        browser.press("Accept 1.Rb7").await;
        browser.until_text(".verdict-line", "Sound").await;

        browser.press("Save the PGN").await;
        let saved = std::fs::read_to_string(browser.downloaded(".pgn").await).expect("a file");
        let draft = reread(&saved);
        assert_eq!(title(&draft), "The staircase");
        assert_eq!(first_moves(&draft), ["Ra7", "Ra8+", "Rb7"]);
        assert_eq!(snake_case(&check(&draft).verdict), "sound");

        browser.press("Save the student").await;
        let file = file_url(&browser.downloaded(".html").await);
        browser.go(&file).await;
        browser.until_text(".kp-head", "The staircase").await;
        play(&browser, Way::Mouse, 0, "a2", "a8").await;
        browser
            .until_text(".kp-verdict", "the king steps forward")
            .await;
        browser.until_man("a2", "white rook").await;
        play(&browser, Way::Mouse, 1, "b1", "b7").await;
        browser.until_text(".kp-verdict", "right").await;
        play(&browser, Way::Mouse, 0, "a2", "a8").await;
        browser.until_text(".kp-turn", "Solved").await;
        browser.assert_no_errors().await;
        browser.assert_no_request_left(&[&desk, &file]).await;
    });
}

/// A position set up from a FEN, and the solution played in by dragging, by
/// clicking and by typing; then undone and done again.
#[test]
fn a_puzzle_is_set_up_and_played_in() {
    browse("setup", async |browser| {
        open_desk(&browser).await;
        browser.press("Set up a position").await;
        browser.script("deep('#fen')[0].select();", vec![]).await;
        browser
            .type_into("#fen", "8/5P1k/p4K2/P7/8/8/8/8 w - - 0 1")
            .await;
        browser.until_man("f7", "white pawn").await;
        browser.press("Done").await;

        browser.drag("f7", "f8").await;
        browser.press("white rook").await;
        browser.until_man("f8", "white rook").await;
        browser.click("h7", "h6").await;
        browser.until_man("h6", "black king").await;
        browser.type_into("[id^=typed]", "Rh8\n").await;
        browser.until_man("h8", "white rook").await;
        browser.until_text(".verdict-line", "Sound").await;
        browser.until_text(".solution", "Rh8#").await;

        browser.press("Undo").await;
        browser
            .until_text(".verdict-line", "Not finished yet")
            .await;
        browser.press("Redo").await;
        browser.until_text(".verdict-line", "Sound").await;
        browser.assert_no_errors().await;
    });
}

/// Nothing that was typed is lost: not by a reload, not with a tab that is
/// closed, and an illegal move stays as it was typed.
#[test]
fn work_survives_a_reload_and_a_closed_tab() {
    browse("survives", async |browser| {
        let desk = open_desk(&browser).await;
        paste(
            &browser,
            "[Event \"Left half done\"]\n[FEN \"6k1/5ppp/8/8/8/8/5PPP/R5K1 w - - 0 1\"]\n\n1. Qa8 {No queen in sight.} *\n",
        )
        .await;
        browser.until_text(".findings", "Qa8").await;
        browser.until_text(".kept", "saved in this browser").await;

        browser.reload().await;
        browser.until_text(".contents", "Left half done").await;
        browser.until_text(".solution", "Qa8").await;
        browser.until_text(".solution", "No queen in sight.").await;

        browser.type_into("#title", " on a Thursday").await;
        browser.press("Position").await;
        browser
            .type_into(".slip textarea", "Two words, and more.")
            .await;
        browser.until_text(".kept", "saved in this browser").await;
        let closed = browser.driver.window().await.expect("a tab");
        let other = browser.driver.new_tab().await.expect("a second tab");
        browser
            .driver
            .switch_to_window(closed)
            .await
            .expect("the first tab");
        browser
            .driver
            .close_window()
            .await
            .expect("a tab that closes");
        browser
            .driver
            .switch_to_window(other)
            .await
            .expect("the second tab");
        browser.go(&desk).await;
        browser
            .until_text(".contents", "Left half done on a Thursday")
            .await;
        browser
            .until(
                "the words typed last",
                "return deep('textarea').some((e) => e.value === 'Two words, and more.');",
                vec![],
            )
            .await;
    });
}

/// The same file served instead of opened from disk.
#[test]
fn the_page_works_the_same_when_served() {
    browse("served", async |browser| {
        let built = page("keyproof.html");
        let server = Server::start(built.parent().expect("a folder"));
        let url = server.url("keyproof.html");
        browser.go(&url).await;
        browser.press("Open the example").await;
        browser.until_text(".verdict-line", "Sound").await;
        browser.assert_no_errors().await;
        browser
            .assert_no_request_left(&[&url, &server.url("favicon.ico")])
            .await;
    });
}

/// A file with faults of notation names their places, and keeps its
/// neighbours.
#[test]
fn faults_of_a_file_are_named_with_their_places() {
    browse("faults", async |browser| {
        open_desk(&browser).await;
        let file = browser.folder.join("club.pgn");
        let text = format!(
            "[Event \"Broken\"]\n[FEN \"6k1/5ppp/8/8/8/8/5PPP/R5K1 w - - 0 1\"]\n[Stipulation \"#1\"]\n\n1. Ra8# (1. Kf1 {{open for ever\n\n{}\n",
            staircase()
        );
        std::fs::write(&file, text).expect("a file");
        let input = browser
            .driver
            .execute("return document.querySelector('input[type=file]');", vec![])
            .await
            .and_then(|e| e.element())
            .expect("a way to open a file");
        input
            .send_keys(file.to_string_lossy())
            .await
            .expect("a file that is opened");
        browser.until_text(".contents", "Broken").await;
        browser.press("Broken").await;
        browser.until_text(".reading", "Line").await;
        let told = browser.text(".reading").await;
        assert!(
            told.contains("club.pgn") && told.contains("column"),
            "{told}"
        );
    });
}

/// What an author types is text, never markup, on the desk and in the file.
#[test]
fn words_are_never_markup() {
    browse("markup", async |browser| {
        let trap =
            "<img src=x onerror=document.title='broken'><script>document.title='broken'</script>";
        let text = format!(
            "[Event \"{trap}\"]\n[FEN \"6k1/5ppp/8/8/8/8/5PPP/R5K1 w - - 0 1\"]\n[Stipulation \"#1\"]\n\n{{{trap}}} 1. Ra8# {{{trap}}} *\n",
        );
        open_desk(&browser).await;
        paste(&browser, &text).await;
        browser.until_text(".verdict-line", "Sound").await;
        browser.until_text(".solution", "<img src=x").await;
        browser.press("Save the student").await;
        let file = browser.downloaded(".html").await;
        browser.go(&file_url(&file)).await;
        browser.until_text(".kp-head", "<img src=x").await;
        play(&browser, Way::Typing, 0, "a1", "a8").await;
        browser.until_text(".kp-verdict", "<script>").await;
        let images = browser.script("return deep('img').length;", vec![]).await;
        assert_eq!(images, json!(0));
        let name = browser.script("return document.title;", vec![]).await;
        assert_ne!(name, json!("broken"));
    });
}

/// The student's page as it will be, in a frame of the desk.
#[test]
fn the_preview_solves() {
    browse("preview", async |browser| {
        open_desk(&browser).await;
        paste(&browser, &staircase()).await;
        browser.press("Accept 1.Rb7").await;
        browser.until_text(".verdict-line", "Sound").await;
        browser.press("See it as a student").await;
        browser.find("iframe").await;
        browser.driver.enter_frame(0).await.expect("a frame");
        browser.until_text(".kp-head", "The staircase").await;
        play(&browser, Way::Typing, 0, "b1", "b7").await;
        browser.until_text(".kp-verdict", "right").await;
        browser
            .driver
            .enter_default_frame()
            .await
            .expect("the desk");
        browser.press("Back to the desk").await;
        browser.until_text(".verdict-line", "Sound").await;
        browser.assert_no_errors().await;
    });
}

/// The knight forks king and queen: a win, a draw and a best move in one look.
const FORK: &str = "[Event \"Two at once\"]\n[FEN \"6k1/3q1p1p/8/3N4/8/8/5PPP/6K1 w - - 0 1\"]\n[Stipulation \"+\"]\n\n1. Nf6+ *\n";

/// A win from its text to the file: every defence answered and undone, a
/// tempting move made a try, the reasons on the board, and a student who is
/// told why a move that nobody listed fails.
#[test]
fn a_win_is_completed_explained_and_given_out() {
    browse("win", async |browser| {
        open_desk(&browser).await;
        paste(&browser, FORK).await;
        browser.until_text(".verdict-line", "Sound").await;
        browser.until_text(".findings", "before its point").await;
        browser.press("Answer every defence").await;
        browser.until_text(".solution", "Nxd7").await;
        browser.until_text(".solution", "The same answers").await;
        browser.press("Undo").await;
        browser.until_text(".findings", "before its point").await;
        browser.press("Redo").await;
        browser.until_text(".verdict-line", "Sound").await;

        browser.until_text(".because", "fork").await;
        browser.until_text(".because", "Difficulty").await;
        browser
            .until_text(".because", "All 15 wrong first moves")
            .await;
        browser.press("fork").await;
        browser.until_text(".shown-line", "Nf6+").await;
        let marks = browser
            .script("return deep('.kp-answer').length;", vec![])
            .await;
        assert!(marks.as_u64().is_some_and(|n| n >= 3), "{marks}");
        browser.press("Back to the solution").await;

        browser.press("Save the student").await;
        let file = file_url(&browser.downloaded(".html").await);
        browser.go(&file).await;
        browser
            .until_text(".kp-task", "White to move and win")
            .await;
        play(&browser, Way::Mouse, 0, "d5", "b4").await;
        browser
            .until_text(".kp-verdict", "runs into 1...Qd1#")
            .await;
        browser.until_man("d5", "white knight").await;
        play(&browser, Way::Mouse, 1, "d5", "f6").await;
        browser.until_open().await;
        for _ in 0..4 {
            if browser.text(".kp-turn").await.contains("Solved") {
                break;
            }
            play(&browser, Way::Mouse, 1, "f6", "d7").await;
            browser.until_text(".kp-verdict", "right").await;
        }
        browser.until_text(".kp-turn", "Solved").await;
        browser.until_text(".kp-whys", "at once").await;
        browser.press("fork").await;
        browser.until_text(".kp-turn", "fork").await;
        browser.assert_no_errors().await;
    });
}
