//! The fields of a puzzle: title, stipulation, what the student reads, and how it is
//! met.

use keyproof::draft::{Draft, Edit};
use keyproof::lesson::Place;
use keyproof::players;
use keyproof::prove::{Aim, Gain};
use keyproof::publish::LABELS;
use keyproof::puzzle::{Asked, MOST_MOVES, Posed, Stipulation};
use keyproof::tongue::{say, tr};
use yew::prelude::*;

use super::{Link, chosen, guide, text_line, typed};
use desk::desk::{Desk, moves_asked};
use desk::lesson::Lesson;
use desk::message::{EditMsg, Msg, Part};
use desk::view_model::{ViewModel, stipulation};
use desk::work::{Sheet, told};
use desk::wrong;

/// What is offered to be forced: every aim, and the gains that are asked for most.
pub fn aims_offered() -> impl Iterator<Item = Aim> {
    let gains = [9, 5, 3, 1].map(|k| Aim::Gain(Gain::of(k)));
    Aim::ALL.into_iter().chain(gains)
}

/// An aim as the choice says it before a number of moves.
fn before_moves(aim: Aim) -> String {
    let words = match aim {
        Aim::Mate => tr("mate in"),
        Aim::Selfmate => tr("selfmate in"),
        Aim::Stalemate => tr("stalemate in"),
        Aim::Helpmate => tr("helpmate in"),
        Aim::Gain(Gain { k: 9, .. }) => tr("win the queen in"),
        Aim::Gain(Gain { k: 5, .. }) => tr("win a rook in"),
        Aim::Gain(Gain { k: 3, .. }) => tr("win a piece in"),
        Aim::Gain(Gain { k: 1, .. }) => tr("win a pawn in"),
        Aim::Gain(_) => return say!("win {what} in", what = aim.what()),
    };
    words.to_owned()
}

/// The choices of [`aims_offered`], and of another gain if that is what is set.
pub fn aims(set: Option<Aim>) -> Html {
    let other = set.filter(|set| aims_offered().all(|aim| aim != *set));
    html! {
        { for aims_offered().chain(other).map(|aim| option(aim.sign(), before_moves(aim), set == Some(aim))) }
    }
}

/// A choice of a list.
pub fn option(value: impl Into<AttrValue>, label: impl Into<AttrValue>, on: bool) -> Html {
    html! { <option value={value.into()} selected={on}>{ label.into() }</option> }
}

/// What is asked: the stipulation, or of a lesson how often it asks.
pub fn asked(sheet: &Sheet, model: &ViewModel, link: &Link) -> Html {
    if let Some(lesson) = &model.lesson {
        return lesson_asks(lesson, link);
    }
    let draft = &sheet.draft;
    let set = stipulation(draft);
    let whole = moves_asked(draft).unwrap_or(2);
    let onchange = link.reform(move |event: Event| {
        let chosen = chosen(&event);
        let value = match aims_offered().find(|aim| aim.sign() == chosen) {
            Some(aim) => asking(aim, &whole.to_string()),
            None => chosen,
        };
        Msg::Edit(EditMsg::Tag {
            name: "Stipulation".into(),
            value,
        })
    });
    let forced = set.and_then(Stipulation::forced);
    let aimed = forced.map_or(Aim::Mate, |(aim, _)| aim);
    let on_number = {
        let link = link.clone();
        Callback::from(move |event: InputEvent| {
            let value = asking(aimed, typed(&event).trim());
            if Stipulation::read(&value).is_some() {
                link.emit(Msg::Edit(EditMsg::Tag {
                    name: "Stipulation".into(),
                    value,
                }));
            }
        })
    };
    let (white, black) = if aimed.shared() {
        (tr("White begins:"), tr("Black begins:"))
    } else {
        (tr("White plays:"), tr("Black plays:"))
    };
    html! {
            <p class="stipulation">
                <span>{ model.solver().fold_wb(white, black) }</span>
                <label class="kp-hidden" for="stipulation">{ tr("Stipulation") }</label>
                <select id="stipulation" {onchange}>
                    if set.is_none() {
                        { option("", tr("choose \u{2026}"), true) }
                    }
                    { aims(forced.map(|(aim, _)| aim)) }
                    { option("+", tr("win"), set == Some(Stipulation::Win)) }
                    { option("=", tr("draw"), set == Some(Stipulation::Draw)) }
                    { option("bm", tr("best move"), set == Some(Stipulation::Best)) }
                </select>
                if let Some((aim, n)) = forced {
                    <label class="kp-hidden" for="moves">{ tr("Number of moves") }</label>
                    <input id="moves" type="number" min={if aim.shared() { "0.5" } else { "1" }} step={if aim.shared() { "0.5" } else { "1" }}
                        max={MOST_MOVES.to_string()} value={aim.count(n)} oninput={on_number}
                        onblur={link.reform(|_| Msg::Edit(EditMsg::FieldLeft))} />
                    <span>{ if aim.count(n) == "1" { tr("move") } else { tr("moves") } }</span>
                } else if set.is_some() {
                    <span>{ tr("(by search)") }</span>
                }
                { guide::about(link, Part::Stipulation, tr("Stipulation")) }
            </p>
    }
}

