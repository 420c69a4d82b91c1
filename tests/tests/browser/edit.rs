//! Editing at the desk: setting up, pasting, lines and signs, defences,
//! findings, marks on the board, and a tree of 5,000 moves.

use keyproof::draft::{Draft, Edit, NodeId};
use keyproof::notation::{moves, pgn_write};
use keyproof_tests::browser::{Browser, browse, file_url};
use serde_json::json;
use shakmaty::{Chess, Position};
use thirtyfour::prelude::*;

use crate::{open_desk, paste, paste_whole, reread, staircase};

/// One of two defences is left out.
const LEFT_OUT: &str = "[Event \"Left out\"]\n[FEN \"6k1/5ppp/3r4/8/8/7b/R7/R5K1 w - - 0 1\"]\n[Stipulation \"#3\"]\n\n1. Ra8+ Bc8 2. Rxc8+ Rd8 3. Rxd8# *\n";

/// Puts a text into the page as a paste does, with the focus where it is.
async fn paste_event(browser: &Browser, text: &str) {
    browser
        .script(
            "const data = new DataTransfer();
             data.setData('text/plain', arguments[0]);
             const event = new ClipboardEvent('paste', { clipboardData: data, bubbles: true, cancelable: true });
             (focused() ?? document.body).dispatchEvent(event);",
            vec![json!(text)],
        )
        .await;
}

/// A move's text without its number and signs.
const SAN: &str =
    "const san = (m) => m.textContent.replace(/^[0-9]+[.]+/, '').replace(/[!?]+$/, '');";

/// Presses a move of the tree by its SAN.
async fn go(browser: &Browser, mv: &str) {
    browser
        .until(
            &format!("the move {mv}"),
            &format!(
                "{SAN} const move = deep('.solution .move').find((m) => san(m) === arguments[0]);
             if (!move) return false;
             if (!move.ariaCurrent) move.click();
             return true;"
            ),
            vec![json!(mv)],
        )
        .await;
    browser
        .until(
            &format!("{mv} as the move one is at"),
            &format!("{SAN} const here = deep('#move-here')[0]; return !!here && san(here) === arguments[0];"),
            vec![json!(mv)],
        )
        .await;
    browser
        .script("deep('#move-here')[0].focus();", vec![])
        .await;
}

/// Waits until the tree has these rows.
async fn until_rows(browser: &Browser, wanted: &[&str]) {
    browser
        .until(
            &format!("the rows {wanted:?}"),
            "const rows = deep('.tree-line').map((row) => [...row.querySelectorAll('.move')].map((m) => m.textContent).join(' '));
             return JSON.stringify(rows) === JSON.stringify(arguments[0]);",
            vec![json!(wanted)],
        )
        .await;
}

async fn field(browser: &Browser, selector: &str) -> String {
    let value = browser
        .script("return deep(arguments[0])[0].value;", vec![json!(selector)])
        .await;
    value.as_str().unwrap_or_default().to_owned()
}

async fn until_field(browser: &Browser, selector: &str, value: &str) {
    browser
        .until(
            &format!("{value} in {selector}"),
            "return deep(arguments[0])[0]?.value === arguments[1];",
            vec![json!(selector), json!(value)],
        )
        .await;
}

