//! The student's page in other languages, and a file of several puzzles printed.

use keyproof::draft::Draft;
use keyproof_tests::browser::{Browser, browse, file_url};
use keyproof_tests::parse;
use serde_json::json;

use crate::looks::{on_all_papers, screens};
use crate::{Way, play, publish};

/// A position of our own: the queen is given up for a smothered mate.
fn smothered(tags: &str) -> Draft {
    draft(&format!(
        "[Event \"Zwei Züge\"]\n{tags}[SetUp \"1\"]\n[FEN \"5r1k/6pp/4Q2N/8/8/8/8/6K1 w - - 0 1\"]\n[Stipulation \"#2\"]\n\n1. Qg8+ (1. Qe5 $2 Rf1+) 1... Rxg8 2. Nf7# *\n"
    ))
}

/// A position of our own: the king steps up to the edge.
fn step(tags: &str) -> Draft {
    draft(&format!(
        "[Event \"Un pas\"]\n{tags}[SetUp \"1\"]\n[FEN \"7k/p7/P4K2/8/8/8/8/1R6 w - - 0 1\"]\n[Stipulation \"#2\"]\n\n1. Kg6 (1. Kf7 $1 Kh7 2. Rh1#) 1... Kg8 2. Rb8# *\n"
    ))
}

fn draft(text: &str) -> Draft {
    parse(text, "a puzzle").remove(0)
}

async fn open(browser: &Browser, drafts: &[Draft]) {
    let file = publish(drafts, &browser.folder.join("tongue.html"));
    browser.go(&file_url(&file)).await;
    browser.until_open().await;
}

async fn type_move(browser: &Browser, text: &str) {
    browser.until_open().await;
    let line = browser.find(".kp-typed input").await;
    line.clear().await.expect("a line");
    browser
        .type_into(".kp-typed input", &format!("{text}\n"))
        .await;
}

/// The names that a screen reader is told, of all that is there.
async fn names(browser: &Browser) -> String {
    let script = "return deep('[aria-label], [title]').map((e) => e.getAttribute('aria-label') + '\\n' + e.title).join('\\n');";
    let names = browser.script(script, vec![]).await;
    names.as_str().expect("names").to_owned()
}

/// No sentence of the program is left in English.
async fn assert_no_english(browser: &Browser) {
    let all = [browser.text(".kp-page").await, names(browser).await].concat();
    let words = all.split(|c: char| !c.is_ascii_alphabetic());
    let english = [
        "the", "move", "and", "White", "Black", "white", "black", "king", "queen", "is", "board",
    ];
    let left: Vec<&str> = words.filter(|word| english.contains(word)).collect();
    assert!(left.is_empty(), "{left:?} in {all}");
}

async fn language(browser: &Browser, selector: &str) -> String {
    let script = "return deep(arguments[0])[0].closest('[lang]').lang;";
    let lang = browser.script(script, vec![json!(selector)]).await;
    lang.as_str().expect("a language").to_owned()
}

#[test]
fn a_german_puzzle_is_solved_in_german() {
    browse("german", async |browser| {
        browser.window(360, 800).await;
        open(&browser, &[smothered("[Language \"de-AT\"]\n")]).await;
        browser
            .until_text(".kp-task", "Weiß am Zug: Matt in 2 Zügen.")
            .await;
        browser.until_text(".kp-turn", "Weiß am Zug").await;
        assert_no_english(&browser).await;
        let names = names(&browser).await;
        for name in ["e6, weiße Dame", "Stellung, Weiß am Zug", "h1, leer"] {
            assert!(names.contains(name), "{name} in {names}");
        }
        let root = browser
            .script("return document.documentElement.lang", vec![])
            .await;
        assert_eq!(root, json!("de-AT"));
        assert_eq!(language(&browser, ".kp-task").await, "de");
        assert_eq!(language(&browser, ".kp-head h1").await, "de-AT");
        on_all_papers(&browser, "german").await;

        type_move(&browser, "Dh5").await;
        browser
            .until_text(".kp-fault", "„Dh5“ ist hier nicht regelgerecht")
            .await;
        type_move(&browser, "De5").await;
        browser.until_text(".kp-verdict", "1.De5 ").await;
        browser.until_man("e6", "weiße Dame").await;
        type_move(&browser, "Dg8").await;
        browser
            .until_text(
                ".kp-verdict",
                "1.Dg8+ ist richtig. Nun 1...Txg8: Matt in einem Zug.",
            )
            .await;
        type_move(&browser, "Sf7").await;
        browser
            .until_text(
                ".kp-verdict",
                "2.Sf7# ist richtig: Matt. Gelöst, mit einem falschen Zug.",
            )
            .await;
        browser.until_text(".kp-whys", "Warum es geht").await;
        browser.until_text(".kp-whys", "ersticktes Matt").await;
        browser.until_text(".kp-turn", "Gelöst").await;
        browser.press("Lösung zeigen").await;
        browser.until_text(".kp-solution", "1.Dg8+!").await;
        assert_no_english(&browser).await;
        on_all_papers(&browser, "german-solved").await;
        browser.assert_no_errors().await;
    });
}

