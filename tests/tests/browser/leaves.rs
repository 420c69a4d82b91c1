//! The desk as a whole: the board in sight in every window, each leaf one press away
//! and where it was left, targets large enough for mouse and finger, and what was
//! hard to see or to reach.

use keyproof_tests::browser::{Browser, browse};
use serde_json::{Value, json};

use crate::looks::screens;
use crate::{open_desk, paste, paste_whole, staircase};

/// Windows in CSS pixels: phones, a tablet both ways, desks.
const WINDOWS: [(u32, u32); 6] = [
    (360, 740),
    (390, 844),
    (820, 1180),
    (1180, 820),
    (1440, 900),
    (1920, 1080),
];

/// A game of our own making. White has mate in one and develops a knight.
const GAME: &str = "[Event \"Board four\"]\n[White \"Pell, Orla\"]\n[Black \"Tarn, Jonas\"]\n\n1. e4 e5 2. Bc4 Nc6 3. Qh5 Nf6 4. Nf3 Nxh5 5. O-O *";

/// Opens the leaf with this name.
pub async fn turn_to(browser: &Browser, name: &str) {
    browser
        .script(
            "deep('.to-leaf').find((b) => b.querySelector('.leaf-name').textContent === arguments[0]).click();",
            vec![json!(name)],
        )
        .await;
    let open =
        "return deep('.to-leaf[aria-expanded=true] .leaf-name')[0]?.textContent === arguments[0];";
    browser.until(name, open, vec![json!(name)]).await;
}

/// The names of the leaves.
pub async fn leaves(browser: &Browser) -> Vec<String> {
    let names = "return deep('.leaf-name').map((e) => e.textContent);";
    let names = browser.script(names, vec![]).await;
    let names = names.as_array().expect("names").iter();
    names
        .map(|name| name.as_str().unwrap_or_default().to_owned())
        .collect()
}

/// The board's left, top, right and bottom in the window.
async fn board(browser: &Browser) -> [f64; 4] {
    let edges = browser
        .script(
            "const r = deep('.verso .kp-board')[0].getBoundingClientRect();
             return [r.left, r.top, r.right, r.bottom];",
            vec![],
        )
        .await;
    [0, 1, 2, 3].map(|i| edges[i].as_f64().expect("an edge"))
}

/// What of these stands outside of the window.
async fn out_of_reach(browser: &Browser) -> Value {
    browser
        .script(
            "return ['#preview-open', '.to-leaf[aria-controls=leaf-give-out]', '.undo button', '.verdict-line b'].filter((s) => {
               const r = deep(s)[0].getBoundingClientRect();
               return !(r.width > 0 && r.left >= 0 && r.top >= 0 && r.right <= innerWidth + 1 && r.bottom <= innerHeight + 1);
             });",
            vec![],
        )
        .await
}

#[test]
fn the_board_stays_in_sight_and_each_leaf_is_a_press_away() {
    browse("leaves", async |browser| {
        open_desk(&browser).await;
        paste(&browser, &staircase()).await;
        browser.until_text(".findings", "1.Rb7").await;
        browser.until_text(".because", "Difficulty").await;
        for (width, height) in WINDOWS {
            browser.window(width, height).await;
            let window = format!("{width} x {height}");
            let (w, h) = (f64::from(width), f64::from(height));
            let before = board(&browser).await;
            let side = before[2] - before[0];
            match w > h {
                true => assert!(side > (h - 160.0).min(w * 0.5), "{window}: {side}"),
                false => assert!(side > (w - 40.0).min(h * 0.5), "{window}: {side}"),
            }
            for leaf in leaves(&browser).await {
                turn_to(&browser, &leaf).await;
                assert_eq!(board(&browser).await, before, "{window}, {leaf}");
                assert_eq!(out_of_reach(&browser).await, json!([]), "{window}, {leaf}");
                let high = browser
                    .script(
                        "const page = scroller();
                         return [page.scrollHeight - page.clientHeight, deep('.flow').find(seen).scrollHeight / innerHeight];",
                        vec![],
                    )
                    .await;
                assert_eq!(high[0], json!(0), "{window}, {leaf}: the page scrolls");
                assert!(
                    high[1].as_f64().expect("a height") < 3.0,
                    "{window}, {leaf}: {high}"
                );
                browser
                    .view(&screens(&format!(
                        "leaves-{width}-{}",
                        leaf.replace(' ', "-")
                    )))
                    .await;
            }
            // A move that is pressed is followed by its leaf alone.
            turn_to(&browser, "Solution").await;
            for place in [3, 7, 0] {
                browser
                    .script(
                        "deep('.solution .move')[arguments[0]].click();",
                        vec![json!(place)],
                    )
                    .await;
                assert_eq!(board(&browser).await, before, "{window}");
            }
            assert_eq!(browser.over_the_edge().await, json!(0), "{window}");
        }
        browser.assert_no_errors().await;
    });
}

