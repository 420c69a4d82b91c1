//! What a lesson adds to the page: the way through the game, the words at the
//! place the student is at, and the game's text.

use keyproof_board::dom::{add, element, set, text, toggle};
use model::tongue::{phrase, say, tr};
use web_sys::Element;

use super::{button, head, name, press, task, written};
use crate::reading::{Reading, Shown};
use crate::words;
use crate::work::Work;

/// The elements of a lesson.
pub struct LessonView {
    /// The buttons that step through the game, for below the board.
    pub way: Element,
    /// The words at this place and what is asked, for above the tools.
    pub here: Element,
    /// The text of the game, for the end.
    pub flow: Element,
    start: Element,
    back: Element,
    on: Element,
    end: Element,
    leave: Element,
    pass: Element,
    drawn: Vec<Shown>,
    marks: Vec<Option<&'static str>>,
}

impl LessonView {
    pub fn new() -> LessonView {
        let way = element("nav", "kp-way");
        name(&way, phrase("Through the game"));
        let [start, back, on, end] = [
            ("start", "⇤", phrase("To the start")),
            ("back", "←", phrase("One move back")),
            ("forward", "→", phrase("One move on")),
            ("end", "⇥", phrase("As far as it goes")),
        ]
        .map(|(event, sign, told)| {
            let step = press(event, sign);
            name(&step, told);
            set(&step, "title", tr(told));
            add(&way, &step);
            step
        });
        let leave = button("leave", phrase("Back to the game"));
        let pass = button("pass", phrase("Give this question up"));
        add(&way, &leave);
        let here = element("div", "kp-here");
        set(&here, "role", "status");
        let flow = element("section", "kp-flow");
        name(&flow, phrase("The game"));
        LessonView {
            way,
            here,
            flow,
            start,
            back,
            on,
            end,
            leave,
            pass,
            drawn: Vec::new(),
            marks: Vec::new(),
        }
    }

    /// The button that passes a question by, for among the tools.
    pub fn pass(&self) -> &Element {
        &self.pass
    }

    /// Hides everything of a lesson.
    pub fn hide(&self) {
        for part in [&self.way, &self.here, &self.flow, &self.pass] {
            toggle(part, "hidden", true);
        }
    }

    /// Draws what has changed.
    pub fn draw(&mut self, reading: &Reading, language: Option<&str>) {
        for part in [&self.way, &self.here, &self.flow] {
            toggle(part, "hidden", false);
        }
        toggle(&self.pass, "hidden", !reading.waits());
        let (on, back) = reading.ways();
        for (step, works) in [
            (&self.start, back),
            (&self.back, back),
            (&self.on, on),
            (&self.end, on),
        ] {
            toggle(step, "disabled", !works);
        }
        toggle(&self.leave, "hidden", !reading.aside());
        let asks = on && !reading.aside() && !reading.done();
        let (sign, told) = match asks {
            true => (tr("To the question"), tr("To the question")),
            false => ("⇥", tr("As far as it goes")),
        };
        self.end.set_text_content(Some(sign));
        set(&self.end, "aria-label", told);
        set(&self.end, "title", told);
        let shown = reading.text();
        self.draw_here(reading, &shown, language);
        let of = |work: Option<&Work>| work.and_then(Work::mark).and_then(words::ended);
        let marks: Vec<_> = reading.works().map(of).collect();
        if shown != self.drawn || marks != self.marks || self.flow.child_element_count() == 0 {
            self.drawn = shown;
            self.marks = marks;
            self.draw_flow(reading, language);
        }
    }

    fn draw_here(&self, reading: &Reading, shown: &[Shown], language: Option<&str>) {
        let here = element("div", "");
        if let Some(said) = reading.said() {
            add(&here, &text("p", "kp-how", said));
        }
        match reading.work().map(|work| work.puzzle()) {
            Some(puzzle) => add(&here, &task(puzzle, language)),
            None => {
                if let Some(played) = current(shown) {
                    add(&here, &text("p", "kp-played", played));
                }
            }
        }
        for words in reading.words() {
            add(&here, &written("p", "kp-words", words, language));
        }
        if here.inner_html() != self.here.inner_html() {
            self.here.set_text_content(None);
            while let Some(child) = here.first_element_child() {
                add(&self.here, &child);
            }
        }
    }

