//! Seen before: in which of the author's earlier games the position occurred.

use keyproof::draft::NodeId;
use keyproof::seen::{Earlier, Next, Score};
use keyproof::tongue::{decimal, lettered, marked, phrase, say, tr};
use web_sys::HtmlInputElement;
use yew::prelude::*;

use super::board::move_words;
use super::{Chosen, Link, button, guide};
use desk::collection::{Event as Happening, Gathering, Trouble};
use desk::desk::Desk;
use desk::earlier::{About, Found};
use desk::lesson::asks_nothing;
use desk::message::{BoardMsg, GameMsg, Msg, Part};
use desk::names::and_more;
use desk::view_model::ViewModel;
use desk::work::Sheet;
use keyproof::check::thousands;

/// Next moves that are shown.
const MOST: usize = 8;

pub fn view(desk: &Desk, sheet: &Sheet, model: &ViewModel, link: &Link) -> Html {
    if desk.bench().is_empty() || (model.lesson.is_none() && !asks_nothing(&sheet.draft)) {
        return html! {};
    }
    let collection = desk.collection();
    let ondrop = {
        let link = link.clone();
        Callback::from(move |event: DragEvent| {
            let files = event.data_transfer().and_then(|data| data.files());
            if let Some(files) = files.filter(|files| files.length() > 0) {
                event.prevent_default();
                event.stop_propagation();
                link.files.emit(Chosen::Earlier(files));
            }
        })
    };
    let body = match (collection.gathering(), collection.about()) {
        (Some(gathering), _) => reading(gathering, link),
        (None, None) => html! {
            <>
                { collection.trouble().map(trouble) }
                <p>{ tr("Give your earlier games as PGN, and each position of this game shows where it occurred before. They stay in this browser.") }</p>
                <p class="row">{ open_files(link, tr("Open earlier games \u{2026}")) }<span>{ tr("or drop their files here") }</span></p>
            </>
        },
        (None, Some(about)) => html! {
            <>
                { collection.trouble().map(trouble) }
                { here(desk, sheet, model, link) }
                { holding(about, collection.refused(), link) }
            </>
        },
    };
    html! {
        <section class="seen" aria-labelledby="seen-head" {ondrop}>
            { guide::headed(link, Part::Seen, "seen-head", tr("Seen before")) }
            { body }
        </section>
    }
}

fn reading(gathering: Gathering, link: &Link) -> Html {
    let positions = thousands(gathering.positions as u64);
    html! {
        <p class="running">
            <progress max="1" value={gathering.share.to_string()} aria-label={tr("Read")}></progress>
            <span>{ say!("Reading your earlier games: {n} positions so far", n = positions) }</span>
            { button(link, tr("Stop reading"), Msg::Game(GameMsg::Earlier(Happening::Stop)), false, "") }
        </p>
    }
}

fn trouble(trouble: &Trouble) -> Html {
    let words = match trouble {
        Trouble::NoGames(files) => say!(
            "No game could be read in {files}.",
            files = files.join(", "),
        ),
        Trouble::Gone => {
            tr("The earlier games are no longer kept in this browser. Open their files again.")
                .into()
        }
        Trouble::Broke(why) => say!(
            "Reading the earlier games broke down ({why}).",
            why = marked(why),
        ),
    };
    html! { <p role="alert" class="seen-trouble">{ words }</p> }
}

