//! A talk: a puzzle, a lesson or a game of the desk shown to an audience, step by
//! step. What the audience sees is [`Shown`]; the speaker has the [`Script`] beside
//! it. Plain data, without window or clock: times are given to it.

mod clock;
mod drawing;
mod judging;
mod script;
mod shown;

use keyproof::explain::Proof;
use keyproof::notation::moves;
use keyproof::transform::passed;
use serde::{Deserialize, Serialize};
use shakmaty::{Chess, Move, Position};

use crate::work::SheetId;

pub use clock::{Clock, Moment};
pub use drawing::{Drawing, Stroke, Tone, Tool};
use judging::{Judged, Poll, judge, judge_anew};
pub use judging::{Suggestion, Verdict};
pub use script::{Part, Question, Script, Spot, Turn, numbered};
pub use shown::Shown;

/// How a talk stands.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Talk {
    pub sheet: SheetId,
    pub spot: Spot,
    pub clock: Clock,
    polls: Vec<Poll>,
    pub switches: Switches,
    pub margin: Margin,
    /// What stands on the board instead of the step.
    #[serde(skip)]
    aside: Option<Aside>,
    #[serde(skip)]
    pub drawing: Drawing,
}

/// What is switched on.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Switches {
    /// The audience sees how many suggest what.
    pub counts: bool,
    /// Suggestions are counted and not judged yet.
    pub collects: bool,
    /// Whatever is played is only tried out.
    pub what_if: bool,
    /// The board is turned.
    pub turned: bool,
    /// The speaker's window shows what the audience sees, and nothing else.
    pub alone: bool,
}

impl Switches {
    pub fn is_on(self, switch: Switch) -> bool {
        match switch {
            Switch::Counts => self.counts,
            Switch::Collects => self.collects,
            Switch::WhatIf => self.what_if,
            Switch::Turned => self.turned,
            Switch::Alone => self.alone,
        }
    }
}

/// A switch.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Switch {
    Counts,
    Collects,
    WhatIf,
    Turned,
    Alone,
}

/// The one colour around what the audience sees.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub enum Margin {
    #[default]
    Paper,
    Black,
    Green,
}

/// What stands on the board instead of the step: a line that is shown, or what would
/// be.
#[derive(Clone, Debug)]
pub struct Aside {
    pub positions: Vec<Chess>,
    pub moves: Vec<Move>,
    /// Moves of it that are played.
    pub at: usize,
    pub said: Option<Said>,
    /// Where the talk goes on; where it was, unless told.
    then: Option<Spot>,
    /// Where it plays on by itself.
    plays: bool,
}

/// What is said of a line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Said {
    pub verdict: Option<Verdict>,
    pub text: String,
    /// What that rests on, which the speaker alone reads.
    pub proof: Option<String>,
    /// The author's words.
    pub words: Vec<String>,
}

/// A line that the speaker has ready, by its number.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ready {
    /// A tempting first move, with what refutes it.
    Tempting(usize),
    /// What is threatened before the first move.
    Before(usize),
    /// What the key threatens.
    After(usize),
    /// A side line of the game.
    Side(usize),
}

