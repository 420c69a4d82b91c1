//! The speaker's window of a talk: the audience's board to play and draw on, and
//! beside it the speaker's own words, what comes next, the answer, and what is ready
//! to be shown.

use std::rc::Rc;

use keyproof::explain::Proof;
use keyproof::marks::LineKind;
use keyproof::notation::moves;
use keyproof::tongue::{lettered, plural, say, spoken, tr};
use keyproof_board::{Board, Drawing, MoveInput};
use shakmaty::{Move, Position};
use wasm_bindgen::JsCast;
use web_sys::Element;
use yew::prelude::*;

use super::{Link, audience, button, chosen, guide};
use desk::desk::Desk;
use desk::message::{Msg, Part as Topic, TalkMsg};
use desk::remote;
use desk::talk::{
    Margin, Part, Question, Ready, Script, Shown, Spot, Switch, Talk, Tone, Tool, Verdict, numbered,
};

/// The talk over all of the desk.
pub fn view(desk: &Desk, link: &Link) -> Html {
    let (Some((talk, script)), Some(shown)) = (desk.talk(), desk.shown()) else {
        return html! {};
    };
    let alone = talk.switches.alone;
    let class = match alone {
        true => classes!("talk", "audience", audience::margin(talk.margin)),
        false => classes!("talk"),
    };
    html! {
        <section id="talk" tabindex="-1" {class} aria-label={tr("Talk")} onmousedown={keep_focus()}>
            if !alone {
                { head(desk, link) }
            }
            <div class={if alone { "audience-board" } else { "talk-verso" }}>
                { board(talk, &script, &shown, link) }
                if !alone {
                    { below(talk, &script, link) }
                }
            </div>
            if alone {
                <div class="audience-words" onclick={press_beside(link)}>
                    { for audience::words(&shown).into_iter().map(|(class, text)| html! { <p {class} dir="auto">{ text }</p> }) }
                </div>
            } else {
                { beside(talk, &script, &shown, link) }
            }
        </section>
    }
}

/// A press of the mouse leaves the focus where it is, except in fields: a remote's
/// keys are the talk's, and not those of the button pressed last.
fn keep_focus() -> Callback<MouseEvent> {
    Callback::from(|event: MouseEvent| {
        let target = event.target().and_then(|t| t.dyn_into::<Element>().ok());
        let field = target.and_then(|t| t.closest("input, select, textarea, label, summary").ok());
        if field.flatten().is_none() {
            event.prevent_default();
        }
    })
}

/// Where all is in one window, and no control is seen: a press on the players brings
/// the speaker's own view back, one elsewhere beside the board goes on.
fn press_beside(link: &Link) -> Callback<MouseEvent> {
    link.reform(|event: MouseEvent| {
        let target = event.target().and_then(|t| t.dyn_into::<Element>().ok());
        let players = target.and_then(|t| t.closest(".players").ok().flatten());
        Msg::Talk(match players {
            Some(_) => TalkMsg::Switch(Switch::Alone),
            None => TalkMsg::Step(true),
        })
    })
}

fn send(link: &Link, msg: TalkMsg) -> Callback<MouseEvent> {
    link.reform(move |_| Msg::Talk(msg.clone()))
}

fn press(link: &Link, label: &str, msg: TalkMsg) -> Html {
    button(link, label, Msg::Talk(msg), false, "")
}

fn pressed(link: &Link, label: &str, on: bool, msg: TalkMsg) -> Html {
    html! {
        <button type="button" aria-pressed={on.to_string()} onclick={send(link, msg)}>{ label }</button>
    }
}

fn switch(link: &Link, talk: &Talk, label: &str, switch: Switch) -> Html {
    pressed(
        link,
        label,
        talk.switches.is_on(switch),
        TalkMsg::Switch(switch),
    )
}