/// What is known of the position where the author stands.
fn here(desk: &Desk, sheet: &Sheet, model: &ViewModel, link: &Link) -> Html {
    let Some(found) = desk.seen_here() else {
        return html! { <p class="next-step">{ tr("Looking it up \u{2026}") }</p> };
    };
    let node = desk.work().at;
    let games = found.summary.score.games;
    if games == 0 {
        return html! {
            <>
                <p role="status" class="seen-count">{ tr("This position is in none of your earlier games.") }</p>
                { last_known(sheet, model, found, node, link) }
            </>
        };
    }
    html! {
        <>
            <p role="status" class="seen-count">{ occurred(&found.summary.score) }</p>
            if !found.summary.next.is_empty() {
                <h3>{ tr("Played next") }</h3>
                <ul class="seen-next">
                    { for found.summary.next.iter().take(MOST).map(|next| played(node, model, next, link)) }
                </ul>
            }
            <h3>{ tr("In these games") }</h3>
            <ul class="seen-games">
                { for found.summary.earlier.iter().map(|earlier| game(node, earlier, link)) }
            </ul>
            if found.summary.earlier.len() < games {
                <p class="next-step">{ say!(
                    "The latest {n} of {of} games.",
                    n = found.summary.earlier.len().to_string(),
                    of = thousands(games as u64),
                ) }</p>
            }
            { last_known(sheet, model, found, node, link) }
        </>
    }
}

/// Where the game leaves what was played before.
fn last_known(sheet: &Sheet, model: &ViewModel, found: &Found, here: NodeId, link: &Link) -> Html {
    let line = model.resolved.main_line();
    let last = found.known_for.and_then(|ply| line.get(ply)).copied();
    let Some(last) = last.filter(|last| *last != here && *last != NodeId::ROOT) else {
        return html! {};
    };
    html! {
        <p class="row">
            <span>{ tr("The last position of this game that occurred before stands after") }</span>
            <button type="button" class="seen-last" onclick={link.reform(move |_| Msg::Board(BoardMsg::Go(last)))}>{ move_words(model, sheet, last) }</button>
        </p>
    }
}

fn played(node: NodeId, model: &ViewModel, next: &Next, link: &Link) -> Html {
    let line = vec![next.uci.clone()];
    html! {
        <li key={next.uci.clone()}>
            <button type="button" aria-label={say!(
                "Show {line} on the board",
                line = lettered(&next.san),
            )}
                onclick={link.reform(move |_| Msg::Board(BoardMsg::Show { node, line: line.clone() }))}>{ numbered(model, node, &next.san) }</button>
            <span>{ tally(&next.score) }</span>
        </li>
    }
}

fn game(node: NodeId, earlier: &Earlier, link: &Link) -> Html {
    let header = &earlier.header;
    let known = |text: &str| {
        if text.is_empty() {
            "?".to_owned()
        } else {
            text.to_owned()
        }
    };
    let who = format!("{} \u{2013} {}", known(&header.white), known(&header.black));
    let when: Vec<String> = [header.event.clone(), date(&header.date)]
        .into_iter()
        .filter(|text| !text.is_empty())
        .collect();
    let line = earlier.line.clone();
    let disabled = line.is_empty();
    html! {
        <li key={earlier.number}>
            <button type="button" class="entry" {disabled} onclick={link.reform(move |_| Msg::Board(BoardMsg::Show { node, line: line.clone() }))}>
                <b>{ who }</b>
                <span class="seen-result">{ result(&header.result) }</span>
                <span class="seen-when">{ when.join(", ") }</span>
                <span class="seen-then">
                    {
                        match &earlier.next {
                            Some(san) => say!("then {move}", move = lettered(san)),
                            None => tr("the game ended here").to_owned(),
                        }
                    }
                </span>
            </button>
        </li>
    }
}

