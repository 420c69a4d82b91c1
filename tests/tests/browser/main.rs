//! The pages in a real browser: an author's whole way from a text to a file, a
//! student's from the file to the solution, and how both look.
//!
//! `cargo xtask test browser` builds the pages and runs these.

mod account;
mod author;
mod class;
mod commands;
mod courses;
mod desk_game;
mod edit;
mod embedding;
mod every_move;
mod everybody;
mod figures;
mod fits;
mod guide;
mod handouts;
mod hands;
mod hierarchy;
mod hostile;
mod hour;
mod kills;
mod leaves;
mod lesson;
mod looks;
mod package;
mod proofs;
mod safe;
mod saved;
mod seen;
mod shelf;
mod soon;
mod student;
mod talk;
mod tasks;
mod timing;
mod tongues;

use keyproof::resolved::Resolved;
use std::path::{Path, PathBuf};

use keyproof::check::{self, Judge, Known};
use keyproof::draft::{Draft, Edit};
use keyproof::explain::{Analyst, Explanation, Inquiry};
use keyproof::notation::{moves, pgn_write};
use keyproof::prove::Unwatched;
use keyproof::publish::{self, Item};
use keyproof::puzzle::Posed;
use keyproof_tests::browser::{Browser, file_url, page};
use keyproof_tests::{games, pgn_files, root, title};
use serde_json::json;

/// The puzzle that the README takes from start to end: two rooks, and a cook.
fn staircase() -> String {
    let readme = std::fs::read_to_string(root().join("README.md")).expect("the README");
    let text: Vec<&str> = readme
        .lines()
        .skip_while(|line| !line.contains("[Event \"The staircase\"]"))
        .take_while(|line| line.is_empty() || line.starts_with("    "))
        .map(str::trim_start)
        .collect();
    assert!(text.len() > 5, "the README holds the puzzle");
    text.join("\n")
}

/// A puzzle of the demo lesson.
fn lesson(name: &str) -> Draft {
    whole_lesson()
        .into_iter()
        .find(|draft| title(draft) == name)
        .unwrap_or_else(|| panic!("the lesson has no puzzle {name}"))
}

fn whole_lesson() -> Vec<Draft> {
    pgn_files("puzzles").iter().flat_map(|f| games(f)).collect()
}

/// All puzzles, and of each the move is to be found, also where students choose from
/// some or say yes or no.
fn whole_lesson_as_moves() -> Vec<Draft> {
    let mut drafts = whole_lesson();
    for draft in &mut drafts {
        let edit = Edit::SetTag {
            name: Posed::TAG.to_owned(),
            value: None,
        };
        draft.apply(&edit).expect("a tag can be set");
    }
    drafts
}

/// What is known of a puzzle, and why its key works.
fn judged(draft: &Draft) -> (Known, Option<Explanation>) {
    let mut known = Known::default();
    let mut judge = Judge::new(16 << 20);
    check::check(draft, &mut known, &mut judge, &mut Unwatched);
    let puzzle = Resolved::of(draft).into_puzzle().ok();
    let inquiry = puzzle.and_then(|puzzle| Inquiry::of(&puzzle, &known));
    let explained = inquiry.map(|i| {
        let explain = || Analyst::new(16 << 20).explain(&i, &mut Unwatched);
        keyproof_tongues::of_inquiry(&i).speaks(explain)
    });
    (known, explained)
}

/// Publishes puzzles as a student's file. One that comes several times is judged once.
fn publish(drafts: &[Draft], to: &Path) -> PathBuf {
    let mut known: Vec<(Known, Option<Explanation>)> = Vec::new();
    for (i, draft) in drafts.iter().enumerate() {
        let earlier = drafts[..i].iter().position(|other| other == draft);
        known.push(earlier.map_or_else(|| judged(draft), |same| known[same].clone()));
    }
    lay_out(drafts, &known, to)
}

