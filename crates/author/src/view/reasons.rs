//! Why: reasons, threats, tempting tries, every wrong first move, difficulty.

use keyproof::draft::{Edit, NodeId};
use keyproof::explain::{Explanation, Tempts, Told};
use keyproof::tongue::{lettered, plural, say, tr};
use yew::prelude::*;

use super::{Link, button, guide};
use desk::desk::{Desk, sans};
use desk::look::Look;
use desk::message::{BoardMsg, EditMsg, Msg, Part};
use desk::work::{Sheet, told};

pub fn view(desk: &Desk, sheet: &Sheet, look: &Look, link: &Link) -> Html {
    let Some((root, explanation)) = look.told_at(desk.work().at) else {
        return html! {};
    };
    if explanation.is_none() && !desk.is_explaining(sheet.id) {
        return html! {};
    }
    html! {
        <section class="because" aria-labelledby="reasons-head">
            { guide::headed(link, Part::Reasons, "reasons-head", tr("Why")) }
            {
                match explanation {
                    Some(explanation) => all(explanation, root, sheet, look, link),
                    None => html! { <p class="running">{ tr("Finding out why \u{2026}") }</p> },
                }
            }
        </section>
    }
}

fn all(explanation: &Explanation, root: NodeId, sheet: &Sheet, look: &Look, link: &Link) -> Html {
    html! {
        <>
            <ul class="whys">
                { for explanation.whys.iter().enumerate().map(|(index, why)| html! {
                    <li>
                        <button type="button" class="why" onclick={link.reform(move |_| Msg::Board(BoardMsg::Why(index)))}>
                            <b>{ &why.title }</b>{ " " }{ &why.sentence }
                        </button>
                        { take(&why.sentence, at(explanation.line.first(), root, sheet, look), sheet, link) }
                    </li>
                }) }
            </ul>
            { threats(&explanation.after, true, link) }
            if !explanation.standing.is_empty() {
                <p class="standing"><b>{ tr("Before the first move") }{ " " }</b>{ &explanation.standing }</p>
            }
            { threats(&explanation.before, false, link) }
            { tries(explanation, root, sheet, look, link) }
            { failures(explanation, root, link) }
            { difficulty(explanation, root, sheet, look, link) }
        </>
    }
}

/// Replies of one kind that are named; the others are counted.
const NAMED: usize = 12;

/// The threats one by one, to be marked on the board, and which replies parry which: a
/// row for those that leave the same standing.
fn threats(told: &Told, after: bool, link: &Link) -> Html {
    if told.replies.is_empty() {
        return html! {};
    }
    html! {
        <details class="replies">
            <summary>{ plural!(told.threats.len(), "Which replies parry it", "Which replies parry which threat") }</summary>
            <ol>
                { for told.threats.iter().enumerate().map(|(index, threat)| html! {
                    <li>
                        <button type="button" class="why" onclick={link.reform(move |_| Msg::Board(BoardMsg::Threat { after, index }))}>
                            { &threat.sentence }{ " " }<span class="seen">{ threat.worth() }</span>
                        </button>
                    </li>
                }) }
            </ol>
            <table>
                <tbody>
                    { for told.replies.iter().map(|row| html! {
                        <tr>
                            <th scope="row">{ named(&row.moves) }</th>
                            <td class={row.defends().then_some("defends")}>{ row.parries() }</td>
                        </tr>
                    }) }
                </tbody>
            </table>
        </details>
    }
}

/// "Kf8, Rg8 and 5 more".
fn named(moves: &[String]) -> String {
    let shown: Vec<String> = moves.iter().take(NAMED).map(|mv| lettered(mv)).collect();
    let shown = shown.join(", ");
    match moves.len().saturating_sub(NAMED) {
        0 => shown,
        more => say!("{moves} and {n} more", moves = shown, n = more.to_string()),
    }
}

