//! The board as elements of a page: the drawing in layers, and over it the grid
//! of cells that keys and screen readers use. Knows no rules and no events.

use model::tongue::tr;
use play::diagram;
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
    /// Tells a screen reader of the move that was played.
    told: Element,
    layers: Vec<Layer>,
    /// The man of each square, in the layer of the men.
    men: Vec<Layer>,
    cells: Vec<Cell>,
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

/// A cell of the grid and what it tells of its square.
struct Cell {
    element: Element,
    square: String,
    label: String,
    held: bool,
    here: bool,
}

impl Cell {
    /// Tells what is not told yet: a page has work with each attribute that is
    /// set, even to what it is.
    fn tell(&mut self, square: String, label: String, held: bool, here: bool) {
        if square != self.square {
            dom::set(&self.element, "data-square", &square);
            self.square = square;
        }
        if label != self.label {
            dom::set(&self.element, "aria-label", &label);
            self.label = label;
        }
        if held != self.held {
            let told = if held { "true" } else { "false" };
            dom::set(&self.element, "aria-selected", told);
            self.held = held;
        }
        if here != self.here {
            dom::set(&self.element, "tabindex", if here { "0" } else { "-1" });
            self.here = here;
        }
    }
}

impl Layer {
    /// Makes an element of so many layers.
    fn stack(element: &Element, count: usize) -> Vec<Layer> {
        dom::draw(element, &"<g></g>".repeat(count));
        let mut group = element.first_element_child();
        let mut layers = Vec::with_capacity(count);
        while let Some(this) = group {
            group = this.next_element_sibling();
            layers.push(Layer {
                group: this,
                holds: String::new(),
            });
        }
        layers
    }

    /// Draws something else, and tells whether it is.
    fn fill(&mut self, svg: String) -> bool {
        let other = svg != self.holds;
        if other {
            dom::draw(&self.group, &svg);
            self.holds = svg;
        }
        other
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
        svg.push_str("\"></svg>");
        let svg = dom::drawn(&svg);
        dom::add(&root, &svg);
        let layers = Layer::stack(&svg, 5);
        let men = Layer::stack(&layers[At::Men as usize].group, 64);
        let grid = dom::element("div", "kp-grid");
        dom::set(&grid, "role", "grid");
        let mut cells = Vec::with_capacity(64);
        for _ in 0..8 {
            let row = dom::element("div", "");
            dom::set(&row, "role", "row");
            for _ in 0..8 {
                let cell = dom::element("div", "");
                dom::set(&cell, "role", "gridcell");
                dom::set(&cell, "aria-selected", "false");
                dom::set(&cell, "tabindex", "-1");
                dom::add(&row, &cell);
                cells.push(Cell {
                    element: cell,
                    square: String::new(),
                    label: String::new(),
                    held: false,
                    here: false,
                });
            }
            dom::add(&grid, &row);
        }
        dom::add(&root, &grid);
        let told = dom::element("p", "kp-hidden");
        dom::set(&told, "role", "status");
        dom::add(&root, &told);
        Sheet {
            root,
            grid,
            told,
            layers,
            men,
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
        // Square by square: a page has work with each man that is drawn anew.
        for (square, man) in Square::ALL.into_iter().zip(&mut self.men) {
            let other = man.fill(drawing::man(board, square, black_below, glides, serial));
            if other && glides.iter().any(|(to, _)| *to == square) {
                dom::add(&self.layers[At::Men as usize].group, &man.group);
            }
        }
        self.layers[At::Over as usize].fill(diagram::marks(states.marks, black_below));
        self.label_cells(board, hand, ways);
    }

    /// Says something to a screen reader.
    pub fn tell(&self, words: &str) {
        self.told.set_text_content(Some(words));
    }

    /// Puts the middle of the man of a square under the pointer.
    pub fn drag(&mut self, from: Square, at: (i32, i32)) {
        let man = &mut self.men[from as usize];
        if let Some(drawing) = man.group.first_element_child() {
            dom::set(&drawing, "transform", &translated(at));
            dom::add(&self.layers[At::Men as usize].group, &man.group);
            // Whatever comes next is drawn anew.
            man.holds = String::from("elsewhere");
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
        let _ = cell.element.unchecked_ref::<HtmlElement>().focus();
    }

    fn label_cells(&mut self, board: &Board, hand: &Hand, ways: Ways) {
        let black_below = self.black_below == Some(true);
        for (i, cell) in self.cells.iter_mut().enumerate() {
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
            let held = hand.held() == Some(square);
            cell.tell(name, label, held, hand.cursor() == square);
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
