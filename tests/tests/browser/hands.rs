//! Any hand on the board: fingers that do not scroll the page, a pen, keys
//! alone, the left hand, and the board turned.

use keyproof::draft::Edit;
use keyproof_tests::browser::{Browser, Engine, browse, file_url};
use serde_json::json;
use thirtyfour::Key;

use crate::looks::on_all_papers;
use crate::{Way, lesson, play, press_rare, publish};

async fn open(browser: &Browser, title: &str) {
    let file = publish(&[lesson(title)], &browser.folder.join("one.html"));
    browser.go(&file_url(&file)).await;
    browser.until_open().await;
}

#[test]
fn a_finger_that_drags_a_man_does_not_scroll_the_page() {
    browse("no-scroll", async |browser| {
        browser.window(360, 560).await;
        open(&browser, "The queen goes first").await;
        browser
            .script("deep('.kp-board')[0].scrollIntoView(); return 0;", vec![])
            .await;
        let before = browser.script("return scrollY;", vec![]).await;
        browser.swipe("e2", "e8").await;
        browser.until_text(".kp-verdict", "1.Qe8+ is right").await;
        let after = browser.script("return scrollY;", vec![]).await;
        // A square is brought into sight before it is touched: by less than a pixel.
        let moved = before.as_f64().zip(after.as_f64()).map(|(b, a)| a - b);
        assert!(moved.is_some_and(|moved| moved.abs() <= 1.0), "{moved:?}");
    });
}

#[test]
fn a_pen_carries_a_man() {
    if Engine::cannot(&[Engine::Firefox, Engine::WebKit], "its driver has no pen") {
        return;
    }
    browse("pen", async |browser| {
        open(&browser, "The queen goes first").await;
        browser.pen("e2", "e8").await;
        browser.until_text(".kp-verdict", "1.Qe8+ is right").await;
    });
}

#[test]
fn a_turned_board_takes_moves_by_mouse_finger_and_keys() {
    browse("turned", async |browser| {
        open(&browser, "Castling comes second").await;
        press_rare(&browser, "Turn the board").await;
        play(&browser, Way::Keys, 0, "h3", "e3").await;
        browser.until_text(".kp-verdict", "parries").await;
        browser.until_man("h3", "white rook").await;
        play(&browser, Way::Mouse, 0, "h3", "h4").await;
        browser.until_man("d3", "black king").await;
        play(&browser, Way::Fingers, 1, "e1", "c1").await;
        browser.until_text(".kp-turn", "Solved").await;
    });
}

/// The man that a pawn becomes is chosen with keys alone, with a finger, and in
/// the line.
#[test]
fn a_pawn_becomes_what_any_hand_chooses() {
    browse("any-promotion", async |browser| {
        open(&browser, "Ask for a knight").await;
        browser.keys("g7", "g8").await;
        browser.find(".kp-chooser").await;
        browser.key(Key::Tab).await;
        browser.key(Key::Enter).await;
        browser.until_text(".kp-verdict", "1.g8").await;
        browser.until_man("g7", "white pawn").await;
        browser.until_open().await;
        browser.keys("g7", "g8").await;
        browser.find(".kp-chooser").await;
        browser.key(Key::Escape).await;
        assert_eq!(browser.count(".kp-chooser").await, 0);
        for text in ["g8=Q\n", "g7g8r\n", "g8N\n"] {
            browser.until_open().await;
            browser.type_into(".kp-typed input", text).await;
        }
        browser.until_text(".kp-turn", "Solved").await;
        press_rare(&browser, "Start over").await;
        browser.until_open().await;
        browser.tap("g7", "g8").await;
        browser.press("white knight").await;
        browser.until_text(".kp-turn", "Solved").await;
    });
}

