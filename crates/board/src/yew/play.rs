//! A board to play on.

use std::cell::{Cell, RefCell};
use std::rc::Rc;

use model::tongue::spoken;
use shakmaty::{Move, Square};
use yew::prelude::*;

use crate::{LineKind, Mark, PlayBoard, Shown};

/// What a [`Board`] shows and takes.
#[derive(Properties, PartialEq)]
pub struct BoardProps {
    /// Unique among the boards of the page and a plain word; element ids start
    /// with it.
    pub id: AttrValue,
    /// The board's name for a screen reader: "Position after 1...Kf8".
    pub label: AttrValue,
    /// The tag of the language that is spoken. Where it changes, the words are said
    /// anew.
    pub tongue: &'static str,
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
    /// Whether that king is mated.
    #[prop_or_default]
    pub mate: bool,
    /// Lines and rings over the men.
    #[prop_or_default]
    pub marks: Vec<Mark>,
    /// Takes no moves for now, and looks the same.
    #[prop_or_default]
    pub disabled: bool,
    /// A move of `moves` was played.
    #[prop_or_default]
    pub on_move: Callback<Move>,
    /// Whether drags draw marks; with Shift they always do.
    #[prop_or_default]
    pub pencil: bool,
    /// How the marks that are drawn look.
    #[prop_or_default]
    pub stroke: LineKind,
    /// A mark was drawn. It is not shown unless it comes back in `marks`.
    #[prop_or_default]
    pub on_mark: Callback<Mark>,
}

/// A board to play on by dragging, by clicking from and to, and by keyboard.
pub struct Board {
    board: PlayBoard,
    on_move: Rc<RefCell<Callback<Move>>>,
    pencil: bool,
    /// A mark was handed over, and still stands on the board as it was drawn.
    drew: Rc<Cell<bool>>,
}

impl Component for Board {
    type Message = ();
    type Properties = BoardProps;

    fn create(ctx: &Context<Self>) -> Self {
        let on_move = Rc::new(RefCell::new(ctx.props().on_move.clone()));
        let told = on_move.clone();
        let tell = move |mv| {
            let told = told.borrow().clone();
            told.emit(mv)
        };
        let mut board = Board {
            board: PlayBoard::new(&ctx.props().id, Rc::new(tell)),
            on_move,
            pencil: false,
            drew: Rc::default(),
        };
        board.refresh(ctx.props());
        board
    }

    fn changed(&mut self, ctx: &Context<Self>, old: &BoardProps) -> bool {
        if old.tongue != ctx.props().tongue {
            self.board.speak(spoken());
        }
        self.refresh(ctx.props());
        false
    }

    fn view(&self, _ctx: &Context<Self>) -> Html {
        Html::VRef(self.board.element().into())
    }
}

impl Board {
    fn refresh(&mut self, props: &BoardProps) {
        *self.on_move.borrow_mut() = props.on_move.clone();
        let on_mark = props.on_mark.clone();
        if self.drew.take() {
            self.board.wipe();
        }
        let drew = self.drew.clone();
        let tell = move |mark| {
            drew.set(true);
            on_mark.emit(mark)
        };
        self.board.give_marks(props.stroke, Rc::new(tell));
        if std::mem::replace(&mut self.pencil, props.pencil) != props.pencil {
            self.board.take_pencil(props.pencil);
        }
        self.board.show(Shown {
            label: props.label.to_string(),
            position: props.position.clone(),
            black_below: props.black_below,
            moves: if props.disabled {
                vec![]
            } else {
                props.moves.clone()
            },
            last: props.last,
            check: props.check,
            mate: props.mate,
            marks: props.marks.clone(),
        });
    }
}
