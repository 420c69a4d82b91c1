//! The proof, to be walked: what is proved of every move of the position on
//! the board, and the way one came.

use keyproof::draft::NodeId;
use keyproof::tongue::{say, spoken, tr};
use keyproof_board::Board;
use shakmaty::{Color, Position};
use yew::prelude::*;

use super::board::{king_in_check, move_words};
use super::{Link, button, guide};
use crate::dom;
use desk::desk::Desk;
use desk::message::{BoardMsg, CheckMsg, EditMsg, Msg, Part};
use desk::proof::{Branch, Page, State, numbered};
use desk::view_model::ViewModel;
use desk::work::Sheet;
use keyproof::check::thousands;

pub fn view(desk: &Desk, sheet: &Sheet, model: &ViewModel, link: &Link) -> Html {
    if !desk.has_proof() {
        return html! {};
    }
    let open = desk.proof_open();
    html! {
        <section class="proof" aria-labelledby="proof-head">
            <div class="headed">
                <h2><button type="button" id="proof-head" aria-expanded={open.to_string()} aria-controls="proof-body"
                    onclick={link.reform(move |_| Msg::Check(CheckMsg::Proof(!open)))}>{ tr("The proof") }</button></h2>
                { guide::about(link, Part::Proof, tr("The proof")) }
            </div>
            <div id="proof-body" hidden={!open}>
                if open {
                    { body(desk, sheet, model, link) }
                }
            </div>
        </section>
    }
}

fn body(desk: &Desk, sheet: &Sheet, model: &ViewModel, link: &Link) -> Html {
    let Some(place) = desk.place() else {
        return html! { <p>{ tr("No legal position is on the board here.") }</p> };
    };
    let page = place.page(&model.known);
    let black_below = (model.solver() == Color::Black && !model.shared()) != desk.turned();
    html! {
        <>
            { trail(desk, sheet, model, link) }
            <div class="proof-board">
                <Board id="proof" tongue={spoken().tag()} label={tr("The position on the board")} position={place.position.board().clone()} {black_below}
                    last={last(desk, model)} check={king_in_check(place.position)} mate={place.position.is_checkmate()} disabled=true />
            </div>
            <p class="proof-told" role="status">{ &page.head }</p>
            { running(desk, sheet, &page, link) }
            if !page.branches.is_empty() {
                <ul class="branches" aria-label={if place.solving { tr("The solver\u{2019}s moves") } else { tr("The replies") }}
                    onkeydown={Callback::from(dom::walk_branches)}>
                    { for page.branches.iter().enumerate().map(|(i, branch)| view_branch(branch, place.solving, i == 0, link)) }
                </ul>
            }
        </>
    }
}

fn last(desk: &Desk, model: &ViewModel) -> Option<shakmaty::Move> {
    let (from, moves, at) = desk.walked();
    match at {
        0 => model.mv(from),
        _ => moves.get(at - 1).copied(),
    }
}

/// The moves walked, each to go back to.
fn trail(desk: &Desk, sheet: &Sheet, model: &ViewModel, link: &Link) -> Html {
    let (from, moves, at) = desk.walked();
    let start = match from {
        NodeId::ROOT => tr("Position").to_owned(),
        node => move_words(model, sheet, node),
    };
    let names = desk.showing().into_iter().flat_map(|showing| {
        let positions = showing.positions.iter();
        positions
            .zip(&showing.moves)
            .map(|(p, &mv)| numbered(p, mv))
    });
    let listed = desk.walked_is_listed();
    html! {
        <>
            <nav class="trail" aria-label={tr("The moves walked")}>
                <ol>
                    { for std::iter::once(start).chain(names).enumerate().map(|(i, name)| {
                        let here = i == at;
                        html! {
                            <li key={i}><button type="button" id={here.then_some("proof-here")} aria-current={here.then_some("step")}
                                onclick={link.reform(move |_| Msg::Board(BoardMsg::ShowTo(i)))}>{ name }</button></li>
                        }
                    }) }
                </ol>
            </nav>
            if !moves.is_empty() {
                <p class="row">
                    if at > 0 {
                        { button(link, if listed { tr("Go to it in the solution") } else { tr("Add this line to the solution") }, Msg::Edit(EditMsg::AddWalked), false, "") }
                    }
                    { button(link, tr("Leave the line"), Msg::Board(BoardMsg::ShowEnd), false, tr("Esc")) }
                </p>
            }
        </>
    }
}

/// How far the proving of this position is.
fn running(desk: &Desk, sheet: &Sheet, page: &Page, link: &Link) -> Html {
    let all = page.branches.len();
    let known = page.decided + page.undecided;
    if page.decided == all || desk.bench().is_empty() {
        return html! {};
    }
    if !desk.is_proving() {
        let spent = thousands(desk.budget(sheet.id));
        return html! {
            <p class="running">
                <span>{ say!(
                    "Not everything here is decided within {n} positions a question.",
                    n = spent,
                ) }</span>
                { button(link, tr("Spend ten times as many"), Msg::Check(CheckMsg::SearchOn), false, "") }
            </p>
        };
    }
    if desk.bench().stopped() {
        return html! {
            <p class="running">
                <span>{ tr("Stopped.") }</span>
                { button(link, tr("Go on checking"), Msg::Check(CheckMsg::GoOn), false, "") }
            </p>
        };
    }
    let seen = thousands(desk.proof_at_work().1);
    html! {
        <p class="running">
            <progress max={all.to_string()} value={known.to_string()} aria-label={tr("Moves decided")}></progress>
            <span>{ say!("Proving: {n} positions", n = seen) }</span>
            { button(link, tr("Stop"), Msg::Check(CheckMsg::Stop), false, "") }
        </p>
    }
}

fn view_branch(branch: &Branch, solving: bool, first: bool, link: &Link) -> Html {
    let mv = branch.mv;
    let class = match (&branch.state, solving) {
        (State::Mates { .. }, true) => "holds",
        (State::Fails { .. }, true) => "fails",
        (State::Fails { .. }, false) => "refutes",
        (State::Mates { .. }, false) => "falls",
        (State::Undecided { .. } | State::Waiting, _) => "waiting",
    };
    html! {
        <li key={branch.text.clone()}>
            <button type="button" class={classes!("branch", class)} tabindex={if first { "0" } else { "-1" }}
                onclick={link.reform(move |_| Msg::Board(BoardMsg::Step(mv)))}>
                <b>{ &branch.text }</b>{ " " }<span>{ &branch.words }</span>
            </button>
        </li>
    }
}
