//! The student's page in other people's pages: where its program may not run, in
//! frames, and as an element beside others under styles that reach for it.

use keyproof::check::{self, Judge, Known};
use keyproof::draft::Draft;
use keyproof::prove::Unwatched;
use keyproof::publish::Item;
use keyproof::resolved::Resolved;
use keyproof_tests::browser::{Browser, Engine, Server, browse, file_url, page};
use serde_json::json;

use crate::looks::{on_all_papers, printed};
use crate::{Way, lesson, play, publish};

/// The page shows the puzzle without its program: diagram, task, and a solution
/// that unfolds.
async fn assert_still(browser: &Browser) {
    browser
        .until_text(".kp-still h2", "The queen goes first")
        .await;
    browser.until_text(".kp-still p", "mate in 2").await;
    let cells =
        "return deep('.kp-still td').filter((cell) => seen(cell) && cell.textContent).length;";
    let men = browser.script(cells, vec![]).await;
    assert!(men.as_u64().is_some_and(|men| men > 5), "{men}");
    assert!(!browser.text(".kp-still").await.contains("Qe8"));
    browser.press("Solution").await;
    browser.until_text(".kp-still details", "1.Qe8+").await;
}

/// The published file with something of its text changed.
fn changed(browser: &Browser, from: &str, to: &str) -> String {
    let file = publish(
        &[lesson("The queen goes first")],
        &browser.folder.join("one.html"),
    );
    let text = std::fs::read_to_string(&file).expect("a file");
    assert!(text.contains(from), "{from}");
    std::fs::write(&file, text.replace(from, to)).expect("a file");
    file_url(&file)
}

#[test]
fn where_wasm_is_refused_the_puzzle_can_still_be_read() {
    browse("no-wasm", async |browser| {
        let url = changed(&browser, " 'unsafe-eval' 'wasm-unsafe-eval'", "");
        browser.go(&url).await;
        browser
            .until_text("[role=alert]", "cannot be judged here")
            .await;
        assert_still(&browser).await;
        on_all_papers(&browser, "still").await;
        browser.assert_no_request_left(&[&url]).await;
    });
}

#[test]
fn where_there_is_no_wasm_the_puzzle_can_still_be_read() {
    browse("old", async |browser| {
        let url = changed(
            &browser,
            "<head>",
            "<head><script>delete window.WebAssembly</script>",
        );
        browser.go(&url).await;
        browser
            .until_text("[role=alert]", "cannot be judged here")
            .await;
        assert_still(&browser).await;
    });
}

#[test]
fn where_scripts_are_refused_the_puzzle_can_still_be_read() {
    browse("no-script", async |browser| {
        let url = changed(
            &browser,
            "script-src 'unsafe-inline' 'unsafe-eval' 'wasm-unsafe-eval' blob:",
            "script-src 'none'",
        );
        browser.go(&url).await;
        assert_still(&browser).await;
        assert_eq!(browser.count(".kp-board").await, 0);
    });
}

/// What does not know `'wasm-unsafe-eval'` (Chrome before 97, Safari before 16) goes by
/// `'unsafe-eval'`: the program starts under it alone.
#[test]
fn the_policy_lets_an_older_browser_start_the_program() {
    browse("older-policy", async |browser| {
        let url = changed(&browser, " 'wasm-unsafe-eval'", "");
        browser.go(&url).await;
        play(&browser, Way::Typing, 0, "e2", "e8").await;
        browser.until_text(".kp-verdict", "is right").await;
        assert_eq!(browser.count("#keyproof-refused").await, 0);
    });
}

