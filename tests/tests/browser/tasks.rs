//! What eight tasks cost whoever sits at the desk: presses (clicks or taps), keys, and
//! what had to be scrolled to. A [`Hand`] does only what a person could: it presses what
//! is in sight, and opens first what something lies in. The counts are held, so that no
//! task grows; `cargo xtask bench tasks` prints them.

use std::sync::Arc;
use std::time::{Duration, Instant};

use keyproof::account::{Account, key};
use keyproof::notation::pgn_write;
use keyproof::publish::lesson_text;
use keyproof::resolved::Resolved;
use keyproof_tests::browser::{Browser, browse};
use serde_json::json;
use thirtyfour::common::keys::Key;

use crate::shelf::many;
use crate::{lesson, open_desk, paste_whole};

/// What a task may cost.
struct Most {
    presses: usize,
    keys: usize,
    scrolls: usize,
}

/// Whoever does a task, and what it cost so far.
struct Hand {
    browser: Arc<Browser>,
    touch: bool,
    presses: usize,
    keys: usize,
    /// What was not in sight when it was wanted.
    scrolled_to: Vec<String>,
    began: Instant,
}

/// The first enabled control in sight, by its name or text; `null` if none is. `hit` says
/// whether its middle can be pressed as it stands.
const CONTROL: &str = "
    const named = (name) => {
      const fits = (e) => !e.disabled &&
        [e.getAttribute('aria-label'), e.textContent.replace(/\\s+/g, ' ').trim()].some((n) => n && n.startsWith(name));
      return deep('button, summary, a, [role=button]').filter(fits).find(seen);
    };
    const hit = (e) => {
      const r = e.getBoundingClientRect();
      const [x, y] = [r.x + r.width / 2, r.y + r.height / 2];
      if (x < 0 || y < 0 || x >= innerWidth || y >= innerHeight) return false;
      let at = document.elementFromPoint(x, y);
      while (at?.shadowRoot?.elementFromPoint(x, y)) at = at.shadowRoot.elementFromPoint(x, y);
      return at === e || e.contains(at) || !!at?.closest('label')?.contains(e);
    };
    const place = (e) => {
      const there = hit(e);
      if (!there) e.scrollIntoView({ block: 'center' });
      const r = e.getBoundingClientRect();
      return [there, r.x + r.width / 2, r.y + r.height / 2];
    };";

impl Hand {
    async fn at_the_desk(browser: Arc<Browser>, (width, height): (u32, u32), touch: bool) -> Hand {
        browser.window(width, height).await;
        if touch {
            browser
                .devtools(
                    "Emulation.setTouchEmulationEnabled",
                    json!({ "enabled": true }),
                )
                .await;
        }
        open_desk(&browser).await;
        Hand {
            browser,
            touch,
            presses: 0,
            keys: 0,
            scrolled_to: Vec::new(),
            began: Instant::now(),
        }
    }

    /// Presses a control by the beginning of its name, once it is in sight.
    async fn press(&mut self, name: &str) {
        let there = format!("{CONTROL} return !!named(arguments[0]);");
        let what = format!("a control {name} in sight");
        self.browser.until(&what, &there, vec![json!(name)]).await;
        let place = format!("{CONTROL} return place(named(arguments[0]));");
        self.press_there(name, &place).await;
    }

    /// Presses an element in sight.
    async fn press_on(&mut self, selector: &str) {
        let there = "return deep(arguments[0]).some(seen);";
        let what = format!("{selector} in sight");
        self.browser
            .until(&what, there, vec![json!(selector)])
            .await;
        let place = format!("{CONTROL} return place(deep(arguments[0]).find(seen));");
        self.press_there(selector, &place).await;
    }

    async fn press_there(&mut self, what: &str, place: &str) {
        let place = self.browser.script(place, vec![json!(what)]).await;
        if place[0] != json!(true) {
            self.scrolled_to.push(what.to_owned());
        }
        let number = |i: usize| place[i].as_f64().expect("a place");
        let (x, y) = (number(1), number(2));
        self.presses += 1;
        if self.touch {
            self.browser.touch("touchStart", Some((x, y))).await;
            self.browser.touch("touchEnd", None).await;
            return;
        }
        for kind in ["mousePressed", "mouseReleased"] {
            self.browser
                .devtools(
                    "Input.dispatchMouseEvent",
                    json!({ "type": kind, "x": x, "y": y, "button": "left", "clickCount": 1 }),
                )
                .await;
        }
    }

