//! The pages for everybody: what axe-core finds on each view, the whole way by
//! keys alone, a reader's way by ear, large letters, forced colours, less
//! motion.
//!
//! Sources: the npm package `axe-core` 4.14.1 with its rules for WCAG 2.0 to
//! 2.2, levels A and AA; the names of roles as WAI-ARIA 1.2 has them, read from
//! Chromium's own accessibility tree.

use keyproof::check::Known;
use keyproof::notation::pgn_write;
use keyproof::publish::Item;
use keyproof::resolved::Resolved;
use keyproof_tests::browser::{Browser, browse, file_url, page};
use keyproof_tests::root;
use serde_json::{Value, json};
use thirtyfour::Key;

use crate::looks::screens;
use crate::{
    Way, lesson, npm, open_desk, paste, paste_whole, play, publish, staircase, whole_lesson,
};

/// Rules of WCAG, levels A and AA, and what else is held to be good practice.
const RULES: &str = "['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice']";

/// What axe-core finds on the page as it stands.
async fn hindrances(browser: &Browser) -> Vec<String> {
    let loaded = browser.script("return !!window.axe;", vec![]).await;
    if loaded != json!(true) {
        let axe = std::fs::read_to_string(npm("axe-core/axe.min.js")).expect("axe-core");
        browser
            .script(&format!("{axe}; window.axe = axe;"), vec![])
            .await;
    }
    let found = browser
        .script(
            &format!(
                "return axe.run(document, {{ runOnly: {RULES}, resultTypes: ['violations'] }})
                   .then((r) => r.violations.flatMap((v) => v.nodes.map((n) => v.id + ': ' + n.html.slice(0, 200) + ' ' + n.failureSummary)));"
            ),
            vec![],
        )
        .await;
    let found = found.as_array().expect("a list");
    found
        .iter()
        .map(|f| f.as_str().unwrap_or("?").to_owned())
        .collect()
}

/// Nothing hinders on a view, wide and narrow, on light and dark paper.
pub async fn hinders_nobody(browser: &Browser, view: &str) {
    for width in [1440, 360] {
        browser.window(width, 900).await;
        for paper in browser.papers() {
            browser.paper(paper).await;
            let found = hindrances(browser).await;
            assert!(found.is_empty(), "{view}, {width} px, {paper}: {found:#?}");
        }
    }
    browser.window(1280, 900).await;
    browser.paper("light").await;
}

#[test]
fn nothing_hinders_at_the_desk() {
    browse("axe-desk", async |browser| {
        open_desk(&browser).await;
        hinders_nobody(&browser, "the empty desk").await;
        browser.press("Paste").await;
        hinders_nobody(&browser, "the box to paste into").await;
        browser.type_into("#paste-text", &staircase()).await;
        browser.press("Read it").await;
        browser.until_text(".verdict-line", "Unsound").await;
        browser.until_text(".finding", "1.Rb7").await;
        hinders_nobody(&browser, "a cook").await;
        browser.press("Accept 1.Rb7").await;
        browser.until_text(".verdict-line", "Sound").await;
        for summary in browser
            .driver
            .find_all(thirtyfour::By::Css("summary"))
            .await
            .expect("folds")
        {
            // Folds inside folds open with theirs.
            let _ = summary.click().await;
        }
        hinders_nobody(&browser, "all unfolded").await;
        browser.press("Set up the position").await;
        hinders_nobody(&browser, "the set-up").await;
        browser.press("Done").await;
        browser.press("See it as a student").await;
        browser.find("iframe").await;
        hinders_nobody(&browser, "the preview").await;
        browser.press("Back to the desk").await;
        browser.press("Keyboard").await;
        browser.find("#finder-list").await;
        hinders_nobody(&browser, "the keys").await;
    });
}

#[test]
fn nothing_hinders_with_a_game_or_a_lesson() {
    browse("axe-lesson", async |browser| {
        open_desk(&browser).await;
        let game = root().join("puzzles/games");
        let file = std::fs::read_dir(game)
            .expect("games")
            .flatten()
            .find(|f| f.path().extension().is_some_and(|e| e == "pgn"))
            .expect("a game");
        let text = std::fs::read_to_string(file.path()).expect("a text");
        paste(&browser, &text).await;
        browser.until_text(".contents", "a game").await;
        hinders_nobody(&browser, "a bare game").await;
        let drafts = whole_lesson();
        let several: Vec<String> = drafts.iter().map(pgn_write::write).collect();
        paste_whole(&browser, &several.concat()).await;
        browser.until_text(".verdict-line", "Sound").await;
        hinders_nobody(&browser, "a row of puzzles").await;
    });
}