fn lesson_asks(lesson: &Lesson, link: &Link) -> Html {
    let words = match lesson.asked.len() {
        0 => tr("A lesson").to_owned(),
        1 => tr("A lesson: it asks once").to_owned(),
        2 => tr("A lesson: it asks twice").to_owned(),
        n => say!("A lesson: it asks {n} times", n = n.to_string()),
    };
    html! {
        <p class="stipulation">
            <span>{ &words }</span>
            { guide::about(link, Part::Lesson, &words) }
        </p>
    }
}

/// The title, in the running head: of a game or a lesson the players, and what they
/// played in below them.
pub fn title(draft: &Draft, link: &Link) -> Html {
    let players = players::of_game(draft);
    let label = match players {
        Some(_) => tr("Event"),
        None => tr("Title"),
    };
    html! {
        <span class={classes!("titled", players.is_some().then_some("played"))}>
            if let Some(players) = players {
                <span class="players">{ players }</span>
            }
            <label class="kp-hidden" for="title">{ label }</label>
            <input id="title" class="title" type="text" data-puzzle-text="" autocomplete="off" placeholder={label}
                value={as_typed(draft, "Event")}
                oninput={link.reform(|event: InputEvent| Msg::Edit(EditMsg::Tag { name: "Event".into(), value: typed(&event) }))}
                onblur={link.reform(|_| Msg::Edit(EditMsg::FieldLeft))} />
        </span>
    }
}

/// Who played the game, and when: what it is called by.
fn played(draft: &Draft, link: &Link) -> Html {
    let line =
        |id, label, tag, usual| text_line(link, id, label, &as_typed(draft, tag), tag, usual);
    html! {
        <div class="pairs players-of">
            { line("white", tr("White"), "White", "") }
            { line("black", tr("Black"), "Black", "") }
            { line("date", tr("Date"), "Date", tr("year.month.day")) }
        </div>
    }
}

/// The stipulation for an aim and its number of moves as typed.
fn asking(aim: Aim, count: &str) -> String {
    format!("{}{count}", aim.sign())
}

/// The fields of what is asked where the author stands: of the puzzle, or of a
/// moment, whose tags have names of their own.
struct Here {
    /// A lesson, at no moment of it.
    nowhere: bool,
    place: Option<Place>,
    asks: Option<Stipulation>,
}

impl Here {
    fn of(desk: &Desk, sheet: &Sheet, model: &ViewModel) -> Here {
        let lesson = model.lesson.as_ref();
        let asked = lesson.and_then(|lesson| lesson.at(desk.work().at));
        Here {
            nowhere: lesson.is_some() && asked.is_none(),
            place: asked.map(|asked| asked.moment.place),
            asks: match (asked, lesson) {
                (Some(asked), _) => Some(asked.moment.stipulation),
                (None, Some(_)) => None,
                (None, None) => stipulation(&sheet.draft),
            },
        }
    }
    fn named(&self, tag: &str) -> String {
        self.place
            .map_or_else(|| tag.to_owned(), |place| place.own_tag(tag))
    }
}

