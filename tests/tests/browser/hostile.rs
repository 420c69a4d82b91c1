//! Whatever an author's words hold, they stay words: nothing in them runs, asks the
//! network, or becomes part of a page, in the student's file, the handout, a course's
//! papers and on the desk. The judge is the browser's own reader of HTML.

use keyproof::course::{Course, Standard};
use keyproof::draft::Draft;
use keyproof::handout::{PerPage, handout};
use keyproof::notation::pgn_write;
use keyproof::resolved::Resolved;
use keyproof_tests::browser::{Browser, Engine, browse, file_url};
use keyproof_tests::hostile::{puzzles, strings};
use serde_json::{Value, json};

use crate::{Way, open_desk, open_leaf, paste_whole, play, publish};

/// Puzzles with the strings in them, and such with plain words in the same places.
fn both() -> (Vec<Draft>, Vec<Draft>) {
    let strings = strings();
    let plain: Vec<String> = (0..strings.len()).map(|i| format!("words {i}")).collect();
    (puzzles(&strings), puzzles(&plain))
}

/// The kinds of elements on the page.
async fn kinds(browser: &Browser) -> Vec<Value> {
    let kinds = "return [...new Set(deep('*').map((e) => e.localName))];";
    let kinds = browser.script(kinds, vec![]).await;
    kinds.as_array().expect("names").clone()
}

/// Nothing on the page is of another kind than these, listens, or leads into a script;
/// and nothing has run.
async fn assert_only_words(browser: &Browser, kinds: &[Value], what: &str) {
    let strange = browser
        .script(
            "const leads = ['href', 'src', 'action', 'formaction', 'data', 'xlink:href'];
             const isStrange = (a) => a.name.startsWith('on')
                 || leads.includes(a.name) && /^\\s*(javascript|https?|\\/\\/example)/i.test(a.value);
             const strange = deep('*').filter((e) => !arguments[0].includes(e.localName)
                 || [...e.attributes].some(isStrange));
             return [window.ran ?? null, strange.map((e) => e.outerHTML.slice(0, 300))];",
            vec![json!(kinds)],
        )
        .await;
    assert_eq!(strange, json!([null, []]), "{what}");
}

/// Goes through a student's file of one puzzle: a wrong move, all hints, the key.
async fn solve(browser: &Browser, draft: &Draft) {
    let file = publish(
        std::slice::from_ref(draft),
        &browser.folder.join("one.html"),
    );
    browser.go(&file_url(&file)).await;
    browser.script("localStorage.clear();", vec![]).await;
    play(browser, Way::Typing, 0, "a1", "a7").await;
    for _ in 0..2 {
        let hint = "deep('button').find((b) => /^Hint \\d/.test(b.textContent))?.click();";
        browser.script(hint, vec![]).await;
    }
    play(browser, Way::Typing, 0, "a1", "a8").await;
    browser.until_text(".kp-turn", "Solved").await;
}

#[test]
fn hostile_words_stay_words_for_the_student() {
    browse("hostile-student", async |browser| {
        let (hostile, plain) = both();
        let own = file_url(&browser.folder.join("one.html"));
        solve(&browser, &plain[0]).await;
        let kinds = kinds(&browser).await;
        for draft in &hostile {
            solve(&browser, draft).await;
            assert_only_words(&browser, &kinds, &pgn_write::write(draft)).await;
        }
        browser.assert_no_request_left(&[&own]).await;
    });
}

/// Where the engine has trusted types (W3C), no text becomes markup or a script on the
/// desk or on the student's page, whoever tries.
#[test]
fn no_text_is_taken_for_markup_or_script() {
    browse("trusted", async |browser| {
        let (_, plain) = both();
        solve(&browser, &plain[0]).await;
        assert_takes_no_text(&browser).await;
        open_desk(&browser).await;
        assert_takes_no_text(&browser).await;
    });
}

