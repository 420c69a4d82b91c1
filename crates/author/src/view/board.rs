//! The board to play the solution in on, or to be shown a line on.

use keyproof::draft::NodeId;
use keyproof::marks;
use keyproof::notation::moves;
use keyproof::puzzle::Role;
use keyproof::tongue::{say, spoken, tr};
use keyproof_board::{Board, LineKind, Mark};
use shakmaty::{Chess, Position, Square};
use yew::prelude::*;

use super::{Link, button, guide, menu, picture};
use desk::book::Claim;
use desk::desk::{Desk, Showing};
use desk::message::{BoardMsg, EditMsg, GiveOutMsg, Msg, Part, TalkMsg, TreeStep};
use desk::setup::Setup;
use desk::view_model::ViewModel;
use desk::work::Sheet;

pub fn view(desk: &Desk, sheet: &Sheet, model: &ViewModel, link: &Link) -> Html {
    html! {
        <section class="leaf verso" aria-label={tr("The position")}>
            { drawn(desk, sheet, model, link) }
        </section>
    }
}

fn drawn(desk: &Desk, sheet: &Sheet, model: &ViewModel, link: &Link) -> Html {
    let black_below = desk.black_below(model);
    if let Some(showing) = desk.showing() {
        let glimpse = desk.glimpse().and_then(|node| model.position(node));
        return shown(desk, showing, glimpse, black_below, link);
    }
    let glimpse = desk.glimpse();
    let at = glimpse.unwrap_or(desk.work().at);
    let Some(position) = model.position(at) else {
        return out_of_reach(desk, sheet, model, at, black_below, link);
    };
    let pointed = desk.pointed();
    let away = pointed.is_some();
    let (node, marks) = pointed.unwrap_or_else(|| (at, desk.drawn(at)));
    let pencil = desk.pencil();
    let seen = model.position(node).unwrap_or(position);
    html! {
        <>
            <div class={classes!("board-room", away.then_some("showing"))}>
                <Board id="play" tongue={spoken().tag()} label={place_words(model, sheet, node)} position={seen.board().clone()}
                    {black_below} moves={position.legal_moves().to_vec()} last={model.mv(node)} check={king_in_check(seen)} mate={seen.is_checkmate()}
                    {marks} disabled={away || glimpse.is_some()} on_move={link.reform(|mv| Msg::Edit(EditMsg::Play(mv)))}
                    pencil={pencil.up} stroke={pencil.kind} on_mark={link.reform(|mark| Msg::Edit(EditMsg::Draw(mark)))} />
            </div>
            <div class="caption">
                <p class="to-move">{ turn_words(position) }</p>
                { question(model, sheet, at, link) }
                { drawing(desk, at, link) }
            </div>
            <div class="row walk" role="group" aria-label={tr("Walk through the solution")}>
                { step(link, "\u{21e4}", tr("To the start"), TreeStep::Start) }
                { step(link, "\u{2190}", tr("One move back"), TreeStep::Back) }
                { step(link, "\u{2192}", tr("One move on"), TreeStep::Forward) }
                { step(link, "\u{21e5}", tr("To the end of the line"), TreeStep::End) }
                { always(desk, link) }
            </div>
        </>
    }
}

/// What is in reach wherever one is: the student's page, and what is done with the
/// board.
fn always(desk: &Desk, link: &Link) -> Html {
    let pencil = desk.pencil().up;
    html! {
        <span class="always">
            <button type="button" id="preview-open" disabled={desk.preparing().is_some()} aria-label={tr("See it as a student")}
                onclick={link.reform(|_| Msg::GiveOut(GiveOutMsg::Preview))}>{ tr("As a student") }</button>
            { menu("board-menu", html! { tr("Board") }, None, html! {
                <>
                    { button(link, tr("Give a talk"), Msg::Talk(TalkMsg::Begin), false, "") }
                    { button(link, tr("Set up the position"), Msg::Board(BoardMsg::SetUp(true)), false, "") }
                    { button(link, tr("Turn the board"), Msg::Board(BoardMsg::TurnBoard), false, "") }
                    <span class="row">
                        <button type="button" aria-pressed={pencil.to_string()} title={tr("Shift+drag")}
                            onclick={link.reform(move |_| Msg::Board(BoardMsg::Pencil(!pencil)))}>{ tr("Pencil") }</button>
                        { guide::about(link, Part::Drawing, tr("Pencil")) }
                    </span>
                    { button(link, tr("Copy FEN"), Msg::GiveOut(GiveOutMsg::CopyFen), false, "") }
                    { picture::view(desk, link) }
                </>
            }) }
        </span>
    }
}

