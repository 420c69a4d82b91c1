//! Giving out: the student's file, the PGN, and a look at the student's page.

use keyproof::course::Standard;
use keyproof::tongue::{plural, say, tr};
use web_sys::{HtmlIFrameElement, HtmlInputElement};
use yew::prelude::*;

use super::{Link, button, chosen as picked, guide, main, typed};
use crate::dom;
use desk::desk::Desk;
use desk::message::{ClassMsg, GiveOutMsg, Msg, Part, Purpose, Scope, TalkMsg, Width};

pub fn view(desk: &Desk, link: &Link) -> Html {
    let many = desk.work().sheets.len() > 1;
    let busy = desk.preparing().is_some();
    let all = if many { Scope::All } else { Scope::Open };
    html! {
        <section class="give-out" aria-labelledby="give-out-head">
            { guide::headed(link, Part::GiveOut, "give-out-head", tr("Give out")) }
            <p>{ tr("One file for your students. It works from disk, without a network.") }</p>
            <div class="row">
                <button type="button" class={main(desk)} id="publish" disabled={busy}
                    onclick={link.reform(|_| Msg::GiveOut(GiveOutMsg::Publish(Scope::Open)))}>{ tr("Save the student\u{2019}s file") }</button>
                if many {
                    { button(link, tr("All puzzles in one file"), Msg::GiveOut(GiveOutMsg::Publish(Scope::All)), busy, "") }
                }
            </div>
            <p class="row">
                <button type="button" id="talk-begin" onclick={link.reform(|_| Msg::Talk(TalkMsg::Begin))}>{ tr("Give a talk") }</button>
                <span>{ tr("before an audience or a camera") }</span>
            </p>
            { held(desk, link, Button::Leaf) }
            { waiting(desk, link, Button::Leaf) }
            { to_class(desk, link) }
            if desk.has_proofs() {
                <label class="with-proofs">
                    <input type="checkbox" id="with-proofs" checked={desk.with_proofs()}
                        onchange={link.reform(|event: Event| Msg::GiveOut(GiveOutMsg::WithProofs(event.target_unchecked_into::<HtmlInputElement>().checked())))} />
                    <span>{ tr("Put the proofs into the file, for anyone to check") }</span>
                </label>
            }
            <details class="frame">
                <summary>{ tr("Show it in a page of your own") }</summary>
                <p>{ tr("Put the file beside the page, and this into it:") }</p>
                <code id="frame">{ desk.frame() }</code>
                <p class="row">
                    { button(link, tr("Copy the frame"), Msg::GiveOut(GiveOutMsg::CopyFrame), false, "") }
                    { guide::about(link, Part::Frame, tr("Show it in a page of your own")) }
                </p>
            </details>
            if many {
                { set_title(desk, link, "set-title") }
            }
            <h3>{ tr("In other forms") }</h3>
            { others(desk, link, all, busy) }
            <p class="row form">
                <span>{ tr("Notation:") }</span>
                { button(link, tr("Save the PGN"), Msg::GiveOut(GiveOutMsg::SavePgn(Scope::Open)), false, "") }
                if many {
                    { button(link, tr("PGN of all puzzles"), Msg::GiveOut(GiveOutMsg::SavePgn(Scope::All)), false, "") }
                }
                { button(link, tr("Save as EPD"), Msg::GiveOut(GiveOutMsg::SaveEpd(all)), false, "") }
            </p>
        </section>
    }
}

/// The button that leads to what the class answered, and how much of it there is.
fn to_class(desk: &Desk, link: &Link) -> Html {
    let count = desk.class().accounts();
    let onclick = link.reform(|_| Msg::Class(ClassMsg::Open(true)));
    html! {
        <p class="row">
            <button type="button" id="class-open" {onclick}>{ tr("What the class answered") }</button>
            if count > 0 {
                <span>{ plural!(count, "{n} account", "{n} accounts") }</span>
            }
        </p>
    }
}

/// What several puzzles given out together are called.
fn set_title(desk: &Desk, link: &Link, id: &'static str) -> Html {
    html! {
        <div class="field">
            <label for={id}>{ tr("Title of several puzzles together") }</label>
            <input {id} type="text" autocomplete="off" value={desk.set_title().to_owned()} placeholder={tr("Chess puzzles")}
                oninput={link.reform(|event: InputEvent| Msg::GiveOut(GiveOutMsg::SetTitle(typed(&event))))} />
        </div>
    }
}

/// What the chosen puzzles can be given out as.
pub fn chosen(desk: &Desk, link: &Link) -> Html {
    let busy = desk.preparing().is_some();
    let scope = Scope::Chosen;
    html! {
        <>
            { set_title(desk, link, "chosen-title") }
            <p class="row">
                { button(link, tr("Student\u{2019}s file"), Msg::GiveOut(GiveOutMsg::Publish(scope)), busy, tr("One file with these puzzles, for your students")) }
                { button(link, "PGN", Msg::GiveOut(GiveOutMsg::SavePgn(scope)), false, "") }
                { button(link, "EPD", Msg::GiveOut(GiveOutMsg::SaveEpd(scope)), false, "") }
            </p>
            { others(desk, link, scope, busy) }
        </>
    }
}

/// What holds back, or is still to come of, what the chosen are given out as.
/// Asked for from the commands too, so it stands where nothing folds it away.
pub fn chosen_waits(desk: &Desk, link: &Link) -> Html {
    html! {
        <>
            { held(desk, link, Button::List) }
            { waiting(desk, link, Button::List) }
        </>
    }
}

