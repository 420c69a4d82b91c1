//! Why: reasons, threats, tempting tries, every wrong first move, difficulty.

use keyproof::draft::{Edit, NodeId};
use keyproof::explain::{About, Explanation, Proof, Tempts, Told};
use keyproof::tongue::{lettered, plural, say, tr};
use yew::prelude::*;

use super::{Link, button, guide};
use desk::desk::{Desk, sans};
use desk::message::{BoardMsg, EditMsg, Msg, Part};
use desk::view_model::ViewModel;
use desk::work::{Sheet, told};

pub fn view(desk: &Desk, sheet: &Sheet, model: &ViewModel, link: &Link) -> Html {
    let Some((root, explanation)) = model.told_at(desk.work().at) else {
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
                    Some(explanation) => all(&Here { explanation, root, sheet, model, link }),
                    None => html! { <p class="running">{ tr("Finding out why \u{2026}") }</p> },
                }
            }
        </section>
    }
}

/// What the reasons are of.
struct Here<'a> {
    explanation: &'a Explanation,
    /// The node at which the puzzle begins.
    root: NodeId,
    sheet: &'a Sheet,
    model: &'a ViewModel,
    link: &'a Link,
}

impl Here<'_> {
    /// Offers a sentence for the words at the first move of a line, if it is in the tree.
    fn take(&self, sentence: &str, line: &[String]) -> Html {
        let node = at(line.first(), self.root, self.sheet, self.model);
        take(sentence, node, self.sheet, self.link)
    }
}

fn all(here: &Here) -> Html {
    let Here {
        explanation,
        root,
        link,
        ..
    } = *here;
    html! {
        <>
            { gist(here) }
            { whys(here) }
            { threats(&explanation.after, true, link) }
            if !explanation.standing.is_empty() {
                <p class="standing"><b>{ tr("Before the first move") }{ " " }</b>{ &explanation.standing }</p>
            }
            { threats(&explanation.before, false, link) }
            { tries(here) }
            { failures(explanation, root, link) }
            { difficulty(here) }
        </>
    }
}

/// What a coach would say, each sentence to be pressed for what shows it.
fn gist(here: &Here) -> Html {
    let Here {
        explanation,
        root,
        link,
        ..
    } = *here;
    if explanation.gist.is_empty() {
        return html! {};
    }
    let sentences: Vec<&str> = explanation.gist.iter().map(|s| &s.sentence[..]).collect();
    let all = sentences.join(" ");
    let shown = |about: About| match about {
        About::Why(index) => BoardMsg::Why(index),
        About::Before => BoardMsg::Threat {
            after: false,
            index: 0,
        },
        About::Try(index) => BoardMsg::Show {
            node: root,
            line: explanation.tries[index].line.clone(),
        },
    };
    html! {
        <div class="gist">
            <p>
                { for explanation.gist.iter().map(|said| {
                    let msg = shown(said.about);
                    html! {
                        <>
                            <button type="button" class="said" title={tr("Show on the board")}
                                onclick={link.reform(move |_| Msg::Board(msg.clone()))}>{ &said.sentence }</button>{ " " }
                        </>
                    }
                }) }
            </p>
            { here.take(&all, &explanation.line) }
        </div>
    }
}

/// Every reason with its name, behind a fold where the gist says the chief ones.
fn whys(here: &Here) -> Html {
    let Here {
        explanation, link, ..
    } = *here;
    if explanation.whys.is_empty() {
        return html! {};
    }
    let list = html! {
        <ul class="whys">
            { for explanation.whys.iter().enumerate().map(|(index, why)| html! {
                <li>
                    <button type="button" class="why" onclick={link.reform(move |_| Msg::Board(BoardMsg::Why(index)))}>
                        <b>{ &why.title }</b>{ " " }{ &why.sentence }
                    </button>
                    { here.take(&why.sentence, &explanation.line) }
                </li>
            }) }
        </ul>
    };
    if explanation.gist.is_empty() {
        return list;
    }
    html! {
        <details>
            <summary>{ plural!(explanation.whys.len(), "The reason by its name", "All {n} reasons by their names") }</summary>
            { list }
        </details>
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
                            { &threat.sentence }{ " " }<span class="seen">{ resting_on(threat.proof.as_ref(), threat.worth()) }</span>
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

/// How far something is proved, if it is; else what else is to be said.
fn resting_on(proof: Option<&Proof>, otherwise: String) -> String {
    proof.map_or(otherwise, Proof::words)
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
fn tries(here: &Here) -> Html {
    let Here {
        explanation,
        root,
        sheet,
        model,
        link,
    } = *here;
    let listed = |tempts: &Tempts| at(tempts.line.first(), root, sheet, model);
    if explanation.tries.is_empty() && model.has_try(root) {
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
                        <span class="seen">{ resting_on(tempts.proof.as_ref(), String::new()) }</span>
                        <span class="row">
                            { show(&tempts.sentence, root, &tempts.line, link) }
                            if let Some(node) = listed(tempts) {
                                { take(&tempts.sentence, Some(node), sheet, link) }
                                <span class="listed">{ tr("listed") }</span>
                            } else if let Some(position) = model.position(root) {
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
fn at(mv: Option<&String>, root: NodeId, sheet: &Sheet, model: &ViewModel) -> Option<NodeId> {
    let children = &sheet.draft.node(root)?.children;
    let uci = |&child: &NodeId| model.mv(child).map(keyproof::notation::moves::uci);
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
                        <span class="seen">{ resting_on(failed.proof.as_ref(), String::new()) }</span>
                        <span class="row">{ show(&failed.sentence, root, &failed.line, link) }</span>
                    </li>
                }) }
            </ul>
        </details>
    }
}

fn difficulty(here: &Here) -> Html {
    let Here {
        explanation,
        root,
        sheet,
        model,
        link,
    } = *here;
    let asked = model.lesson.as_ref().and_then(|lesson| lesson.at(root));
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