impl Aside {
    fn new(from: Chess, line: &[Move], said: Option<Said>) -> Aside {
        let mut positions = vec![from];
        for &mv in line {
            let mut next = positions[positions.len() - 1].clone();
            next.play_unchecked(mv);
            positions.push(next);
        }
        Aside {
            positions,
            moves: line.to_vec(),
            at: line.len().min(1),
            said,
            then: None,
            plays: true,
        }
    }
    /// A suggestion with what comes of it. After a right one the talk goes on to the
    /// answer.
    fn of_suggestion(spot: Spot, from: Chess, judged: Judged) -> Aside {
        let said = Said {
            verdict: Some(judged.verdict),
            text: judged.text,
            proof: judged.proof,
            words: judged.words,
        };
        let played = match spot.part {
            Part::Answer(n) => n,
            _ => 0,
        };
        let answer = Spot {
            at: spot.at,
            part: Part::Answer(played + 1),
        };
        Aside {
            then: (judged.verdict == Verdict::Right).then_some(answer),
            ..Aside::new(from, &judged.line, Some(said))
        }
    }
    /// Whether it is a suggestion.
    fn judges(&self) -> bool {
        let said = self.said.as_ref();
        said.is_some_and(|said| said.verdict.is_some())
    }
    /// One move on, or back; `false` at the end of the line.
    fn step(&mut self, forward: bool) -> bool {
        self.plays = false;
        let to = match forward {
            true => Some(self.at + 1).filter(|&at| at <= self.moves.len()),
            false => self.at.checked_sub(1),
        };
        to.map(|at| self.at = at).is_some()
    }
    /// Whether it plays on by itself.
    pub fn plays(&self) -> bool {
        self.plays && self.at < self.moves.len()
    }
}

