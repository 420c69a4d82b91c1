//! A student's study of a published file: the puzzles, what stands on the
//! board, what is said, and what comes next. Plain Rust without a browser; the
//! page tells it of events and calls [`Event::Tick`] when the pause of the
//! next scene is over.

use std::collections::VecDeque;

use keyproof::check::Known;
use keyproof::draft::MoveFault;
use keyproof::notation::pgn_read;
use keyproof::publish;
use keyproof::puzzle::{DraftFault, Puzzle, Stipulation};
use keyproof::session::{Judgement, Next, Reply, Session};
use shakmaty::{Chess, Color, Move, Position, Square};

use crate::solution::{self, Line};
use crate::words;

/// All puzzles of a file, and the one on the desk.
pub struct Study {
    pub puzzles: Vec<Exercise>,
    pub at: usize,
}

/// What the student does.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Event {
    /// A move on the board or typed.
    Play(Move),
    /// The pause of the next scene is over.
    Tick,
    /// Do not wait for the scenes to come.
    Skip,
    /// One more hint.
    Hint,
    /// Show the solution: play it out from here, and list it.
    Solution,
    Restart,
    Turn,
    /// Another puzzle, by its index.
    Open(usize),
}

/// A puzzle of the file, or what is wrong with it.
pub struct Exercise {
    pub title: String,
    pub author: Option<String>,
    /// The language of the author's words, as a tag of BCP 47.
    pub language: Option<String>,
    pub work: Result<Box<Work>, String>,
}

/// How far the student is with a puzzle.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Standing {
    Untouched,
    Begun,
    Solved,
    /// The solution was shown.
    Shown,
    Faulty,
}

/// A student's work on one puzzle.
pub struct Work {
    session: Session,
    scene: Scene,
    coming: VecDeque<Scene>,
    verdict: Option<Verdict>,
    hints: Vec<String>,
    hints_shown: usize,
    walks: bool,
    lists: bool,
    turned: bool,
    touched: bool,
}

/// What stands on the board for a while.
#[derive(Clone, Debug)]
pub struct Scene {
    pub position: Chess,
    pub last: Option<Move>,
    /// A line from one square to another: the reply that refutes a move.
    pub points_out: Option<Move>,
    /// Milliseconds before it comes.
    pause: u32,
    /// What is said when it comes.
    says: Option<Verdict>,
}

/// What is said of a move.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Verdict {
    pub tone: Tone,
    pub text: String,
    /// The author's words.
    pub words: Vec<String>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Tone {
    Right,
    Wrong,
    Plain,
}

/// Pauses in milliseconds: before a reply, between the moves of a line, and
/// before a position comes back.
const REPLY: u32 = 450;
const STEP: u32 = 800;
const BACK: u32 = 1800;

impl Study {
    /// Reads the puzzles that a page carries, and what was proved about them.
    pub fn read(lesson: &str, answers: &str) -> Study {
        let drafts: Vec<_> = pgn_read::read(lesson)
            .into_iter()
            .map(|game| game.draft)
            .collect();
        let puzzles: Vec<Result<Puzzle, String>> = drafts
            .iter()
            .map(|draft| {
                Puzzle::from_draft(draft, &draft.resolve()).map_err(|faults| said(&faults))
            })
            .collect();
        let known = known(answers, &puzzles);
        let tag = |i: usize, name: &str| {
            drafts[i]
                .tag(name)
                .map(str::trim)
                .filter(|v| !v.is_empty() && *v != "?")
                .map(str::to_owned)
        };
        let puzzles = puzzles
            .into_iter()
            .zip(known)
            .enumerate()
            .map(|(i, (puzzle, known))| Exercise {
                title: title(&|name| tag(i, name), i),
                author: tag(i, "Annotator"),
                language: tag(i, "Language"),
                work: puzzle.map(|puzzle| Box::new(Work::new(puzzle, known))),
            });
        Study {
            puzzles: puzzles.collect(),
            at: 0,
        }
    }

    /// The puzzle on the desk; `None` when the file has none.
    pub fn current(&self) -> Option<&Exercise> {
        self.puzzles.get(self.at)
    }

    /// Milliseconds until the next [`Event::Tick`], if one is awaited.
    pub fn pause(&self) -> Option<u32> {
        self.current()?
            .work
            .as_ref()
            .ok()?
            .coming
            .front()
            .map(|scene| scene.pause)
    }