/// In a `srcdoc` the policy of the page around holds, which no script can tell of.
#[test]
fn under_the_policy_of_a_page_around_it_says_what_is_the_matter() {
    browse("srcdoc", async |browser| {
        let file = publish(
            &[lesson("The queen goes first")],
            &browser.folder.join("one.html"),
        );
        let page = std::fs::read_to_string(&file).expect("a file");
        let page = page.replace('&', "&amp;").replace('"', "&quot;");
        for styles in ["'none'", "'unsafe-inline'"] {
            let around = browser.folder.join("around.html");
            let html = format!(
                "<!doctype html><meta charset=utf-8><title>A club</title>
                 <meta http-equiv=Content-Security-Policy content=\"default-src 'none'; style-src {styles}\">
                 <iframe width=800 height=600 srcdoc=\"{page}\"></iframe>"
            );
            std::fs::write(&around, html).expect("a file");
            browser.go(&file_url(&around)).await;
            browser.driver.enter_frame(0).await.expect("a frame");
            browser
                .until(
                    "what is the matter",
                    "const told = document.getElementById('keyproof-refused');
                     return seen(told) && getComputedStyle(told).visibility === 'visible' && told.textContent.includes('cannot be judged here');",
                    vec![],
                )
                .await;
            assert_still(&browser).await;
        }
    });
}

/// A page of a club: what it does with what its frame tells is in `told`, by
/// `event.source` as the guide has it.
fn host(attributes: &str) -> String {
    format!(
        "<!doctype html><meta charset=utf-8><title>A club's page</title>
         <iframe {attributes} src=one.html width=900 height=700></iframe>
         <script>
         var told = [], strange = [];
         addEventListener('message', (event) => {{
           const ours = event.source === document.querySelector('iframe').contentWindow;
           (ours && event.data.keyproof === 1 ? told : strange).push(event.data);
         }});
         </script>"
    )
}

#[test]
fn a_frame_tells_its_height_and_the_result_with_and_without_sandbox() {
    browse("frames", async |browser| {
        publish(
            &[lesson("The queen goes first")],
            &browser.folder.join("one.html"),
        );
        for (name, attributes) in [("plain.html", ""), ("boxed.html", "sandbox=allow-scripts")] {
            let file = browser.folder.join(name);
            std::fs::write(&file, host(attributes)).expect("a file");
            browser.go(&file_url(&file)).await;
            browser
                .until(
                    "a height",
                    "return told.some((m) => m.type === 'height' && m.height > 300);",
                    vec![],
                )
                .await;
            browser.driver.enter_frame(0).await.expect("a frame");
            play(&browser, Way::Typing, 0, "e2", "e7").await;
            browser.until_text(".kp-wrong", "1.Qe7").await;
            browser.until_man("e2", "white queen").await;
            play(&browser, Way::Typing, 0, "e2", "e8").await;
            browser.until_man("e8", "black rook").await;
            play(&browser, Way::Typing, 1, "e1", "e8").await;
            browser.until_text(".kp-turn", "Solved").await;
            browser
                .driver
                .enter_default_frame()
                .await
                .expect("the page");
            let result = browser
                .script(
                    // How long it took is not the test's.
                    "const result = told.filter((m) => m.type === 'result').at(-1);
                     return [{ ...result, kept: result.kept.replace(/t\\d+/, '') }, strange.length];",
                    vec![],
                )
                .await;
            assert_eq!(
                result,
                json!([{
                    "keyproof": 1, "type": "result", "title": "The queen goes first",
                    "solved": 1, "of": 1, "mistakes": 1, "shown": 0, "cost": 0,
                    "account": "The queen goes first: 1 of 1 found, 1 wrong move",
                    "kept": "0 0=1:Qe7? Qe8+ Rxe8#\n"
                }, 0]),
                "{name}"
            );
        }
    });
}

/// A puzzle as the element that a page holds.
fn element(draft: &Draft) -> String {
    let mut known = Known::default();
    check::check(draft, &mut known, &mut Judge::new(16 << 20), &mut Unwatched);
    let resolved = Resolved::of(draft);
    let item = Item {
        resolved: &resolved,
        known: &known,
        explanation: None,
    };
    keyproof::publish::element(&[&resolved], &[item])
}

