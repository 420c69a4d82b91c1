//! A board to set up a position on.

use shakmaty::{Color, Piece, Role, Square};
use web_sys::Element;
use yew::prelude::*;

use crate::hand::{Hand, Key, Outcome, Ways};
use crate::view::{self, States};

/// What an [`EditBoard`] shows and tells.
#[derive(Properties, PartialEq)]
pub struct EditBoardProps {
    /// Unique among the boards of the page and a plain word; element ids start
    /// with it.
    pub id: AttrValue,
    /// The board's name for a screen reader.
    pub label: AttrValue,
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
/// puts the chosen man, or picks up and puts down.
pub struct EditBoard {
    hand: Hand,
    /// What a click on a square puts there; `Some(None)` clears.
    chosen: Option<Option<Piece>>,
    /// A man on its way from the row of men to the board.
    fetched: Option<Piece>,
    pointer: Option<(i32, i32)>,
    /// A fetched man was just put on the board.
    dropped: bool,
    field: AttrValue,
    focus_cursor: bool,
    grid: NodeRef,
}

#[doc(hidden)]
pub enum Message {
    Down(PointerEvent),
    Moved(PointerEvent),
    Up(PointerEvent),
    Lost,
    Key(KeyboardEvent),
    Fetch(PointerEvent, Piece),
    Choose(MouseEvent, Option<Piece>),
}

impl Component for EditBoard {
    type Message = Message;
    type Properties = EditBoardProps;

    fn create(ctx: &Context<Self>) -> Self {
        let props = ctx.props();
        EditBoard {
            hand: Hand::new(Square::E1),
            chosen: None,
            fetched: None,
            pointer: None,
            dropped: false,
            field: keyproof::diagram::field(&props.id, props.black_below).into(),
            focus_cursor: false,
            grid: NodeRef::default(),
        }
    }

    fn changed(&mut self, ctx: &Context<Self>, old: &EditBoardProps) -> bool {
        let props = ctx.props();
        if props.id != old.id || props.black_below != old.black_below {
            self.field = keyproof::diagram::field(&props.id, props.black_below).into();
        }
        self.hand.settle(Ways::Free(&props.position));
        true
    }

