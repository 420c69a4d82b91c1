//! The list of all puzzles: searching, sorting, choosing and what is done with
//! those chosen, doubles, and a desk of two thousand.

use std::time::{Duration, Instant};

use keyproof::notation::fen;
use keyproof_tests::browser::{Browser, browse};
use serde_json::json;
use thirtyfour::Key;

use crate::looks::on_all_papers;
use crate::{open_desk, paste, staircase};

/// So many puzzles of our own, no two of them alike: king and queen against king
/// and pawn, the men on ever other squares, Black's king always in one corner.
pub fn many(count: usize) -> String {
    const CORNER: usize = 56;
    let squares = 0..64;
    let places = [18, 20, 22].into_iter().flat_map(|king| {
        let queens = squares.clone();
        queens.flat_map(move |queen| (8..CORNER).map(move |pawn| [king, CORNER, queen, pawn]))
    });
    let boards = places.filter_map(|places| {
        let mut men = [None; 64];
        for (place, man) in places.into_iter().zip(['K', 'k', 'Q', 'p']) {
            if men[place].replace(man).is_some() {
                return None;
            }
        }
        let ranks: Vec<String> = (0..8)
            .rev()
            .map(|rank| {
                let men = men[rank * 8..rank * 8 + 8].iter();
                men.map(|man| man.map_or("1".to_owned(), String::from))
                    .collect()
            })
            .collect();
        let position = fen::read(&format!("{} w - - 0 1", ranks.join("/"))).ok()?;
        Some(fen::write(&position))
    });
    let boards: Vec<String> = boards.take(count).collect();
    assert_eq!(boards.len(), count, "there are as many positions");
    let games = boards.iter().enumerate().map(|(i, fen)| {
        let (number, theme) = (i + 1, ["net", "opposition"][i % 2]);
        format!(
            "[Event \"Queen against pawn {number}\"]\n[SetUp \"1\"]\n[FEN \"{fen}\"]\n[Stipulation \"#{}\"]\n[Themes \"{theme}\"]\n[Difficulty \"{}\"]\n\n*\n\n",
            2 - i % 2,
            i % 5 + 1
        )
    });
    games.collect()
}

/// Opens a text as a file.
pub async fn open_file(browser: &Browser, name: &str, text: &str) {
    browser
        .script(
            "const input = deep('.file input')[0];
             const files = new DataTransfer();
             files.items.add(new File([arguments[1]], arguments[0]));
             input.files = files.files;
             input.dispatchEvent(new Event('change', { bubbles: true }));",
            vec![json!(name), json!(text)],
        )
        .await;
}

async fn pick(browser: &Browser, list: &str, value: &str) {
    browser.find(list).await;
    browser
        .script(
            "const select = deep(arguments[0])[0];
             select.value = arguments[1];
             select.dispatchEvent(new Event('change', { bubbles: true }));",
            vec![json!(list), json!(value)],
        )
        .await;
}

/// The titles of the entries that are drawn.
async fn entries(browser: &Browser) -> Vec<String> {
    let text = browser
        .script(
            "return deep('.contents .entry-title').map((e) => e.firstChild.textContent.trim());",
            vec![],
        )
        .await;
    let titles = text.as_array().expect("a list").iter();
    titles
        .map(|title| title.as_str().unwrap_or_default().to_owned())
        .collect()
}

async fn until_shown(browser: &Browser, count: &str) {
    browser.until_text(".list-count", count).await;
}

/// Ticks the box of an entry, with Shift for all from the last one.
async fn tick(browser: &Browser, place: usize, shift: bool) {
    browser
        .script(
            "const box = deep('.contents .choose input')[arguments[0]];
             box.dispatchEvent(new MouseEvent('click', { bubbles: true, cancelable: true, shiftKey: arguments[1] }));",
            vec![json!(place), json!(shift)],
        )
        .await;
}

async fn press_key(browser: &Browser, place: usize, key: &str, alt: bool) {
    browser
        .script(
            "const entry = deep('.contents .entry')[arguments[0]];
             entry.focus();
             entry.dispatchEvent(new KeyboardEvent('keydown',
               { key: arguments[1], altKey: arguments[2], bubbles: true, cancelable: true }));",
            vec![json!(place), json!(key), json!(alt)],
        )
        .await;
}

