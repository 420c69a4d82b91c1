//! Saving the diagram that is shown.

use keyproof::tongue::tr;
use web_sys::HtmlInputElement;
use yew::prelude::*;

use super::{Link, button, chosen, guide};
use desk::desk::Desk;
use desk::message::{GiveOutMsg, Msg, Part, PictureChange};

const WIDTHS: [u32; 4] = [400, 800, 1200, 2400];

pub fn view(desk: &Desk, link: &Link) -> Html {
    let picturing = desk.picturing();
    let on_width = link.reform(move |event: Event| {
        let width = chosen(&event).parse().unwrap_or(picturing.width);
        Msg::GiveOut(GiveOutMsg::Picture(PictureChange::Width(width)))
    });
    let on_coordinates = link.reform(|event: Event| {
        let input: HtmlInputElement = event.target_unchecked_into();
        Msg::GiveOut(GiveOutMsg::Picture(PictureChange::Coordinates(
            input.checked(),
        )))
    });
    html! {
        <details class="picture">
            <summary>{ tr("Save this diagram") }</summary>
            <p class="row">
                <label>
                    <input type="checkbox" id="picture-coordinates" checked={picturing.coordinates} onchange={on_coordinates} />
                    { " " }{ tr("with coordinates") }
                </label>
                <label for="picture-width">{ tr("Width of a PNG:") }</label>
                <select id="picture-width" onchange={on_width}>
                    { for WIDTHS.into_iter().map(|width| html! {
                        <option value={width.to_string()} selected={width == picturing.width}>{ width }</option>
                    }) }
                </select>
            </p>
            <p class="row">
                { button(link, tr("Save as SVG"), Msg::GiveOut(GiveOutMsg::Picture(PictureChange::SaveSvg)), false, "") }
                { button(link, tr("Save as PNG"), Msg::GiveOut(GiveOutMsg::Picture(PictureChange::SavePng)), false, "") }
                { guide::about(link, Part::Picture, tr("Save this diagram")) }
            </p>
        </details>
    }
}
