//! A board to play on, in a page.

use std::cell::RefCell;
use std::rc::Rc;

use model::notation::moves::landing;
use model::tongue::{Tongue, spoken, tr};
use play::diagram;
use shakmaty::{Board, Color, Move, Piece, Role, Square};
use wasm_bindgen::JsCast;
use web_sys::{Element, Event, HtmlElement, KeyboardEvent, PointerEvent};

use crate::dom::{self, Listener};
use crate::drawing::{self, Ending, Glide, States};
use crate::hand::{self, Hand, Key, Outcome, Ways};
use crate::sheet::Sheet;
use crate::{LineKind, Mark};

/// What a [`PlayBoard`] shows and takes.
#[derive(Clone, PartialEq)]
pub struct Shown {
    /// The board's name for a screen reader: "Position after 1...Kf8".
    pub label: String,
    /// The men. A change glides into place when it is that of one move or one
    /// move taken back.
    pub position: Board,
    pub black_below: bool,
    /// The moves the user may play; empty: the board only shows.
    pub moves: Vec<Move>,
    /// The last move, in brackets.
    pub last: Option<Move>,
    /// The square of a king in check, in a double ring.
    pub check: Option<Square>,
    /// Whether that king is mated.
    pub mate: bool,
    /// Lines and rings over the men.
    pub marks: Vec<Mark>,
}

/// A board to play on by dragging, by clicking from and to, and by keyboard.
pub struct PlayBoard {
    state: Rc<RefCell<State>>,
    _listener: Listener,
}

impl PlayBoard {
    /// An empty board, in the language that is spoken now. `id` is a plain word,
    /// unique among the boards of the page; `on_move` is told of moves the user
    /// plays.
    pub fn new(id: &str, on_move: Rc<dyn Fn(Move)>) -> PlayBoard {
        let sheet = Sheet::new(id);
        let root = sheet.root.clone();
        let shown = Shown {
            label: String::new(),
            position: Board::empty(),
            black_below: false,
            moves: vec![],
            last: None,
            check: None,
            mate: false,
            marks: vec![],
        };
        let state = Rc::new(RefCell::new(State {
            sheet,
            shown,
            hand: Hand::new(Square::E1),
            choosing: None,
            chooser: None,
            glides: vec![],
            serial: 0,
            dragged: None,
            pencil: Pencil::default(),
            tongue: spoken(),
        }));
        let handler = state.clone();
        let listener = Listener::new(
            &root,
            &[
                "pointerdown",
                "pointermove",
                "pointerup",
                "pointercancel",
                "keydown",
                "click",
            ],
            Box::new(move |event| {
                let played = handler.borrow_mut().take(&event);
                let drawn = handler.borrow_mut().pencil.hand_over();
                // The caller may draw again at once, so the state must be free.
                if let Some(mv) = played {
                    on_move(mv);
                }
                if let Some((tell, mark)) = drawn {
                    tell(mark);
                }
            }),
        );
        PlayBoard {
            state,
            _listener: listener,
        }
    }

    /// The board's element.
    pub fn element(&self) -> Element {
        self.state.borrow().sheet.root.clone()
    }

    /// Puts the browser's focus on the board.
    pub fn focus(&self) {
        let state = self.state.borrow();
        state.sheet.focus(state.hand.cursor());
    }

    /// Shows something else. What was drawn by hand goes when the men move.
    pub fn show(&self, shown: Shown) {
        self.state.borrow_mut().show(shown);
    }

    /// Takes up the pencil, with which drags draw lines and clicks rings, or
    /// lays it down. The same mark drawn again goes. With Shift held the
    /// pencil is always at hand.
    pub fn take_pencil(&self, up: bool) {
        let mut state = self.state.borrow_mut();
        state.pencil.up = up;
        state.pencil.from = None;
        state.draw();
    }

    /// Gives each mark drawn to the caller, who keeps it, in lines of a kind.
    pub fn give_marks(&self, kind: LineKind, tell: Rc<dyn Fn(Mark)>) {
        let mut state = self.state.borrow_mut();
        state.pencil.kind = kind;
        state.pencil.tell = Some(tell);
    }

    /// Says its words in another language from now on. What is held, drawn or to be
    /// chosen stays, and so does the focus.
    pub fn speak(&self, tongue: Tongue) {
        let mut state = self.state.borrow_mut();
        state.tongue = tongue;
        tongue.speaks(|| state.say_anew());
    }

    /// Wipes off what was drawn by hand.
    pub fn wipe(&self) {
        let mut state = self.state.borrow_mut();
        state.pencil.drawn.clear();
        state.draw();
    }
}

/// Takes a mark that was drawn.
type Tell = Rc<dyn Fn(Mark)>;

/// What is drawn on the board by hand.
#[derive(Default)]
struct Pencil {
    up: bool,
    kind: LineKind,
    /// Where the mark that is being drawn begins.
    from: Option<Square>,
    drawn: Vec<Mark>,
    /// Takes the marks that are drawn, where the caller keeps them.
    tell: Option<Tell>,
}