#[test]
fn what_is_wanted_is_found_sorted_labelled_removed_and_given_out() {
    browse("shelf", async |browser| {
        open_desk(&browser).await;
        open_file(&browser, "club.pgn", &many(12)).await;
        until_shown(&browser, "12").await;
        on_all_papers(&browser, "shelf").await;

        browser.press("Find").await;
        browser.type_into("#search-words", "PAWN 12").await;
        until_shown(&browser, "1 of 12 shown").await;
        assert_eq!(entries(&browser).await, ["Queen against pawn 12"]);
        browser
            .until_text(".open-elsewhere", "not among these")
            .await;
        browser.press("Clear all").await;
        until_shown(&browser, "12").await;
        pick(&browser, "#find-theme", "net").await;
        until_shown(&browser, "6 of 12 shown").await;
        pick(&browser, "#find-difficulty", "1").await;
        until_shown(&browser, "2 of 12 shown").await;
        on_all_papers(&browser, "shelf-search").await;
        let within = browser
            .script(
                "const [list, search] = ['.contents', '#search'].map((s) => deep(s)[0].getBoundingClientRect());
                 return search.width > 0 && search.left >= list.left && search.right <= list.right;",
                vec![],
            )
            .await;
        assert_eq!(
            within,
            json!(true),
            "the search stands above the list, not over the page"
        );
        pick(&browser, "#find-kind", "lesson").await;
        browser.until_text(".nothing", "Nothing here fits").await;
        browser.press("Clear all").await;
        until_shown(&browser, "12").await;
        let kind = browser
            .script("return deep('#find-kind')[0].value;", vec![])
            .await;
        assert_eq!(kind, json!(""), "the lists are cleared as well");
        pick(&browser, "#sort-by", "stipulation").await;
        browser
            .until_text(".contents li:nth-child(1)", "Queen against pawn 2")
            .await;
        pick(&browser, "#sort-by", "place on the desk").await;

        browser.press("Choose several").await;
        tick(&browser, 2, false).await;
        tick(&browser, 5, true).await;
        browser.until_text(".chosen-count", "4 chosen").await;
        browser.press("None").await;
        tick(&browser, 0, false).await;
        browser.press("Through to").await;
        tick(&browser, 2, false).await;
        browser.until_text(".chosen-count", "3 chosen").await;
        browser.type_into("#label", "Monday").await;
        browser.press("Put it on").await;
        browser
            .until_text(".notice", "3 puzzles now have the label Monday")
            .await;
        browser
            .until_text(".contents li:nth-child(3) .entry-labels", "Monday")
            .await;
        pick(&browser, "#find-label", "Monday").await;
        until_shown(&browser, "3 of 12 shown").await;
        on_all_papers(&browser, "shelf-chooser").await;
        browser.press("Clear all").await;

        browser.press("Give these out").await;
        browser.press("PGN").await;
        let saved = std::fs::read_to_string(browser.downloaded(".pgn").await).expect("a file");
        assert_eq!(saved.matches("[Event ").count(), 3);
        assert!(saved.contains("[Labels \"Monday\"]"));
        browser.press("Remove these").await;
        until_shown(&browser, "9").await;
        browser
            .until_text(".notice", "3 puzzles were removed")
            .await;
        browser.press("Undo").await;
        until_shown(&browser, "12").await;
        browser.press("Choose several").await;

        press_key(&browser, 0, "ArrowDown", true).await;
        browser
            .until_text(".contents li:nth-child(2)", "Queen against pawn 1")
            .await;
        browser
            .until(
                "the entry that moved has the focus",
                "return focused().textContent.startsWith('Queen against pawn 1');",
                vec![],
            )
            .await;
        press_key(&browser, 1, "Delete", false).await;
        until_shown(&browser, "11").await;
        browser.press("Undo").await;
        until_shown(&browser, "12").await;
        browser.assert_no_errors().await;
    });
}

/// A point of the grip of an entry in the view, or of the whole entry: so far down,
/// in hundredths of its height.
async fn point_of(browser: &Browser, place: usize, part: &str, down: i32) -> (f64, f64) {
    let at = browser
        .script(
            "const item = deep('.contents li')[arguments[0]];
             const part = arguments[1] ? item.querySelector(arguments[1]) : item;
             const r = part.getBoundingClientRect();
             return [r.x + r.width / 2, r.y + r.height * arguments[2] / 100];",
            vec![json!(place), json!(part), json!(down)],
        )
        .await;
    let number = |i: usize| at[i].as_f64().expect("a coordinate");
    (number(0), number(1))
}

