//! What is done to the move one is at and the line below it: glyphs, order,
//! cut, copy and paste.

use keyproof::draft::NodeId;
use keyproof::tongue::tr;
use yew::prelude::*;

use super::{Link, button, chosen, menu};
use desk::desk::Desk;
use desk::glyphs::{OF_MOVE, OF_POSITION, of_move, of_position};
use desk::keys::{KEYS, Place};
use desk::message::{EditMsg, Msg};

/// `siblings`: how many moves stand at this place, and which one this is.
pub fn view(desk: &Desk, node: NodeId, nags: &[u8], siblings: (usize, usize), link: &Link) -> Html {
    let (count, place) = siblings;
    let (up, down) = (place == 0, place + 1 == count);
    html! {
        <>
            { paste(desk, link) }
            { menu("line-menu", html! { tr("This move") }, None, html! {
                <>
                { choice("glyph-move", tr("The move is"), &OF_MOVE, nags, of_move, link) }
                { choice("glyph-position", tr("The position is"), &OF_POSITION, nags, of_position, link) }
                <div key={node.0}>
                    if count > 1 {
                        { button(link, tr("Make main"), Msg::Edit(EditMsg::ShiftHere(i32::MIN)), up, "") }
                        { button(link, tr("Up"), Msg::Edit(EditMsg::ShiftHere(-1)), up, tr("Alt+\u{2191}")) }
                        { button(link, tr("Down"), Msg::Edit(EditMsg::ShiftHere(1)), down, tr("Alt+\u{2193}")) }
                    }
                    { button(link, tr("Cut the line"), Msg::Edit(EditMsg::CutLine), false, tr("Ctrl+X")) }
                    { button(link, tr("Copy the line"), Msg::Edit(EditMsg::CopyLine), false, tr("Ctrl+C")) }
                </div>
                </>
            }) }
        </>
    }
}

/// The button that pastes a line below where one is.
pub fn paste(desk: &Desk, link: &Link) -> Html {
    if desk.has_line() {
        button(
            link,
            tr("Paste the line here"),
            Msg::Edit(EditMsg::PasteLine),
            false,
            tr("Ctrl+V"),
        )
    } else {
        html! {}
    }
}

/// The keys that work on a move.
pub fn keys() -> Html {
    let on_moves = KEYS.iter().filter(|binding| binding.place == Place::Tree);
    html! {
        <details class="move-keys">
            <summary>{ tr("By keyboard, on a move") }</summary>
            <dl>
                { for on_moves.map(|binding| html! { <div><dt><kbd>{ binding.name() }</kbd></dt><dd>{ tr(binding.words) }</dd></div> }) }
            </dl>
        </details>
    }
}

type Row = [(u8, &'static str, &'static str)];

fn choice(
    id: &'static str,
    label: &'static str,
    row: &Row,
    nags: &[u8],
    set: fn(&[u8], Option<u8>) -> Vec<u8>,
    link: &Link,
) -> Html {
    let now = nags
        .iter()
        .copied()
        .find(|nag| row.iter().any(|(n, _, _)| n == nag));
    let onchange = {
        let nags = nags.to_vec();
        link.reform(move |event: Event| {
            Msg::Edit(EditMsg::Glyphs(set(&nags, chosen(&event).parse().ok())))
        })
    };
    // Once someone has chosen, which option is `selected` tells the page nothing more.
    html! {
        <label for={id}>{ label }
            <select {id} ~value={now.map_or_else(String::new, |nag| nag.to_string())} {onchange}>
                <option value="" selected={now.is_none()}>{ "\u{2013}" }</option>
                { for row.iter().map(|&(nag, sign, words)| html! {
                    <option value={nag.to_string()} selected={now == Some(nag)}>{ format!("{sign} {}", tr(words)) }</option>
                }) }
            </select>
        </label>
    }
}
