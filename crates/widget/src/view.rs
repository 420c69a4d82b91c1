//! The page as drawn: thin views of a [`Study`].

use std::cell::RefCell;
use std::rc::Rc;
use std::time::Duration;

use keyproof_board::hand::landing;
use keyproof_board::{Board, LineKind, Mark, MoveInput};
use shakmaty::{Color, Position};
use yew::prelude::*;

use crate::solution::{Line, Part};
use crate::study::{Event, Exercise, Standing, Study, Tone, Verdict, Work};
use crate::words;

/// The study to show; taken over by the [`App`].
#[derive(Properties, Clone)]
pub struct AppProps {
    pub study: Handover,
}

impl PartialEq for AppProps {
    fn eq(&self, _other: &AppProps) -> bool {
        true
    }
}

/// A study on its way into the [`App`].
#[derive(Clone)]
pub struct Handover(Rc<RefCell<Option<Study>>>);

impl From<Study> for Handover {
    fn from(study: Study) -> Handover {
        Handover(Rc::new(RefCell::new(Some(study))))
    }
}

/// The student's page.
pub struct App {
    study: Study,
    /// Which pause is awaited; ticks of earlier ones are late and dropped.
    awaited: u32,
}

pub enum Message {
    Event(Event),
    Tick(u32),
}

impl Component for App {
    type Message = Message;
    type Properties = AppProps;

    fn create(ctx: &Context<Self>) -> Self {
        let study = ctx.props().study.0.borrow_mut().take();
        App {
            study: study.unwrap_or_else(|| Study::read("", "")),
            awaited: 0,
        }
    }

    fn update(&mut self, ctx: &Context<Self>, message: Message) -> bool {
        match message {
            Message::Tick(of) if of != self.awaited => return false,
            Message::Tick(_) => self.study.update(Event::Tick),
            Message::Event(Event::Turn) => {
                self.study.update(Event::Turn);
                return true;
            }
            Message::Event(event) => self.study.update(event),
        }
        self.awaited = self.awaited.wrapping_add(1);
        if let Some(pause) = self.study.pause() {
            let awaited = self.awaited;
            ctx.link().send_future(async move {
                yew::platform::time::sleep(Duration::from_millis(pause.into())).await;
                Message::Tick(awaited)
            });
        }
        true
    }

    fn view(&self, ctx: &Context<Self>) -> Html {
        let Some(exercise) = self.study.current() else {
            return html! {
                <p class="kp-notice" role="alert">{ "This file holds no puzzle." }</p>
            };
        };
        html! {
            <>
                if self.study.puzzles.len() > 1 {
                    { self.view_row(ctx) }
                }
                <article class="kp-puzzle" key={self.study.at}>
                    { view_head(exercise) }
                    {
                        match &exercise.work {
                            Ok(work) => self.view_work(ctx, exercise, work),
                            Err(fault) => html! { <p class="kp-notice" role="alert">{ fault }</p> },
                        }
                    }
                </article>
            </>
        }
    }
}

impl App {
    fn send(&self, ctx: &Context<Self>, event: Event) -> Callback<MouseEvent> {
        ctx.link().callback(move |_| Message::Event(event.clone()))
    }

    fn view_row(&self, ctx: &Context<Self>) -> Html {
        let at = self.study.at;
        let count = self.study.puzzles.len();
        let one = |(index, exercise): (usize, &Exercise)| {
            let (mark, state) = match exercise.standing() {
                Standing::Untouched => ("", ""),
                Standing::Begun => ("…", ", begun"),
                Standing::Solved => ("✓", ", solved"),
                Standing::Shown => ("○", ", solution shown"),
                Standing::Faulty => ("–", ", faulty"),
            };
            let number = (index + 1).to_string();
            let label = format!("Puzzle {number}{state}: {}", exercise.title);
            html! {
                <li>
                    <button type="button" aria-label={label} aria-current={(index == at).then_some("true")}
                        onclick={self.send(ctx, Event::Open(index))}>
                        { number }<span class="kp-state">{ mark }</span>
                    </button>
                </li>
            }
        };
        html! {
            <nav class="kp-row" aria-label="Puzzles">
                <button type="button" disabled={at == 0}
                    onclick={self.send(ctx, Event::Open(at.saturating_sub(1)))}>{ "Previous" }</button>
                <ol>{ for self.study.puzzles.iter().enumerate().map(one) }</ol>
                <button type="button" disabled={at + 1 >= count} onclick={self.send(ctx, Event::Open(at + 1))}>{ "Next" }</button>
            </nav>
        }
    }

