//! Pictures of the pages on light and dark paper, narrow and wide, in
//! `tests/screens/`; those that the README shows are refreshed in
//! `web/pictures/`. Nothing reaches over the edge of a narrow page.

use std::path::PathBuf;

use keyproof::notation::pgn_write;
use keyproof_tests::browser::{Browser, browse, file_url, pages};
use keyproof_tests::root;
use serde_json::json;
use thirtyfour::Key;

use crate::{Way, lesson, open_desk, paste, play, publish, staircase};

pub fn screens(name: &str) -> PathBuf {
    root().join("tests/screens").join(format!("{name}.png"))
}

/// Prints the page, keeps the document beside the pictures, and tells its pages.
pub async fn printed(browser: &Browser, name: &str) -> usize {
    let pdf = browser.printed().await;
    let file = screens(name).with_extension("pdf");
    std::fs::create_dir_all(file.parent().expect("a folder")).expect("a folder");
    std::fs::write(file, &pdf).expect("a file");
    pages(&pdf)
}

fn pictures(name: &str) -> PathBuf {
    root().join("web/pictures").join(format!("{name}.png"))
}

/// Takes the pictures of one page in one state.
pub async fn on_all_papers(browser: &Browser, name: &str) {
    for width in [360, 768, 1440] {
        browser.window(width, 900).await;
        for paper in browser.papers() {
            browser.paper(paper).await;
            top(browser).await;
            browser
                .picture(&screens(&format!("{name}-{width}-{paper}")))
                .await;
            let over = browser.over_the_edge().await;
            assert_eq!(
                over,
                json!(0),
                "{name}, {width} px wide: it reaches over the edge"
            );
        }
    }
    browser.paper("light").await;
    browser.window(1280, 900).await;
    top(browser).await;
}

/// Scrolls up, so that a picture has the page's head at its top.
async fn top(browser: &Browser) {
    browser.script("scroller().scrollTo(0, 0);", vec![]).await;
}

#[test]
fn the_desk() {
    browse("looks-desk", async |browser| {
        open_desk(&browser).await;
        on_all_papers(&browser, "welcome").await;
        paste(&browser, &staircase()).await;
        browser.until_text(".verdict-line", "Unsound").await;
        browser.until_text(".finding", "1.Rb7").await;
        on_all_papers(&browser, "desk-cook").await;
        browser.view(&pictures("author-cook")).await;
        browser.press("Accept 1.Rb7").await;
        browser.until_text(".verdict-line", "Sound").await;
        on_all_papers(&browser, "desk-sound").await;
        browser.view(&pictures("author-sound")).await;
        browser.press("Set up the position").await;
        on_all_papers(&browser, "desk-setup").await;
        browser.press("Done").await;
        browser.press("Pencil").await;
        on_all_papers(&browser, "desk-pencil").await;
        browser.press("Keyboard").await;
        browser.find("#finder-list").await;
        on_all_papers(&browser, "desk-keys").await;
        browser.key(Key::Escape).await;
        browser.press("See it as a student").await;
        browser.find(".preview iframe").await;
        on_all_papers(&browser, "desk-preview").await;
    });
}

/// A lesson on the desk, what stands below its game, and the notice that came
/// with it.
#[test]
fn a_lesson_on_the_desk() {
    browse("looks-desk-lesson", async |browser| {
        open_desk(&browser).await;
        browser.press("Open a lesson").await;
        browser.until_text(".notice", "stops and asks").await;
        browser.until_text(".verdict-line", "Sound").await;
        on_all_papers(&browser, "desk-example-lesson").await;
    });
}

#[test]
fn the_students_page() {
    browse("looks-student", async |browser| {
        let file = publish(
            &keyproof_tests::parse(&staircase(), "the README"),
            &browser.folder.join("one.html"),
        );
        browser.go(&file_url(&file)).await;
        browser.until_text(".kp-task", "mate in 2").await;
        on_all_papers(&browser, "student").await;
        play(&browser, Way::Mouse, 0, "a2", "a8").await;
        browser.until_man("a2", "white rook").await;
        browser.until_open().await;
        on_all_papers(&browser, "student-try").await;
        browser.window(1000, 700).await;
        browser.view(&pictures("student")).await;

        let file = publish(
            &[lesson("The pawn that stopped next door")],
            &browser.folder.join("two.html"),
        );
        browser.go(&file_url(&file)).await;
        browser.until_text(".kp-task", "mate in 2").await;
        play(&browser, Way::Mouse, 0, "b2", "c1").await;
        browser.until_man("g5", "black pawn").await;
        browser.until_open().await;
        browser
            .square("f5")
            .await
            .click()
            .await
            .expect("a square to click");
        on_all_papers(&browser, "student-held").await;
        browser.press("Show the solution").await;
        browser.until_text(".kp-solution", "fxg6#").await;
        on_all_papers(&browser, "student-solution").await;
    });
}

/// Each of the other tasks as it is asked, and the helpmate half way.
#[test]
fn the_other_tasks() {
    browse("looks-tasks", async |browser| {
        for (event, name) in [
            ("The queen steps aside", "selfmate"),
            ("Nowhere left to go", "stalemate"),
            ("Two hands, one mate", "helpmate"),
        ] {
            let file = publish(&[lesson(event)], &browser.folder.join("one.html"));
            browser.go(&file_url(&file)).await;
            browser.until_text(".kp-head h1", event).await;
            on_all_papers(&browser, name).await;
        }
        play(&browser, Way::Mouse, 0, "e1", "d1").await;
        browser.until_text(".kp-verdict", "half moves left").await;
        on_all_papers(&browser, "helpmate-half-way").await;
        browser.press("Show the solution").await;
        browser
            .until_text(".kp-turn", "The solution is shown")
            .await;
        on_all_papers(&browser, "helpmate-solution").await;
    });
}

/// A helpmate on the desk: who begins, how many moves, and its two solutions.
#[test]
fn a_helpmate_on_the_desk() {
    browse("looks-desk-helpmate", async |browser| {
        open_desk(&browser).await;
        paste(&browser, &pgn_write::write(&lesson("Two hands, one mate"))).await;
        browser.until_text(".verdict-line", "Sound").await;
        browser.until_text(".stipulation", "Black begins:").await;
        browser
            .until_text(".tree-line .role", "another solution")
            .await;
        on_all_papers(&browser, "desk-helpmate").await;
    });
}

#[test]
fn the_reasons() {
    browse("looks-reasons", async |browser| {
        open_desk(&browser).await;
        let puzzle = lesson("The king is called away");
        paste(&browser, &keyproof::notation::pgn_write::write(&puzzle)).await;
        browser.until_text(".verdict-line", "Sound").await;
        browser.until_text(".because", "Difficulty").await;
        on_all_papers(&browser, "desk-reasons").await;
        browser.press("fork").await;
        browser.until_text(".shown-line", "Rh8+").await;
        on_all_papers(&browser, "desk-why").await;

        let file = publish(&[puzzle], &browser.folder.join("why.html"));
        browser.go(&file_url(&file)).await;
        browser.until_text(".kp-task", "win").await;
        play(&browser, Way::Mouse, 1, "e5", "c6").await;
        browser.until_man("e5", "white knight").await;
        browser.until_open().await;
        on_all_papers(&browser, "student-wrong").await;
        browser.press("Show the solution").await;
        browser.until_text(".kp-whys", "fork").await;
        browser.press("fork").await;
        browser.until_text(".kp-turn", "fork").await;
        on_all_papers(&browser, "student-why").await;
    });
}