#[test]
fn a_position_being_set_up_is_turned_shifted_and_clocked() {
    browse("turned", async |browser| {
        open_desk(&browser).await;
        paste_event(&browser, "6k1/8/8/8/8/6P1/R4PK1/1R6 w - - 3 20").await;
        browser.press("Set up the position").await;
        until_field(&browser, "#fen", "6k1/8/8/8/8/6P1/R4PK1/1R6 w - - 3 20").await;
        for (button, fen) in [
            (
                "Mirror left and right",
                "1k6/8/8/8/8/1P6/1KP4R/6R1 w - - 3 20",
            ),
            ("Swap colours", "6r1/1kp4r/1p6/8/8/8/8/1K6 b - - 3 20"),
            (
                "All men one file to the left",
                "5r2/kp4r1/p7/8/8/8/8/K7 b - - 3 20",
            ),
        ] {
            browser.press(button).await;
            until_field(&browser, "#fen", fen).await;
        }
        let shut = browser
            .script(
                "return deep('button').find((b) => b.ariaLabel === 'All men one file to the left').disabled;",
                vec![],
            )
            .await;
        assert_eq!(shut, json!(true), "a man would leave the board");
        browser
            .script("deep('#move-number')[0].select();", vec![])
            .await;
        browser.type_into("#move-number", "41").await;
        browser
            .script("deep('#halfmove-clock')[0].select();", vec![])
            .await;
        browser.type_into("#halfmove-clock", "12").await;
        until_field(&browser, "#fen", "5r2/kp4r1/p7/8/8/8/8/K7 b - - 12 41").await;
        for fen in [
            "6r1/1kp4r/1p6/8/8/8/8/1K6 b - - 3 20",
            "1k6/8/8/8/8/1P6/1KP4R/6R1 w - - 3 20",
        ] {
            for _ in 0..8 {
                if field(&browser, "#fen").await == fen {
                    break;
                }
                browser.press("Undo").await;
            }
            until_field(&browser, "#fen", fen).await;
        }
        browser.assert_no_errors().await;
    });
}

#[test]
fn positions_and_games_are_pasted_anywhere_and_undone() {
    browse("pasted", async |browser| {
        open_desk(&browser).await;
        let entries = async |n: u64| {
            browser
                .until(
                    &format!("{n} puzzles"),
                    "return deep('.contents li').length === arguments[0];",
                    vec![json!(n)],
                )
                .await;
        };
        paste_event(&browser, "8/5P1k/p4K2/P7/8/8/8/8 w - - 0 1").await;
        browser.until_man("f7", "white pawn").await;
        entries(1).await;
        let epd = "6k1/8/8/8/8/6P1/R4PK1/1R6 w - - bm Ra7 Rb7; dm 2; id \"Two rooks\";";
        paste_event(&browser, epd).await;
        entries(2).await;
        browser.until_text(".contents", "Two rooks").await;
        browser.until_text(".solution", "Ra7").await;
        paste_event(&browser, &format!("{}\n\n{LEFT_OUT}", staircase())).await;
        entries(4).await;
        browser.until_text(".notices", "2 puzzles came from").await;
        browser.press("Undo").await;
        entries(2).await;
        browser.press("Undo").await;
        entries(1).await;
        browser.press("Redo").await;
        entries(2).await;
        browser.assert_no_errors().await;
    });
}