    fn view_work(&self, ctx: &Context<Self>, exercise: &Exercise, work: &Work) -> Html {
        let scene = work.scene();
        let side = words::side(scene.position.turn());
        let label = if work.solved() {
            String::from("Position, solved")
        } else {
            format!("Position, {side} to move")
        };
        let marks = match scene
            .points_out
            .and_then(|mv| Some((mv.from()?, landing(mv))))
        {
            Some((from, to)) => vec![Mark::Line {
                from,
                to,
                kind: LineKind::Answer,
            }],
            None => vec![],
        };
        let on_move = ctx.link().callback(|mv| Message::Event(Event::Play(mv)));
        let (shown, hints) = work.hints();
        let (turn, length) = work.turn();
        let (answered, asked) = work.progress();
        let language = exercise.language.clone();
        html! {
            <>
                <div class="kp-place">
                    <Board id="kp" {label} position={scene.position.board().clone()} black_below={work.black_below()}
                        moves={work.moves()} last={scene.last} check={scene.check()} {marks} on_move={on_move.clone()} />
                    <p class="kp-turn">
                        <span class={if scene.position.turn() == Color::White { "kp-white" } else { "kp-black" }} />
                        if work.solved() {
                            { "Solved" }
                        } else {
                            { format!("{side} to move") }
                        }
                        if length > 1 && !work.solved() {
                            <span>{ format!("Move {turn} of {length}") }</span>
                        }
                        if asked > 1 && !work.solved() {
                            <span>{ format!("Defence {} of {asked}", (answered + 1).min(asked)) }</span>
                        }
                    </p>
                </div>
                <div class="kp-talk">
                    <div class="kp-verdict" role="status">
                        if let Some(verdict) = work.verdict() {
                            { view_verdict(verdict, language.clone()) }
                        }
                    </div>
                    if work.plays_out() {
                        <button type="button" class="kp-skip" onclick={self.send(ctx, Event::Skip)}>{ "Go on" }</button>
                    }
                    if !work.solved() {
                        <MoveInput id="kp" position={Rc::new(work.position().clone())} {on_move} />
                    }
                    <div class="kp-tools">
                        if hints > 0 && !work.solved() {
                            <button type="button" disabled={shown.len() == hints} onclick={self.send(ctx, Event::Hint)}>
                                { format!("Hint {} of {hints}", (shown.len() + 1).min(hints)) }
                            </button>
                        }
                        if work.solution().is_none() {
                            <button type="button" onclick={self.send(ctx, Event::Solution)}>{ "Show the solution" }</button>
                        }
                        <button type="button" onclick={self.send(ctx, Event::Turn)}>{ "Turn the board" }</button>
                        <button type="button" onclick={self.send(ctx, Event::Restart)}>{ "Start over" }</button>
                    </div>
                    if !shown.is_empty() {
                        <ol class="kp-hints" aria-label="Hints" lang={language.clone()} role="log">
                            { for shown.iter().map(|hint| html! { <li>{ hint }</li> }) }
                        </ol>
                    }
                    if let Some(lines) = work.solution() {
                        { view_solution(&lines, language) }
                    }
                </div>
            </>
        }
    }
}

fn view_head(exercise: &Exercise) -> Html {
    let language = exercise.language.clone();
    html! {
        <header class="kp-head" lang={language}>
            <h1>{ &exercise.title }</h1>
            if let Some(author) = &exercise.author {
                <p class="kp-author">{ author }</p>
            }
            if let Ok(work) = &exercise.work {
                <p class="kp-task">{ work.puzzle().task() }</p>
                { for work.puzzle().words().iter().map(|text| html! { <p class="kp-words">{ text }</p> }) }
            }
        </header>
    }
}

fn view_verdict(verdict: &Verdict, language: Option<String>) -> Html {
    let (class, mark) = match verdict.tone {
        Tone::Right => ("kp-right", "✓ "),
        Tone::Wrong => ("kp-wrong", "✗ "),
        Tone::Plain => ("kp-plain", ""),
    };
    html! {
        <div {class}>
            <p><span aria-hidden="true">{ mark }</span>{ &verdict.text }</p>
            { for verdict.words.iter().map(|text| html! { <p class="kp-words" lang={language.clone()}>{ text }</p> }) }
        </div>
    }
}

fn view_solution(lines: &[Line], language: Option<String>) -> Html {
    let part = |part: &Part| match part {
        Part::Move(text) => html! { <><b>{ text }</b>{ " " }</> },
        Part::Words(text) => {
            html! { <><span class="kp-words" lang={language.clone()}>{ text }</span>{ " " }</> }
        }
    };
    let line = |line: &Line| {
        let indent = format!("--depth:{}", line.depth.min(8));
        html! {
            <li class={line.tried.then_some("kp-tried")} style={indent}>{ for line.parts.iter().map(part) }</li>
        }
    };
    html! {
        <section class="kp-solution" aria-label="Solution">
            <h2>{ "Solution" }</h2>
            <ul>{ for lines.iter().map(line) }</ul>
        </section>
    }
}