impl Pencil {
    /// Ends a mark: a line, or a ring where it ends where it began.
    fn end(&mut self, to: Square) {
        let Some(from) = self.from.take() else { return };
        let kind = self.kind;
        let mark = if from == to {
            Mark::Ring { square: to, kind }
        } else {
            Mark::Line { from, to, kind }
        };
        match self.drawn.iter().position(|&other| other == mark) {
            Some(same) => {
                self.drawn.remove(same);
            }
            None => self.drawn.push(mark),
        }
    }

    /// The mark just drawn, and who keeps it.
    fn hand_over(&mut self) -> Option<(Tell, Mark)> {
        let tell = self.tell.clone()?;
        Some((tell, self.drawn.pop()?))
    }
}

struct State {
    sheet: Sheet,
    shown: Shown,
    hand: Hand,
    /// A pawn that was carried to its last rank, until the man is chosen.
    choosing: Option<(Square, Square)>,
    chooser: Option<Element>,
    glides: Vec<Glide>,
    serial: u32,
    /// The move that a drag just played: it does not glide.
    dragged: Option<(Square, Square)>,
    pencil: Pencil,
    /// What its words are said in.
    tongue: Tongue,
}

impl State {
    fn say_anew(&mut self) {
        self.sheet.tell("");
        if let Some((from, to)) = self.choosing {
            let focused = dom::document().active_element();
            self.close_chooser();
            self.open_chooser(from, to, &hand::choices(&self.shown.moves, from, to));
            if let Some(focused) = focused {
                let _ = focused.unchecked_ref::<HtmlElement>().focus();
            }
        }
        self.draw();
    }

    fn show(&mut self, shown: Shown) {
        if shown == self.shown && self.serial > 0 {
            return;
        }
        if shown.label != self.shown.label {
            dom::set(&self.sheet.grid, "aria-label", &shown.label);
        }
        if shown.position != self.shown.position {
            let ending = match (shown.check, shown.mate) {
                (_, true) => Ending::Mate,
                (Some(_), false) => Ending::Check,
                (None, false) => Ending::None,
            };
            let spoken = |mv| drawing::spoken(mv, &shown.position, ending);
            self.sheet.tell(&match shown.last {
                Some(last) => spoken(last),
                None if self.serial > 0 => tr("back to the position before").to_owned(),
                None => String::new(),
            });
            self.close_chooser();
            self.pencil.drawn.clear();
            self.pencil.from = None;
            self.find_glides(&shown);
        } else if shown.black_below != self.shown.black_below {
            self.glides.clear();
        }
        self.shown = shown;
        self.hand.settle(Ways::Moves(&self.shown.moves));
        self.draw();
    }

    fn draw(&mut self) {
        let moves = &self.shown.moves;
        let held = self.hand.held();
        let mut marks = self.shown.marks.clone();
        marks.extend(&self.pencil.drawn);
        marks.extend(self.pencil.from.map(|square| Mark::Ring {
            square,
            kind: LineKind::Threat,
        }));
        let states = States {
            last: self.shown.last,
            check: self.shown.check,
            held,
            targets: held.map_or_else(Vec::new, |from| targets(moves, from)),
            marks: &marks,
        };
        self.sheet.root.set_class_name(if moves.is_empty() {
            "kp-board"
        } else {
            "kp-board kp-open"
        });
        self.sheet.draw(
            (&self.shown.position, self.shown.black_below),
            &states,
            (&self.glides, self.serial),
            (&self.hand, Ways::Moves(moves)),
        );
    }

    /// Takes an event, and tells the move that it plays.
    fn take(&mut self, event: &Event) -> Option<Move> {
        self.tongue.speak();
        match event.type_().as_str() {
            "keydown" => self.key(event.unchecked_ref()),
            "click" => self.click(event),
            kind => self.pointer(kind, event.unchecked_ref()),
        }
    }

    fn pointer(&mut self, kind: &str, event: &PointerEvent) -> Option<Move> {
        let (over, at) = self.sheet.locate(event.client_x(), event.client_y());
        if self.pencil.from.is_some() || self.pencils(kind, event) {
            self.sketch(kind, over);
            return None;
        }
        match kind {
            "pointerdown" => {
                if event.button() != 0 || !event.is_primary() || self.in_chooser(event) {
                    return None;
                }
                self.close_chooser();
                self.hand.press(over?, Ways::Moves(&self.shown.moves));
                if self.hand.dragged().is_some() {
                    let _ = self.sheet.grid.set_pointer_capture(event.pointer_id());
                }
            }
            "pointermove" => {
                if let Some(from) = self.hand.dragged() {
                    self.sheet.drag(from, at);
                }
                return None;
            }
            "pointerup" => {
                let by_drag = self.hand.dragged().is_some();
                let outcome = self.hand.release(over, Ways::Moves(&self.shown.moves));
                self.draw();
                return self.carry(outcome, by_drag);
            }
            _ => self.hand.let_go(),
        }
        self.draw();
        None
    }

    /// Whether a pointer begins a mark.
    fn pencils(&self, kind: &str, event: &PointerEvent) -> bool {
        let begins = kind == "pointerdown" && event.button() == 0 && event.is_primary();
        begins && (self.pencil.up || event.shift_key()) && !self.in_chooser(event)
    }