#[test]
fn nothing_hinders_a_student() {
    browse("axe-student", async |browser| {
        let puzzle = lesson("The king is called away");
        let file = publish(&[puzzle], &browser.folder.join("one.html"));
        browser.go(&file_url(&file)).await;
        browser.until_text(".kp-task", "win").await;
        hinders_nobody(&browser, "the task").await;
        play(&browser, Way::Mouse, 1, "e5", "c6").await;
        browser.until_man("e5", "white knight").await;
        browser.until_open().await;
        hinders_nobody(&browser, "a wrong move").await;
        browser.press("Show the solution").await;
        browser.until_text(".kp-whys", "fork").await;
        hinders_nobody(&browser, "the solution").await;

        let choice = lesson("One knight, four checks");
        let file = publish(&[choice], &browser.folder.join("choice.html"));
        browser.go(&file_url(&file)).await;
        browser.named("1.Nh6+").await;
        hinders_nobody(&browser, "a choice").await;

        let several = publish(&whole_lesson(), &browser.folder.join("several.html"));
        browser.go(&file_url(&several)).await;
        browser.until_open().await;
        browser.press("More").await;
        hinders_nobody(&browser, "a row of puzzles").await;
    });
}

/// A lesson as the student reads it, with a move of its text under the pointer; and
/// the handout that is printed.
#[test]
fn nothing_hinders_a_reader() {
    browse("axe-reader", async |browser| {
        let game = keyproof_tests::games(&root().join("puzzles/games/the-queen-that-waited.pgn"));
        let posed = Resolved::of(&game[0]);
        let cut = keyproof::lesson::excerpts(&posed);
        let known = Known::default();
        let items: Vec<Item> = cut
            .iter()
            .map(|excerpt| Item {
                resolved: &excerpt.resolved,
                known: &known,
                explanation: None,
            })
            .collect();
        let template = std::fs::read_to_string(page("student.html")).expect("a built page");
        let html = keyproof::publish::page_of_games(&template, "A lesson", "en", &[&posed], &items)
            .expect("a template with all its marks");
        let file = browser.folder.join("lesson.html");
        std::fs::write(&file, html).expect("a file");
        browser.go(&file_url(&file)).await;
        browser.press("To the question").await;
        browser.press("One move back").await;
        hinders_nobody(&browser, "a lesson").await;
        for paper in browser.papers() {
            browser.paper(paper).await;
            let step = browser.named("1.e4").await;
            browser
                .driver
                .action_chain()
                .move_to_element_center(&step)
                .perform()
                .await
                .expect("a pointer");
            let found = hindrances(&browser).await;
            assert!(
                found.is_empty(),
                "a move under the pointer, {paper}: {found:#?}"
            );
        }
        browser.paper("light").await;
        let resolved: Vec<_> = whole_lesson()[..2].iter().map(Resolved::of).collect();
        let all: Vec<_> = resolved.iter().collect();
        let per = keyproof::handout::PerPage::Two;
        let (html, _) = keyproof::handout::handout("Thursday", "en", &all, per);
        let handout = browser.folder.join("handout.html");
        std::fs::write(&handout, html).expect("a file");
        browser.go(&file_url(&handout)).await;
        let found = hindrances(&browser).await;
        assert!(found.is_empty(), "the handout: {found:#?}");
    });
}

/// The checker is one that finds something.
#[test]
fn what_hinders_is_found() {
    browse("axe-itself", async |browser| {
        open_desk(&browser).await;
        browser
            .script(
                "const [main, image, pale] = ['main', 'img', 'p'].map((name) => document.createElement(name));
                 image.src = 'data:,';
                 pale.style = 'color: #ccc; background: #fff';
                 pale.append('pale');
                 main.append(image, pale);
                 document.body.append(main);",
                vec![],
            )
            .await;
        let found = hindrances(&browser).await.join("\n");
        assert!(
            found.contains("image-alt") && found.contains("color-contrast"),
            "{found}"
        );
    });
}

