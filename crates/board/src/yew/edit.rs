//! A board to set up a position on.

use model::tongue::{phrase, tr};
use shakmaty::{Color, Piece, Role, Square};
use wasm_bindgen::JsCast;
use web_sys::{Element, Event};
use yew::prelude::*;

use super::Drawing;
use crate::dom::Listener;
use crate::drawing::{self, States};
use crate::hand::{Hand, Key, Outcome, Ways};
use crate::sheet::Sheet;

/// What an [`EditBoard`] shows and tells.
#[derive(Properties, PartialEq)]
pub struct EditBoardProps {
    /// Unique among the boards of the page and a plain word; element ids start
    /// with it.
    pub id: AttrValue,
    /// The board's name for a screen reader.
    pub label: AttrValue,
    /// The tag of the language that is spoken. Where it changes, the words are said
    /// anew.
    pub tongue: &'static str,
    /// The men as they stand; legal or not.
    pub position: shakmaty::Board,
    /// Whether Black's side is below.
    #[prop_or_default]
    pub black_below: bool,
    /// A man was put on a square, or (`None`) the square was cleared.
    pub on_put: Callback<(Square, Option<Piece>)>,
    /// A man was carried from one square to another.
    pub on_carry: Callback<(Square, Square)>,
}

/// A board to set up a position on, with a row of men to take from. By mouse
/// and touch: drag, or choose a man and click squares. By keyboard: arrows, a
/// FEN letter puts a man (capitals are White's), Delete clears, Enter or Space
/// puts the chosen man, or picks up and puts down. A man on the board can be
/// dragged also while another is chosen.
pub struct EditBoard {
    hand: Hand,
    /// What a click on a square puts there; `Some(None)` clears.
    chosen: Option<Option<Piece>>,
    /// A man on its way from the row of men to the board.
    fetched: Option<Piece>,
    /// A fetched man was just put on the board.
    dropped: bool,
    sheet: Sheet,
    _listener: Listener,
}

#[doc(hidden)]
pub enum Message {
    OnBoard(Event),
    Fetch(PointerEvent, Piece),
    Fetched(PointerEvent),
    Bring(PointerEvent),
    Lost,
    Choose(MouseEvent, Option<Piece>),
}

impl Component for EditBoard {
    type Message = Message;
    type Properties = EditBoardProps;

    fn create(ctx: &Context<Self>) -> Self {
        let sheet = Sheet::new(&ctx.props().id);
        sheet.root.set_class_name("kp-board kp-open");
        let link = ctx.link().clone();
        let listener = Listener::new(
            &sheet.grid,
            &[
                "pointerdown",
                "pointermove",
                "pointerup",
                "pointercancel",
                "keydown",
            ],
            Box::new(move |event| {
                if let Some(event) = event
                    .dyn_ref::<KeyboardEvent>()
                    .filter(|event| means_something(event))
                {
                    event.prevent_default();
                }
                link.send_message(Message::OnBoard(event))
            }),
        );
        let mut board = EditBoard {
            hand: Hand::new(Square::E1),
            chosen: None,
            fetched: None,
            dropped: false,
            sheet,
            _listener: listener,
        };
        board.draw(ctx.props());
        board
    }

    fn changed(&mut self, ctx: &Context<Self>, old: &EditBoardProps) -> bool {
        self.hand.settle(Ways::Free(&ctx.props().position));
        self.draw(ctx.props());
        old.tongue != ctx.props().tongue
    }

    fn update(&mut self, ctx: &Context<Self>, message: Message) -> bool {
        let props = ctx.props();
        match message {
            Message::OnBoard(event) => match event.dyn_ref::<KeyboardEvent>() {
                Some(event) => self.key(props, event),
                None => self.pointer(props, event.unchecked_ref()),
            },
            Message::Fetch(event, man) => {
                if event.button() == 0 && event.is_primary() {
                    self.dropped = false;
                    self.fetched = Some(man);
                    capture(event.target().map(JsCast::unchecked_into).as_ref(), &event);
                }
            }
            Message::Fetched(event) => {
                if let Some(man) = self.fetched {
                    let (_, at) = self.sheet.locate(event.client_x(), event.client_y());
                    self.sheet.float(Some((man, at)));
                }
            }
            Message::Bring(event) => {
                self.sheet.float(None);
                let (over, _) = self.sheet.locate(event.client_x(), event.client_y());
                if let (Some(man), Some(square)) = (self.fetched.take(), over) {
                    self.dropped = true;
                    props.on_put.emit((square, Some(man)));
                }
            }
            Message::Lost => {
                self.fetched = None;
                self.sheet.float(None);
            }
            Message::Choose(event, man) => {
                // The click that some browsers report at the end of a drag.
                if std::mem::take(&mut self.dropped) && event.detail() != 0 {
                    return false;
                }
                self.hand.let_go();
                self.draw(props);
                self.chosen = if self.chosen == Some(man) {
                    None
                } else {
                    Some(man)
                };
            }
        }
        true
    }

    fn view(&self, ctx: &Context<Self>) -> Html {
        let (far, near) = if ctx.props().black_below {
            (Color::White, Color::Black)
        } else {
            (Color::Black, Color::White)
        };
        html! {
            <div class="kp-setup">
                { self.view_men(ctx, far) }
                { Html::VRef(self.sheet.root.clone().into()) }
                { self.view_men(ctx, near) }
                <button type="button" class="kp-clear" aria-pressed={(self.chosen == Some(None)).to_string()}
                    onclick={ctx.link().callback(|event| Message::Choose(event, None))}>{ tr("Clear squares") }</button>
            </div>
        }
    }
}

