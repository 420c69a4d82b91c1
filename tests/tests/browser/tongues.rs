//! The student's page and the desk in other languages, and a file of several puzzles
//! printed.

use std::collections::BTreeMap;

use keyproof::draft::Draft;
use keyproof_tests::browser::{Browser, browse, file_url, page};
use keyproof_tests::{parse, root};
use serde_json::json;
use thirtyfour::Key;

use crate::looks::{on_all_papers, printed};
use crate::shelf::{many, open_file};
use crate::{Way, open_desk, paste, play, publish, staircase};

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
            .until_text(".kp-fault", "„Dh5“ ist kein regelgemäßer Zug von Weiß")
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
        browser.until_text(".kp-whys", "Begründung").await;
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
            .until_text(".kp-verdict", "2.Tb8# est bon : mat. Résolu, sans erreur.")
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
        browser.as_printed().await;
        assert_eq!(browser.count(".kp-still table").await, 3);
        assert_eq!(browser.count(".kp-still .kp-task").await, 3);
        assert_eq!(browser.count(".kp-still details").await, 0);
        assert_eq!(browser.count(".kp-page").await, 0);
        assert_eq!(printed(&browser, "print-all").await, 1);
    });
}

/// Chooses a language in the desk's head.
async fn speak(browser: &Browser, tag: &str) {
    browser.find("#tongue").await;
    browser
        .script(
            "const select = deep('#tongue')[0];
             select.focus({ preventScroll: true });
             select.value = arguments[0];
             select.dispatchEvent(new Event('change', { bubbles: true }));",
            vec![json!(tag)],
        )
        .await;
}

async fn page_language(browser: &Browser) -> String {
    let script = "return document.documentElement.lang";
    let lang = browser.script(script, vec![]).await;
    lang.as_str().expect("a language").to_owned()
}

/// The desk speaks what is chosen in its head at once, also after a reload; the
/// words of a puzzle stay as they are.
#[test]
fn the_desk_speaks_the_language_that_is_chosen() {
    browse("desk-german", async |browser| {
        open_desk(&browser).await;
        assert_eq!(page_language(&browser).await, "en");
        browser.press("Open the example").await;
        browser.until_text(".verdict-line", "Sound").await;
        browser
            .until_text(".solution", "Natural, since b6 hangs.")
            .await;
        speak(&browser, "de").await;
        browser.until_text(".verdict-line", "Korrekt").await;
        browser.until_text(".head", "Sicherung").await;
        browser
            .until_text(".solution", "Natural, since b6 hangs.")
            .await;
        assert_eq!(page_language(&browser).await, "de");
        browser.until_focus("tongue").await;

        speak(&browser, "en").await;
        browser.until_text(".head", "Backup").await;
        paste(&browser, &staircase()).await;
        browser.until_text(".finding", "1.Rb7").await;
        speak(&browser, "de").await;
        browser.until_text(".verdict-line", "Inkorrekt").await;
        let finding = "Auch 1.Tb7 setzt in 2 Zügen matt und ist nicht angegeben.";
        browser.until_text(".finding", finding).await;
        browser
            .until_text(".kept", "in diesem Browser gespeichert")
            .await;

        browser.reload().await;
        browser.until_text(".verdict-line", "Inkorrekt").await;
        browser.until_text(".head", "Sicherung").await;
        browser.until_text(".finding", finding).await;
        assert_eq!(page_language(&browser).await, "de");
        browser.window(360, 800).await;
        assert_eq!(browser.over_the_edge().await, json!(0));
        browser.assert_no_errors().await;
    });
}

async fn value_of(browser: &Browser, selector: &str) -> String {
    let script = "return deep(arguments[0])[0].value;";
    let value = browser.script(script, vec![json!(selector)]).await;
    value.as_str().expect("a field").to_owned()
}

