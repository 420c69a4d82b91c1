//! The student with a published file.

use keyproof_tests::browser::{Browser, browse, file_url};
use keyproof_tests::parse;
use serde_json::json;
use thirtyfour::Key;

use crate::looks::on_all_papers;
use crate::{Way, first_moves, lesson, play, press_rare, publish, whole_lesson};

/// A lesson's puzzle solved in one way from start to end: a try and its
/// refutation, then the key, then castling.
async fn solve_castling(browser: &Browser, way: Way) {
    let file = publish(
        &[lesson("Castling comes second")],
        &browser.folder.join("one.html"),
    );
    let url = file_url(&file);
    browser.go(&url).await;
    browser.until_text(".kp-task", "mate in 2").await;
    play(browser, way, 0, "h3", "e3").await;
    browser.until_text(".kp-verdict", "parries").await;
    browser.until_man("h3", "white rook").await;
    browser.until_man("e3", "empty").await;
    play(browser, way, 0, "h3", "h4").await;
    browser
        .until_text(".kp-verdict", "Shuts the fourth rank")
        .await;
    browser.until_man("d3", "black king").await;
    play(browser, way, 1, "e1", "c1").await;
    browser.until_text(".kp-turn", "Solved").await;
    browser.until_man("d1", "white rook").await;
    browser.until_text(".kp-verdict", "one wrong move").await;
    browser.assert_no_errors().await;
    browser.assert_no_request_left(&[&url]).await;
}

#[test]
fn solved_by_mouse() {
    browse("mouse", async |browser| {
        solve_castling(&browser, Way::Mouse).await
    });
}

#[test]
fn solved_by_keyboard() {
    browse("keys", async |browser| {
        solve_castling(&browser, Way::Keys).await
    });
}

#[test]
fn solved_by_touch() {
    browse("touch", async |browser| {
        browser.window(360, 740).await;
        solve_castling(&browser, Way::Fingers).await;
    });
}

#[test]
fn solved_by_typing() {
    browse("typing", async |browser| {
        solve_castling(&browser, Way::Typing).await
    });
}

/// Of the moves that are offered one is right: the others are refuted, by mouse, by keys
/// and on the board, and what is said can be heard.
#[test]
fn a_choice_is_made_among_the_moves_offered() {
    browse("choice", async |browser| {
        let puzzle = lesson("One knight, four checks");
        let file = publish(&[puzzle], &browser.folder.join("one.html"));
        browser.go(&file_url(&file)).await;
        browser
            .until_text(".kp-task", "Which of these moves?")
            .await;
        browser.until_open().await;
        let offered = "return deep('.kp-options button').map((b) => b.textContent).join();";
        assert_eq!(
            browser.script(offered, vec![]).await,
            json!("1.Ne5+,1.Ng5+,1.Nh6+,1.Nd8+")
        );
        assert_eq!(browser.count(".kp-typed").await, 0);
        on_all_papers(&browser, "choice").await;
        browser.press("1.Nd8+").await;
        browser
            .until_text(
                ".kp-verdict [lang], .kp-verdict .kp-words",
                "The knight is gone",
            )
            .await;
        browser.until_open().await;
        browser.until_text(".kp-options", "✗ 1.Nd8+").await;
        // The focus stays with the answers, and the next one is a step away.
        let focus = "return focused().textContent;";
        browser
            .script("deep('.kp-options button')[1].focus();", vec![])
            .await;
        browser.key(Key::Tab).await;
        assert_eq!(browser.script(focus, vec![]).await, json!("1.Nh6+"));
        browser.key(Key::Enter).await;
        browser.until_text(".kp-verdict", "1.Nh6+ is right").await;
        // The board has the focus, and the rest is played there.
        browser
            .until(
                "the focus on the board",
                "return !!focused().dataset.square;",
                vec![],
            )
            .await;
        assert_eq!(browser.count(".kp-options").await, 0);
        let live = "return deep('.kp-verdict')[0].getAttribute('role');";
        assert_eq!(browser.script(live, vec![]).await, json!("status"));
        browser.until_open().await;
        play(&browser, Way::Typing, 1, "c4", "g8").await;
        browser.until_open().await;
        play(&browser, Way::Mouse, 2, "h6", "f7").await;
        browser.until_text(".kp-verdict", "Defence 1 of 2").await;
        play(&browser, Way::Mouse, 1, "c4", "f7").await;
        browser
            .until_text(".kp-verdict", "with one wrong move")
            .await;
        browser.assert_no_errors().await;
    });
}

