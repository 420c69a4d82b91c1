//! Findings, all together and beside their moves.

use keyproof::check::{Finding, Kind, Weight};
use keyproof::draft::NodeId;
use keyproof::tongue::{say, tr};
use yew::prelude::*;

use super::{Link, button};
use desk::findings::{Group, all_mends, kind_words_many};
use desk::look::Look;
use desk::message::{BoardMsg, EditMsg, GiveOutMsg, Msg, PageMsg};

/// Findings of a group that are shown without unfolding.
const OPENLY: usize = 3;

/// All findings; those at the move one is at stand there in full, and here in
/// one line.
pub fn all(look: &Look, here: NodeId, link: &Link) -> Html {
    if look.groups.is_empty() {
        return html! {};
    }
    html! {
        <ul class="findings">
            { for look.groups.iter().map(|group| html! {
                <li>{ if group.at == here { line(group, link) } else { view(look, group, true, link) } }</li>
            }) }
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
        name: name(group),
    }
}

pub fn view_flag(flag: &Flag, node: NodeId, link: &Link) -> Html {
    html! {
        <button type="button" class={classes!("flag", flag.class)} onclick={link.reform(move |_| Msg::Board(BoardMsg::Go(node)))}>{ &flag.name }</button>
    }
}

/// What is found at a move, in full.
pub fn beside(look: &Look, node: NodeId, link: &Link) -> Html {
    if at(look, node).next().is_none() {
        return html! {};
    }
    html! {
        <ul class="findings" key={node.0}>
            { for at(look, node).map(|group| html! { <li>{ view(look, group, false, link) }</li> }) }
        </ul>
    }
}

fn at(look: &Look, node: NodeId) -> impl Iterator<Item = &Group> {
    look.groups.iter().filter(move |g| g.at == node)
}

/// One line for what stands in full at the move one is at.
fn line(group: &Group, link: &Link) -> Html {
    let class = classes!("group", weight_class(group.weight));
    html! {
        <div {class}>
            <p class="group-head">
                <b>{ name(group) }</b>
                if group.kind == Kind::IllegalPosition {
                    { button(link, tr("Set up the position"), Msg::Board(BoardMsg::SetUp(true)), false, "") }
                } else {
                    { button(link, tr("Go there"), Msg::Board(BoardMsg::GoRead(group.at)), false, "") }
                }
            </p>
        </div>
    }
}

/// `away`: shown away from its move, with a way there.
fn view(look: &Look, group: &Group, away: bool, link: &Link) -> Html {
    let findings = &look.report.findings;
    let of_group: Vec<(usize, &Finding)> = group
        .findings
        .iter()
        .filter_map(|&i| Some((i, findings.get(i)?)))
        .collect();
    let mendable = of_group.iter().filter(|(_, f)| !f.mends.is_empty()).count();
    let one = of_group.len() == 1;
    html! {
        <div class={classes!("group", weight_class(group.weight))}>
            <p class="group-head">
                <b>{ name(group) }</b>
                if mendable > 1 {
                    <button type="button" class="main" onclick={link.reform({
                        let edits = all_mends(findings, group);
                        move |_| Msg::Edit(EditMsg::Mend(edits.clone()))
                    })}>{ say!("Mend all {n}", n = mendable.to_string()) }</button>
                }
            </p>
            if one || of_group.len() <= OPENLY {
                <ul>{ for of_group.iter().map(|&(i, f)| single(i, f, away, link)) }</ul>
            } else {
                <ul>{ for of_group[..OPENLY].iter().map(|&(i, f)| single(i, f, away, link)) }</ul>
                <details>
                    <summary>{ say!("{n} more", n = (of_group.len() - OPENLY).to_string()) }</summary>
                    <ul>{ for of_group[OPENLY..].iter().map(|&(i, f)| single(i, f, away, link)) }</ul>
                </details>
            }
        </div>
    }
}

fn single(place: usize, finding: &Finding, away: bool, link: &Link) -> Html {
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
                } else if away && (node != NodeId::ROOT || !finding.moves.is_empty()) {
                    { button(link, tr("Go there"), Msg::Board(BoardMsg::GoRead(node)), false, "") }
                }
            </span>
        </li>
    }
}

fn name(group: &Group) -> String {
    let what = match group.findings.len() {
        1 => group.kind.title().to_owned(),
        n => format!("{n} {}", kind_words_many(group.kind)),
    };
    match group.weight {
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