/// On a phone too the first move of a solution stands between board and words.
#[test]
fn the_first_move_is_in_sight_on_a_phone() {
    browse("first-move", async |browser| {
        open_desk(&browser).await;
        paste(&browser, &staircase()).await;
        browser.until_text(".findings", "1.Rb7").await;
        browser
            .devtools(
                "Emulation.setTouchEmulationEnabled",
                json!({ "enabled": true, "maxTouchPoints": 1 }),
            )
            .await;
        for (width, height) in &WINDOWS[..2] {
            browser.window(*width, *height).await;
            turn_to(&browser, "Solution").await;
            for place in [0, 3, 0] {
                let press = "deep('.solution .move')[arguments[0]].click();";
                browser.script(press, vec![json!(place)]).await;
                browser
                    .until(
                        "the move in sight",
                        "const [move, flow] = [deep('.solution .move')[Math.max(1, arguments[0])], deep('.flow').find(seen)].map((e) => e.getBoundingClientRect());
                         return move.top >= flow.top - 1 && move.bottom <= flow.bottom + 1;",
                        vec![json!(place)],
                    )
                    .await;
            }
        }
    });
}

#[test]
fn each_leaf_keeps_its_place_and_has_a_key() {
    browse("leaf-places", async |browser| {
        open_desk(&browser).await;
        paste(&browser, &staircase()).await;
        browser.until_text(".because", "Difficulty").await;
        browser.window(1180, 560).await;
        turn_to(&browser, "Words").await;
        let scrolled = "return deep('.flow').find(seen).scrollTop;";
        browser
            .script(
                "deep('.flow').find(seen).scrollTop = 90; deep('.failures')[0].open = true;",
                vec![],
            )
            .await;
        turn_to(&browser, "Students").await;
        assert_eq!(browser.script(scrolled, vec![]).await, json!(0));
        browser
            .script("document.activeElement.blur();", vec![])
            .await;
        browser.type_keys("3").await;
        browser.until_text(".because", "Difficulty").await;
        assert_eq!(browser.script(scrolled, vec![]).await, json!(90));
        let unfolded = "return deep('.failures')[0].open;";
        assert_eq!(browser.script(unfolded, vec![]).await, json!(true));
        // In a field a number is what is typed.
        browser.type_into("#hint-2", "2").await;
        let open = "return deep('.to-leaf[aria-expanded=true] .leaf-name')[0].textContent;";
        assert_eq!(browser.script(open, vec![]).await, json!("Words"));
        browser.assert_no_errors().await;
    });
}

/// Each control that is seen, and how large it is where one presses it: a box with its
/// label, a file's with the label that is drawn.
const SMALL: &str = "
const target = (e) => e.matches('[type=checkbox], [type=radio], [type=file]') ? e.closest('label') ?? e : e;
const all = deep('.desk :is(a, button, select, textarea, summary, input)').filter(seen).map(target);
return [...new Set(all)].filter((e) => {
  const r = e.getBoundingClientRect();
  return r.width > 2 && (r.width < arguments[0] || r.height < arguments[0]);
}).map((e) => (e.id || e.className) + ': ' + e.textContent.slice(0, 30) + ' ' + Math.round(e.getBoundingClientRect().width) + ' x ' + Math.round(e.getBoundingClientRect().height));";

#[test]
fn every_target_is_large_enough_for_mouse_and_finger() {
    browse("targets", async |browser| {
        open_desk(&browser).await;
        paste(&browser, GAME).await;
        paste(&browser, &staircase()).await;
        browser.until_text(".findings", "1.Rb7").await;
        browser.until_text(".because", "Difficulty").await;
        for (touch, least) in [(false, 24), (true, 44)] {
            let touched = json!({ "enabled": touch, "maxTouchPoints": 1 });
            browser
                .devtools("Emulation.setTouchEmulationEnabled", touched)
                .await;
            browser
                .devtools(
                    "Emulation.setDeviceMetricsOverride",
                    json!({ "width": 390, "height": 844, "deviceScaleFactor": 1, "mobile": touch }),
                )
                .await;
            let coarse = "return matchMedia('(pointer: coarse)').matches;";
            assert_eq!(browser.script(coarse, vec![]).await, json!(touch));
            let unfold = "deep('.desk details').forEach((e) => e.open = true);";
            browser.script(unfold, vec![]).await;
            for leaf in leaves(&browser).await {
                turn_to(&browser, &leaf).await;
                let small = browser.script(SMALL, vec![json!(least)]).await;
                assert_eq!(small, json!([]), "{leaf}, {least} px");
            }
            browser.script("deep('.to-list')[0].click();", vec![]).await;
            browser.until_text(".contents", "Board four").await;
            let small = browser.script(SMALL, vec![json!(least)]).await;
            assert_eq!(small, json!([]), "the list, {least} px");
        }
    });
}

