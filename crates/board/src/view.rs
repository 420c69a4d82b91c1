//! Drawing that both boards share: the diagram with its men and marks, and the
//! grid of cells that keys and screen readers use.

use std::fmt::Write as _;

use keyproof::diagram;
use shakmaty::{Board, Color, Move, Piece, Role, Square};
use web_sys::{Element, HtmlElement};
use yew::prelude::*;
use yew::virtual_dom::VNode;

use crate::hand::{self, Hand, Ways};
use crate::{LineKind, Mark};

/// The man that follows the pointer: its square and where its middle is, in
/// drawing units.
pub type Carried = Option<(Square, (i32, i32))>;

/// A man that came from elsewhere: its square and the way back in drawing units.
pub type Glide = (Square, (i32, i32));

/// The states of squares, told by shape.
#[derive(Default)]
pub struct States<'a> {
    pub last: Option<Move>,
    pub check: Option<Square>,
    pub held: Option<Square>,
    pub targets: Vec<Square>,
    pub marks: &'a [Mark],
}

/// A man's name: "white knight".
pub fn name(piece: Piece) -> &'static str {
    const NAMES: [[&str; 6]; 2] = [
        [
            "white pawn",
            "white knight",
            "white bishop",
            "white rook",
            "white queen",
            "white king",
        ],
        [
            "black pawn",
            "black knight",
            "black bishop",
            "black rook",
            "black queen",
            "black king",
        ],
    ];
    NAMES[usize::from(piece.color == Color::Black)][piece.role as usize - 1]
}

/// A man's name without its side: "knight".
pub fn role_name(role: Role) -> &'static str {
    &name(Piece {
        color: Color::White,
        role,
    })["white ".len()..]
}

/// A man alone in an SVG element.
pub fn lone_man(color: Color, role: Role) -> Html {
    html! {
        <svg viewBox="0 0 45 45" aria-hidden="true">{ raw(diagram::man(Piece { color, role })) }</svg>
    }
}

/// A man from outside the board under the pointer.
pub fn floating(piece: Piece, (x, y): (i32, i32)) -> Html {
    let mut place = String::new();
    let _ = write!(place, "translate({} {})", x - 22, y - 22);
    html! {
        <svg class="kp-diagram kp-floating" viewBox={diagram::VIEW_BOX} aria-hidden="true">
            <g transform={place}>{ raw(diagram::man(piece)) }</g>
        </svg>
    }
}

/// The drawn board.
pub fn drawing(
    field: &AttrValue,
    board: &Board,
    black_below: bool,
    states: &States,
    carried: Carried,
    (serial, glides): (u32, &[Glide]),
) -> Html {
    let man = |(square, piece): (Square, Piece)| -> Html {
        let dragged = carried.filter(|(from, _)| *from == square);
        let (x, y) = match dragged {
            Some((_, (x, y))) => (x - 22, y - 22),
            None => diagram::corner(square, black_below),
        };
        let mut place = String::new();
        let _ = write!(place, "translate({x} {y})");
        let glide = glides
            .iter()
            .find(|(to, _)| *to == square && dragged.is_none());
        let (mut key, mut way) = (u32::from(square) | (piece.role as u32) << 6, None);
        if let Some((_, (dx, dy))) = glide {
            key |= serial << 10;
            let mut style = String::new();
            let _ = write!(style, "--dx:{dx}px;--dy:{dy}px");
            way = Some(style);
        }
        let class = way.is_some().then_some("kp-glide");
        html! {
            <g key={key} transform={place}>
                <g {class} style={way}>{ raw(diagram::man(piece)) }</g>
            </g>
        }
    };
    let moving = |square: Square| {
        glides.iter().any(|(to, _)| *to == square)
            || carried.is_some_and(|(from, _)| from == square)
    };
    let (above, below): (Vec<_>, Vec<_>) = board.iter().partition(|(square, _)| moving(*square));
    html! {
        <svg class="kp-diagram" viewBox={diagram::VIEW_BOX} aria-hidden="true">
            <g>{ raw(field.clone()) }</g>
            <g>{ raw(under(states, black_below)) }</g>
            <g>{ for below.into_iter().chain(above).map(man) }</g>
            <g>{ raw(over(states.marks, black_below)) }</g>
        </svg>
    }
}

/// The rows of cells over the drawing.
pub fn cells(board: &Board, black_below: bool, hand: &Hand, ways: Ways) -> Html {
    let cell = |square: Square| -> Html {
        let mut label = square.to_string();
        label.push_str(", ");
        label.push_str(board.piece_at(square).map_or("empty", name));
        if hand
            .held()
            .is_some_and(|from| matches!(ways, Ways::Moves(_)) && ways.lands(from, square))
        {
            label.push_str(", can be reached");
        }
        html! {
            <div role="gridcell" data-square={square.to_string()} aria-label={label}
                aria-selected={(hand.held() == Some(square)).to_string()}
                tabindex={if hand.cursor() == square { "0" } else { "-1" }} />
        }
    };
    html! {
        for row in 0..8 {
            <div role="row">{ for (0..8).map(|column| cell(hand::at(column, row, black_below))) }</div>
        }
    }
}

