//! Setting up the position.

use keyproof::tongue::{phrase, spoken, tr};
use keyproof_board::EditBoard;
use shakmaty::{CastlingSide, Color, Square};
use yew::prelude::*;

use super::{Link, button, chosen, guide, typed};
use desk::desk::Desk;
use desk::message::{BoardMsg, EditMsg, Msg, Part};
use desk::setup::{Setup, SetupChange};

pub fn view(desk: &Desk, setup: &Setup, link: &Link) -> Html {
    let faults = setup.faults();
    let change = |change: SetupChange| Msg::Edit(EditMsg::Setup(change));
    let on_put = link.reform(move |(square, piece)| change(SetupChange::Put(square, piece)));
    let on_carry = link.reform(move |(from, to)| change(SetupChange::Carry(from, to)));
    let on_text = link.reform(move |event: InputEvent| change(SetupChange::Text(typed(&event))));
    html! {
        <div class="spread setting-up">
            <section class="leaf verso" aria-label={tr("The position")}>
                <div class="board-room">
                    <EditBoard id="setup" tongue={spoken().tag()} label={tr("The position being set up")} position={setup.position.board.clone()}
                        black_below={desk.turned()} {on_put} {on_carry} />
                </div>
            </section>
            <section class="leaf recto setup" aria-labelledby="setup-head">
                <div class="setup-head">
                    { guide::headed(link, Part::Setup, "setup-head", tr("Set up the position")) }
                    <button type="button" class="main" disabled={!faults.is_empty()}
                        onclick={link.reform(|_| Msg::Board(BoardMsg::SetUp(false)))}>{ tr("Done: play the solution") }</button>
                </div>
                <div class="panel"><div class="flow">
                    <p class="next-step">{ tr("Choose a man and click its squares, or drag men to where they stand.") }</p>
                    <ul class="reasons" role="status" id="setup-faults">
                        { for faults.iter().map(|fault| html! { <li>{ fault }</li> }) }
                    </ul>
                    { turn(setup, link) }
                    { castling(setup, link) }
                    { en_passant(setup, link) }
                    { clocks(setup, link) }
                    <div class="row">
                        { button(link, tr("Clear the board"), Msg::Edit(EditMsg::Setup(SetupChange::Clear)), false, "") }
                        { button(link, tr("Initial position"), Msg::Edit(EditMsg::Setup(SetupChange::Initial)), false, "") }
                        { button(link, tr("Turn the board"), Msg::Board(BoardMsg::TurnBoard), false, "") }
                    </div>
                    { whole(setup, link) }
                    <div class="field">
                        <label for="fen">{ "FEN" }</label>
                        <input id="fen" type="text" data-puzzle-text="" spellcheck="false" autocomplete="off"
                            value={setup.text.clone()} oninput={on_text} onblur={link.reform(|_| Msg::Edit(EditMsg::FieldLeft))}
                            aria-describedby="setup-faults" aria-invalid={(!faults.is_empty()).to_string()} />
                    </div>
                </div></div>
            </section>
        </div>
    }
}

fn turn(setup: &Setup, link: &Link) -> Html {
    html! {
        <fieldset class="choice">
            <legend>{ tr("To move") }</legend>
            { for Color::ALL.into_iter().map(|color| {
                let id = format!("turn-{color}");
                html! {
                    <label for={id.clone()}>
                        <input type="radio" {id} name="turn" checked={setup.position.turn == color}
                            onchange={link.reform(move |_| Msg::Edit(EditMsg::Setup(SetupChange::Turn(color))))} />
                        { side(color) }
                    </label>
                }
            }) }
        </fieldset>
    }
}

fn castling(setup: &Setup, link: &Link) -> Html {
    html! {
        <fieldset class="choice castling">
            <legend>{ tr("May still castle") }</legend>
            { for Color::ALL.into_iter().flat_map(|color| [CastlingSide::KingSide, CastlingSide::QueenSide].map(|wing| (color, wing))).map(|(color, wing)| {
                let on = setup.castles(color, wing);
                let label = format!("{} {}", side(color), if wing == CastlingSide::KingSide { "O-O" } else { "O-O-O" });
                html! {
                    <label>
                        <input type="checkbox" checked={on} disabled={!setup.can_castle(color, wing)}
                            onchange={link.reform(move |_| Msg::Edit(EditMsg::Setup(SetupChange::Castling(color, wing, !on))))} />
                        { label }
                    </label>
                }
            }) }
        </fieldset>
    }
}

fn en_passant(setup: &Setup, link: &Link) -> Html {
    let mut squares = setup.en_passant_squares();
    let set = setup.position.ep_square;
    squares.extend(set.filter(|s| !squares.contains(s)));
    if squares.is_empty() {
        return html! {};
    }
    let onchange = link.reform(|event: Event| {
        Msg::Edit(EditMsg::Setup(SetupChange::EnPassant(
            chosen(&event).parse::<Square>().ok(),
        )))
    });
    html! {
        <div class="field short">
            <label for="en-passant">{ tr("En passant on") }</label>
            <select id="en-passant" {onchange}>
                <option value="" selected={set.is_none()}>{ tr("no square") }</option>
                { for squares.iter().map(|&square| html! {
                    <option value={square.to_string()} selected={set == Some(square)}>{ square.to_string() }</option>
                }) }
            </select>
        </div>
    }
}

fn clocks(setup: &Setup, link: &Link) -> Html {
    let clock = |id: &'static str,
                 label: &'static str,
                 least: u32,
                 value: u32,
                 change: fn(u32) -> SetupChange| {
        let link = link.clone();
        let oninput = Callback::from(move |event: InputEvent| {
            if let Ok(number) = typed(&event).trim().parse() {
                link.emit(Msg::Edit(EditMsg::Setup(change(number))));
            }
        });
        html! {
            <label class="clock" for={id}>{ label }
                <input {id} type="number" inputmode="numeric" min={least.to_string()} max="9999" data-puzzle-text=""
                    value={value.to_string()} {oninput} />
            </label>
        }
    };
    html! {
        <div class="row clocks">
            { clock("move-number", tr("Move number"), 1, setup.position.fullmoves.get(), SetupChange::MoveNumber) }
            { clock("halfmove-clock", tr("Half moves since a capture or a pawn move"), 0, setup.position.halfmoves, SetupChange::HalfmoveClock) }
        </div>
    }
}

/// What is done to all men at once.
fn whole(setup: &Setup, link: &Link) -> Html {
    const WAYS: [(&str, &str, i32, i32); 4] = [
        ("\u{2190}", phrase("All men one file to the left"), -1, 0),
        ("\u{2192}", phrase("All men one file to the right"), 1, 0),
        ("\u{2191}", phrase("All men one rank up"), 0, 1),
        ("\u{2193}", phrase("All men one rank down"), 0, -1),
    ];
    html! {
        <div class="row" role="group" aria-label={tr("All men")}>
            { button(link, tr("Mirror left and right"), Msg::Edit(EditMsg::Setup(SetupChange::Mirror)), false, "") }
            { button(link, tr("Swap colours"), Msg::Edit(EditMsg::Setup(SetupChange::SwapColours)), false, "") }
            <span class="row">
                { for WAYS.map(|(face, label, files, ranks)| html! {
                    <button type="button" aria-label={tr(label)} title={tr(label)} disabled={!setup.can_shift(files, ranks)}
                        onclick={link.reform(move |_| Msg::Edit(EditMsg::Setup(SetupChange::Shift(files, ranks))))}>{ face }</button>
                }) }
            </span>
        </div>
    }
}

fn side(color: Color) -> &'static str {
    tr(color.fold_wb("White", "Black"))
}