async fn until_marked(browser: &Browser, class: &str, place: usize) {
    browser
        .until(
            &format!("entry {place} is marked {class}"),
            "const items = deep('.contents li');
             const marked = items.flatMap((li, i) => ['drop-before', 'drop-after'].filter((c) => li.classList.contains(c)).map((c) => [c, i]));
             return JSON.stringify(marked) === JSON.stringify(arguments[0] ? [[arguments[0], arguments[1]]] : []);",
            vec![json!(class), json!(place)],
        )
        .await;
}

async fn until_titles(browser: &Browser, numbers: &[usize]) {
    let titles = numbers.iter().map(|n| format!("Queen against pawn {n}"));
    let titles: Vec<String> = titles.collect();
    browser
        .until(
            &format!("the order {numbers:?}"),
            "const titles = deep('.contents .entry-title').map((e) => e.firstChild.textContent.trim());
             return JSON.stringify(titles.slice(0, arguments[0].length)) === JSON.stringify(arguments[0]);",
            vec![json!(titles)],
        )
        .await;
}

/// Carries an entry by its grip onto another one, so far down of it, and holds it
/// there.
async fn carry(browser: &Browser, from: usize, onto: usize, down: i32) {
    let grip = point_of(browser, from, ".grip", 50).await;
    let to = point_of(browser, onto, "", down).await;
    browser.touch("touchStart", Some(grip)).await;
    let half = ((grip.0 + to.0) / 2.0, (grip.1 + to.1) / 2.0);
    browser.touch("touchMove", Some(half)).await;
    browser.touch("touchMove", Some(to)).await;
}

#[test]
fn an_entry_is_carried_to_another_place_by_its_grip() {
    browse("shelf-carry", async |browser| {
        open_desk(&browser).await;
        open_file(&browser, "club.pgn", &many(30)).await;
        until_shown(&browser, "30").await;
        on_all_papers(&browser, "shelf-grips").await;
        browser.window(360, 800).await;
        let touch = json!({ "enabled": true });
        browser
            .devtools("Emulation.setTouchEmulationEnabled", touch)
            .await;
        browser
            .script(
                "deep('.contents ol')[0].scrollIntoView({ block: 'center' });",
                vec![],
            )
            .await;

        carry(&browser, 0, 2, 80).await;
        until_marked(&browser, "drop-after", 2).await;
        browser.touch("touchEnd", None).await;
        until_titles(&browser, &[2, 3, 1, 4]).await;
        until_marked(&browser, "", 0).await;
        carry(&browser, 2, 1, 20).await;
        until_marked(&browser, "drop-before", 1).await;
        browser.touch("touchEnd", None).await;
        until_titles(&browser, &[2, 1, 3, 4]).await;
        browser.press("Undo").await;
        browser.press("Undo").await;
        until_titles(&browser, &[1, 2, 3, 4]).await;

        // Escape leaves it where it was, and so does whatever takes the finger away.
        carry(&browser, 0, 2, 80).await;
        until_marked(&browser, "drop-after", 2).await;
        browser.key(Key::Escape).await;
        until_marked(&browser, "", 0).await;
        browser.touch("touchEnd", None).await;
        carry(&browser, 0, 2, 80).await;
        until_marked(&browser, "drop-after", 2).await;
        browser.touch("touchCancel", None).await;
        until_marked(&browser, "", 0).await;
        assert_eq!(
            entries(&browser).await[..2],
            ["Queen against pawn 1", "Queen against pawn 2"]
        );
        assert_eq!(browser.count(".carried").await, 0);

        // Everywhere else a finger scrolls the list.
        let scrolled = "return deep('.contents ol')[0].scrollTop > 20;";
        let (x, y) = point_of(&browser, 3, ".entry-title", 50).await;
        browser.touch("touchStart", Some((x, y))).await;
        for step in 1..=6 {
            let at = (x, y - f64::from(step) * 15.0);
            browser.touch("touchMove", Some(at)).await;
        }
        // A finger that rests before it lets go gives the list no swing.
        tokio::time::sleep(Duration::from_millis(300)).await;
        browser.touch("touchMove", Some((x, y - 89.0))).await;
        browser.touch("touchEnd", None).await;
        browser
            .until("the list has scrolled", scrolled, vec![])
            .await;
        until_titles(&browser, &[1, 2, 3, 4]).await;

        // Held at its edge, the list goes on by itself.
        let top = "deep('.contents ol')[0].scrollTop = 0;";
        browser.script(top, vec![]).await;
        let grip = point_of(&browser, 1, ".grip", 50).await;
        let edge = browser
            .script(
                "return deep('.contents ol')[0].getBoundingClientRect().bottom;",
                vec![],
            )
            .await;
        let edge = edge.as_f64().expect("a height");
        browser.touch("touchStart", Some(grip)).await;
        browser
            .touch("touchMove", Some((grip.0, edge - 20.0)))
            .await;
        browser.touch("touchMove", Some((grip.0, edge - 5.0))).await;
        let far = "return deep('.contents ol')[0].scrollTop > 150;";
        browser.until("the list goes on", far, vec![]).await;
        browser.touch("touchEnd", None).await;
        browser
            .until(
                "the second has gone far down",
                "return deep('.contents .entry-title').map((e) => e.textContent.trim()).indexOf('Queen against pawn 2') > 4;",
                vec![],
            )
            .await;
        browser.press("Undo").await;

        let touch = json!({ "enabled": false });
        browser
            .devtools("Emulation.setTouchEmulationEnabled", touch)
            .await;
        browser.window(1440, 900).await;
        browser.script(top, vec![]).await;
        browser.until_still(".contents li:nth-child(3)").await;
        let grip = browser.find(".contents li:nth-child(1) .grip").await;
        let onto = browser.find(".contents li:nth-child(3)").await;
        let chain = browser.driver.action_chain();
        let chain = chain.move_to_element_center(&grip).click_and_hold();
        let chain = chain.move_by_offset(0, 8).move_to_element_center(&onto);
        chain
            .move_by_offset(0, 12)
            .release()
            .perform()
            .await
            .expect("a drag");
        until_titles(&browser, &[2, 3, 1, 4]).await;

        // Sorted, they have no place to be carried to.
        browser.press("Find").await;
        pick(&browser, "#sort-by", "title").await;
        browser
            .until("no grip", "return deep('.grip').length === 0;", vec![])
            .await;
        browser.assert_no_errors().await;
    });
}

