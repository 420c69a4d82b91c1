//! A student's work on one puzzle: what stands on the board, what is said, and
//! what comes next. Plain Rust without a browser.

use std::collections::VecDeque;

use keyproof_board::{LineKind, Mark as BoardMark};
use model::draft::NodeId;
use model::notation::moves::landing;
use model::notation::moves::side_name;
use model::puzzle::Puzzle;
use model::tongue::{Phrase, holes, phrase, plural, say, tr};
use play::failure::{self, FailureKind};
use play::goal::Goal;
use play::published::{Published, Why};
use play::session::{Judgement, Next, Reply, Session};
use shakmaty::{Chess, Color, Move, Position, Square};

use crate::answered::{Answered, Branch};
use crate::event::Event;
use crate::look::Look;
use crate::solution::{self, Line};
use crate::words;
use play::account::Mark;

/// A student's work on one puzzle.
pub struct Work {
    session: Session,
    /// Why wrong first moves fail, each with the line that shows it.
    failures: Vec<(FailureKind, Vec<Move>)>,
    /// The line of the reasons, and the reasons.
    line: Vec<Move>,
    whys: Vec<Why>,
    /// The reason that stands on the board.
    why: Option<usize>,
    scene: Scene,
    coming: VecDeque<Scene>,
    verdict: Option<Verdict>,
    hints: Vec<String>,
    hints_shown: usize,
    /// Points that each hint costs; the last holds for those that follow.
    costs: Vec<u32>,
    /// The lines found so far.
    answered: Answered,
    /// Whether the student began with the first move of `line`.
    on_line: bool,
    look: Option<Look>,
    pub(crate) walks: bool,
    lists: bool,
    turned: bool,
    pub(crate) touched: bool,
    /// What became of it first.
    mark: Mark,
    /// It was found without a wrong move at a later try.
    again: bool,
    /// Moves of the game that are not counted: all that were played before,
    /// unless the puzzle stands in its game.
    passed: u32,
}

/// What stands on the board for a while.
#[derive(Clone, Debug)]
pub struct Scene {
    pub position: Chess,
    pub last: Option<Move>,
    /// Lines and rings: the reply that refutes a move, or what a reason is about.
    pub marks: Vec<BoardMark>,
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
pub(crate) const BACK: u32 = 1800;

impl Work {
    /// The work on a puzzle, with what was published of it. Moves are counted
    /// from its first, or as in the game where it stands `in_game`.
    pub(crate) fn new(puzzle: Puzzle, published: Published, in_game: bool) -> Work {
        let passed = match in_game {
            true => 0,
            false => puzzle.start().fullmoves().get() - 1,
        };
        let hints = hints(&puzzle);
        let costs = puzzle.tag("HintCost").map_or(vec![], |text| {
            text.split(' ')
                .filter_map(|cost| cost.parse().ok())
                .collect()
        });
        let goal = Goal::of(&puzzle);
        let shown = |(mv, kind): (Move, FailureKind)| {
            let ruling = published.known.ruling(puzzle.start(), goal, mv)?;
            Some((kind, ruling.line().to_vec()))
        };
        let failures = published
            .failures
            .iter()
            .copied()
            .filter_map(shown)
            .collect();
        let session = Session::new(puzzle, published.known);
        let mut work = Work {
            scene: Scene::still(session.position().clone()),
            session,
            failures,
            line: published.line,
            whys: published.whys,
            why: None,
            coming: VecDeque::new(),
            verdict: None,
            hints,
            hints_shown: 0,
            costs,
            answered: Answered::default(),
            on_line: false,
            look: None,
            walks: false,
            lists: false,
            turned: false,
            touched: false,
            mark: Mark::default(),
            again: false,
            passed,
        };
        if !work.session.judges() {
            work.say(
                Tone::Plain,
                tr("This puzzle came without its answers, so moves cannot be judged.").into(),
                vec![],
            );
        }
        work
    }

    pub fn puzzle(&self) -> &Puzzle {
        self.session.puzzle()
    }