fn head(desk: &Desk, link: &Link) -> Html {
    let there = desk.has_audience();
    html! {
        <header class="row talk-head">
            <h1>{ tr("Talk") }</h1>
            { guide::about(link, Topic::Talk, tr("Talk")) }
            <span class="talk-used" role="timer">{ desk.talk_used() }</span>
            if there {
                <span>{ tr("The audience\u{2019}s window is open; F fills its screen.") }</span>
                { press(link, tr("Close it"), TalkMsg::Audience(false)) }
            } else {
                <button type="button" id="audience-open" onclick={send(link, TalkMsg::Audience(true))}>{ tr("Open the audience\u{2019}s window") }</button>
            }
            { press(link, tr("All in one window"), TalkMsg::Switch(Switch::Alone)) }
            { press(link, tr("Leave the talk"), TalkMsg::Leave) }
        </header>
    }
}

fn board(talk: &Talk, script: &Script, shown: &Shown, link: &Link) -> Html {
    let tool = talk.drawing.tool;
    let draws = matches!(tool, Tool::Pencil | Tool::Spotlight);
    let position = talk.position(script);
    let label = match shown.line.as_ref().or(shown.task.as_ref()) {
        Some(line) => line.clone(),
        None => script.name(talk.spot),
    };
    let (onpointermove, onpointerleave) = match tool {
        Tool::Pointer => (
            Some(point(talk, link)),
            Some(link.reform(|_: PointerEvent| Msg::Talk(TalkMsg::Point(None)))),
        ),
        _ => (None, None),
    };
    let over = format!(
        "<svg class=\"kp-diagram\" viewBox=\"{}\">{}</svg>",
        keyproof::diagram::VIEW_BOX,
        audience::over(shown)
    );
    html! {
        <div class="talk-board" {onpointermove} {onpointerleave}>
            <Board id="talk-play" tongue={spoken().tag()} {label} position={shown.board.clone()} black_below={shown.black_below}
                moves={position.legal_moves().to_vec()} last={shown.last} check={shown.check} mate={shown.mate}
                marks={shown.marks.clone()} disabled={tool == Tool::Pointer} pencil={draws} stroke={talk.drawing.kind}
                on_move={link.reform(|mv| Msg::Talk(TalkMsg::Play(mv)))} on_mark={link.reform(|mark| Msg::Talk(TalkMsg::Mark(mark)))} />
            <div class="talk-over" aria-hidden="true"><Drawing svg={over} /></div>
        </div>
    }
}

/// Follows the mouse or a finger over the board.
fn point(talk: &Talk, link: &Link) -> Callback<PointerEvent> {
    /// What is nearer is the same place, in squares.
    const NEAR: f32 = 0.08;
    let was = talk.drawing.pointer;
    let link = link.clone();
    Callback::from(move |event: PointerEvent| {
        let around = event
            .current_target()
            .map(|t| t.unchecked_into::<Element>());
        let grid = around.and_then(|around| around.query_selector(".kp-grid").ok().flatten());
        let Some(grid) = grid else { return };
        let area = grid.get_bounding_client_rect();
        let place =
            |at: i32, from: f64, size: f64| ((f64::from(at) - from) * 8.0 / size.max(1.0)) as f32;
        let at = (
            place(event.client_x(), area.left(), area.width()),
            place(event.client_y(), area.top(), area.height()),
        );
        let on = |x: f32| (0.0..=8.0).contains(&x);
        let same = |(x, y): (f32, f32)| (x - at.0).abs() + (y - at.1).abs() < NEAR;
        if on(at.0) && on(at.1) && !was.is_some_and(same) {
            link.emit(Msg::Talk(TalkMsg::Point(Some(at))));
        }
    })
}

/// Below the board: the way through the talk, and what is drawn with.
fn below(talk: &Talk, script: &Script, link: &Link) -> Html {
    let aside = talk.aside().is_some();
    let next = match (aside, script.beside(talk.spot, true)) {
        (true, _) => tr("back to the talk").to_owned(),
        (false, Some(next)) => script.name(next),
        (false, None) => tr("the end").to_owned(),
    };
    html! {
        <>
            <div class="row talk-way" role="group" aria-label={tr("Through the talk")}>
                <button type="button" aria-label={tr("Back")} title={tr("Back")} onclick={send(link, TalkMsg::Step(false))}>{ "\u{2190}" }</button>
                <button type="button" class="main talk-on" onclick={send(link, TalkMsg::Step(true))}>{ say!("On: {step}", step = next) }{ " \u{2192}" }</button>
                { press(link, tr("To the next question"), TalkMsg::NextQuestion) }
                { switch(link, talk, tr("What if"), Switch::WhatIf) }
                if aside {
                    { press(link, tr("Back to the talk"), TalkMsg::Return) }
                }
            </div>
            { tools(talk, link) }
        </>
    }
}

