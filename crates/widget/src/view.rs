//! The page as drawn. The elements stay the same for as long as the page is
//! open, so that the focus does; only what they hold changes.

mod after;
mod lesson;

use std::rc::Rc;

use keyproof_board::dom::{add, document, element, set, text, toggle};
use keyproof_board::{PlayBoard, Shown, TypedMove};
use model::puzzle::Puzzle;
use model::tongue::{phrase, say, spoken, tr};
use play::published::read_marks;
use shakmaty::{Color, Move, Position};
use wasm_bindgen::JsCast;
use web_sys::{Element, HtmlElement};

use crate::solution::Part;
use after::AfterView;
use lesson::LessonView;

use crate::reading::Reading;
use crate::stage::{Cue, Stage};
use crate::study::{Completion, Content, Exercise, Study};
use crate::words;
use crate::work::{Tone, Verdict, Work};

/// The page's elements.
pub struct View {
    board: PlayBoard,
    typed: TypedMove<false>,
    /// The numbered puzzles, when there are several.
    row: Option<Row>,
    head: Element,
    /// The author's words before the first move.
    before: Element,
    notice: Element,
    place: Element,
    turn: Element,
    /// What must stay in sight beside the board: what is said, and the controls.
    say: Element,
    talk: Element,
    verdict: Element,
    /// The answers to choose from.
    options: Element,
    hint: Element,
    show: Element,
    restart: Element,
    /// Opens and folds `rare`, which has the controls that are seldom needed.
    more: Element,
    rare: Element,
    left: Element,
    plain: Element,
    /// Goes to the next question that was missed.
    again: Element,
    hints: Element,
    solution: Element,
    whys: Element,
    after: AfterView,
    lesson: LessonView,
    room: Element,
    cues: Element,
    pencil_cue: Element,
    clock: Element,
    /// What the student has done, to copy and send.
    account: Element,
    /// The puzzle that is drawn, and what was last said.
    at: Option<usize>,
    said: Option<Verdict>,
    /// Has the author's marks on the board.
    answers: Rc<str>,
}

struct Row {
    list: Element,
    previous: Element,
    next: Element,
    numbers: Vec<Element>,
}

impl View {
    /// Makes the elements, in `room`.
    pub fn new(room: Element, study: &Study, board: PlayBoard, typed: TypedMove<false>) -> View {
        let article = element("article", "kp-puzzle");
        let row = (study.puzzles.len() > 1).then(|| Row::new(&article, study.puzzles.len()));
        let head = element("header", "kp-head");
        let notice = element("p", "kp-notice");
        set(&notice, "role", "alert");
        let place = element("div", "kp-place");
        let turn = element("p", "kp-turn");
        let lesson = LessonView::new();
        let after = AfterView::new();
        add_all(&place, &[&board.element(), &turn]);
        let before = element("div", "kp-before");
        let say = element("div", "kp-say");
        let talk = element("div", "kp-talk");
        let verdict = element("div", "kp-verdict");
        set(&verdict, "role", "status");
        let tools = element("div", "kp-tools");
        let hint = button("hint", "");
        let show = button("solution", phrase("Show the solution"));
        let restart = button("restart", phrase("Start over"));
        let more = button("more", phrase("More"));
        let again = button("again", "");
        let at_hand = [&hint, &after.threat, &again, &show, &after.around, &more];
        add_all(&tools, &at_hand);
        let (rare, left, plain) = rare(lesson.pass(), &restart);
        let (cues, pencil_cue, clock) = cues();
        let hints = named("ol", "kp-hints", phrase("Hints"));
        set(&hints, "aria-live", "polite");
        let solution = named("section", "kp-solution", phrase("Solution"));
        let whys = named("section", "kp-whys", phrase("Why it works"));
        let options = named("div", "kp-tools kp-options", phrase("Answers"));
        set(&options, "role", "group");
        add_all(&say, &[&cues, &verdict, &hints, &after.way, &lesson.way]);
        add_all(&say, &[&options, &typed.element(), &tools, &rare]);
        let told = [&after.found, &whys, &after.also, &solution, &lesson.flow];
        add_all(&talk, &told);
        let parts = [&head, &notice, &place, &lesson.here, &say, &before, &talk];
        add_all(&article, &parts);
        add(&room, &article);
        let account = coachs(&room);
        let view = View {
            room,
            account,
            cues,
            pencil_cue,
            clock,
            board,
            typed,
            row,
            head,
            before,
            notice,
            place,
            turn,
            say,
            talk,
            verdict,
            options,
            hint,
            show,
            restart,
            more,
            rare,
            left,
            plain,
            again,
            hints,
            solution,
            whys,
            after,
            lesson,
            at: None,
            said: None,
            answers: "".into(),
        };
        view.unfold(false);
        view
    }