/// The other side is shown to be to move, which can be heard, and the threat against it is
/// played by every hand.
#[test]
fn a_threat_is_played_as_if_the_other_side_had_passed() {
    browse("threat", async |browser| {
        let puzzle = lesson("Nobody looks at the rook");
        let file = publish(&[puzzle], &browser.folder.join("one.html"));
        browser.window(360, 740).await;
        // A move of the side that is shown to be to move is told whose is asked, and no
        // move beside it.
        browser.go(&file_url(&file)).await;
        browser.until_open().await;
        browser.type_into(".kp-typed input", "Nc4\n").await;
        browser
            .until_text(".kp-fault", "“Nc4” is not a legal move of Black.")
            .await;
        assert!(!browser.text(".kp-fault").await.contains("Ng3"));
        for way in [Way::Typing, Way::Keys, Way::Fingers, Way::Mouse] {
            browser.go(&file_url(&file)).await;
            browser
                .until_text(".kp-task", "White to move. What does Black threaten?")
                .await;
            browser
                .until_text(
                    ".kp-verdict[role=status]",
                    "Play a move of Black, as if White had passed.",
                )
                .await;
            browser.until_text(".kp-turn", "White to move").await;
            browser
                .find("[role=grid][aria-label='Position, White to move']")
                .await;
            // White's men are below, and only Black's move.
            browser.until_open().await;
            let below = "const at = (square) => deep(`[data-square=${square}]`)[0].getBoundingClientRect().y;
                 return at('h1') > at('h8');";
            assert_eq!(browser.script(below, vec![]).await, json!(true));
            play(&browser, way, 0, "e7", "e2").await;
            browser.until_text(".kp-verdict .kp-wrong", "1...Qe2").await;
            browser.until_open().await;
            browser.until_text(".kp-turn", "White to move").await;
            play(&browser, way, 0, "f5", "g3").await;
            browser
                .until_text(
                    ".kp-verdict",
                    "1...Ng3+ is right. Solved, with one wrong move.",
                )
                .await;
            browser.until_man("g3", "black pawn").await;
            browser
                .until_text(".kp-verdict", "Who asks this before every move")
                .await;
            on_all_papers(&browser, "threat").await;
            let account = "return deep('.kp-account textarea')[0].value;";
            let account = browser.script(account, vec![]).await;
            let account = account.as_str().expect("a line");
            assert!(
                account.contains("1 of 1 found, 1 wrong move") && account.contains("Ng3+"),
                "{account}"
            );
            browser.script("localStorage.clear();", vec![]).await;
        }
        browser.assert_no_errors().await;
    });
}

#[test]
fn a_yes_or_no_is_answered_and_then_shown() {
    browse("yes-or-no", async |browser| {
        let puzzle = lesson("First the knight, or first the queen?");
        let file = publish(&[puzzle], &browser.folder.join("one.html"));
        browser.window(360, 740).await;
        browser.go(&file_url(&file)).await;
        browser.until_text(".kp-task", "Does Qxh7+ do it?").await;
        browser.named("No, it fails").await;
        on_all_papers(&browser, "yes-or-no").await;
        browser.press("Yes, it does").await;
        browser
            .until_text(".kp-verdict", "It is not so. 1.Qxh7+")
            .await;
        browser
            .until_text(".kp-verdict", "counted to its end")
            .await;
        browser.until_man("g6", "black king").await;
        browser
            .until_text(".kp-turn", "The solution is shown")
            .await;
        browser.until_man("h5", "white queen").await;
        on_all_papers(&browser, "yes-or-no-shown").await;
        let account = "return deep('.kp-account textarea')[0].value;";
        let account = browser.script(account, vec![]).await;
        let account = account.as_str().expect("a line");
        assert!(
            account.contains("0 of 1 found, 1 wrong move, 1 shown"),
            "{account}"
        );
        assert!(account.contains("(yes?)"), "{account}");
        // It is found at another try, and the account says both.
        browser.press("Again, what was missed").await;
        browser.press("No, it fails").await;
        browser.until_text(".kp-verdict", "So it is. 1.Qxh7+").await;
        browser.reload().await;
        browser
            .until_text(".kp-verdict", "Last time the solution was shown.")
            .await;
        browser.assert_no_errors().await;
    });
}