/// A page with two lessons as elements, the element's script from a file
/// beside it.
fn elements(policy: &str, style: &str, attributes: &str) -> String {
    format!(
        "<!doctype html><html {attributes}><meta charset=utf-8><title>Two lessons</title><link rel=icon href=data:,>
         <meta http-equiv=Content-Security-Policy content=\"{policy}\">
         <style>{style}</style>
         <h1>II</h1><div id=first>{}</div><div id=second>{}</div>
         <script src=keyproof-lesson.js></script>",
        element(&lesson("The queen goes first")),
        element(&lesson("Less is more")),
    )
}

/// Serves such a page with the element's script.
fn serve(browser: &Browser, html: &str) -> (Server, String) {
    std::fs::copy(
        page("keyproof-lesson.js"),
        browser.folder.join("keyproof-lesson.js"),
    )
    .expect("a file");
    std::fs::write(browser.folder.join("host.html"), html).expect("a file");
    let server = Server::start(&browser.folder);
    let url = server.url("host.html");
    (server, url)
}

const OPEN: &str = "default-src 'self'; img-src data:; style-src 'unsafe-inline'; script-src 'self' 'unsafe-inline' 'wasm-unsafe-eval'";

/// Styles that would break anything they reach.
const HOSTILE: &str = "*, *::before, *::after { all: unset !important; }
    * { font: bold 64px/3 cursive !important; letter-spacing: 1em !important; text-transform: uppercase !important; color: lime !important }
    div, keyproof-lesson { display: block !important }
    head, script { display: none !important }";

#[test]
fn two_elements_on_a_page_of_hostile_styles_are_solved_apart() {
    browse("elements", async |browser| {
        let (_server, url) = serve(&browser, &elements(OPEN, HOSTILE, "dir=rtl lang=ar"));
        browser.go(&url).await;
        browser
            .until(
                "two boards",
                "return deep('.kp-board.kp-open').filter(seen).length === 2;",
                vec![],
            )
            .await;
        let looks = browser
            .script(
                "const [first] = deep('.kp-page');
                 const style = getComputedStyle(first);
                 const board = deep('.kp-board')[0].getBoundingClientRect();
                 return [style.direction, style.fontSize, style.textTransform, style.letterSpacing,
                   Math.abs(board.width - board.height) < 2, deep('.kp-still').some(seen),
                   new Set(deep('.kp-board').map((b) => b.id)).size];",
                vec![],
            )
            .await;
        assert_eq!(
            looks,
            json!(["ltr", "17px", "none", "normal", true, false, 2])
        );
        on_all_papers(&browser, "elements-hostile").await;
        browser
            .script(
                "window.news = [];
                 addEventListener('keyproof-result', (e) => window.news.push([e.target.parentElement.id, e.detail.title, e.detail.solved]));
                 const line = document.querySelector('#first keyproof-lesson').shadowRoot.querySelector('.kp-typed input');
                 line.value = 'Qe8';
                 line.dispatchEvent(new KeyboardEvent('keydown', { key: 'Enter', bubbles: true, composed: true }));",
                vec![],
            )
            .await;
        browser.until_text(".kp-verdict", "1.Qe8+ is right").await;
        browser.until_man("e8", "black rook").await;
        let other = browser
            .script(
                "return document.querySelector('#second keyproof-lesson').shadowRoot.querySelector('.kp-verdict').textContent;",
                vec![],
            )
            .await;
        assert!(other.as_str().is_some_and(|told| !told.contains("Qe8")));
        browser
            .script(
                "const line = document.querySelector('#first keyproof-lesson').shadowRoot.querySelector('.kp-typed input');
                 line.value = 'e1e8';
                 line.dispatchEvent(new KeyboardEvent('keydown', { key: 'Enter', bubbles: true, composed: true }));",
                vec![],
            )
            .await;
        browser.until_text(".kp-turn", "Solved").await;
        let news = browser.script("return window.news.at(-1);", vec![]).await;
        assert_eq!(news, json!(["first", "The queen goes first", 1]));
        browser.assert_no_errors().await;
    });
}