    /// Opens or folds the controls that are seldom needed.
    pub fn unfold(&self, open: bool) {
        toggle(&self.rare, "hidden", !open);
        let told = if open { "true" } else { "false" };
        set(&self.more, "aria-expanded", told);
    }

    /// Puts the browser's focus on what opens them.
    pub fn focus_more(&self) {
        let _ = self.more.unchecked_ref::<HtmlElement>().focus();
    }

    /// Whether they are open.
    pub fn is_unfolded(&self) -> bool {
        !self.rare.has_attribute("hidden")
    }

    /// Draws what has changed.
    pub fn draw(&mut self, study: &Study) {
        self.answers = study.answers.clone();
        if let Some(row) = &self.row {
            row.draw(study);
        }
        let Some(exercise) = study.current() else {
            return self.draw_notice(Some(tr("This file holds no puzzle.")));
        };
        if self.at != Some(study.at) {
            self.at = Some(study.at);
            self.draw_head(exercise);
        }
        let missed = study.missed().len();
        toggle(&self.again, "hidden", missed == 0);
        let told = say!("Again, what was missed ({n})", n = missed.to_string());
        self.again.set_text_content(Some(&told));
        let language = exercise.language.as_deref();
        let fault = match &exercise.content {
            Content::Faulty(fault) => Some(fault.as_str()),
            _ => None,
        };
        self.draw_notice(fault);
        match &exercise.content {
            Content::Puzzle(work) => {
                self.lesson.hide();
                toggle(&self.restart, "hidden", false);
                self.draw_work(work, work.black_below(), None, language);
            }
            Content::Lesson(reading) => self.draw_reading(reading, language),
            Content::Faulty(_) => {}
        }
    }

    /// Draws a lesson: the work at a moment, or the place in the game.
    fn draw_reading(&mut self, reading: &Reading, language: Option<&str>) {
        self.lesson.draw(reading, language);
        let work = reading.work();
        for part in [&self.verdict, &self.hints, &self.whys, &self.solution] {
            toggle(part, "hidden", work.is_none());
        }
        toggle(&self.restart, "hidden", true);
        if let Some(work) = work {
            return self.draw_work(work, reading.black_below(), reading.last(), language);
        }
        self.after.hide();
        self.draw_options(&[]);
        self.said = None;
        self.verdict.set_text_content(None);
        for part in [&self.hint, &self.show] {
            toggle(part, "hidden", true);
        }
        let position = reading.position();
        self.typed.read_in(Some(position.clone()));
        toggle(&self.typed.element(), "hidden", true);
        let king = position.board().king_of(position.turn());
        self.show_board(Shown {
            label: to_move(position.turn()),
            position: position.board().clone(),
            black_below: reading.black_below(),
            moves: reading.moves(),
            last: reading.last(),
            check: king.filter(|_| position.is_check()),
            mate: position.is_checkmate(),
            marks: vec![],
        });
        self.turn.set_text_content(None);
        self.draw_side(position.turn());
    }

    /// Draws the stage: what the room sees, and the clock at `now`.
    pub fn draw_stage(&self, stage: &Stage, now: u64) {
        let class = if stage.on {
            "kp-page kp-stage"
        } else {
            "kp-page"
        };
        if self.room.class_name() != class {
            self.room.set_class_name(class);
        }
        toggle(&self.cues, "hidden", !stage.on);
        let drawing = if stage.pencil { "true" } else { "false" };
        set(&self.pencil_cue, "aria-pressed", drawing);
        self.clock.set_text_content(stage.clock(now).as_deref());
    }

    /// Shows the account for the coach.
    pub fn draw_account(&self, account: &str) {
        self.account.set_text_content(Some(account));
    }

