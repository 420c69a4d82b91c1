//! The board as elements of a page: the drawing in layers, and over it the grid
//! of cells that keys and screen readers use. Knows no rules and no events.

use keyproof::diagram;
use keyproof::tongue::tr;
use shakmaty::{Board, Piece, Square};
use wasm_bindgen::JsCast;
use web_sys::{Element, HtmlElement};

use crate::dom;
use crate::drawing::{self, Glide, States};
use crate::hand::{self, Hand, Ways};

/// A board in a page.
pub struct Sheet {
    pub root: Element,
    pub grid: Element,
    layers: [Layer; 5],
    cells: Vec<Element>,
    id: String,
    black_below: Option<bool>,
}

/// What is drawn at once, in the order it lies on the paper.
#[derive(Clone, Copy)]
enum At {
    Field,
    Under,
    Men,
    Over,
    Floating,
}

/// A group of the drawing and what stands in it.
struct Layer {
    group: Element,
    holds: String,
}

impl Layer {
    fn fill(&mut self, svg: String) {
        if svg != self.holds {
            self.group.set_inner_html(&svg);
            self.holds = svg;
        }
    }
}

impl Sheet {
    /// An empty board. `id` is a plain word, unique among the boards of the
    /// page.
    pub fn new(id: &str) -> Sheet {
        let root = dom::element("div", "kp-board");
        dom::set(&root, "id", id);
        let mut svg = String::from("<svg class=\"kp-diagram\" aria-hidden=\"true\" viewBox=\"");
        svg.push_str(diagram::VIEW_BOX);
        svg.push_str("\"><g></g><g></g><g></g><g></g><g></g></svg>");
        root.set_inner_html(&svg);
        let mut group = root
            .first_element_child()
            .and_then(|svg| svg.first_element_child());
        let layers = std::array::from_fn(|_| {
            let this = group.take().expect("five groups");
            group = this.next_element_sibling();
            Layer {
                group: this,
                holds: String::new(),
            }
        });
        let grid = dom::element("div", "kp-grid");
        dom::set(&grid, "role", "grid");
        let mut cells = Vec::with_capacity(64);
        for _ in 0..8 {
            let row = dom::element("div", "");
            dom::set(&row, "role", "row");
            for _ in 0..8 {
                let cell = dom::element("div", "");
                dom::set(&cell, "role", "gridcell");
                dom::add(&row, &cell);
                cells.push(cell);
            }
            dom::add(&grid, &row);
        }
        dom::add(&root, &grid);
        Sheet {
            root,
            grid,
            layers,
            cells,
            id: id.to_owned(),
            black_below: None,
        }
    }

    /// Draws everything anew that has changed.
    pub fn draw(
        &mut self,
        (board, black_below): (&Board, bool),
        states: &States,
        (glides, serial): (&[Glide], u32),
        (hand, ways): (&Hand, Ways),
    ) {
        if self.black_below != Some(black_below) {
            self.black_below = Some(black_below);
            let field = diagram::field(&self.id, black_below);
            self.layers[At::Field as usize].fill(field);
        }
        self.layers[At::Under as usize].fill(drawing::under(states, black_below));
        self.layers[At::Men as usize].fill(drawing::men(board, black_below, glides, serial));
        self.layers[At::Over as usize].fill(drawing::over(states.marks, black_below));
        self.label_cells(board, hand, ways);
    }

    /// Puts the middle of the man of a square under the pointer.
    pub fn drag(&mut self, from: Square, at: (i32, i32)) {
        let men = &mut self.layers[At::Men as usize];
        let mut selector = String::from("[data-at=");
        selector.push_str(&from.to_string());
        selector.push(']');
        if let Ok(Some(man)) = men.group.query_selector(&selector) {
            dom::set(&man, "transform", &translated(at));
            dom::add(&men.group, &man);
            // Whatever comes next is drawn anew.
            men.holds.clear();
        }
    }

    /// Shows a man from outside the board under the pointer, or none.
    pub fn float(&mut self, man: Option<(Piece, (i32, i32))>) {
        let svg = man.map(|(piece, at)| {
            let mut svg = String::from("<g transform=\"");
            svg.push_str(&translated(at));
            svg.push_str("\">");
            svg.push_str(diagram::man(piece));
            svg.push_str("</g>");
            svg
        });
        self.layers[At::Floating as usize].fill(svg.unwrap_or_default());
    }

    /// The square under a point of the window, and the point in drawing units.
    pub fn locate(&self, x: i32, y: i32) -> (Option<Square>, (i32, i32)) {
        let area = self.grid.get_bounding_client_rect();
        let side = f64::from(8 * diagram::SQUARE);
        let across = ((f64::from(x) - area.left()) / area.width() * side) as i32;
        let down = ((f64::from(y) - area.top()) / area.height() * side) as i32;
        let (column, row) = (
            across.div_euclid(diagram::SQUARE),
            down.div_euclid(diagram::SQUARE),
        );
        let inside = (0..8).contains(&column) && (0..8).contains(&row);
        let square = inside.then(|| hand::at(column, row, self.black_below == Some(true)));
        (square, (across, down))
    }

    /// Puts the browser's focus on the cell of a square.
    pub fn focus(&self, square: Square) {
        let (column, row) = diagram::corner(square, self.black_below == Some(true));
        let cell = &self.cells[(row / diagram::SQUARE * 8 + column / diagram::SQUARE) as usize];
        let _ = cell.unchecked_ref::<HtmlElement>().focus();
    }

    fn label_cells(&self, board: &Board, hand: &Hand, ways: Ways) {
        let black_below = self.black_below == Some(true);
        for (i, cell) in self.cells.iter().enumerate() {
            let square = hand::at(i as i32 % 8, i as i32 / 8, black_below);
            let name = square.to_string();
            let mut label = name.clone();
            label.push_str(", ");
            label.push_str(board.piece_at(square).map_or(tr("empty"), drawing::name));
            let reached = hand.held().is_some_and(|from| ways.lands(from, square));
            if reached && matches!(ways, Ways::Moves(_)) {
                label.push_str(", ");
                label.push_str(tr("can be reached"));
            }
            dom::set(cell, "data-square", &name);
            dom::set(cell, "aria-label", &label);
            dom::set(
                cell,
                "aria-selected",
                if hand.held() == Some(square) {
                    "true"
                } else {
                    "false"
                },
            );
            dom::set(
                cell,
                "tabindex",
                if hand.cursor() == square { "0" } else { "-1" },
            );
        }
    }
}

fn translated((x, y): (i32, i32)) -> String {
    let mut text = String::from("translate(");
    text.push_str(&(x - 22).to_string());
    text.push(' ');
    text.push_str(&(y - 22).to_string());
    text.push(')');
    text
}
