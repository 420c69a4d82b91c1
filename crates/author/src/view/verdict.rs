//! The verdict line: what it is, what it rests on, and what runs.

use yew::prelude::*;

use super::contents::verdict_class;
use super::{Link, button, findings, guide};
use desk::desk::Desk;
use desk::message::{CheckMsg, ListMsg, Msg, Part};
use desk::next::Next;
use desk::view_model::{VerdictWords, ViewModel};
use desk::work::Sheet;
use keyproof::check::{Second, Soundness, thousands};
use keyproof::tongue::{marked, phrase, say, tr};

/// What the puzzle is, what that rests on and what comes next, above all leaves.
pub fn line(desk: &Desk, sheet: &Sheet, model: &ViewModel, link: &Link) -> Html {
    let verdict = model.verdict();
    let checking = desk.is_checking(sheet.id);
    html! {
        <div class="verdict-head">
            <p class="kp-hidden" role="status">{ announced(&verdict, checking) }</p>
            <p class={classes!("verdict-line", verdict_class(verdict.soundness))}>
                <b>{ verdict.head }</b>
                if !verdict.evidence.is_empty() {
                    <span class="evidence">{ " \u{2014} " }{ verdict.evidence }</span>
                }
                { guide::about(link, Part::Verdict, tr("What the checker found")) }
            </p>
            { next(Next::of(sheet, model, checking), link) }
        </div>
    }
}

/// The next step in words, which lead there where they can.
fn next(next: Next, link: &Link) -> Html {
    let words = match next.way() {
        Some(way) => html! {
            <a href="#keyproof" onclick={link.reform(move |event: MouseEvent| {
                event.prevent_default();
                Msg::Page(way.clone())
            })}>{ next.words() }</a>
        },
        None => html! { next.words() },
    };
    html! { <p class="next-step">{ words }</p> }
}

/// How far the check is, and what stands in its way.
pub fn found(desk: &Desk, sheet: &Sheet, model: &ViewModel, link: &Link) -> Html {
    let checking = desk.is_checking(sheet.id);
    let evidence = model.verdict().evidence;
    html! {
        <section class="verdict" aria-labelledby="found-head">
            <h2 id="found-head">{ tr("What the checker found") }</h2>
            // The line above all leaves says it where there is room.
            if !evidence.is_empty() {
                <p class="rests-on">{ evidence }</p>
            }
            { running(desk, sheet, model, checking, link) }
            if matches!(model.report.second, Second::Against(_)) {
                <p class="row">{ button(link, tr("Save the report"), Msg::Check(CheckMsg::SaveDisagreement), false, "") }</p>
            }
            { reading(sheet, link) }
            { findings::all(model, link) }
            if let Some(words) = nothing(model, checking) {
                <p>{ words }</p>
            }
        </section>
    }
}

/// Why nothing was found, where nothing was.
fn nothing(model: &ViewModel, checking: bool) -> Option<&'static str> {
    if checking || !model.groups.is_empty() {
        None
    } else if model.bare_game {
        Some(tr(
            "The game asks nothing yet, so there is nothing to check.",
        ))
    } else {
        let sound = model.report.verdict == Soundness::Sound;
        sound.then(|| tr("Nothing is to be mended."))
    }
}

/// What is announced: a verdict once it stands, and before that only whether it
/// turned.
fn announced(verdict: &VerdictWords, checking: bool) -> String {
    match (checking, verdict.soundness) {
        (true, Soundness::Unsound) => say!(
            "{verdict} so far; still being checked.",
            verdict = verdict.head,
        ),
        (true, _) => tr("Being checked.").into(),
        (false, _) if verdict.evidence.is_empty() => format!("{}.", verdict.head),
        (false, _) => format!("{}: {}.", verdict.head, verdict.evidence),
    }
}

fn running(desk: &Desk, sheet: &Sheet, model: &ViewModel, checking: bool, link: &Link) -> Html {
    let report = &model.report;
    let (busy, fresh) = desk.at_work(sheet.id);
    let told = |text| {
        let positions = thousands(report.nodes + fresh);
        say!(
            text,
            n = report.answered.to_string(),
            of = report.asked.to_string(),
            positions = positions
        )
    };
    if desk.bench().is_empty() {
        html! { <p class="running">{ tr("Nothing can be checked in this browser.") }</p> }
    } else if checking && desk.bench().stopped() {
        html! {
            <p class="running">
                <span>{ told(phrase!("Stopped at {n} of {of} questions, {positions} positions.", "n of positions")) }</span>
                { button(link, tr("Go on checking"), Msg::Check(CheckMsg::GoOn), false, "") }
            </p>
        }
    } else if checking {
        html! {
            <p class="running">
                <progress max={report.asked.max(1).to_string()} value={report.answered.to_string()} aria-label={tr("Checked")}></progress>
                <span>{ told(phrase!("Checking: {n} of {of} questions, {positions} positions", "n of positions")) }{ if busy > 1 { say!(
                    ", {n} workers",
                    n = busy.to_string(),
                ) } else { String::new() } }</span>
                { button(link, tr("Stop"), Msg::Check(CheckMsg::Stop), false, "") }
                if let Some(question) = desk.working_on(sheet.id) {
                    <span class="working-on">{ question }</span>
                }
            </p>
        }
    } else if report.answered < report.asked
        || report
            .findings
            .iter()
            .any(|f| f.kind == keyproof::check::Kind::Undecided)
    {
        html! {
            <p class="running">
                <span>{ say!(
                    "Not everything is decided within {n} positions a question.",
                    n = thousands(desk.budget(sheet.id)),
                ) }</span>
                { button(link, tr("Spend ten times as many"), Msg::Check(CheckMsg::SearchOn), false, "") }
            </p>
        }
    } else {
        html! {}
    }
}

/// What could not be read when the puzzle came in.
fn reading(sheet: &Sheet, link: &Link) -> Html {
    let Some(reading) = &sheet.reading else {
        return html! {};
    };
    let id = sheet.id;
    let more = reading.faults.len() - reading.excerpts().count();
    html! {
        <section class="reading" aria-label={tr("What could not be read")}>
            <h3>{ say!("Not all of {from} could be read", from = marked(&reading.from)) }</h3>
            <ul>
                { for reading.excerpts().map(|(fault, around)| html! {
                    <li>
                        { say!(
                            "Line {line}, column {column}: {expected} was expected, and this stands there:",
                            line = fault.place.line.to_string(),
                            column = fault.place.column.to_string(),
                            expected = fault.wanted(),
                        ) }{ " " }
                        <code>{ if fault.text.is_empty() { tr("the end of the text") } else { &fault.text } }</code>
                        if !around.is_empty() {
                            <code class="whole-line">{ around }</code>
                        }
                    </li>
                }) }
                if more > 0 {
                    <li>{ say!("and {n} more.", n = more.to_string()) }</li>
                }
            </ul>
            <span class="row">
                { button(link, tr("Keep what was read"), Msg::List(ListMsg::PutAwayReading(id)), false, "") }
                { button(link, tr("Save the text as it came"), Msg::List(ListMsg::SaveReading(id)), false, "") }
            </span>
        </section>
    }
}