    /// Does what a cue asks of the board and the window.
    pub fn take_cue(&self, cue: Cue, stage: &Stage) {
        match cue {
            Cue::Pencil | Cue::Stage => {
                self.board.wipe();
                self.board.take_pencil(stage.pencil);
            }
            Cue::Clock => {}
        }
        if cue == Cue::Stage {
            if stage.on {
                let _ = self.room.request_fullscreen();
            } else {
                document().exit_fullscreen();
            }
        }
    }

    /// Puts the browser's focus on the board.
    pub fn focus_board(&self) {
        self.board.focus();
    }

    fn draw_notice(&self, fault: Option<&str>) {
        toggle(&self.notice, "hidden", fault.is_none());
        for part in [&self.place, &self.say, &self.before, &self.talk] {
            toggle(part, "hidden", fault.is_some());
        }
        if self.notice.text_content().as_deref() != Some(fault.unwrap_or_default()) {
            self.notice.set_text_content(fault);
        }
    }

    fn draw_head(&self, exercise: &Exercise) {
        self.head.set_text_content(None);
        self.before.set_text_content(None);
        let language = exercise.language.as_deref();
        add(&self.head, &written("h1", "", &exercise.title, language));
        for line in [&exercise.event, &exercise.author].into_iter().flatten() {
            add(&self.head, &written("p", "kp-author", line, language));
        }
        if let Content::Puzzle(work) = &exercise.content {
            add(&self.head, &task(work.puzzle(), language));
            for words in work.puzzle().words() {
                add(&self.before, &written("p", "kp-words", words, language));
            }
        }
    }

    fn draw_work(
        &mut self,
        work: &Work,
        black_below: bool,
        before: Option<Move>,
        language: Option<&str>,
    ) {
        self.draw_board(work, black_below, before);
        self.draw_turn(work);
        let said = work.said();
        if self.said.as_ref() != Some(&said) {
            self.draw_verdict(&said, language);
            self.said = Some(said);
        }
        let solved = work.solved();
        let over = solved && work.look().is_none();
        let options = work.options();
        self.typed.read_in((!over).then(|| work.position().clone()));
        toggle(&self.typed.element(), "hidden", over || !options.is_empty());
        self.draw_options(&options);
        let (shown, all) = work.hints();
        toggle(&self.hint, "hidden", all == 0 || solved);
        toggle(&self.hint, "disabled", shown.len() == all);
        let number = (shown.len() + 1).min(all);
        let costs = work.next_cost() > 0 && shown.len() < all;
        let name = say!(
            match costs {
                true => phrase!("Hint {n} of {of} (costs {points})", "n of points"),
                false => phrase!("Hint {n} of {of}", "n of points"),
            },
            n = number.to_string(),
            of = all.to_string(),
            points = words::points(work.next_cost()),
        );
        self.hint.set_text_content(Some(&name));
        let drawn = self.hints.child_element_count() as usize;
        if drawn > shown.len() || shown.is_empty() {
            self.hints.set_text_content(None);
        }
        for hint in shown.iter().skip(self.hints.child_element_count() as usize) {
            add(&self.hints, &written("li", "", hint, language));
        }
        self.draw_whys(work);
        self.after.draw(work);
        self.draw_solution(work, language);
    }

    /// The answers to choose from; a button stays, and the focus with it, while its text
    /// changes.
    fn draw_options(&self, options: &[String]) {
        toggle(&self.options, "hidden", options.is_empty());
        let mut at = self.options.first_element_child();
        for (index, option) in options.iter().enumerate() {
            let place = at.unwrap_or_else(|| {
                let new = press(&["=", &index.to_string()].concat(), "");
                add(&self.options, &new);
                new
            });
            place.set_text_content(Some(option));
            at = place.next_element_sibling();
        }
        while let Some(surplus) = at {
            at = surplus.next_element_sibling();
            surplus.remove();
        }
    }

    /// Draws what the student chose for himself, by its name.
    pub fn draw_choice(&self, choice: &str, on: bool) {
        toggle(&self.room, &["data-", choice].concat(), on);
        let button = if choice == "left" {
            &self.left
        } else {
            &self.plain
        };
        set(button, "aria-pressed", if on { "true" } else { "false" });
    }