#[test]
fn what_comes_twice_is_told_and_taken_out() {
    browse("shelf-doubles", async |browser| {
        open_desk(&browser).await;
        paste(&browser, &staircase()).await;
        browser.until_text(".verdict-line", "Unsound").await;
        let mirrored = "[Event \"Seen in a glass\"]\n[SetUp \"1\"]\n[FEN \"1k6/8/8/8/8/1P6/1KP4R/6R1 w - - 0 1\"]\n[Stipulation \"#2\"]\n\n*\n\n";
        open_file(&browser, "more.pgn", &[mirrored, &many(2)].concat()).await;
        browser
            .until_text(".notice", "3 puzzles came from more.pgn")
            .await;
        browser.until_text(".notice", "mirrored: no. 1").await;
        on_all_papers(&browser, "shelf-doubles").await;
        browser.press("Take the double out").await;
        until_shown(&browser, "3").await;
        assert!(!browser.text(".contents").await.contains("Seen in a glass"));
        browser.press("Undo").await;
        until_shown(&browser, "4").await;
        browser.assert_no_errors().await;
    });
}

/// What is searched for is seen as it is narrowed down.
#[test]
fn seven_puzzles_are_in_sight_while_one_searches() {
    browse("shelf-rows", async |browser| {
        browser.window(1440, 900).await;
        open_desk(&browser).await;
        open_file(&browser, "all.pgn", &many(300)).await;
        until_shown(&browser, "300").await;
        browser.press("Find").await;
        browser.find("#find-theme").await;
        let rows = "const list = deep('.contents ol')[0].getBoundingClientRect();
                    const boxes = deep('.contents li').map((e) => e.getBoundingClientRect());
                    return boxes.filter((b) => b.height > 0 && b.top >= list.top && b.bottom <= Math.min(list.bottom, innerHeight)).length;";
        let rows = browser.script(rows, vec![]).await;
        assert!(rows.as_u64().expect("a number") >= 7, "{rows}");
    });
}

