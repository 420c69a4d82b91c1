//! Above the list of puzzles: searching and sorting, and what is done with those
//! that are chosen. Both are folded until they are wanted.

use keyproof::check::thousands;
use keyproof::puzzle::Stipulation;
use keyproof::tongue::{phrase, say, tr};
use wasm_bindgen::JsValue;
use yew::prelude::*;

use super::{Link, button, chosen, give_out, typed};
use crate::dom;
use desk::card::Kind;
use desk::desk::Desk;
use desk::message::{GameMsg, ListMsg, Msg};
use desk::shelf::{Event, Order, Query, SheetStatus};

/// The field a label is typed into.
const LABEL: &str = "label";

/// How many there are, and what can be unfolded below.
pub fn line(desk: &Desk, link: &Link) -> Html {
    let shelf = desk.shelf();
    let (shown, all) = (shelf.shown().len(), desk.work().sheets.len());
    let [few, many] = [shown, all].map(|count| thousands(count as u64));
    let count = match shelf.query.is_empty() {
        true => many,
        false => say!("{n} of {of} shown", n = few, of = many),
    };
    html! {
        <div class="list-line">
            <span class="list-count" role="status">{ count }</span>
            { unfold(link, tr("Find"), "search", shelf.searching, Event::Searching) }
            { unfold(link, tr("Choose several"), "chooser", shelf.choosing, Event::Choosing) }
            if !shelf.query.is_empty() {
                { button(link, tr("Clear all"), Msg::List(ListMsg::Shelf(Event::Clear)), false, tr("Show all puzzles again")) }
            }
        </div>
    }
}

/// What of it is unfolded.
pub fn tools(desk: &Desk, link: &Link) -> Html {
    let shelf = desk.shelf();
    html! {
        <>
            if let running @ 2.. = desk.seeks_running() {
                <p class="row list-seeks">
                    <span>{ say!("Looking for moments in {n} games.", n = running.to_string()) }</span>
                    { button(link, tr("Stop"), Msg::Game(GameMsg::SeekEnd { all: true }), false, tr("Stop looking for moments")) }
                </p>
            }
            if shelf.searching {
                { search(desk, link) }
            }
            if shelf.choosing {
                { chooser(desk, link) }
            }
        </>
    }
}

fn unfold(link: &Link, label: &str, id: &str, open: bool, event: fn(bool) -> Event) -> Html {
    html! {
        <button type="button" class="unfold" aria-expanded={open.to_string()} aria-controls={id.to_owned()}
            onclick={link.reform(move |_| Msg::List(ListMsg::Shelf(event(!open))))}>{ label }</button>
    }
}

fn search(desk: &Desk, link: &Link) -> Html {
    let shelf = desk.shelf();
    let query = &shelf.query;
    let oninput = {
        let query = query.clone();
        link.reform(move |event: InputEvent| {
            Msg::List(ListMsg::Shelf(Event::Query(Query {
                words: typed(&event),
                ..query.clone()
            })))
        })
    };
    let onkeydown = {
        let link = link.clone();
        Callback::from(move |event: KeyboardEvent| {
            if event.key() == "Enter" {
                link.emit(Msg::List(ListMsg::OpenFirst));
            }
        })
    };
    html! {
        <div class="search" id="search" role="search" aria-label={tr("Puzzles on the desk")}>
            <div class="field">
                <label for="search-words">{ tr("Words in titles, names, tags or comments") }</label>
                <input id="search-words" type="search" autocomplete="off" spellcheck="false" value={query.words.clone()} {oninput} {onkeydown} />
            </div>
            { sorting(desk, link) }
            { narrowing(desk, link) }
        </div>
    }
}