/// The moves that tempt and are not listed yet.
fn tries(explanation: &Explanation, root: NodeId, sheet: &Sheet, look: &Look, link: &Link) -> Html {
    let listed = |tempts: &Tempts| at(tempts.line.first(), root, sheet, look);
    if explanation.tries.is_empty() && look.has_try(root) {
        return html! {};
    }
    if explanation.tries.is_empty() {
        return html! { <p>{ tr("No wrong first move tempts.") }</p> };
    }
    html! {
        <>
            <h3>{ tr("Wrong moves that tempt") }</h3>
            <ul class="tempting">
                { for explanation.tries.iter().map(|tempts| html! {
                    <li>
                        <span class="message">{ &tempts.sentence }</span>
                        <span class="seen">{ seen(tempts) }</span>
                        <span class="row">
                            { show(&tempts.sentence, root, &tempts.line, link) }
                            if let Some(node) = listed(tempts) {
                                { take(&tempts.sentence, Some(node), sheet, link) }
                                <span class="listed">{ tr("listed") }</span>
                            } else if let Some(position) = look.position(root) {
                                { button(link, &say!(
                                    "Add {move} as a try",
                                    move = lettered(&tempts.san),
                                ), Msg::Edit(EditMsg::Mend(vec![Edit::AddLine {
                                    at: root,
                                    moves: sans(position, &tempts.line),
                                    nags: vec![2],
                                }])), false, "") }
                            }
                        </span>
                    </li>
                }) }
            </ul>
        </>
    }
}

/// The node of a first move, in UCI, if it is in the tree.
fn at(mv: Option<&String>, root: NodeId, sheet: &Sheet, look: &Look) -> Option<NodeId> {
    let children = &sheet.draft.node(root)?.children;
    let uci = |&child: &NodeId| look.mv(child).map(keyproof::notation::moves::uci);
    children
        .iter()
        .copied()
        .find(|child| uci(child).as_ref() == mv)
}

/// Offers a sentence for the words at a move, behind what the author wrote there.
fn take(sentence: &str, node: Option<NodeId>, sheet: &Sheet, link: &Link) -> Html {
    let Some((id, node)) = node.and_then(|id| Some((id, sheet.draft.node(id)?))) else {
        return html! {};
    };
    let mut comments = node.after.clone();
    match comments.last_mut() {
        Some(words) if words.contains(sentence) => return html! {},
        Some(words) => words.extend([" ", sentence]),
        None => comments.push(sentence.to_owned()),
    }
    let label = say!("Take these words: {words}", words = sentence);
    let edits = vec![Edit::SetAfter { node: id, comments }];
    html! {
        <button type="button" class="take" aria-label={label}
            onclick={link.reform(move |_| Msg::Edit(EditMsg::Mend(edits.clone())))}>{ tr("Take these words") }</button>
    }
}

/// What tempts in a move: "takes, gives check; shows its fault at depth 5".
fn seen(tempts: &Tempts) -> String {
    let shows = match tempts.shows_at {
        Some(depth) => say!(
            "shows its fault at depth {depth}",
            depth = depth.to_string()
        ),
        None => tr("looks good at every depth searched").to_owned(),
    };
    let rules: Vec<&str> = tempts.allures.iter().map(|a| a.title()).collect();
    match rules.is_empty() {
        true => shows,
        false => format!("{}; {shows}", rules.join(", ")),
    }
}

fn failures(explanation: &Explanation, root: NodeId, link: &Link) -> Html {
    let count = explanation.failures.len();
    if count == 0 {
        return html! {};
    }
    html! {
        <details class="failures">
            <summary>{ plural!(count, "The wrong first move", "All {n} wrong first moves") }</summary>
            <ul>
                { for explanation.failures.iter().map(|failed| html! {
                    <li>
                        <span class="message">{ &failed.sentence }</span>
                        <span class="row">{ show(&failed.sentence, root, &failed.line, link) }</span>
                    </li>
                }) }
            </ul>
        </details>
    }
}

fn difficulty(
    explanation: &Explanation,
    root: NodeId,
    sheet: &Sheet,
    look: &Look,
    link: &Link,
) -> Html {
    let asked = look.lesson.as_ref().and_then(|lesson| lesson.at(root));
    let name = match asked {
        Some(asked) => asked.moment.place.own_tag("Difficulty"),
        None => "Difficulty".to_owned(),
    };
    let level = explanation.difficulty.level.to_string();
    let set = told(&sheet.draft, &name) == Some(&level);
    html! {
        <p class="difficulty">
            <span class="message">{ explanation.difficulty.sentence() }</span>
            if !set {
                { button(link, &say!("Set the difficulty to {level}", level = level), Msg::Edit(EditMsg::Tag { name: name.clone(), value: level.clone() }), false, "") }
            }
        </p>
    }
}

fn show(what: &str, node: NodeId, line: &[String], link: &Link) -> Html {
    let line = line.to_vec();
    html! {
        <button type="button" aria-label={say!("Show on the board: {finding}", finding = what)}
            onclick={link.reform(move |_| Msg::Board(BoardMsg::Show { node, line: line.clone() }))}>{ tr("Show") }</button>
    }
}