    /// Why the solution works; each reason can be pressed to see it on the board.
    fn draw_whys(&self, work: &Work) {
        let whys = work.whys();
        toggle(&self.whys, "hidden", whys.is_empty());
        let Some(first) = whys.first() else { return };
        let which = [
            &self.at.unwrap_or_default().to_string(),
            first.sentence.as_str(),
        ]
        .concat();
        if self.whys.get_attribute("data-of").as_deref() != Some(&which) {
            self.whys.set_text_content(None);
            set(&self.whys, "data-of", &which);
            head(&self.whys, phrase("Why it works"));
            let list = element("ul", "");
            for (index, why) in whys.iter().enumerate() {
                let item = element("li", "");
                let press = button(&["why", &index.to_string()].concat(), "");
                add(&press, &text("b", "", &why.title));
                let _ = press.append_with_str_1(&[" ", &why.sentence].concat());
                add(&item, &press);
                add(&list, &item);
            }
            add(&self.whys, &list);
        }
        let list = self.whys.last_element_child();
        let mut item = list.and_then(|list| list.first_element_child());
        let mut index = 0;
        while let Some(at) = item {
            let pressed = if work.why() == Some(index) {
                "true"
            } else {
                "false"
            };
            if let Some(press) = at.first_element_child() {
                set(&press, "aria-pressed", pressed);
            }
            item = at.next_element_sibling();
            index += 1;
        }
    }

    /// Shows a board, with the author's marks where it has no others.
    fn show_board(&self, mut shown: Shown) {
        if shown.marks.is_empty() {
            shown.marks = read_marks(&self.answers, &shown.position);
        }
        self.board.show(shown);
    }

    /// `before` is the move that led to the puzzle's position, in a game.
    fn draw_board(&self, work: &Work, black_below: bool, before: Option<Move>) {
        let scene = work.scene();
        let state = if let Some(why) = work.shown_why() {
            say!("Position, {what}", what = why.title)
        } else if work.solved() && work.look().is_none() {
            tr("Position, solved").to_owned()
        } else {
            to_move(work.side())
        };
        self.show_board(Shown {
            label: state,
            position: scene.position.board().clone(),
            black_below,
            moves: work.moves(),
            last: scene
                .last
                .or(before.filter(|_| scene.position == *work.puzzle().start())),
            check: scene.check(),
            mate: scene.position.is_checkmate(),
            marks: scene.marks.clone(),
        });
    }

    /// The line under the board: whose move, which move, which defence.
    fn draw_turn(&self, work: &Work) {
        self.turn.set_text_content(None);
        if let Some(why) = work.shown_why() {
            add(&self.turn, &text("b", "", &why.title));
            if work.whys().is_empty() {
                add(&self.turn, &text("span", "", &why.sentence));
            }
            return;
        }
        if let Some(told) = work.looked() {
            self.draw_side(work.position().turn());
            add(&self.turn, &text("span", "", &told));
            return;
        }
        if work.solved() {
            let told = match work.shown() {
                true => phrase("The solution is shown"),
                false => phrase("Solved"),
            };
            add(&self.turn, &text("b", "", tr(told)));
            return;
        }
        let position = &work.scene().position;
        if position.is_checkmate() {
            add(&self.turn, &text("b", "", tr("Mate")));
            return;
        }
        self.draw_side(work.side());
        if work.plays_out() {
            return;
        }
        let (turn, length) = work.turn();
        let (answered, asked) = work.progress();
        let (move_name, line_name) = if work.shared() {
            (
                phrase!("Half move {n} of {of}", "n of"),
                phrase!("Solution {n} of {of}", "n of"),
            )
        } else {
            (
                phrase!("Move {n} of {of}", "n of"),
                phrase!("Defence {n} of {of}", "n of"),
            )
        };
        let counts = [
            (move_name, turn as usize, length.unwrap_or(1) as usize),
            (line_name, (answered + 1).min(asked), asked),
        ];
        for (what, number, of) in counts.into_iter().filter(|(_, _, of)| *of > 1) {
            let count = say!(what, n = number.to_string(), of = of.to_string());
            add(&self.turn, &text("span", "", &count));
        }
    }