/// What the collection holds and takes.
fn holding(about: &About, refused: Option<&str>, link: &Link) -> Html {
    let games = match about.games {
        1 => tr("one game").to_owned(),
        n => say!("{n} games", n = thousands(n as u64)),
    };
    let holds = say!(
        "{positions} positions of {games} in {size} of memory; the last files took {seconds} s.",
        positions = thousands(about.positions as u64),
        games = games,
        size = size(about.bytes + about.header_bytes),
        seconds = decimal(&format!("{:.1}", about.millis / 1000.0)),
    );
    let remarks = [
        (about.in_part, tr("Games that could be read only in part:")),
        (
            about.left_out,
            tr("Games left out for want of a legal start:"),
        ),
        (about.twice, tr("Games given twice, and counted once:")),
    ];
    let from = match &about.files[..] {
        [one] => one.clone(),
        [first, rest @ ..] => and_more(std::slice::from_ref(first), rest.len()),
        [] => String::new(),
    };
    html! {
        <div class="seen-holding">
            <p>{ holds }{ " " }{ from }</p>
            { for remarks.into_iter().filter(|(count, _)| *count > 0).map(|(count, words)| html! { <p>{ words }{ " " }{ thousands(count as u64) }</p> }) }
            if let Some(why) = refused {
                <p role="alert" class="seen-trouble">{ say!(
                    "This browser does not keep them ({why}): they are gone when the page is closed.",
                    why = marked(why),
                ) }</p>
            }
            <p class="row">
                { open_files(link, tr("Add games \u{2026}")) }
                { button(link, tr("Remove the earlier games"), Msg::Game(GameMsg::Earlier(Happening::Remove)), false, "") }
            </p>
        </div>
    }
}

fn open_files(link: &Link, label: &'static str) -> Html {
    let link = link.clone();
    let onchange = Callback::from(move |event: Event| {
        let input: HtmlInputElement = event.target_unchecked_into();
        if let Some(list) = input.files() {
            link.files.emit(Chosen::Earlier(list));
        }
        input.set_value("");
    });
    html! {
        <label class="file">
            <input type="file" id="earlier-files" class="kp-hidden" multiple=true accept=".pgn,.txt,text/plain,application/vnd.chess-pgn" {onchange} />
            <span>{ label }</span>
        </label>
    }
}

fn occurred(score: &Score) -> String {
    match score.games {
        1 => say!(
            "It occurred in one earlier game: {ends}.",
            ends = ends(score)
        ),
        games => say!(
            "It occurred in {n} earlier games: {ends}.",
            n = thousands(games as u64),
            ends = ends(score),
        ),
    }
}

fn tally(score: &Score) -> String {
    match score.games {
        1 => say!("1 game: {ends}", ends = ends(score)),
        games => say!(
            "{n} games: {ends}",
            n = thousands(games as u64),
            ends = ends(score)
        ),
    }
}

/// How games ended: "5 won by White, 4 drawn, 3 won by Black".
fn ends(score: &Score) -> String {
    let parts = [
        (score.white, phrase!("{n} won by White", "n")),
        (score.draws, phrase!("{n} drawn", "n")),
        (score.black, phrase!("{n} won by Black", "n")),
        (
            score.games - score.white - score.draws - score.black,
            phrase!("{n} without a result", "n"),
        ),
    ];
    let told = parts.into_iter().filter(|(count, _)| *count > 0);
    let told: Vec<String> = told
        .map(|(count, words)| say!(words, n = thousands(count as u64)))
        .collect();
    told.join(", ")
}

fn numbered(model: &ViewModel, node: NodeId, san: &str) -> String {
    use shakmaty::Position;
    let mv = lettered(san);
    match model.position(node) {
        Some(at) => format!("{}{}{mv}", at.fullmoves(), at.turn().fold_wb(".", "...")),
        None => mv,
    }
}

fn result(result: &str) -> &str {
    match result {
        "1-0" => "1\u{2013}0",
        "0-1" => "0\u{2013}1",
        "1/2-1/2" => "\u{bd}\u{2013}\u{bd}",
        _ => "",
    }
}

fn size(bytes: usize) -> String {
    match bytes {
        ..1_000_000 => say!("{n} KB", n = bytes.div_ceil(1000).to_string()),
        _ => say!("{n} MB", n = decimal(&format!("{:.1}", bytes as f64 / 1e6))),
    }
}

/// A date as far as it is known: "2024-03-17", "2024-03", "2024".
fn date(date: &str) -> String {
    let parts = date.split('.').take_while(|part| !part.contains('?'));
    parts.collect::<Vec<_>>().join("-")
}