/// How well a text can be read on its ground (WCAG 2.2, relative luminance).
const CONTRAST: &str = "
const part = (c) => { c /= 255; return c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4; };
const light = (color) => { const [r, g, b] = color.match(/[\\d.]+/g).map(Number); return 0.2126 * part(r) + 0.7152 * part(g) + 0.0722 * part(b); };
const style = getComputedStyle(deep(arguments[0])[0]);
const [a, b] = [light(style.color), light(style.backgroundColor)];
return (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);";

#[test]
fn the_current_move_is_readable_under_the_pointer() {
    browse("under-pointer", async |browser| {
        open_desk(&browser).await;
        paste(&browser, GAME).await;
        browser.press("1.e4").await;
        for paper in ["light", "dark"] {
            browser.paper(paper).await;
            let here = browser.find("#move-here").await;
            let pointer = browser.driver.action_chain().move_to_element_center(&here);
            pointer.perform().await.expect("a pointer");
            let hovered = "return deep('#move-here')[0].matches(':hover');";
            assert_eq!(browser.script(hovered, vec![]).await, json!(true));
            let contrast = browser.script(CONTRAST, vec![json!("#move-here")]).await;
            let contrast = contrast.as_f64().expect("a contrast");
            assert!(contrast > 4.5, "{paper}: {contrast}");
        }
    });
}

/// A moment that is pressed unfolds where it stands, also in a long game.
#[test]
fn a_found_moment_stays_where_it_was_pressed() {
    browse("found-stays", async |browser| {
        open_desk(&browser).await;
        let shuffle: String = (6..60)
            .map(|n| format!("{n}. {} {} ", ["Re1", "Rf1"][n % 2], ["Rg8", "Rh8"][n % 2]))
            .collect();
        let long = GAME.replace("5. O-O *", &format!("5. O-O d6 {shuffle}*"));
        paste_whole(&browser, &long).await;
        browser.window(390, 844).await;
        browser.press("Find the moments").await;
        browser.until_text(".found", "mate in one").await;
        browser.press("Stop looking").await;
        browser
            .script(
                "const at = deep('.found .entry').find((e) => e.textContent.includes('mate in one'));
                 at.scrollIntoView({ block: 'center' });
                 at.click();",
                vec![],
            )
            .await;
        browser.until_text(".moment", "4.Qxf7#").await;
        let seen = "const [flow, head] = [deep('.flow').find(seen), deep('.found .here .entry')[0]].map((e) => e.getBoundingClientRect());
                    return head.top >= flow.top - 1 && head.bottom <= flow.bottom + 1;";
        assert_eq!(browser.script(seen, vec![]).await, json!(true));
        browser.until_man("h5", "white queen").await;
        browser.assert_no_errors().await;
    });
}

/// What the student's page does by itself, it does in the desk as well; and its desk
/// width is a desk's.
#[test]
fn the_student_s_page_presents_in_the_desk_and_is_as_wide_as_one() {
    browse("preview-wide", async |browser| {
        browser.window(1440, 900).await;
        open_desk(&browser).await;
        paste(&browser, &staircase()).await;
        browser.press("Accept 1.Rb7").await;
        browser.press("See it as a student").await;
        browser.find(".preview iframe").await;
        browser.press("Desk width").await;
        let width = "return deep('.preview iframe')[0].getBoundingClientRect().width;";
        let width = browser.script(width, vec![]).await;
        assert!(width.as_f64().expect("a width") > 1380.0, "{width}");
        browser.driver.enter_frame(0).await.expect("a frame");
        browser.until_open().await;
        let beside = "const [board, said] = ['.kp-board', '.kp-say'].map((s) => deep(s)[0].getBoundingClientRect());
                      return said.left >= board.right - 1;";
        assert_eq!(browser.script(beside, vec![]).await, json!(true));
        browser.press("More").await;
        browser.press("Present").await;
        browser
            .until(
                "the whole screen",
                "return !!document.fullscreenElement;",
                vec![],
            )
            .await;
        browser
            .script("return document.exitFullscreen();", vec![])
            .await;
        let back = browser.driver.enter_default_frame();
        back.await.expect("the desk");
        browser.press("Back to the desk").await;
        browser.assert_no_errors().await;
    });
}