/// Finds a command by name and does it.
async fn command(browser: &Browser, name: &str) {
    browser.held(Key::Control, "k").await;
    browser.until_focus("finder").await;
    browser.type_keys(name).await;
    browser
        .until(
            &format!("a command {name}"),
            "const here = deep('#finder-here')[0]; return !!here;",
            vec![],
        )
        .await;
    browser.key(Key::Enter).await;
    browser
        .until(
            "the list put away",
            "return deep('#finder').length === 0;",
            vec![],
        )
        .await;
}

/// From the empty desk to the student's file without a mouse.
#[test]
fn the_whole_way_by_keys_alone() {
    browse("keys-alone", async |browser| {
        open_desk(&browser).await;
        command(&browser, "new puzzle").await;
        browser.find("#setup-faults").await;
        command(&browser, "go fen").await;
        browser.until_focus("fen").await;
        browser.script("focused().select();", vec![]).await;
        browser.type_keys("8/5P1k/p4K2/P7/8/8/8/8 w - - 0 1").await;
        browser.until_man("f7", "white pawn").await;
        command(&browser, "leave set-up").await;
        command(&browser, "go title").await;
        browser.until_focus("title").await;
        browser.type_keys("Not a queen").await;
        command(&browser, "go typed move").await;
        browser.until_focus("typed-move").await;
        for san in ["f8=R", "Kh6", "Rh8"] {
            browser.type_keys(san).await;
            browser.key(Key::Enter).await;
            browser.until_text(".solution", san).await;
        }
        browser.until_text(".verdict-line", "Sound").await;
        command(&browser, "go words").await;
        browser.until_focus("words-here").await;
        browser.type_keys("The rook leaves a way out.").await;
        command(&browser, "save student").await;
        let file = file_url(&browser.downloaded(".html").await);
        browser.go(&file).await;
        browser.until_text(".kp-head", "Not a queen").await;
        browser.assert_no_errors().await;
    });
}

/// The list opens on `?`, the arrows pick, Escape gives the focus back.
#[test]
fn keys_are_listed_on_a_question_mark() {
    browse("key-list", async |browser| {
        open_desk(&browser).await;
        paste(&browser, &staircase()).await;
        browser.until_text(".finding", "1.Rb7").await;
        let button = browser.named("Turn the board").await;
        button.focus().await.expect("the focus");
        browser.type_keys("?").await;
        browser.until_focus("finder").await;
        browser.until_text("#finder-list", "Ctrl+Shift+Z").await;
        crate::looks::on_all_papers(&browser, "desk-keys").await;
        browser.type_keys("undo").await;
        browser
            .until_text(".finder [role=status]", "one found")
            .await;
        browser.key(Key::Escape).await;
        browser
            .until(
                "the focus where it was",
                "return focused()?.textContent === 'Turn the board';",
                vec![],
            )
            .await;
        // On a move it is a sign.
        browser.press("1.Ra7").await;
        browser.type_keys("?").await;
        browser.until_text(".solution", "Ra7?").await;
        assert_eq!(browser.count("#finder").await, 0);
        browser.assert_no_errors().await;
    });
}

/// A command that leads into a field has led there before another key can be pressed:
/// nothing that is typed ahead goes elsewhere.
#[test]
fn nothing_typed_ahead_of_the_focus_is_lost() {
    browse("typed-ahead", async |browser| {
        open_desk(&browser).await;
        paste(&browser, &staircase()).await;
        browser.until_text(".finding", "1.Rb7").await;
        browser.held(Key::Control, "k").await;
        browser.until_focus("finder").await;
        browser.type_keys("typed").await;
        browser
            .script(
                "const enter = { key: 'Enter', bubbles: true, composed: true, cancelable: true };
                 focused().dispatchEvent(new KeyboardEvent('keydown', enter));
                 setTimeout(() => { const e = focused(); window.then = e?.id || e?.outerHTML.slice(0, 200) || ''; });",
                vec![],
            )
            .await;
        let then = "return window.then !== undefined;";
        browser.until("another task", then, vec![]).await;
        let then = browser.script("return window.then;", vec![]).await;
        assert_eq!(then, "typed-move");
    });
}

/// All nodes of the accessibility tree, as role and name.
async fn heard(browser: &Browser) -> Vec<(String, String)> {
    let tree = browser
        .devtools("Accessibility.getFullAXTree", json!({}))
        .await;
    let text =
        |node: &Value, part: &str| node[part]["value"].as_str().unwrap_or_default().to_owned();
    let nodes = tree["nodes"].as_array().expect("nodes");
    nodes
        .iter()
        .filter(|node| node["ignored"] != json!(true))
        .map(|node| (text(node, "role"), text(node, "name")))
        .collect()
}