impl EditBoard {
    fn draw(&mut self, props: &EditBoardProps) {
        let states = States {
            held: self.hand.held(),
            ..States::default()
        };
        crate::dom::set(&self.sheet.grid, "aria-label", &props.label);
        self.sheet.draw(
            (&props.position, props.black_below),
            &states,
            (&[], 0),
            (&self.hand, Ways::Free(&props.position)),
        );
    }

    fn pointer(&mut self, props: &EditBoardProps, event: &PointerEvent) {
        let ways = Ways::Free(&props.position);
        let (over, at) = self.sheet.locate(event.client_x(), event.client_y());
        match event.type_().as_str() {
            "pointerdown" => {
                let Some(square) = over.filter(|_| event.button() == 0 && event.is_primary())
                else {
                    return;
                };
                let empty = props.position.piece_at(square).is_none();
                match self.chosen.filter(|_| empty) {
                    Some(man) => {
                        self.hand.point(square);
                        self.put(props, square, man);
                    }
                    None => {
                        self.hand.press(square, ways);
                        capture(Some(&self.sheet.grid), event);
                    }
                }
            }
            "pointermove" => {
                if let Some(from) = self.hand.dragged() {
                    self.sheet.drag(from, at);
                }
                return;
            }
            "pointerup" => {
                let clicked = self.hand.dragged().filter(|from| over == Some(*from));
                let outcome = self.hand.release(over, ways);
                match (clicked, self.chosen) {
                    (Some(square), Some(man)) => {
                        self.hand.let_go();
                        self.put(props, square, man);
                    }
                    _ => self.tell(props, outcome),
                }
            }
            _ => self.hand.let_go(),
        }
        self.draw(props);
    }

    fn key(&mut self, props: &EditBoardProps, event: &KeyboardEvent) {
        if !means_something(event) {
            return;
        }
        let at = self.hand.cursor();
        let name = event.key();
        let Some(key) = Key::named(&name, event.ctrl_key()) else {
            props.on_put.emit((at, man_of(&name)));
            return;
        };
        match (key, self.chosen) {
            (Key::Escape, _) => {
                self.chosen = None;
                self.hand.let_go();
            }
            (Key::Act, Some(man)) => self.put(props, at, man),
            _ => {
                let outcome = self
                    .hand
                    .key(key, Ways::Free(&props.position), props.black_below);
                self.tell(props, outcome);
            }
        }
        self.draw(props);
        self.sheet.focus(self.hand.cursor());
    }

    /// Puts the chosen man, or takes the same man away again.
    fn put(&self, props: &EditBoardProps, square: Square, man: Option<Piece>) {
        let there = props.position.piece_at(square);
        if there.is_some() || man.is_some() {
            props.on_put.emit((square, man.filter(|_| there != man)));
        }
    }

    fn tell(&self, props: &EditBoardProps, outcome: Outcome) {
        match outcome {
            Outcome::Carried(from, to) => props.on_carry.emit((from, to)),
            Outcome::Off(from) => props.on_put.emit((from, None)),
            Outcome::Nothing => {}
        }
    }

    fn view_men(&self, ctx: &Context<Self>, color: Color) -> Html {
        let link = ctx.link();
        let man = |role: Role| {
            let piece = Piece { color, role };
            html! {
                <button type="button" class="kp-man" aria-label={drawing::name(piece)} title={drawing::name(piece)}
                    aria-pressed={(self.chosen == Some(Some(piece))).to_string()}
                    onpointerdown={link.callback(move |event| Message::Fetch(event, piece))}
                    onpointermove={link.callback(Message::Fetched)} onpointerup={link.callback(Message::Bring)}
                    onpointercancel={link.callback(|_| Message::Lost)}
                    onclick={link.callback(move |event| Message::Choose(event, Some(piece)))}>
                    <Drawing svg={drawing::lone_man(piece)} />
                </button>
            }
        };
        html! {
            <div class="kp-men" role="group" aria-label={tr(color.fold_wb(phrase("White\u{2019}s men"), phrase("Black\u{2019}s men")))}>
                { for [Role::King, Role::Queen, Role::Rook, Role::Bishop, Role::Knight, Role::Pawn].map(man) }
            </div>
        }
    }
}

/// Whether a key does something on the board.
fn means_something(event: &KeyboardEvent) -> bool {
    let name = event.key();
    if event.alt_key() || event.meta_key() {
        return false;
    }
    let puts =
        !event.ctrl_key() && (man_of(&name).is_some() || name == "Delete" || name == "Backspace");
    puts || Key::named(&name, event.ctrl_key()).is_some()
}

/// The man of a FEN letter.
fn man_of(key: &str) -> Option<Piece> {
    let mut letters = key.chars();
    match (letters.next(), letters.next()) {
        (Some(letter), None) => Piece::from_char(letter),
        _ => None,
    }
}

fn capture(element: Option<&Element>, event: &PointerEvent) {
    if let Some(element) = element {
        let _ = element.set_pointer_capture(event.pointer_id());
    }
}
