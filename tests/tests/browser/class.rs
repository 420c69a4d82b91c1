//! What the class answered: from the student's page back to the desk.

use keyproof::account::Account;
use keyproof::notation::pgn_write;
use keyproof_tests::browser::{Browser, browse, file_url};
use serde_json::{Value, json};

use crate::everybody::hinders_nobody;
use crate::looks::on_all_papers;
use crate::{Way, lesson, open_desk, paste_whole, play};

/// A position of our own, in which the king steps up to the edge.
const STEP: &str = "[Event \"Up to the edge\"]\n[FEN \"7k/p7/P4K2/8/8/8/8/1R6 w - - 0 1\"]\n[Stipulation \"#2\"]\n\n1. Kg6 (1. Kf7 $1 Kh7 2. Rh1#) 1... Kg8 2. Rb8# *\n";

/// The account of the student at work, under this name.
async fn account(browser: &Browser, name: &str) -> String {
    browser.press("For your coach").await;
    browser.type_into(".kp-account input", name).await;
    let text = "return deep('.kp-account textarea')[0].value;";
    browser
        .until(
            "the name is taken",
            &format!(
                "return {text}.includes(arguments[0])",
                text = "deep('.kp-account textarea')[0].value"
            ),
            vec![json!(name)],
        )
        .await;
    let text = browser.script(text, vec![]).await;
    text.as_str().expect("a text").to_owned()
}

/// Two students at the file, each with a browser of his own as far as it matters.
async fn two_accounts(browser: &Browser, file: &str) -> [String; 2] {
    browser.go(file).await;
    play(browser, Way::Typing, 0, "g7", "g8q").await;
    browser.until_text(".kp-verdict", "no check").await;
    play(browser, Way::Typing, 0, "g7", "g8n").await;
    browser.until_text(".kp-turn", "Solved").await;
    browser.press("Next puzzle").await;
    browser.until_open().await;
    browser.press("Hint 1").await;
    browser.press("Show the solution").await;
    let ann = account(browser, "Ann").await;
    browser.script("localStorage.clear()", vec![]).await;
    browser.go("about:blank").await;
    browser.go(file).await;
    play(browser, Way::Typing, 0, "g7", "g8n").await;
    browser.until_text(".kp-turn", "Solved").await;
    let bo = account(browser, "=Bo").await;
    [ann, bo]
}

/// The rows of the table, as a screen reader has them, without the times, which no two
/// runs have alike.
async fn rows(browser: &Browser) -> Value {
    let script = "return deep('.class-table tbody tr').map((row) =>
        [...row.children].map((cell) => (cell.querySelector('.kp-hidden') ?? cell).textContent.replace(/, \\d+:\\d\\d$/, '')));";
    browser.script(script, vec![]).await
}

/// The sheet of what was missed, solved from its first question to its last.
async fn solve_again(browser: &Browser, sheet: &str) {
    browser.go(sheet).await;
    browser.until_text(".kp-head", "Ask for a knight").await;
    play(browser, Way::Typing, 0, "g7", "g8n").await;
    browser.until_text(".kp-turn", "Solved").await;
    browser.press("Next puzzle").await;
    browser.until_text(".kp-head", "Up to the edge").await;
    play(browser, Way::Typing, 0, "f6", "g6").await;
    browser.until_man("g8", "black king").await;
    play(browser, Way::Typing, 0, "b1", "b8").await;
    browser.until_text(".kp-turn", "Solved").await;
    browser.assert_no_errors().await;
}

async fn open_class(browser: &Browser) {
    browser.press("What the class answered").await;
    browser.until_focus("class-head").await;
}

async fn take(browser: &Browser, text: &str) {
    let put = "deep('#class-text')[0].value = arguments[0];";
    browser.script(put, vec![json!(text)]).await;
    browser.press("Take the accounts").await;
}

async fn drop_file(browser: &Browser, name: &str, text: &str) {
    let drop = "const files = new DataTransfer();
        files.items.add(new File([arguments[1]], arguments[0]));
        deep('.class-room')[0].dispatchEvent(new DragEvent('drop', { bubbles: true, cancelable: true, dataTransfer: files }));";
    browser.script(drop, vec![json!(name), json!(text)]).await;
}