/// What stands drawn on the board, and while the pencil is up how it draws.
fn drawing(desk: &Desk, at: NodeId, link: &Link) -> Html {
    let pencil = desk.pencil();
    let up = pencil.up;
    let told = marks::sentence(&desk.drawn(at));
    let strokes = [
        (LineKind::Answer, tr("solid")),
        (LineKind::Try, tr("dashed")),
        (LineKind::Threat, tr("dotted")),
    ];
    html! {
        <div class="drawing">
            if up || told.is_some() {
                <div class="row">
                    if up {
                        <span class="row" role="group" aria-label={tr("How marks are drawn")}>
                            { for strokes.map(|(kind, word)| html! {
                                <button type="button" aria-pressed={(pencil.kind == kind).to_string()}
                                    onclick={link.reform(move |_| Msg::Board(BoardMsg::Stroke(kind)))}>{ word }</button>
                            }) }
                        </span>
                    }
                    if told.is_some() {
                        { button(link, tr("Wipe"), Msg::Edit(EditMsg::Wipe), false, "") }
                    }
                    if up {
                        <button type="button" aria-pressed="true" onclick={link.reform(|_| Msg::Board(BoardMsg::Pencil(false)))}>{ tr("Pencil") }</button>
                    }
                </div>
            }
            if up {
                <p class="hint">{ tr("Drag from square to square for an arrow, press a square for a ring; the same again takes it away. On the board\u{2019}s squares, Enter begins and ends a mark. With Shift all this works without the pencil.") }</p>
            }
            <p class="drawn" role="status">{ told.unwrap_or_default() }</p>
        </div>
    }
}

fn shown(
    desk: &Desk,
    showing: &Showing,
    glimpse: Option<&Chess>,
    black_below: bool,
    link: &Link,
) -> Html {
    let position = glimpse.unwrap_or(&showing.positions[showing.at]);
    let last = showing.at.checked_sub(1).map(|i| showing.moves[i]);
    let last = last.filter(|_| glimpse.is_none());
    let marks: Vec<Mark> = match glimpse {
        Some(_) => vec![],
        None => showing.marks(),
    };
    let start = &showing.positions[0];
    let line = moves::line(start, &showing.moves, start.fullmoves().get());
    let at = showing.at;
    html! {
        <>
            <div class="board-room showing">
                <Board id="play" tongue={spoken().tag()} label={say!(
                    "The line {line}, after {at} of its moves",
                    line = line,
                    at = at.to_string(),
                )} position={position.board().clone()}
                    {black_below} {last} check={king_in_check(position)} mate={position.is_checkmate()} {marks} disabled=true />
            </div>
            <div class="caption">
                <p class="shown-line" role="status">{ tr("Only shown:") }{ " " }<b>{ line }</b></p>
                <button type="button" id="show-end" onclick={link.reform(|_| Msg::Board(BoardMsg::ShowEnd))}>{ tr("Back to the solution") }</button>
            </div>
            <div class="row walk" role="group" aria-label={tr("Walk through the line shown")}>
                { show_step(link, "\u{21e4}", tr("To the start"), 0, at == 0) }
                { show_step(link, "\u{2190}", tr("One move back"), at.saturating_sub(1), at == 0) }
                { show_step(link, "\u{2192}", tr("One move on"), at + 1, at == showing.moves.len()) }
                { show_step(link, "\u{21e5}", tr("To the end of the line"), showing.moves.len(), at == showing.moves.len()) }
                { always(desk, link) }
            </div>
        </>
    }
}

