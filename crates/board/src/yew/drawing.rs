//! A drawing for the eye, made once for as long as it is the same.

use yew::prelude::*;

use crate::dom;

#[derive(Properties, PartialEq)]
pub struct DrawingProps {
    /// SVG with one element around it, of what drawings have (`web/draw.js`).
    pub svg: AttrValue,
}

/// A drawing as an element of the page.
#[component]
pub fn Drawing(props: &DrawingProps) -> Html {
    let drawn = use_memo(props.svg.clone(), |svg| dom::drawn(svg));
    Html::VRef((*drawn).clone().into())
}
