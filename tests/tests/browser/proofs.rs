//! Proofs at the desk: their progress, stopping them, walking them, checking
//! them a second time, and tables that are kept.

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use keyproof::tables::FORMAT;
use keyproof_tests::browser::{Browser, browse, file_url};
use keyproof_tests::reference;
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

/// The knight forks king and queen, and what it wins is proved, checked and told; asked
/// for, it goes out with its proofs, which both checkers accept, and the student's page
/// judges by them.
#[test]
fn a_fork_is_proved_to_win_the_queen_and_goes_out_with_its_proofs() {
    let fork = "[Event \"Fork\"]\n[FEN \"6k1/3q1p1p/8/3N4/8/8/5PPP/6K1 w - - 0 1\"]\n[Stipulation \"+\"]\n\n1. Nf6+ (1. Nb6 $2 Qd1#) 1... Kg7 (1... Kh8 2. Nxd7) 2. Nxd7 *\n";
    browse("fork", async |browser| {
        open_desk(&browser).await;
        paste(&browser, fork).await;
        let says = "wins the queen within 2 moves, proved: ";
        browser.until_text(".findings", says).await;
        browser
            .until_text(".findings", "positions, checked a second time")
            .await;
        browser.window(1440, 900).await;
        browser.picture(&crate::looks::screens("desk-fork")).await;
        browser
            .press("Ask for this instead: win the queen, in 2 moves at most")
            .await;
        browser
            .until_text(".verdict-line", "checked by a second, independent program")
            .await;
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
        assert!(proofs.contains("claim gain 9 2 by d5f6"), "{proofs}");
        let kept = file.with_extension("txt");
        std::fs::write(&kept, proofs).expect("a file for the proofs");
        let name = kept.to_str().expect("a UTF-8 path");
        let told = reference::python("verify.py", &[name], "");
        let counts = format!(
            "accept {name}: {} claims, {} positions",
            accepted.claims.len(),
            accepted.positions
        );
        assert!(told.contains(&counts), "{told}");
        browser.go(&file_url(&file)).await;
        let task = "win the queen, in 2 moves at most";
        browser.until_text(".kp-task", task).await;
        browser.until_text("footer", "Checked: ").await;
        crate::play(&browser, crate::Way::Mouse, 0, "d5", "b6").await;
        browser.until_text(".kp-verdict", "Qd1#").await;
        browser
            .picture(&crate::looks::screens("student-fork"))
            .await;
        browser.assert_no_errors().await;
    });
}

/// Far more than can be proved while a test waits. A position after common
/// first moves.
const ENDLESS: &str = "[Event \"Too much\"]\n[FEN \"r1bqkb1r/pppp1ppp/2n2n2/4p3/2B1P3/5N2/PPPP1PPP/RNBQK2R w KQkq - 4 4\"]\n[Stipulation \"#8\"]\n\n1. d3 *\n";

/// Stops the check. The button moves as what stands before it grows, so it is pressed
/// where it is.
async fn stop(browser: &Browser) {
    browser
        .until(
            "the button pressed",
            "const stop = deep('.running button').find((b) => seen(b) && b.textContent === 'Stop');
             stop?.click();
             return !!stop;",
            vec![],
        )
        .await;
    browser.until_text(".running", "Stopped at").await;
}

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
        stop(&browser).await;
        browser.press("Go on checking").await;
        browser.until_text(".running", "Checking").await;
        stop(&browser).await;
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
              indexedDB.open('keyproof-tables-' + arguments[0]).onsuccess = (event) => {
                const store = event.target.result.transaction('tables').objectStore('tables');
                store.getAllKeys().onsuccess = (keys) =>
                  store.getAll().onsuccess = (all) =>
                    window.kept = keys.target.result.map((key, i) => [key, all.target.result[i].length]);
              };
            }
            return window.kept.some(([key]) => key === 'KQKR');";
        browser
            .until("the table in the browser", kept, vec![json!(FORMAT)])
            .await;
        let bytes = browser
            .script(
                "return window.kept.find(([key]) => key === 'KQKR')[1];",
                vec![],
            )
            .await;
        // In memory it takes 4.6 million.
        assert!(
            bytes.as_u64().is_some_and(|n| n > 100_000 && n < 3_000_000),
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

/// Files of the source distribution of the PyPI package `chess` 1.11.2.
fn syzygy(names: &[&str]) -> Vec<serde_json::Value> {
    let folder = reference::dir().join("data/syzygy/regular");
    let file = |name: &&str| {
        let bytes = std::fs::read(folder.join(name)).expect("the package's files");
        json!([name, STANDARD.encode(bytes)])
    };
    names.iter().map(file).collect()
}

/// Files are read where they lie, and decide what our own tables cannot: how many
/// moves are left under the fifty-move rule. A damaged one is named.
#[test]
fn endgame_tables_are_opened_from_files() {
    browse("endings", async |browser| {
        open_desk(&browser).await;
        paste(&browser, &too_late()).await;
        browser.until_text(".kept", "saved in this browser").await;
        open_endings(&browser).await;
        browser
            .until_text(".endings-count", "6 files, up to 4 men")
            .await;
        browser
            .until_text(".endings-faults", "KQvK.rtbw is no Syzygy file")
            .await;
        browser.press("Close the endgame tables").await;
        browser.until_text(".endings", "Open endgame tables").await;
        browser.assert_no_errors().await;
    });
}

#[test]
fn the_clock_counts_where_endgame_tables_are_open() {
    browse("endings-clock", async |browser| {
        open_desk(&browser).await;
        paste(&browser, &too_late()).await;
        browser.until_text(".verdict-line", "Undecided").await;
        open_endings(&browser).await;
        browser.until_text(".verdict-line", "Unsound").await;
        browser.assert_no_errors().await;
    });
}

/// The rook wins the knight in 24 moves, and 15 are left (source: DTZ in the files
/// as the package `chess` reads it).
fn too_late() -> String {
    "[Event \"Too late\"]\n[FEN \"4n3/8/3K4/8/8/8/2k5/R7 w - - 70 99\"]\n[Stipulation \"+\"]\n\n1. Kd5 *\n".to_owned()
}

/// Opens the tables of that ending, and a file that is none.
async fn open_endings(browser: &Browser) {
    let mut files = syzygy(&[
        "KRvKN.rtbw",
        "KRvKN.rtbz",
        "KRvK.rtbw",
        "KRvK.rtbz",
        "KNvK.rtbw",
        "KNvK.rtbz",
    ]);
    files.push(json!(["KQvK.rtbw", STANDARD.encode("something else")]));
    browser
        .script(
            "const files = new DataTransfer();
             for (const [name, text] of arguments[0])
               files.items.add(new File([Uint8Array.from(atob(text), (c) => c.charCodeAt(0))], name));
             const input = deep('#endings-files')[0];
             input.files = files.files;
             input.dispatchEvent(new Event('change', { bubbles: true }));",
            vec![json!(files)],
        )
        .await;
}
