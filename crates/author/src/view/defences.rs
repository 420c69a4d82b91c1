//! Is every defence met? All replies to the accepted move one is at, or to the
//! key, in one table.

use keyproof::check::{Defence, Evidence, Kind, Met, Ruling, Weight};
use keyproof::draft::NodeId;
use keyproof::puzzle::Role;
use keyproof::tongue::{lettered, say, tr};
use yew::prelude::*;

use super::board::move_words;
use super::{Link, button, guide};
use desk::defences::Fallen;
use desk::desk::Desk;
use desk::message::{BoardMsg, CheckMsg, EditMsg, Msg, Part};
use desk::view_model::ViewModel;
use desk::work::Sheet;

pub fn view(desk: &Desk, sheet: &Sheet, model: &ViewModel, link: &Link) -> Html {
    let Some(node) = accepted_above(model, sheet, desk.work().at) else {
        return html! {};
    };
    let Some(falls) = model.defences(node) else {
        return html! {};
    };
    let count = |falls: &mut dyn Iterator<Item = &Fallen>| -> usize {
        falls.map(|fallen| fallen.fall.defences.len()).sum()
    };
    let unmet = count(&mut falls.iter().filter(|f| f.fall.met <= Met::Unknown));
    let all = count(&mut falls.iter());
    if all == 0 {
        return html! {};
    }
    let reasons = falls.iter().flat_map(|fallen| &fallen.reasons);
    let reasons = reasons.into_iter().any(|reason| !reason.is_empty());
    let verdict = match unmet {
        0 if all == 1 => tr("The only one is met.").to_owned(),
        0 if all == 2 => tr("Both are met.").to_owned(),
        0 => say!("All {n} are met.", n = all.to_string()),
        1 if all == 1 => tr("The only one is not met.").to_owned(),
        1 => say!("1 of {of} is not met.", of = all.to_string()),
        n => say!(
            "{n} of {of} are not met.",
            n = n.to_string(),
            of = all.to_string()
        ),
    };
    let open = [Kind::UnansweredDefence, Kind::UnfinishedSolution];
    let mut findings = model.report.findings.iter();
    let elsewhere = findings.any(|f| f.weight == Weight::Fault && open.contains(&f.kind));
    html! {
        <section class="defences" aria-labelledby="defences-head">
            { guide::headed(link, Part::Defences, "defences-head", &say!(
                "Defences after {move}",
                move = move_words(model, sheet, node),
            )) }
            <p class="row">
                <span>{ verdict }</span>
                if unmet > 0 || elsewhere || desk.is_filling() {
                    <button type="button" disabled={desk.is_filling()} onclick={link.reform(|_| Msg::Check(CheckMsg::Fill))}>
                        { if desk.is_filling() { tr("Answering every defence \u{2026}") } else { tr("Answer every defence") } }
                    </button>
                }
            </p>
            <table>
                <thead><tr>
                    <th scope="col">{ tr("Falls to") }</th>
                    <th scope="col">{ tr("Defence") }</th>
                    <th scope="col">{ tr("Line") }</th>
                    if reasons {
                        <th scope="col">{ tr("Why it fails") }</th>
                    }
                    <th scope="col">{ tr("Evidence") }</th>
                    <th scope="col">{ tr("Answer") }</th>
                </tr></thead>
                { for falls.iter().map(|fallen| rows(fallen, reasons, node, link)) }
            </table>
        </section>
    }
}

/// The accepted move one is at, the one that the defence one is at replies to,
/// or the key at the start.
fn accepted_above(model: &ViewModel, sheet: &Sheet, at: NodeId) -> Option<NodeId> {
    let accepted = |node: NodeId| matches!(model.role(node), Some(Role::Key | Role::Continuation));
    if at == NodeId::ROOT {
        let mut first = sheet.draft.node(at)?.children.iter().copied();
        return first.find(|&node| accepted(node));
    }
    let parent = sheet.draft.node(at)?.parent;
    [at, parent].into_iter().find(|&node| accepted(node))
}