#[test]
fn the_controls_go_to_the_other_side_and_stay_there() {
    browse("left", async |browser| {
        open(&browser, "The queen goes first").await;
        let side = "const [board, tools] = ['.kp-board', '.kp-tools:not([hidden])'].map((s) => deep(s)[0].getBoundingClientRect());
                    return tools.x < board.x ? 'left' : 'right';";
        assert_eq!(browser.script(side, vec![]).await, json!("right"));
        press_rare(&browser, "Left-handed").await;
        assert_eq!(browser.script(side, vec![]).await, json!("left"));
        on_all_papers(&browser, "left-handed").await;
        browser.reload().await;
        browser.until_open().await;
        assert_eq!(browser.script(side, vec![]).await, json!("left"));
        press_rare(&browser, "Left-handed").await;
        assert_eq!(browser.script(side, vec![]).await, json!("right"));
    });
}

/// What a hint costs stands on its button and in the account; the author's
/// choice of one defence is kept to; the threat is told once the key is played.
#[test]
fn hints_cost_one_defence_is_asked_and_the_threat_is_told() {
    browse("costs", async |browser| {
        let mut draft = lesson("No check, no hurry");
        for (name, value) in [("HintCost", "0 2"), ("Defences", "stubborn")] {
            draft
                .apply(&Edit::SetTag {
                    name: name.into(),
                    value: Some(value.into()),
                })
                .expect("a tag");
        }
        let file = publish(&[draft], &browser.folder.join("one.html"));
        browser.go(&file_url(&file)).await;
        browser.until_open().await;
        browser.press("Hint 1 of 2").await;
        browser.press("Hint 2 of 2 (costs 2 points)").await;
        assert_eq!(browser.count("[data-do^=why]").await, 0);
        play(&browser, Way::Mouse, 0, "g5", "f6").await;
        browser.until_open().await;
        browser.press("Show the threat").await;
        browser.until_text(".kp-turn", "2.Qh8#").await;
        browser.press("Show the threat").await;
        assert_eq!(browser.count(".kp-found").await, 0, "one defence is asked");
        browser.press("Show the solution").await;
        browser
            .until_text(".kp-turn", "The solution is shown")
            .await;
        let account = browser
            .script(
                "return deep('.kp-account textarea')[0].value.split('\\n')[0];",
                vec![],
            )
            .await;
        assert_eq!(
            account,
            json!("No check, no hurry: 0 of 1 found, 1 shown, hints for 2 points")
        );
    });
}

/// What comes beside and after the work: the lines that fill up, the reasons,
/// the other right moves, and looking around.
#[test]
fn after_the_end_the_student_looks_around() {
    browse("after", async |browser| {
        open(&browser, "No check, no hurry").await;
        play(&browser, Way::Mouse, 0, "g5", "f6").await;
        browser.until_text(".kp-found", "Still to come: 2").await;
        for (turn, (square, man, to)) in [
            ("d5", "black pawn", "h8"),
            ("g7", "black bishop", "g7"),
            ("e3", "black bishop", "g7"),
        ]
        .into_iter()
        .enumerate()
        {
            browser.until_man(square, man).await;
            play(&browser, Way::Mouse, turn, "f6", to).await;
        }
        browser.until_text(".kp-turn", "Solved").await;
        let found = browser.text(".kp-found").await;
        assert_eq!(found.matches('✓').count(), 3, "{found}");
        browser.until_text(".kp-whys", "Why it works").await;
        on_all_papers(&browser, "solved").await;
        browser.press("Look around").await;
        browser.until_man("g5", "white queen").await;
        play(&browser, Way::Typing, 0, "g5", "g4").await;
        browser.until_text(".kp-turn", "1.Qg4").await;
        browser.press("One move back").await;
        browser.press("One move on").await;
        browser.until_man("f6", "white queen").await;
        browser.press("Enough looked around").await;
        browser.until_text(".kp-turn", "Solved").await;
        browser.press("Show the solution").await;
        browser.press("1...Bg7").await;
        browser.until_man("g7", "black bishop").await;
        browser.assert_no_errors().await;
    });
}