/// What was begun stays as it is when the language is changed: what is typed,
/// unfolded, chosen or held; and its words are said anew.
#[test]
fn nothing_that_was_begun_is_lost_with_the_language() {
    browse("desk-begun", async |browser| {
        open_desk(&browser).await;
        open_file(&browser, "two.pgn", &many(2)).await;
        paste(&browser, &staircase()).await;
        browser.until_text(".finding", "1.Rb7").await;

        browser.press("Choose several").await;
        browser.press("All shown").await;
        browser.type_into("#label", "Mon").await;
        browser.press("Paste").await;
        browser.type_into("#paste-text", "1. e4 e5 (1... c").await;
        browser.type_into("#typed-move", "Qx9\n").await;
        browser.until_text(".kp-fault", "is not a move").await;
        browser.press("Moves in your words").await;
        let kept = async |tag: &str, fault: &str, verdict: &str| {
            browser.window(1280, 560).await;
            let list = "const list = deep('.to-list')[0];
                        if (list.getAttribute('aria-expanded') === 'false') list.click();";
            browser.script(list, vec![]).await;
            let down = "deep('.contents')[0].scrollTop = 150; return deep('.contents')[0].scrollTop > 100;";
            browser.until("the list scrolls", down, vec![]).await;
            speak(&browser, tag).await;
            browser.until_text(".verdict-line", verdict).await;
            let scrolled = "return deep('.contents')[0].scrollTop > 100;";
            assert_eq!(browser.script(scrolled, vec![]).await, json!(true));
            for (field, value) in [
                ("#label", "Mon"),
                ("#paste-text", "1. e4 e5 (1... c"),
                ("#typed-move", "Qx9"),
            ] {
                assert_eq!(value_of(&browser, field).await, value, "{field}");
            }
            browser.until_text(".kp-fault", fault).await;
            let state = "return [deep('.move-keys').some((e) => e.open), deep('.choose input').filter((box) => box.checked).length,
                                 focused().id];";
            let state = browser.script(state, vec![]).await;
            assert_eq!(state, json!([true, 3, "tongue"]));
        };
        kept("de", "ist kein lesbarer Zug", "Inkorrekt").await;
        let names_now = names(&browser).await;
        for name in ["a1, leer", "weißer König", "weißer Turm"] {
            assert!(names_now.contains(name), "{name} in {names_now}");
        }
        assert!(!names_now.contains("white"), "{names_now}");
        browser.until_text(".kp-typed button", "Ziehen").await;
        browser.until_text(".solution .role", "Schlüssel").await;
        on_all_papers(&browser, "desk-begun").await;
        kept("en", "is not a move", "Unsound").await;
        browser.until_text(".solution .role", "key").await;
        assert!(!names(&browser).await.contains("weißer"));

        // A pawn on its last rank goes on waiting, and a man in the hand stays.
        browser.press("Close").await;
        paste(&browser, "7k/P7/8/8/8/8/8/K7 w - - 0 1").await;
        browser.until_man("a7", "white pawn").await;
        browser.drag("a7", "a8").await;
        browser.find(".kp-chooser [aria-label='white queen']").await;
        speak(&browser, "fr").await;
        browser
            .find(".kp-chooser [aria-label='dame blanche']")
            .await;
        browser.until_focus("tongue").await;
        browser
            .find(".kp-chooser [aria-label='tour blanche']")
            .await;
        browser
            .script("deep('.kp-chooser button')[1].click();", vec![])
            .await;
        browser.until_man("a8", "tour blanche").await;
        speak(&browser, "en").await;
        browser.press("Set up the position").await;
        browser.press("white queen").await;
        speak(&browser, "es").await;
        browser
            .find(".kp-man[aria-pressed=true][aria-label='dama blanca']")
            .await;
        browser.assert_no_errors().await;
    });
}

