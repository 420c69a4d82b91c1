//! The views: thin, from the desk to markup. Nothing is decided here.

pub mod audience;
mod board;
mod carry;
mod class;
mod contents;
mod defences;
mod endings;
mod fields;
mod finder;
mod findings;
mod give_out;
mod guide;
mod head;
mod keeping;
mod leaves;
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
mod talk;
mod verdict;
mod welcome;

use std::ops::Deref;

use web_sys::{FileList, HtmlInputElement, HtmlSelectElement, HtmlTextAreaElement};
use yew::prelude::*;

use desk::desk::Desk;
use desk::message::{EditMsg, Msg};

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
    if desk.talk().is_some() {
        return html! {
            <div class="desk kp-page">
                { talk::view(desk, link) }
                { guide::view(desk, link) }
            </div>
        };
    }
    let body = match (desk.opened(), desk.setup()) {
        (None, _) | (_, Some(_)) if desk.class_room().open => html! {},
        (None, _) => welcome::view(desk, link),
        (Some(_), Some(setup)) => setup::view(desk, &setup, link),
        (Some((sheet, model)), None) => html! {
            <div class={classes!("spread", desk.listing().then_some("listing"))} hidden={desk.class_room().open}>
                { board::view(desk, sheet, model, link) }
                { leaves::view(desk, sheet, model, link) }
            </div>
        },
    };
    let covered = desk.is_finding() || desk.is_covered();
    html! {
        <div class="desk kp-page">
            <div class="work" inert={covered}>
                { head::view(desk, link) }
                { body }
                { class::view(desk, link) }
            </div>
            { give_out::preview(desk, link) }
            { guide::view(desk, link) }
            { finder::view(desk, link) }
        </div>
    }
}

/// What is seldom wanted, behind one button. The edge puts it away once something in
/// it, or beside it, is pressed.
fn menu(id: &'static str, face: Html, label: Option<&'static str>, body: Html) -> Html {
    html! {
        <details class="menu" {id}>
            <summary aria-label={label} title={label}>{ face }</summary>
            <div class="menu-sheet">{ body }</div>
        </details>
    }
}

/// A button that sends one message.
fn button(link: &Link, label: &str, msg: Msg, disabled: bool, title: &'static str) -> Html {
    let title = (!title.is_empty()).then_some(title);
    html! {
        <button type="button" {disabled} {title} onclick={link.reform(move |_| msg.clone())}>{ label }</button>
    }
}

/// The class of what is wanted next: a view has at most one such button, and a way back
/// is none. It stands back while a text is pasted beside it.
fn main(desk: &Desk) -> Option<&'static str> {
    (!pastes(desk)).then_some("main")
}

/// Whether the box for a text to be pasted is what one is at.
fn pastes(desk: &Desk) -> bool {
    desk.paste_box() && (desk.opened().is_none() || desk.listing())
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