/// In French R is the king (PGN standard, 8.2.3.2); what gives no legal move is
/// read in English.
#[test]
fn in_french_the_king_is_r() {
    browse("french", async |browser| {
        open(&browser, &[step("[Language \"fr\"]\n")]).await;
        browser
            .until_text(".kp-task", "Trait aux Blancs : mat en 2 coups.")
            .await;
        type_move(&browser, "Rg6").await;
        browser.until_text(".kp-verdict", "1.Rg6 est bon.").await;
        browser
            .until_text(".kp-verdict", "Maintenant 1...Rg8")
            .await;
        type_move(&browser, "Rb8").await;
        browser
            .until_text(
                ".kp-verdict",
                "2.Tb8# est bon : mat. Résolu, sans coup faux.",
            )
            .await;
        assert_no_english(&browser).await;
        browser.assert_no_errors().await;
        on_all_papers(&browser, "french-solved").await;
    });
}

#[test]
fn spanish_is_spoken_with_figurines_where_the_author_asks_for_them() {
    browse("spanish", async |browser| {
        open(
            &browser,
            &[smothered("[Language \"es\"]\n[Pieces \"figurines\"]\n")],
        )
        .await;
        browser
            .until_text(".kp-task", "Juegan blancas y dan mate en 2.")
            .await;
        assert_no_english(&browser).await;
        type_move(&browser, "Dg8").await;
        browser
            .until_text(".kp-verdict", "1.♕g8+ es correcta. Ahora 1...♖xg8")
            .await;
        type_move(&browser, "Cf7").await;
        browser
            .until_text(".kp-verdict", "2.♘f7# es correcta: mate.")
            .await;
        on_all_papers(&browser, "spanish-solved").await;
    });
}

/// There is no file for Portuguese: the program speaks English and says so, and
/// the author's words keep their language.
#[test]
fn a_language_without_a_file_falls_back_to_english() {
    browse("portuguese", async |browser| {
        open(&browser, &[smothered("[Language \"pt\"]\n")]).await;
        browser
            .until_text(".kp-task", "White to move and mate in 2.")
            .await;
        let root = browser
            .script("return document.documentElement.lang", vec![])
            .await;
        assert_eq!(root, json!("pt"));
        assert_eq!(language(&browser, ".kp-task").await, "en");
        assert_eq!(language(&browser, ".kp-head h1").await, "pt");
        play(&browser, Way::Typing, 0, "e6", "g8").await;
        browser.until_text(".kp-verdict", "1.Qg8+ is right.").await;
    });
}

/// Printed, a file of several puzzles is all their diagrams with their tasks, and
/// no solution.
#[test]
fn several_puzzles_are_all_printed() {
    browse("print-all", async |browser| {
        let puzzles = [smothered("[Language \"de\"]\n"), step(""), smothered("")];
        open(&browser, &puzzles).await;
        assert_eq!(browser.count(".kp-still").await, 0, "on the screen");
        browser
            .devtools("Emulation.setEmulatedMedia", json!({ "media": "print" }))
            .await;
        assert_eq!(browser.count(".kp-still table").await, 3);
        assert_eq!(browser.count(".kp-still .kp-task").await, 3);
        assert_eq!(browser.count(".kp-still details").await, 0);
        assert_eq!(browser.count(".kp-page").await, 0);
        let pdf = browser
            .devtools("Page.printToPDF", json!({ "preferCSSPageSize": true }))
            .await;
        use base64::Engine as _;
        let bytes = base64::engine::general_purpose::STANDARD
            .decode(pdf["data"].as_str().expect("a PDF"))
            .expect("base64");
        let printed = screens("print-all").with_extension("pdf");
        std::fs::create_dir_all(printed.parent().expect("a folder")).expect("a folder");
        std::fs::write(printed, bytes).expect("a file");
    });
}
