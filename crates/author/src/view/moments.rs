//! The moments of a game: what the lesson asks, and what was found worth
//! asking.

use keyproof::check::{Evidence, Soundness, thousands};
use keyproof::draft::NodeId;
use keyproof::explain::Proof;
use keyproof::lesson::{Moment, Place};
use keyproof::moments::{self, Side, Tempting};
use keyproof::puzzle::{MOST_MOVES, Stipulation};
use keyproof::tongue::{decimal, lettered, plural, say, tr};
use yew::prelude::*;

use super::contents::verdict_class;
use super::fields::{aims, aims_offered, option};
use super::{Link, button, chosen, guide, main, typed};
use desk::desk::Desk;
use desk::lesson::asks_nothing;
use desk::message::{BoardMsg, EditMsg, GameMsg, Msg, Part};
use desk::seek::{Effort, Seek};
use desk::view_model::ViewModel;
use desk::work::Sheet;

pub fn view(desk: &Desk, sheet: &Sheet, model: &ViewModel, link: &Link) -> Html {
    if model.lesson.is_none() && !asks_nothing(&sheet.draft) {
        return html! {};
    }
    html! {
        <section class="moments" aria-labelledby="moments-head">
            { guide::headed(link, Part::Moments, "moments-head", tr("Moments")) }
            { asked(desk, model, link) }
            <h3>{ tr("Worth asking") }</h3>
            { seeking(desk, link) }
            if let Some(seek) = desk.seeking() {
                { found(desk, model, seek, link) }
                if !seek.running && seek.open.len() <= desk.left_out() {
                    { effort(desk, Some(seek), link) }
                }
            }
            { clock(model, link) }
            { here(desk, model, link) }
        </section>
    }
}

/// What is asked at a moment, in words.
pub fn task(model: &ViewModel, node: NodeId) -> Option<String> {
    let asked = model.lesson.as_ref()?.at(node)?;
    Some(match asked.puzzle() {
        Some(puzzle) => puzzle.task(),
        None => asked.moment.stipulation.to_string(),
    })
}

fn asked(desk: &Desk, model: &ViewModel, link: &Link) -> Html {
    let asked = model
        .lesson
        .as_ref()
        .map_or(&[][..], |lesson| &lesson.asked);
    if asked.is_empty() {
        return html! {};
    }
    let checking = desk.work().open.is_some_and(|id| desk.is_checking(id));
    html! {
        <>
            <h3>{ tr("The lesson asks") }</h3>
            <ol class="asked">
                { for asked.iter().map(|asked| {
                    let node = asked.moment.node;
                    let verdict = asked.report.verdict;
                    let here = desk.work().at == node;
                    let found = desk.seeking().and_then(|seek| seek.found.iter().find(|found| found.node == node));
                    let found = found.map(|found| found.ply).filter(|&ply| desk.regarded() != Some(ply));
                    let go = move |_| found.map_or(Msg::Board(BoardMsg::Go(node)), |ply| Msg::Game(GameMsg::Regard(ply)));
                    html! {
                        <li key={node.0} class={classes!(here.then_some("here"))}>
                            <button type="button" class="entry" aria-current={here.then_some("step")} onclick={link.reform(go)}>
                                <b>{ at(asked.moment.place) }</b>{ " " }{ task(model, node).unwrap_or_default() }
                            </button>
                            <span class={classes!("entry-verdict", verdict_class(verdict))}>{ word(verdict, checking) }</span>
                            <button type="button" aria-label={say!(
                                "Do not ask at {move}",
                                move = at(asked.moment.place),
                            )}
                                onclick={link.reform(move |_| Msg::Game(GameMsg::AskNot(node)))}>{ tr("Do not ask here") }</button>
                        </li>
                    }
                }) }
            </ol>
        </>
    }
}

