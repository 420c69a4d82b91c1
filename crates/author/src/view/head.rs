//! The running head: which puzzle lies open, what it is called, undo, and what is
//! seldom wanted.

use keyproof::tongue::{say, tr};
use yew::prelude::*;

use super::{Link, button, chosen, fields, guide, keeping, menu};
use desk::desk::Desk;
use desk::message::{ClassMsg, EditMsg, ListMsg, Msg, PageMsg, Part, Turn};

pub fn view(desk: &Desk, link: &Link) -> Html {
    let open = desk.opened();
    html! {
        <header class="head">
            <h1>{ "Keyproof" }</h1>
            { guide::about(link, Part::Desk, "Keyproof") }
            if let Some((sheet, _)) = open {
                { place(desk, link) }
                { fields::title(&sheet.draft, link) }
            }
            <span class={classes!("kept", desk.saving().refused.is_some().then_some("refused"))}>{ keeping::word(desk) }</span>
            <span class="undo">
                { icon(link, "\u{21b6}", tr("Undo"), Msg::Edit(EditMsg::Undo), !desk.can_undo(), tr("Ctrl+Z")) }
                { icon(link, "\u{21b7}", tr("Redo"), Msg::Edit(EditMsg::Redo), !desk.can_redo(), tr("Ctrl+Shift+Z")) }
            </span>
            { menu("desk-menu", html! { tr("Desk") }, None, html! {
                <>
                    { button(link, tr("Keyboard"), Msg::Page(PageMsg::Finder(true)), false, tr("Keys and commands: ? or Ctrl+K")) }
                    { button(link, tr("Guide"), Msg::Page(PageMsg::Guide(Turn::About(Part::Desk))), false, "") }
                    { button(link, tr("What the class answered"), Msg::Class(ClassMsg::Open(true)), false, "") }
                    { tongues(desk, link) }
                    { keeping::backup(desk, link) }
                    <p class="licence">
                        { tr("Keyproof is free software under the") }{ " " }<span lang="en">{ "GNU General Public License" }</span>{ ", " }
                        { tr("version 3 or any later (GPL-3.0-or-later), without any warranty.") }{ " " }{ tr("What you write and publish with it stays yours.") }
                    </p>
                    <a class="source" href="keyproof-source.tar.gz" download="">{ tr("Save the program’s source") }</a>
                </>
            }) }
        </header>
    }
}

/// Which of the puzzles lies open: to the list, and to those beside it.
fn place(desk: &Desk, link: &Link) -> Html {
    let (at, of) = desk.place_in_list();
    let at = at.map_or_else(|| "\u{2013}".to_owned(), |at| at.to_string());
    let face = format!("{at} / {of}");
    let listing = desk.listing();
    let name = say!("Puzzles: {place}", place = face);
    let turn = |face: &'static str, label: &'static str, by: isize| {
        let to = desk.beside(by);
        let msg = to.map(|id| Msg::List(ListMsg::Open(id)));
        let onclick = msg.map(|msg| link.reform(move |_: MouseEvent| msg.clone()));
        html! { <button type="button" class="turn-to" disabled={to.is_none()} aria-label={label} title={label} {onclick}>{ face }</button> }
    };
    html! {
        <span class="place">
            { turn("\u{2039}", tr("The puzzle before"), -1) }
            <button type="button" class="to-list" aria-controls="contents" aria-expanded={listing.to_string()} aria-label={name.clone()} title={name}
                onclick={link.reform(move |_| Msg::Page(PageMsg::Listing(!listing)))}>{ face }</button>
            { turn("\u{203a}", tr("The next puzzle"), 1) }
        </span>
    }
}

/// A button with a word, or where the page is narrow with a sign.
fn icon(
    link: &Link,
    sign: &'static str,
    label: &'static str,
    msg: Msg,
    disabled: bool,
    title: &'static str,
) -> Html {
    html! {
        <button type="button" {disabled} {title} aria-label={label} onclick={link.reform(move |_| msg.clone())}>
            <span class="sign" aria-hidden="true">{ sign }</span><span class="word">{ label }</span>
        </button>
    }
}

/// The choice of the language that the page speaks.
fn tongues(desk: &Desk, link: &Link) -> Html {
    let spoken = desk.tongue().tag();
    let options = keyproof_tongues::all().into_iter().map(|(tongue, name)| {
        let tag = tongue.tag();
        html! { <option value={tag} lang={tag} selected={tag == spoken}>{ name }</option> }
    });
    html! {
        <label class="tongue">
            <span>{ tr("Language of the page") }</span>
            <select id="tongue" onchange={link.reform(|event: Event| Msg::Page(PageMsg::Speak(chosen(&event))))}>
                { for options }
            </select>
        </label>
    }
}
