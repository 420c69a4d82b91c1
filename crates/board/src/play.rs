//! A board to play on.

use shakmaty::{Color, Move, Role, Square};
use web_sys::{Element, HtmlElement};
use yew::prelude::*;

use crate::Mark;
use crate::hand::{self, Hand, Key, Outcome, Ways};
use crate::view::{self, Glide, States};

/// What a [`Board`] shows and takes.
#[derive(Properties, PartialEq)]
pub struct BoardProps {
    /// Unique among the boards of the page and a plain word; element ids start
    /// with it.
    pub id: AttrValue,
    /// The board's name for a screen reader: "Position after 1...Kf8".
    pub label: AttrValue,
    /// The men. A change glides into place when it is that of one move or one
    /// move taken back.
    pub position: shakmaty::Board,
    /// Whether Black's side is below.
    #[prop_or_default]
    pub black_below: bool,
    /// The moves the user may play; empty: the board only shows.
    #[prop_or_default]
    pub moves: Vec<Move>,
    /// The last move, in brackets.
    #[prop_or_default]
    pub last: Option<Move>,
    /// The square of a king in check, in a double ring.
    #[prop_or_default]
    pub check: Option<Square>,
    /// Lines and rings over the men.
    #[prop_or_default]
    pub marks: Vec<Mark>,
    /// Takes no moves for now, and looks the same.
    #[prop_or_default]
    pub disabled: bool,
    /// A move of `moves` was played.
    #[prop_or_default]
    pub on_move: Callback<Move>,
}

impl BoardProps {
    fn open_moves(&self) -> &[Move] {
        if self.disabled { &[] } else { &self.moves }
    }
}

/// A board to play on by dragging, by clicking from and to, and by keyboard.
pub struct Board {
    hand: Hand,
    /// Where the pointer is while it drags, in drawing units.
    pointer: Option<(i32, i32)>,
    /// A pawn that was carried to its last rank, until the man is chosen.
    choosing: Option<(Square, Square)>,
    field: AttrValue,
    glides: Vec<Glide>,
    serial: u32,
    /// The move that a drag just played: it does not glide.
    dragged: Option<(Square, Square)>,
    focus: Focus,
    grid: NodeRef,
    chooser: NodeRef,
}

/// What must get the browser's focus after the next drawing.
#[derive(Clone, Copy, PartialEq)]
enum Focus {
    Stays,
    Cursor,
    Chooser,
}

#[doc(hidden)]
pub enum Message {
    Down(PointerEvent),
    Moved(PointerEvent),
    Up(PointerEvent),
    Lost,
    Key(KeyboardEvent),
    Chosen(Role),
    Unchosen,
}

impl Component for Board {
    type Message = Message;
    type Properties = BoardProps;

    fn create(ctx: &Context<Self>) -> Self {
        let props = ctx.props();
        Board {
            hand: Hand::new(first_cursor(props)),
            pointer: None,
            choosing: None,
            field: keyproof::diagram::field(&props.id, props.black_below).into(),
            glides: vec![],
            serial: 0,
            dragged: None,
            focus: Focus::Stays,
            grid: NodeRef::default(),
            chooser: NodeRef::default(),
        }
    }

    fn changed(&mut self, ctx: &Context<Self>, old: &BoardProps) -> bool {
        let props = ctx.props();
        if props.id != old.id || props.black_below != old.black_below {
            self.field = keyproof::diagram::field(&props.id, props.black_below).into();
            self.glides.clear();
        }
        if props.position != old.position {
            self.choosing = None;
            self.glide(props, old);
        }
        self.hand.settle(Ways::Moves(props.open_moves()));
        if self.hand.dragged().is_none() {
            self.pointer = None;
        }
        true
    }