    pub fn update(&mut self, event: Event) {
        if let Event::Open(index) = event {
            if let Some(Exercise { work: Ok(work), .. }) = self.puzzles.get_mut(self.at) {
                work.walks = false;
                work.skip();
            }
            self.at = index.min(self.puzzles.len().saturating_sub(1));
            return;
        }
        if let Some(Exercise { work: Ok(work), .. }) = self.puzzles.get_mut(self.at) {
            work.update(event);
        }
    }
}

impl Exercise {
    pub fn standing(&self) -> Standing {
        match &self.work {
            Err(_) => Standing::Faulty,
            Ok(work) if work.session.shown() => Standing::Shown,
            Ok(work) if work.session.solved() => Standing::Solved,
            Ok(work) if work.touched => Standing::Begun,
            Ok(_) => Standing::Untouched,
        }
    }
}

impl Work {
    fn new(puzzle: Puzzle, known: Known) -> Work {
        let hints = (1..=9)
            .filter_map(|i| puzzle.tag(&format!("Hint{i}")).map(str::to_owned))
            .collect();
        let session = Session::new(puzzle, known);
        let mut work = Work {
            scene: Scene::still(session.position().clone()),
            session,
            coming: VecDeque::new(),
            verdict: None,
            hints,
            hints_shown: 0,
            walks: false,
            lists: false,
            turned: false,
            touched: false,
        };
        if !matches!(work.puzzle().stipulation(), Stipulation::Mate(_)) {
            work.say(
                Tone::Plain,
                "Moves of this puzzle cannot be judged yet.".into(),
                vec![],
            );
        }
        work
    }

    pub fn puzzle(&self) -> &Puzzle {
        self.session.puzzle()
    }

    /// The position the student is asked about, whatever the scene.
    pub fn position(&self) -> &Chess {
        self.session.position()
    }

    /// What stands on the board.
    pub fn scene(&self) -> &Scene {
        &self.scene
    }

    pub fn verdict(&self) -> Option<&Verdict> {
        self.verdict.as_ref()
    }

    pub fn solver(&self) -> Color {
        self.puzzle().solver()
    }

    pub fn solved(&self) -> bool {
        self.session.solved()
    }

    /// Whether scenes are still to come.
    pub fn plays_out(&self) -> bool {
        !self.coming.is_empty()
    }

    /// Moves the student may play now.
    pub fn moves(&self) -> Vec<Move> {
        if self.plays_out() || self.solved() {
            vec![]
        } else {
            self.position().legal_moves().to_vec()
        }
    }

    /// Whether Black's side is below: the solver's, unless turned.
    pub fn black_below(&self) -> bool {
        self.solver().is_black() != self.turned
    }

    /// The hints shown so far, and how many there are.
    pub fn hints(&self) -> (&[String], usize) {
        (&self.hints[..self.hints_shown], self.hints.len())
    }

    /// The lines answered, and the lines asked in all.
    pub fn progress(&self) -> (usize, usize) {
        self.session.progress()
    }

    /// The number of the student's move, and of the moves the puzzle takes.
    pub fn turn(&self) -> (u32, u32) {
        let n = self.length();
        (
            n.saturating_sub(u32::from(self.session.moves_left())) + 1,
            n,
        )
    }

    /// Whether the solution was asked for and is listed.
    pub fn lists_solution(&self) -> bool {
        self.lists
    }

    /// The solution in lines.
    pub fn solution(&self) -> Vec<Line> {
        solution::lines(self.puzzle())
    }

    pub fn mistakes(&self) -> u32 {
        self.session.mistakes()
    }

    fn update(&mut self, event: Event) {
        match event {
            Event::Play(mv) => {
                self.walks = false;
                self.skip();
                self.play(mv);
            }
            Event::Tick => {
                self.advance();
                self.walk();
            }
            Event::Skip => {
                self.skip();
                self.walk();
            }
            Event::Hint => self.hints_shown = (self.hints_shown + 1).min(self.hints.len()),
            Event::Solution => {
                self.skip();
                self.lists = true;
                self.walks = true;
                self.walk();
            }
            Event::Restart => self.restart(),
            Event::Turn => self.turned = !self.turned,
            Event::Open(_) => {}
        }
    }