#[test]
fn an_element_in_a_page_of_a_strict_policy_can_still_be_read() {
    browse("strict", async |browser| {
        let policy = "default-src 'self'; style-src 'unsafe-inline'; script-src 'self'";
        let (_server, url) = serve(&browser, &elements(policy, "", "lang=en"));
        browser.go(&url).await;
        assert_still(&browser).await;
        assert_eq!(browser.count(".kp-board").await, 0);
        on_all_papers(&browser, "elements-strict").await;
        assert!(!browser.text("body").await.contains("[Event"));
    });
}

/// A page that takes no text for markup or script without its author's leave (Trusted
/// Types, W3C) lets the element's policy through by its name.
#[test]
fn an_element_in_a_page_of_trusted_types_is_solved() {
    browse("trusted-types", async |browser| {
        for names in ["", "; trusted-types keyproof"] {
            let policy = format!("{OPEN}; require-trusted-types-for 'script'{names}");
            let (_server, url) = serve(&browser, &elements(&policy, "", "lang=en"));
            browser.go(&url).await;
            let both = "return deep('.kp-board.kp-open').filter(seen).length === 2;";
            browser.until("two boards", both, vec![]).await;
            let line = "const line = document.querySelector('#first keyproof-lesson').shadowRoot.querySelector('.kp-typed input');
                 line.value = arguments[0];
                 line.dispatchEvent(new KeyboardEvent('keydown', { key: 'Enter', bubbles: true, composed: true }));";
            browser.script(line, vec![json!("Qe8")]).await;
            browser.until_man("e8", "black rook").await;
            browser.script(line, vec![json!("e1e8")]).await;
            browser.until_text(".kp-turn", "Solved").await;
            browser.assert_no_errors().await;
        }
    });
}

/// Where the page around lets no policy through, the element can still be read.
#[test]
fn an_element_that_is_not_trusted_can_still_be_read() {
    browse("no-trust", async |browser| {
        let policy = format!("{OPEN}; require-trusted-types-for 'script'; trusted-types 'none'");
        let (_server, url) = serve(&browser, &elements(&policy, "", "lang=en"));
        browser.go(&url).await;
        if browser.script("return !window.trustedTypes;", vec![]).await == true {
            println!("{:?} knows no trusted types", browser.engine);
            return;
        }
        assert_still(&browser).await;
        assert_eq!(browser.count(".kp-board").await, 0);
    });
}

#[test]
fn several_puzzles_share_a_printed_page() {
    if Engine::cannot(&[Engine::WebKit], Engine::NO_PRINT) {
        return;
    }
    browse("print-several", async |browser| {
        let twelve = vec![lesson("Castling comes second"); 12];
        let file = publish(&twelve, &browser.folder.join("twelve.html"));
        browser.go(&file_url(&file)).await;
        browser.until_open().await;
        let pages = printed(&browser, "print-several").await;
        assert!((2..=3).contains(&pages), "{pages} pages");
    });
}

/// Printed, a puzzle is its diagram and its task.
#[test]
fn a_page_prints_as_a_diagram_with_its_task() {
    if Engine::cannot(&[Engine::WebKit], Engine::NO_PRINT) {
        return;
    }
    browse("print", async |browser| {
        let file = publish(
            &[lesson("Castling comes second")],
            &browser.folder.join("one.html"),
        );
        browser.go(&file_url(&file)).await;
        browser.until_open().await;
        browser.as_printed().await;
        for shown in [".kp-diagram", ".kp-task"] {
            assert_eq!(browser.count(shown).await, 1, "{shown}");
        }
        for hidden in [".kp-tools", ".kp-typed", ".kp-verdict", ".kp-account"] {
            assert_eq!(browser.count(hidden).await, 0, "{hidden}");
        }
        assert_eq!(printed(&browser, "print").await, 1);
    });
}