impl Talk {
    /// At the first step.
    pub fn begin(script: &Script, now: u64) -> Talk {
        let first = script.settle(Spot {
            at: 0,
            part: Part::Game,
        });
        let mut talk = Talk {
            sheet: script.sheet.id,
            spot: first,
            clock: Clock::begin(now, script.title()),
            polls: Vec::new(),
            switches: Switches::default(),
            margin: Margin::default(),
            aside: None,
            drawing: Drawing::default(),
        };
        if first.part.asks() {
            talk.clock.ask(now);
        }
        talk
    }
    /// Goes on with another sheet.
    pub fn turn_to(&mut self, script: &Script, last: bool, now: u64) {
        self.sheet = script.sheet.id;
        let spots = script.spots();
        let spot = match last {
            true => spots.last(),
            false => spots.first(),
        };
        let spot = spot.copied().unwrap_or(self.spot);
        self.clock.put_away();
        self.clock.note(now, script.heading(0));
        self.arrive(spot);
        if spot.part.asks() {
            self.clock.ask(now);
        }
    }
    pub fn aside(&self) -> Option<&Aside> {
        self.aside.as_ref()
    }
    /// The line on the board plays on by itself.
    pub fn play_on(&mut self) {
        if let Some(aside) = self.aside.as_mut().filter(|aside| aside.plays()) {
            aside.at += 1;
        }
    }
    /// One step on or back; `false` where there is none.
    pub fn step(&mut self, script: &Script, forward: bool, now: u64) -> bool {
        if let Some(aside) = &mut self.aside {
            if !aside.step(forward) {
                let then = aside.then.filter(|_| forward);
                self.come_back();
                if let Some(then) = then {
                    self.go(script, then, now);
                }
            }
            return true;
        }
        let next = script.beside(self.spot, forward);
        next.map(|next| self.go(script, next, now)).is_some()
    }
    /// Goes to a step, as far as it is there.
    pub fn go(&mut self, script: &Script, spot: Spot, now: u64) {
        let spot = script.settle(spot);
        let asked = self.spot.at == spot.at && self.spot.part != Part::Game;
        match spot.part {
            Part::Game => self.clock.put_away(),
            Part::Question | Part::Hint(_) if !asked => {
                self.clock.ask(now);
                self.clock.note(now, script.heading(spot.at));
            }
            Part::Question | Part::Hint(_) => {}
            Part::Answer(_) | Part::Why(_) => self.clock.stop(now),
        }
        self.arrive(spot);
    }
    fn arrive(&mut self, spot: Spot) {
        self.aside = None;
        self.switches.what_if = false;
        if !(self.spot.at == spot.at && self.spot.part.asks() && spot.part.asks()) {
            self.drawing.wipe();
        }
        self.spot = spot;
    }
    /// Comes back from a line to the step.
    pub fn come_back(&mut self) {
        self.aside = None;
        self.switches.what_if = false;
        self.drawing.wipe();
    }
    /// The position on the board.
    pub fn position(&self, script: &Script) -> Chess {
        match &self.aside {
            Some(aside) => aside.positions[aside.at].clone(),
            None => script.seen(self.spot).position,
        }
    }
    /// A move is played on the board: where one is asked for it is suggested, else it
    /// is tried out.
    pub fn play(&mut self, script: &Script, mv: Move) {
        let asks = self.aside.is_none() && !self.switches.what_if;
        if asks && script.turn(self.spot).is_some() {
            return self.suggest(script, mv);
        }
        let base = self.position(script);
        if !base.is_legal(mv) {
            return;
        }
        let (from, mut line) = match &self.aside {
            Some(aside) => (aside.positions[0].clone(), aside.moves[..aside.at].to_vec()),
            None => (base, Vec::new()),
        };
        line.push(mv);
        let mut aside = Aside::new(from, &line, None);
        aside.at = line.len();
        self.switches.what_if = true;
        self.aside = Some(aside);
    }
    /// A move is suggested once more: it is counted, and judged unless they are only
    /// collected.
    pub fn suggest(&mut self, script: &Script, mv: Move) {
        let legal = |turn: &Turn| turn.position.is_legal(mv);
        if !script.turn(self.spot).as_ref().is_some_and(legal) {
            return;
        }
        let place = self.poll().suggest(&moves::uci(mv));
        match self.switches.collects {
            true => self.aside = None,
            false => self.judge(script, place),
        }
    }
    /// Judges a suggestion, by its place, and shows on the board what comes of it.
    pub fn judge(&mut self, script: &Script, place: usize) {
        let (Some(question), Some(turn)) = (script.question(self.spot.at), script.turn(self.spot))
        else {
            return;
        };
        let spot = self.spot;
        let Some(suggested) = self.poll().moves.get_mut(place) else {
            return;
        };
        let Some(mv) = moves::read_uci(&turn.position, &suggested.uci) else {
            return;
        };
        let judged = judge(&question, &turn, &script.model.known, mv);
        suggested.verdict = Some(judged.verdict);
        self.drawing.wipe();
        self.switches.what_if = false;
        self.aside = Some(Aside::of_suggestion(spot, turn.position, judged));
    }
    /// Judges anew what was judged, by what has become known of it since. Whether
    /// another line stands on the board.
    pub fn judge_anew(&mut self, script: &Script) -> bool {
        judge_anew(&mut self.polls, script);
        let (Some(question), Some(turn)) = (script.question(self.spot.at), script.turn(self.spot))
        else {
            return false;
        };
        let Some((aside, mv)) = self.aside.as_mut().and_then(|aside| {
            let mv = *aside.moves.first().filter(|_| aside.judges())?;
            Some((aside, mv))
        }) else {
            return false;
        };
        let judged = judge(&question, &turn, &script.model.known, mv);
        if judged.verdict == Verdict::NotJudged {
            return false;
        }
        let mut anew = Aside::of_suggestion(self.spot, turn.position, judged);
        let same = aside.moves.iter().zip(&anew.moves);
        let same = same.take_while(|(one, other)| one == other).count();
        let another = anew.moves != aside.moves;
        anew.at = aside.at.min(same);
        anew.plays = aside.plays || another;
        *aside = anew;
        another
    }
    /// One more suggests a move, or one less.
    pub fn count(&mut self, place: usize, more: bool) {
        self.poll().count(place, more);
    }
    /// What was suggested at this step.
    pub fn suggested(&self) -> &[Suggestion] {
        let spot = self.asked_at();
        let poll = self.polls.iter().find(|poll| poll.is_of(self.sheet, spot));
        poll.map_or(&[], |poll| &poll.moves)
    }
    fn poll(&mut self) -> &mut Poll {
        let (sheet, spot) = (self.sheet, self.asked_at());
        let there = self.polls.iter().position(|poll| poll.is_of(sheet, spot));
        let place = there.unwrap_or_else(|| {
            self.polls.push(Poll::new(sheet, spot));
            self.polls.len() - 1
        });
        &mut self.polls[place]
    }
    /// The step that suggestions belong to: hints change nothing of them.
    fn asked_at(&self) -> Spot {
        match self.spot.part.asks() {
            true => Spot {
                part: Part::Question,
                ..self.spot
            },
            false => self.spot,
        }
    }
    /// Shows a line that the speaker has ready.
    pub fn show(&mut self, script: &Script, ready: Ready) {
        if let Some((from, line, reason)) = script.ready(self.spot.at, ready) {
            let said = reason.map(|reason| Said {
                verdict: None,
                text: reason.sentence.to_owned(),
                proof: reason.proof.map(Proof::words),
                words: Vec::new(),
            });
            self.drawing.wipe();
            self.switches.what_if = false;
            self.aside = Some(Aside::new(from, &line, said));
        }
    }
    /// Turns a switch over.
    pub fn switch(&mut self, switch: Switch) {
        let on = match switch {
            Switch::Counts => &mut self.switches.counts,
            Switch::Collects => &mut self.switches.collects,
            Switch::WhatIf => &mut self.switches.what_if,
            Switch::Turned => &mut self.switches.turned,
            Switch::Alone => &mut self.switches.alone,
        };
        *on = !*on;
        if switch == Switch::WhatIf && !self.switches.what_if {
            self.come_back();
        }
    }
}