/// What the student reads; `moments` where a lesson asks nothing here.
pub fn words(desk: &Desk, sheet: &Sheet, model: &ViewModel, moments: Html, link: &Link) -> Html {
    let draft = &sheet.draft;
    let here = Here::of(desk, sheet, model);
    let named = |tag: &str| here.named(tag);
    let value = |tag: &str| as_typed(draft, tag);
    let hints: Vec<String> = (1..=9).map(|i| named(&format!("Hint{i}"))).collect();
    let given = hints
        .iter()
        .rposition(|tag| told(draft, tag).is_some())
        .map_or(0, |i| i + 1);
    html! {
        <section class="fields" aria-labelledby="words-head">
            <h2 id="words-head">{ tr("What the student reads") }</h2>
            if desk.is_game() {
                { played(draft, link) }
            }
            if here.nowhere {
                { moments }
            } else {
                { text_line(link, "task", tr("Task"), &value(&named("Task")), &named("Task"), tr("made from the stipulation")) }
                { for hints.iter().take((given + 1).min(9)).enumerate().map(|(i, tag)| {
                    text_line(link, &format!("hint-{}", i + 1), &say!(
                        "Hint {n}",
                        n = (i + 1).to_string(),
                    ), &value(tag), tag, "")
                }) }
                { hint_draft(desk, &hints, given, &value, link) }
                { text_line(link, "closing", tr("Closing words"), &value(&named("Closing")), &named("Closing"), "") }
                { wrong_moves(desk, model, &named, &value, link) }
            }
        </section>
    }
}

/// A hint as it might be written, beside the first field that is empty.
fn hint_draft(
    desk: &Desk,
    hints: &[String],
    given: usize,
    value: &impl Fn(&str) -> String,
    link: &Link,
) -> Html {
    let used: Vec<String> = hints.iter().map(|tag| value(tag)).collect();
    let draft = desk.hint_drafts().into_iter().nth(given);
    let Some((draft, tag)) = draft
        .filter(|draft| !used.contains(draft))
        .zip(hints.get(given))
    else {
        return html! {};
    };
    let label = say!("Take these words: {words}", words = draft);
    let edits = vec![Edit::SetTag {
        name: tag.clone(),
        value: Some(draft.clone()),
    }];
    html! {
        <p class="draft">
            <span>{ draft }</span>{ " " }
            <button type="button" class="take" aria-label={label} onclick={link.reform(move |_| Msg::Edit(EditMsg::Mend(edits.clone())))}>{ tr("Take these words") }</button>
        </p>
    }
}

/// How the student meets it.
pub fn students(desk: &Desk, sheet: &Sheet, model: &ViewModel, link: &Link) -> Html {
    let draft = &sheet.draft;
    let here = Here::of(desk, sheet, model);
    let named = |tag: &str| here.named(tag);
    let value = |tag: &str| as_typed(draft, tag);
    let unique = told(draft, "Uniqueness").is_some_and(|v| v.eq_ignore_ascii_case("every move"));
    let searched = here.asks.filter(|asks| asks.forced().is_none());
    html! {
        <section class="fields" aria-labelledby="fields-head">
            { guide::headed(link, Part::Fields, "fields-head", tr("For the student")) }
            if here.asks.is_some_and(|asks| !asks.shared()) {
                { posed(&value(&named(Posed::TAG)), named(Posed::TAG), here.place.is_some(), link) }
            }
            { defences(draft, here.asks.is_some_and(Stipulation::shared), link) }
            <label class="check">
                <input type="checkbox" checked={unique} onchange={link.reform(move |_| Msg::Edit(EditMsg::Tag {
                    name: "Uniqueness".into(),
                    value: if unique { String::new() } else { "every move".into() },
                }))} />
                { tr("Only one right move at every turn: a second one, a dual, is a fault") }
            </label>
            if !here.nowhere {
                { text_line(link, "hint-cost", tr("Points that each hint costs"), &value(&named("HintCost")), &named("HintCost"), "0") }
            }
            if let Some(usual) = searched.map(|asks| asks.margins()) {
                { text_line(link, "margins", tr("Margins in pawns: right from, wrong below"), &value(&named("Margins")), &named("Margins"),
                    &format!("{:.2} {:.2}", f64::from(usual.right) / 100.0, f64::from(usual.wrong) / 100.0)) }
            }
            <div class="pairs">
                { text_line(link, "language", tr("Language"), &value("Language"), "Language", "en") }
                { text_line(link, "author", tr("Author"), &value("Annotator"), "Annotator", "") }
                { text_line(link, "themes", tr("Themes"), &value(&named("Themes")), &named("Themes"), "") }
                { text_line(link, "labels", tr("Labels, for yourself"), &value(LABELS), LABELS, tr("Monday; beginners")) }
            </div>
        </section>
    }
}

