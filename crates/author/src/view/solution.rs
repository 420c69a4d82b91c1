//! The solution as a chess book prints it, and at the foot of its leaf a slip for
//! the move one is at, to write on.

use std::collections::HashMap;
use std::rc::Rc;

use keyproof::check::Weight;
use keyproof::draft::NodeId;
use keyproof::puzzle::Role;
use keyproof::tongue::{phrase, plural, say, spoken, tr};
use keyproof_board::MoveInput;
use yew::prelude::*;

use super::{Link, button, fields, findings, guide, line_tools, moments, written};
use desk::book::{BookRow, Claim, Printed, Shown, role_meaning, role_word};
use desk::desk::Desk;
use desk::leaf::Leaf;
use desk::message::{BoardMsg, EditMsg, Msg, Part};
use desk::view_model::ViewModel;
use desk::work::{Sheet, joined, words};

/// Rows deeper than this are not indented further.
const DEEPEST: usize = 6;

/// Rows that a page lays out together once they come near.
const A_PART: usize = 20;

/// The part of the tree that a row belongs to, whatever is folded.
fn part(shown: &Shown) -> usize {
    shown.place / A_PART
}

pub fn view(desk: &Desk, sheet: &Sheet, model: &ViewModel, link: &Link) -> Html {
    let at = desk.work().at;
    let start_words = sheet
        .draft
        .node(NodeId::ROOT)
        .map(words)
        .unwrap_or_default();
    let beside = beside(model);
    let folds = model.book.can_fold().then(|| {
        html! {
            <span class="folds">
                { button(link, tr("Fold the side lines"), Msg::Board(BoardMsg::FoldAll(true)), false, "") }
                { button(link, tr("Unfold all"), Msg::Board(BoardMsg::FoldAll(false)), false, "") }
            </span>
        }
    });
    html! {
        <section class="solution" aria-labelledby="solution-head">
            <div class="solution-top">
                { guide::headed(link, Part::Solution, "solution-head", Leaf::Solution.title(desk.is_game())) }
                { folds }
            </div>
            { fields::asked(sheet, model, link) }
            { typed(desk, model, link) }
            <div class="rows">
                <div class="tree-row start">
                    { start(at, link) }
                    if !start_words.is_empty() && at != NodeId::ROOT {
                        <span class="words">{ model.filled(&start_words, NodeId::ROOT) }</span>
                    }
                    { for beside.get(&NodeId::ROOT).into_iter().map(|beside| view_beside(NodeId::ROOT, beside, link)) }
                </div>
                { for desk.shown_rows().chunk_by(|a, b| part(a) == part(b)).map(|rows| html! {
                    <div key={part(&rows[0])} class="tree-part">
                        { for rows.iter().map(|shown| view_row(desk, shown, &beside, model, link)) }
                    </div>
                }) }
            </div>
            { line_tools::keys() }
            { mentions() }
        </section>
    }
}

/// The line to type a move in, where the board takes moves.
fn typed(desk: &Desk, model: &ViewModel, link: &Link) -> Html {
    let position = model.position(desk.work().at);
    let Some(position) = position.filter(|_| desk.showing().is_none()) else {
        return html! {};
    };
    html! {
        <MoveInput id="typed" tongue={spoken().tag()} label={tr("Or type a move")} position={Rc::new(position.clone())} on_move={link.reform(|mv| Msg::Edit(EditMsg::Play(mv)))} />
    }
}

/// The slip for the move one is at, at the foot of the leaf like a footnote: its
/// place never depends on how long the solution is.
pub fn foot(desk: &Desk, sheet: &Sheet, model: &ViewModel, link: &Link) -> Html {
    let at = desk.work().at;
    let slip = match model.book.printed(at) {
        Some(printed) => slip(desk, printed, sheet, link, model),
        None => {
            let start = sheet.draft.node(NodeId::ROOT);
            let start = start.map(words).unwrap_or_default();
            html! {
                <div class="slip-words">
                    { words_field(link, NodeId::ROOT, tr("Words before the first move"), &start) }
                    { line_tools::paste(desk, link) }
                </div>
            }
        }
    };
    html! { <div class="slip">{ slip }</div> }
}

