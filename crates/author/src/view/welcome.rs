//! The empty desk: three ways in.

use keyproof::tongue::tr;
use yew::prelude::*;

use super::{Link, button, contents, main};
use desk::desk::Desk;
use desk::keeping::Stage;
use desk::message::{ListMsg, Msg};

pub fn view(desk: &Desk, link: &Link) -> Html {
    if matches!(desk.saving().stage, Stage::Loading(_)) {
        return html! { <p class="welcome">{ tr("Opening your desk \u{2026}") }</p> };
    }
    html! {
        <section class="welcome leaf" aria-labelledby="welcome-head">
            <h2 id="welcome-head">{ tr("A chess puzzle, proved before anyone sees it") }</h2>
            <p>{ tr("You bring a position and its solution. Every claim in it is proved while you write: that the key mates, that nothing else does, that each defence is answered. Then you give out one file, and your students solve it in any browser. Bring a game, and it becomes a lesson that stops and asks.") }</p>
            <ol class="ways">
                <li>
                    <h3>{ tr("Set up a position") }</h3>
                    <p>{ tr("Put the men on the board, then play the solution in.") }</p>
                    <button type="button" class={main(desk)} onclick={link.reform(|_| Msg::List(ListMsg::New))}>{ tr("Set up a position") }</button>
                </li>
                <li>
                    <h3>{ tr("Bring a game or a FEN") }</h3>
                    <p>{ tr("Open a PGN file, drop it here, or paste it anywhere on this page.") }</p>
                    if desk.paste_box() {
                        { contents::paste_box(desk, link) }
                    } else {
                        <span class="row">
                            { contents::open_file(link, tr("Open PGN \u{2026}")) }
                            { button(link, tr("Paste \u{2026}"), Msg::List(ListMsg::PasteBox(true)), false, "") }
                            { button(link, tr("Play a game in"), Msg::List(ListMsg::NewGame), false, "") }
                        </span>
                    }
                </li>
                <li>
                    <h3>{ tr("Look at an example") }</h3>
                    <p>{ tr("A mate in two, with a try, every defence, and words; or a game that stops and asks.") }</p>
                    <span class="row">
                        { button(link, tr("Open the example"), Msg::List(ListMsg::Example), false, "") }
                        { button(link, tr("Open a lesson"), Msg::List(ListMsg::ExampleLesson), false, "") }
                    </span>
                </li>
            </ol>
        </section>
    }
}