/// By what the list is narrowed down.
fn narrowing(desk: &Desk, link: &Link) -> Html {
    let shelf = desk.shelf();
    let query = &shelf.query;
    let narrowed = |change: fn(&mut Query, &str)| {
        let query = query.clone();
        link.reform(move |event: web_sys::Event| {
            let mut query = query.clone();
            change(&mut query, &chosen(&event));
            Msg::List(ListMsg::Shelf(Event::Query(query)))
        })
    };
    let texts = |all: Vec<&str>| {
        let pairs = all
            .into_iter()
            .map(|text| (text.to_owned(), text.to_owned()));
        pairs.collect::<Vec<_>>()
    };
    let named = |all: &[(&str, &'static str)]| {
        let pairs = all
            .iter()
            .map(|(value, text)| ((*value).to_owned(), tr(text).to_owned()));
        pairs.collect::<Vec<_>>()
    };
    let asked = shelf
        .stipulations()
        .into_iter()
        .map(|asked| asked.to_string());
    let asked: Vec<String> = asked.collect();
    let status = STATUSES.iter().find(|(_, s)| query.status == Some(*s));
    let kind = KINDS.iter().find(|(_, kind)| query.kind == Some(*kind));
    let difficulty = query
        .difficulty
        .map(|level| level.map_or("0".to_owned(), |l| l.to_string()));
    html! {
        <div class="narrow">
            { choice("find-kind", tr("Kind"), named(&KINDS.map(|(name, _)| (name, name))), kind.map_or("", |(name, _)| name),
                narrowed(|query, picked| {
                    query.kind = KINDS.into_iter().find(|(name, _)| *name == picked).map(|(_, kind)| kind);
                })) }
            { choice("find-verdict", tr("Verdict"), named(&STATUSES.map(|(name, _)| (name, name))), status.map_or("", |(name, _)| name),
                narrowed(|query, picked| {
                    query.status = STATUSES.into_iter().find(|(name, _)| *name == picked).map(|(_, s)| s);
                })) }
            if !asked.is_empty() {
                { choice("find-asked", tr("Stipulation"), texts(asked.iter().map(String::as_str).collect()),
                    &query.asked.map_or_else(String::new, |asked| asked.to_string()),
                    narrowed(|query, picked| query.asked = Stipulation::read(picked))) }
            }
            if !shelf.themes().is_empty() {
                { choice("find-theme", tr("Theme"), texts(shelf.themes()), query.theme.as_deref().unwrap_or_default(),
                    narrowed(|query, picked| query.theme = text(picked))) }
            }
            if !shelf.labels().is_empty() {
                { choice("find-label", tr("Label"), texts(shelf.labels()), query.label.as_deref().unwrap_or_default(),
                    narrowed(|query, picked| query.label = text(picked))) }
            }
            { choice("find-difficulty", tr("Difficulty"), named(&LEVELS), difficulty.as_deref().unwrap_or_default(),
                narrowed(|query, picked| {
                    let level = picked.parse::<u8>().ok();
                    query.difficulty = level.map(|level| Some(level).filter(|&l| l > 0));
                })) }
        </div>
    }
}

/// By what the list is sorted.
fn sorting(desk: &Desk, link: &Link) -> Html {
    let by_order = link.reform(|event: web_sys::Event| {
        let picked = chosen(&event);
        let order = ORDERS.into_iter().find(|(name, _)| *name == picked);
        Msg::List(ListMsg::Shelf(Event::Order(
            order.map_or(Order::Desk, |(_, order)| order),
        )))
    });
    let order = ORDERS
        .iter()
        .find(|(_, order)| *order == desk.shelf().order);
    let order = order.map_or("", |(name, _)| name);
    let orders = ORDERS.map(|(name, _)| (name.to_owned(), tr(name).to_owned()));
    html! {
        <div class="field">
            <label for="sort-by">{ tr("Sorted by") }</label>
            <select id="sort-by" ~value={JsValue::from(order)} onchange={by_order}>
                { options(&orders, order) }
            </select>
        </div>
    }
}

// What lists offer, by its English name; to be looked up.
const KINDS: [(&str, Kind); 3] = [
    (phrase("puzzle"), Kind::Puzzle),
    (phrase("lesson"), Kind::Lesson),
    (phrase("game"), Kind::Game),
];
const STATUSES: [(&str, SheetStatus); 6] = [
    (phrase("sound"), SheetStatus::Sound),
    (phrase("unsound"), SheetStatus::Unsound),
    (phrase("undecided"), SheetStatus::Undecided),
    (phrase("checking"), SheetStatus::Checking),
    (phrase("not checked yet"), SheetStatus::NotYet),
    (phrase("begun"), SheetStatus::Begun),
];
const LEVELS: [(&str, &str); 6] = [
    ("1", phrase("1 (easy)")),
    ("2", "2"),
    ("3", "3"),
    ("4", "4"),
    ("5", phrase("5 (hard)")),
    ("0", phrase("not said")),
];
const ORDERS: [(&str, Order); 5] = [
    (phrase("place on the desk"), Order::Desk),
    (phrase("title"), Order::Title),
    (phrase("stipulation"), Order::Stipulation),
    (phrase("difficulty"), Order::Difficulty),
    (phrase("verdict, worst first"), Order::Verdict),
];

fn text(picked: &str) -> Option<String> {
    (!picked.is_empty()).then(|| picked.to_owned())
}

/// A list to narrow what is shown by one thing, or not by it.
fn choice(
    id: &'static str,
    label: &str,
    values: Vec<(String, String)>,
    now: &str,
    onchange: Callback<web_sys::Event>,
) -> Html {
    let any = (String::new(), tr("any").to_owned());
    let all: Vec<(String, String)> = std::iter::once(any).chain(values).collect();
    html! {
        <div class={classes!("field", (!now.is_empty()).then_some("narrows"))}>
            <label for={id}>{ label }</label>
            <select {id} ~value={JsValue::from(now)} {onchange}>{ options(&all, now) }</select>
        </div>
    }
}

/// What a list holds; `now` is chosen when it is drawn first.
fn options(all: &[(String, String)], now: &str) -> Html {
    let option = |(value, text): &(String, String)| {
        html! { <option value={value.clone()} selected={value == now}>{ text }</option> }
    };
    all.iter().map(option).collect()
}

fn chooser(desk: &Desk, link: &Link) -> Html {
    let shelf = desk.shelf();
    let count = shelf.chosen.len();
    let seen = shelf
        .shown()
        .iter()
        .filter(|id| shelf.chosen.contains(id))
        .count();
    let words = match (count, count - seen) {
        (0, _) => tr("None chosen").to_owned(),
        (_, 0) => say!("{n} chosen", n = thousands(count as u64)),
        (_, hidden) => say!(
            "{n} chosen, {hidden} of them not shown",
            n = thousands(count as u64),
            hidden = thousands(hidden as u64),
        ),
    };
    let none = count == 0;
    let through = shelf.through;
    html! {
        <div class="chooser" id="chooser" role="group" aria-label={tr("With several puzzles")}>
            <p class="chosen-count" role="status">{ words }</p>
            <p class="row">
                { button(link, tr("All shown"), Msg::List(ListMsg::Shelf(Event::ChooseShown)), shelf.shown().is_empty(), "") }
                { button(link, tr("None"), Msg::List(ListMsg::Shelf(Event::ChooseNone)), none, "") }
                <button type="button" aria-pressed={through.to_string()} disabled={none} title={tr("The next box you tick takes all between; or hold Shift")}
                    onclick={link.reform(move |_| Msg::List(ListMsg::Shelf(Event::Through(!through))))}>{ tr("Through to \u{2026}") }</button>
            </p>
            if !none {
                <p class="row">
                    if desk.games_chosen() {
                        { button(link, tr("Find moments"), Msg::List(ListMsg::Shelf(Event::Seek)), desk.bench().is_empty(), tr("In all games chosen, one after the other")) }
                    }
                    { button(link, tr("Check first"), Msg::List(ListMsg::Shelf(Event::Check)), desk.bench().is_empty(), "") }
                    { button(link, tr("To the front"), Msg::List(ListMsg::Shelf(Event::Bring { first: true })), false, "") }
                    { button(link, tr("To the end"), Msg::List(ListMsg::Shelf(Event::Bring { first: false })), false, "") }
                    { button(link, tr("Remove these"), Msg::List(ListMsg::Shelf(Event::Remove)), false, "") }
                </p>
                { label_tools(desk, link) }
                <details class="give-chosen">
                    <summary>{ tr("Give these out") }</summary>
                    { give_out::chosen(desk, link) }
                </details>
                { give_out::chosen_waits(desk, link) }
            }
        </div>
    }
}

fn label_tools(desk: &Desk, link: &Link) -> Html {
    let press = |event: fn(String) -> Event| {
        let link = link.clone();
        Callback::from(move |_: MouseEvent| {
            let text = dom::value_of(LABEL);
            link.emit(Msg::List(ListMsg::Shelf(event(text))));
        })
    };
    let onkeydown = {
        let link = link.clone();
        Callback::from(move |event: KeyboardEvent| {
            if event.key() == "Enter" {
                event.prevent_default();
                link.emit(Msg::List(ListMsg::Shelf(Event::Label(dom::value_of(
                    LABEL,
                )))));
            }
        })
    };
    html! {
        <div class="label-tools">
            <label for={LABEL}>{ tr("Label") }</label>
            <input id={LABEL} type="text" list="known-labels" autocomplete="off" {onkeydown} />
            <datalist id="known-labels">
                { for desk.shelf().labels().into_iter().map(|label| html! { <option value={label.to_owned()} /> }) }
            </datalist>
            <button type="button" onclick={press(Event::Label)}>{ tr("Put it on") }</button>
            <button type="button" onclick={press(Event::Unlabel)}>{ tr("Take it off") }</button>
        </div>
    }
}