    fn draw_flow(&self, reading: &Reading, language: Option<&str>) {
        self.flow.set_text_content(None);
        head(&self.flow, phrase("The game"));
        let mut rooms = vec![self.flow.clone()];
        let mut paragraph: Option<Element> = None;
        let mut current = None;
        for shown in &self.drawn {
            let room = rooms.last().unwrap_or(&self.flow).clone();
            let mut line = || {
                paragraph
                    .get_or_insert_with(|| {
                        let paragraph = element("p", "kp-moves");
                        add(&room, &paragraph);
                        paragraph
                    })
                    .clone()
            };
            match shown {
                Shown::Words(words) => {
                    add(&room, &written("p", "kp-words", words, language));
                    paragraph = None;
                }
                Shown::Move {
                    node,
                    text: played,
                    current: here,
                } => {
                    let step = press(&["go:", &node.0.to_string()].concat(), played);
                    let line = line();
                    if *here {
                        set(&step, "aria-current", "true");
                        current = Some(step.clone());
                    }
                    add(&line, &step);
                    let _ = line.append_with_str_1(" ");
                }
                Shown::Side { node, text, open } => {
                    let fold = button(&["fold:", &node.0.to_string()].concat(), "");
                    set(&fold, "class", "kp-fold");
                    set(&fold, "aria-expanded", if *open { "true" } else { "false" });
                    if *open {
                        set(
                            &fold,
                            "aria-label",
                            &say!("Fold the side line {move}", move = text),
                        );
                        fold.set_text_content(Some("−"));
                        let side = element("div", "kp-side");
                        add(&side, &fold);
                        add(&room, &side);
                        rooms.push(side);
                        paragraph = None;
                    } else {
                        fold.set_text_content(Some(&["+ ", text, " …"].concat()));
                        set(&fold, "aria-label", &say!("Side line {move}", move = text));
                        let line = line();
                        add(&line, &fold);
                        let _ = line.append_with_str_1(" ");
                    }
                }
                Shown::Closes => {
                    if rooms.len() > 1 {
                        rooms.pop();
                    }
                    paragraph = None;
                }
                Shown::Moment(moment) => {
                    add(&room, &self.asked(reading, *moment));
                    paragraph = None;
                }
            }
        }
        if let Some(step) = current {
            into_view(&self.flow, &step);
        }
    }

    /// What was asked at a moment, and how it was answered.
    fn asked(&self, reading: &Reading, moment: usize) -> Element {
        let block = element("p", "kp-moment");
        let task = reading
            .task(moment)
            .unwrap_or_else(|| tr("This question cannot be set up.").to_owned());
        add(&block, &text("span", "", &task));
        let how = match reading.mark(moment) {
            None if reading.task(moment).is_none() => "",
            mark => mark.and_then(words::ended).unwrap_or(tr("Your move.")),
        };
        let _ = block.append_with_str_1(" ");
        add(&block, &text("b", "", how));
        block
    }
}

/// The move that led to the board's position, as the text has it.
fn current(shown: &[Shown]) -> Option<&str> {
    shown.iter().find_map(|shown| match shown {
        Shown::Move {
            text,
            current: true,
            ..
        } => Some(text.as_str()),
        _ => None,
    })
}

/// Scrolls a room of its own so that an element in it can be seen; the page
/// stays where it is.
fn into_view(room: &Element, inside: &Element) {
    let (outer, inner) = (
        room.get_bounding_client_rect(),
        inside.get_bounding_client_rect(),
    );
    let over = inner.bottom() - outer.bottom();
    let under = outer.top() - inner.top();
    if over > 0.0 {
        room.set_scroll_top(room.scroll_top() + over as i32 + 8);
    } else if under > 0.0 {
        room.set_scroll_top(room.scroll_top() - under as i32 - 8);
    }
}