    /// The position in which the student moves, whatever the scene.
    pub fn position(&self) -> &Chess {
        match &self.look {
            Some(look) => look.position(self.puzzle()),
            None => self.session.position(),
        }
    }

    pub(crate) fn seed(&mut self, seed: u64) {
        self.session.seed(seed);
    }

    /// Where the student looks around.
    pub fn look(&self) -> Option<&Look> {
        self.look.as_ref()
    }

    /// What he played there, in words.
    pub fn looked(&self) -> Option<String> {
        Some(self.look.as_ref()?.told(self.puzzle(), self.passed))
    }

    /// Whether the student may look around: all is done, or was shown.
    pub fn is_open(&self) -> bool {
        self.solved() || self.lists && !self.walks
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
        if self.plays_out() || self.why.is_some() || self.look.is_none() && self.session.solved() {
            vec![]
        } else {
            self.position().legal_moves().to_vec()
        }
    }

    /// Whether the student plays both sides.
    pub fn shared(&self) -> bool {
        self.puzzle().stipulation().shared()
    }

    /// Whether Black's side is below: the solver's, unless turned. Who plays
    /// both sides has White's below, as problems are printed.
    pub fn black_below(&self) -> bool {
        (self.solver().is_black() && !self.shared()) != self.turned
    }

    /// The hints shown so far, and how many there are.
    pub fn hints(&self) -> (&[String], usize) {
        (&self.hints[..self.hints_shown], self.hints.len())
    }

    /// Points that the next hint costs.
    pub fn next_cost(&self) -> u32 {
        self.cost_of(self.hints_shown)
    }

    /// Points that the hints shown cost.
    pub fn cost(&self) -> u32 {
        (0..self.hints_shown).map(|i| self.cost_of(i)).sum()
    }

    /// What a coach before his group does next: a hint, the solution, a reason.
    pub(crate) fn on(&self) -> Option<Event> {
        if self.plays_out() {
            Some(Event::Skip)
        } else if self.solved() || self.lists {
            let next = self.why.map_or(0, |at| at + 1);
            (next < self.whys.len()).then_some(Event::Why(next))
        } else if self.hints_shown < self.hints.len() {
            Some(Event::Hint)
        } else {
            Some(Event::Solution)
        }
    }

    fn cost_of(&self, hint: usize) -> u32 {
        let cost = self.costs.get(hint).or(self.costs.last());
        cost.copied().unwrap_or(0)
    }

    /// The lines found so far, where several are asked, and how many have not
    /// been asked yet.
    pub fn found(&self) -> (&[Branch], usize) {
        let (_, asked) = self.progress();
        let found = self.answered.branches();
        if asked < 2 {
            return (&[], 0);
        }
        (found, asked.saturating_sub(found.len()))
    }

    /// Right first moves beside the author's own, once all is done.
    pub fn also_right(&self) -> Vec<String> {
        if !self.solved() && !self.lists {
            return vec![];
        }
        let start = self.puzzle().start();
        let also = self.session.also_right().into_iter();
        also.map(|mv| words::numbered(start, mv, self.passed))
            .collect()
    }

    /// The reason that tells the threat, which may be asked for once the first
    /// move is played.
    pub fn threat(&self) -> Option<usize> {
        if !self.on_line || self.solved() || self.lists {
            return None;
        }
        self.whys.iter().position(|why| why.threat && why.at == 0)
    }

    /// The lines answered, and the lines asked in all.
    pub fn progress(&self) -> (usize, usize) {
        self.session.progress()
    }

    /// The number of the student's move, and of the moves the mate takes, where
    /// one is asked. Who plays both sides counts half moves.
    pub fn turn(&self) -> (u32, Option<u32>) {
        let forced = self.puzzle().stipulation().forced();
        let length = forced.map(|(_, n)| u32::from(n));
        if let (true, Some(length), Some(left)) = (self.shared(), length, self.session.moves_left())
        {
            return (length + 1 - u32::from(left), Some(length));
        }
        // Where the other side ends the line, his move is the last one counted.
        let passed = self.puzzle().start().fullmoves().get() - 1;
        let number = words::number(self.position(), passed);
        (length.map_or(number, |n| number.min(n.max(1))), length)
    }

