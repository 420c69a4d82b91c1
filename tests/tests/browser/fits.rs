//! The student's page in every window: the board as large as the window allows,
//! what is said and the hint in sight beside it, also above an on-screen keyboard;
//! and the controls, of which the rare ones are folded away.

use base64::Engine as _;
use keyproof::account::Account;
use keyproof_tests::browser::{Browser, browse, file_url};
use serde_json::json;
use thirtyfour::Key;

use crate::looks::{on_all_papers, screens};
use crate::{Way, lesson, play, press_rare, publish};

/// Windows in CSS pixels: phones upright and on their side, a small phone, a tablet
/// both ways, a desk, and windows of 1280 and 1440 by 800 at 400 %.
const WINDOWS: [(u32, u32); 9] = [
    (360, 740),
    (740, 360),
    (320, 568),
    (568, 320),
    (820, 1180),
    (1180, 820),
    (1440, 900),
    (320, 200),
    (360, 200),
];

/// Left, top, right and bottom of an element in the window.
async fn edges(browser: &Browser, selector: &str) -> [f64; 4] {
    let found = browser
        .script(
            "const r = deep(arguments[0]).find(seen).getBoundingClientRect();
             return [r.left, r.top, r.right, r.bottom];",
            vec![json!(selector)],
        )
        .await;
    let edge = |i: usize| found[i].as_f64().expect("an edge");
    [edge(0), edge(1), edge(2), edge(3)]
}

#[test]
fn the_board_fills_the_window_and_what_is_said_stays_in_sight() {
    browse("fits", async |browser| {
        let puzzles = [lesson("Ask for a knight"), lesson("Less is more")];
        let file = publish(&puzzles, &browser.folder.join("two.html"));
        for (width, height) in WINDOWS {
            if width < browser.narrowest() {
                println!(
                    "impossible in {:?}: a window {width} px wide",
                    browser.engine
                );
                continue;
            }
            browser.window(width, height).await;
            browser.go(&file_url(&file)).await;
            browser.script("localStorage.clear();", vec![]).await;
            browser.reload().await;
            browser.until_open().await;
            // It fits once the window has told of its size, which a slow one does late.
            browser.until_still(".kp-board").await;
            let window = format!("{width} x {height}");
            // What scrolls takes a part of the window in engines that draw it beside.
            let view = "return document.documentElement.clientWidth;";
            let view = browser.script(view, vec![]).await;
            let (w, h) = (view.as_f64().expect("a width"), f64::from(height));
            let [left, top, right, bottom] = edges(&browser, ".kp-board").await;
            let side = right - left;
            if w > h && w > 500.0 {
                // The line below the board takes two lines of text.
                assert!(
                    top >= -1.0 && bottom <= h + 1.0,
                    "{window}: {top} to {bottom}"
                );
                assert!(side > (h - 75.0).min(w * 0.52), "{window}: {side}");
            } else {
                // Magnified, the board is wider than the window is high.
                let room = if h > 300.0 { h - 190.0 } else { w };
                assert!(side > (w - 40.0).min(room), "{window}: {side}");
            }
            browser.press("Hint 1").await;
            play(&browser, Way::Typing, 0, "g7", "g8q").await;
            browser.until_text(".kp-verdict", "no check").await;
            // Wherever in the work the reader is.
            for place in ["start", "center", "end"] {
                browser
                    .script(
                        "deep('.kp-place')[0].scrollIntoView({ block: arguments[0] });",
                        vec![json!(place)],
                    )
                    .await;
                let [_, top, _, bottom] = edges(&browser, ".kp-verdict p").await;
                assert!(
                    top >= -1.0 && bottom <= h + 1.0,
                    "{window}: {top} to {bottom}"
                );
                // Not scrolled away among the controls, which may be once he types on.
                browser
                    .until(
                        "what is said",
                        "const [said, all] = ['.kp-verdict p', '.kp-say'].map((part) => deep(part)[0].getBoundingClientRect());
                         return said.top >= all.top - 1;",
                        vec![],
                    )
                    .await;
                if h > 300.0 {
                    let [_, top, _, bottom] = edges(&browser, ".kp-hints li").await;
                    assert!(
                        top >= -1.0 && bottom <= h + 1.0,
                        "{window}: {top} to {bottom}"
                    );
                }
            }
            for paper in browser.papers() {
                browser.paper(paper).await;
                let name = format!("fits-{width}x{height}-{paper}");
                browser.view(&screens(&name)).await;
            }
            browser.paper("light").await;
            assert_eq!(browser.over_the_edge().await, json!(0), "{window}");
        }
    });
}

