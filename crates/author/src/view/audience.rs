//! What the audience sees: the board with what is drawn over it, and the words beside.
//! In the audience's window it is a picture and lines of text; in the speaker's own, a
//! board to play on with the same around it.

use std::fmt::Write as _;

use desk::talk::{Margin, Said, Shown, Tone, Verdict};
use keyproof::diagram::{self, SQUARE};
use keyproof_board::drawing::{self, Glide, States};
use keyproof_board::hand;
use shakmaty::Square;

/// The words, each with its class.
pub fn words(shown: &Shown) -> Vec<(&'static str, String)> {
    let mut words = vec![("players", shown.title.clone())];
    words.extend(shown.task.iter().map(|task| ("task", task.clone())));
    words.extend(shown.clock.iter().map(|(time, up)| {
        let class = if *up { "clock up" } else { "clock" };
        (class, time.clone())
    }));
    words.extend(shown.hints.iter().map(|hint| ("hint", hint.clone())));
    words.extend(shown.line.iter().map(|line| ("line", line.clone())));
    if let Some(Said {
        verdict,
        text,
        words: own,
        ..
    }) = &shown.said
    {
        let (class, sign) = match verdict {
            Some(Verdict::Right) => ("said right", "\u{2713} "),
            Some(Verdict::Wrong) => ("said wrong", "\u{2717} "),
            _ => ("said", ""),
        };
        words.push((class, format!("{sign}{text}")));
        words.extend(own.iter().map(|words| ("own", words.clone())));
    }
    if let Some((name, sentence)) = &shown.reason {
        words.push(("reason", name.clone()));
        words.push(("because", sentence.clone()));
    }
    words.extend(shown.counts.iter().map(|count| ("count", count.clone())));
    words
}

/// The class of the margin.
pub fn margin(margin: Margin) -> &'static str {
    match margin {
        Margin::Paper => "",
        Margin::Black => "black",
        Margin::Green => "green",
    }
}

/// The board as one picture, its last move gliding from where the men stood `before`.
pub fn picture(shown: &Shown, before: Option<&shakmaty::Board>, serial: u32) -> String {
    let below = shown.black_below;
    let went = before.map_or(vec![], |before| hand::glides(before, &shown.board));
    let glides: Vec<Glide> = went
        .into_iter()
        .map(|(from, to)| {
            let ((x, y), (u, v)) = (diagram::corner(from, below), diagram::corner(to, below));
            (to, (x - u, y - v))
        })
        .collect();
    let states = States {
        last: shown.last,
        check: shown.check,
        ..States::default()
    };
    let mut svg = format!(
        "<svg class=\"kp-diagram\" viewBox=\"{}\">",
        diagram::VIEW_BOX
    );
    svg.push_str(&diagram::field("audience", below));
    svg.push_str(&drawing::under(&states, below));
    for square in Square::ALL {
        svg.push_str(&drawing::man(&shown.board, square, below, &glides, serial));
    }
    svg.push_str(&diagram::marks(&shown.marks, below));
    svg.push_str(&over(shown));
    svg.push_str("</svg>");
    svg
}

/// What the speaker drew, as SVG elements.
pub fn over(shown: &Shown) -> String {
    let below = shown.black_below;
    let mut svg = String::new();
    if !shown.lit.is_empty() {
        svg.push_str("<path class=\"talk-dim\" fill-rule=\"evenodd\" d=\"M0 0H360V360H0Z");
        for &square in &shown.lit {
            let (x, y) = diagram::corner(square, below);
            let _ = write!(svg, "M{x} {y}h{SQUARE}v{SQUARE}h-{SQUARE}z");
        }
        svg.push_str("\"/>");
    }
    for stroke in &shown.strokes {
        let tone = match stroke.tone {
            Tone::Accent => "accent",
            Tone::Ink => "ink",
            Tone::Faint => "faint",
        };
        let mark = diagram::marks(&[stroke.mark], below);
        let _ = write!(svg, "<g class=\"tone-{tone}\">{mark}</g>");
    }
    if let Some((x, y)) = shown.pointer {
        let side = SQUARE as f32;
        let _ = write!(
            svg,
            "<circle class=\"talk-pointer\" cx=\"{:.1}\" cy=\"{:.1}\" r=\"7\"/>",
            x * side,
            y * side
        );
    }
    svg
}