async fn assert_takes_no_text(browser: &Browser) {
    let told = browser
        .script(
            "const told = (what) => { try { what(); return 'taken'; } catch (e) { return e.name; } };
             return window.trustedTypes ? [
               told(() => document.createElement('p').innerHTML = '<b>words</b>'),
               told(() => document.body.insertAdjacentHTML('beforeend', '<b>words</b>')),
               told(() => document.createElement('iframe').srcdoc = '<b>words</b>'),
               told(() => document.createElement('script').text = 'window.ran = 1'),
               told(() => new Worker('data:text/javascript,1')),
               told(() => trustedTypes.createPolicy('another', { createHTML: (text) => text })),
             ] : null;",
            vec![],
        )
        .await;
    match browser.engine {
        Engine::Chromium => assert_eq!(told, json!(vec!["TypeError"; 6])),
        _ => assert!(
            told.is_null() || told == json!(vec!["TypeError"; 6]),
            "{told}"
        ),
    }
}

#[test]
fn hostile_words_stay_words_on_paper_and_in_a_course() {
    browse("hostile-paper", async |browser| {
        let (hostile, plain) = both();
        let file = browser.folder.join("handout.html");
        let print = |drafts: &[Draft]| {
            let posed: Vec<Resolved> = drafts.iter().map(Resolved::of).collect();
            let title = drafts[3].tag("Event").expect("a title");
            let (html, _) = handout(
                title,
                title,
                &posed.iter().collect::<Vec<_>>(),
                PerPage::Four,
            );
            std::fs::write(&file, html).expect("a file");
        };
        print(&plain);
        browser.go(&file_url(&file)).await;
        let kinds = kinds(&browser).await;
        print(&hostile);
        browser.go(&file_url(&file)).await;
        assert_only_words(&browser, &kinds, "the handout").await;
        for standard in [Standard::Scorm12, Standard::Cmi5] {
            let plain = papers(&browser, "words", standard).await;
            for title in strings() {
                assert_eq!(papers(&browser, &title, standard).await, plain, "{title:?}");
            }
        }
        browser.assert_no_request_left(&[&file_url(&file)]).await;
    });
}

/// What elements a course's paper and page have, as the browser reads them.
async fn papers(browser: &Browser, title: &str, standard: Standard) -> Value {
    let course = Course {
        page: "",
        title,
        language: title,
        pass: None,
    };
    let files = course.files(standard);
    browser
        .script(
            "return [['text/xml', arguments[0]], ['text/html', arguments[1]]].map(([kind, text]) =>
                 [...new DOMParser().parseFromString(text, kind).querySelectorAll('*')].map((e) =>
                     [e.nodeName, ...[...e.attributes].map((a) => a.name)].join(' ')));",
            vec![json!(files[0].1), json!(files[1].1)],
        )
        .await
}

#[test]
fn hostile_words_stay_words_on_the_desk() {
    browse("hostile-desk", async |browser| {
        let (hostile, plain) = both();
        let text = |drafts: &[Draft]| {
            drafts
                .iter()
                .map(pgn_write::write)
                .collect::<Vec<_>>()
                .join("\n")
        };
        let own = open_desk(&browser).await;
        paste_whole(&browser, &text(&plain[..2])).await;
        let mut known = leaf_by_leaf(&browser, None).await;
        // Shown while something is checked, which may be over too soon to be met.
        known.push(json!("progress"));
        paste_whole(&browser, &text(&hostile)).await;
        leaf_by_leaf(&browser, Some(&known)).await;
        browser.assert_no_request_left(&[&own]).await;
    });
}

/// Opens every puzzle and every leaf of it, once it is judged and its reasons are told,
/// and tells the kinds of elements met.
async fn leaf_by_leaf(browser: &Browser, known: Option<&[Value]>) -> Vec<Value> {
    let mut met = Vec::new();
    let entries = browser.count(".entry").await;
    assert!(entries > 0, "puzzles in the list");
    for entry in 0..entries {
        browser
            .script("deep('.entry')[arguments[0]].click();", vec![json!(entry)])
            .await;
        browser.until_text(".verdict-line", "Sound").await;
        let leaves = browser.count(".to-leaf").await;
        for leaf in 0..leaves {
            open_leaf(browser, leaf).await;
            if leaf == 0 {
                let reasons = "return deep('.whys').length > 0;";
                browser.until("the reasons", reasons, vec![]).await;
            }
            match known {
                Some(known) => {
                    let what = format!("puzzle {entry}, leaf {leaf}");
                    assert_only_words(browser, known, &what).await;
                }
                None => met.extend(kinds(browser).await),
            }
        }
    }
    met
}