/// By ear: the board is a grid of named squares, a move is told in words, the
/// verdict is announced.
#[test]
fn a_reader_by_ear_finds_the_way() {
    browse("by-ear", async |browser| {
        open_desk(&browser).await;
        paste(&browser, &staircase()).await;
        browser.until_text(".verdict-line", "Unsound").await;
        let nodes = heard(&browser).await;
        let has = |role: &str, name: &str| nodes.iter().any(|(r, n)| r == role && n.contains(name));
        assert!(has("grid", "The position to be solved"), "{nodes:#?}");
        let cells = nodes.iter().filter(|(role, _)| role == "gridcell").count();
        assert_eq!(cells, 64);
        assert!(has("gridcell", "a2, white rook"));
        assert!(has("navigation", "") && has("heading", "Solution"));
        browser
            .until(
                "the verdict announced",
                "return deep('[role=status]').some((e) => e.textContent.includes('Unsound'));",
                vec![],
            )
            .await;

        let file = publish(
            &[lesson("The king is called away")],
            &browser.folder.join("one.html"),
        );
        browser.go(&file_url(&file)).await;
        browser.until_text(".kp-task", "win").await;
        play(&browser, Way::Keys, 0, "e5", "c6").await;
        browser
            .until(
                "the move in words",
                "return deep('[aria-live], [role=status], [role=alert]').some((e) => /knight/i.test(e.textContent));",
                vec![],
            )
            .await;
    });
}

async fn reaches_over_no_edge(browser: &Browser, name: &str, width: u32) {
    browser
        .devtools(
            "Emulation.setDeviceMetricsOverride",
            json!({ "width": width, "height": 450, "deviceScaleFactor": 2, "mobile": false }),
        )
        .await;
    browser.picture(&screens(&format!("{name}-{width}"))).await;
    let over = browser.over_the_edge().await;
    assert_eq!(over, json!(0), "{name}, {width} px");
}

/// At 200 % zoom (half the width, twice the points) and at the 320 px of WCAG's
/// "Reflow" nothing reaches over the edge, and forced colours keep the men and
/// the marks in sight.
#[test]
fn large_letters_and_forced_colours() {
    browse("large", async |browser| {
        open_desk(&browser).await;
        paste(&browser, &staircase()).await;
        browser.until_text(".finding", "1.Rb7").await;
        for width in [640, 320] {
            reaches_over_no_edge(&browser, "desk-large", width).await;
        }
        browser.window(1280, 900).await;
        let force =
            |forced: &str| json!({ "features": [{ "name": "forced-colors", "value": forced }] });
        browser
            .devtools("Emulation.setEmulatedMedia", force("active"))
            .await;
        browser.picture(&screens("desk-forced")).await;
        // The men keep the colours they are drawn in.
        let drawn = "return getComputedStyle(deep('.kp-board svg')[0]).forcedColorAdjust;";
        let adjusted = browser.script(drawn, vec![]).await;
        assert_ne!(adjusted, json!("auto"));

        let file = publish(
            &[lesson("The king is called away")],
            &browser.folder.join("one.html"),
        );
        browser.go(&file_url(&file)).await;
        browser.until_text(".kp-task", "win").await;
        browser.picture(&screens("student-forced")).await;
        browser
            .devtools("Emulation.setEmulatedMedia", force("none"))
            .await;
        for width in [640, 320] {
            reaches_over_no_edge(&browser, "student-large", width).await;
        }
    });
}

/// Who asks for less motion sees men stand where they went, with no glide.
#[test]
fn less_motion_moves_nothing() {
    browse("less-motion", async |browser| {
        browser
            .devtools(
                "Emulation.setEmulatedMedia",
                json!({ "features": [{ "name": "prefers-reduced-motion", "value": "reduce" }] }),
            )
            .await;
        open_desk(&browser).await;
        paste(&browser, &staircase()).await;
        browser.until_text(".finding", "1.Rb7").await;
        browser.press("One move on").await;
        browser.until_man("a7", "white rook").await;
        let moving =
            "return document.getAnimations().filter((a) => a.playState === 'running').length;";
        assert_eq!(browser.script(moving, vec![]).await, json!(0));
    });
}