/// The English texts of the program that can be told from German: whole, or where
/// they have holes the longest piece of them, if that has some words.
fn english_texts() -> Vec<(String, bool)> {
    let file = std::fs::read_to_string(root().join("web/locales/de.toml")).expect("German");
    let parts: BTreeMap<String, BTreeMap<String, String>> =
        toml::from_str(&file).expect("a locale file");
    let pairs: Vec<(String, String)> = parts.into_values().flatten().collect();
    let pieces = |text: &str| {
        let pieces = text.split('{').map(|piece| match piece.split_once('}') {
            Some((_, after)) => after.trim().to_owned(),
            None => piece.trim().to_owned(),
        });
        pieces.max_by_key(String::len).unwrap_or_default()
    };
    let wide = |text: &str| text.split_whitespace().count() > 2;
    let english = pairs.iter().filter_map(|(english, german)| {
        let whole = !english.contains('{');
        let piece = if whole {
            english.clone()
        } else {
            pieces(english)
        };
        let within = wide(&piece);
        let told = english != german && (whole || within);
        // Some words are the same in both: "Name", "Partie".
        let german_too = pairs.iter().any(|(_, german)| match within {
            true => german.contains(&piece),
            false => *german == piece,
        });
        (told && !german_too).then_some((piece, within))
    });
    english.collect()
}

/// Fails if an English text of the program stands anywhere in the page, seen or
/// folded, as text or as the name of something.
async fn assert_german(browser: &Browser, view: &str, english: &[(String, bool)]) {
    let script = "
        const german = (element) => element.closest('[lang]').lang === 'de' && !element.closest('script, style, noscript, textarea');
        const texts = [document.title];
        const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
        while (walk.nextNode()) {
          if (german(walk.currentNode.parentElement)) texts.push(walk.currentNode.data);
        }
        for (const element of [...document.body.querySelectorAll('*')].filter(german)) {
          for (const name of ['aria-label', 'aria-description', 'title', 'placeholder', 'alt', 'data-refused']) {
            if (element.hasAttribute(name)) texts.push(element.getAttribute(name));
          }
        }
        return texts.map((text) => text.replace(/ +/g, ' ').trim()).filter(Boolean);";
    let texts = browser.script(script, vec![]).await;
    let texts: Vec<&str> = texts
        .as_array()
        .expect("texts")
        .iter()
        .filter_map(|text| text.as_str())
        .collect();
    assert!(texts.len() > 20, "{view}: {texts:?}");
    let left = texts.iter().filter_map(|text| {
        let found = english.iter().find(|(piece, within)| match within {
            true => text.contains(piece.as_str()),
            false => text == piece,
        });
        Some((*text, &found?.0))
    });
    let left: Vec<(&str, &String)> = left.collect();
    assert!(left.is_empty(), "{view} is English in part: {left:#?}");
}

/// A game of our own making with a moment, asked in German.
const PARTIE: &str = "[Event \"Brett vier\"]\n[White \"Weide\"]\n[Black \"Esche\"]\n[Language \"de\"]\n\n1. e4 e5 2. Bc4 Nc6 3. Qh5 Nf6 4. Nf3 Nxh5 *\n\n";

