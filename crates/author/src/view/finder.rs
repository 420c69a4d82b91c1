//! The list of keys and commands, over the page.

use keyproof::tongue::{plural, tr};
use web_sys::HtmlElement;
use yew::prelude::*;

use super::{Link, typed};
use desk::desk::Desk;
use desk::desk::commands::Command;
use desk::message::{Msg, PageMsg};

pub fn view(desk: &Desk, link: &Link) -> Html {
    let Some((finder, found)) = desk.finder() else {
        return html! {};
    };
    let at = finder.at;
    let count = match found.len() {
        _ if finder.typed.trim().is_empty() => tr("Type a word of it, or choose below.").to_owned(),
        0 => tr("Nothing on this page is called that.").to_owned(),
        n => plural!(n, "one found", "{n} found"),
    };
    html! {
        <div class="finder" onkeydown={on_key(link)} onclick={outside(link)}>
            <section role="dialog" aria-modal="true" aria-labelledby="finder-head">
                <h2 id="finder-head">{ tr("Keys and commands") }</h2>
                <div class="row">
                    <label for="finder">{ tr("What would you like to do?") }</label>
                    <input id="finder" type="text" role="combobox" autocomplete="off" spellcheck="false"
                        aria-expanded="true" aria-controls="finder-list" aria-autocomplete="list"
                        aria-activedescendant={found.get(at).is_some_and(|c| c.msg.is_some()).then_some("finder-here")}
                        value={finder.typed.clone()} oninput={link.reform(|event: InputEvent| Msg::Page(PageMsg::Find(typed(&event))))} />
                    <button type="button" onclick={link.reform(|_| Msg::Page(PageMsg::Finder(false)))}>{ tr("Close") }</button>
                </div>
                <p role="status">{ count }</p>
                <div id="finder-list" role="listbox" aria-label={tr("Commands")}>
                    { groups(&found, at, link) }
                </div>
            </section>
        </div>
    }
}

fn groups(found: &[Command], at: usize, link: &Link) -> Html {
    let runs = found.chunk_by(|a, b| a.group == b.group);
    runs.scan(0, |from, run| {
        let start = *from;
        *from += run.len();
        Some((start, run))
    })
    .map(|(start, run)| {
        html! {
            <div role="group" aria-label={run[0].group} key={run[0].group}>
                <h3 aria-hidden="true">{ run[0].group }</h3>
                { for run.iter().zip(start..).map(|(command, place)| option(command, place, place == at, link)) }
            </div>
        }
    })
    .collect()
}

fn option(command: &Command, place: usize, here: bool, link: &Link) -> Html {
    let able = command.msg.is_some();
    let here = here && able;
    let onclick =
        able.then(|| link.reform(move |_: MouseEvent| Msg::Page(PageMsg::DoFound(place))));
    html! {
        <div role="option" id={here.then_some("finder-here")} class={classes!("command", here.then_some("here"))}
            aria-selected={here.to_string()} aria-disabled={(!able).then_some("true")} {onclick}>
            <span>{ &command.words }</span>
            <span class="command-keys">{ for command.keys.iter().map(|key| html! { <kbd>{ key }</kbd> }) }</span>
        </div>
    }
}

fn on_key(link: &Link) -> Callback<KeyboardEvent> {
    let link = link.clone();
    Callback::from(move |event: KeyboardEvent| {
        let on_button = event
            .target_dyn_into::<HtmlElement>()
            .is_some_and(|target| target.tag_name() == "BUTTON");
        let msg = match event.key().as_str() {
            "Escape" => Msg::Page(PageMsg::Finder(false)),
            "ArrowDown" => Msg::Page(PageMsg::Pick(1)),
            "ArrowUp" => Msg::Page(PageMsg::Pick(-1)),
            "Enter" if !on_button => Msg::Page(PageMsg::DoPicked),
            _ => return,
        };
        event.prevent_default();
        link.emit(msg);
    })
}

/// A press beside the list puts it away.
fn outside(link: &Link) -> Callback<MouseEvent> {
    let link = link.clone();
    Callback::from(move |event: MouseEvent| {
        if event.target() == event.current_target() {
            link.emit(Msg::Page(PageMsg::Finder(false)));
        }
    })
}
