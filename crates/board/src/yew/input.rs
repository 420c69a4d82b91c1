//! A line in which a move can be typed.

use std::cell::RefCell;
use std::rc::Rc;

use model::tongue::spoken;
use shakmaty::{Chess, Move};
use yew::prelude::*;

use crate::TypedMove;

/// What a [`MoveInput`] reads.
#[derive(Properties, PartialEq)]
pub struct MoveInputProps {
    /// Unique on the page; element ids start with it.
    pub id: AttrValue,
    /// The visible label.
    #[prop_or(AttrValue::Static("Type a move"))]
    pub label: AttrValue,
    /// The tag of the language that is spoken. Where it changes, the words are said
    /// anew.
    pub tongue: &'static str,
    /// The position in which the move is read.
    pub position: Rc<Chess>,
    #[prop_or_default]
    pub disabled: bool,
    /// A legal move was typed.
    pub on_move: Callback<Move>,
}

/// A line in which a move can be typed as SAN or by its squares. What cannot
/// be read stays in the line, with a sentence that says why.
pub struct MoveInput {
    line: TypedMove<true>,
    on_move: Rc<RefCell<Callback<Move>>>,
}

impl Component for MoveInput {
    type Message = ();
    type Properties = MoveInputProps;

    fn create(ctx: &Context<Self>) -> Self {
        let props = ctx.props();
        let on_move = Rc::new(RefCell::new(props.on_move.clone()));
        let told = on_move.clone();
        let tell = move |mv| {
            let told = told.borrow().clone();
            told.emit(mv)
        };
        let line = TypedMove::new(&props.id, &props.label, Rc::new(tell));
        let input = MoveInput { line, on_move };
        input.refresh(props);
        input
    }

    fn changed(&mut self, ctx: &Context<Self>, old: &MoveInputProps) -> bool {
        self.refresh(ctx.props());
        if old.tongue != ctx.props().tongue {
            self.line.speak(spoken());
        }
        false
    }

    fn view(&self, _ctx: &Context<Self>) -> Html {
        Html::VRef(self.line.element().into())
    }
}

impl MoveInput {
    fn refresh(&self, props: &MoveInputProps) {
        *self.on_move.borrow_mut() = props.on_move.clone();
        self.line.set_label(&props.label);
        self.line
            .read_in((!props.disabled).then(|| (*props.position).clone()));
    }
}
