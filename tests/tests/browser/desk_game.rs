//! At an open game: pointing at moments, how closely to look, diagrams as files,
//! and the frame on the clipboard.

use base64::Engine;
use keyproof_tests::browser::{Browser, browse};
use serde_json::json;

use crate::looks::on_all_papers;
use crate::{open_desk, paste};

/// A game of our own making. White has mate in one and develops a knight.
const GAME: &str = "[Event \"Board four\"]\n[White \"Pell, Orla\"]\n[Black \"Tarn, Jonas\"]\n\n1. e4 e5 2. Bc4 Nc6 3. Qh5 Nf6 4. Nf3 Nxh5 5. O-O *";

/// Moves the mouse to the middle of an element, or off to the corner.
async fn point_at(browser: &Browser, selector: Option<&str>) {
    let (x, y) = match selector {
        None => (1.0, 1.0),
        Some(selector) => {
            browser.find(selector).await;
            let middle = browser
                .script(
                    "const element = deep(arguments[0])[0];
                     element.scrollIntoView({ block: 'center' });
                     const box = element.getBoundingClientRect();
                     return [box.x + box.width / 2, box.y + box.height / 2];",
                    vec![json!(selector)],
                )
                .await;
            (
                middle[0].as_f64().expect("a place"),
                middle[1].as_f64().expect("a place"),
            )
        }
    };
    browser
        .devtools(
            "Input.dispatchMouseEvent",
            json!({ "type": "mouseMoved", "x": x, "y": y }),
        )
        .await;
}

/// Chooses in a list of the page by the place of the choice.
async fn choose(browser: &Browser, selector: &str, value: &str) {
    browser.find(selector).await;
    browser
        .script(
            "const select = deep(arguments[0])[0];
             select.value = arguments[1];
             select.dispatchEvent(new Event('change', { bubbles: true }));",
            vec![json!(selector), json!(value)],
        )
        .await;
}

/// A game is called by who played it and when, wherever it is named, and both can be told.
#[test]
fn a_game_is_called_by_its_players() {
    browse("desk-players", async |browser| {
        open_desk(&browser).await;
        let casual = GAME.replace("Board four", "Casual game");
        paste(&browser, &casual).await;
        let players = "Orla Pell \u{2013} Jonas Tarn";
        browser.until_text(".head .players", players).await;
        browser.type_into("#date", "2026.03.05").await;
        let dated = format!("{players}, 2026-03-05");
        browser.until_text(".head .players", &dated).await;
        let event = "return deep('#title')[0].value;";
        assert_eq!(browser.script(event, vec![]).await, json!("Casual game"));
        browser.press("Puzzles: 1 / 1").await;
        browser.until_text(".contents .entry-title", &dated).await;
        browser
            .until_text(".contents .entry-event", "Casual game")
            .await;
        browser.assert_no_errors().await;
    });
}

#[test]
fn a_moment_shows_its_position_when_pointed_at_and_the_effort_is_chosen() {
    browse("desk-game", async |browser| {
        open_desk(&browser).await;
        paste(&browser, GAME).await;
        browser.until_text(".effort .cost", "40,000").await;
        choose(&browser, "#effort", "0").await;
        browser.until_text(".effort .cost", "62,500").await;
        browser.press("Find the moments").await;
        browser.until_text(".sought", "the best first").await;
        browser.until_man("h5", "empty").await;

        let first = ".found li:nth-child(1) .entry";
        point_at(&browser, Some(first)).await;
        browser.until_man("h5", "white queen").await;
        browser.until_man("f6", "black knight").await;
        assert!(browser.text(".verdict-line").await.contains("A game"));
        point_at(&browser, None).await;
        browser.until_man("h5", "empty").await;
        browser
            .script("deep(arguments[0])[0].focus();", vec![json!(first)])
            .await;
        browser.until_man("h5", "white queen").await;
        browser
            .script("deep(arguments[0])[0].blur();", vec![json!(first)])
            .await;
        browser.until_man("h5", "empty").await;
        browser.press("4. White").await;
        browser.until_text(".moment", "4.Qxf7#").await;
        browser.press("To the start").await;
        browser.until_man("h5", "empty").await;

        choose(&browser, "#effort", "1").await;
        browser.script("scroller().scrollTo(0, 0);", vec![]).await;
        on_all_papers(&browser, "desk-effort").await;
        browser.press("Look again").await;
        browser.until_text(".sought", "the best first").await;
        browser.until_text(".kept", "saved in this browser").await;
        browser.reload().await;
        browser.until_text(".sought", "the best first").await;
        browser.assert_no_errors().await;
    });
}