fn tools(talk: &Talk, link: &Link) -> Html {
    let drawing = &talk.drawing;
    let tool = |label: &str, tool| pressed(link, label, drawing.tool == tool, TalkMsg::Tool(tool));
    let kinds = [
        (LineKind::Answer, tr("solid")),
        (LineKind::Try, tr("dashed")),
        (LineKind::Threat, tr("dotted")),
    ];
    let tones = [
        (Tone::Accent, tr("in colour")),
        (Tone::Ink, tr("in ink")),
        (Tone::Faint, tr("in grey")),
    ];
    html! {
        <div class="row talk-tools" role="group" aria-label={tr("On the board")}>
            { tool(tr("Pencil"), Tool::Pencil) }
            { tool(tr("Spotlight"), Tool::Spotlight) }
            { tool(tr("Pointer"), Tool::Pointer) }
            { press(link, tr("Wipe"), TalkMsg::Wipe) }
            { switch(link, talk, tr("Turn the board"), Switch::Turned) }
            if drawing.tool == Tool::Pencil {
                <span class="row">
                    { for kinds.map(|(kind, word)| pressed(link, word, drawing.kind == kind, TalkMsg::Kind(kind))) }
                </span>
                <span class="row">
                    { for tones.map(|(tone, word)| pressed(link, word, drawing.tone == tone, TalkMsg::Tone(tone))) }
                </span>
            }
        </div>
    }
}

/// The speaker's leaf.
fn beside(talk: &Talk, script: &Script, shown: &Shown, link: &Link) -> Html {
    let question = script.question(talk.spot.at);
    html! {
        <div class="talk-recto">
            { here(talk, script, shown, link) }
            if let Some(question) = &question {
                { suggestions(talk, script, link) }
                { answer(talk, question, link) }
                { ready(talk, script, question, link) }
            }
            { side_lines(talk, script, link) }
            { times(talk, link) }
            { keyboard() }
        </div>
    }
}

/// Where the talk is, and the speaker's own words there.
fn here(talk: &Talk, script: &Script, shown: &Shown, link: &Link) -> Html {
    let notes = script.notes(talk.spot);
    html! {
        <section class="talk-here" aria-labelledby="talk-here">
            <h2 id="talk-here">{ script.name(talk.spot) }</h2>
            if let Some(task) = &shown.task {
                <p class="talk-task">{ task }</p>
            }
            { for shown.hints.iter().map(|hint| html! { <p class="talk-hint">{ hint }</p> }) }
            if let Some((time, up)) = &shown.clock {
                <p class="row">
                    <b class={classes!("talk-clock", up.then_some("up"))} role="timer">{ time }</b>
                    { pressed(link, tr("Clock"), talk.clock.runs(), TalkMsg::Clock) }
                </p>
            }
            <div role="status">
                if let Some(said) = &shown.said {
                    <p class={classes!("talk-said", verdict_class(said.verdict))}>{ sign(said.verdict) }{ &said.text }{ resting_on(said.proof.clone()) }</p>
                    { for said.words.iter().map(|words| html! { <p>{ words }</p> }) }
                } else if let Some((name, sentence)) = &shown.reason {
                    <p><b>{ name }</b>{ " " }{ sentence }</p>
                }
            </div>
            { for notes.iter().map(|words| html! { <p class="talk-note">{ words }</p> }) }
        </section>
    }
}

fn verdict_class(verdict: Option<Verdict>) -> Option<&'static str> {
    match verdict? {
        Verdict::Right => Some("right"),
        Verdict::Wrong => Some("wrong"),
        Verdict::Between | Verdict::NotJudged => None,
    }
}

fn sign(verdict: Option<Verdict>) -> &'static str {
    match verdict {
        Some(Verdict::Right) => "\u{2713} ",
        Some(Verdict::Wrong) => "\u{2717} ",
        _ => "",
    }
}