/// The way to the moments of a lesson, to which task and hints belong.
pub fn ways(model: &ViewModel, link: &Link) -> Html {
    let asked = model.lesson.iter().flat_map(|lesson| &lesson.asked);
    html! {
        <>
            <p>{ tr("Each question has its own task and hints. Go to one:") }</p>
            <ul class="to-moments">
                { for asked.map(|asked| {
                    let node = asked.moment.node;
                    let task = task(model, node).unwrap_or_default();
                    html! {
                        <li><button type="button" class="entry" onclick={link.reform(move |_| Msg::Board(BoardMsg::Go(node)))}>
                            <b>{ at(asked.moment.place) }</b>{ " " }{ task }
                        </button></li>
                    }
                }) }
            </ul>
        </>
    }
}

/// What the lesson asks where the author stands.
fn here(desk: &Desk, model: &ViewModel, link: &Link) -> Html {
    let node = desk.work().at;
    let faulty = model
        .lesson
        .as_ref()
        .is_some_and(|lesson| !lesson.faults.is_empty());
    let Some(place) = desk.place_here().filter(|_| !faulty) else {
        return html! { <p class="next-step">{ tr("The student can be asked at any move of the game itself.") }</p> };
    };
    let set = model
        .lesson
        .as_ref()
        .and_then(|lesson| lesson.at(node))
        .map(|asked| asked.moment);
    let forced = set.and_then(|set| set.stipulation.forced());
    let count = forced.map_or(2, |(_, n)| n);
    let moment = move |stipulation: Stipulation, turns: u8| Moment {
        place,
        node,
        stipulation,
        turns: stipulation.forced().map_or(turns, |(_, n)| n),
    };
    let onchange = link.reform(move |event: Event| {
        let chosen = chosen(&event);
        let aim = aims_offered().find(|aim| aim.sign() == chosen);
        let stipulation = match aim {
            Some(aim) => Some(Stipulation::Forced(aim, count)),
            None => Stipulation::read(&chosen),
        };
        match stipulation {
            Some(stipulation) => Msg::Game(GameMsg::AskHere(moment(
                stipulation,
                set.map_or(1, |set| set.turns),
            ))),
            None => Msg::Game(GameMsg::AskNot(node)),
        }
    });
    let on_number = {
        let link = link.clone();
        Callback::from(move |event: InputEvent| {
            let asked = set.and_then(|set| numbered(set, typed(&event).trim()));
            if let Some((stipulation, turns)) = asked {
                link.emit(Msg::Game(GameMsg::AskHere(moment(stipulation, turns))));
            }
        })
    };
    let is = |stipulation| set.is_some_and(|set| set.stipulation == stipulation);
    let shared = forced.is_some_and(|(aim, _)| aim.shared());
    let shown = match (forced, set) {
        (Some((aim, n)), _) => aim.count(n),
        (None, set) => set.map_or(1, |set| set.turns).to_string(),
    };
    html! {
        <p class="ask-here">
            <label for="ask-here">{ say!(
                "Ask {side} here, at move {n}:",
                side = tr(place.side.fold_wb("White", "Black")),
                n = place.number.to_string(),
            ) }</label>
            <select id="ask-here" {onchange}>
                { option("", tr("nothing"), set.is_none()) }
                { aims(forced.map(|(aim, _)| aim)) }
                { option("+", tr("a win"), is(Stipulation::Win)) }
                { option("=", tr("a draw"), is(Stipulation::Draw)) }
                { option("bm", tr("the best move"), is(Stipulation::Best)) }
            </select>
            if set.is_some() {
                <label class="kp-hidden" for="ask-moves">{ tr("Number of moves") }</label>
                if forced.is_none() { <span>{ tr("for") }</span> }
                <input id="ask-moves" type="number" min={if shared { "0.5" } else { "1" }} step={if shared { "0.5" } else { "1" }}
                    max={MOST_MOVES.to_string()} value={shown.clone()} oninput={on_number} onblur={link.reform(|_| Msg::Edit(EditMsg::FieldLeft))} />
                <span>{ if shown == "1" { tr("move") } else { tr("moves") } }</span>
            }
        </p>
    }
}