/// Every defence that the author listed is asked in turn, each answered by its
/// own move.
#[test]
fn every_defence_is_asked_in_turn() {
    browse("defences", async |browser| {
        let file = publish(
            &[lesson("No check, no hurry")],
            &browser.folder.join("one.html"),
        );
        browser.go(&file_url(&file)).await;
        play(&browser, Way::Mouse, 0, "g5", "f6").await;
        let answers = [
            ("d5", "black pawn", "h8"),
            ("g7", "black bishop", "g7"),
            ("e3", "black bishop", "g7"),
        ];
        for (turn, (square, man, to)) in answers.into_iter().enumerate() {
            browser.until_man(square, man).await;
            play(&browser, Way::Mouse, turn, "f6", to).await;
        }
        browser.until_text(".kp-turn", "Solved").await;
        browser
            .until_text(".kp-verdict", "Every defence is answered")
            .await;
    });
}

/// Promotion asks which man, and the wrong one fails with the author's words.
#[test]
fn promotion_asks_which_man() {
    browse("promotion", async |browser| {
        let file = publish(
            &[lesson("Ask for a knight")],
            &browser.folder.join("one.html"),
        );
        browser.go(&file_url(&file)).await;
        for (man, told) in [
            ("white queen", "no check"),
            ("white rook", "not mate"),
            ("white knight", "A knight checks"),
        ] {
            play(&browser, Way::Mouse, 1, "g7", "g8").await;
            browser.press(man).await;
            browser.until_text(".kp-verdict", told).await;
        }
        browser.until_text(".kp-turn", "Solved").await;
    });
}

/// In a frame without an origin storage throws; in a page whose styles reach
/// for everything, the page inside keeps its own.
#[test]
fn solved_in_a_sandboxed_frame_of_a_strict_page() {
    browse("frame", async |browser| {
        publish(
            &[lesson("The queen goes first")],
            &browser.folder.join("one.html"),
        );
        let host = browser.folder.join("host.html");
        std::fs::write(
            &host,
            "<!doctype html><meta charset=utf-8><title>A club's page</title>
             <meta http-equiv=Content-Security-Policy content=\"default-src 'self' file:; style-src 'unsafe-inline'; script-src 'none'\">
             <style>*,*::before,*::after{all:initial!important;color:red!important;font:9px serif!important}
             iframe{width:1000px!important;height:800px!important;display:block!important}</style>
             <iframe sandbox=allow-scripts src=one.html></iframe>",
        )
        .expect("a file");
        browser.go(&file_url(&host)).await;
        browser.driver.enter_frame(0).await.expect("a frame");
        browser.until_text(".kp-task", "mate in 2").await;
        let storage = browser
            .script(
                "try { return typeof localStorage; } catch (e) { return 'throws'; }",
                vec![],
            )
            .await;
        assert_eq!(storage, json!("throws"));
        play(&browser, Way::Typing, 0, "e2", "e8").await;
        browser.until_man("e8", "black rook").await;
        play(&browser, Way::Typing, 1, "e1", "e8").await;
        browser.until_text(".kp-turn", "Solved").await;
    });
}

/// The whole demo lesson in one file: every puzzle opens and shows its
/// solution.
#[test]
fn the_whole_lesson_in_one_file() {
    browse("lesson", async |browser| {
        let drafts = whole_lesson();
        let file = publish(&drafts, &browser.folder.join("all.html"));
        let url = file_url(&file);
        browser.go(&url).await;
        for (i, draft) in drafts.iter().enumerate() {
            browser
                .until_text(".kp-head h1", keyproof_tests::title(draft))
                .await;
            browser.press("Show the solution").await;
            browser
                .until_text(".kp-solution", &first_moves(draft)[0])
                .await;
            if i + 1 < drafts.len() {
                browser.press("Next").await;
            }
        }
        browser.assert_no_errors().await;
        browser.assert_no_request_left(&[&url]).await;
    });
}

