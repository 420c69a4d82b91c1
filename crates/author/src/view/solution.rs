//! The solution as a chess book prints it, with a slip under the move one is
//! at, to write on.

use keyproof::draft::NodeId;
use keyproof::puzzle::Role;
use keyproof_board::fault_text;
use yew::prelude::*;

use super::{Link, findings, line_tools, moments, written};
use crate::book::{Claim, Printed, Row, role_word};
use crate::desk::Desk;
use crate::look::Look;
use crate::message::Msg;
use crate::work::{Sheet, joined};

/// Rows deeper than this are not indented further.
const DEEPEST: usize = 6;

pub fn view(desk: &Desk, sheet: &Sheet, look: &Look, link: &Link) -> Html {
    let at = desk.work().at;
    let start_words = sheet
        .draft
        .node(NodeId::ROOT)
        .map(|r| joined(&r.after))
        .unwrap_or_default();
    html! {
        <section class="solution" aria-labelledby="solution-head">
            <h2 id="solution-head">{ if look.lesson.is_some() || look.bare_game { "The game" } else { "Solution" } }</h2>
            <div class="rows">
                <div class="tree-row start">
                    { start(at, link) }
                    if !start_words.is_empty() && at != NodeId::ROOT {
                        <span class="words">{ &start_words }</span>
                    }
                    { asks(look, NodeId::ROOT) }
                    { findings::flags(look, NodeId::ROOT, link) }
                </div>
                if at == NodeId::ROOT {
                    <div class="slip">
                        { findings::beside(look, NodeId::ROOT, link) }
                        { words_field(link, NodeId::ROOT, "Words before the first move", &start_words) }
                        { line_tools::paste(desk, link) }
                    </div>
                }
                { for look.rows.iter().map(|row| view_row(desk, row, sheet, look, link)) }
            </div>
            { line_tools::keys() }
        </section>
    }
}

fn start(at: NodeId, link: &Link) -> Html {
    let here = at == NodeId::ROOT;
    html! {
        <button type="button" class="move start" id={here.then_some("move-here")} tabindex={if here { "0" } else { "-1" }}
            aria-current={here.then_some("step")} onclick={link.reform(|_| Msg::Go(NodeId::ROOT))}>{ "Position" }</button>
    }
}

fn view_row(desk: &Desk, row: &Row, sheet: &Sheet, look: &Look, link: &Link) -> Html {
    let at = desk.work().at;
    let here = row.moves.iter().find(|m| m.node == at);
    let key = row.moves.first().map_or(0, |m| m.node.0);
    let depth = format!("--depth: {}", row.depth.min(DEEPEST));
    html! {
        <div key={key} class="tree-line" style={depth}>
            <div class="tree-row">
                { for row.moves.iter().enumerate().map(|(i, printed)| view_move(printed, i == 0, look, at, link)) }
            </div>
            if let Some(printed) = here {
                { slip(desk, printed, sheet, look, link) }
            }
        </div>
    }
}

fn view_move(printed: &Printed, leads: bool, look: &Look, at: NodeId, link: &Link) -> Html {
    let node = printed.node;
    let here = node == at;
    let role = printed.role;
    let told = role.filter(|&r| leads || matches!(r, Role::Refutation | Role::Unclear));
    let word = told.map(|r| role_word(r, printed.foremost, look.shared()));
    let class = classes!("move", role_class(printed), here.then_some("here"));
    html! {
        <>
            if !printed.before.is_empty() {
                <span class="words">{ &printed.before }</span>
            }
            <span class="pair">
                <button type="button" {class} id={here.then_some("move-here")} tabindex={if here { "0" } else { "-1" }}
                    aria-current={here.then_some("step")} onclick={link.reform(move |_| Msg::Go(node))}>
                    <span class="number">{ &printed.number }</span>{ &printed.text }<span class="glyph">{ &printed.glyphs }</span>
                </button>
                if let Some(word) = word {
                    <span class="role">{ word }</span>
                }
            </span>
            if let Some(fault) = &printed.fault {
                <span class="words fault-words">{ fault_text(&printed.text, fault) }</span>
            }
            { asks(look, node) }
            { findings::flags(look, node, link) }
            if !printed.words.is_empty() && !here {
                <span class="words">{ &printed.words }</span>
            }
        </>
    }
}

