//! The leaves beside the board, one of which lies open: their index, as a book's
//! contents, and each as a room that scrolls by itself.

use keyproof::tongue::{say, tr};
use yew::prelude::*;

use super::{
    Link, contents, defences, endings, fields, give_out, moments, proof, reasons, seen, solution,
    verdict,
};
use desk::desk::Desk;
use desk::leaf::Leaf;
use desk::message::{Msg, PageMsg};
use desk::view_model::ViewModel;
use desk::work::Sheet;

pub fn view(desk: &Desk, sheet: &Sheet, model: &ViewModel, link: &Link) -> Html {
    html! {
        <section class={classes!("leaf", "recto", desk.listing().then_some("listing"))} aria-label={tr("The work at the puzzle")}>
            { verdict::line(desk, sheet, model, link) }
            { index(desk, link) }
            { for desk.leaves().into_iter().map(|leaf| html! {
                <div class="panel" key={leaf.id()} id={leaf.id()} hidden={desk.leaf() != leaf}>
                    <div class="flow">{ flow(leaf, desk, sheet, model, link) }</div>
                    if leaf == Leaf::Solution {
                        { solution::foot(desk, sheet, model, link) }
                    }
                </div>
            }) }
            { contents::view(desk, link) }
        </section>
    }
}

/// What stands on a leaf.
fn flow(leaf: Leaf, desk: &Desk, sheet: &Sheet, model: &ViewModel, link: &Link) -> Html {
    match leaf {
        Leaf::Solution => solution::view(desk, sheet, model, link),
        Leaf::Moments => html! {
            <>
                { moments::view(desk, sheet, model, link) }
                { seen::view(desk, sheet, model, link) }
            </>
        },
        Leaf::Check => html! {
            <>
                { verdict::found(desk, sheet, model, link) }
                { defences::view(desk, sheet, model, link) }
                { proof::view(desk, sheet, model, link) }
                { endings::view(desk, model, link) }
            </>
        },
        Leaf::Words => html! {
            <>
                { fields::words(desk, sheet, model, moments::ways(model, link), link) }
                { reasons::view(desk, sheet, model, link) }
            </>
        },
        Leaf::Students => fields::students(desk, sheet, model, link),
        Leaf::GiveOut => give_out::view(desk, link),
    }
}

fn index(desk: &Desk, link: &Link) -> Html {
    let game = desk.is_game();
    let open = (!desk.listing()).then(|| desk.leaf());
    html! {
        <nav class="index" aria-label={tr("The parts of the work, in their order")}>
            { for desk.leaves().into_iter().zip(1..).map(|(leaf, number): (Leaf, u32)| {
                let note = desk.note(leaf);
                let name = say!("{n}. {part}", n = number.to_string(), part = leaf.title(game));
                html! {
                    <button type="button" class="to-leaf" aria-controls={leaf.id()} aria-expanded={(open == Some(leaf)).to_string()} title={name}
                        onclick={link.reform(move |_| Msg::Page(PageMsg::Leaf(leaf)))}>
                        <span class="leaf-name">{ leaf.title(game) }</span>
                        if !note.is_empty() {
                            <span class={classes!("leaf-note", (leaf == Leaf::Check).then_some("found"))}>{ note }</span>
                        }
                    </button>
                }
            }) }
        </nav>
    }
}
