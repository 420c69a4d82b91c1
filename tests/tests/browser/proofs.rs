//! Proofs at the desk: their progress, stopping them, walking them, checking
//! them a second time, and tables that are kept.

use keyproof_tests::browser::{browse, file_url};
use serde_json::json;

use crate::{open_desk, paste, staircase};

/// The verdict says that a second program agreed; the file says so too, and
/// carries the proof on request.
#[test]
fn a_sound_mate_is_checked_twice_and_its_file_says_so() {
    browse("checked", async |browser| {
        open_desk(&browser).await;
        paste(&browser, &staircase()).await;
        browser.press("Accept 1.Rb7").await;
        browser
            .until_text(".verdict-line", "checked by a second, independent program")
            .await;
        browser.window(1280, 900).await;
        browser
            .picture(&crate::looks::screens("desk-checked"))
            .await;

        browser.press("Save the student").await;
        let plain = browser.downloaded(".html").await;
        let page = std::fs::read_to_string(&plain).expect("a file");
        assert!(page.contains("<p>Checked: "));
        assert!(!page.contains("keyproof-certificates"));
        std::fs::remove_file(&plain).expect("a file that can be removed");

        browser
            .script("deep('#with-proofs')[0].click();", vec![])
            .await;
        browser.press("Save the student").await;
        let file = browser.downloaded(".html").await;
        let page = std::fs::read_to_string(&file).expect("a file");
        let (_, proofs) = page
            .split_once("id=\"keyproof-certificates\">\n")
            .expect("the proofs");
        let (proofs, _) = proofs.split_once("</script>").expect("an end");
        let accepted = keyproof_certify::verify(proofs).expect("a proof");
        // Both keys mate, no other move does in two, and none in one.
        assert_eq!(accepted.claims.len(), 4);
        browser.go(&file_url(&file)).await;
        browser.until_text("footer", "Checked: ").await;
        let told = browser.text("footer").await;
        assert!(
            told.contains(&format!("{} positions", accepted.positions)),
            "{told}"
        );
        browser
            .picture(&crate::looks::screens("student-checked"))
            .await;
        browser.assert_no_errors().await;
    });
}

/// Far more than can be proved while a test waits. A position after common
/// first moves.
const ENDLESS: &str = "[Event \"Too much\"]\n[FEN \"r1bqkb1r/pppp1ppp/2n2n2/4p3/2B1P3/5N2/PPPP1PPP/RNBQK2R w KQkq - 4 4\"]\n[Stipulation \"#8\"]\n\n1. d3 *\n";

#[test]
fn a_running_proof_tells_how_far_it_is_and_stops() {
    browse("stops", async |browser| {
        open_desk(&browser).await;
        paste(&browser, ENDLESS).await;
        browser.until_text(".running", "Checking").await;
        let seen = "
            const text = deep('.running').map((e) => e.textContent).join(' ');
            return Number((text.match(/([\\d,]+) positions/) || ['', '0'])[1].replaceAll(',', ''));";
        browser
            .until(
                "positions that were seen",
                &seen.replace("return", "return 0 < "),
                vec![],
            )
            .await;
        let first = browser
            .script(seen, vec![])
            .await
            .as_f64()
            .expect("a number");
        let more = seen.replace("return", &format!("return {first} < "));
        browser.until("more of them", &more, vec![]).await;
        assert_eq!(browser.count(".running progress").await, 1);
        browser.press("Stop").await;
        browser.until_text(".running", "Stopped at").await;
        browser.press("Go on checking").await;
        browser.until_text(".running", "Checking").await;
        browser.press("Stop").await;
        browser.until_text(".running", "Stopped at").await;
        browser.assert_no_errors().await;
    });
}

/// From the position over a key to a reply and its answer.
#[test]
fn a_proof_is_walked_to_its_mate() {
    browse("walked", async |browser| {
        open_desk(&browser).await;
        paste(&browser, &staircase()).await;
        browser.until_text(".verdict-line", "Unsound").await;
        browser.press("The proof").await;
        browser.until_text(".proof-told", "Proved: 2 of").await;
        browser.press("1.Ra7 mates in 2").await;
        browser
            .until_text(".proof-told", "replies are answered by mate")
            .await;
        browser.press("1...Kf8 2.Rb8# mates").await;
        browser.press("2.Rb8# mates").await;
        browser.until_text(".proof-told", "Black is mated").await;
        browser.assert_no_errors().await;
    });
}

/// A table is made once: it lies in the browser, smaller than it is, and the
/// next visit finds it.
#[test]
fn an_endgame_table_is_kept() {
    browse("tables", async |browser| {
        let desk = open_desk(&browser).await;
        let pgn = "[Event \"Queen or rook\"]\n[FEN \"8/8/8/4k3/8/8/1K6/3Q3r w - - 0 1\"]\n[Stipulation \"+\"]\n\n1. Qxh1 *\n";
        paste(&browser, pgn).await;
        browser
            .until_text(".verdict-line", "by endgame table")
            .await;
        let kept = "
            if (!window.kept) {
              window.kept = [];
              indexedDB.open('keyproof-tables').onsuccess = (event) => {
                const store = event.target.result.transaction('tables-1').objectStore('tables-1');
                store.getAllKeys().onsuccess = (keys) =>
                  store.getAll().onsuccess = (all) =>
                    window.kept = keys.target.result.map((key, i) => [key, all.target.result[i].length]);
              };
            }
            return window.kept.some(([key]) => key === 'KQKR');";
        browser
            .until("the table in the browser", kept, vec![])
            .await;
        let bytes = browser
            .script(
                "return window.kept.find(([key]) => key === 'KQKR')[1];",
                vec![],
            )
            .await;
        // In memory it takes 8.4 million.
        assert!(
            bytes.as_u64().is_some_and(|n| n > 100_000 && n < 5_000_000),
            "{bytes}"
        );

        browser.go(&desk).await;
        browser.until_text(".contents", "Queen or rook").await;
        browser
            .until_text(".verdict-line", "by endgame table")
            .await;
        let errors = browser
            .script("return window.kept === undefined;", vec![])
            .await;
        assert_eq!(errors, json!(true), "a new visit");
        browser.assert_no_errors().await;
    });
}
