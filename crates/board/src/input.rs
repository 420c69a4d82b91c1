//! A line in which a move can be typed.

use std::rc::Rc;

use keyproof::draft::MoveFault;
use keyproof::notation::moves;
use shakmaty::{Chess, Move};
use yew::prelude::*;

/// What a [`MoveInput`] reads.
#[derive(Properties, PartialEq)]
pub struct MoveInputProps {
    /// Unique on the page; element ids start with it.
    pub id: AttrValue,
    /// The visible label.
    #[prop_or(AttrValue::Static("Type a move"))]
    pub label: AttrValue,
    /// The position in which the move is read.
    pub position: Rc<Chess>,
    #[prop_or_default]
    pub disabled: bool,
    /// A legal move was typed.
    pub on_move: Callback<Move>,
}

/// A line in which a move can be typed as SAN or by its squares. What cannot
/// be read stays in the line, with a sentence that says why.
#[component]
pub fn MoveInput(props: &MoveInputProps) -> Html {
    let text = use_state(String::new);
    let fault = use_state(|| None::<String>);
    let field = format!("{}-move", props.id);
    let note = format!("{}-fault", props.id);
    let oninput = {
        let (text, fault) = (text.clone(), fault.clone());
        Callback::from(move |event: InputEvent| {
            let field: web_sys::HtmlInputElement = event.target_unchecked_into();
            text.set(field.value());
            fault.set(None);
        })
    };
    let onsubmit = {
        let (text, fault) = (text.clone(), fault.clone());
        let (position, on_move) = (props.position.clone(), props.on_move.clone());
        Callback::from(move |event: SubmitEvent| {
            event.prevent_default();
            let typed = text.trim();
            if typed.is_empty() {
                return;
            }
            match moves::read(&position, typed) {
                Ok(mv) => {
                    text.set(String::new());
                    on_move.emit(mv);
                }
                Err(found) => fault.set(Some(fault_text(typed, &found))),
            }
        })
    };
    html! {
        <form class="kp-typed" {onsubmit}>
            <label for={field.clone()}>{ &props.label }</label>
            <input id={field} type="text" autocomplete="off" autocapitalize="off" spellcheck="false"
                value={(*text).clone()} {oninput} disabled={props.disabled}
                aria-invalid={fault.is_some().to_string()} aria-describedby={note.clone()} />
            <button type="submit" disabled={props.disabled}>{ "Play" }</button>
            <p id={note} class="kp-fault" role="alert">{ fault.as_deref().unwrap_or_default() }</p>
        </form>
    }
}

/// Why a typed move cannot be played, in one or two sentences.
pub fn fault_text(typed: &str, fault: &MoveFault) -> String {
    let mut text = String::from("\u{201c}");
    text.extend(typed.chars().take(20));
    text.push('\u{201d}');
    match fault {
        MoveFault::Unreadable => {
            text.push_str(" is not a move that can be read. Type it like Nf3, exd5, O-O or e7e8q.")
        }
        MoveFault::Illegal { near } if near.is_empty() => text.push_str(" is not legal here."),
        MoveFault::Illegal { near } => {
            text.push_str(" is not legal here. Close to it: ");
            text.push_str(
                &near
                    .iter()
                    .take(4)
                    .map(String::as_str)
                    .collect::<Vec<_>>()
                    .join(", "),
            );
            text.push('.');
        }
        MoveFault::Ambiguous { fits } => {
            text.push_str(" can mean ");
            text.push_str(&fits.join(" or "));
            text.push_str(". Say which.");
        }
    }
    text
}