/// What the audience suggests.
fn suggestions(talk: &Talk, script: &Script, link: &Link) -> Html {
    let Some(turn) = script.turn(talk.spot) else {
        return html! {};
    };
    let row = |(place, suggested): (usize, &desk::talk::Suggestion)| {
        let mv = moves::read_uci(&turn.position, &suggested.uci)?;
        let san = lettered(&moves::san(&turn.position, mv));
        let verdict = suggested.verdict;
        let [less, more] = [
            say!("One less for {move}", move = san.clone()),
            say!("One more for {move}", move = san.clone()),
        ];
        Some(html! {
            <li key={suggested.uci.clone()} class={verdict_class(verdict)}>
                <b>{ sign(verdict) }{ &san }</b>
                <button type="button" aria-label={less.clone()} title={less} onclick={send(link, TalkMsg::Count(place, false))}>{ "\u{2212}" }</button>
                <span class="talk-count">{ suggested.count }</span>
                <button type="button" class="talk-more" aria-label={more.clone()} title={more} onclick={send(link, TalkMsg::Count(place, true))}>{ "+" }</button>
                { press(link, tr("Show"), TalkMsg::Judge(place)) }
            </li>
        })
    };
    let on_move = link.reform(|mv: Move| Msg::Talk(TalkMsg::Suggest(mv)));
    html! {
        <section aria-labelledby="talk-suggested">
            <h2 id="talk-suggested">{ tr("What the audience suggests") }</h2>
            <MoveInput id="talk-move" label={tr("Type a move")} tongue={spoken().tag()} position={Rc::new(turn.position.clone())} {on_move} />
            <ul class="talk-suggested">{ for talk.suggested().iter().enumerate().filter_map(row) }</ul>
            <p class="row">
                { switch(link, talk, tr("Only count"), Switch::Collects) }
                { switch(link, talk, tr("Show the counts"), Switch::Counts) }
            </p>
        </section>
    }
}

fn answer(talk: &Talk, question: &Question, link: &Link) -> Html {
    let to = Spot {
        at: talk.spot.at,
        part: Part::Answer(1),
    };
    html! {
        <section aria-labelledby="talk-answer">
            <h2 id="talk-answer">{ tr("The answer") }</h2>
            <p class="row"><b>{ question.answer_words() }</b>
                if talk.spot.part.asks() {
                    { press(link, tr("Show"), TalkMsg::Go(to)) }
                }
            </p>
        </section>
    }
}

/// What is ready to be shown at a question.
fn ready(talk: &Talk, script: &Script, question: &Question, link: &Link) -> Html {
    let at = talk.spot.at;
    let Some(told) = question.told else {
        return html! { <p class="running">{ tr("Finding out why \u{2026}") }</p> };
    };
    let line = |sentence: &str, proof: Option<&Proof>, ready| {
        let text = html! { <>{ sentence }{ resting_on(proof.map(Proof::words)) }</> };
        item(link, text, TalkMsg::Show(ready))
    };
    let tempting = script.tempting(at);
    let (before, after) = (&told.before.threats, &told.after.threats);
    let threats = || {
        let before = before
            .iter()
            .enumerate()
            .map(|(n, threat)| (threat, Ready::Before(n)));
        let after = after
            .iter()
            .enumerate()
            .map(|(n, threat)| (threat, Ready::After(n)));
        before.chain(after)
    };
    html! {
        <>
            if !tempting.is_empty() {
                <section><h2>{ tr("Wrong moves that tempt") }</h2>
                    <ul class="talk-ready">{ for tempting.iter().enumerate().map(|(n, (_, why))| line(why.sentence, why.proof, Ready::Tempting(n))) }</ul>
                </section>
            }
            if threats().next().is_some() {
                <section><h2>{ plural!(threats().count(), "The threat", "The threats") }</h2>
                    <ul class="talk-ready">{ for threats().map(|(threat, ready)| line(&threat.sentence, threat.proof.as_ref(), ready)) }</ul>
                </section>
            }
            if !told.whys.is_empty() {
                <section><h2>{ tr("Why") }</h2>
                    <ul class="talk-ready">{ for told.whys.iter().enumerate().map(|(n, why)| {
                        item(link, format!("{}: {}", why.title, why.sentence).into(), TalkMsg::Go(Spot { at, part: Part::Why(n) }))
                    }) }</ul>
                </section>
            }
        </>
    }
}