/// The square under a point of the window, and the point in drawing units.
pub fn locate(
    grid: &NodeRef,
    x: i32,
    y: i32,
    black_below: bool,
) -> Option<(Option<Square>, (i32, i32))> {
    let area = grid.cast::<Element>()?.get_bounding_client_rect();
    let side = f64::from(8 * diagram::SQUARE);
    let across = (f64::from(x) - area.left()) / area.width() * side;
    let down = (f64::from(y) - area.top()) / area.height() * side;
    let inside = (0.0..side).contains(&across) && (0.0..side).contains(&down);
    let unit = f64::from(diagram::SQUARE);
    let square =
        inside.then(|| hand::at((across / unit) as i32, (down / unit) as i32, black_below));
    Some((square, (across as i32, down as i32)))
}

/// Puts the browser's focus on the cell of a square.
pub fn focus_cell(grid: &NodeRef, square: Square) {
    let selector = format_cell(square);
    if let Some(cell) = grid
        .cast::<Element>()
        .and_then(|grid| grid.query_selector(&selector).ok().flatten())
    {
        let _ = wasm_bindgen::JsCast::unchecked_into::<HtmlElement>(cell).focus();
    }
}

fn format_cell(square: Square) -> String {
    let mut selector = String::from("[data-square=");
    selector.push_str(&square.to_string());
    selector.push(']');
    selector
}

/// Our own drawings only; nothing that an author typed passes here.
fn raw(svg: impl Into<AttrValue>) -> Html {
    VNode::from_html_unchecked(svg.into())
}

/// A shape drawn on a square, with a halo of paper under it.
fn shape(svg: &mut String, square: Square, black_below: bool, class: &str, path: &str) {
    let (x, y) = diagram::corner(square, black_below);
    let _ = write!(
        svg,
        "<g class=\"{class}\" transform=\"translate({x} {y})\"><path class=\"kp-halo\" d=\"{path}\"/><path d=\"{path}\"/></g>"
    );
}

/// What lies under the men.
fn under(states: &States, black_below: bool) -> String {
    const BRACKETS: &str = "M9 3.5H4V41.5H9M36 3.5H41V41.5H36";
    const TICKS: &str = "M3 11V3H11M34 3H42V11M42 34V42H34M11 42H3V34";
    const FRAME: &str = "M3 3H42V42H3Z";
    const RINGS: &str = "M1.6 22.5a20.9 20.9 0 1 0 41.8 0a20.9 20.9 0 1 0-41.8 0M5 22.5a17.5 17.5 0 1 0 35 0a17.5 17.5 0 1 0-35 0";
    let mut svg = String::new();
    if let Some(mv) = states.last {
        for square in mv.from().into_iter().chain([hand::landing(mv)]) {
            shape(&mut svg, square, black_below, "kp-last", BRACKETS);
        }
    }
    if let Some(square) = states.check {
        shape(&mut svg, square, black_below, "kp-check", RINGS);
    }
    if let Some(square) = states.held {
        shape(&mut svg, square, black_below, "kp-held", FRAME);
    }
    for &square in &states.targets {
        shape(&mut svg, square, black_below, "kp-target", TICKS);
    }
    svg
}

/// What lies over the men.
fn over(marks: &[Mark], black_below: bool) -> String {
    const RING: &str = "M2.5 22.5a20 20 0 1 0 40 0a20 20 0 1 0-40 0";
    let class = |kind: LineKind| match kind {
        LineKind::Answer => "kp-answer",
        LineKind::Try => "kp-try",
        LineKind::Threat => "kp-threat",
    };
    let mut svg = String::new();
    for mark in marks {
        match *mark {
            Mark::Ring { square, kind } => shape(&mut svg, square, black_below, class(kind), RING),
            Mark::Line { from, to, kind } => {
                let (shaft, head) = line(from, to, black_below);
                let _ = write!(
                    svg,
                    "<g class=\"{}\"><path class=\"kp-halo\" d=\"{shaft}{head}\"/><path d=\"{shaft}\"/>\
                     <path class=\"kp-head\" d=\"{head}\"/></g>",
                    class(kind)
                );
            }
        }
    }
    svg
}

/// A line between the middles of two squares: its shaft and its open head, as
/// paths. Whole units do, and spare the code that writes fractions.
fn line(from: Square, to: Square, black_below: bool) -> (String, String) {
    let middle = |square| {
        let (x, y) = diagram::corner(square, black_below);
        (x as f32 + 22.5, y as f32 + 22.5)
    };
    let ((x, y), (u, v)) = (middle(from), middle(to));
    let length = ((u - x) * (u - x) + (v - y) * (v - y)).sqrt().max(1.0);
    let (dx, dy) = ((u - x) / length, (v - y) / length);
    let point = |text: &mut String, letter: char, x: f32, y: f32| {
        let _ = write!(text, "{letter}{} {}", x.round() as i32, y.round() as i32);
    };
    let (tip_x, tip_y) = (u - 7.0 * dx, v - 7.0 * dy);
    let (back_x, back_y) = (tip_x - 10.0 * dx, tip_y - 10.0 * dy);
    let (mut shaft, mut head) = (String::new(), String::new());
    point(&mut shaft, 'M', x + 12.0 * dx, y + 12.0 * dy);
    point(&mut shaft, 'L', tip_x, tip_y);
    point(&mut head, 'M', back_x - 6.0 * dy, back_y + 6.0 * dx);
    point(&mut head, 'L', tip_x, tip_y);
    point(&mut head, 'L', back_x + 6.0 * dy, back_y - 6.0 * dx);
    (shaft, head)
}