fn start(at: NodeId, link: &Link) -> Html {
    let here = at == NodeId::ROOT;
    html! {
        <button type="button" class="move start" id={here.then_some("move-here")} tabindex={if here { "0" } else { "-1" }}
            aria-current={here.then_some("step")} onclick={link.reform(|_| Msg::Board(BoardMsg::Go(NodeId::ROOT)))}>{ tr("Position") }</button>
    }
}

/// What stands beside a move that is not its own text.
#[derive(Clone, PartialEq, Default)]
struct MoveNotes {
    /// What the lesson asks after it.
    asks: Option<String>,
    flags: Vec<findings::Flag>,
}

fn beside(model: &ViewModel) -> HashMap<NodeId, MoveNotes> {
    let mut all: HashMap<NodeId, MoveNotes> = HashMap::new();
    for group in &model.groups {
        let flags = &mut all.entry(group.at).or_default().flags;
        flags.push(findings::flag(group));
    }
    for asked in model.lesson.iter().flat_map(|lesson| &lesson.asked) {
        let node = asked.moment.node;
        all.entry(node).or_default().asks = moments::task(model, node);
    }
    all
}

fn view_beside(node: NodeId, beside: &MoveNotes, link: &Link) -> Html {
    html! {
        <>
            if let Some(task) = &beside.asks {
                <span class="asks" title={task.clone()}>{ tr("asks") }</span>
            }
            { for beside.flags.iter().map(|flag| findings::view_flag(flag, node, link)) }
        </>
    }
}

/// A row of the tree. The main line and those beside it look apart, so that one sees
/// where it goes on.
fn view_row(
    desk: &Desk,
    shown: &Shown,
    beside: &HashMap<NodeId, MoveNotes>,
    model: &ViewModel,
    link: &Link,
) -> Html {
    let at = desk.work().at;
    let row = shown.row;
    let moves = if shown.folded {
        &row.moves[..1]
    } else {
        &row.moves
    };
    let here = moves.iter().find(|m| m.node == at);
    let depth = format!("--depth: {}", row.depth.min(DEEPEST));
    let own = moves
        .iter()
        .filter_map(|m| Some((m.node, beside.get(&m.node)?.clone())));
    let can_fold = row.after > 0 && !row.goes_on && (model.book.can_fold() || shown.folded);
    let fold = can_fold.then(|| Fold {
        folded: shown.folded,
        inside: inside(model, shown),
    });
    let side = (row.depth > 0).then_some("side");
    html! {
        <div key={row.head().node.0} class={classes!("tree-line", side)} style={depth}>
            <RowLine row={row.clone()} {fold} at={here.map(|m| m.node)} beside={own.collect::<Vec<_>>()}
                shared={model.shared()} tongue={spoken().tag()} link={link.clone()} />
        </div>
    }
}

/// What is found in a folded row, in words: "2 faults, 1 remark".
fn inside(model: &ViewModel, shown: &Shown) -> String {
    if !shown.folded {
        return String::new();
    }
    let hidden = model
        .groups
        .iter()
        .filter(|g| model.book.hides(shown, g.at));
    let (mut faults, mut open, mut remarks) = (0, 0, 0);
    for group in hidden {
        *match group.weight {
            Weight::Fault => &mut faults,
            Weight::Open => &mut open,
            Weight::Remark => &mut remarks,
        } += group.findings.len();
    }
    let told = [
        (faults, plural!(faults, "{n} fault", "{n} faults")),
        (open, plural!(open, "{n} open point", "{n} open points")),
        (remarks, plural!(remarks, "{n} remark", "{n} remarks")),
    ];
    let told = told.into_iter().filter(|(n, _)| *n > 0);
    let told: Vec<String> = told.map(|(_, words)| words).collect();
    told.join(", ")
}

/// Whether a row is folded, and what is found in it then.
#[derive(Clone, PartialEq)]
struct Fold {
    folded: bool,
    inside: String,
}

#[derive(Properties, PartialEq)]
struct RowProps {
    row: Rc<BookRow>,
    /// `None` where nothing can be folded.
    fold: Option<Fold>,
    /// Where the author stands, if it is in this row.
    at: Option<NodeId>,
    beside: Vec<(NodeId, MoveNotes)>,
    shared: bool,
    /// The tag of the language that is spoken.
    tongue: &'static str,
    link: Link,
}