#[test]
fn lines_are_cut_copied_and_pasted_moved_up_and_signed() {
    browse("lines", async |browser| {
        open_desk(&browser).await;
        let game = "1. e4 e5 (1... c5 2. Nf3 d6) (1... e6 2. d4) 2. Nc3 Nf6 *";
        paste(&browser, game).await;
        browser.until_text(".solution", "Nc3").await;
        go(&browser, "Nf3").await;
        browser.held(Key::Control, "c").await;
        go(&browser, "e6").await;
        browser.press("Paste the line here").await;
        browser
            .until_text(".notices", "The whole line was pasted")
            .await;
        until_rows(
            &browser,
            &[
                "1.e4 e5",
                "1...c5 2.Nf3 d6",
                "1...e6 2.d4",
                "2.Nf3 d6",
                "2.Nc3 Nf6",
            ],
        )
        .await;
        browser.press("Undo").await;
        browser
            .until(
                "the line gone again",
                "return !deep('.tree-line').some((row) => row.textContent.startsWith('2.Nf3'));",
                vec![],
            )
            .await;
        go(&browser, "d4").await;
        browser.held(Key::Control, "x").await;
        browser
            .until(
                "the line cut",
                "return !deep('.solution .move').some((m) => m.textContent === '2.d4');",
                vec![],
            )
            .await;
        // Moves pasted on a move go into the tree.
        go(&browser, "e6").await;
        paste_event(&browser, "2. Nf3 d5 3. Nc3").await;
        browser.until_text(".solution", "3.Nc3").await;
        go(&browser, "e6").await;
        browser.press("Make main").await;
        until_rows(
            &browser,
            &[
                "1.e4 e6",
                "1...e5 2.Nc3 Nf6",
                "1...c5 2.Nf3 d6",
                "2.Nf3 d5 3.Nc3",
            ],
        )
        .await;
        go(&browser, "e5").await;
        browser.press("Up").await;
        until_rows(
            &browser,
            &[
                "1.e4 e5",
                "1...e6 2.Nf3 d5 3.Nc3",
                "1...c5 2.Nf3 d6",
                "2.Nc3 Nf6",
            ],
        )
        .await;

        go(&browser, "c5").await;
        browser.type_keys("!?").await;
        browser.until_text("#move-here", "c5!?").await;
        browser.type_keys("~").await;
        browser.until_text("#move-here", "\u{221e}").await;
        browser.key(Key::Backspace).await;
        browser
            .until(
                "no sign",
                "return deep('#move-here')[0].textContent.endsWith('c5');",
                vec![],
            )
            .await;
        browser.type_into(".slip textarea", "Well known.").await;
        go(&browser, "e5").await;
        browser.until_text(".solution .words", "Well known.").await;
        browser.assert_no_errors().await;
    });
}

#[test]
fn defences_are_answered_one_by_one_and_all_at_once() {
    browse("defences", async |browser| {
        open_desk(&browser).await;
        paste(&browser, LEFT_OUT).await;
        go(&browser, "Ra8+").await;
        browser.until_text(".defences", "not met").await;
        let first = browser
            .script("return deep('.defences tbody')[0].className;", vec![])
            .await;
        assert_eq!(first, json!("unmet"), "what is not met stands first");
        browser.press("Answer it").await;
        browser
            .until(
                "a defence answered and undone",
                "return deep('.solution .move').some((m) => m.textContent === '1...Rd8');",
                vec![],
            )
            .await;
        browser.press("Undo").await;
        browser.until_text(".defences", "not met").await;
        browser.press("Answer every defence").await;
        browser.until_text(".defences", "are met.").await;
        browser
            .until(
                "nothing more to answer",
                "return !deep('button').some((b) => seen(b) && b.textContent.startsWith('Answer every'));",
                vec![],
            )
            .await;
        browser.assert_no_errors().await;
    });
}

#[test]
fn a_finding_pointed_at_is_on_the_board_and_mended_in_one_press() {
    browse("pointed", async |browser| {
        open_desk(&browser).await;
        paste(&browser, &staircase()).await;
        browser.until_text(".finding", "1.Rb7").await;
        // What is said above it while the check runs comes and goes.
        browser
            .until_text(".verdict-line", "checked by a second")
            .await;
        browser.until_still(".findings .finding").await;
        let drawn = "return deep('.board-room .kp-answer').length > 0;";
        let finding = browser.find(".findings .finding").await;
        browser
            .driver
            .action_chain()
            .move_to_element_center(&finding)
            .perform()
            .await
            .expect("pointing");
        browser
            .until("the finding on the board", drawn, vec![])
            .await;
        let head = browser.find(".head h1").await;
        let away = browser.driver.action_chain();
        away.move_to_element_center(&head)
            .perform()
            .await
            .expect("pointing elsewhere");
        browser
            .until(
                "the board as it was",
                "return deep('.board-room .kp-answer').length === 0;",
                vec![],
            )
            .await;
        browser
            .script(
                "deep('.findings .finding button').find((b) => b.textContent === 'Show').focus();",
                vec![],
            )
            .await;
        browser.until("it again, by the focus", drawn, vec![]).await;
        browser.press("Accept 1.Rb7").await;
        browser.until_text(".verdict-line", "Sound").await;
        let announced = browser
            .script(
                "return deep('.kp-hidden[role=status]').map((e) => e.textContent).join(' ');",
                vec![],
            )
            .await;
        assert!(announced.as_str().expect("text").contains("Sound: proved"));
        browser.assert_no_errors().await;
    });
}