    fn draw_side(&self, side: Color) {
        let dot = if side.is_white() {
            "kp-white"
        } else {
            "kp-black"
        };
        add(&self.turn, &element("i", dot));
        add(&self.turn, &text("b", "", whose(side)));
    }

    fn draw_verdict(&self, verdict: &Verdict, language: Option<&str>) {
        self.verdict.set_text_content(None);
        let (class, mark) = match verdict.tone {
            Tone::How => return add(&self.verdict, &text("p", "kp-how", &verdict.text)),
            Tone::Right => ("kp-right", "✓ "),
            Tone::Wrong => ("kp-wrong", "✗ "),
            Tone::Plain => ("kp-plain", ""),
        };
        let block = element("div", class);
        let line = element("p", "");
        let sign = text("i", "", mark);
        set(&sign, "aria-hidden", "true");
        add(&line, &sign);
        add(&line, &text("span", "", &verdict.text));
        add(&block, &line);
        for words in &verdict.words {
            add(&block, &written("p", "kp-words", words, language));
        }
        add(&self.verdict, &block);
    }

    fn draw_solution(&self, work: &Work, language: Option<&str>) {
        let asked = work.lists_solution();
        toggle(&self.show, "hidden", asked);
        toggle(&self.solution, "hidden", !asked);
        let drawn = self.solution.first_element_child().is_some();
        if asked
            && drawn
            && self.solution.get_attribute("data-at") == self.at.map(|at| at.to_string())
        {
            return;
        }
        self.solution.set_text_content(None);
        if !asked {
            return;
        }
        set(
            &self.solution,
            "data-at",
            &self.at.unwrap_or_default().to_string(),
        );
        head(&self.solution, phrase("Solution"));
        let list = element("ul", "");
        for line in work.solution() {
            let item = element("li", if line.tried { "kp-tried" } else { "" });
            set(
                &item,
                "style",
                &["--depth:", &line.depth.min(8).to_string()].concat(),
            );
            for part in &line.parts {
                let part = match part {
                    Part::Move(node, mv) => press(&["look:", &node.0.to_string()].concat(), mv),
                    Part::Words(words) => written("span", "kp-words", words, language),
                };
                add(&item, &part);
                let _ = item.append_with_str_1(" ");
            }
            add(&list, &item);
        }
        add(&self.solution, &list);
    }
}

impl Row {
    fn new(room: &Element, count: usize) -> Row {
        let nav = element("nav", "kp-row");
        name(&nav, phrase("Puzzles"));
        let previous = button("previous", "←");
        let next = button("next", "→");
        name(&previous, phrase("Previous puzzle"));
        name(&next, phrase("Next puzzle"));
        let list = element("ol", "");
        let numbers: Vec<Element> = (0..count)
            .map(|index| {
                let item = element("li", "");
                let number = button(&index.to_string(), "");
                add(&item, &number);
                add(&list, &item);
                number
            })
            .collect();
        for part in [&previous, &list, &next] {
            add(&nav, part);
        }
        add(room, &nav);
        Row {
            list,
            previous,
            next,
            numbers,
        }
    }

    fn draw(&self, study: &Study) {
        toggle(&self.previous, "disabled", study.at == 0);
        toggle(&self.next, "disabled", study.at + 1 >= study.puzzles.len());
        for (index, (number, exercise)) in self.numbers.iter().zip(&study.puzzles).enumerate() {
            let (mark, state) = match exercise.completion() {
                Completion::Untouched => ("", ""),
                Completion::Begun => (" …", phrase(", begun")),
                Completion::Solved => (" ✓", phrase(", solved")),
                Completion::Shown => (" ○", phrase(", solution shown")),
                Completion::Faulty => (" –", phrase(", faulty")),
            };
            let name = (index + 1).to_string();
            number.set_text_content(Some(&[name.as_str(), mark].concat()));
            set(
                number,
                "aria-label",
                &say!(
                    "Puzzle {n}{state}: {title}",
                    n = name,
                    state = tr(state),
                    title = exercise.title,
                ),
            );
            set(
                number,
                "aria-current",
                if index == study.at { "true" } else { "false" },
            );
        }
        if let Some(here) = self.numbers.get(study.at) {
            let (row, here) = (
                self.list.get_bounding_client_rect(),
                here.get_bounding_client_rect(),
            );
            let into = here.left() - row.left();
            if into < 0.0 || into + here.width() > row.width() {
                let middle = (into - row.width() / 2.0) as i32;
                self.list.set_scroll_left(self.list.scroll_left() + middle);
            }
        }
    }
}