/// The moves of a row. A component of its own, so that a row that did not
/// change costs a comparison.
#[component]
fn RowLine(props: &RowProps) -> Html {
    let RowProps { row, link, .. } = props;
    let folded = props.fold.as_ref().is_some_and(|fold| fold.folded);
    let moves = if folded { &row.moves[..1] } else { &row.moves };
    let beside = |node: NodeId| {
        let own = props.beside.iter().find(|(of, _)| *of == node);
        own.map(|(_, beside)| view_beside(node, beside, link))
    };
    html! {
        <div class="tree-row">
            if let Some(fold) = &props.fold {
                { view_fold(row, fold, link) }
            }
            { for moves.iter().enumerate().map(|(i, printed)| html! {
                <>
                    { view_move(printed, i == 0, props.shared, props.at, link) }
                    { for beside(printed.node) }
                    if printed.marks > 0 {
                        <span class="drawn">{ plural!(
                            printed.marks,
                            "{n} mark on the board",
                            "{n} marks on the board",
                        ) }</span>
                    }
                    if !printed.words.is_empty() && props.at != Some(printed.node) {
                        <span class="words">{ &printed.words }</span>
                    }
                </>
            }) }
            if let Some(fold) = props.fold.as_ref().filter(|fold| fold.folded) {
                <span class="hidden-moves">{ hidden(row, fold) }</span>
            }
        </div>
    }
}

/// The button that folds what follows the first move of a row, or unfolds it.
fn view_fold(row: &BookRow, fold: &Fold, link: &Link) -> Html {
    let head = row.head();
    let node = head.node;
    let name = format!("{}{}", head.number, head.text);
    let (face, label) = match fold.folded {
        false => ("\u{2212}", say!("Fold what follows {move}", move = name)),
        true => (
            "+",
            say!("Unfold {move}: {hidden}", move = name, hidden = hidden(row, fold)),
        ),
    };
    html! {
        <button type="button" class="fold" aria-expanded={(!fold.folded).to_string()} aria-label={label}
            onclick={link.reform(move |_| Msg::Board(BoardMsg::Fold(node)))}>{ face }</button>
    }
}

/// What a fold hides: "12 moves, 1 fault in them".
fn hidden(row: &BookRow, fold: &Fold) -> String {
    let moves = plural!(row.after, "{n} move", "{n} moves");
    match fold.inside.as_str() {
        "" => moves,
        inside => say!("{moves}, {faults} in them", moves = moves, faults = inside),
    }
}

fn view_move(
    printed: &Printed,
    leads: bool,
    shared: bool,
    at: Option<NodeId>,
    link: &Link,
) -> Html {
    let node = printed.node;
    let here = Some(node) == at;
    let role = printed.role;
    let told = role.filter(|&r| leads || matches!(r, Role::Refutation | Role::Unclear));
    let word = told.map(|r| tr(role_word(r, printed.foremost, shared)));
    let class = classes!("move", role_class(printed), here.then_some("here"));
    html! {
        <>
            if !printed.before.is_empty() {
                <span class="words">{ &printed.before }</span>
            }
            <span class="pair">
                <button type="button" {class} id={here.then_some("move-here")} tabindex={if here { "0" } else { "-1" }}
                    aria-current={here.then_some("step")} onclick={link.reform(move |_| Msg::Board(BoardMsg::Go(node)))}>
                    <span class="number">{ &printed.number }</span>{ &printed.text }<span class="glyph">{ &printed.glyphs }</span>
                </button>
                if let Some(word) = word {
                    <span class="role">{ word }</span>
                }
            </span>
            if let Some(fault) = &printed.fault {
                <span class="words fault-words">{ fault.sentence(&printed.text) }</span>
            }
        </>
    }
}

/// How words mention a move, so that they follow when it changes.
fn mentions() -> Html {
    let all = [
        ("<move>", tr("the move they belong to")),
        ("<before>", tr("the move before it")),
        ("<reply>", tr("the first move listed after it")),
        ("<line>", tr("all of that line")),
        ("<key>", tr("the move asked for")),
    ];
    html! {
        <details class="move-keys">
            <summary>{ tr("Moves in your words") }</summary>
            <p>{ tr("Write these, and students read the moves, also when you change them later:") }</p>
            <dl>
                { for all.map(|(mention, what)| html! { <div><dt><code>{ mention }</code></dt><dd>{ what }</dd></div> }) }
            </dl>
        </details>
    }
}