    fn update(&mut self, ctx: &Context<Self>, message: Message) -> bool {
        let props = ctx.props();
        let moves = props.open_moves();
        let ways = Ways::Moves(moves);
        match message {
            Message::Down(event) => {
                let Some(square) = self.square_under(&event, props) else {
                    return false;
                };
                if event.button() != 0 || !event.is_primary() {
                    return false;
                }
                self.choosing = None;
                self.pointer = None;
                self.hand.press(square, ways);
                if let (Some(grid), true) =
                    (self.grid.cast::<Element>(), self.hand.dragged().is_some())
                {
                    let _ = grid.set_pointer_capture(event.pointer_id());
                }
            }
            Message::Moved(event) => {
                if self.hand.dragged().is_none() {
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
                let by_drag = self.hand.dragged().is_some();
                self.pointer = None;
                let outcome = self.hand.release(over, ways);
                self.carry(ctx, outcome, by_drag);
            }
            Message::Lost => {
                if self.hand.dragged().is_none() {
                    return false;
                }
                self.hand.let_go();
                self.pointer = None;
            }
            Message::Key(event) => {
                let Some(key) = Key::named(&event.key(), event.ctrl_key()) else {
                    return false;
                };
                if event.alt_key() || event.meta_key() {
                    return false;
                }
                event.prevent_default();
                let outcome = self.hand.key(key, ways, props.black_below);
                self.focus = Focus::Cursor;
                self.carry(ctx, outcome, false);
            }
            Message::Chosen(role) => {
                if let Some((from, to)) = self.choosing.take() {
                    self.focus = Focus::Cursor;
                    let chosen =
                        |mv: &&Move| mv.promotion() == Some(role) && hand::carries(**mv, from, to);
                    if let Some(&mv) = moves.iter().find(chosen) {
                        props.on_move.emit(mv);
                    }
                }
            }
            Message::Unchosen => {
                self.choosing = None;
                self.focus = Focus::Cursor;
            }
        }
        true
    }

    fn view(&self, ctx: &Context<Self>) -> Html {
        let props = ctx.props();
        let link = ctx.link();
        let moves = props.open_moves();
        let ways = Ways::Moves(moves);
        let held = self.hand.held();
        let states = States {
            last: props.last,
            check: props.check,
            held,
            targets: held.map_or_else(Vec::new, |from| targets(moves, from)),
            marks: &props.marks,
        };
        let carried = self.hand.dragged().zip(self.pointer);
        let class = if moves.is_empty() {
            "kp-board"
        } else {
            "kp-board kp-open"
        };
        html! {
            <div {class} id={props.id.clone()}>
                { view::drawing(&self.field, &props.position, props.black_below, &states, carried, (self.serial, &self.glides)) }
                <div class="kp-grid" role="grid" aria-label={props.label.clone()} ref={self.grid.clone()}
                    onpointerdown={link.callback(Message::Down)} onpointermove={link.callback(Message::Moved)}
                    onpointerup={link.callback(Message::Up)} onpointercancel={link.callback(|_| Message::Lost)}
                    onkeydown={link.callback(Message::Key)}>
                    { view::cells(&props.position, props.black_below, &self.hand, ways) }
                </div>
                { self.view_chooser(ctx) }
            </div>
        }
    }

    fn rendered(&mut self, _ctx: &Context<Self>, _first: bool) {
        match std::mem::replace(&mut self.focus, Focus::Stays) {
            Focus::Stays => {}
            Focus::Cursor => view::focus_cell(&self.grid, self.hand.cursor()),
            Focus::Chooser => {
                let first = self
                    .chooser
                    .cast::<Element>()
                    .and_then(|list| list.first_element_child());
                if let Some(first) = first {
                    let _ = wasm_bindgen::JsCast::unchecked_into::<HtmlElement>(first).focus();
                }
            }
        }
    }
}

impl Board {
    fn square_under(&self, event: &PointerEvent, props: &BoardProps) -> Option<Square> {
        view::locate(
            &self.grid,
            event.client_x(),
            event.client_y(),
            props.black_below,
        )?
        .0
    }

    fn carry(&mut self, ctx: &Context<Self>, outcome: Outcome, by_drag: bool) {
        let Outcome::Carried(from, to) = outcome else {
            return;
        };
        let props = ctx.props();
        if !hand::choices(props.open_moves(), from, to).is_empty() {
            self.choosing = Some((from, to));
            self.focus = Focus::Chooser;
            return;
        }
        if let Some(&mv) = props
            .open_moves()
            .iter()
            .find(|mv| hand::carries(**mv, from, to))
        {
            self.dragged = by_drag.then_some((from, hand::landing(mv)));
            props.on_move.emit(mv);
        }
    }

    fn glide(&mut self, props: &BoardProps, old: &BoardProps) {
        let dragged = self.dragged.take();
        self.serial = self.serial.wrapping_add(1) & 0xffff;
        self.glides = hand::glides(&old.position, &props.position)
            .into_iter()
            .filter(|&went| Some(went) != dragged)
            .map(|(from, to)| {
                let (x, y) = keyproof::diagram::corner(from, props.black_below);
                let (u, v) = keyproof::diagram::corner(to, props.black_below);
                (to, (x - u, y - v))
            })
            .collect();
    }

    fn view_chooser(&self, ctx: &Context<Self>) -> Html {
        let Some((from, to)) = self.choosing else {
            return Html::default();
        };
        let link = ctx.link();
        let color = ctx.props().position.color_at(from).unwrap_or(Color::White);
        let onkeydown = link.batch_callback(|event: KeyboardEvent| {
            (event.key() == "Escape").then_some(Message::Unchosen)
        });
        let choices = hand::choices(ctx.props().open_moves(), from, to);
        html! {
            <div class="kp-chooser" role="group" aria-label="The pawn becomes a" ref={self.chooser.clone()} {onkeydown}>
                { for choices.into_iter().map(|role| html! {
                    <button type="button" aria-label={view::role_name(role)}
                        onclick={link.callback(move |_| Message::Chosen(role))}>
                        { view::lone_man(color, role) }
                    </button>
                }) }
                <button type="button" class="kp-away" onclick={link.callback(|_| Message::Unchosen)}>{ "Cancel" }</button>
            </div>
        }
    }
}

fn targets(moves: &[Move], from: Square) -> Vec<Square> {
    moves
        .iter()
        .filter(|mv| mv.from() == Some(from))
        .map(|&mv| hand::landing(mv))
        .collect()
}

/// The king of the side to move, or the corner nearest to the reader.
fn first_cursor(props: &BoardProps) -> Square {
    let color = if props.black_below {
        Color::Black
    } else {
        Color::White
    };
    props
        .position
        .king_of(color)
        .unwrap_or(if props.black_below {
            Square::H8
        } else {
            Square::A1
        })
}