/// `reasons`: whether any reason is shown.
fn rows(fallen: &Fallen, reasons: bool, node: NodeId, link: &Link) -> Html {
    let fall = &fallen.fall;
    let count = fall.defences.len();
    if count > APART && fall.defences.iter().all(nothing_known) {
        return together(fallen, reasons);
    }
    let head = fall.answer.as_deref().map_or("\u{2013}".into(), lettered);
    let all = fallen.all();
    let n = all.len().to_string();
    let label = match fall.met {
        Met::Covered => say!("List all {n}", n = n),
        _ => say!("Answer all {n}", n = n),
    };
    html! {
        <tbody class={class(fall.met)}>
            { for fall.defences.iter().zip(&fallen.reasons).enumerate().map(|(i, (defence, reason))| html! {
                <tr>
                    if i == 0 {
                        <th scope="rowgroup" rowspan={count.to_string()}>
                            { &head }<span class="role">{ words(fall.met) }</span>
                            if all.len() > 1 {
                                { button(link, &label, Msg::Edit(EditMsg::Mend(all.clone())), false, "") }
                            }
                        </th>
                    }
                    <td data-label={tr("Defence")}>{ lettered(&defence.line[0]) }</td>
                    <td data-label={tr("Line")}>{ line(defence, node, link) }</td>
                    if reasons {
                        <td data-label={tr("Why it fails")}>{ reason }</td>
                    }
                    <td data-label={tr("Evidence")}>{ evidence(defence) }</td>
                    <td data-label={tr("Answer")}>{ act(defence, link) }</td>
                </tr>
            }) }
        </tbody>
    }
}

/// Defences of which nothing is known that still get a row each.
const APART: usize = 3;

fn nothing_known(defence: &Defence) -> bool {
    let answer = defence.mend.is_some() || defence.node.is_some();
    defence.line.len() < 2 && defence.ruling.is_none() && !answer
}

/// Defences of which there is nothing to tell but their names.
fn together(fallen: &Fallen, reasons: bool) -> Html {
    let defences = fallen.fall.defences.iter();
    let names: Vec<String> = defences.map(|defence| lettered(&defence.line[0])).collect();
    let columns = if reasons { "5" } else { "4" };
    html! {
        <tbody class={class(fallen.fall.met)}>
            <tr>
                <th scope="row">{ "\u{2013}" }<span class="role">{ words(fallen.fall.met) }</span></th>
                <td data-label={tr("Defence")} colspan={columns}>{ names.join(", ") }</td>
            </tr>
        </tbody>
    }
}

fn line(defence: &Defence, node: NodeId, link: &Link) -> Html {
    if defence.line.len() < 2 {
        return html! {};
    }
    let moves = defence.line.clone();
    let shown: Vec<String> = moves.iter().map(|san| lettered(san)).collect();
    let text = shown[1..].join(" ");
    html! {
        <button type="button" class="shows" aria-label={say!(
            "Show {line} on the board",
            line = shown.join(" "),
        )}
            onclick={link.reform(move |_| Msg::Board(BoardMsg::Show { node, line: moves.clone() }))}>{ text }</button>
    }
}

fn act(defence: &Defence, link: &Link) -> Html {
    match (&defence.mend, defence.node) {
        (Some(mend), _) => {
            let label = if defence.met == Met::Covered {
                tr("List it")
            } else {
                tr("Answer it")
            };
            button(
                link,
                label,
                Msg::Edit(EditMsg::Mend(vec![mend.clone()])),
                false,
                "",
            )
        }
        (None, Some(listed)) => button(
            link,
            tr("Go there"),
            Msg::Board(BoardMsg::GoRead(listed)),
            false,
            "",
        ),
        (None, None) => html! {},
    }
}

/// The grade of the evidence, and what it says.
fn evidence(defence: &Defence) -> String {
    if defence.met == Met::Over {
        return tr("the line ends here").into();
    }
    let Some(ruling) = &defence.ruling else {
        return tr("not known yet").into();
    };
    let length = match ruling {
        Ruling::Holds { length, .. } => *length,
        Ruling::Fails { .. } => return tr("the answer fails").into(),
        Ruling::Open { .. } => return tr("undecided").into(),
    };
    match (ruling.evidence(), length) {
        (Some(Evidence::Proved), Some(1)) => tr("proved, in one").into(),
        (Some(Evidence::Proved), Some(n)) => say!("proved, in {n}", n = n.to_string()),
        (Some(Evidence::Proved), None) => tr("proved").into(),
        (Some(Evidence::Drawn), _) => tr("a draw by force, proved").into(),
        (Some(Evidence::Table), _) => tr("by endgame table").into(),
        (Some(Evidence::Searched { depth, .. }), _) => {
            say!("searched to depth {depth}", depth = depth.to_string())
        }
        (None, _) => String::new(),
    }
}

fn words(met: Met) -> &'static str {
    match met {
        Met::Not => tr("not met"),
        Met::Unknown => tr("not known yet"),
        Met::Covered | Met::Listed => tr("met"),
        Met::Over => tr("nothing to answer"),
    }
}

fn class(met: Met) -> &'static str {
    match met {
        Met::Not => "unmet",
        Met::Unknown => "unknown",
        Met::Covered | Met::Listed | Met::Over => "met",
    }
}