/// Hints come one at a time; starting over forgets the moves.
#[test]
fn hints_and_starting_over() {
    browse("hints", async |browser| {
        let draft = lesson("Less is more");
        let file = publish(
            std::slice::from_ref(&draft),
            &browser.folder.join("one.html"),
        );
        browser.go(&file_url(&file)).await;
        browser.press("Hint 1 of 2").await;
        browser
            .until_text(".kp-hints", draft.tag("Hint1").expect("a hint"))
            .await;
        assert!(
            !browser
                .text(".kp-hints")
                .await
                .contains(draft.tag("Hint2").expect("a hint"))
        );
        play(&browser, Way::Typing, 0, "f7", "f8r").await;
        browser.until_man("h6", "black king").await;
        press_rare(&browser, "Start over").await;
        browser.until_man("f7", "white pawn").await;
        browser.until_man("h7", "black king").await;
    });
}

/// The page goes by the proof, not by the author's list: an unlisted mate is
/// taken, and a listed key that fails is not.
#[test]
fn the_proof_decides_whatever_is_listed() {
    browse("proof", async |browser| {
        let unlisted = parse(
            "[Event \"A rook too few\"]\n[FEN \"6k1/5ppp/8/8/8/8/5PPP/R2R2K1 w - - 0 1\"]\n[Stipulation \"#1\"]\n\n1. Ra8# *\n",
            "a puzzle with a cook",
        );
        let file = publish(&unlisted, &browser.folder.join("one.html"));
        browser.go(&file_url(&file)).await;
        play(&browser, Way::Mouse, 1, "d1", "d8").await;
        browser.until_text(".kp-verdict", "right as well").await;
        browser.until_text(".kp-turn", "Solved").await;

        let failing = parse(
            "[Event \"A window\"]\n[FEN \"6k1/5pp1/7p/8/8/8/5PPP/R5K1 w - - 0 1\"]\n[Stipulation \"#1\"]\n\n1. Ra8# *\n",
            "a puzzle without a solution",
        );
        let file = publish(&failing, &browser.folder.join("two.html"));
        browser.go(&file_url(&file)).await;
        play(&browser, Way::Mouse, 1, "a1", "a8").await;
        browser.until_text(".kp-verdict", "not mate").await;
        browser.until_man("a1", "white rook").await;
    });
}

/// A selfmate: the move that mates is no answer, and the other side's mate is
/// played out.
#[test]
fn a_selfmate_ends_with_the_solvers_king() {
    browse("selfmate", async |browser| {
        let file = publish(
            &[lesson("The queen steps aside")],
            &browser.folder.join("one.html"),
        );
        browser.go(&file_url(&file)).await;
        browser
            .until_text(".kp-task", "White to move and make Black mate in 2 moves.")
            .await;
        play(&browser, Way::Mouse, 0, "f3", "g3").await;
        browser.until_text(".kp-verdict", "gives mate").await;
        browser.until_man("f3", "white queen").await;
        play(&browser, Way::Mouse, 0, "c7", "c4").await;
        browser
            .until_text(".kp-verdict", "make the other side mate at once")
            .await;
        browser.until_man("f3", "black rook").await;
        play(&browser, Way::Typing, 1, "c4", "f1").await;
        browser.until_man("f1", "black rook").await;
        browser
            .until_text(".kp-verdict", "2...Rxf1# mates, as it must")
            .await;
        browser.until_text(".kp-turn", "Solved").await;
        browser.assert_no_errors().await;
    });
}

#[test]
fn a_stalemate_is_asked_for_and_reached() {
    browse("stalemate", async |browser| {
        let file = publish(
            &[lesson("Nowhere left to go")],
            &browser.folder.join("one.html"),
        );
        browser.go(&file_url(&file)).await;
        browser
            .until_text(".kp-task", "White to move and stalemate Black in 2.")
            .await;
        play(&browser, Way::Mouse, 0, "d1", "d6").await;
        browser
            .until_text(".kp-verdict", "stalemate comes only in 3 moves")
            .await;
        browser.until_man("d1", "white queen").await;
        play(&browser, Way::Mouse, 0, "g4", "g7").await;
        browser.until_man("f8", "black king").await;
        browser.until_text(".kp-verdict", "stalemate in one").await;
        play(&browser, Way::Typing, 1, "d1", "d7").await;
        browser.until_text(".kp-verdict", "right: stalemate").await;
        browser.until_text(".kp-turn", "Solved").await;
        browser.assert_no_errors().await;
    });
}