/// Why a line is as it is, and what that rests on.
#[derive(Clone, Copy)]
pub struct Reason<'a> {
    pub sentence: &'a str,
    pub proof: Option<&'a Proof>,
}

impl<'a> Script<'a> {
    /// The tempting moves of a question, each with what refutes it and why it fails:
    /// what the machine found, and the author's other tries.
    pub fn tempting(&self, at: usize) -> Vec<(Vec<Move>, Reason<'a>)> {
        let Some(question) = self.question(at) else {
            return vec![];
        };
        let Some(told) = question.told else {
            return vec![];
        };
        let start = question.puzzle.start();
        let read = |line: &[String]| moves::read_ucis(start, line);
        let found = told.tries.iter();
        let mut all: Vec<(Vec<Move>, Reason)> = found
            .map(|tempts| {
                let reason = Reason {
                    sentence: &tempts.sentence,
                    proof: tempts.proof.as_ref(),
                };
                (read(&tempts.line), reason)
            })
            .collect();
        for failed in &told.failures {
            let line = read(&failed.line);
            let own = line
                .first()
                .and_then(|&mv| question.puzzle.child(keyproof::draft::NodeId::ROOT, mv));
            if own.is_some() && all.iter().all(|(other, _)| other.first() != line.first()) {
                let reason = Reason {
                    sentence: &failed.sentence,
                    proof: failed.proof.as_ref(),
                };
                all.push((line, reason));
            }
        }
        all
    }
    /// A line that is ready: where it begins, its moves, and what is said of it.
    fn ready(&self, at: usize, ready: Ready) -> Option<(Chess, Vec<Move>, Option<Reason<'a>>)> {
        if let Ready::Side(n) = ready {
            let (node, line) = self.side_lines(at).into_iter().nth(n)?;
            let from = self.model.position(node)?.clone();
            return Some((from, line, None));
        }
        let question = self.question(at)?;
        let start = question.puzzle.start().clone();
        let (from, threat) = match ready {
            Ready::Tempting(n) => {
                let (line, reason) = self.tempting(at).into_iter().nth(n)?;
                return Some((start, line, Some(reason)));
            }
            Ready::Before(n) => (start, question.told?.before.threats.get(n)?),
            Ready::After(n) => {
                let key = *question.line().first()?;
                (start.play(key).ok()?, question.told?.after.threats.get(n)?)
            }
            Ready::Side(_) => return None,
        };
        let from = passed(&from)?;
        let line = moves::read_ucis(&from, &threat.line);
        let reason = Reason {
            sentence: &threat.sentence,
            proof: threat.proof.as_ref(),
        };
        Some((from, line, Some(reason)))
    }
}