#[test]
fn the_diagram_is_saved_as_svg_and_png() {
    browse("diagram", async |browser| {
        open_desk(&browser).await;
        paste(&browser, GAME).await;
        browser.press("One move on").await;
        browser.until_man("e4", "white pawn").await;
        browser.press("Save this diagram").await;
        let coordinates = browser.find("#picture-coordinates").await;
        coordinates.click().await.expect("a box to untick");
        choose(&browser, "#picture-width", "800").await;
        browser.press("Save as SVG").await;
        let svg = browser.downloaded("orla-pell-jonas-tarn-1b.svg").await;
        let svg = std::fs::read_to_string(svg).expect("a drawing");
        assert!(svg.starts_with("<svg") && !svg.contains("<text"), "{svg}");
        browser.press("Save as PNG").await;
        let png = std::fs::read(browser.downloaded("orla-pell-jonas-tarn-1b.png").await)
            .expect("an image");
        let data = base64::engine::general_purpose::STANDARD.encode(png);
        // Ink, from 0 to 255, in the middle of empty squares: c3 is dark, d3 light.
        let told = browser
            .script(
                "const image = new Image();
                 image.src = 'data:image/png;base64,' + arguments[0];
                 return image.decode().then(() => {
                   const canvas = document.createElement('canvas');
                   [canvas.width, canvas.height] = [image.width, image.height];
                   const context = canvas.getContext('2d');
                   context.drawImage(image, 0, 0);
                   const unit = image.width / 376;
                   const ink = (file, rank) => {
                     const at = (n) => Math.round((8 + 45 * n + 4) * unit);
                     const side = Math.round(37 * unit);
                     const { data } = context.getImageData(at(file), at(7 - rank), side, side);
                     let sum = 0;
                     for (let i = 1; i < data.length; i += 4) sum += 255 - data[i];
                     return sum / (data.length / 4);
                   };
                   return [image.width, image.height, ink(2, 2), ink(3, 2), ink(4, 3), ink(4, 1)];
                 });",
                vec![json!(data)],
            )
            .await;
        let [width, height, dark, light, pawn, left] =
            [0, 1, 2, 3, 4, 5].map(|i| told[i].as_f64().expect("a number"));
        assert_eq!((width, height), (800.0, 800.0));
        assert!(dark > 20.0 && light < 2.0, "{told}");
        // The pawn has left e2 and stands on e4, both light.
        assert!(pawn > 10.0 && left < 2.0, "{told}");
        browser.assert_no_errors().await;
    });
}

#[test]
fn the_frame_comes_onto_the_clipboard() {
    browse("clipboard", async |browser| {
        open_desk(&browser).await;
        browser
            .devtools(
                "Browser.grantPermissions",
                json!({ "permissions": ["clipboardReadWrite", "clipboardSanitizedWrite"] }),
            )
            .await;
        paste(&browser, GAME).await;
        browser.press("Show it in a page").await;
        browser.press("Copy the frame").await;
        browser
            .until(
                "the frame on the clipboard",
                "return navigator.clipboard.readText().then((text) => text === arguments[0]);",
                vec![json!(
                    "<iframe src=\"orla-pell-jonas-tarn.html\" width=\"100%\" height=\"700\" title=\"Orla Pell \u{2013} Jonas Tarn\"></iframe>"
                )],
            )
            .await;
        browser.assert_no_errors().await;
    });
}