/// How much ink each empty dark square has in a picture of the window, of 255, less a
/// border of it in which it meets the next.
const INK: &str = "
const [picture, squares, done] = arguments;
const image = new Image();
image.onload = () => {
  const canvas = document.createElement('canvas');
  [canvas.width, canvas.height] = [image.width, image.height];
  const paper = canvas.getContext('2d');
  paper.drawImage(image, 0, 0);
  done(squares.map(([left, top, side]) => {
    const [x, y, n] = [Math.ceil(left) + 2, Math.ceil(top) + 2, Math.floor(side) - 4];
    const { data } = paper.getImageData(x, y, n, n);
    let sum = 0;
    for (let i = 0; i < data.length; i += 4) sum += 255 - data[i + 1];
    return sum / n / n;
  }));
};
image.src = `data:image/png;base64,${picture}`;";

/// The hatching is as dense on each square, at one pixel to the unit and at sizes of which
/// a square is no whole number of pixels.
#[test]
fn each_dark_square_is_hatched_alike() {
    browse("hatching", async |browser| {
        let base64 = base64::engine::general_purpose::STANDARD;
        let file = publish(
            &[lesson("Ask for a knight")],
            &browser.folder.join("one.html"),
        );
        for (width, height) in [(360, 740), (768, 900), (1013, 700)] {
            browser.window(width, height).await;
            browser.go(&file_url(&file)).await;
            browser.until_open().await;
            browser
                .script("deep('.kp-board')[0].scrollIntoView(); return 0;", vec![])
                .await;
            let squares = "return deep('[role=grid] [data-square]').filter((cell) => {
                    const [file, rank] = cell.dataset.square;
                    const dark = ('abcdefgh'.indexOf(file) + Number(rank)) % 2 === 1;
                    return dark && cell.getAttribute('aria-label').endsWith('empty') && cell.getBoundingClientRect().bottom < innerHeight - 250;
                }).map((cell) => { const r = cell.getBoundingClientRect(); return [r.left, r.top, r.width]; });";
            let squares = browser.script(squares, vec![]).await;
            let picture = base64.encode(browser.still_picture().await);
            browser.view(&screens(&format!("hatching-{width}"))).await;
            browser.go("about:blank").await;
            let ink = browser
                .driver
                .execute_async(INK, vec![json!(picture), squares]);
            let ink = ink.await.expect("a sum of each").json().clone();
            let ink: Vec<f64> = serde_json::from_value(ink).expect("numbers");
            let (least, most) = ink
                .iter()
                .fold((f64::MAX, 0.0_f64), |(l, m), &sum| (l.min(sum), m.max(sum)));
            println!(
                "{width} x {height}: {} squares, {least:.1} to {most:.1}",
                ink.len()
            );
            assert!(
                ink.len() > 12 && least > 10.0,
                "{width} x {height}: {ink:?}"
            );
            assert!(most < least * 1.15, "{width} x {height}: {ink:?}");
        }
    });
}

/// No driver opens an on-screen keyboard: the browser's own word of how much of the
/// window is left is put in its place (CSSOM View, `VisualViewport`).
#[test]
fn with_the_keyboard_of_a_phone_open_board_line_and_verdict_are_in_sight() {
    browse("keyboard", async |browser| {
        browser.window(360, 740).await;
        let file = publish(
            &[lesson("Ask for a knight")],
            &browser.folder.join("one.html"),
        );
        browser.go(&file_url(&file)).await;
        browser.until_open().await;
        let [left, _, right, _] = edges(&browser, ".kp-board").await;
        browser
            .script(
                "deep('.kp-typed input')[0].focus();
                 Object.defineProperty(visualViewport, 'height', { value: 400, configurable: true });
                 visualViewport.dispatchEvent(new Event('resize'));",
                vec![],
            )
            .await;
        play(&browser, Way::Typing, 0, "g7", "g8q").await;
        browser.until_text(".kp-verdict", "no check").await;
        for part in [".kp-board", ".kp-verdict p", ".kp-typed input"] {
            let [_, top, _, bottom] = edges(&browser, part).await;
            assert!(top >= -1.0 && bottom <= 401.0, "{part}: {top} to {bottom}");
        }
        let [_, _, _, board] = edges(&browser, ".kp-board").await;
        let [_, said, _, _] = edges(&browser, ".kp-say").await;
        assert!(board <= said + 1.0, "{board} is below {said}");
        browser
            .script(
                "Object.defineProperty(visualViewport, 'height', { value: 740 });
                 visualViewport.dispatchEvent(new Event('resize'));",
                vec![],
            )
            .await;
        let [again, _, edge, _] = edges(&browser, ".kp-board").await;
        assert_eq!((again, edge), (left, right));
    });
}