    async fn squares(&mut self, squares: &str) {
        for square in squares.split(' ') {
            self.press_on(&format!("[role=grid] [data-square={square}]"))
                .await;
        }
    }

    /// Chooses in a list: a press opens it, another takes one of its lines.
    async fn choose(&mut self, list: &str, value: &str) {
        let place = format!("{CONTROL} return place(deep(arguments[0]).find(seen));");
        let there = "return deep(arguments[0]).some(seen);";
        self.browser.until(list, there, vec![json!(list)]).await;
        let place = self.browser.script(&place, vec![json!(list)]).await;
        if place[0] != json!(true) {
            self.scrolled_to.push(list.to_owned());
        }
        let set = "const select = deep(arguments[0]).find(seen);
            select.value = arguments[1];
            select.dispatchEvent(new Event('change', { bubbles: true }));
            return select.value === arguments[1];";
        let set = self
            .browser
            .script(set, vec![json!(list), json!(value)])
            .await;
        assert_eq!(set, json!(true), "{list} has {value}");
        self.presses += 2;
    }

    /// Types into what has the focus.
    async fn type_keys(&mut self, text: &str) {
        self.keys += text.chars().count();
        let text = text.replace('\n', &String::from(Key::Enter.value()));
        self.browser.type_keys(text).await;
    }

    async fn key(&mut self, key: Key) {
        self.keys += 1;
        self.browser.key(key).await;
    }

    /// Ctrl and a letter: one key.
    async fn control(&mut self, letter: &str) {
        self.keys += 1;
        self.browser.held(Key::Control, letter).await;
    }

    /// Ctrl+V anywhere: one key.
    async fn paste(&mut self, text: &str) {
        self.keys += 1;
        let paste = "const data = new DataTransfer();
            data.setData('text/plain', arguments[0]);
            const event = new ClipboardEvent('paste', { clipboardData: data, bubbles: true, cancelable: true });
            const into = focused() ?? document.body;
            if (into.dispatchEvent(event) && 'value' in into) into.value = arguments[0];";
        self.browser.script(paste, vec![json!(text)]).await;
    }

    /// Prints what it came to, and holds it to what it may be.
    fn over(self, task: &str, most: Most) {
        let seconds = self.began.elapsed().as_secs_f64();
        println!(
            "{task:38} {:3} presses {:3} keys {:2} scrolled to {seconds:6.1} s",
            self.presses,
            self.keys,
            self.scrolled_to.len(),
        );
        let scrolled_to = self.scrolled_to;
        assert!(scrolled_to.len() <= most.scrolls, "{task}: {scrolled_to:?}");
        let (presses, keys) = (self.presses, self.keys);
        assert!(presses <= most.presses, "{task}: {presses} presses");
        assert!(keys <= most.keys, "{task}: {keys} keys");
    }
}

const DESK: (u32, u32) = (1440, 900);
const PHONE: (u32, u32) = (390, 844);

/// Five men, put one by one: a pawn becomes a rook and mates.
async fn mate_from_a_set_up_position(hand: &mut Hand) {
    hand.press("Set up a position").await;
    for (man, squares) in [
        ("white king", "f6"),
        ("black king", "h7"),
        ("white pawn", "f7 a5"),
        ("black pawn", "a6"),
    ] {
        hand.press(man).await;
        hand.squares(squares).await;
    }
    hand.press("Done").await;
    hand.squares("f7 f8").await;
    hand.press("white rook").await;
    hand.browser.until_man("f8", "white rook").await;
    hand.squares("h7 h6").await;
    hand.browser.until_man("h6", "black king").await;
    hand.squares("f8 h8").await;
    hand.browser.until_text(".verdict-line", "Sound").await;
    hand.press_on("[aria-controls=leaf-give-out]").await;
    hand.press("Save the student").await;
    hand.browser.downloaded(".html").await;
}

#[test]
fn task_1_a_mate_from_a_set_up_position() {
    browse("task-1", async |browser| {
        let mut hand = Hand::at_the_desk(browser, DESK, false).await;
        mate_from_a_set_up_position(&mut hand).await;
        hand.over(
            "a mate from a set-up position",
            Most {
                presses: 20,
                keys: 0,
                scrolls: 0,
            },
        );
    });
}