    fn restart(&mut self) {
        self.session.restart();
        self.scene = Scene::still(self.session.position().clone());
        self.coming.clear();
        self.verdict = None;
        self.hints_shown = 0;
        self.walks = false;
        self.lists = false;
        self.touched = false;
    }

    /// Plays a move of the student and lays out the scenes that follow.
    fn play(&mut self, mv: Move) {
        let before = self.position().clone();
        let (turn, left) = (self.turn().0, self.session.moves_left());
        let reply = self.session.play(mv);
        let played = words::numbered(&before, mv, turn, self.solver());
        if !matches!(reply.judgement, Judgement::Illegal) {
            self.touched = true;
        }
        match &reply.judgement {
            Judgement::Illegal if self.solved() => {}
            Judgement::Illegal => {
                self.say(Tone::Wrong, "That move is not legal here.".into(), vec![])
            }
            Judgement::Unknown => {
                let text = format!("{played} could not be judged; it does not count.");
                self.say(Tone::Plain, text, vec![]);
            }
            Judgement::Try { line } | Judgement::Wrong { line } => {
                let text = words::failure(&before, line, turn, left);
                self.show_failure(
                    &before,
                    line,
                    Verdict {
                        tone: Tone::Wrong,
                        text,
                        words: reply.words.clone(),
                    },
                );
            }
            Judgement::Right => self.go_on(before, mv, format!("{played} is right."), reply),
            Judgement::AlsoRight => {
                self.go_on(before, mv, format!("{played} is right as well."), reply)
            }
        }
    }

    /// Plays out the line that shows why a move fails, then takes it back.
    fn show_failure(&mut self, before: &Chess, line: &[Move], verdict: Verdict) {
        let back = self.scene.last;
        let mut position = before.clone();
        for (i, &mv) in line.iter().enumerate() {
            let Ok(next) = position.clone().play(mv) else {
                break;
            };
            position = next;
            let scene = Scene {
                position: position.clone(),
                last: Some(mv),
                points_out: (i == 1).then_some(mv),
                pause: if i == 0 { 0 } else { STEP },
                says: (i == 0).then(|| verdict.clone()),
            };
            self.coming.push_back(scene);
        }
        self.coming.push_back(Scene {
            last: back,
            pause: BACK,
            ..Scene::still(before.clone())
        });
        self.advance();
    }

    /// Plays a right move and what follows it.
    fn go_on(&mut self, before: Chess, mv: Move, text: String, reply: Reply) {
        let Ok(after) = before.play(mv) else { return };
        let says = |text: String, words: Vec<String>| {
            Some(Verdict {
                tone: Tone::Right,
                text,
                words,
            })
        };
        let mated = after.is_checkmate();
        let scene =
            |position: Chess, last: Option<Move>, pause: u32, says: Option<Verdict>| Scene {
                position,
                last,
                points_out: None,
                pause,
                says,
            };
        let left = self.session.moves_left();
        let turn = self.length().saturating_sub(u32::from(left)).max(1);
        let solver = self.solver();
        let mut all_words = reply.words.clone();
        all_words.extend(reply.defence_words.iter().cloned());
        match reply.next {
            Next::Defence(defence) => {
                let answer = words::numbered(&after, defence, turn, solver);
                let longer = format!("{text} Now {answer}: {}.", words::mate_in(left));
                self.coming
                    .push_back(scene(after.clone(), Some(mv), 0, says(text, reply.words)));
                self.coming.push_back(scene(
                    self.position().clone(),
                    Some(defence),
                    REPLY,
                    says(longer, all_words),
                ));
            }
            Next::AnotherDefence { back_to, defence } => {
                let answer = words::numbered(&back_to, defence, turn, solver);
                let (answered, asked) = self.progress();
                let text = format!("{text} Defence {answered} of {asked} is answered.");
                let longer = format!("{text} The next one is {answer}: {}.", words::mate_in(left));
                self.coming
                    .push_back(scene(after, Some(mv), 0, says(text, reply.words)));
                self.coming.push_back(scene(*back_to, None, BACK, None));
                self.coming.push_back(scene(
                    self.position().clone(),
                    Some(defence),
                    STEP,
                    says(longer, all_words),
                ));
            }
            Next::Solved => {
                let text = self.closing(text, mated);
                self.coming
                    .push_back(scene(after, Some(mv), 0, says(text, reply.words)));
            }
            Next::TryAgain => {}
        }
        self.advance();
    }