/// The files of the languages say all there is to say (`complete.rs` in
/// `crates/tongues`); here nothing is left in the page that does not ask them.
#[test]
fn no_english_is_left_where_the_desk_speaks_german() {
    browse("desk-no-english", async |browser| {
        let english = english_texts();
        assert!(english.len() > 600, "{}", english.len());
        open_desk(&browser).await;
        assert!(
            english.iter().any(|(text, _)| text == "Open the example"),
            "a text that stands in this page"
        );
        speak(&browser, "de").await;
        browser.named("Beispiel öffnen").await;
        let german = async |view: &str| assert_german(&browser, view, &english).await;
        german("the empty desk").await;
        browser.reload().await;
        browser.named("Beispiel öffnen").await;
        german("the empty desk, loaded again").await;

        // A mate in two with a cook, a try and a remark; and one that has faults.
        let puzzle = staircase().replace(
            "[Event \"The staircase\"]",
            "[Event \"Die Treppe\"]\n[Language \"de\"]",
        );
        let broken = "[Event \"Ohne Ende\"]\n[Language \"de\"]\n[FEN \"7k/8/8/8/8/8/R7/1R2K3 w - - 0 1\"]\n[Stipulation \"#2\"]\n\n1. Ra7 (Kg8 *\n";
        open_file(
            &browser,
            "alles.pgn",
            &[&puzzle, "\n\n", PARTIE, broken].concat(),
        )
        .await;
        browser.until_text(".contents", "Brett vier").await;
        browser.press("Die Treppe").await;
        browser.until_text(".verdict-line", "Inkorrekt").await;
        german("a puzzle with a cook").await;
        for (name, view) in [
            ("Stift", "the pencil"),
            ("Mehrere auswählen", "choosing several"),
            ("Alle gezeigten", "with all chosen"),
            ("Suchen", "the search"),
        ] {
            browser.press(name).await;
            german(view).await;
        }
        browser.press("Suchen").await;
        browser.press("Mehrere auswählen").await;
        browser.press("Stellung aufbauen").await;
        browser.find(".setup").await;
        german("setting up").await;
        browser.press("Fertig").await;

        browser.press("Ohne Ende").await;
        browser.until_text(".verdict", "alles.pgn").await;
        german("a text with faults").await;

        browser.press("Weide").await;
        browser.until_text(".moments", "Momente").await;
        german("a game").await;
        browser.press("Momente suchen").await;
        browser.until_text(".moments .entry", "Matt").await;
        german("its moments").await;

        browser.held(Key::Control, "k").await;
        browser.find("[role=dialog]").await;
        german("the keys and commands").await;
        browser.assert_no_errors().await;
    });
}

/// What stands in the page before its program is there is said in the language
/// that the browser asks for, and so is what a browser without scripts shows.
#[test]
fn what_stands_around_the_desk_is_in_its_language() {
    browse("desk-around", async |browser| {
        open_desk(&browser).await;
        let license =
            "is free software under the GNU General Public License, version 3 or any later";
        browser.until_text("#keyproof-imprint", license).await;
        speak(&browser, "fr").await;
        browser
            .until_text(
                "#keyproof-imprint",
                "est un logiciel libre sous la GNU General Public License",
            )
            .await;
        let html = std::fs::read_to_string(page("keyproof.html")).expect("a built page");
        assert!(html.contains("<p lang=\"de\">Keyproof prüft Aufgaben"));

        // The same page without its program: what it shows then stays.
        let (head, rest) = html.split_once("id=\"keyproof-parts\"").expect("a program");
        let (_, rest) = rest.split_once('>').expect("a program");
        let bare = format!(
            "{head}id=\"keyproof-parts\" data-parts=\"1 1 1\">{}",
            &rest[rest.find("</script>").expect("an end")..]
        );
        let file = browser.folder.join("bare.html");
        std::fs::write(&file, bare).expect("a file");
        browser.go(&file_url(&file)).await;
        browser
            .until_text("#keyproof", "Keyproof ne peut pas")
            .await;
        browser
            .until_text("#keyproof", "Installation du bureau")
            .await;
        assert_eq!(page_language(&browser).await, "fr");
    });
}

/// Before anything is chosen the desk speaks the first language that the browser
/// asks for and that there is a file for.
#[test]
fn the_desk_begins_in_the_browsers_language() {
    browse("desk-french", async |browser| {
        let agent = browser.script("return navigator.userAgent", vec![]).await;
        browser
            .devtools(
                "Emulation.setUserAgentOverride",
                json!({ "userAgent": agent, "acceptLanguage": "pt-BR,fr-CH,de" }),
            )
            .await;
        browser.go(&file_url(&page("keyproof.html"))).await;
        browser.named("Ouvrir l\u{2019}exemple").await;
        assert_eq!(page_language(&browser).await, "fr");
        browser.assert_no_errors().await;
    });
}
