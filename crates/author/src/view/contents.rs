//! The list of puzzles, as a table of contents, and the ways in.

use std::fmt::Write as _;

use keyproof::check::{Soundness, thousands};
use keyproof::diagram;
use keyproof::tongue::{phrase, say, tr};
use keyproof_board::Drawing;
use shakmaty::Square;
use wasm_bindgen::JsCast;
use web_sys::{HtmlInputElement, HtmlTextAreaElement};
use yew::prelude::*;

use super::carry;
use super::{Chosen, Link, button, guide, pastes, shelf};
use crate::dom;
use desk::card::{Card, Small};
use desk::desk::Desk;
use desk::message::{ListMsg, Msg, Part};
use desk::shelf::{A_PAGE, Event, MOST, SheetStatus};
use desk::work::{SheetId, untitled};

pub fn view(desk: &Desk, link: &Link) -> Html {
    let shelf = desk.shelf();
    let many = desk.work().sheets.len() > 1;
    let digits = thousands(desk.work().sheets.len() as u64).len();
    let window = shelf.window();
    let (before, after) = (window.start, shelf.shown().len() - window.end);
    let grows = after > 0 && window.len() < MOST;
    let on_scroll = link.clone();
    let onscroll = Callback::from(move |event: web_sys::Event| {
        if grows && dom::is_near_its_end(&event) {
            on_scroll.emit(Msg::List(ListMsg::Shelf(Event::More)));
        }
    });
    let put = link.reform(|(sheet, onto, after)| {
        Msg::List(ListMsg::Put {
            sheet: SheetId(sheet),
            onto: SheetId(onto),
            after,
        })
    });
    let onpointerdown = Callback::from(move |event: PointerEvent| carry::begin(&event, &put));
    html! {
        <nav class="contents" id="contents" aria-labelledby="contents-head">
            <div class="contents-top">
                { guide::headed(link, Part::Puzzles, "contents-head", tr("Puzzles")) }
                if many {
                    { shelf::line(desk, link) }
                }
            </div>
            if many {
                { shelf::tools(desk, link) }
            }
            { open_elsewhere(desk, link) }
            if before > 0 {
                <p class="more">{ button(link, &say!(
                    "{n} before these",
                    n = before.min(A_PAGE).to_string(),
                ), Msg::List(ListMsg::Shelf(Event::Earlier)), false, "") }</p>
            }
            <ol style={format!("--digits: {digits}")} class={classes!(shelf.choosing.then_some("choosing"))} onkeydown={on_key(link)}
                {onscroll} {onpointerdown}>
                { for window.filter_map(|at| entry(desk, link, at)) }
            </ol>
            if shelf.shown().is_empty() && many {
                <p class="nothing">{ tr("Nothing here fits all of that.") }{ " " }{ button(link, tr("Clear all"), Msg::List(ListMsg::Shelf(Event::Clear)), false, "") }</p>
            }
            <div class="contents-foot">
                if after > 0 {
                    <p class="more">{ button(link, &say!(
                        "{n} more of {of}",
                        n = after.min(A_PAGE).to_string(),
                        of = thousands(after as u64),
                    ), Msg::List(ListMsg::Shelf(Event::More)), false, "") }</p>
                }
                { ways_in(desk, link) }
            </div>
        </nav>
    }
}

/// The element that an entry is.
pub fn entry_id(id: SheetId) -> String {
    format!("entry-{}", id.0)
}