/// What a sentence rests on, behind it, for the speaker alone.
fn resting_on(proof: Option<String>) -> Html {
    let Some(proof) = proof else {
        return html! {};
    };
    html! { <>{ " " }<span class="proof">{ format!("({proof})") }</span></> }
}

fn item(link: &Link, text: Html, msg: TalkMsg) -> Html {
    html! {
        <li><button type="button" onclick={send(link, msg)}>{ text }</button></li>
    }
}

fn side_lines(talk: &Talk, script: &Script, link: &Link) -> Html {
    let lines = script.side_lines(talk.spot.at);
    if lines.is_empty() || talk.spot.part != Part::Game {
        return html! {};
    }
    let row = |(n, (node, line)): (usize, &(keyproof::draft::NodeId, Vec<Move>))| {
        let from = script.model.position(*node)?;
        Some(item(
            link,
            numbered(from, line).into(),
            TalkMsg::Show(Ready::Side(n)),
        ))
    };
    html! {
        <section><h2>{ tr("Side lines") }</h2>
            <ul class="talk-ready">{ for lines.iter().enumerate().filter_map(row) }</ul>
        </section>
    }
}

/// Seconds that may be given for a question.
const LIMITS: [u32; 6] = [15, 30, 60, 120, 180, 300];

/// Clock, margin and the moments of the recording.
fn times(talk: &Talk, link: &Link) -> Html {
    let limit = talk.clock.limit;
    let word = |seconds: u32| match seconds {
        ..60 => say!("{n} seconds", n = seconds.to_string()),
        _ => plural!((seconds / 60) as usize, "one minute", "{n} minutes"),
    };
    let margins = [
        (Margin::Paper, "paper", tr("as the paper")),
        (Margin::Black, "black", tr("black")),
        (Margin::Green, "green", tr("green")),
    ];
    let on_limit =
        link.reform(|event: Event| Msg::Talk(TalkMsg::Limit(chosen(&event).parse().ok())));
    let on_margin = link.reform(move |event: Event| {
        let name = chosen(&event);
        let found = margins.iter().find(|(_, own, _)| *own == name);
        Msg::Talk(TalkMsg::Margin(
            found.map_or(Margin::Paper, |(margin, ..)| *margin),
        ))
    });
    html! {
        <section aria-labelledby="talk-times">
            <h2 id="talk-times">{ tr("Time and recording") }</h2>
            <p class="row">
                <label for="talk-limit">{ tr("Time to think") }</label>
                <select id="talk-limit" onchange={on_limit}>
                    <option value="" selected={limit.is_none()}>{ tr("counted up") }</option>
                    { for LIMITS.map(|seconds| html! {
                        <option value={seconds.to_string()} selected={limit == Some(seconds)}>{ word(seconds) }</option>
                    }) }
                </select>
                <label for="talk-margin">{ tr("Margin") }</label>
                <select id="talk-margin" onchange={on_margin}>
                    { for margins.map(|(margin, own, word)| html! {
                        <option value={own} selected={talk.margin == margin}>{ word }</option>
                    }) }
                </select>
            </p>
            <pre class="talk-moments">{ talk.clock.chapters() }</pre>
            <p class="row">
                { press(link, tr("The recording begins now"), TalkMsg::CountFromNow) }
                { press(link, tr("Note this moment"), TalkMsg::Note) }
                { press(link, tr("Copy the moments"), TalkMsg::CopyMoments) }
                { press(link, tr("Save the moments"), TalkMsg::SaveMoments) }
            </p>
        </section>
    }
}

fn keyboard() -> Html {
    html! {
        <details class="talk-keys">
            <summary>{ tr("Keyboard") }</summary>
            <dl>
                { for remote::KEYS.iter().map(|key| html! { <><dt>{ key.names() }</dt><dd>{ key.words() }</dd></> }) }
            </dl>
        </details>
    }
}