/// The controls stand in one row, and those that are seldom needed behind one
/// button, which works by keys and says whether it is open.
#[test]
fn rare_controls_are_folded_away() {
    browse("rare", async |browser| {
        let file = publish(
            &[lesson("Ask for a knight")],
            &browser.folder.join("one.html"),
        );
        browser.window(360, 740).await;
        browser.go(&file_url(&file)).await;
        browser.until_open().await;
        let row = "const all = deep('.kp-say .kp-tools button').filter(seen);
                   return [all.map((b) => b.textContent).join(), new Set(all.map((b) => b.getBoundingClientRect().top)).size];";
        let found = browser.script(row, vec![]).await;
        assert_eq!(found, json!(["Hint 1 of 2,Show the solution,More", 1]));

        let open = "return deep('[data-do=more]')[0].getAttribute('aria-expanded');";
        assert_eq!(browser.script(open, vec![]).await, json!("false"));
        browser
            .script("deep('[data-do=more]')[0].focus();", vec![])
            .await;
        browser.key(Key::Enter).await;
        assert_eq!(browser.script(open, vec![]).await, json!("true"));
        browser.key(Key::Tab).await;
        let focus = "return focused().textContent;";
        assert_eq!(browser.script(focus, vec![]).await, json!("Start over"));
        browser.key(Key::Escape).await;
        assert_eq!(browser.script(open, vec![]).await, json!("false"));
        assert_eq!(browser.script(focus, vec![]).await, json!("More"));
        // A switch stays for another press; what is done folds them.
        browser.key(Key::Enter).await;
        browser.press("Left-handed").await;
        browser.press("Left-handed").await;
        browser.press("Turn the board").await;
        assert_eq!(browser.script(open, vec![]).await, json!("false"));
        browser
            .until(
                "the focus on the board",
                "return !!focused().dataset.square;",
                vec![],
            )
            .await;
    });
}

/// While a refutation is shown, any move, tap or key ends the showing, and the board
/// takes moves in the same moment.
#[test]
fn any_press_ends_what_is_shown() {
    browse("ends", async |browser| {
        let file = publish(
            &[lesson("Castling comes second")],
            &browser.folder.join("one.html"),
        );
        browser.go(&file_url(&file)).await;
        let presses = [
            "deep('.kp-verdict p')[0].click();",
            "deep('.kp-head h1')[0].dispatchEvent(new KeyboardEvent('keydown', { key: 'n', bubbles: true, composed: true }));",
            "deep('[data-square=d5]')[0].dispatchEvent(new PointerEvent('pointerdown', { bubbles: true, composed: true, isPrimary: true }));",
        ];
        for press in presses {
            browser.until_open().await;
            let open = "deep('.kp-board.kp-open').length";
            // The move, the press and what came of it, before a pause can be over.
            let seen = browser
                .script(
                    &format!(
                        "const line = deep('.kp-typed input')[0];
                         line.value = 'Re3';
                         line.dispatchEvent(new KeyboardEvent('keydown', {{ key: 'Enter', bubbles: true, composed: true }}));
                         const shown = {open};
                         {press}
                         return [shown, {open}];"
                    ),
                    vec![],
                )
                .await;
            assert_eq!(seen, json!([0, 1]), "{press}");
            browser.until_man("h3", "white rook").await;
        }
        // A move typed meanwhile is taken too.
        play(&browser, Way::Typing, 0, "h3", "e3").await;
        browser.type_into(".kp-typed input", "Rh4\n").await;
        browser
            .until_text(".kp-verdict", "Shuts the fourth rank")
            .await;
    });
}

/// Words that are written from right to left stand in that direction, and leave the
/// moves beside them from left to right (Unicode Standard Annex 9, as HTML's `dir`
/// has it: `auto` isolates).
#[test]
fn each_text_has_the_direction_of_its_letters() {
    browse("direction", async |browser| {
        let text = "[Event \"\u{5e9}\u{5d7}\u{5de}\u{5d8} 1.e4\"]\n[FEN \"6k1/5ppp/8/8/8/8/8/R5K1 w - - 0 1\"]\n[Stipulation \"#1\"]\n\n\
            {\u{5e6}\u{5e8}\u{5d9}\u{5d7} 1.Ra8 \u{5d8}\u{5d5}\u{5d1}} 1. Ra8# {\u{5de}\u{5d8} (Ra8#)} *\n";
        let drafts = keyproof_tests::parse(text, "a puzzle with Hebrew words");
        let file = publish(&drafts, &browser.folder.join("one.html"));
        browser.go(&file_url(&file)).await;
        browser.until_open().await;
        browser.press("Show the solution").await;
        browser.until_text(".kp-solution", "1.Ra8#").await;
        let directions = "return arguments[0].map((s) => { const style = getComputedStyle(deep(s)[0]); return style.direction + ' ' + style.unicodeBidi; });";
        let asked = json!([
            ".kp-head h1",
            ".kp-before p",
            ".kp-solution .kp-words",
            ".kp-head .kp-task"
        ]);
        // A block is a paragraph of its own, however that is called.
        let page = "return getComputedStyle(deep('.kp-page')[0]).direction;";
        assert_eq!(browser.script(page, vec![]).await, json!("ltr"));
        let found = browser.script(directions, vec![asked]).await;
        assert_eq!(
            found,
            json!(["rtl isolate", "rtl isolate", "rtl isolate", "ltr isolate"])
        );
        // The move stands left of its words, as the line runs.
        let order = browser
            .script(
                "const [mv] = deep('.kp-solution button'), [words] = deep('.kp-solution .kp-words');
                 return mv.getBoundingClientRect().right <= words.getBoundingClientRect().left + 1;",
                vec![],
            )
            .await;
        assert_eq!(order, json!(true));
    });
}