/// Writes a student's file of puzzles and what is known of each.
fn lay_out(drafts: &[Draft], known: &[(Known, Option<Explanation>)], to: &Path) -> PathBuf {
    let template = std::fs::read_to_string(page("student.html")).expect("a built page");
    let posed: Vec<Resolved> = drafts.iter().map(Resolved::of).collect();
    let items: Vec<Item> = posed
        .iter()
        .zip(known)
        .map(|(resolved, (known, explained))| Item {
            resolved,
            known,
            explanation: explained.as_ref(),
        })
        .collect();
    let language = drafts[0].tag("Language").unwrap_or("en");
    let html = keyproof_tongues::of_game(&drafts[0])
        .speaks(|| publish::student_page(&template, title(&drafts[0]), language, &items))
        .expect("a template with all its marks");
    std::fs::write(to, html).expect("a file that can be written");
    to.to_owned()
}

/// Tools from npm that `cargo xtask setup` has installed.
fn npm(path: &str) -> PathBuf {
    let file = root().join(".tools/node/node_modules").join(path);
    assert!(file.exists(), "{} is there", file.display());
    file
}

/// Puts a text into the authoring page by its paste box.
async fn paste(browser: &Browser, text: &str) {
    browser.press("Paste").await;
    browser.type_into("#paste-text", text).await;
    browser.press("Read it").await;
}

/// Opens a text by the paste box without typing it key by key.
async fn paste_whole(browser: &Browser, text: &str) {
    browser.press("Paste").await;
    browser.find("#paste-text").await;
    browser
        .script(
            "deep('#paste-text')[0].value = arguments[0];",
            vec![json!(text)],
        )
        .await;
    browser.press("Read it").await;
}

/// Opens the authoring page from disk.
async fn open_desk(browser: &Browser) -> String {
    let url = file_url(&page("keyproof.html"));
    browser.go(&url).await;
    browser.named("Open the example").await;
    url
}

/// How the student plays.
#[derive(Clone, Copy)]
enum Way {
    Mouse,
    Keys,
    Fingers,
    Typing,
}

/// Opens the leaf of this number, from 0, and waits until it is.
async fn open_leaf(browser: &Browser, leaf: u64) {
    browser
        .script("deep('.to-leaf')[arguments[0]].click();", vec![json!(leaf)])
        .await;
    let open = "return deep('.to-leaf')[arguments[0]].getAttribute('aria-expanded') === 'true';";
    browser.until("the leaf", open, vec![json!(leaf)]).await;
}

/// Plays a move on the student's page once it is the student's turn.
async fn play(browser: &Browser, way: Way, turn: usize, from: &str, to: &str) {
    browser.until_open().await;
    match way {
        Way::Mouse if turn.is_multiple_of(2) => browser.drag(from, to).await,
        Way::Mouse => browser.click(from, to).await,
        Way::Keys => browser.keys(from, to).await,
        Way::Fingers if turn.is_multiple_of(2) => browser.tap(from, to).await,
        Way::Fingers => browser.swipe(from, to).await,
        Way::Typing => {
            let field = ".kp-typed input";
            browser.type_into(field, &format!("{from}{to}\n")).await;
        }
    }
}

/// Presses one of the student's controls that are seldom needed.
async fn press_rare(browser: &Browser, name: &str) {
    let folded = "return deep('.kp-rare:not([hidden])').length === 0;";
    if browser.script(folded, vec![]).await == json!(true) {
        browser.press("More").await;
    }
    browser.press(name).await;
}

/// The text of a draft, and what a second reading of it is worth.
fn reread(text: &str) -> Draft {
    let mut drafts = keyproof_tests::parse(text, "what the page saved");
    assert_eq!(drafts.len(), 1, "{text}");
    let draft = drafts.remove(0);
    assert_eq!(pgn_write::write(&draft), text, "saved in export format");
    draft
}

/// The first moves of a draft, in SAN.
fn first_moves(draft: &Draft) -> Vec<String> {
    let resolution = draft.resolve();
    let start = resolution.start.as_ref().expect("a legal position");
    let root = draft.node(keyproof::draft::NodeId::ROOT).expect("a root");
    root.children
        .iter()
        .map(|&c| {
            let step = resolution.steps[c.0 as usize]
                .as_ref()
                .expect("a legal move");
            moves::san(start, step.mv)
        })
        .collect()
}