    /// Whether the solution was asked for and is listed.
    pub fn lists_solution(&self) -> bool {
        self.lists
    }

    /// The solution in lines.
    pub fn solution(&self) -> Vec<Line> {
        solution::lines(self.puzzle(), self.passed)
    }

    /// Why the solution works, once it is found or shown.
    pub fn whys(&self) -> &[Why] {
        if self.solved() || self.lists {
            &self.whys
        } else {
            &[]
        }
    }

    /// The reason that stands on the board, by its index and as it is.
    pub fn why(&self) -> Option<usize> {
        self.why
    }

    pub fn shown_why(&self) -> Option<&Why> {
        self.whys.get(self.why?)
    }

    pub fn mistakes(&self) -> u32 {
        self.session.mistakes()
    }

    /// Milliseconds until the next scene, if one is to come.
    pub fn pause(&self) -> Option<u32> {
        self.coming.front().map(|scene| scene.pause)
    }

    /// What became of it, now or at an earlier visit; `None` if nothing did.
    pub fn mark(&self) -> Option<&Mark> {
        (self.mark != Mark::default()).then_some(&self.mark)
    }

    /// Takes up what became of it at an earlier visit, and says so.
    pub(crate) fn recall(&mut self, mark: Mark) {
        if mark.done {
            let text = match mark.shown {
                true => tr("Last time the solution was shown.").to_owned(),
                false => {
                    let mistakes = with_mistakes(mark.mistakes);
                    say!("Solved last time, {mistakes}.", mistakes = mistakes)
                }
            };
            self.say(Tone::Plain, text, vec![]);
        }
        self.mark = mark;
    }

    /// Whether it was shown or not found at once, and not found so since.
    pub fn missed(&self) -> bool {
        let mark = &self.mark;
        mark.done && (mark.shown || mark.mistakes > 0) && !self.again
    }

    /// Whether the student is at another try.
    pub fn tries_again(&self) -> bool {
        self.mark.done && self.touched && !self.solved() && !self.lists
    }

    /// Passes the question by, which counts as having it shown.
    pub(crate) fn pass(&mut self) {
        self.close(true);
    }

    /// Whatever is played from here on is another try.
    fn close(&mut self, shown: bool) {
        if self.mark.done {
            self.mark.later |= self.mark.shown && !shown;
            self.again |= !shown && self.mistakes() == 0;
            return;
        }
        self.mark.done = true;
        self.mark.shown = shown;
    }

    /// Whether the solution was shown.
    pub fn shown(&self) -> bool {
        self.session.shown()
    }

    pub(crate) fn update(&mut self, event: Event) {
        if !matches!(event, Event::Why(_) | Event::Turn | Event::Hint) {
            self.put_why_away();
        }
        match event {
            Event::Why(index) => self.show_why(index),
            Event::Look(_) if self.is_open() => self.look_at(event),
            Event::LookOn | Event::LookBack | Event::Play(_) if self.look.is_some() => {
                self.look_at(event)
            }
            Event::LookEnd => {
                self.look = None;
                self.settle();
            }
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
            Event::Hint => {
                self.hints_shown = (self.hints_shown + 1).min(self.hints.len());
                if !self.mark.done {
                    self.mark.cost = self.mark.cost.max(self.cost());
                    self.mark.hints = self.mark.hints.max(self.hints_shown);
                }
            }
            Event::Solution => {
                self.skip();
                self.look = None;
                self.lists = true;
                self.walks = true;
                self.close(true);
                self.walk();
            }
            Event::Restart => self.restart(),
            Event::Turn => self.turned = !self.turned,
            _ => {}
        }
    }

    /// Shows a reason in its position, with its marks; put away if it is there.
    fn show_why(&mut self, index: usize) {
        self.walks = false;
        self.skip();
        let again = self.why == Some(index);
        self.put_why_away();
        let Some(why) = self.whys.get(index).filter(|_| !again) else {
            return;
        };
        let mut position = self.puzzle().start().clone();
        let mut last = None;
        for &mv in self.line.iter().take(2 * usize::from(why.at) + 1) {
            position.play_unchecked(mv);
            last = Some(mv);
        }
        self.scene = Scene {
            last,
            marks: why.marks(),
            ..Scene::still(position)
        };
        self.why = Some(index);
    }

