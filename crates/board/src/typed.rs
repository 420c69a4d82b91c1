//! A line in which a move can be typed, in a page.

use std::cell::RefCell;
use std::rc::Rc;

use model::notation::moves::{self, MoveFault};
use model::tongue::{Tongue, spoken, tr};
use shakmaty::{Chess, Color, Move, Position};
use wasm_bindgen::JsCast;
use web_sys::{Element, Event, HtmlInputElement, KeyboardEvent};

use crate::dom::{self, Listener};

/// A line in which a move can be typed as SAN or by its squares. What cannot
/// be read stays in the line, with a sentence that says why: to an author (`HELPED`)
/// with the moves that come close, to a solver without.
pub struct TypedMove<const HELPED: bool> {
    form: Element,
    label: Element,
    button: Element,
    line: Line,
    reading: Rc<RefCell<Reading>>,
    _listener: Listener,
}

/// What moves are read in.
struct Reading {
    position: Option<Chess>,
    tongue: Tongue,
}

/// The field and what is said of its text.
#[derive(Clone)]
struct Line {
    field: HtmlInputElement,
    fault: Element,
}

impl Line {
    fn tell(&self, text: &str) {
        self.fault.set_text_content(Some(text));
        let invalid = if text.is_empty() { "false" } else { "true" };
        dom::set(&self.field, "aria-invalid", invalid);
    }
}

impl<const HELPED: bool> TypedMove<HELPED> {
    /// An empty line, in the language that is spoken now. `id` is a plain word,
    /// unique on the page; `on_move` is told of the legal moves typed.
    pub fn new(id: &str, label: &str, on_move: Rc<dyn Fn(Move)>) -> Self {
        let form = dom::element("div", "kp-typed");
        dom::set(&form, "role", "group");
        let field_id = [id, "-move"].concat();
        let fault_id = [id, "-fault"].concat();
        let label = dom::text("label", "", label);
        dom::set(&label, "for", &field_id);
        let field: HtmlInputElement = dom::element("input", "").unchecked_into();
        for (name, value) in [
            ("id", field_id.as_str()),
            ("type", "text"),
            ("autocomplete", "off"),
            ("autocapitalize", "off"),
            ("spellcheck", "false"),
            ("enterkeyhint", "go"),
            ("aria-describedby", &fault_id),
        ] {
            dom::set(&field, name, value);
        }
        let button = dom::text("button", "", tr("Play"));
        dom::set(&button, "type", "button");
        let fault = dom::element("p", "kp-fault");
        dom::set(&fault, "id", &fault_id);
        dom::set(&fault, "role", "alert");
        for part in [&label, field.as_ref(), &button, &fault] {
            dom::add(&form, part);
        }
        let line = Line { field, fault };
        let reading = Rc::new(RefCell::new(Reading {
            position: None,
            tongue: spoken(),
        }));
        let read_in = reading.clone();
        let told = line.clone();
        let listener = Listener::new(
            &form,
            &["click", "keydown", "input"],
            Box::new(move |event| {
                read_in.borrow().tongue.speak();
                if event.type_() == "input" {
                    return told.tell("");
                }
                if !plays(&event) {
                    return;
                }
                event.prevent_default();
                let value = told.field.value();
                let typed = value.trim();
                let reading = read_in.borrow();
                let (read, asked) = match &reading.position {
                    Some(position) if !typed.is_empty() => {
                        (moves::typed(position, typed), position.turn())
                    }
                    _ => return,
                };
                drop(reading);
                match read {
                    Ok(mv) => {
                        told.field.set_value("");
                        on_move(mv);
                    }
                    Err(found) => told.tell(&Self::told(&found, typed, asked)),
                }
            }),
        );
        TypedMove {
            form,
            label,
            button,
            line,
            reading,
            _listener: listener,
        }
    }

    pub fn element(&self) -> Element {
        self.form.clone()
    }

    /// Says its words in another language from now on. What was said of the text in
    /// the line is said of it as it reads in that language.
    pub fn speak(&self, tongue: Tongue) {
        let mut reading = self.reading.borrow_mut();
        reading.tongue = tongue;
        tongue.speaks(|| {
            self.button.set_text_content(Some(tr("Play")));
            if !self.line.fault.has_child_nodes() {
                return;
            }
            let value = self.line.field.value();
            let typed = value.trim();
            let fault = reading.position.as_ref().and_then(|position| {
                let found = moves::typed(position, typed).err()?;
                Some(Self::told(&found, typed, position.turn()))
            });
            self.line.tell(&fault.unwrap_or_default());
        });
    }

    fn told(fault: &MoveFault, typed: &str, asked: Color) -> String {
        match HELPED {
            true => fault.sentence(typed),
            false => fault.to_solver(typed, asked),
        }
    }

    pub fn set_label(&self, label: &str) {
        self.label.set_text_content(Some(label));
    }

    /// The position in which moves are read; `None` takes none. What was said of
    /// a move in another position is said no more.
    pub fn read_in(&self, position: Option<Chess>) {
        dom::toggle(&self.button, "disabled", position.is_none());
        let men = |position: &Option<Chess>| position.as_ref().map(|p| p.board().clone());
        let mut reading = self.reading.borrow_mut();
        if men(&reading.position) != men(&position) {
            self.line.tell("");
        }
        reading.position = position;
    }
}

/// Whether an event in the group asks to play the move: a click on the button,
/// or Enter in the line. It is no form, since a frame in a sandbox may not send
/// one, and then its `submit` never comes.
fn plays(event: &Event) -> bool {
    match event.dyn_ref::<KeyboardEvent>() {
        Some(key) => key.key() == "Enter" && !key.is_composing() && on(event, "input"),
        None => on(event, "button"),
    }
}

fn on(event: &Event, selector: &str) -> bool {
    let target = event.target().and_then(|t| t.dyn_into::<Element>().ok());
    target.is_some_and(|t| t.closest(selector).ok().flatten().is_some())
}
