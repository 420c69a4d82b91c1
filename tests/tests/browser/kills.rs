//! A browser that is killed (SIGKILL, all of its processes) at a moment drawn by chance
//! while an author works: when it is started again the work is there, but for at most
//! what was done last. `KEYPROOF_KILLS` asks for more of them than a test run has,
//! `KEYPROOF_SEED` for others.

use std::sync::Arc;
use std::time::{Duration, Instant};

use keyproof::prove::corpus::Seeded;
use keyproof_tests::browser::{Browser, browse, file_url, page};
use serde_json::json;
use thirtyfour::prelude::WebDriverResult;

use crate::{open_desk, paste};

/// The titles of the puzzles, in order.
type Titles = Vec<String>;

/// What the page showed, and when that was seen first.
type Seen = Vec<(Instant, Titles)>;

/// Something that an author does in one movement of the hand.
#[derive(Clone, Copy, Debug)]
enum Deed {
    Letter(char),
    Paste,
    Undo,
}

const TITLES: &str = "return deep('.entry-title').map((e) => e.textContent);";

/// Letters an author types in a second, at most.
const LETTERS: u64 = 9;

/// The longest that a browser lives, from the opening of the page on, in milliseconds.
const LIFE: usize = 5000;

/// The longest that a busy machine may take to put down what was done.
const A_MOMENT: Duration = Duration::from_secs(1);

#[test]
fn a_browser_killed_at_any_moment_loses_no_more_than_what_was_done_last() {
    let asked = |name: &str| std::env::var(name).ok().and_then(|text| text.parse().ok());
    let kills: u64 = asked("KEYPROOF_KILLS").unwrap_or(3);
    let seed: u64 = asked("KEYPROOF_SEED").unwrap_or(1);
    browse("kills", async move |browser| {
        let mut random = Seeded::new(seed);
        open_desk(&browser).await;
        paste(&browser, "[Event \"Lantern\"]\n\n1. e4 *\n").await;
        let mut shown = restored(&browser).await;
        let mut browser = browser;
        // How often nothing was lost, how often what was done last, and how often more.
        let mut lost = [0; 3];
        for kill in 0..kills {
            let life = Duration::from_millis(random.below(LIFE) as u64);
            let killer = tokio::spawn({
                let browser = browser.clone();
                async move {
                    tokio::time::sleep(life).await;
                    let now = Instant::now();
                    browser.kill();
                    now
                }
            });
            let mut seen = vec![(Instant::now(), shown)];
            let last = work(&browser, &mut seen, &mut random).await;
            let killed = killer.await.expect("a browser that is killed");
            browser = Arc::new(browser.again().await);
            browser.go(&desk()).await;
            shown = restored(&browser).await;
            let behind = behind(&seen, last, &shown);
            println!(
                "kill {kill} after {life:?}: {} states, {last:?}, behind {behind:?}",
                seen.len()
            );
            match behind {
                Some(behind @ ..=1) => lost[behind] += 1,
                // A busy machine is longer in writing than an author in typing.
                Some(more) if killed - seen[seen.len() - more].0 < A_MOMENT => lost[2] += 1,
                _ => panic!("kill {kill}, seed {seed}: {shown:?} after {seen:?} and {last:?}"),
            }
        }
        println!(
            "{kills} kills: nothing lost {}, what was done last {}, more of the last second {}",
            lost[0], lost[1], lost[2]
        );
        let quit = browser.driver.clone().quit().await;
        quit.expect("a browser that closes");
    });
}

fn desk() -> String {
    file_url(&page("keyproof.html"))
}

/// The titles once all that is kept has been read.
async fn restored(browser: &Browser) -> Titles {
    let read = "return deep('.kept')[0]?.textContent === 'saved in this browser' && deep('.entry-title').length > 0;";
    browser.until("the work", read, vec![]).await;
    let titles = browser.script(TITLES, vec![]).await;
    serde_json::from_value(titles).expect("titles")
}

/// Works until the browser is gone. `seen` gets the titles that the page showed after each
/// deed; what was begun last is told.
async fn work(browser: &Browser, seen: &mut Seen, random: &mut Seeded) -> Option<Deed> {
    if browser.driver.goto(desk()).await.is_err() {
        return None;
    }
    loop {
        let deed = match random.below(16) {
            0 => Deed::Paste,
            1 => Deed::Undo,
            _ => Deed::Letter(char::from(b'a' + random.below(26) as u8)),
        };
        if done(browser, deed, seen).await.is_err() {
            return Some(deed);
        }
        tokio::time::sleep(Duration::from_millis(1000 / LETTERS)).await;
    }
}

/// Brings the line of the title into focus, if the desk is there already, and tells whether.
const READY: &str = "const there = deep('.entry-title').length > 0;
    if (there && focused()?.id !== 'title') {
      const line = deep('#title')[0];
      reach(line);
      line.focus();
    }
    return there;";

/// Presses buttons and reads titles once all is drawn: the list is empty for the moment in
/// which it is laid out anew.
const DRAWN: &str = "const press = (name) => deep('button').find((b) => b.textContent.trim() === name && !b.disabled)?.click();
    const drawn = () => new Promise((go) => requestAnimationFrame(() => setTimeout(go)));";
const PASTE: &str = "return (async () => {
      press('Paste …');
      await drawn();
      const text = deep('#paste-text')[0];
      if (text) text.value = '[Event \"Lantern\"]\\n\\n1. d4 *\\n';
      press('Read it');
    })();";
const UNDO: &str = "press('Undo');";

/// Does something, if the page is there already, and reads what the page shows.
async fn done(browser: &Browser, deed: Deed, seen: &mut Seen) -> WebDriverResult<()> {
    if browser.try_script(READY, vec![]).await? != json!(true) {
        return Ok(());
    }
    let with_drawn = async |script: &str| {
        let script = format!("{DRAWN}{script}");
        browser.try_script(&script, vec![]).await
    };
    match deed {
        Deed::Letter(letter) => {
            let keys = browser.driver.action_chain().send_keys(letter);
            keys.perform().await?;
        }
        Deed::Paste => drop(with_drawn(PASTE).await?),
        Deed::Undo => drop(with_drawn(UNDO).await?),
    }
    let read = format!("return drawn().then(() => {{ {TITLES} }});");
    let titles: Titles = serde_json::from_value(with_drawn(&read).await?).expect("titles");
    if !titles.is_empty() && seen.last().is_none_or(|(_, last)| *last != titles) {
        seen.push((Instant::now(), titles));
    }
    Ok(())
}

/// By how many deeds the work that was found again is behind what was seen last; `None` if
/// it was never seen and is not what the last deed makes of it.
fn behind(seen: &[(Instant, Titles)], last: Option<Deed>, shown: &Titles) -> Option<usize> {
    if let Some(at) = seen.iter().rposition(|(_, titles)| titles == shown) {
        return Some(seen.len() - 1 - at);
    }
    let (_, before) = seen.last()?;
    let made = match last? {
        // What was taken back may have been done before the browser was started.
        Deed::Undo => true,
        Deed::Paste => shown.len() == before.len() + 1,
        Deed::Letter(letter) => {
            let other = |(i, title): (usize, &String)| before.get(i) != Some(title);
            let changed: Vec<&String> = shown
                .iter()
                .enumerate()
                .filter(|at| other(*at))
                .map(|(_, title)| title)
                .collect();
            shown.len() == before.len() && matches!(changed[..], [title] if title.contains(letter))
        }
    };
    made.then_some(0)
}