/// The entry at a place of the list as it is shown.
fn entry(desk: &Desk, link: &Link, at: usize) -> Option<Html> {
    let (shelf, work) = (desk.shelf(), desk.work());
    let id = *shelf.shown().get(at)?;
    let card = shelf.card(id)?;
    let sheet = work.sheets.get(card.place)?;
    let here = work.open == Some(id);
    let name = name(card);
    let status = desk.status(sheet);
    let chosen = shelf.chosen.contains(&id);
    let onclick = link.reform(move |event: MouseEvent| {
        Msg::List(ListMsg::Shelf(Event::Choose {
            sheet: id,
            on: event.target_unchecked_into::<HtmlInputElement>().checked(),
            through: event.shift_key(),
        }))
    });
    let last = shelf.shown().len() - 1;
    let sorted = !shelf.is_in_desk_order();
    let number = thousands(card.place as u64 + 1);
    Some(html! {
        <li key={id.0} class={classes!(here.then_some("here"))} data-sheet={id.0.to_string()}>
            if shelf.choosing {
                <label class="choose"><input type="checkbox" aria-label={say!(
                    "Choose {name}",
                    name = name,
                )} checked={chosen} {onclick} /></label>
            }
            <button type="button" class="entry" id={entry_id(id)} data-place={number} aria-current={here.then_some("page")}
                onclick={link.reform(move |_| Msg::List(ListMsg::Open(id)))}>
                if let Some(small) = card.small() {
                    <Diagram small={small.clone()} />
                }
                <span class="entry-title">{ &name }
                    if !card.labels.is_empty() {
                        <span class="entry-labels">{ format!(" {}", card.labels.join(", ")) }</span>
                    }
                </span>
                <span class="entry-below">
                    <span class={classes!("entry-verdict", status_class(status))}>
                        if let [asked] = card.asked[..] {
                            <span class="entry-asks">{ format!("{asked} ") }</span>
                        }
                        { status.words() }
                        if let Some(told) = desk.seek_words(id) {
                            { format!("; {told}") }
                        }
                    </span>
                    if let Some(event) = &card.event {
                        <span class="entry-event">{ event }</span>
                    }
                </span>
            </button>
            if !sorted && work.sheets.len() > 1 {
                <span class="grip" aria-hidden="true" title={tr("Drag it to another place")}>{ "\u{2261}" }</span>
            }
            if here {
                <span class="entry-tools">
                    { tool(link, "entry-up", "\u{2191}", &say!("Move {name} up", name = name), Msg::List(ListMsg::Reorder(id, -1)), sorted || at == 0) }
                    { tool(link, "entry-down", "\u{2193}", &say!(
                        "Move {name} down",
                        name = name,
                    ), Msg::List(ListMsg::Reorder(id, 1)), sorted || at == last) }
                    { tool(link, "entry-remove", tr("Remove"), &say!(
                        "Remove {name}",
                        name = name,
                    ), Msg::List(ListMsg::Remove(id)), false) }
                </span>
            }
        </li>
    })
}

#[derive(Properties, PartialEq)]
struct DiagramProps {
    small: Small,
}

/// A small diagram beside an entry, where a hatching would be too fine: its dark
/// squares are a tint. For the eye alone; a component, so that it is drawn once.
#[component]
fn Diagram(props: &DiagramProps) -> Html {
    let mut svg =
        String::from("<svg viewBox=\"0 0 360 360\" aria-hidden=\"true\"><path class=\"dark\" d=\"");
    for square in Square::ALL {
        if square.is_dark() {
            let (x, y) = diagram::corner(square, false);
            let _ = write!(svg, "M{x} {y}h45v45h-45z");
        }
    }
    svg.push_str("\"/>");
    diagram::men(&mut svg, &props.small.board, props.small.black_below);
    svg.push_str("</svg>");
    html! { <span class="small-diagram"><Drawing {svg} /></span> }
}

/// Where the open puzzle is, when its entry is not drawn.
fn open_elsewhere(desk: &Desk, link: &Link) -> Html {
    let shelf = desk.shelf();
    let Some(card) = desk.work().open.and_then(|id| shelf.card(id)) else {
        return html! {};
    };
    let open = desk.work().open;
    let place = shelf.shown().iter().position(|&id| Some(id) == open);
    if place.is_some_and(|place| shelf.window().contains(&place)) {
        return html! {};
    }
    let number = thousands(card.place as u64 + 1);
    let told = match place {
        Some(_) => phrase!("Open: {number}. {name}", "number name"),
        None => phrase!(
            "Open: {number}. {name}, which is not among these",
            "number name"
        ),
    };
    html! {
        <p class="open-elsewhere">
            <span>{ say!(told, number = number, name = name(card)) }</span>
            if place.is_some() {
                { button(link, tr("Go to it"), Msg::List(ListMsg::Shelf(Event::ToOpen)), false, "") }
            }
        </p>
    }
}

fn name(card: &Card) -> String {
    let title = card.title.clone();
    title.unwrap_or_else(|| untitled(card.place))
}

