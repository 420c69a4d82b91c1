//! A student's work on one puzzle: what stands on the board, what is said, and
//! what comes next. Plain Rust without a browser.

use std::collections::VecDeque;

use keyproof_board::{LineKind, Mark as BoardMark};
use model::draft::NodeId;
use model::notation::moves::landing;
use model::notation::moves::side_name;
use model::puzzle::{Posed, Puzzle};
use model::tongue::{Phrase, holes, phrase, plural, say, tr};
use play::failure::{self, FailureKind};
use play::goal::Goal;
use play::published::{Published, Why};
use play::session::{Judgement, Next, Reply, Session, Truth};
use shakmaty::{Chess, Color, Move, Position, Square};

use crate::answered::{Answered, Branch};
use crate::event::Event;
use crate::solution::{self, Line};
use crate::viewpoint::Viewpoint;
use crate::words;
use play::account::{Mark, YES_NO};

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
    /// Of the moves that are offered, those that were found to fail.
    refuted: Vec<Move>,
    /// The lines found so far.
    answered: Answered,
    /// Whether the student began with the first move of `line`.
    on_line: bool,
    look: Option<Viewpoint>,
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
    /// Before anything was played: how to answer.
    How,
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
            refuted: Vec::new(),
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
    pub fn look(&self) -> Option<&Viewpoint> {
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
        } else if self.look.is_none() && self.chooses() {
            self.puzzle().offered()
        } else {
            self.position().legal_moves().to_vec()
        }
    }

    /// Whether the student chooses among moves, or answers yes or no, just now.
    pub fn chooses(&self) -> bool {
        let first = self.session.node() == Some(NodeId::ROOT) && !self.solved();
        first && matches!(self.puzzle().posed(), Posed::Choice | Posed::YesNo)
    }

    /// Whether a threat is to be found just now, as if the other side had passed.
    fn threatens(&self) -> bool {
        self.puzzle().posed() == Posed::Threat && !self.solved()
    }

    /// Whose move it is on the board. Where a threat is asked for, the side that moves is
    /// not the one that is to move.
    pub fn side(&self) -> Color {
        let position = &self.scene.position;
        match self.threatens() && position == self.puzzle().start() {
            true => !position.turn(),
            false => position.turn(),
        }
    }

    /// What is said: the verdict, and before there is one, how to answer.
    pub fn said(&self) -> Verdict {
        if let Some(verdict) = &self.verdict {
            return verdict.clone();
        }
        let solver = self.solver();
        let text = if self.threatens() {
            say!(
                "Play a move of {side}, as if {other} had passed.",
                side = side_name(solver),
                other = side_name(!solver),
            )
        } else if self.chooses() {
            tr(BY_BUTTON).to_owned()
        } else {
            tr("Drag a man, or click it and then its square, or type the move.").to_owned()
        };
        Verdict {
            tone: Tone::How,
            text,
            words: vec![],
        }
    }

    /// The answers to choose from, each as it is called, just now; a move that was found
    /// to fail is marked. None where a move is to be found.
    pub fn options(&self) -> Vec<String> {
        if !self.chooses() || self.lists {
            return vec![];
        }
        if self.puzzle().posed() == Posed::YesNo {
            return vec![tr("Yes, it does").into(), tr("No, it fails").into()];
        }
        let mut options = Vec::new();
        for mv in self.puzzle().offered() {
            let mark = if self.refuted.contains(&mv) {
                "✗ "
            } else {
                ""
            };
            let told = words::numbered(self.puzzle().start(), mv, self.passed);
            options.push([mark, &told].concat());
        }
        options
    }

    /// Whether the student plays both sides.
    pub fn shared(&self) -> bool {
        self.puzzle().stipulation().shared()
    }

    /// Whether Black's side is below: the solver's, unless turned. Who plays
    /// both sides has White's below, as problems are printed.
    pub fn black_below(&self) -> bool {
        self.puzzle().black_below() != self.turned
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
        let length = length.filter(|_| self.puzzle().posed() != Posed::Threat);
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
        let mark = &self.mark;
        // That it was in sight is nothing.
        let begun = mark.done || mark.hints > 0 || !mark.moves.is_empty();
        (begun || mark.mistakes > 0).then_some(mark)
    }

    /// Counts seconds for which it was in sight, until it is done with.
    pub(crate) fn spend(&mut self, seconds: u32) {
        if !self.mark.done {
            self.mark.seconds += seconds;
        }
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
                match self.chooses() && !self.puzzle().offered().contains(&mv) {
                    true => self.say(Tone::Plain, tr(BY_BUTTON).into(), vec![]),
                    false => self.play(mv),
                }
            }
            Event::Choose(index) => match self.puzzle().offered().get(index) {
                Some(&mv) => self.update(Event::Play(mv)),
                None => self.tell_truth(Some(index == 0)),
            },
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
                self.close(true);
                self.walks = self.puzzle().posed() != Posed::YesNo;
                self.tell_truth(None);
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
        let mut look = self.look.take().unwrap_or(Viewpoint::at(NodeId::ROOT));
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
        self.refuted.clear();
    }

    /// Writes a move down among those played, until the question is done with.
    fn note(&mut self, before: &Chess, mv: Move, judgement: &Judgement) {
        if self.mark.done {
            return;
        }
        let wrong = matches!(judgement, Judgement::Try { .. } | Judgement::Wrong { .. });
        self.count(&model::notation::moves::san(before, mv), wrong);
    }

    /// Writes down what the student played or answered.
    fn count(&mut self, what: &str, wrong: bool) {
        let played = &mut self.mark.moves;
        let space = if played.is_empty() { "" } else { " " };
        let sign = if wrong { "?" } else { "" };
        played.push_str(&[space, what, sign].concat());
        self.mark.mistakes += u32::from(wrong);
    }

    /// Takes the student's yes or no, or none where the answer is shown; says what is
    /// true, and shows it on the board.
    fn tell_truth(&mut self, said: Option<bool>) {
        self.skip();
        let (before, goal) = (self.position().clone(), self.session.goal());
        let Some(Truth {
            does,
            line,
            mut words,
        }) = self.session.answer(said)
        else {
            return;
        };
        let closing = self.session.puzzle().tag("Closing");
        words.extend(closing.map(str::to_owned));
        self.touched = true;
        let first = line.first();
        let reason = self
            .failures
            .iter()
            .find(|(_, shown)| shown.first() == first);
        let (mut text, mut line) = match does {
            true => (
                say!(RIGHT[0], move = words::numbered(&before, line[0], self.passed), end = ""),
                line,
            ),
            false => self.failure(&before, &line, goal, reason),
        };
        // The file may carry the line on to its point.
        if does && self.line.len() > line.len() && self.line.first() == line.first() {
            line.clone_from(&self.line);
        }
        let tone = match said {
            None => Tone::Plain,
            Some(said) if said == does => Tone::Right,
            Some(_) => Tone::Wrong,
        };
        if let Some(said) = said {
            let answered = match tone {
                Tone::Right => tr("So it is."),
                _ => tr("It is not so."),
            };
            text = [answered, " ", &text].concat();
            if !self.mark.done {
                self.count(YES_NO[usize::from(!said)], tone == Tone::Wrong);
            }
        }
        self.close(tone != Tone::Right);
        self.show_failure(&before, &line, Verdict { tone, text, words });
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
                if first {
                    self.refuted.push(mv);
                }
                let mut failures = self.failures.iter();
                let reason = match first {
                    true => failures.find(|(_, shown)| shown.first() == Some(&mv)),
                    false => None,
                };
                let (text, line) = self.failure(&before, line, goal, reason);
                // Words that were made of the reason need not be said twice.
                let mut words = reply.words.clone();
                words.retain(|words| *words != text);
                // A try has words of its own; others those for moves of their kind.
                if let (true, Some((kind, _))) = (words.is_empty(), reason) {
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

    /// Why a move fails, in words, and the line that shows it: by the reason that the file
    /// has, or by the line alone.
    fn failure(
        &self,
        before: &Chess,
        line: &[Move],
        goal: Goal,
        reason: Option<&(FailureKind, Vec<Move>)>,
    ) -> (String, Vec<Move>) {
        let number = words::number(before, self.passed);
        let (text, line) = match reason {
            Some((kind, shown)) => {
                // The author may go on where the reason stops.
                let longer = line.len() > shown.len() && line.get(..2) == shown.get(..2);
                let sentence = kind.sentence(before, shown, goal, number);
                (sentence, if longer { line } else { shown })
            }
            None => (failure::by_line(before, line, goal, number), line),
        };
        (text, line.to_vec())
    }

    /// Puts a line among the scenes to come.
    fn lay_on(&mut self, mut position: Chess, line: &[Move]) {
        for &mv in line {
            let Ok(next) = position.play(mv) else {
                break;
            };
            position = next;
            self.coming.push_back(Scene {
                last: Some(mv),
                pause: STEP,
                ..Scene::still(position.clone())
            });
        }
    }

    /// Plays out the line that shows why a move fails, then takes it back.
    fn show_failure(&mut self, before: &Chess, line: &[Move], verdict: Verdict) {
        let back = self.scene.last;
        self.lay_on(before.clone(), line);
        if let Some(first) = self.coming.front_mut() {
            (first.pause, first.says) = (0, Some(verdict));
        }
        if let Some(reply) = self.coming.get_mut(1) {
            reply.marks.extend(reply.last.and_then(pointed_out));
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
    fn go_on(&mut self, before: Chess, mv: Move, verdict: [Said; 2], reply: Reply) {
        self.find(&before, mv);
        let played = words::numbered(&before, mv, self.passed);
        let Ok(after) = before.play(mv) else {
            return;
        };
        let tone = match self.walks {
            true => Tone::Plain,
            false => Tone::Right,
        };
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
        let mut played = Played {
            text: say!(verdict[usize::from(ended)], move = played, end = tr(end)),
            after,
            mv,
            pause: 0,
            tone,
        };
        if let Some(ending) = reply.ending
            && let Ok(ended) = played.after.clone().play(ending)
        {
            let answer = words::numbered(&played.after, ending, self.passed);
            self.find(&played.after, ending);
            self.lay_out(&played, None, Vec::new());
            let mates = say!("{reply} mates, as it must.", reply = answer);
            add_sentence(&mut played.text, mates);
            (played.after, played.mv, played.pause) = (ended, ending, REPLY);
        }
        match reply.next {
            Next::Defence(_) | Next::AnotherDefence { .. } => self.answer(played, reply),
            Next::OtherSide => {
                played.pause = 0;
                let (side, task) = (side_name(self.position().turn()), self.asked());
                let now = say!("Now {side}: {task}.", side = side, task = task);
                self.lay_out(&played, Some(now), reply.words);
            }
            Next::AnotherSolution => self.look_for_another(played, reply),
            Next::Solved => {
                self.answered.close();
                self.closing(&mut played.text);
                let mut words = reply.words;
                let closing = self.session.puzzle().tag("Closing");
                words.extend(closing.map(str::to_owned));
                self.lay_out(&played, None, words);
                self.lay_on(played.after, &reply.shown);
            }
            Next::TryAgain => {}
        }
        self.advance();
    }

    /// What is asked now, in words.
    fn asked(&self) -> String {
        self.session.goal().asked()
    }

    /// Lays out the other side's reply: to the move just played, or another one to an
    /// earlier move.
    fn answer(&mut self, mut played: Played, reply: Reply) {
        let task = self.asked();
        let mut words = reply.words.clone();
        words.extend(reply.defence_words);
        let (defence, pause, now) = match reply.next {
            Next::Defence(defence) => {
                self.find(&played.after, defence);
                let answer = words::numbered(&played.after, defence, self.passed);
                let now = say!("Now {reply}: {task}.", reply = answer, task = task);
                played.pause = 0;
                self.lay_out(&played, None, reply.words);
                (defence, REPLY, now)
            }
            Next::AnotherDefence { back_to, defence } => {
                self.answered.close();
                self.find(&back_to, defence);
                let answer = words::numbered(&back_to, defence, self.passed);
                let (n, of) = self.progress();
                let done = say!(
                    "Defence {n} of {of} is answered.",
                    n = n.to_string(),
                    of = of.to_string()
                );
                add_sentence(&mut played.text, done);
                self.lay_out(&played, None, reply.words);
                self.coming.push_back(Scene {
                    pause: BACK,
                    ..Scene::still(*back_to)
                });
                let now = say!(
                    "The next one is {reply}: {task}.",
                    reply = answer,
                    task = task
                );
                (defence, STEP, now)
            }
            _ => return,
        };
        (played.after, played.mv, played.pause) = (self.position().clone(), defence, pause);
        self.lay_out(&played, Some(now), words);
    }

    /// Lays out the way back to where another solution is looked for.
    fn look_for_another(&mut self, mut played: Played, reply: Reply) {
        self.answered.close();
        let (n, of) = self.progress();
        let done = say!(
            "Solution {n} of {of} is found.",
            n = n.to_string(),
            of = of.to_string()
        );
        add_sentence(&mut played.text, done);
        let mut words = reply.words.clone();
        words.extend(reply.defence_words);
        played.pause = 0;
        self.lay_out(&played, None, reply.words);
        let next = tr("Look for the next one from here.").to_owned();
        self.lay_out(&played, Some(next), words);
        let start = self.position().clone();
        if let Some(back) = self.coming.back_mut() {
            (back.position, back.last, back.pause) = (start, None, BACK);
        }
    }

    /// Puts a move that was played among the scenes to come; one sentence more may be said
    /// with it.
    #[inline(never)]
    fn lay_out(&mut self, played: &Played, more: Option<String>, words: Vec<String>) {
        let (tone, mut text) = (played.tone, played.text.clone());
        if let Some(more) = more {
            add_sentence(&mut text, more);
        }
        self.coming.push_back(Scene {
            position: played.after.clone(),
            last: Some(played.mv),
            marks: vec![],
            pause: played.pause,
            says: Some(Verdict { tone, text, words }),
        });
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
            return add_sentence(told, tr("That is the solution.").into());
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
        add_sentence(told, say!(end, mistakes = with_mistakes(wrong)));
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

/// What is said where the answer is none of the board's.
const BY_BUTTON: &str = phrase("Answer by one of these buttons.");

/// The same of a move of the solution that is shown.
const SHOWN: [Said; 2] = [
    phrase!("{move}.", "move end"),
    phrase!("{move}: {end}.", "move end"),
];

/// Adds a sentence to what is said.
#[inline(never)]
pub(crate) fn add_sentence(told: &mut String, sentence: String) {
    told.push(' ');
    told.push_str(&sentence);
}

/// A right move that was played, and what is said of it.
struct Played {
    after: Chess,
    mv: Move,
    /// Milliseconds before it comes.
    pause: u32,
    tone: Tone,
    text: String,
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
    let told = own.is_empty() && puzzle.posed() != Posed::YesNo;
    match key.filter(|_| told) {
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