    fn put_why_away(&mut self) {
        if self.why.take().is_some() {
            self.settle();
        }
    }

    /// Puts on the board the position in which the student moves.
    fn settle(&mut self) {
        self.scene = Scene {
            last: self.look.as_ref().and_then(|look| look.last(self.puzzle())),
            ..Scene::still(self.position().clone())
        };
    }

    /// Looks around, from the first position on unless he does already.
    fn look_at(&mut self, event: Event) {
        self.walks = false;
        self.skip();
        let mut look = self.look.take().unwrap_or(Look::at(NodeId::ROOT));
        look.update(self.puzzle(), event);
        self.look = Some(look);
        self.settle();
    }

    fn restart(&mut self) {
        self.look = None;
        self.answered = Answered::default();
        self.on_line = false;
        self.session.restart();
        self.scene = Scene::still(self.session.position().clone());
        self.coming.clear();
        self.verdict = None;
        self.hints_shown = 0;
        self.walks = false;
        self.lists = false;
        self.touched = false;
    }

    /// Writes a move down among those played, until the question is done with.
    fn note(&mut self, before: &Chess, mv: Move, judgement: &Judgement) {
        if self.mark.done {
            return;
        }
        let wrong = matches!(judgement, Judgement::Try { .. } | Judgement::Wrong { .. });
        let played = &mut self.mark.moves;
        let space = if played.is_empty() { "" } else { " " };
        let sign = if wrong { "?" } else { "" };
        played.push_str(&[space, &model::notation::moves::san(before, mv), sign].concat());
        self.mark.mistakes += u32::from(wrong);
    }

