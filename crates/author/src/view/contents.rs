//! The row of puzzles, as a table of contents, and the ways in.

use keyproof::check::Soundness;
use wasm_bindgen::JsCast;
use web_sys::{HtmlInputElement, HtmlTextAreaElement};
use yew::prelude::*;

use super::{Link, button};
use crate::desk::Desk;
use crate::edge::files;
use crate::message::Msg;
use crate::work::title;

pub fn view(desk: &Desk, link: &Link) -> Html {
    let work = desk.work();
    html! {
        <nav class="contents" aria-labelledby="contents-head">
            <h2 id="contents-head">{ "Puzzles" }</h2>
            <ol>
                { for work.sheets.iter().enumerate().map(|(place, sheet)| {
                    let id = sheet.id;
                    let here = work.open == Some(id);
                    let name = title(&sheet.draft).unwrap_or_else(|| format!("Puzzle {}", place + 1));
                    let look = desk.look(id);
                    let verdict = look.map_or(Soundness::Undecided, |l| l.report.verdict);
                    html! {
                        <li key={id.0} class={classes!(here.then_some("here"))}>
                            <button type="button" class="entry" aria-current={here.then_some("page")}
                                onclick={link.reform(move |_| Msg::Open(id))}>
                                <span class="entry-title">{ &name }</span>
                                <span class={classes!("entry-verdict", verdict_class(verdict))}>{ verdict_word(desk, id, verdict) }</span>
                            </button>
                            if here {
                                <span class="entry-tools">
                                    { tool(link, "\u{2191}", &format!("Move {name} up"), Msg::Reorder(id, -1), place == 0) }
                                    { tool(link, "\u{2193}", &format!("Move {name} down"), Msg::Reorder(id, 1), place + 1 == work.sheets.len()) }
                                    { tool(link, "Remove", &format!("Remove {name}"), Msg::Remove(id), false) }
                                </span>
                            }
                        </li>
                    }
                }) }
            </ol>
            { ways_in(desk, link) }
        </nav>
    }
}

/// The buttons by which puzzles come in.
pub fn ways_in(desk: &Desk, link: &Link) -> Html {
    html! {
        <div class="ways-in">
            { button(link, "New puzzle", Msg::New, false, "") }
            { button(link, "New game", Msg::NewGame, false, "A game from its first move, to be played in") }
            { open_file(link, "Open PGN \u{2026}") }
            if desk.paste_box() {
                { paste_box(link) }
            } else {
                { button(link, "Paste \u{2026}", Msg::PasteBox(true), false, "PGN or FEN; Ctrl+V works anywhere on the page") }
            }
        </div>
    }
}

/// A file picker that looks like a button.
pub fn open_file(link: &Link, label: &'static str) -> Html {
    let link = link.clone();
    let onchange = Callback::from(move |event: Event| {
        let input: HtmlInputElement = event.target_unchecked_into();
        if let Some(list) = input.files() {
            files::read_all(&list, &link);
        }
        input.set_value("");
    });
    html! {
        <label class="file">
            <input type="file" class="kp-hidden" multiple=true accept=".pgn,.fen,.epd,.txt,text/plain,application/vnd.chess-pgn" {onchange} />
            <span>{ label }</span>
        </label>
    }
}

/// A box to paste into.
pub fn paste_box(link: &Link) -> Html {
    let link_in = link.clone();
    let onclick = Callback::from(move |_| {
        let area = crate::edge::page::document()
            .get_element_by_id("paste-text")
            .map(|e| e.unchecked_into::<HtmlTextAreaElement>());
        if let Some(area) = area {
            link_in.emit(Msg::Came {
                from: "the pasted text".into(),
                text: area.value(),
            });
        }
    });
    html! {
        <div class="paste">
            <label for="paste-text">{ "PGN or FEN" }</label>
            <textarea id="paste-text" rows="6" spellcheck="false" />
            <span class="row">
                <button type="button" class="main" {onclick}>{ "Read it" }</button>
                { button(link, "Put away", Msg::PasteBox(false), false, "") }
            </span>
        </div>
    }
}

pub fn verdict_class(verdict: Soundness) -> &'static str {
    match verdict {
        Soundness::Sound => "sound",
        Soundness::Unsound => "unsound",
        Soundness::Undecided => "undecided",
    }
}

fn verdict_word(desk: &Desk, id: crate::work::SheetId, verdict: Soundness) -> &'static str {
    match verdict {
        _ if desk.look(id).is_some_and(|look| look.bare_game) => "a game",
        Soundness::Sound => "sound",
        Soundness::Unsound => "unsound",
        Soundness::Undecided if desk.is_checking(id) => "checking \u{2026}",
        Soundness::Undecided => "undecided",
    }
}

fn tool(link: &Link, face: &'static str, label: &str, msg: Msg, disabled: bool) -> Html {
    html! {
        <button type="button" aria-label={label.to_owned()} {disabled}
            onclick={link.reform(move |_| msg.clone())}>{ face }</button>
    }
}
