//! The views: thin, from the desk to markup. Nothing is decided here.

mod board;
mod carry;
mod contents;
mod defences;
mod endings;
mod fields;
mod finder;
mod findings;
mod give_out;
mod guide;
mod keeping;
mod line_tools;
mod moments;
mod notices;
mod picture;
mod proof;
mod reasons;
mod seen;
mod setup;
mod shelf;
mod solution;
mod verdict;
mod welcome;

use std::ops::Deref;

use keyproof::tongue::tr;
use web_sys::{FileList, HtmlInputElement, HtmlSelectElement, HtmlTextAreaElement};
use yew::prelude::*;

use desk::desk::Desk;
use desk::message::{EditMsg, Msg, PageMsg, Part};

pub use contents::entry_id;
pub use notices::view as notices;

/// Files that the author chose.
pub enum Chosen {
    /// Puzzles and games.
    Work(FileList),
    /// Earlier games.
    Earlier(FileList),
    /// Endgame tables; `None` to let go of them.
    Endings(Option<FileList>),
}

/// How a view sends a message, and has files read.
#[derive(Clone, PartialEq)]
pub struct Link {
    pub send: Callback<Msg>,
    pub files: Callback<Chosen>,
}

impl Deref for Link {
    type Target = Callback<Msg>;

    fn deref(&self) -> &Callback<Msg> {
        &self.send
    }
}

/// The whole page.
pub fn page(desk: &Desk, link: &Link) -> Html {
    let body = match desk.opened() {
        None => welcome::view(desk, link),
        Some((sheet, look)) => html! {
            <div class="spread">
                { contents::view(desk, link) }
                <section class={classes!("leaf", "verso", desk.setup().is_some().then_some("setting-up"))} aria-label={tr("The position")}>
                    { fields::heading(sheet, look, link) }
                    if desk.setup().is_none() {
                        { verdict::echo(desk, sheet, look) }
                    }
                    {
                        match desk.setup() {
                            Some(setup) => setup::view(desk, &setup, link),
                            None => board::view(desk, sheet, look, link),
                        }
                    }
                </section>
                <section class="leaf recto" aria-label={tr("The solution")}>
                    { verdict::view(desk, sheet, look, link) }
                    if desk.setup().is_none() {
                        { moments::view(desk, sheet, look, link) }
                        { solution::view(desk, sheet, look, link) }
                        { defences::view(desk, sheet, look, link) }
                        { reasons::view(desk, sheet, look, link) }
                        { seen::view(desk, sheet, look, link) }
                        { proof::view(desk, sheet, look, link) }
                        { endings::view(desk, look, link) }
                    }
                    { fields::view(desk, sheet, look, link) }
                    { give_out::view(desk, link) }
                </section>
            </div>
        },
    };
    let covered = desk.is_finding();
    html! {
        <div class="desk kp-page">
            <div inert={covered}>
                { head(desk, link) }
                { body }
            </div>
            { give_out::preview(desk, link) }
            { guide::view(desk, link) }
            { finder::view(desk, link) }
        </div>
    }
}

fn head(desk: &Desk, link: &Link) -> Html {
    html! {
        <header class="head">
            <h1>{ "Keyproof" }</h1>
            { guide::about(link, Part::Desk, "Keyproof") }
            { keeping::view(desk, link) }
            { tongues(desk, link) }
            <span class="undo">
                { button(link, tr("Keyboard"), Msg::Page(PageMsg::Finder(true)), false, tr("Keys and commands: ? or Ctrl+K")) }
                { button(link, tr("Undo"), Msg::Edit(EditMsg::Undo), !desk.can_undo(), tr("Ctrl+Z")) }
                { button(link, tr("Redo"), Msg::Edit(EditMsg::Redo), !desk.can_redo(), tr("Ctrl+Shift+Z")) }
            </span>
        </header>
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
            <span class="kp-hidden">{ tr("Language of the page") }</span>
            <select id="tongue" onchange={link.reform(|event: Event| Msg::Page(PageMsg::Speak(chosen(&event))))}>
                { for options }
            </select>
        </label>
    }
}

/// A button that sends one message.
fn button(link: &Link, label: &str, msg: Msg, disabled: bool, title: &'static str) -> Html {
    let title = (!title.is_empty()).then_some(title);
    html! {
        <button type="button" {disabled} {title} onclick={link.reform(move |_| msg.clone())}>{ label }</button>
    }
}

/// What a text field holds when it changes.
fn typed(event: &InputEvent) -> String {
    event.target_unchecked_into::<HtmlInputElement>().value()
}

fn written(event: &InputEvent) -> String {
    event.target_unchecked_into::<HtmlTextAreaElement>().value()
}

fn chosen(event: &Event) -> String {
    event.target_unchecked_into::<HtmlSelectElement>().value()
}

/// A labelled line of the puzzle's own text.
fn text_line(link: &Link, id: &str, label: &str, value: &str, tag: &str, hint: &str) -> Html {
    let name = tag.to_owned();
    let oninput = link.reform(move |event: InputEvent| {
        Msg::Edit(EditMsg::Tag {
            name: name.clone(),
            value: typed(&event),
        })
    });
    html! {
        <div class="field">
            <label for={id.to_owned()}>{ label }</label>
            <input id={id.to_owned()} type="text" data-puzzle-text="" autocomplete="off"
                value={value.to_owned()} placeholder={hint.to_owned()} {oninput}
                onblur={link.reform(|_| Msg::Edit(EditMsg::FieldLeft))} />
        </div>
    }
}