    /// Draws by hand.
    fn sketch(&mut self, kind: &str, over: Option<Square>) {
        match (kind, over) {
            ("pointerdown", over) => self.pencil.from = over,
            ("pointerup", Some(over)) => self.pencil.end(over),
            ("pointermove", _) => return,
            _ => self.pencil.from = None,
        }
        self.draw();
    }

    fn key(&mut self, event: &KeyboardEvent) -> Option<Move> {
        let key = Key::named(&event.key(), event.ctrl_key())?;
        if event.alt_key() || event.meta_key() {
            return None;
        }
        if self.in_chooser(event) {
            if key == Key::Escape {
                event.prevent_default();
                self.close_chooser();
                self.sheet.focus(self.hand.cursor());
            }
            return None;
        }
        event.prevent_default();
        if key == Key::Act && (self.pencil.up || event.shift_key()) {
            let cursor = self.hand.cursor();
            match self.pencil.from {
                Some(_) => self.pencil.end(cursor),
                None => self.pencil.from = Some(cursor),
            }
            self.draw();
            return None;
        }
        let outcome = self
            .hand
            .key(key, Ways::Moves(&self.shown.moves), self.shown.black_below);
        self.draw();
        self.sheet.focus(self.hand.cursor());
        self.carry(outcome, false)
    }

    /// A click on a button of the chooser.
    fn click(&mut self, event: &Event) -> Option<Move> {
        let (from, to) = self.choosing?;
        let button = event
            .target()?
            .unchecked_into::<Element>()
            .closest("[data-role]")
            .ok()??;
        let role = button
            .get_attribute("data-role")?
            .chars()
            .next()
            .and_then(Role::from_char);
        self.close_chooser();
        self.sheet.focus(self.hand.cursor());
        let role = role?;
        let chosen = |mv: &&Move| mv.promotion() == Some(role) && hand::carries(**mv, from, to);
        self.shown.moves.iter().find(chosen).copied()
    }

    fn carry(&mut self, outcome: Outcome, by_drag: bool) -> Option<Move> {
        let Outcome::Carried(from, to) = outcome else {
            return None;
        };
        let roles = hand::choices(&self.shown.moves, from, to);
        if !roles.is_empty() {
            self.open_chooser(from, to, &roles);
            return None;
        }
        let mv = self
            .shown
            .moves
            .iter()
            .copied()
            .find(|&mv| hand::carries(mv, from, to))?;
        self.dragged = by_drag.then_some((from, landing(mv)));
        Some(mv)
    }

    fn open_chooser(&mut self, from: Square, to: Square, roles: &[Role]) {
        let chooser = dom::element("div", "kp-chooser");
        dom::set(&chooser, "role", "group");
        dom::set(&chooser, "aria-label", tr("The pawn becomes"));
        let color = self.shown.position.color_at(from).unwrap_or(Color::White);
        for &role in roles {
            let button = dom::element("button", "");
            dom::set(&button, "type", "button");
            dom::set(&button, "aria-label", drawing::name(Piece { color, role }));
            dom::set(&button, "data-role", &role.char().to_string());
            dom::draw(&button, &drawing::lone_man(Piece { color, role }));
            dom::add(&chooser, &button);
        }
        let away = dom::text("button", "kp-away", tr("Cancel"));
        dom::set(&away, "type", "button");
        dom::set(&away, "data-role", "");
        dom::add(&chooser, &away);
        dom::add(&self.sheet.root, &chooser);
        if let Some(first) = chooser.first_element_child() {
            let _ = first.unchecked_ref::<HtmlElement>().focus();
        }
        self.choosing = Some((from, to));
        self.chooser = Some(chooser);
    }

    fn close_chooser(&mut self) {
        self.choosing = None;
        if let Some(chooser) = self.chooser.take() {
            chooser.remove();
        }
    }

    fn in_chooser(&self, event: &Event) -> bool {
        let target = event
            .target()
            .map(|target| target.unchecked_into::<Element>());
        self.chooser
            .as_ref()
            .is_some_and(|chooser| chooser.contains(target.as_deref()))
    }

    fn find_glides(&mut self, shown: &Shown) {
        let dragged = self.dragged.take();
        self.serial = self.serial.wrapping_add(1);
        let went = hand::glides(&self.shown.position, &shown.position);
        if went.is_empty() {
            // Another position altogether: begin at the king of the side below.
            let below = Color::from_white(!shown.black_below);
            let king = shown.position.king_of(below);
            self.hand.point(king.unwrap_or(self.hand.cursor()));
        }
        self.glides = went
            .into_iter()
            .filter(|&went| Some(went) != dragged)
            .map(|(from, to)| {
                let (x, y) = diagram::corner(from, shown.black_below);
                let (u, v) = diagram::corner(to, shown.black_below);
                (to, (x - u, y - v))
            })
            .collect();
    }
}

fn targets(moves: &[Move], from: Square) -> Vec<Square> {
    moves
        .iter()
        .filter(|mv| mv.from() == Some(from))
        .map(|&mv| landing(mv))
        .collect()
}