    /// Plays a move of the student and lays out the scenes that follow.
    fn play(&mut self, mv: Move) {
        let before = self.position().clone();
        let goal = self.session.goal();
        let first = self.session.node() == Some(NodeId::ROOT);
        let reply = self.session.play(mv);
        let played = words::numbered(&before, mv, self.passed);
        let told = |text| say!(text, move = played);
        if !matches!(reply.judgement, Judgement::Illegal) {
            self.touched = true;
            self.note(&before, mv, &reply.judgement);
        }
        match &reply.judgement {
            Judgement::Illegal if self.solved() => {}
            Judgement::Illegal => self.say(
                Tone::Wrong,
                tr("That move is not legal here.").into(),
                vec![],
            ),
            Judgement::Found => {
                let text = told(phrase!(
                    "{move} was found before: look for another solution.",
                    "move"
                ));
                self.say(Tone::Plain, text, vec![]);
            }
            Judgement::Unknown => {
                let text = told(if reply.words.is_empty() {
                    phrase!("{move} could not be judged; it does not count.", "move")
                } else {
                    phrase!(
                        "{move} is neither right nor wrong; it does not count.",
                        "move"
                    )
                });
                self.say(Tone::Plain, text, reply.words);
            }
            Judgement::Try { line } | Judgement::Wrong { line } => {
                let reason = self
                    .failures
                    .iter()
                    .find(|(_, shown)| shown.first() == Some(&mv));
                let (text, line) = match reason.filter(|_| first) {
                    Some((kind, shown)) => {
                        let text = kind.sentence(
                            &before,
                            shown,
                            goal,
                            words::number(&before, self.passed),
                        );
                        // The author may go on where the reason stops.
                        let longer = line.len() > shown.len() && line.get(..2) == shown.get(..2);
                        (text, if longer { line.clone() } else { shown.clone() })
                    }
                    None => (
                        failure::by_line(&before, line, goal, words::number(&before, self.passed)),
                        line.clone(),
                    ),
                };
                // Words that were made of the reason need not be said twice.
                let mut words = reply.words.clone();
                words.retain(|words| *words != text);
                // A try has words of its own; others those for moves of their kind.
                if let (true, true, Some((kind, _))) = (words.is_empty(), first, reason) {
                    let own = self.session.puzzle().tag(kind.tag());
                    words.extend(own.map(str::to_owned));
                }
                self.show_failure(
                    &before,
                    &line,
                    Verdict {
                        tone: Tone::Wrong,
                        text,
                        words,
                    },
                );
            }
            Judgement::Right => {
                self.on_line |= first && self.line.first() == Some(&mv);
                self.go_on(before, mv, RIGHT, reply)
            }
            Judgement::AlsoRight => self.go_on(before, mv, ALSO_RIGHT, reply),
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
                marks: (i == 1)
                    .then(|| pointed_out(mv))
                    .flatten()
                    .into_iter()
                    .collect(),
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

    /// Plays a right move and what follows it. `verdict` says so, and says so of a
    /// move that ends what was asked.
    fn go_on(&mut self, before: Chess, mut mv: Move, verdict: [Said; 2], reply: Reply) {
        self.find(&before, mv);
        let played = words::numbered(&before, mv, self.passed);
        let Ok(mut after) = before.play(mv) else {
            return;
        };
        let mut pause = 0;
        let tone = match self.walks {
            true => Tone::Plain,
            false => Tone::Right,
        };
        let says = |text: String, words: Vec<String>| Some(Verdict { tone, text, words });
        let end = match after.is_checkmate() {
            true => phrase("mate"),
            false => phrase("stalemate"),
        };
        let ends = matches!(reply.next, Next::Solved | Next::AnotherSolution);
        let ended = ends && (after.is_checkmate() || after.is_stalemate());
        let verdict = match self.walks {
            true => SHOWN,
            false => verdict,
        };
        let mut text = say!(verdict[usize::from(ended)], move = played, end = tr(end));
        let scene =
            |position: Chess, last: Option<Move>, pause: u32, says: Option<Verdict>| Scene {
                position,
                last,
                marks: vec![],
                pause,
                says,
            };
        let asked = self.session.goal().asked();
        let mut all_words = reply.words.clone();
        all_words.extend(reply.defence_words.iter().cloned());
        if let Some(ending) = reply.ending
            && let Ok(ended) = after.clone().play(ending)
        {
            let answer = words::numbered(&after, ending, self.passed);
            self.find(&after, ending);
            let said = says(text.clone(), Vec::new());
            self.coming.push_back(scene(after, Some(mv), 0, said));
            follow(
                &mut text,
                say!("{reply} mates, as it must.", reply = answer),
            );
            (after, mv, pause) = (ended, ending, REPLY);
        }
        let mut longer = text.clone();
        match reply.next {
            Next::Defence(defence) => {
                self.find(&after, defence);
                let answer = words::numbered(&after, defence, self.passed);
                let now = say!("Now {reply}: {task}.", reply = answer, task = asked);
                follow(&mut longer, now);
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
                self.answered.close();
                self.find(&back_to, defence);
                let answer = words::numbered(&back_to, defence, self.passed);
                let (answered, of) = self.progress();
                let done = say!(
                    "Defence {n} of {of} is answered.",
                    n = answered.to_string(),
                    of = of.to_string()
                );
                follow(&mut text, done);
                longer = text.clone();
                let next = say!(
                    "The next one is {reply}: {task}.",
                    reply = answer,
                    task = asked
                );
                follow(&mut longer, next);
                self.coming
                    .push_back(scene(after, Some(mv), pause, says(text, reply.words)));
                self.coming.push_back(scene(*back_to, None, BACK, None));
                self.coming.push_back(scene(
                    self.position().clone(),
                    Some(defence),
                    STEP,
                    says(longer, all_words),
                ));
            }
            Next::OtherSide => {
                let side = side_name(self.position().turn());
                follow(
                    &mut text,
                    say!("Now {side}: {task}.", side = side, task = asked),
                );
                self.coming
                    .push_back(scene(after, Some(mv), 0, says(text, reply.words)));
            }
            Next::AnotherSolution => {
                self.answered.close();
                let (found, of) = self.progress();
                let done = say!(
                    "Solution {n} of {of} is found.",
                    n = found.to_string(),
                    of = of.to_string()
                );
                follow(&mut text, done);
                longer = text.clone();
                follow(&mut longer, tr("Look for the next one from here.").into());
                self.coming
                    .push_back(scene(after, Some(mv), 0, says(text, reply.words)));
                let back = self.position().clone();
                self.coming
                    .push_back(scene(back, None, BACK, says(longer, all_words)));
            }
            Next::Solved => {
                self.answered.close();
                self.closing(&mut text);
                let mut words = reply.words;
                let closing = self.session.puzzle().tag("Closing");
                words.extend(closing.map(str::to_owned));
                self.coming
                    .push_back(scene(after, Some(mv), pause, says(text, words)));
            }
            Next::TryAgain => {}
        }
        self.advance();
    }

    /// Adds a move to the line that the student is finding.
    fn find(&mut self, before: &Chess, mv: Move) {
        let start = self.session.puzzle().start();
        self.answered.add(start, before, mv, self.passed);
    }

    fn closing(&mut self, told: &mut String) {
        let again = self.mark.done;
        self.close(self.shown());
        if self.shown() {
            return follow(told, tr("That is the solution.").into());
        }
        let wrong = if again {
            self.mistakes()
        } else {
            self.mark.mistakes
        };
        let end = match self.progress().1 {
            _ if again => phrase!("Solved this time, {mistakes}.", "mistakes"),
            0 | 1 => phrase!("Solved, {mistakes}.", "mistakes"),
            _ if self.shared() => {
                phrase!("Every solution is found: solved, {mistakes}.", "mistakes")
            }
            _ => phrase!("Every defence is answered: solved, {mistakes}.", "mistakes"),
        };
        follow(told, say!(end, mistakes = with_mistakes(wrong)));
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
                        tr("No solution was found from here.").into(),
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

    pub(crate) fn skip(&mut self) {
        while self.plays_out() {
            self.advance();
        }
    }

    fn say(&mut self, tone: Tone, text: String, words: Vec<String>) {
        self.verdict = Some(Verdict { tone, text, words });
    }
}

/// "without a wrong move", "with 2 wrong moves".
fn with_mistakes(wrong: u32) -> String {
    match wrong {
        0 => tr("without a wrong move").to_owned(),
        wrong => plural!(
            wrong as usize,
            "with one wrong move",
            "with {n} wrong moves"
        ),
    }
}

type Said = Phrase<{ holes::set("move end") }>;

/// What is said of a right move, and of one that ends what was asked.
const RIGHT: [Said; 2] = [
    phrase!("{move} is right.", "move end"),
    phrase!("{move} is right: {end}.", "move end"),
];
const ALSO_RIGHT: [Said; 2] = [
    phrase!("{move} is right as well.", "move end"),
    phrase!("{move} is right as well: {end}.", "move end"),
];

/// The same of a move of the solution that is shown.
const SHOWN: [Said; 2] = [
    phrase!("{move}.", "move end"),
    phrase!("{move}: {end}.", "move end"),
];

/// Adds a sentence to what is said.
#[inline(never)]
pub(crate) fn follow(told: &mut String, sentence: String) {
    told.push(' ');
    told.push_str(&sentence);
}

impl Scene {
    fn still(position: Chess) -> Scene {
        Scene {
            position,
            last: None,
            marks: vec![],
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

/// The author's hints; where he wrote none, some made of the key, and none at
/// all where his first is a dash.
fn hints(puzzle: &Puzzle) -> Vec<String> {
    let own: Vec<String> = (1..=9)
        .filter_map(|i| puzzle.tag(&format!("Hint{i}")).map(str::to_owned))
        .collect();
    if own.first().is_some_and(|first| first.trim() == "-") {
        return vec![];
    }
    let key = puzzle.accepted(NodeId::ROOT).next();
    match key.filter(|_| own.is_empty()) {
        Some(key) => words::hints(puzzle.tag("Themes"), puzzle.node(key).mv),
        None => own,
    }
}

fn pointed_out(mv: Move) -> Option<BoardMark> {
    Some(BoardMark::Line {
        from: mv.from()?,
        to: landing(mv),
        kind: LineKind::Answer,
    })
}