/// A helpmate: the student moves for both sides, is told how much is left, and
/// is asked for the second solution after the first.
#[test]
fn a_helpmate_is_played_with_both_hands_and_twice() {
    browse("helpmate", async |browser| {
        let file = publish(
            &[lesson("Two hands, one mate")],
            &browser.folder.join("one.html"),
        );
        browser.go(&file_url(&file)).await;
        browser
            .until_text(
                ".kp-task",
                "Black moves first, and both sides help White to mate Black.",
            )
            .await;
        browser.until_text(".kp-turn", "Half move 1 of 4").await;
        browser.until_text(".kp-turn", "Solution 1 of 2").await;
        play(&browser, Way::Mouse, 0, "e1", "f2").await;
        browser.until_text(".kp-verdict", "does not help").await;
        browser.until_man("e1", "black king").await;
        play(&browser, Way::Mouse, 0, "e1", "d1").await;
        browser
            .until_text(".kp-verdict", "Now White: play on, 3 half moves left.")
            .await;
        browser.until_text(".kp-turn", "White to move").await;
        play(&browser, Way::Mouse, 1, "f5", "c2").await;
        play(&browser, Way::Keys, 0, "d1", "c1").await;
        browser.until_text(".kp-verdict", "Now White: mate.").await;
        play(&browser, Way::Typing, 0, "e5", "d3").await;
        browser
            .until_text(".kp-verdict", "Look for the next one from here")
            .await;
        browser.until_man("e1", "black king").await;
        play(&browser, Way::Typing, 0, "e1", "d1").await;
        browser.until_text(".kp-verdict", "found before").await;
        for (from, to) in [("e1", "e2"), ("e5", "d3"), ("e2", "d1"), ("f5", "g4")] {
            play(&browser, Way::Typing, 0, from, to).await;
            browser.until_man(from, "empty").await;
        }
        browser
            .until_text(".kp-verdict", "Every solution is found: solved")
            .await;
        browser.until_text(".kp-turn", "Solved").await;
        browser.assert_no_errors().await;
    });
}

/// A draw and a best move: a wrong move that nobody listed is answered with its
/// reason, and the solution comes with why it works.
#[test]
fn draws_and_best_moves_say_why() {
    browse("whys", async |browser| {
        let file = publish(
            &[
                lesson("Round and round"),
                lesson("Four squares and a bishop"),
            ],
            &browser.folder.join("two.html"),
        );
        let url = file_url(&file);
        browser.go(&url).await;
        browser
            .until_text(".kp-task", "White to move and draw")
            .await;
        play(&browser, Way::Mouse, 1, "h5", "d1").await;
        browser.until_text(".kp-verdict", "1.Qd1 allows mate").await;
        browser.until_man("h5", "white queen").await;
        play(&browser, Way::Mouse, 1, "h5", "e8").await;
        browser.until_man("h7", "black king").await;
        play(&browser, Way::Mouse, 1, "e8", "h5").await;
        browser.until_text(".kp-turn", "Solved").await;
        browser.until_text(".kp-whys", "only move").await;

        browser.press("Next puzzle").await;
        browser.until_text(".kp-task", "Find the best move").await;
        play(&browser, Way::Typing, 0, "f7", "e6").await;
        browser.until_text(".kp-verdict", "1.Be6").await;
        let told = browser.text(".kp-verdict").await;
        assert!(told.contains("weaker") || told.contains("lets"), "{told}");
        browser.until_man("f7", "white bishop").await;
        play(&browser, Way::Typing, 0, "f7", "d5").await;
        browser.until_text(".kp-turn", "Solved").await;
        browser.until_text(".kp-whys", "only move").await;
        browser.assert_no_errors().await;
        browser.assert_no_request_left(&[&url]).await;
    });
}
