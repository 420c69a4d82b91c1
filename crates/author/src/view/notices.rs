//! Messages to the author, in a row of their own below the page: it goes on
//! scrolling above them, so that none lies over what is to be pressed.

use keyproof::tongue::tr;
use yew::prelude::*;

use super::{Link, button};
use desk::desk::Desk;
use desk::message::{Msg, PageMsg};

pub fn view(desk: &Desk, link: &Link) -> Html {
    html! {
        <div class="desk kp-page notices" role="status" inert={desk.is_finding()}>
            { for desk.notices().iter().map(|notice| {
                let id = notice.id;
                html! {
                    <p key={id} id={format!("notice-{id}")} class={classes!("notice", notice.warns().then_some("warning"))}>
                        <span>{ &notice.text }</span>
                        { for notice.offers.iter().map(|(label, msg)| {
                            let msg = msg.clone();
                            let onclick = Callback::from({
                                let link = link.clone();
                                move |_| {
                                    link.emit(Msg::Page(PageMsg::Dismiss(id)));
                                    link.emit(msg.clone());
                                }
                            });
                            html! { <button type="button" {onclick}>{ label }</button> }
                        }) }
                        { button(link, tr("Close"), Msg::Page(PageMsg::Dismiss(id)), false, "") }
                    </p>
                }
            }) }
        </div>
    }
}