/// Arrows go from entry to entry, Alt and an arrow move one, and Delete removes
/// one.
fn on_key(link: &Link) -> Callback<KeyboardEvent> {
    let link = link.clone();
    Callback::from(move |event: KeyboardEvent| {
        let Some(id) = dom::entry_of(&event).map(SheetId) else {
            return;
        };
        let plain = !event.ctrl_key() && !event.meta_key() && !event.shift_key();
        let by = match event.key().as_str() {
            "ArrowUp" => -1,
            "ArrowDown" => 1,
            _ => 0,
        };
        if plain && event.alt_key() && by != 0 {
            event.prevent_default();
            link.emit(Msg::List(ListMsg::Reorder(id, by)));
            dom::focus_soon(entry_id(id));
        } else if plain && !event.alt_key() && event.key() == "Delete" {
            event.prevent_default();
            dom::walk_list(&event);
            link.emit(Msg::List(ListMsg::Remove(id)));
        } else if plain && !event.alt_key() {
            dom::walk_list(&event);
        }
    })
}

/// The buttons by which puzzles come in.
pub fn ways_in(desk: &Desk, link: &Link) -> Html {
    html! {
        <div class="ways-in">
            { button(link, tr("New puzzle"), Msg::List(ListMsg::New), false, "") }
            { button(link, tr("New game"), Msg::List(ListMsg::NewGame), false, tr("A game from its first move, to be played in")) }
            { open_file(link, tr("Open PGN \u{2026}")) }
            if desk.paste_box() {
                { paste_box(desk, link) }
            } else {
                { button(link, tr("Paste \u{2026}"), Msg::List(ListMsg::PasteBox(true)), false, tr("PGN or FEN; Ctrl+V works anywhere on the page")) }
            }
        </div>
    }
}

/// A picker for files with work that looks like a button.
pub fn open_file(link: &Link, label: &'static str) -> Html {
    const WORK: &str = ".pgn,.fen,.epd,.txt,.html,text/plain,application/vnd.chess-pgn";
    pick_files(link, label, WORK)
}

/// A file picker that looks like a button.
pub fn pick_files(link: &Link, label: &'static str, accept: &'static str) -> Html {
    let link = link.clone();
    let onchange = Callback::from(move |event: web_sys::Event| {
        let input: HtmlInputElement = event.target_unchecked_into();
        if let Some(list) = input.files() {
            link.files.emit(Chosen::Work(list));
        }
        input.set_value("");
    });
    html! {
        <label class="file">
            <input type="file" class="kp-hidden" multiple=true {accept} {onchange} />
            <span>{ label }</span>
        </label>
    }
}

/// A box to paste into.
pub fn paste_box(desk: &Desk, link: &Link) -> Html {
    let link_in = link.clone();
    let onclick = Callback::from(move |_| {
        let area = dom::document()
            .get_element_by_id("paste-text")
            .map(|e| e.unchecked_into::<HtmlTextAreaElement>());
        if let Some(area) = area {
            link_in.emit(Msg::List(ListMsg::Came {
                from: phrase("the pasted text").into(),
                text: area.value(),
            }));
        }
    });
    html! {
        <div class="paste">
            <label for="paste-text">{ tr("PGN or FEN") }</label>
            <textarea id="paste-text" rows="6" spellcheck="false" />
            <span class="row">
                <button type="button" class={pastes(desk).then_some("main")} {onclick}>{ tr("Read it") }</button>
                { button(link, tr("Close"), Msg::List(ListMsg::PasteBox(false)), false, "") }
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

fn status_class(status: SheetStatus) -> &'static str {
    match status {
        SheetStatus::Sound => "sound",
        SheetStatus::Unsound => "unsound",
        _ => "undecided",
    }
}

fn tool(
    link: &Link,
    id: &'static str,
    face: &'static str,
    label: &str,
    msg: Msg,
    disabled: bool,
) -> Html {
    let link = link.clone();
    let onclick = Callback::from(move |_| {
        link.emit(msg.clone());
        dom::focus_soon(id);
    });
    html! {
        <button type="button" {id} aria-label={label.to_owned()} {disabled} {onclick}>{ face }</button>
    }
}