/// Whose move it is.
fn whose(side: Color) -> &'static str {
    tr(side.fold_wb(phrase("White to move"), phrase("Black to move")))
}

/// The board's name for a screen reader.
fn to_move(side: Color) -> String {
    say!("Position, {what}", what = whose(side))
}

/// A button with a text of the program's own.
fn button(event: &str, label: &'static str) -> Element {
    press(event, tr(label))
}

/// A button, with a move for example.
fn press(event: &str, label: &str) -> Element {
    let button = text("button", "", label);
    set(&button, "type", "button");
    set(&button, "data-do", event);
    button
}

fn add_all(parent: &Element, children: &[&Element]) {
    for child in children {
        add(parent, child);
    }
}

/// An element with a name for assistive technology.
fn named(tag: &str, class: &str, label: &'static str) -> Element {
    let element = element(tag, class);
    name(&element, label);
    element
}

/// The account for the coach, below the puzzle: gives the text's element.
fn coachs(room: &Element) -> Element {
    let told = element("details", "kp-account");
    add(&told, &text("summary", "", tr("For your coach")));
    let account = element("textarea", "");
    set(&account, "readonly", "");
    set(&account, "rows", "6");
    name(&account, phrase("What you have done, to copy and send"));
    // What the browser does with it is done in web/attend.js.
    let called = text("label", "", tr("Your name or initials"));
    let field = element("input", "");
    set(&field, "data-do", "name");
    set(&field, "maxlength", "60");
    add(&called, &field);
    let given = element("p", "kp-tools");
    for (how, label) in [
        ("copy", phrase("Copy")),
        ("share", phrase("Share")),
        ("save", phrase("Save")),
    ] {
        let give = button("", label);
        set(&give, "data-give", how);
        add(&given, &give);
    }
    let done = element("span", "");
    set(&done, "role", "status");
    set(&done, "data-told", tr("Copied."));
    add(&given, &done);
    for part in [&called, &account, &given] {
        add(&told, part);
    }
    add(room, &told);
    account
}

/// What is at hand while it is presented, with its pencil and its clock.
fn cues() -> (Element, Element, Element) {
    let cues = element("div", "kp-cues");
    let pencil_cue = button("pencil", phrase("Pencil (p)"));
    let clock = element("span", "kp-clock");
    for part in [
        &button("clock", phrase("Clock (c)")),
        &pencil_cue,
        &button("stage", phrase("Leave (Esc)")),
        &clock,
    ] {
        add(&cues, part);
    }
    (cues, pencil_cue, clock)
}

/// The controls that are seldom needed, with those for the left hand and for a plain
/// board.
fn rare(pass: &Element, restart: &Element) -> (Element, Element, Element) {
    let rare = element("div", "kp-tools kp-rare");
    let left = button("left", phrase("Left-handed"));
    let plain = button("plain", phrase("Plain board"));
    for tool in [
        pass,
        restart,
        &button("turn", phrase("Turn the board")),
        &left,
        &plain,
        &button("stage", phrase("Present")),
    ] {
        add(&rare, tool);
    }
    (rare, left, plain)
}

/// Names an element for a screen reader.
fn name(element: &Element, name: &'static str) {
    set(element, "aria-label", tr(name));
}

/// Adds a heading.
fn head(section: &Element, heading: &'static str) {
    add(section, &text("h2", "", tr(heading)));
}

/// The task; in the author's language where he wrote it.
fn task(puzzle: &Puzzle, language: Option<&str>) -> Element {
    let own = language.filter(|_| puzzle.tag("Task").is_some());
    let language = own.unwrap_or(spoken().tag());
    written("p", "kp-task", &puzzle.task(), Some(language))
}

/// An element with a text of the author's: in his language, and set in the direction
/// that its letters have, apart from what stands beside it.
fn written(tag: &str, class: &str, words: &str, language: Option<&str>) -> Element {
    let words = text(tag, class, words);
    set(&words, "dir", "auto");
    if let Some(language) = language {
        set(&words, "lang", language);
    }
    words
}