/// A game of our own making, in which both sides miss something three times. Whether the
/// lesson is sound is no part of the task: the game is lost long before its end.
const GAME: &str = "[Event \"Board four\"]\n[White \"Pell, Orla\"]\n[Black \"Tarn, Jonas\"]\n\n1. e4 e5 2. Bc4 Nc6 3. Qh5 Nf6 4. Nf3 Nxh5 5. Ng5 Nf4 6. Bxf7+ Ke7 7. O-O Qe8 8. Bxe8 Kxe8 *";

#[test]
fn task_2_from_a_game_to_three_questions() {
    browse("task-2", async |browser| {
        let mut hand = Hand::at_the_desk(browser, DESK, false).await;
        hand.paste(GAME).await;
        hand.press_on("[aria-controls=leaf-moments]").await;
        hand.choose("#effort", "0").await;
        hand.press_on("#seek").await;
        hand.browser.until_text(".sought", "the best first").await;
        for place in 1..=3 {
            // What is asked is no longer offered: the next one comes first.
            hand.press_on(".found li:nth-child(1) .entry").await;
            hand.press("Ask here").await;
            let asked = "return deep('.asked li').length === arguments[0];";
            let what = format!("{place} questions");
            hand.browser.until(&what, asked, vec![json!(place)]).await;
        }
        hand.over(
            "from a game to three questions",
            Most {
                presses: 10,
                keys: 1,
                scrolls: 0,
            },
        );
    });
}

/// A knight's check finds the queen beside the king.
const QUEEN_FALLS: &str = "[Event \"Beside the king\"]\n[SetUp \"1\"]\n[FEN \"6k1/pp3pp1/2Np3p/P2q4/1P5R/8/2B2PPP/6K1 w - - 0 1\"]\n\n*";

#[test]
fn task_3_the_queen_falls_with_a_handout() {
    browse("task-3", async |browser| {
        let mut hand = Hand::at_the_desk(browser, DESK, false).await;
        hand.paste(QUEEN_FALLS).await;
        hand.choose("#stipulation", "gain 9 in ").await;
        hand.squares("c6 e7").await;
        hand.press_on("[aria-controls=leaf-check]").await;
        hand.press("Answer every defence").await;
        hand.browser.until_text(".verdict-line", "Sound").await;
        hand.press_on("[aria-controls=leaf-give-out]").await;
        hand.press("Save as a page").await;
        hand.browser.downloaded(".html").await;
        hand.over(
            "the queen falls, and a handout",
            Most {
                presses: 8,
                keys: 1,
                scrolls: 0,
            },
        );
    });
}

#[test]
fn task_4_the_right_ones_of_three_hundred() {
    browse("task-4", async |browser| {
        let mut hand = Hand::at_the_desk(browser, DESK, false).await;
        hand.paste(&many(300)).await;
        hand.browser.until_text(".to-list", "300").await;
        hand.press("Find").await;
        hand.choose("#find-theme", "net").await;
        hand.press("Choose several").await;
        hand.press("All shown").await;
        hand.press_on(".label-tools input").await;
        hand.type_keys("Thursday\n").await;
        hand.press("Give these out").await;
        hand.press("PGN").await;
        let file = hand.browser.downloaded(".pgn").await;
        let text = std::fs::read_to_string(file).expect("a file");
        assert_eq!(text.matches("[Event ").count(), 150);
        hand.over(
            "the right ones of 300",
            Most {
                presses: 8,
                keys: 10,
                scrolls: 0,
            },
        );
    });
}

#[test]
fn task_5_a_talk_of_a_game_with_ten_suggestions() {
    browse("task-5", async |browser| {
        let mut hand = Hand::at_the_desk(browser, DESK, false).await;
        hand.press("Open a lesson").await;
        hand.press("Board").await;
        hand.press("Give a talk").await;
        hand.browser.until_text(".talk-on", "On:").await;
        until_task(&mut hand, "mate in one").await;
        hand.press_on(".talk-recto .kp-typed input").await;
        for suggestion in [
            "Nf3", "d3", "Qxe5", "Nc3", "Bxf7", "Qf3", "a3", "Nh3", "b3", "Qxf7",
        ] {
            hand.type_keys(&format!("{suggestion}\n")).await;
            tokio::time::sleep(Duration::from_millis(300)).await;
        }
        hand.browser.until_text(".talk-suggested", "Qxf7#").await;
        // While the audience answered, the speaker came to know why.
        hand.browser
            .until_text(".talk-ready", "is the only move")
            .await;
        until_task(&mut hand, "best move").await;
        hand.key(Key::Escape).await;
        hand.over(
            "a talk with ten suggestions",
            Most {
                presses: 5,
                // 40 for the suggestions, 11 of the remote and Escape.
                keys: 52,
                scrolls: 0,
            },
        );
    });
}

