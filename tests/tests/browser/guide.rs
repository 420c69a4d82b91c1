//! The guide in the desk: without a network, found by search, led to by "?", and
//! away again by Escape.

use keyproof_tests::browser::{Browser, browse};
use serde_json::json;
use thirtyfour::Key;

use crate::looks::screens;
use crate::{open_desk, paste, staircase};

/// The heading that one was led to.
const HERE: &str = "#guide-here";

#[test]
fn the_guide_is_beside_the_work() {
    browse("guide", async |browser| {
        let url = open_desk(&browser).await;
        paste(&browser, &staircase()).await;
        browser.until_text(".verdict-line", "Unsound").await;

        for (name, button, heading) in [
            ("About: Keyproof", "about-desk", "The guide"),
            ("About: Why", "about-reasons", "Why it works"),
            ("About: Give out", "about-give-out", "Give it out"),
            (
                "About: What the checker found",
                "about-verdict",
                "What the checker finds",
            ),
        ] {
            browser.press(name).await;
            browser.until_text(HERE, heading).await;
            browser.until_focus("guide-here").await;
            browser.key(Key::Escape).await;
            browser.until_focus(button).await;
            assert_eq!(browser.count(".guide").await, 0);
        }

        browser.press("About: Puzzles").await;
        browser.type_into("#guide-search", "stubborn").await;
        browser
            .until_text(".guide [role=status]", "one place found")
            .await;
        browser.press("PGN tags").await;
        browser.until_text(HERE, "PGN tags").await;
        browser.until_focus("guide-here").await;
        browser
            .until_text(".guide-page td", "holds out longest by proof")
            .await;
        browser.press("What was found").await;
        browser.until_focus("guide-search").await;
        browser.press("Back to the desk").await;
        browser.until_focus("about-puzzles").await;

        // The work goes on beside it, and links lead from page to page.
        browser.press("About: Give out").await;
        browser.press("All pages").await;
        browser.press("Check it").await;
        browser.until_text(HERE, "Check it").await;
        browser.press("Accept 1.Rb7").await;
        browser.until_text(".verdict-line", "Sound").await;
        browser.until_text(HERE, "Check it").await;
        browser.assert_no_request_left(&[&url]).await;
        browser.assert_no_errors().await;
    });
}

#[test]
fn what_asks_the_guide_is_large_enough_to_touch() {
    browse("guide-touch", async |browser| {
        open_desk(&browser).await;
        paste(&browser, &staircase()).await;
        browser.until_text(".verdict-line", "Unsound").await;
        for width in [360, 1440] {
            browser.window(width, 900).await;
            let small = browser
                .script(
                    "return deep('.about').filter(seen).filter((e) => {
                       const box = e.getBoundingClientRect();
                       return box.width < 44 || box.height < 44;
                     }).map((e) => e.id);",
                    vec![],
                )
                .await;
            assert_eq!(small, json!([]), "{width} px");
        }
    });
}

#[test]
fn the_guide_fits_every_page() {
    browse("guide-looks", async |browser| {
        open_desk(&browser).await;
        paste(&browser, &staircase()).await;
        browser.until_text(".verdict-line", "Unsound").await;
        browser.press("About: What the checker found").await;
        browser.until_focus("guide-here").await;
        fits(&browser, "guide-check").await;
        browser.press("All pages").await;
        browser.press("PGN tags").await;
        browser.until_focus("guide-here").await;
        fits(&browser, "guide-tags").await;
    });
}

/// Nothing in the guide or the desk reaches over its edge.
async fn fits(browser: &Browser, name: &str) {
    let over = "return [deep('.guide')[0], document.scrollingElement]
        .map((e) => e.scrollWidth - e.clientWidth);";
    for width in [360, 768, 1440] {
        browser.window(width, 900).await;
        for paper in ["light", "dark"] {
            browser.paper(paper).await;
            let name = format!("{name}-{width}-{paper}");
            browser.view(&screens(&name)).await;
            assert_eq!(browser.script(over, vec![]).await, json!([0, 0]), "{name}");
        }
    }
    browser.paper("light").await;
    browser.window(1280, 900).await;
}