/// How it is put to the student: the tag `tag` says it, and has `set`. In a game nobody
/// passes, so that no threat is asked for there.
fn posed(set: &str, tag: String, in_game: bool, link: &Link) -> Html {
    let set = Posed::read(set).unwrap_or_default();
    let ways = [
        tr("to find the move"),
        tr("which of the first moves written is right"),
        tr("whether the first move written does it, yes or no"),
        tr("what is threatened: the other side is shown to move"),
    ];
    let change = link.reform(move |event: Event| {
        let (name, value) = (tag.clone(), chosen(&event));
        Msg::Edit(EditMsg::Tag { name, value })
    });
    html! {
        <div class="field">
            <label for="posed">{ tr("The student is asked") }</label>
            <select id="posed" onchange={change}>
                { for Posed::NAMES.iter().zip(ways).filter(|((_, what), _)| !in_game || *what != Posed::Threat).map(|(&(name, what), text)| {
                    let value = if what == Posed::Find { "" } else { name };
                    html! { <option {value} selected={what == set}>{ text }</option> }
                }) }
            </select>
        </div>
    }
}

/// Which of the defences listed, or of the solutions of a helpmate, are asked.
fn defences(draft: &Draft, shared: bool, link: &Link) -> Html {
    let set = told(draft, "Defences").map_or(Asked::Each, Asked::read);
    let (asked, ways): (_, &[&'static str]) = match shared {
        true => (
            tr("Ask the student for"),
            &[
                tr("every solution listed, each in turn"),
                tr("only one solution"),
            ],
        ),
        false => (
            tr("Ask the student to answer"),
            &[
                tr("every defence listed, each in turn"),
                tr("only the first defence listed"),
                tr("only the defence that holds out longest"),
                tr("one of the defences listed, drawn at random"),
            ],
        ),
    };
    html! {
        <div class="field">
            <label for="defences">{ asked }</label>
            <select id="defences" onchange={link.reform(|event: Event| Msg::Edit(EditMsg::Tag { name: "Defences".into(), value: chosen(&event) }))}>
                { for Asked::NAMES.iter().zip(ways).map(|(&(name, what), text)| {
                    let value = if what == Asked::Each { "" } else { name };
                    html! { <option {value} selected={what == set}>{ text }</option> }
                }) }
            </select>
        </div>
    }
}

/// Words for the wrong moves that have none of their own, by the way they fail.
fn wrong_moves(
    desk: &Desk,
    model: &ViewModel,
    named: &impl Fn(&str) -> String,
    value: &impl Fn(&str) -> String,
    link: &Link,
) -> Html {
    const SHOWN: usize = 5;
    let at = desk.work().at;
    let told = model
        .told_at(at)
        .and_then(|(root, explanation)| Some(wrong::classes(model.position(root)?, explanation?)));
    let Some(classes) = told.filter(|classes| !classes.is_empty()) else {
        return html! {};
    };
    html! {
        <details class="wrong-moves">
            <summary>{ tr("Words for wrong moves, by the way they fail") }</summary>
            <p>{ tr("Students read them beside the reason and the line. A try has words of its own.") }</p>
            { for classes.iter().map(|class| {
                let mut moves: Vec<String> = class.moves.iter().take(SHOWN).cloned().collect();
                match class.moves.len().saturating_sub(SHOWN) {
                    0 => {}
                    more => moves.push(say!("{n} more", n = more.to_string())),
                }
                let tag = named(class.tag);
                let label = say!(
                    "After {moves}: {words}",
                    moves = moves.join(", "),
                    words = class.words,
                );
                text_line(link, &format!("wrong-{}", class.tag), &label, &value(&tag), &tag, "")
            }) }
        </details>
    }
}

/// What stands in a field: the tag's value with its spaces, since a field that
/// drops them while its author types joins his words. PGN's marks for "not
/// known" stand for an empty field.
fn as_typed(draft: &Draft, tag: &str) -> String {
    let value = draft.tag(tag).filter(|v| !matches!(*v, "?" | "-"));
    value.unwrap_or_default().to_owned()
}
