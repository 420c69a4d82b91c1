//! How quick the student's page is: printed for a person to read. Only that it
//! answers is asserted. `cargo xtask bench student` prints it.

use keyproof_tests::browser::{browse, file_url};
use serde_json::json;

use crate::{publish, whole_lesson_as_moves};

/// How often the page is opened; the middle one counts.
const TIMES: usize = 5;

/// Runs before the page's own scripts: notes when the program has drawn itself,
/// which is when it first has news, and when that is painted.
const NOTE: &str = "
document.addEventListener('keyproof-news', () => {
  if (globalThis.drawn) return;
  globalThis.drawn = performance.now();
  requestAnimationFrame(() => setTimeout(() => globalThis.painted = performance.now()));
}, true);";

/// Plays every legal first move of a puzzle by its squares, and notes for each
/// how long it took to be judged and drawn, and for some until it was painted.
const PLAY: &str = "
const [number, done] = [arguments[0], arguments[arguments.length - 1]];
const press = (what) => deep(`[data-do='${what}']`)[0].click();
press(number);
const line = deep('.kp-typed input')[0];
const squares = [...'abcdefgh'].flatMap((file) => [...'12345678'].map((rank) => file + rank));
const judged = [], painted = [];
(async () => {
  for (const from of squares) for (const to of squares) {
    if (from === to) continue;
    line.value = from + to;
    const began = performance.now();
    line.dispatchEvent(new KeyboardEvent('keydown', { key: 'Enter', bubbles: true, composed: true }));
    if (line.value) continue;
    judged.push(performance.now() - began);
    if (painted.length < 5) {
      await new Promise((next) => requestAnimationFrame(() => setTimeout(next)));
      painted.push(performance.now() - began);
    }
    press('restart');
  }
  done([judged, painted]);
})();";

#[test]
fn the_page_answers_and_how_quickly() {
    browse("timing", async |browser| {
        let drafts = whole_lesson_as_moves();
        let one = publish(&drafts[..1], &browser.folder.join("one.html"));
        let all = publish(&drafts, &browser.folder.join("all.html"));
        browser
            .devtools(
                "Page.addScriptToEvaluateOnNewDocument",
                json!({ "source": NOTE }),
            )
            .await;
        for (name, file) in [("one puzzle", &one), ("all of puzzles/", &all)] {
            let (mut drawn, mut painted) = (Vec::new(), Vec::new());
            for _ in 0..TIMES {
                browser.go(&file_url(file)).await;
                browser
                    .until("a page that is painted", "return painted > 0;", vec![])
                    .await;
                let times = browser
                    .script(
                        "const parsing = performance.getEntriesByType('navigation')[0].responseStart;
                         return [drawn - parsing, painted - parsing];",
                        vec![],
                    )
                    .await;
                drawn.push(times[0].as_f64().expect("a time"));
                painted.push(times[1].as_f64().expect("a time"));
            }
            println!(
                "{name}, {:.1} KB: a move can be played {:.0} ms after parsing began, painted {:.0} ms",
                std::fs::metadata(file).expect("a file").len() as f64 / 1000.0,
                middle(&mut drawn),
                middle(&mut painted)
            );
        }
        let (mut judged, mut painted) = (Vec::new(), Vec::new());
        for number in 0..drafts.len() {
            let times = browser
                .driver
                .execute_async(
                    format!("{}{PLAY}", keyproof_tests::browser::DEEP),
                    vec![json!(number)],
                )
                .await
                .expect("times")
                .json()
                .clone();
            let floats = |i: usize| -> Vec<f64> {
                let all = times[i].as_array().expect("times").iter();
                all.filter_map(|time| time.as_f64()).collect()
            };
            assert!(!floats(0).is_empty(), "puzzle {number} takes no move");
            judged.extend(floats(0));
            painted.extend(floats(1));
        }
        let count = judged.len();
        println!(
            "{count} first moves judged and drawn: middle {:.1} ms, longest {:.1} ms",
            middle(&mut judged),
            judged[count - 1]
        );
        let count = painted.len();
        println!(
            "{count} of them until painted: middle {:.1} ms, longest {:.1} ms",
            middle(&mut painted),
            painted[count - 1]
        );
    });
}

/// The middle one, of times that are sorted by it.
fn middle(times: &mut [f64]) -> f64 {
    times.sort_by(f64::total_cmp);
    times[times.len() / 2]
}