#[test]
fn two_thousand_puzzles_lie_on_the_desk() {
    browse("shelf-many", async |browser| {
        open_desk(&browser).await;
        open_file(&browser, "all.pgn", &many(2000)).await;
        until_shown(&browser, "2,000").await;
        assert!(browser.count(".contents .entry").await <= 60);
        browser.press("Find").await;
        browser.type_into("#search-words", "pawn 1999").await;
        until_shown(&browser, "1 of 2,000 shown").await;
        // The page took the keys while most is still to be checked.
        browser
            .until_text(".contents .entry", "not checked yet")
            .await;
        browser.press("Queen against pawn 1999").await;
        browser
            .until(
                "it is open",
                "return deep('#title')[0].value === 'Queen against pawn 1999';",
                vec![],
            )
            .await;
        browser.press("Clear all").await;
        until_shown(&browser, "2,000").await;
        browser.until_text(".contents .here", "1999").await;
        assert!(browser.count(".contents .entry").await <= 60);
        on_all_papers(&browser, "shelf-many").await;
        browser.press("60 before these").await;
        browser
            .until(
                "more is drawn",
                "return deep('.contents .entry').length === 120;",
                vec![],
            )
            .await;
        browser.assert_no_errors().await;
    });
}

#[test]
fn the_empty_desk_shows_a_lesson_that_asks() {
    browse("shelf-lesson", async |browser| {
        open_desk(&browser).await;
        browser.press("Open a lesson").await;
        browser.until_text(".stipulation", "it asks").await;
        browser.until_text(".notice", "stops and asks").await;
        browser.until_text(".verdict-line", "Sound").await;
        browser.press("See it as a student").await;
        browser.find(".preview iframe").await;
        browser.driver.enter_frame(0).await.expect("a frame");
        browser.press("To the question").await;
        browser.until_text(".kp-task", "White").await;
        browser
            .driver
            .enter_default_frame()
            .await
            .expect("the desk");
        browser.assert_no_errors().await;
    });
}

/// Prints how long it takes until 2,000 puzzles lie on the desk, and from a key
/// typed into the search to what it finds.
#[test]
#[ignore = "measures: `cargo xtask bench desk`"]
fn how_soon_a_large_desk_answers() {
    browse("shelf-soon", async |browser| {
        open_desk(&browser).await;
        let text = many(2000);
        let began = Instant::now();
        open_file(&browser, "all.pgn", &text).await;
        until_shown(&browser, "2,000").await;
        println!(
            "2,000 puzzles on the desk after {} ms",
            began.elapsed().as_millis()
        );
        browser.press("Find").await;
        browser.find("#search-words").await;
        let mut times = Vec::new();
        for letters in [
            "p",
            "pa",
            "paw",
            "pawn",
            "pawn 1",
            "pawn 19",
            "pawn 199",
            "pawn 1999",
        ] {
            let time = browser
                .script(
                    "const field = deep('#search-words')[0];
                     const set = Object.getOwnPropertyDescriptor(HTMLInputElement.prototype, 'value').set;
                     const began = performance.now();
                     set.call(field, arguments[0]);
                     field.dispatchEvent(new InputEvent('input', { bubbles: true }));
                     return new Promise((done) => requestAnimationFrame(() => setTimeout(() => done(performance.now() - began))));",
                    vec![json!(letters)],
                )
                .await;
            times.push(time.as_f64().expect("milliseconds"));
        }
        until_shown(&browser, "1 of 2,000 shown").await;
        times.sort_by(f64::total_cmp);
        println!(
            "A key in the search until it is painted: middle {:.0} ms, longest {:.0} ms",
            times[times.len() / 2],
            times[times.len() - 1]
        );
        let began = Instant::now();
        browser.press("Clear all").await;
        loop {
            let left = browser.text(".contents").await.contains("not checked yet");
            browser
                .script(
                    "const l = deep('.contents ol')[0]; l.scrollTop = l.scrollHeight;",
                    vec![],
                )
                .await;
            if !left && began.elapsed().as_secs() > 5 {
                break;
            }
            if began.elapsed().as_secs() > 300 {
                break;
            }
            tokio::time::sleep(std::time::Duration::from_millis(500)).await;
        }
        println!(
            "the entries in sight checked after {} s",
            began.elapsed().as_secs()
        );
    });
}
