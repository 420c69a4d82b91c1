//! What comes beside and after the work on a puzzle: the lines found so far, the
//! threat, the other right moves, and the way to look around.

use keyproof_board::dom::{add, element, set, text, toggle};
use model::short::joined;
use model::tongue::{phrase, say};
use web_sys::Element;

use super::{button, name, press};
use crate::work::Work;

/// The elements.
pub struct AfterView {
    /// The lines found so far.
    pub found: Element,
    /// The other right first moves.
    pub also: Element,
    /// The buttons that ask for the threat and to look around; for among the tools.
    pub threat: Element,
    pub around: Element,
    /// The steps of looking around, for below the board.
    pub way: Element,
    back: Element,
    on: Element,
    /// What `found` holds.
    drawn: String,
}

impl AfterView {
    pub fn new() -> AfterView {
        let found = element("section", "kp-found");
        set(&found, "aria-live", "polite");
        let way = element("nav", "kp-way");
        let [back, on] = [
            ("unplay", "←", phrase("One move back")),
            ("on", "→", phrase("One move on")),
        ]
        .map(|(event, sign, told)| {
            let step = press(event, sign);
            name(&step, told);
            add(&way, &step);
            step
        });
        name(&way, phrase("Looking around"));
        add(&way, &button("look", phrase("Back to the first position")));
        add(&way, &button("enough", phrase("Enough looked around")));
        AfterView {
            found,
            also: element("p", "kp-also"),
            threat: button("", phrase("Show the threat")),
            around: button("look", phrase("Look around")),
            way,
            back,
            on,
            drawn: String::new(),
        }
    }

    /// Hides all that belongs to a puzzle.
    pub fn hide(&self) {
        for part in [
            &self.found,
            &self.also,
            &self.threat,
            &self.around,
            &self.way,
        ] {
            toggle(part, "hidden", true);
        }
    }

    /// Draws what has changed.
    pub fn draw(&mut self, work: &Work) {
        let threat = work.threat();
        toggle(&self.threat, "hidden", threat.is_none());
        if let Some(index) = threat {
            set(
                &self.threat,
                "data-do",
                &["why", &index.to_string()].concat(),
            );
            let pressed = work.why() == threat;
            set(
                &self.threat,
                "aria-pressed",
                if pressed { "true" } else { "false" },
            );
        }
        let looks = work.look().is_some();
        toggle(&self.around, "hidden", looks || !work.is_open());
        toggle(&self.way, "hidden", !looks);
        if let Some(look) = work.look() {
            let (on, back) = look.ways(work.puzzle());
            toggle(&self.on, "disabled", !on);
            toggle(&self.back, "disabled", !back);
        }
        let also = work.also_right();
        toggle(&self.also, "hidden", also.is_empty());
        if !also.is_empty() {
            let told = say!("Right as well: {moves}.", moves = joined(&also, ", "));
            self.also.set_text_content(Some(&told));
        }
        self.draw_found(work);
    }

    fn draw_found(&mut self, work: &Work) {
        let (branches, open) = work.found();
        toggle(&self.found, "hidden", branches.is_empty());
        let mut drawn = open.to_string();
        for branch in branches {
            drawn.push_str(&branch.text);
            drawn.push(if branch.done { '.' } else { ',' });
        }
        if drawn == self.drawn {
            return;
        }
        self.drawn = drawn;
        self.found.set_text_content(None);
        let head = if work.shared() {
            phrase("Solutions found")
        } else {
            phrase("Defences answered")
        };
        super::head(&self.found, head);
        let list = element("ul", "");
        for branch in branches {
            let line = [branch.text.as_str(), if branch.done { " ✓" } else { " …" }].concat();
            let item = text("li", "", &line);
            set(
                &item,
                "style",
                &["--depth:", &branch.depth.min(8).to_string()].concat(),
            );
            add(&list, &item);
        }
        if open > 0 {
            let more = say!("Still to come: {n}", n = open.to_string());
            add(&list, &text("li", "kp-open-lines", &more));
        }
        add(&self.found, &list);
    }
}