#[test]
fn marks_are_drawn_by_mouse_and_by_keys_and_reach_the_student() {
    browse("marks", async |browser| {
        open_desk(&browser).await;
        paste(&browser, &staircase()).await;
        browser.press("Accept 1.Rb7").await;
        browser.until_text(".verdict-line", "Sound").await;
        let said = async |text: &str| {
            browser
                .until(
                    text,
                    "return (deep('p.drawn')[0]?.textContent ?? '') === arguments[0];",
                    vec![json!(text)],
                )
                .await;
        };
        browser.press("Pencil").await;
        browser.drag("a2", "a7").await;
        said("Board: arrow a2 to a7.").await;
        browser.press("dotted").await;
        browser.square("g8").await.click().await.expect("a ring");
        said("Board: arrow a2 to a7, dotted ring g8.").await;
        assert_eq!(browser.count(".board-room .kp-threat").await, 1);
        browser.press("Pencil").await;
        // With the pencil laid down, Shift draws all the same.
        browser
            .script(
                "deep('[role=gridcell][tabindex=\"0\"]')[0].focus();",
                vec![],
            )
            .await;
        browser.held(Key::Shift, Key::Enter).await;
        browser.key(Key::Up).await;
        browser.held(Key::Shift, Key::Enter).await;
        said("Board: arrow a2 to a7, dotted ring g8, dotted arrow g2 to g3.").await;
        browser.press("Undo").await;
        said("Board: arrow a2 to a7, dotted ring g8.").await;

        browser.press("Position").await;
        assert_eq!(
            field(&browser, "#words-here").await,
            "Two rooks against a lone king on the edge."
        );
        browser.press("Save the PGN").await;
        let saved = std::fs::read_to_string(browser.downloaded(".pgn").await).expect("a file");
        let draft = reread(&saved);
        let root = draft.node(NodeId::ROOT).expect("the start");
        assert_eq!(
            root.after.last().expect("marks"),
            "Board: arrow a2 to a7, dotted ring g8."
        );

        browser.press("Save the student").await;
        let file = file_url(&browser.downloaded(".html").await);
        browser.press("Wipe").await;
        said("").await;
        browser.go(&file).await;
        browser.until_open().await;
        assert_eq!(browser.count(".kp-board .kp-answer").await, 1);
        assert_eq!(browser.count(".kp-board .kp-threat").await, 1);
        assert!(!browser.text(".kp-head").await.contains("Board:"));
        browser.assert_no_errors().await;
    });
}

/// A game of so many moves with side lines everywhere, played at random.
fn big_tree(nodes: usize) -> String {
    const MAIN: usize = 80;
    const SIDE: usize = 20;
    let mut seed = 7_u64;
    let mut any = move |position: &Chess| {
        seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
        let legal = position.legal_moves();
        (!legal.is_empty()).then(|| legal[(seed >> 33) as usize % legal.len()])
    };
    let mut draft = Draft::new();
    let mut turns = vec![(NodeId::ROOT, Chess::default())];
    let grow = |draft: &mut Draft, at: NodeId, position: &mut Chess, mv| {
        let text = moves::san(position, mv);
        position.play_unchecked(mv);
        let edit = Edit::AddLine {
            at,
            moves: vec![text],
            nags: vec![],
        };
        draft.apply(&edit).expect("a node")
    };
    for _ in 0..MAIN {
        let (at, mut position) = turns.last().expect("the start").clone();
        let Some(mv) = any(&position) else { break };
        let node = grow(&mut draft, at, &mut position, mv);
        turns.push((node, position));
    }
    let mut next = 0;
    while draft.walk().len() < nodes {
        let (mut at, mut position) = turns[next % turns.len()].clone();
        next += 1;
        for _ in 0..SIDE {
            let Some(mv) = any(&position) else { break };
            at = grow(&mut draft, at, &mut position, mv);
        }
    }
    pgn_write::write(&draft)
}