/// Where the clock of the game is worth a look, if its file has times.
fn clock(model: &ViewModel, link: &Link) -> Html {
    let timed = moments::timed(&model.resolved);
    if timed.is_empty() {
        return html! {};
    }
    html! {
        <>
            <h3>{ tr("By the clock") }</h3>
            <ul class="asked">
                { for timed.iter().map(|timed| {
                    let at = timed.at;
                    let mv = format!("{}{}{}", timed.number, dots(timed.side), lettered(&timed.san));
                    html! {
                        <li key={at.0}>
                            <button type="button" class="entry" onclick={link.reform(move |_| Msg::Board(BoardMsg::Go(at)))}>{ timed.sentence(&mv) }</button>
                        </li>
                    }
                }) }
            </ul>
        </>
    }
}

/// What is asked once another number of moves was typed: stipulation and turns.
fn numbered(set: Moment, typed: &str) -> Option<(Stipulation, u8)> {
    match set.stipulation.forced() {
        Some((aim, _)) => Some((Stipulation::read(&format!("{}{typed}", aim.sign()))?, 1)),
        None => {
            let turns = typed.parse().ok();
            let turns = turns.filter(|n| (1..=MOST_MOVES).contains(n))?;
            Some((set.stipulation, turns))
        }
    }
}

/// Whether moments are being looked for, and how far that is.
fn seeking(desk: &Desk, link: &Link) -> Html {
    if desk.bench().is_empty() {
        return html! {};
    }
    let Some(seek) = desk.seeking() else {
        return html! {
            <>
                <p class="row">
                    <button type="button" class={main(desk)} id="seek" onclick={link.reform(|_| Msg::Game(GameMsg::Seek))}>{ tr("Find the moments") }</button>
                    <span>{ tr("Every position of the game is looked at, for both sides.") }</span>
                </p>
                { effort(desk, None, link) }
            </>
        };
    };
    let (answered, asked) = seek.tally();
    let left_out = desk.left_out();
    if seek.running {
        let to_go = match seek.seconds_to_go(desk.bench().len()) {
            Some(seconds) => say!(
                "{n} of {of} questions, about {seconds} s to go",
                n = answered.to_string(),
                of = asked.to_string(),
                seconds = seconds.to_string(),
            ),
            None => say!(
                "{n} of {of} questions",
                n = answered.to_string(),
                of = asked.to_string(),
            ),
        };
        return html! {
            <p class="running">
                <progress max={asked.max(1).to_string()} value={answered.to_string()} aria-label={tr("Looked at")}></progress>
                <span>{ to_go }</span>
                { button(link, tr("Stop looking"), Msg::Game(GameMsg::SeekEnd { all: false }), false, "") }
            </p>
        };
    }
    if seek.open.len() > left_out {
        return html! {
            <p class="running">
                <span>{ say!(
                    "Stopped at {n} of {of} questions.",
                    n = answered.to_string(),
                    of = asked.to_string(),
                ) }</span>
                { button(link, tr("Go on looking"), Msg::Game(GameMsg::Seek), false, "") }
            </p>
        };
    }
    let count = match seek.found.len() {
        0 => tr("No moment of this game is worth asking about.").to_owned(),
        n => plural!(
            n,
            "One moment was found.",
            "{n} moments were found, the best first."
        ),
    };
    let out = match left_out {
        0 => String::new(),
        n => {
            let words = plural!(
                n,
                "{n} position could not be looked at.",
                "{n} positions could not be looked at.",
            );
            format!(" {words}")
        }
    };
    html! { <p role="status" class="sought">{ count }{ out }</p> }
}