/// What is written at a move: its words, its role, and what is done with its line.
fn slip(desk: &Desk, printed: &Printed, sheet: &Sheet, link: &Link, model: &ViewModel) -> Html {
    let node = printed.node;
    let siblings = sheet
        .draft
        .node(node)
        .and_then(|n| sheet.draft.node(n.parent))
        .map_or(&[][..], |p| p.children.as_slice());
    let place = siblings.iter().position(|&c| c == node).unwrap_or(0);
    let name = format!("{}{}", printed.number, printed.text);
    let Some(typed) = sheet.draft.node(node) else {
        return html! {};
    };
    let before = joined(&typed.before);
    html! {
        <>
            { roles(printed, sheet, model, link) }
            if let Some(means) = printed.role.and_then(|role| role_meaning(role, printed.foremost, model.shared())) {
                <p class="means">{ means }</p>
            }
            if !before.is_empty() {
                { before_field(link, node, &say!("Words before {move}", move = name), &before) }
            }
            <div class="slip-words">
                { words_field(link, node, &say!("Words after {move}", move = name), &words(typed)) }
                { line_tools::view(desk, node, &typed.nags, (siblings.len(), place), link) }
            </div>
        </>
    }
}

fn roles(printed: &Printed, sheet: &Sheet, model: &ViewModel, link: &Link) -> Html {
    let node = printed.node;
    let parent = sheet.draft.node(node).map(|n| n.parent);
    let answers_try = parent.and_then(|p| model.role(p)) == Some(Role::Try);
    let choices: &[(&'static str, Claim, bool)] = match printed.role {
        Some(role @ (Role::Key | Role::Continuation | Role::Try)) => &[
            (
                if model.shared() {
                    role_word(Role::Key, printed.first, true)
                } else if !printed.first {
                    phrase("also accepted")
                } else if role == Role::Continuation {
                    phrase("the answer")
                } else {
                    phrase("the key")
                },
                if printed.first {
                    Claim::Plain
                } else {
                    Claim::Accepted
                },
                matches!(role, Role::Key | Role::Continuation),
            ),
            (phrase("a try: it fails"), Claim::Fails, role == Role::Try),
        ],
        Some(role @ (Role::Refutation | Role::Defence)) if answers_try => &[
            (
                phrase("refutes the try"),
                Claim::Plain,
                role == Role::Refutation,
            ),
            (phrase("is answered"), Claim::Fails, role == Role::Defence),
        ],
        _ => &[],
    };
    if choices.is_empty() {
        return html! {};
    }
    html! {
        <div class="row roles" key={node.0} role="group" aria-label={tr("What this move is")}>
            { for choices.iter().map(|&(label, claim, on)| html! {
                <button type="button" aria-pressed={on.to_string()}
                    onclick={link.reform(move |_| Msg::Edit(EditMsg::Claim(node, claim)))}>{ tr(label) }</button>
            }) }
        </div>
    }
}

fn words_field(link: &Link, node: NodeId, label: &str, words: &str) -> Html {
    let oninput = link.reform(move |event: InputEvent| {
        Msg::Edit(EditMsg::Words {
            node,
            text: written(&event),
        })
    });
    prose(link, node, "words-here".into(), label, words, oninput)
}

fn before_field(link: &Link, node: NodeId, label: &str, words: &str) -> Html {
    let oninput = link.reform(move |event: InputEvent| {
        Msg::Edit(EditMsg::WordsBefore {
            node,
            text: written(&event),
        })
    });
    prose(
        link,
        node,
        format!("before-{}", node.0),
        label,
        words,
        oninput,
    )
}

/// A field for words.
fn prose(
    link: &Link,
    node: NodeId,
    id: String,
    label: &str,
    words: &str,
    oninput: Callback<InputEvent>,
) -> Html {
    let rows = (words.len() / 48 + 1).clamp(1, 12).to_string();
    html! {
        <div class="field" key={node.0}>
            <label for={id.clone()}>{ label }</label>
            <textarea {id} {rows} data-puzzle-text="" value={words.to_owned()} {oninput}
                onblur={link.reform(|_| Msg::Edit(EditMsg::FieldLeft))} />
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