#[test]
fn a_tree_of_5000_moves_is_folded_and_walked() {
    browse("thicket", async |browser| {
        open_desk(&browser).await;
        paste_whole(&browser, &big_tree(5000)).await;
        browser.find(".tree-line").await;
        let drawn = async || browser.count(".solution .move").await;
        assert!(drawn().await < 600, "{} moves are drawn", drawn().await);
        browser.until_text(".hidden-moves", "moves").await;
        // Arrow keys walk into what is folded, and it opens.
        browser
            .script("deep('#move-here')[0].focus();", vec![])
            .await;
        browser.key(Key::Right).await;
        let folded = "const here = deep('#move-here')[0].closest('.tree-line');
             return [here.querySelectorAll('.move').length, here.querySelector('.fold')?.ariaExpanded, focused() === deep('#move-here')[0]];";
        for _ in 0..40 {
            browser.key(Key::Down).await;
            browser.until_focus("move-here").await;
            let here = browser.script(folded, vec![]).await;
            if here[1] == json!("false") {
                break;
            }
            browser.key(Key::Right).await;
        }
        browser.until_focus("move-here").await;
        let before = browser.script(folded, vec![]).await;
        assert_eq!(before, json!([1, "false", true]));
        browser.key(Key::Right).await;
        browser.until_focus("move-here").await;
        let inside = browser.script(folded, vec![]).await;
        assert!(inside[0].as_u64().expect("a number") > 1, "{inside}");
        assert_eq!((&inside[1], &inside[2]), (&json!("true"), &json!(true)));
        // The key folds it again, and the focus stays among the moves.
        browser.type_keys("f").await;
        browser
            .until(
                "the line folded by its key",
                "return deep('#move-here')[0].closest('.tree-line').querySelector('.fold').ariaExpanded === 'false';",
                vec![],
            )
            .await;
        assert_eq!(browser.script(folded, vec![]).await[2], json!(true));
        browser.key(Key::Enter).await;
        browser
            .type_into("#words-here", "Far from the main road.")
            .await;
        browser.press("Position").await;
        browser
            .until_text(".solution .words", "Far from the main road.")
            .await;
        browser.press("Unfold all").await;
        browser
            .until(
                "all moves drawn",
                "return deep('.solution .move').length > 5000;",
                vec![],
            )
            .await;
        browser.assert_no_errors().await;
    });
}

#[test]
fn a_step_draws_anew_only_what_it_changes() {
    browse("step", async |browser| {
        open_desk(&browser).await;
        paste_whole(&browser, &big_tree(50)).await;
        browser.find(".tree-line").await;
        browser
            .script("deep('#move-here')[0].focus();", vec![])
            .await;
        let step = async |key: Key, place: u32| {
            browser.key(key).await;
            browser
                .until(
                    "the focus on the move stepped to",
                    "return focused() === deep('.solution .move')[arguments[0]] && focused().id === 'move-here';",
                    vec![json!(place)],
                )
                .await;
        };
        step(Key::Right, 1).await;
        // Chosen by hand, which a list of choices remembers.
        browser
            .script(
                "const choice = deep('#glyph-move')[0];
                 choice.value = '1';
                 choice.dispatchEvent(new Event('change', { bubbles: true }));
                 for (const e of [choice, ...deep('.kp-board svg > g:nth-child(3) > g > g')]) e.stands = true;",
                vec![],
            )
            .await;
        browser.until_text("#move-here", "!").await;
        let drawn = "const men = deep('.kp-board svg > g:nth-child(3) > g > g');
             const choice = deep('#glyph-move')[0];
             return [men.length, men.filter((man) => !man.stands).length, choice.stands ?? false, choice.value];";
        step(Key::Right, 2).await;
        // The man that moved, and the one that moved before and glides no more.
        let after = browser.script(drawn, vec![]).await;
        assert_eq!(after, json!([32, 2, true, ""]));
        step(Key::Left, 1).await;
        assert_eq!(browser.script(drawn, vec![]).await[3], json!("1"));
        browser.press("Undo").await;
        browser
            .until(
                "the glyph undone in its list too",
                "return deep('#glyph-move')[0].value === '';",
                vec![],
            )
            .await;
        browser.assert_no_errors().await;
    });
}