/// What the lesson asks after a move.
fn asks(look: &Look, node: NodeId) -> Html {
    match moments::task(look, node) {
        Some(task) => html! { <span class="asks">{ format!("asks: {task}") }</span> },
        None => html! {},
    }
}

/// The slip under a move: its role, its words, its place.
fn slip(desk: &Desk, printed: &Printed, sheet: &Sheet, look: &Look, link: &Link) -> Html {
    let node = printed.node;
    let siblings = sheet
        .draft
        .node(node)
        .and_then(|n| sheet.draft.node(n.parent))
        .map_or(&[][..], |p| p.children.as_slice());
    let place = siblings.iter().position(|&c| c == node).unwrap_or(0);
    let name = format!("{}{}", printed.number, printed.text);
    let nags = sheet.draft.node(node).map_or(&[][..], |n| &n.nags);
    html! {
        <div class="slip" key={node.0}>
            { roles(printed, sheet, look, link) }
            { findings::beside(look, node, link) }
            if !printed.before.is_empty() {
                { before_field(link, node, &format!("Words before {name}"), &printed.before) }
            }
            { words_field(link, node, &format!("Words after {name}"), &printed.words) }
            { line_tools::view(desk, nags, (siblings.len(), place), link) }
        </div>
    }
}

fn roles(printed: &Printed, sheet: &Sheet, look: &Look, link: &Link) -> Html {
    let node = printed.node;
    let parent = sheet.draft.node(node).map(|n| n.parent);
    let answers_try = parent.and_then(|p| look.role(p)) == Some(Role::Try);
    let choices: &[(&str, Claim, bool)] = match printed.role {
        Some(role @ (Role::Key | Role::Continuation | Role::Try | Role::Unclear)) => &[
            (
                if look.shared() {
                    role_word(Role::Key, printed.first, true)
                } else if !printed.first {
                    "also accepted"
                } else if role == Role::Continuation {
                    "the answer"
                } else {
                    "the key"
                },
                if printed.first {
                    Claim::Plain
                } else {
                    Claim::Accepted
                },
                matches!(role, Role::Key | Role::Continuation),
            ),
            ("a try: it fails", Claim::Fails, role == Role::Try),
        ],
        Some(role @ (Role::Refutation | Role::Defence)) if answers_try => &[
            ("refutes the try", Claim::Plain, role == Role::Refutation),
            ("is answered", Claim::Fails, role == Role::Defence),
        ],
        _ => &[],
    };
    if choices.is_empty() {
        return html! {};
    }
    html! {
        <div class="row roles" role="group" aria-label="What this move is">
            { for choices.iter().map(|&(label, claim, on)| html! {
                <button type="button" aria-pressed={on.to_string()}
                    onclick={link.reform(move |_| Msg::Claim(node, claim))}>{ label }</button>
            }) }
        </div>
    }
}

fn words_field(link: &Link, node: NodeId, label: &str, words: &str) -> Html {
    let oninput = link.reform(move |event: InputEvent| Msg::Words {
        node,
        text: written(&event),
    });
    prose(link, "words-here".into(), label, words, oninput)
}

fn before_field(link: &Link, node: NodeId, label: &str, words: &str) -> Html {
    let oninput = link.reform(move |event: InputEvent| Msg::WordsBefore {
        node,
        text: written(&event),
    });
    prose(link, format!("before-{}", node.0), label, words, oninput)
}

fn prose(link: &Link, id: String, label: &str, words: &str, oninput: Callback<InputEvent>) -> Html {
    let rows = (words.len() / 48 + 1).clamp(2, 12).to_string();
    html! {
        <div class="field">
            <label for={id.clone()}>{ label }</label>
            <textarea {id} {rows} data-puzzle-text="" value={words.to_owned()} {oninput}
                onblur={link.reform(|_| Msg::FieldLeft)} />
        </div>
    }
}

fn role_class(printed: &Printed) -> &'static str {
    if printed.fault.is_some() {
        return "unplayable";
    }
    match printed.role {
        Some(Role::Key | Role::Continuation) => "accepted",
        Some(Role::Try) => "try",
        Some(Role::Refutation) => "refutation",
        Some(Role::Defence) => "defence",
        Some(Role::Unclear) => "unclear",
        Some(Role::Aside) | None => "aside",
    }
}
