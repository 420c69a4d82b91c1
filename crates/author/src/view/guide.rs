//! The guide beside the work, and the buttons that ask it.

use keyproof::tongue::{plural, say, spoken, tr};
use keyproof_guide::{Block, Found, Inline, Place};
use yew::prelude::*;

use super::{Link, typed};
use desk::desk::{Desk, Guide, HERE, SEARCH};
use desk::message::{Msg, PageMsg, Part, Turn};

/// The button beside the heading of a part, which asks the guide about it.
pub fn about(link: &Link, part: Part, heading: &str) -> Html {
    let name = say!("About: {part}", part = heading);
    html! {
        <button type="button" class="about" id={part.button()} title={name.clone()} aria-label={name}
            onclick={send(link, Turn::About(part))}>{ "?" }</button>
    }
}

/// A heading with the button beside it.
pub fn headed(link: &Link, part: Part, id: &'static str, heading: &str) -> Html {
    html! {
        <div class="headed">
            <h2 {id}>{ heading }</h2>
            { about(link, part, heading) }
        </div>
    }
}

/// The guide itself, where it is open.
pub fn view(desk: &Desk, link: &Link) -> Html {
    let Some(guide) = desk.guide() else {
        return html! {};
    };
    html! {
        <section class="guide" aria-labelledby="guide-head" onkeydown={on_key(link)} inert={desk.is_finding()}>
            <div class="row guide-top">
                <h2 id="guide-head">{ tr("Guide") }</h2>
                if spoken().tag() != "en" {
                    <p>{ tr("The guide is in English.") }</p>
                }
                <button type="button" onclick={send(link, Turn::Close)}>{ tr("Back to the desk") }</button>
            </div>
            <div class="row guide-search">
                <label for={SEARCH}>{ tr("Look for") }</label>
                <input id={SEARCH} type="search" autocomplete="off" value={guide.typed().to_owned()}
                    oninput={link.reform(|event: InputEvent| Msg::Page(PageMsg::Guide(Turn::Find(typed(&event)))))} />
            </div>
            if guide.is_finding() {
                { findings(guide, link) }
            } else {
                { page(guide, link) }
            }
        </section>
    }
}

fn send(link: &Link, turn: Turn) -> Callback<MouseEvent> {
    link.reform(move |_| Msg::Page(PageMsg::Guide(turn.clone())))
}

fn on_key(link: &Link) -> Callback<KeyboardEvent> {
    let link = link.clone();
    Callback::from(move |event: KeyboardEvent| {
        if event.key() == "Escape" {
            event.prevent_default();
            link.emit(Msg::Page(PageMsg::Guide(Turn::Close)));
        }
    })
}

fn findings(guide: &Guide, link: &Link) -> Html {
    let found = guide.found();
    let count = match found.len() {
        0 => tr("Nothing in the guide has all these words.").to_owned(),
        n => plural!(n, "one place found", "{n} places found"),
    };
    html! {
        <>
            <p role="status">{ count }</p>
            <ul class="guide-found" lang="en">{ for found.iter().map(|found| finding(found, link)) }</ul>
        </>
    }
}

fn finding(found: &Found, link: &Link) -> Html {
    html! {
        <li>
            { turner(link, found.place, html! {
                <>
                    { found.page }
                    if !found.heading.is_empty() {
                        { ": " }{ found.heading }
                    }
                </>
            }) }
            <p>{ &found.around }</p>
        </li>
    }
}

fn page(guide: &Guide, link: &Link) -> Html {
    let page = guide.page();
    let at = guide.at();
    let top = at.anchor.is_empty();
    html! {
        <>
            <p class="row">
                if !guide.typed().trim().is_empty() {
                    <button type="button" onclick={send(link, Turn::Findings)}>{ tr("What was found") }</button>
                }
                if at != Part::Desk.place() {
                    <button type="button" onclick={send(link, Turn::To(Part::Desk.place()))}>{ tr("All pages") }</button>
                }
            </p>
            <article class="guide-page" lang="en" key={page.name}>
                <h2 id={top.then_some(HERE)} tabindex="-1">{ page.title }</h2>
                { for page.blocks.iter().map(|part| block(part, at, link)) }
            </article>
        </>
    }
}

fn block(block: &Block, at: Place, link: &Link) -> Html {
    match block {
        Block::Heading { anchor, text } => {
            let here = *anchor == at.anchor;
            html! { <h3 id={here.then_some(HERE)} tabindex="-1">{ text }</h3> }
        }
        Block::Paragraph(inlines) => html! { <p>{ words(inlines, link) }</p> },
        Block::Code(text) => html! { <pre><code>{ text }</code></pre> },
        Block::List { numbered, items } => {
            let items = items.iter().map(|item| html! { <li>{ for item.iter().map(|part| self::block(part, at, link)) }</li> });
            match numbered {
                true => html! { <ol>{ for items }</ol> },
                false => html! { <ul>{ for items }</ul> },
            }
        }
        Block::Table { head, rows } => html! {
            <table>
                <thead><tr>{ for head.iter().map(|cell| html! { <th scope="col">{ words(cell, link) }</th> }) }</tr></thead>
                <tbody>
                    { for rows.iter().map(|row| html! {
                        <tr>{ for row.iter().map(|cell| html! { <td>{ words(cell, link) }</td> }) }</tr>
                    }) }
                </tbody>
            </table>
        },
    }
}

fn words(inlines: &[Inline], link: &Link) -> Html {
    let of = |inline: &Inline| match inline {
        Inline::Text(text) => html! { { text } },
        Inline::Code(text) => html! { <code>{ text }</code> },
        Inline::Emphasis(inlines) => html! { <em>{ words(inlines, link) }</em> },
        Inline::Strong(inlines) => html! { <strong>{ words(inlines, link) }</strong> },
        Inline::Link { to, text } => turner(link, *to, words(text, link)),
    };
    inlines.iter().map(of).collect()
}

/// What leads to another place of the guide.
fn turner(link: &Link, to: Place, words: Html) -> Html {
    html! { <button type="button" class="turn" onclick={send(link, Turn::To(to))}>{ words }</button> }
}