/// Steps on as a remote does until the task has these words. Whoever holds one sees what a
/// step did before the next.
async fn until_task(hand: &mut Hand, words: &str) {
    for _ in 0..30 {
        if hand.browser.text(".talk-task").await.contains(words) {
            return;
        }
        let next = hand.browser.text(".talk-on").await;
        hand.key(Key::PageDown).await;
        let stepped = "return !deep('.talk-on').some((e) => e.innerText === arguments[0]);";
        hand.browser
            .until("a step", stepped, vec![json!(next)])
            .await;
    }
    panic!("the talk does not come to {words:?}");
}

/// The accounts of 24 students, of whom every third missed the second question.
fn accounts(key: u32) -> String {
    let account = |n: usize| Account {
        name: format!("Student {n:02}"),
        key,
        kept: match n % 3 {
            0 => "0 0=0\n1 0=2\n".into(),
            1 => "0 0=1:Ra8+\n1 0=0\n".into(),
            _ => "0 0=0\n1 0=0s\n".into(),
        },
    };
    (1..=24).map(|n| account(n).write() + "\n").collect()
}

#[test]
fn task_6_the_results_of_twenty_four_students() {
    browse("task-6", async |browser| {
        let mut hand = Hand::at_the_desk(browser, DESK, false).await;
        // Given out the week before: no part of the task.
        let games = ["Ask for a knight", "Less is more"].map(lesson);
        let text: String = games
            .iter()
            .map(pgn_write::write)
            .collect::<Vec<_>>()
            .join("\n");
        paste_whole(&hand.browser, &text).await;
        hand.browser.until_text(".verdict-line", "Sound").await;
        hand.browser.press("All puzzles in one file").await;
        hand.browser.downloaded(".html").await;
        let posed: Vec<Resolved> = games.iter().map(Resolved::of).collect();
        let key = key(&lesson_text(&posed.iter().collect::<Vec<_>>()));
        hand.began = Instant::now();

        hand.paste(&accounts(key)).await;
        hand.browser
            .until_text(".class-sum", "24 students, 2 questions")
            .await;
        hand.press("What half the class missed").await;
        hand.over(
            "the results of 24 students",
            Most {
                presses: 1,
                keys: 1,
                scrolls: 0,
            },
        );
    });
}

/// Where a command is asked for by its words.
async fn command(hand: &mut Hand, words: &str) {
    hand.control("k").await;
    hand.browser.until_focus("finder").await;
    hand.type_keys(&format!("{words}\n")).await;
}

#[test]
fn task_7_by_keyboard_alone() {
    browse("task-7", async |browser| {
        let mut hand = Hand::at_the_desk(browser, DESK, false).await;
        hand.paste("8/5P1k/p4K2/P7/8/8/8/8 w - - 0 1").await;
        hand.browser.until_man("f7", "white pawn").await;
        command(&mut hand, "typed").await;
        for (mv, square, man) in [
            ("f8=R", "f8", "white rook"),
            ("Kh6", "h6", "black king"),
            ("Rh8", "h8", "white rook"),
        ] {
            hand.type_keys(&format!("{mv}\n")).await;
            hand.browser.until_man(square, man).await;
        }
        hand.browser.until_text(".verdict-line", "Sound").await;
        command(&mut hand, "save the student").await;
        hand.browser.downloaded(".html").await;
        hand.over(
            "a mate by keyboard alone",
            Most {
                presses: 0,
                keys: 39,
                scrolls: 0,
            },
        );
    });
}

#[test]
fn task_8_by_phone_alone() {
    browse("task-8", async |browser| {
        let mut hand = Hand::at_the_desk(browser, PHONE, true).await;
        mate_from_a_set_up_position(&mut hand).await;
        hand.over(
            "a mate by phone alone",
            Most {
                presses: 20,
                keys: 0,
                scrolls: 0,
            },
        );
    });
}