/// A plain board is chosen once, and found again in any file of this browser.
#[test]
fn a_plain_board_is_kept() {
    browse("plain", async |browser| {
        let puzzles = [lesson("Ask for a knight"), lesson("Less is more")];
        let file = publish(&puzzles, &browser.folder.join("two.html"));
        browser.go(&file_url(&file)).await;
        browser.until_open().await;
        let drawn = "const [style] = ['.kp-hatch', '.kp-diagram text'].map((s) => getComputedStyle(deep(s)[0]));
                     return [style.strokeWidth, getComputedStyle(deep('.kp-diagram text')[0]).fontSize];";
        let hatched = browser.script(drawn, vec![]).await;
        press_rare(&browser, "Plain board").await;
        let plain = browser.script(drawn, vec![]).await;
        assert_eq!(plain, json!(["4.6px", "16px"]));
        assert_ne!(plain, hatched);
        on_all_papers(&browser, "plain").await;
        browser.reload().await;
        browser.until_open().await;
        assert_eq!(browser.script(drawn, vec![]).await, plain);
        press_rare(&browser, "Plain board").await;
        assert_eq!(browser.script(drawn, vec![]).await, hatched);

        // What was missed is asked again once all is done.
        browser.press("Show the solution").await;
        browser
            .until_text(".kp-turn", "The solution is shown")
            .await;
        assert_eq!(browser.count("[data-do=again]").await, 0);
        browser.press("Next puzzle").await;
        browser.press("Show the solution").await;
        browser.press("Again, what was missed (2)").await;
        browser.until_text(".kp-head h1", "Ask for a knight").await;
        play(&browser, Way::Mouse, 1, "g7", "g8").await;
        browser.press("white knight").await;
        browser.until_text(".kp-verdict", "Solved this time").await;
        browser.named("Again, what was missed (1)").await;
    });
}

/// The account for the coach carries the name and all that was done, and is read back
/// from what was copied.
#[test]
fn the_account_has_the_name_and_is_read_back() {
    browse("account", async |browser| {
        let file = publish(
            &[lesson("Ask for a knight")],
            &browser.folder.join("one.html"),
        );
        browser.go(&file_url(&file)).await;
        browser.until_open().await;
        // Whole seconds are counted.
        tokio::time::sleep(std::time::Duration::from_millis(1100)).await;
        play(&browser, Way::Typing, 0, "g7", "g8q").await;
        browser.until_text(".kp-verdict", "no check").await;
        browser.press("For your coach").await;
        browser.type_into(".kp-account input", "Ilsa").await;
        on_all_papers(&browser, "account").await;
        browser.press("Copy").await;
        browser
            .until_text(".kp-account [role=status]", "Copied.")
            .await;
        let text = browser
            .script("return deep('.kp-account textarea')[0].value;", vec![])
            .await;
        let text = text.as_str().expect("a text");
        let account = Account::read(text).expect("an account");
        let mut marks = Vec::new();
        keyproof::account::marks(&account.kept, |_, _, mark| marks.push(mark));
        let [mark] = &marks[..] else {
            panic!("{account:?}")
        };
        assert!(mark.seconds > 0, "{mark:?}");
        let told = format!(
            "Ilsa \u{2013} Ask for a knight: 0 of 1 found, 1 wrong move\n1. Ask for a knight: \u{2013}, {} (g8=Q?)\n",
            mark.time()
        );
        assert!(text.starts_with(&told), "{text}");
        let kept = format!("0 0=1bt{}:g8=Q?\n", mark.seconds);
        assert_eq!((account.name.as_str(), &account.kept), ("Ilsa", &kept));
        // The name is asked once.
        browser.reload().await;
        browser.press("For your coach").await;
        let name = "return deep('.kp-account input')[0].value;";
        assert_eq!(browser.script(name, vec![]).await, json!("Ilsa"));
        browser.assert_no_errors().await;
    });
}