    fn closing(&self, mut text: String, mated: bool) -> String {
        if mated {
            text.pop();
            text.push_str(": mate.");
        }
        if self.session.shown() {
            text.push_str(" That is the solution.");
            return text;
        }
        text.push_str(match self.progress().1 {
            0 | 1 => " Solved",
            _ => " Every defence is answered: solved",
        });
        match self.mistakes() {
            0 => text.push_str(", without a wrong move."),
            1 => text.push_str(", with one wrong move."),
            wrong => text.push_str(&format!(", with {wrong} wrong moves.")),
        }
        text
    }

    /// Plays the next move of the solution, if it is being walked through.
    fn walk(&mut self) {
        if !self.walks || self.plays_out() {
            return;
        }
        match self.session.show() {
            Some(mv) => {
                self.play(mv);
                if !self.solved() {
                    self.coming.push_back(Scene {
                        last: self
                            .coming
                            .back()
                            .and_then(|scene| scene.last)
                            .or(self.scene.last),
                        pause: BACK,
                        ..Scene::still(self.position().clone())
                    });
                }
            }
            None => {
                self.walks = false;
                if !self.solved() {
                    self.say(
                        Tone::Plain,
                        "No solution was found from here.".into(),
                        vec![],
                    );
                }
            }
        }
    }

    fn advance(&mut self) {
        if let Some(mut scene) = self.coming.pop_front() {
            if let Some(verdict) = scene.says.take() {
                self.verdict = Some(verdict);
            }
            self.scene = scene;
        }
    }

    fn skip(&mut self) {
        while self.plays_out() {
            self.advance();
        }
    }

    fn say(&mut self, tone: Tone, text: String, words: Vec<String>) {
        self.verdict = Some(Verdict { tone, text, words });
    }

    fn length(&self) -> u32 {
        match self.puzzle().stipulation() {
            Stipulation::Mate(n) => u32::from(n),
            _ => 1,
        }
    }
}

impl Scene {
    fn still(position: Chess) -> Scene {
        Scene {
            position,
            last: None,
            points_out: None,
            pause: 0,
            says: None,
        }
    }

    /// The square of a king in check.
    pub fn check(&self) -> Option<Square> {
        let king = || self.position.board().king_of(self.position.turn());
        self.position.is_check().then(king).flatten()
    }
}

/// What was proved, one for each game of the file. A game that is no puzzle
/// keeps its place in the numbering, held by any other.
fn known(answers: &str, puzzles: &[Result<Puzzle, String>]) -> Vec<Known> {
    let Some(any) = puzzles.iter().find_map(|p| p.as_ref().ok()) else {
        return puzzles.iter().map(|_| Known::default()).collect();
    };
    let seated: Vec<Puzzle> = puzzles
        .iter()
        .map(|p| p.as_ref().unwrap_or(any).clone())
        .collect();
    publish::read_answers(answers, &seated)
}

/// The title of a puzzle: the event, or the players, or its number.
fn title(tag: &dyn Fn(&str) -> Option<String>, index: usize) -> String {
    tag("Event")
        .or_else(|| Some(format!("{}–{}", tag("White")?, tag("Black")?)))
        .unwrap_or_else(|| format!("Puzzle {}", index + 1))
}

/// Why a game of the file is no puzzle.
fn said(faults: &[DraftFault]) -> String {
    let mut text = String::from("This puzzle cannot be set up.");
    for fault in faults.iter().take(3) {
        text.push(' ');
        match fault {
            DraftFault::IllegalPosition(fault) => text.push_str(&fault.reasons.join(" ")),
            DraftFault::MissingStipulation => {
                text.push_str("It does not say what the solver must do.")
            }
            DraftFault::UnknownStipulation(what) => {
                text.push_str(&format!("Its stipulation is not known: {what}."))
            }
            DraftFault::IllegalMove(_, MoveFault::Ambiguous { fits }) => text.push_str(&format!(
                "A move of its solution can mean {}.",
                fits.join(" or ")
            )),
            DraftFault::IllegalMove(..) => text.push_str("A move of its solution is not legal."),
        }
    }
    text
}