/// Presses a key, and tells the milliseconds until the page was painted.
const TIMED: &str = "
const [key, done] = [arguments[0], arguments[arguments.length - 1]];
const at = focused();
const began = performance.now();
if (key.length === 1) {
  at.value += key;
  at.dispatchEvent(new InputEvent('input', { bubbles: true, composed: true }));
} else {
  at.dispatchEvent(new KeyboardEvent('keydown', { key, bubbles: true, composed: true }));
}
requestAnimationFrame(() => {
  const channel = new MessageChannel();
  channel.port1.onmessage = () => done(performance.now() - began);
  channel.port2.postMessage(null);
});";

/// The milliseconds that the page has worked so far. Other work on the machine
/// does not count, and neither does waiting for the screen's next picture.
async fn worked(browser: &Browser) -> f64 {
    let metrics = browser.devtools("Performance.getMetrics", json!({})).await;
    let mut metrics = metrics["metrics"].as_array().expect("metrics").iter();
    let spent = metrics.find(|metric| metric["name"] == "TaskDuration");
    1000.0 * spent.and_then(|m| m["value"].as_f64()).expect("seconds")
}

/// Presses keys, and prints how soon each was painted and how long the page
/// worked for it.
async fn timed(browser: &Browser, keys: &[&str], what: &str) {
    let mut times = Vec::new();
    let before = worked(browser).await;
    for key in keys {
        let time = browser
            .driver
            .execute_async(
                format!("{}{TIMED}", keyproof_tests::browser::DEEP),
                vec![json!(key)],
            )
            .await
            .expect("a time");
        times.push(time.json().as_f64().expect("milliseconds"));
    }
    let work = (worked(browser).await - before) / keys.len() as f64;
    times.sort_by(f64::total_cmp);
    println!(
        "{what}: middle {:.1} ms, longest {:.1} ms, of work {work:.1} ms",
        times[times.len() / 2],
        times[times.len() - 1]
    );
}

#[test]
#[ignore = "measures: `cargo xtask bench desk`"]
fn how_soon_the_desk_paints_a_keystroke() {
    browse("keystrokes", async |browser| {
        let counting = json!({ "timeDomain": "threadTicks" });
        browser.devtools("Performance.enable", counting).await;
        open_desk(&browser).await;
        let puzzle = format!("[Stipulation \"+\"]\n{}", big_tree(5000));
        for (name, text, unfold, checked) in [
            ("50 moves", big_tree(50), false, false),
            ("5,000 moves", big_tree(5000), false, false),
            ("5,000 moves, all unfolded", big_tree(5000), true, false),
            ("A puzzle of 5,000 moves being checked", puzzle, false, true),
        ] {
            paste_whole(&browser, &text).await;
            browser.find(".tree-line").await;
            if unfold {
                browser.press("Unfold all").await;
            }
            if checked {
                browser.until_text(".running", "Checking").await;
            }
            browser
                .script("deep('#move-here')[0].focus();", vec![])
                .await;
            timed(&browser, &["ArrowRight"; 30], &format!("{name}, a step")).await;
            browser
                .script("deep('#words-here')[0].focus();", vec![])
                .await;
            timed(&browser, &["a"; 30], &format!("{name}, a letter")).await;
        }
    });
}