    fn update(&mut self, ctx: &Context<Self>, message: Message) -> bool {
        let props = ctx.props();
        let ways = Ways::Free(&props.position);
        match message {
            Message::Down(event) => {
                let Some(square) = self.square_under(&event, props) else {
                    return false;
                };
                if event.button() != 0 || !event.is_primary() {
                    return false;
                }
                self.pointer = None;
                match self.chosen {
                    Some(man) => {
                        self.hand.point(square);
                        self.put(props, square, man);
                    }
                    None => {
                        self.hand.press(square, ways);
                        capture(self.grid.cast::<Element>(), &event);
                    }
                }
            }
            Message::Moved(event) => {
                if self.hand.dragged().is_none() && self.fetched.is_none() {
                    return false;
                }
                self.pointer = view::locate(
                    &self.grid,
                    event.client_x(),
                    event.client_y(),
                    props.black_below,
                )
                .map(|(_, at)| at);
            }
            Message::Up(event) => {
                let over = self.square_under(&event, props);
                self.pointer = None;
                if let Some(man) = self.fetched.take() {
                    self.dropped = over.is_some();
                    if let Some(square) = over {
                        props.on_put.emit((square, Some(man)));
                    }
                    return true;
                }
                let outcome = self.hand.release(over, ways);
                self.tell(props, outcome);
            }
            Message::Lost => {
                self.hand.let_go();
                self.fetched = None;
                self.pointer = None;
            }
            Message::Key(event) => return self.key(props, &event),
            Message::Fetch(event, man) => {
                if event.button() != 0 || !event.is_primary() {
                    return false;
                }
                self.dropped = false;
                self.fetched = Some(man);
                capture(
                    event
                        .current_target()
                        .map(wasm_bindgen::JsCast::unchecked_into),
                    &event,
                );
            }
            Message::Choose(event, man) => {
                // The click that some browsers report at the end of a drag.
                if std::mem::take(&mut self.dropped) && event.detail() != 0 {
                    return false;
                }
                self.hand.let_go();
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
        let props = ctx.props();
        let link = ctx.link();
        let ways = Ways::Free(&props.position);
        let states = States {
            held: self.hand.held(),
            ..States::default()
        };
        let carried = self.hand.dragged().zip(self.pointer);
        let strangers = self.fetched.zip(self.pointer);
        let (far, near) = if props.black_below {
            (Color::White, Color::Black)
        } else {
            (Color::Black, Color::White)
        };
        html! {
            <div class="kp-setup" onpointermove={link.callback(Message::Moved)} onpointerup={link.callback(Message::Up)}
                onpointercancel={link.callback(|_| Message::Lost)}>
                { self.view_men(ctx, far) }
                <div class="kp-board kp-open" id={props.id.clone()}>
                    { view::drawing(&self.field, &props.position, props.black_below, &states, carried, (0, &[])) }
                    <div class="kp-grid" role="grid" aria-label={props.label.clone()} ref={self.grid.clone()}
                        onpointerdown={link.callback(Message::Down)} onkeydown={link.callback(Message::Key)}>
                        { view::cells(&props.position, props.black_below, &self.hand, ways) }
                    </div>
                    if let Some((man, at)) = strangers {
                        { view::floating(man, at) }
                    }
                </div>
                { self.view_men(ctx, near) }
                <button type="button" aria-pressed={(self.chosen == Some(None)).to_string()}
                    onclick={link.callback(|event| Message::Choose(event, None))}>{ "Clear squares" }</button>
            </div>
        }
    }

    fn rendered(&mut self, _ctx: &Context<Self>, _first: bool) {
        if std::mem::take(&mut self.focus_cursor) {
            view::focus_cell(&self.grid, self.hand.cursor());
        }
    }
}

impl EditBoard {
    fn square_under(&self, event: &PointerEvent, props: &EditBoardProps) -> Option<Square> {
        view::locate(
            &self.grid,
            event.client_x(),
            event.client_y(),
            props.black_below,
        )?
        .0
    }

    fn key(&mut self, props: &EditBoardProps, event: &KeyboardEvent) -> bool {
        if event.alt_key() || event.meta_key() {
            return false;
        }
        let at = self.hand.cursor();
        let name = event.key();
        if let Some(key) = Key::named(&name, event.ctrl_key()) {
            event.prevent_default();
            self.focus_cursor = true;
            match (key, self.chosen) {
                (Key::Escape, _) => {
                    self.chosen = None;
                    self.hand.let_go();
                }
                (Key::Act, Some(man)) => self.put(props, at, man),
                _ => {
                    let outcome =
                        self.hand
                            .key(key, Ways::Free(&props.position), props.black_below);
                    self.tell(props, outcome);
                }
            }
            return true;
        }
        if event.ctrl_key() {
            return false;
        }
        let mut letters = name.chars();
        let man = match (letters.next(), letters.next()) {
            (Some(letter), None) => Piece::from_char(letter),
            _ => None,
        };
        if man.is_some() || name == "Delete" || name == "Backspace" {
            event.prevent_default();
            props.on_put.emit((at, man));
            return true;
        }
        false
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
        let man = |role: Role| {
            let piece = Piece { color, role };
            let link = ctx.link();
            html! {
                <button type="button" class="kp-man" aria-label={view::name(piece)} title={view::name(piece)}
                    aria-pressed={(self.chosen == Some(Some(piece))).to_string()}
                    onpointerdown={link.callback(move |event| Message::Fetch(event, piece))}
                    onclick={link.callback(move |event| Message::Choose(event, Some(piece)))}>
                    { view::lone_man(color, role) }
                </button>
            }
        };
        html! {
            <div class="kp-men" role="group" aria-label={if color == Color::White { "White's men" } else { "Black's men" }}>
                { for [Role::King, Role::Queen, Role::Rook, Role::Bishop, Role::Knight, Role::Pawn].map(man) }
            </div>
        }
    }
}

fn capture(element: Option<Element>, event: &PointerEvent) {
    if let Some(element) = element {
        let _ = element.set_pointer_capture(event.pointer_id());
    }
}