/// The same of what is given out once more.
pub fn missed_waits(desk: &Desk, link: &Link) -> Html {
    html! {
        <>
            { held(desk, link, Button::Class) }
            { waiting(desk, link, Button::Class) }
        </>
    }
}

/// Where the button stands that asked for a file.
#[derive(Clone, Copy, PartialEq)]
enum Button {
    Leaf,
    List,
    Class,
}

impl Button {
    fn of(purpose: Purpose) -> Button {
        match purpose.scope() {
            Scope::Open | Scope::All => Button::Leaf,
            Scope::Chosen => Button::List,
            Scope::Missed => Button::Class,
        }
    }
}

/// Handouts and packages for courses.
fn others(desk: &Desk, link: &Link, scope: Scope, busy: bool) -> Html {
    let per_page = desk.per_page();
    let id = format!("per-page-{scope:?}").to_lowercase();
    let onchange = link.reform(|event: Event| {
        let per_page = picked(&event).parse();
        Msg::GiveOut(GiveOutMsg::PerPage(per_page.unwrap_or(4)))
    });
    html! {
        <>
            <p class="row form">
                <label for={id.clone()}>{ tr("Handout, diagrams on a page:") }</label>
                <select {id} {onchange}>
                    { for [2, 4, 6].map(|n| html! { <option value={n.to_string()} selected={n == per_page}>{ n }</option> }) }
                </select>
                { button(link, tr("Save as PDF"), Msg::GiveOut(GiveOutMsg::SavePdf(scope, per_page)), false, "") }
                { button(link, tr("Print"), Msg::GiveOut(GiveOutMsg::PrintHandout(scope, per_page)), false, "") }
                { button(link, tr("Save as a page"), Msg::GiveOut(GiveOutMsg::SaveHandout(scope, per_page)), false, tr("An HTML file, to print later")) }
            </p>
            <p class="row form">
                <span>{ tr("Package for a course:") }</span>
                { button(link, "SCORM 1.2", Msg::GiveOut(GiveOutMsg::SaveCourse(scope, Standard::Scorm12)), busy, "") }
                { button(link, "cmi5", Msg::GiveOut(GiveOutMsg::SaveCourse(scope, Standard::Cmi5)), busy, "") }
            </p>
        </>
    }
}

/// Why a file is held back, beside the button that asked for it.
fn held(desk: &Desk, link: &Link, button: Button) -> Html {
    let held = desk.held();
    let Some((purpose, why)) = held.filter(|(purpose, _)| Button::of(*purpose) == button) else {
        return html! {};
    };
    html! {
        <div class="held" role="alert">
            <ul>{ for why.iter().map(|w| html! { <li>{ w }</li> }) }</ul>
            <button type="button" id="publish-anyway" onclick={link.reform(move |_| Msg::GiveOut(GiveOutMsg::PublishAllTheSame(purpose)))}>{ tr("Save it all the same") }</button>
        </div>
    }
}

/// How far the reasons are that a file waits for.
fn waiting(desk: &Desk, link: &Link, at: Button) -> Html {
    let purpose = desk
        .preparing()
        .filter(|purpose| Button::of(*purpose) == at);
    let (Some(_), Some((done, of))) = (purpose, desk.waiting_for_reasons()) else {
        return html! {};
    };
    html! {
        <div class="row waiting" role="status">
            <span>{ say!(
                "Finding the reasons: {n} of {of} have theirs.",
                n = done.to_string(),
                of = of.to_string(),
            ) }</span>
            { button(link, tr("Do without the rest"), Msg::GiveOut(GiveOutMsg::WithoutReasons), false, "") }
            { button(link, tr("Cancel"), Msg::GiveOut(GiveOutMsg::GiveUpFile), false, "") }
        </div>
    }
}

#[derive(Properties, PartialEq)]
struct ShownProps {
    page: AttrValue,
}

/// A student's page in a frame. The frame is filled by script, since a policy of trusted
/// types takes no page as an attribute.
#[component]
fn Shown(props: &ShownProps) -> Html {
    let frame = use_node_ref();
    use_effect_with((frame.clone(), props.page.clone()), |(frame, page)| {
        if let Some(frame) = frame.cast::<HtmlIFrameElement>() {
            dom::fill(&frame, page);
        }
    });
    html! {
        <iframe ref={frame} title={tr("The student\u{2019}s page")} sandbox="allow-scripts" allowfullscreen=true></iframe>
    }
}

/// The student's page itself, over the desk.
pub fn preview(desk: &Desk, link: &Link) -> Html {
    let Some(page) = desk.preview() else {
        return html! {};
    };
    let onkeydown = {
        let link = link.clone();
        Callback::from(move |event: KeyboardEvent| {
            if event.key() == "Escape" {
                link.emit(Msg::GiveOut(GiveOutMsg::PreviewEnd));
            }
        })
    };
    html! {
        <aside class={classes!("preview", (desk.preview_width() == Width::Desk).then_some("whole"))} hidden={desk.guide().is_some()} aria-label={tr("As the student sees it")} {onkeydown}>
            <p class="row">
                <b>{ tr("As the student sees it") }</b>
                { for [(Width::Phone, tr("Phone width")), (Width::Desk, tr("Desk width"))].map(|(width, label)| html! {
                    <button type="button" aria-pressed={(desk.preview_width() == width).to_string()}
                        onclick={link.reform(move |_| Msg::GiveOut(GiveOutMsg::PreviewWidth(width)))}>{ label }</button>
                }) }
                <button type="button" id="preview-end" onclick={link.reform(|_| Msg::GiveOut(GiveOutMsg::PreviewEnd))}>{ tr("Back to the desk") }</button>
            </p>
            <Shown page={AttrValue::from(page.clone())} />
        </aside>
    }
}
