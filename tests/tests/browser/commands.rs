//! What programs write into comments for other programs, `[%name value]`, is a word
//! nowhere: not for the student, in a course, on paper or on the desk.

use keyproof::course::{Course, Standard};
use keyproof::draft::Draft;
use keyproof::handout::{PerPage, handout};
use keyproof::resolved::Resolved;
use keyproof_tests::browser::{Browser, browse, file_url};
use keyproof_tests::parse;

use crate::{Way, open_desk, open_leaf, paste_whole, play, publish};

/// Commands wherever a comment may stand: alone, before and after words, and several.
const CLOCKED: &str = "[Event \"The open rank\"]\n[Annotator \"Windle, Marta\"]\n[FEN \"6k1/5ppp/8/8/8/8/5PPP/R5K1 w - - 0 1\"]\n[Stipulation \"#1\"]\n\n\
    {[%clk 0:10:00] Count the exits.} 1. Ra8# {Along the rank. [%emt 0:00:07][%clk 0:09:53]} \
    ({[%depth 12]} 1. Ra7 $2 {[%clk 0:09:51]} {[%mark_2 a7,g7] Too short.} 1... h6 {[%emt 0:00:03]}) *\n";

/// Words that stand in its comments, and none of a command.
const WORDS: [&str; 3] = ["Count the exits.", "Along the rank.", "Too short."];

fn clocked() -> Draft {
    parse(CLOCKED, "a puzzle with commands").remove(0)
}

/// All that the page says, to the eye and to the ear; the file in it is for programs.
async fn said(browser: &Browser) -> String {
    let told = browser
        .script(
            "const own = deep('*').filter(seen);
             const names = ['aria-label', 'aria-description', 'title', 'alt', 'placeholder'];
             return own.flatMap((e) => [
                 ...[...e.childNodes].filter((n) => n.nodeType === Node.TEXT_NODE).map((n) => n.data),
                 ...names.map((name) => e.getAttribute(name) ?? ''),
                 e.matches('input, textarea') ? e.value : '',
             ]).join('\\n');",
            vec![],
        )
        .await;
    told.as_str().expect("a text").to_owned()
}

/// The words are told, and no command among them.
async fn assert_words_alone(browser: &Browser, words: &[&str], what: &str) -> String {
    let said = said(browser).await;
    for word in words {
        assert!(said.contains(word), "{what}: {word} is missing in {said}");
    }
    for sign in [
        "[%", "clk", "emt", "0:00:0", "0:09:5", "0:10:00", "depth", "mark_2",
    ] {
        assert!(!said.contains(sign), "{what}: {sign} in {said}");
    }
    said
}

#[test]
fn commands_are_no_words_for_a_student_and_in_a_course() {
    browse("commands-student", async |browser| {
        let lesson = publish(&[clocked()], &browser.folder.join("lesson.html"));
        let page = std::fs::read_to_string(&lesson).expect("a file");
        let course = Course {
            page: &page,
            title: "The open rank",
            language: "en",
            pass: None,
        };
        for (name, text) in course.files(Standard::Scorm12) {
            std::fs::write(browser.folder.join(name), text).expect("a file");
        }
        for place in ["lesson.html", "index.html"] {
            browser.go(&file_url(&browser.folder.join(place))).await;
            if place == "index.html" {
                browser.driver.enter_frame(0).await.expect("a frame");
            } else {
                browser.script("localStorage.clear();", vec![]).await;
            }
            play(&browser, Way::Typing, 0, "a1", "a7").await;
            browser.until_text(".kp-verdict", "Too short.").await;
            assert_words_alone(&browser, &[WORDS[0], WORDS[2]], place).await;
            browser.until_man("a1", "white rook").await;
            play(&browser, Way::Typing, 0, "a1", "a8").await;
            browser.until_text(".kp-turn", "Solved").await;
            browser.press("Show the solution").await;
            browser.until_text(".kp-solution", "1.Ra8#").await;
            assert_words_alone(&browser, &WORDS, place).await;
        }
    });
}

#[test]
fn commands_are_no_words_on_paper() {
    browse("commands-paper", async |browser| {
        let posed = Resolved::of(&clocked());
        let (html, _) = handout("Thursday night", "en", &[&posed], PerPage::Two);
        let file = browser.folder.join("handout.html");
        std::fs::write(&file, html).expect("a file");
        browser.go(&file_url(&file)).await;
        assert_words_alone(&browser, &WORDS[1..2], "the handout").await;
    });
}

#[test]
fn commands_are_no_words_on_the_desk() {
    browse("commands-desk", async |browser| {
        open_desk(&browser).await;
        paste_whole(&browser, CLOCKED).await;
        browser.until_text(".verdict-line", "Sound").await;
        let leaves = browser.count(".to-leaf").await;
        assert!(leaves > 2, "{leaves} leaves");
        let mut said = String::new();
        for leaf in 0..leaves {
            open_leaf(&browser, leaf).await;
            said += &assert_words_alone(&browser, &[], &format!("leaf {leaf}")).await;
        }
        assert!(WORDS.iter().any(|words| said.contains(words)), "{said}");
    });
}