fn out_of_reach(
    desk: &Desk,
    sheet: &Sheet,
    model: &ViewModel,
    at: NodeId,
    black_below: bool,
    link: &Link,
) -> Html {
    let board = match model.resolved.start() {
        Ok(start) => start.board().clone(),
        Err(_) => Setup::of(sheet.draft.start_fen()).position.board,
    };
    let why = match model.resolved.start() {
        Ok(_) => tr("This move cannot be reached: a move before it, or it itself, is not legal."),
        Err(_) => tr("This position is not legal yet."),
    };
    html! {
        <>
            <div class="board-room">
                <Board id="play" tongue={spoken().tag()} label={place_words(model, sheet, at)} position={board} {black_below} disabled=true />
            </div>
            <div class="caption"><p class="to-move">{ why }</p></div>
            <div class="row walk">
                { button(link, tr("Set up the position"), Msg::Board(BoardMsg::SetUp(true)), false, "") }
                { button(link, tr("To the start"), Msg::Board(BoardMsg::Walk(TreeStep::Start)), at == NodeId::ROOT, "") }
                { always(desk, link) }
            </div>
        </>
    }
}

/// Asks what a second move is, right where it was played.
fn question(model: &ViewModel, sheet: &Sheet, at: NodeId, link: &Link) -> Html {
    if model.role(at) != Some(Role::Unclear) {
        return html! {};
    }
    let name = move_words(model, sheet, at);
    html! {
        <div class="question" role="group" aria-labelledby="question-text">
            <p id="question-text">{ say!("What is {move}?", move = name) }</p>
            <span class="row">
                <button type="button" onclick={link.reform(move |_| Msg::Edit(EditMsg::Claim(at, Claim::Accepted)))}>{ tr("Also accepted") }</button>
                <button type="button" onclick={link.reform(move |_| Msg::Edit(EditMsg::Claim(at, Claim::Fails)))}>{ tr("A try: it fails") }</button>
            </span>
        </div>
    }
}

fn step(link: &Link, face: &'static str, label: &'static str, way: TreeStep) -> Html {
    html! {
        <button type="button" aria-label={label} title={label} onclick={link.reform(move |_| Msg::Board(BoardMsg::Walk(way)))}>{ face }</button>
    }
}

fn show_step(
    link: &Link,
    face: &'static str,
    label: &'static str,
    to: usize,
    disabled: bool,
) -> Html {
    html! {
        <button type="button" aria-label={label} title={label} {disabled} onclick={link.reform(move |_| Msg::Board(BoardMsg::ShowTo(to)))}>{ face }</button>
    }
}

pub fn king_in_check(position: &Chess) -> Option<Square> {
    position
        .is_check()
        .then(|| position.board().king_of(position.turn()))
        .flatten()
}

fn turn_words(position: &Chess) -> &'static str {
    let (white, black) = if position.is_checkmate() {
        (tr("White is mated"), tr("Black is mated"))
    } else if position.is_stalemate() {
        (tr("White is stalemated"), tr("Black is stalemated"))
    } else {
        (tr("White to move"), tr("Black to move"))
    };
    position.turn().fold_wb(white, black)
}

/// The move that leads to a node, with its number.
pub fn move_words(model: &ViewModel, sheet: &Sheet, at: NodeId) -> String {
    let parent = sheet.draft.node(at).map(|n| n.parent);
    match (parent.and_then(|p| model.position(p)), model.mv(at)) {
        (Some(before), Some(mv)) => moves::line(before, &[mv], before.fullmoves().get()),
        _ => sheet
            .draft
            .node(at)
            .map(|n| n.text.clone())
            .unwrap_or_default(),
    }
}

fn place_words(model: &ViewModel, sheet: &Sheet, at: NodeId) -> String {
    if at == NodeId::ROOT {
        tr("The position to be solved").into()
    } else {
        say!("The position after {move}", move = move_words(model, sheet, at))
    }
}