/// How closely to look, and once more if that is not how it was done.
fn effort(desk: &Desk, done: Option<&Seek>, link: &Link) -> Html {
    let set = desk.effort();
    let names = [
        tr("quickly, a quarter of the usual work"),
        tr("as usual"),
        tr("thoroughly, four times the usual work"),
    ];
    let onchange = link.reform(|event: Event| {
        let chosen = chosen(&event);
        let place = chosen.parse::<usize>().ok();
        let effort = place.and_then(|place| Effort::ALL.get(place).copied());
        Msg::Game(GameMsg::Effort(effort.unwrap_or_default()))
    });
    let plan = set.plan();
    let cost = say!(
        "Up to {glance} positions of analysis at first, {look} where something shows.",
        glance = thousands(plan.glance),
        look = thousands(plan.look),
    );
    let again = done.is_some_and(|seek| *seek.plan() != plan);
    html! {
        <p class="row effort">
            <label for="effort">{ tr("How closely to look:") }</label>
            <select id="effort" {onchange}>
                { for Effort::ALL.into_iter().zip(names).enumerate().map(|(place, (effort, name))| html! {
                    <option value={place.to_string()} selected={effort == set}>{ name }</option>
                }) }
            </select>
            if again {
                { button(link, tr("Look again"), Msg::Game(GameMsg::SeekAnew), false, "") }
            }
            <span class="cost">{ cost }</span>
        </p>
    }
}

/// What was found and is not asked yet, and below the whole list the one that is looked
/// at, so that none is pushed out of sight by another.
fn found(desk: &Desk, model: &ViewModel, seek: &Seek, link: &Link) -> Html {
    let left = desk.worth_asking();
    let regarded = desk.regarded();
    let regarded = seek.found.iter().find(|found| regarded == Some(found.ply));
    html! {
        <>
            if left.is_empty() && !seek.running && !seek.found.is_empty() {
                <p>{ tr("The lesson asks at every one of them.") }</p>
            } else {
                <ol class="found">
                    { for left.into_iter().map(|found| {
                        let ply = found.ply;
                        let open = desk.regarded() == Some(ply);
                        html! {
                            <li key={ply} class={classes!(open.then_some("here"))}>
                                <button type="button" class="entry" aria-expanded={open.to_string()} aria-controls={open.then_some("moment-here")}
                                    onclick={link.reform(move |_| Msg::Game(GameMsg::Regard(ply)))}
                                    onpointerover={pointed(link, Some(ply))} onpointerout={pointed(link, None)}
                                    onfocus={link.reform(move |_| Msg::Game(GameMsg::Glimpse(Some(ply))))} onblur={link.reform(|_| Msg::Game(GameMsg::Glimpse(None)))}>
                                    <b>{ number(found) }</b>{ " " }{ found.task() }
                                    <span class="kind">{ found.kind().title() }</span>
                                </button>
                            </li>
                        }
                    }) }
                </ol>
            }
            if let Some(found) = regarded {
                <div class="moment" key={found.ply} aria-label={format!("{} {}", number(found), found.task())} role="group">
                    <p class="moment-head" id="moment-here"><b>{ number(found) }</b>{ " " }{ found.task() }</p>
                    { details(model, found, link) }
                </div>
            }
        </>
    }
}

/// A finger chooses at once, and points at nothing before.
fn pointed(link: &Link, ply: Option<usize>) -> Callback<PointerEvent> {
    let link = link.clone();
    Callback::from(move |event: PointerEvent| {
        if event.pointer_type() != "touch" {
            link.emit(Msg::Game(GameMsg::Glimpse(ply)));
        }
    })
}

