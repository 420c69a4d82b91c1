//! Findings, all together, and as flags beside their moves.

use keyproof::check::{Finding, Kind, Weight};
use keyproof::draft::NodeId;
use keyproof::tongue::{say, tr};
use yew::prelude::*;

use super::{Link, button};
use desk::findings::{Group, OfKind, all_mends, by_kind, kind_words_many, meaning};
use desk::message::{BoardMsg, EditMsg, GiveOutMsg, Msg, PageMsg};
use desk::view_model::ViewModel;

/// Findings of a group that are shown without unfolding.
const OPENLY: usize = 3;

/// All findings, those of a kind together.
pub fn all(model: &ViewModel, link: &Link) -> Html {
    if model.groups.is_empty() {
        return html! {};
    }
    html! {
        <ul class="findings">
            { for by_kind(&model.groups).iter().map(|kind| html! { <li key={format!("{:?}", (kind.kind, kind.weight))}>{ view(model, kind, link) }</li> }) }
        </ul>
    }
}

/// What is found at a move, in a word, to press and read.
#[derive(Clone, PartialEq)]
pub struct Flag {
    class: &'static str,
    name: String,
}

pub fn flag(group: &Group) -> Flag {
    Flag {
        class: weight_class(group.weight),
        name: name(group.kind, group.weight, group.findings.len()),
    }
}

pub fn view_flag(flag: &Flag, node: NodeId, link: &Link) -> Html {
    html! {
        <button type="button" class={classes!("flag", flag.class)} onclick={link.reform(move |_| Msg::Board(BoardMsg::ReadFound(node)))}>{ &flag.name }</button>
    }
}

/// Findings of a kind: the few openly, many as one line that unfolds.
fn view(model: &ViewModel, kind: &OfKind, link: &Link) -> Html {
    let findings = &model.report.findings;
    let places = kind.findings.iter();
    let of_kind: Vec<(usize, &Finding)> = places
        .filter_map(|&i| Some((i, findings.get(i)?)))
        .collect();
    let mendable = of_kind.iter().filter(|(_, f)| !f.mends.is_empty()).count();
    let mend_all = (mendable > 1).then(|| {
        let edits = all_mends(findings, &kind.findings);
        html! {
            <button type="button" onclick={link.reform(move |_| Msg::Edit(EditMsg::Mend(edits.clone())))}>{ say!("Mend all {n}", n = mendable.to_string()) }</button>
        }
    });
    let list = html! { <ul>{ for of_kind.iter().map(|&(i, f)| single(i, f, link)) }</ul> };
    let name = name(kind.kind, kind.weight, of_kind.len());
    let means = meaning(kind.kind).map(|text| html! { <p class="means">{ text }</p> });
    let class = classes!("group", weight_class(kind.weight));
    if of_kind.len() <= OPENLY {
        return html! {
            <div {class}>
                <p class="group-head"><b>{ name }</b>{ mend_all }</p>
                { means }
                { list }
            </div>
        };
    }
    html! {
        <div {class}>
            <details>
                <summary>{ name }</summary>
                { means }
                { list }
            </details>
            { mend_all }
        </div>
    }
}

fn single(place: usize, finding: &Finding, link: &Link) -> Html {
    let node = finding.node;
    let line = finding.line.clone();
    html! {
        <li class="finding" onmouseenter={link.reform(move |_| Msg::GiveOut(GiveOutMsg::Point(Some(place))))} onmouseleave={link.reform(|_| Msg::GiveOut(GiveOutMsg::Point(None)))}
            onfocusin={link.reform(move |_| Msg::GiveOut(GiveOutMsg::Point(Some(place))))} onfocusout={link.reform(|_| Msg::GiveOut(GiveOutMsg::Point(None)))}>
            <span class="message">{ &finding.message }</span>
            <span class="row">
                if !line.is_empty() {
                    <button type="button" aria-label={say!(
                        "Show on the board: {finding}",
                        finding = finding.message,
                    )}
                        onclick={link.reform(move |_| Msg::Board(BoardMsg::Show { node, line: line.clone() }))}>{ tr("Show") }</button>
                }
                { for finding.mends.iter().map(|mend| {
                    let edits = mend.edits.clone();
                    html! { <button type="button" class="mend" onclick={link.reform(move |_| Msg::Edit(EditMsg::Mend(edits.clone())))}>{ &mend.label }</button> }
                }) }
                if finding.kind == Kind::IllegalPosition {
                    { button(link, tr("Set up the position"), Msg::Board(BoardMsg::SetUp(true)), false, "") }
                } else if finding.kind == Kind::MissingStipulation && finding.mends.is_empty() {
                    { button(link, tr("Say what is asked"), Msg::Page(PageMsg::Focus("stipulation")), false, "") }
                } else if node != NodeId::ROOT || !finding.moves.is_empty() {
                    { button(link, tr("Go there"), Msg::Board(BoardMsg::GoRead(node)), false, "") }
                }
            </span>
        </li>
    }
}

fn name(kind: Kind, weight: Weight, count: usize) -> String {
    let what = match count {
        1 => kind.title().to_owned(),
        n => format!("{n} {}", kind_words_many(kind)),
    };
    match weight {
        Weight::Fault => what,
        Weight::Open => say!("open: {finding}", finding = what),
        Weight::Remark => say!("remark: {finding}", finding = what),
    }
}

fn weight_class(weight: Weight) -> &'static str {
    match weight {
        Weight::Fault => "fault",
        Weight::Open => "open",
        Weight::Remark => "remark",
    }
}