#[test]
fn accounts_come_back_and_what_was_missed_goes_out_again() {
    browse("class", async |browser| {
        let desk = open_desk(&browser).await;
        let pgn = pgn_write::write(&lesson("Ask for a knight")) + "\n" + STEP;
        paste_whole(&browser, &pgn).await;
        browser.until_text(".verdict-line", "Sound").await;
        browser.press("All puzzles in one file").await;
        let file = browser.downloaded("puzzles.html").await;
        browser.until_text(".kept", "saved in this browser").await;
        let [ann, bo] = two_accounts(&browser, &file_url(&file)).await;

        browser.go(&desk).await;
        browser.until_text(".verdict-line", "Sound").await;
        open_class(&browser).await;
        browser
            .until_text(".class-room", "No account came back yet")
            .await;
        let line = bo.find("[keyproof1").expect("a line");
        let damaged = bo.replace(&bo[line + 30..line + 31], "");
        take(&browser, &format!("Ann, 19:04\n{ann}\n> and me\n{damaged}")).await;
        browser
            .until_text("#keyproof-notices", "The account of Ann came in.")
            .await;
        browser
            .until_text("#keyproof-notices", "Damaged, and not taken")
            .await;
        // Files that are dropped are taken as what is pasted, and of another's nothing.
        let foreign = Account {
            name: "Cleo".into(),
            key: 7,
            kept: "0 0=0\n".into(),
        };
        let text = format!("once more:\n{bo}\n{}", foreign.write());
        drop_file(&browser, "chat.txt", &text).await;
        browser
            .until_text("#keyproof-notices", "not taken: Cleo")
            .await;
        browser
            .until_text(
                ".class-sum",
                "2 students, 2 questions. The hardest: 1. Ask for a knight, which 1 missed.",
            )
            .await;
        let found = json!([
            ["=Bo", "found at once", "not begun", ""],
            ["Ann", "found, 1 wrong move", "shown, 1 hint", "1, 2"],
        ]);
        assert_eq!(rows(&browser).await, found);
        on_all_papers(&browser, "class").await;
        hinders_nobody(&browser, "class").await;

        browser.press("1. Ask for a knight").await;
        browser.until_focus("class-closer").await;
        browser.until_text(".class-wrong", "1: Ann").await;
        assert_eq!(browser.count(".class-diagram .kp-try").await, 1);
        on_all_papers(&browser, "class-question").await;
        hinders_nobody(&browser, "class-question").await;
        browser.press("g8=Q").await;
        browser
            .until(
                "the line is gone",
                "return deep('.class-diagram .kp-try').length === 0",
                vec![],
            )
            .await;

        browser.press("Ann").await;
        browser.until_text(".class-played", "g8=Q? g8=N").await;
        browser.press("What this student missed, as a file").await;
        let sheet = browser.downloaded("again-2-chess-puzzles-ann.html").await;
        let again = std::fs::read_to_string(&sheet).expect("a file");
        assert!(again.contains("Ask for a knight") && again.contains("Up to the edge"));
        browser
            .until_text("#keyproof-notices", "again-2-chess-puzzles-ann.html")
            .await;
        browser.until_still("#class-half").await;
        browser.press("What half the class missed, as a file").await;
        browser.downloaded("again-2-chess-puzzles.html").await;
        browser
            .until_text("#keyproof-notices", "again-2-chess-puzzles.html")
            .await;
        browser.until_still("#class-half").await;
        browser.press("Save as CSV").await;
        let csv = browser.downloaded(".csv").await;
        let csv = std::fs::read_to_string(csv).expect("a file");
        assert!(csv.contains("\r\n'=Bo,found at once: g8=N"), "{csv}");

        browser.until_text(".kept", "saved in this browser").await;
        solve_again(&browser, &file_url(&sheet)).await;

        // It is there again, and a removed student comes back.
        browser.go(&desk).await;
        browser.until_text(".verdict-line", "Sound").await;
        open_class(&browser).await;
        assert_eq!(rows(&browser).await, found);
        browser.press("Ann").await;
        browser.press("Remove this student").await;
        browser.until_text(".class-sum", "1 student").await;
        browser.press("Undo").await;
        browser.until_text(".class-sum", "2 students").await;
        browser.press("Back to the desk").await;
        browser.until_text(".verdict-line", "Sound").await;
    });
}