fn details(model: &ViewModel, found: &moments::Moment, link: &Link) -> Html {
    let (ply, node) = (found.ply, found.node);
    let asked = model
        .lesson
        .as_ref()
        .is_some_and(|lesson| lesson.at(node).is_some());
    let others: Vec<&str> = found.kinds[1..].iter().map(|kind| kind.title()).collect();
    html! {
        <>
            <p class="row">
                if asked {
                    { button(link, tr("Do not ask here"), Msg::Game(GameMsg::AskNot(node)), false, "") }
                } else {
                    <button type="button" class="main" onclick={link.reform(move |_| Msg::Game(GameMsg::AskFound(ply)))}>{ tr("Ask here") }</button>
                }
                { button(link, tr("Make a puzzle"), Msg::Game(GameMsg::PuzzleOf(ply)), false, "") }
            </p>
            <dl>
                <dt>{ tr("Right") }</dt>
                { for found.accepted.iter().map(|accepted| html! {
                    <dd>{ number(found) }{ lettered(&accepted.named.san) }{ " " }{ shown(node, &accepted.line, &accepted.named.san, link) }</dd>
                }) }
                <dd class="grade">{ grade(&found.evidence) }</dd>
                if let Some(won) = &found.study.won {
                    <dd>{ rests_on(&won.sentence, Some(&won.proof)) }</dd>
                }
                <dt>{ tr("Played") }</dt>
                <dd>{ played(found) }</dd>
                if !found.study.tries.is_empty() {
                    <dt>{ tr("Tempting") }</dt>
                    { for found.study.tries.iter().map(|attempt| tempting(node, attempt, link)) }
                }
                if !found.study.threats.is_empty() {
                    <dt>{ tr("Threatened") }</dt>
                    { for found.study.threats.iter().map(|threat| html! { <dd>{ rests_on(&threat.sentence, threat.proof.as_ref()) }</dd> }) }
                }
                if let Some(why) = found.study.reasons.first() {
                    <dt>{ tr("Why") }</dt>
                    <dd>{ &why.sentence }</dd>
                }
                <dt>{ tr("How hard") }</dt>
                <dd>{ say!("{n} of 5", n = found.study.difficulty.level.to_string()) }</dd>
                if !others.is_empty() {
                    <dt>{ tr("Also") }</dt>
                    <dd>{ others.join("; ") }</dd>
                }
            </dl>
        </>
    }
}

/// A sentence, and quieter what it rests on.
fn rests_on(sentence: &str, proof: Option<&Proof>) -> Html {
    html! {
        <>
            { sentence }
            if let Some(proof) = proof {
                { " " }<span class="proof">{ format!("({})", proof.words()) }</span>
            }
        </>
    }
}

fn tempting(node: NodeId, attempt: &Tempting, link: &Link) -> Html {
    html! {
        <dd>{ rests_on(&attempt.sentence, attempt.proof.as_ref()) }{ " " }{ shown(node, &attempt.line, &attempt.named.san, link) }</dd>
    }
}

fn shown(node: NodeId, line: &[String], san: &str, link: &Link) -> Html {
    let line = line.to_vec();
    html! {
        <button type="button" aria-label={say!("Show {line} on the board", line = lettered(san))}
            onclick={link.reform(move |_| Msg::Board(BoardMsg::Show { node, line: line.clone() }))}>{ tr("Show") }</button>
    }
}

fn number(found: &moments::Moment) -> String {
    format!("{}{}", found.number, dots(found.turn))
}

fn dots(side: Side) -> &'static str {
    match side {
        Side::White => ".",
        Side::Black => "...",
    }
}

fn at(place: Place) -> String {
    format!("{}{}", place.number, place.side.fold_wb(".", "..."))
}

fn played(found: &moments::Moment) -> String {
    let played = &found.played;
    let mv = number(found) + &lettered(&played.named.san);
    match (played.right, played.cost) {
        (true, _) => say!("{move}, which is right", move = mv),
        (false, cost) if cost >= 1000 => say!(
            "{move}, at the cost of the mate or of more than ten pawns",
            move = mv,
        ),
        (false, cost) => say!(
            "{move}, at the cost of {n} pawns",
            move = mv,
            n = decimal(&format!("{:.2}", f64::from(cost) / 100.0)),
        ),
    }
}

fn grade(evidence: &Evidence) -> String {
    match evidence {
        Evidence::Proved => tr("proved").into(),
        Evidence::Drawn => tr("a draw by force, proved").into(),
        Evidence::Table => tr("by endgame table").into(),
        Evidence::Searched { depth, .. } => {
            say!("searched to depth {depth}", depth = depth.to_string())
        }
    }
}

fn word(verdict: Soundness, checking: bool) -> &'static str {
    match verdict {
        Soundness::Sound => tr("sound"),
        Soundness::Unsound => tr("unsound"),
        Soundness::Undecided if checking => tr("checking \u{2026}"),
        Soundness::Undecided => tr("undecided"),
    }
}
