//! Endgame tables that the author opens from his own files.

use keyproof::tongue::{say, tr};
use shakmaty::Position;
use web_sys::HtmlInputElement;
use yew::prelude::*;

use super::{Chosen, Link};
use desk::desk::Desk;
use desk::endings::{Endings, sentence};
use desk::view_model::ViewModel;

/// Up to so many men there are tables.
const MOST_MEN: usize = 7;

pub fn view(desk: &Desk, model: &ViewModel, link: &Link) -> Html {
    let few = model
        .resolved
        .position(desk.work().at)
        .is_some_and(|position| position.board().occupied().count() <= MOST_MEN);
    let opened = desk.endings();
    if desk.bench().is_empty() || (!few && opened.is_none()) {
        return html! {};
    }
    html! {
        <section class="endings" aria-labelledby="endings-head">
            <h2 id="endings-head">{ tr("Endgame tables") }</h2>
            {
                match opened {
                    None => html! {
                        <>
                            <p>{ tr("Endings of up to four men are exact. With Syzygy files of your own, those of up to seven are too. They are read where they lie, and copied nowhere.") }</p>
                            <p class="row">{ open_files(link) }</p>
                        </>
                    },
                    Some(endings) => holding(endings, link),
                }
            }
        </section>
    }
}

fn holding(endings: &Endings, link: &Link) -> Html {
    let (files, men) = (endings.files.to_string(), endings.men.to_string());
    let told = match endings.files {
        0 => tr("None of these files is a table that can be used.").to_owned(),
        _ => say!(
            "Tables open: {files} files, up to {men} men.",
            files = files,
            men = men
        ),
    };
    let close = {
        let link = link.clone();
        Callback::from(move |_: MouseEvent| link.files.emit(Chosen::Endings(None)))
    };
    html! {
        <>
            <p role="status" class="endings-count">{ told }</p>
            if !endings.faults.is_empty() {
                <ul class="endings-faults">
                    { for endings.faults.iter().map(|fault| html! { <li>{ sentence(fault) }</li> }) }
                </ul>
            }
            <p class="row">
                { open_files(link) }
                <button type="button" onclick={close}>{ tr("Close the endgame tables") }</button>
            </p>
        </>
    }
}

fn open_files(link: &Link) -> Html {
    let link = link.clone();
    let onchange = Callback::from(move |event: Event| {
        let input: HtmlInputElement = event.target_unchecked_into();
        if let Some(files) = input.files().filter(|files| files.length() > 0) {
            link.files.emit(Chosen::Endings(Some(files)));
        }
        input.set_value("");
    });
    html! {
        <label class="file">
            <input type="file" id="endings-files" class="kp-hidden" multiple=true accept=".rtbw,.rtbz" {onchange} />
            <span>{ tr("Open endgame tables \u{2026}") }</span>
        </label>
    }
}
