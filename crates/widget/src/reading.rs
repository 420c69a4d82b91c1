//! A student's reading of a lesson: where he is in the game, what he may see
//! of its text, and his work at each moment. Plain Rust without a browser.

use model::draft::NodeId;
use model::lesson::Moment;
use model::tongue::tr;
use play::walk::{Piece, Step, Walk};
use shakmaty::{Chess, Move, Position};

use crate::event::Event;
use crate::work::Work;
use play::account::Mark;

/// A lesson and how far the student is with it.
pub struct Reading {
    walk: Walk,
    /// By moment: the work there, or what is wrong with it.
    works: Vec<Result<Box<Work>, String>>,
    /// Side lines that the student has opened.
    unfolded: Vec<NodeId>,
    /// The moment that was answered last, until the student goes on.
    lingers: Option<usize>,
    said: Option<&'static str>,
    turned: bool,
}

/// A piece of the text as it is shown.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Shown {
    Words(String),
    Move {
        node: NodeId,
        text: String,
        /// Whether the board shows the position after it.
        current: bool,
    },
    /// A side line that starts with this move, folded or not.
    Side {
        node: NodeId,
        text: String,
        open: bool,
    },
    /// An open side line ends.
    Closes,
    Moment(usize),
}

impl Reading {
    /// A lesson and the work at each of its moments, in their order.
    pub fn new(walk: Walk, works: Vec<Result<Box<Work>, String>>) -> Reading {
        let mut reading = Reading {
            walk,
            works,
            unfolded: Vec::new(),
            lingers: None,
            said: None,
            turned: false,
        };
        for moment in 0..reading.works.len() {
            if reading.works[moment].is_err() {
                reading.walk.answer(moment);
            }
        }
        reading
    }

    pub(crate) fn seed(&mut self, seed: u64) {
        for work in self.works.iter_mut().flatten() {
            work.seed(seed);
        }
    }

    pub fn moments(&self) -> &[Moment] {
        self.walk.moments()
    }

    /// What became of a moment; `None` if nothing did.
    pub fn mark(&self, moment: usize) -> Option<&Mark> {
        self.works.get(moment)?.as_ref().ok()?.mark()
    }

    /// Whether a moment is answered.
    fn is_answered(&self, moment: usize) -> bool {
        self.mark(moment).is_some_and(|mark| mark.done)
    }

    /// The moment the student is at work on, or has just answered.
    pub fn moment(&self) -> Option<usize> {
        self.walk.asked().or(self.lingers)
    }

    /// The task at a moment, in words; `None` if it could not be set up.
    pub fn task(&self, moment: usize) -> Option<String> {
        let work = self.works.get(moment)?.as_deref().ok()?;
        Some(work.puzzle().task())
    }

    /// The work at the present moment.
    pub fn work(&self) -> Option<&Work> {
        self.works.get(self.moment()?)?.as_deref().ok()
    }

    pub(crate) fn work_mut(&mut self) -> Option<&mut Work> {
        let moment = self.moment()?;
        self.works.get_mut(moment)?.as_deref_mut().ok()
    }

    /// By moment: the work there, if it could be set up.
    pub fn works(&self) -> impl Iterator<Item = Option<&Work>> {
        self.works.iter().map(|work| work.as_deref().ok())
    }

    /// Asks at a moment that is answered once more, and at no other.
    pub(crate) fn ask_again(&mut self, moment: usize) {
        for other in 0..self.works.len() {
            self.walk.answer(other);
        }
        self.walk.ask(moment);
        self.lingers = None;
        self.update(Event::Restart);
    }

    /// Whether the lesson waits for an answer.
    pub fn waits(&self) -> bool {
        self.walk.asked().is_some()
    }

    /// The position the lesson is at, whatever the work on it shows.
    pub fn position(&self) -> &Chess {
        self.walk.position()
    }

    /// The move that led to it.
    pub fn last(&self) -> Option<Move> {
        self.walk.last()
    }

    /// Moves the student may play now.
    pub fn moves(&self) -> Vec<Move> {
        match self.work() {
            Some(work) => work.moves(),
            None => self.position().legal_moves().to_vec(),
        }
    }

    /// The author's words at this place.
    pub fn words(&self) -> &[String] {
        self.walk.words()
    }

    /// A word to the reader about his last step.
    pub fn said(&self) -> Option<&'static str> {
        self.said
    }

    /// Whether the student is in a side line.
    pub fn aside(&self) -> bool {
        !self.walk.sides().is_empty()
    }

    /// Whether the line goes on, and whether there is a way back.
    pub fn ways(&self) -> (bool, bool) {
        let more = !self.waits() && self.walk.goes_on();
        (more, self.walk.at() != NodeId::ROOT)
    }

    /// Whether Black's side is below.
    pub fn black_below(&self) -> bool {
        self.turned
            != self
                .works
                .iter()
                .flatten()
                .next()
                .is_some_and(|work| work.puzzle().black_below())
    }

    /// Whether every moment is answered.
    pub fn done(&self) -> bool {
        let mut works = self.works.iter().enumerate();
        works.all(|(moment, work)| work.is_err() || self.is_answered(moment))
    }

    pub fn begun(&self) -> bool {
        self.walk.at() != NodeId::ROOT || self.works().flatten().any(|work| work.mark().is_some())
    }

    /// The text as far as it may be seen, side lines folded that the student
    /// has not opened and is not in.
    pub fn text(&self) -> Vec<Shown> {
        let inside = self.walk.sides();
        let mut shown = Vec::new();
        // How deep the text is inside a folded side line.
        let mut folded = 0;
        let mut opens = None;
        for piece in self.walk.pieces() {
            match piece {
                Piece::Opens(_) | Piece::Closes if folded > 0 => {
                    folded += 1;
                    if piece == Piece::Closes {
                        folded -= 2;
                    }
                }
                _ if folded > 0 => {}
                Piece::Opens(node) => opens = Some(node),
                Piece::Closes => shown.push(Shown::Closes),
                Piece::Words(words) => shown.push(Shown::Words(words)),
                Piece::Moment(moment) => shown.push(Shown::Moment(moment)),
                Piece::Move { node, text } if opens == Some(node) => {
                    opens = None;
                    let open = inside.contains(&node) || self.unfolded.contains(&node);
                    shown.push(Shown::Side {
                        node,
                        text: text.clone(),
                        open,
                    });
                    if open {
                        shown.push(self.shown_move(node, text));
                    } else {
                        folded = 1;
                    }
                }
                Piece::Move { node, text } => shown.push(self.shown_move(node, text)),
            }
        }
        shown
    }

    /// Takes up marks of an earlier visit; the lesson does not ask again where the
    /// question was done with.
    pub fn recall(&mut self, moment: usize, mark: Mark) {
        if let Some(Ok(work)) = self.works.get_mut(moment) {
            let done = mark.done;
            work.recall(mark);
            if done {
                self.walk.answer(moment);
            }
        }
    }

    pub fn update(&mut self, event: Event) {
        self.said = None;
        let working = self.walk.asked();
        match event {
            Event::Forward => self.step(),
            Event::Back => {
                self.walk.back();
            }
            Event::Start => {
                self.walk.go(NodeId::ROOT);
            }
            Event::End => while self.walk.forward() == Step::Moved {},
            Event::Go(node) => {
                self.walk.go(node);
            }
            Event::Leave => {
                self.walk.leave();
            }
            Event::Unfold(node) => {
                let open = self.unfolded.len();
                self.unfolded.retain(|&other| other != node);
                if self.unfolded.len() == open {
                    self.unfolded.push(node);
                }
            }
            Event::Turn => self.turned = !self.turned,
            Event::Pass => {
                if let Some(moment) = working {
                    if let Some(Ok(work)) = self.works.get_mut(moment) {
                        work.pass();
                    }
                    self.walk.answer(moment);
                    self.lingers = None;
                }
            }
            Event::Play(mv) if working.is_none() && !self.looks() => {
                if !self.walk.play(mv) {
                    self.said = Some(tr("The lesson does not follow that move."));
                }
            }
            event => return self.work_on(event),
        }
        self.lingers = None;
    }

    /// How long until the next scene of the work at hand.
    pub fn pause(&self) -> Option<u32> {
        self.work()?.pause()
    }

    /// Whether the student looks around in a question that is answered.
    fn looks(&self) -> bool {
        self.work().is_some_and(|work| work.look().is_some())
    }

    fn step(&mut self) {
        if let Step::Asked(_) = self.walk.forward() {
            self.said = Some(tr("The lesson waits for your move."));
        }
    }

    /// An event for the work at the moment, and what follows once it is done.
    fn work_on(&mut self, event: Event) {
        let Some(moment) = self.moment() else { return };
        let Some(Ok(work)) = self.works.get_mut(moment) else {
            return;
        };
        work.update(event);
        if work.solved() && self.walk.asked() == Some(moment) {
            self.walk.answer(moment);
            self.lingers = Some(moment);
        }
    }

    fn shown_move(&self, node: NodeId, text: String) -> Shown {
        Shown::Move {
            node,
            text,
            current: self.walk.at() == node,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::study::{Content, Study};
    use model::notation::moves;

    /// White overlooks the mate; the lesson asks for it, and then goes on.
    const GAME: &str = "[Event \"Thursday\"]\n[White \"Ilsa\"]\n[Black \"Gus\"]\n[Moments \"4w #1\"]\n\n{The club, late.} 1. e4 e5 2. Qh5 Nc6 (2... g6 {Better.} 3. Qxe5+) 3. Bc4 Nf6 {Gus saw the fork of nothing.} 4. Nc3 $4 (4. Qxf7# $1 {Mate!}) 4... g6 {And it is over.} *\n";

    fn study() -> Study {
        Study::read(GAME, "")
    }

    fn reading(study: &Study) -> &Reading {
        match &study.current().unwrap().content {
            Content::Lesson(reading) => reading,
            _ => panic!("no lesson"),
        }
    }

    fn play(study: &mut Study, text: &str) {
        let reading = reading(study);
        let position = reading
            .work()
            .map_or(reading.position(), |work| work.position());
        let mv = moves::read(position, text).unwrap();
        study.update(Event::Play(mv));
        study.update(Event::Skip);
    }

    fn texts(study: &Study) -> String {
        let texts = reading(study).text().into_iter().map(|shown| match shown {
            Shown::Words(words) => format!("{{{words}}}"),
            Shown::Move {
                text,
                current: true,
                ..
            } => format!("[{text}]"),
            Shown::Move { text, .. } => text,
            Shown::Side { text, open, .. } => format!("{}{text}", if open { "-" } else { "+" }),
            Shown::Closes => ")".into(),
            Shown::Moment(i) => format!("<{i}>"),
        });
        texts.collect::<Vec<_>>().join(" ")
    }

    #[test]
    fn the_lesson_waits_takes_the_answer_and_goes_on() {
        let mut study = study();
        study.update(Event::End);
        assert!(reading(&study).waits());
        assert!(!texts(&study).contains("Nc3") && !texts(&study).contains("Qxf7"));
        study.update(Event::Forward);
        assert!(reading(&study).said().is_some());
        play(&mut study, "Nc3");
        assert!(reading(&study).waits());
        play(&mut study, "Qxf7");
        let answered = reading(&study);
        assert!(!answered.waits() && answered.moment() == Some(0) && answered.done());
        assert_eq!(
            answered.mark(0),
            Some(&Mark {
                mistakes: 1,
                done: true,
                moves: "Nc3? Qxf7#".into(),
                ..Mark::default()
            })
        );
        assert_eq!(
            study.outcome().account,
            "Ilsa \u{2013} Gus: 1 of 1 found, 1 wrong move"
        );
        study.update(Event::Forward);
        assert_eq!(reading(&study).moment(), None);
        assert!(
            texts(&study).ends_with("<0> [4.Nc3??] +4.Qxf7#! 4...g6 {And it is over.}"),
            "{}",
            texts(&study)
        );
    }

    #[test]
    fn side_lines_fold_and_unfold() {
        let mut study = study();
        let folded = texts(&study);
        assert!(
            folded.starts_with("{The club, late.} 1.e4 e5 2.Qh5 Nc6 +2...g6 3.Bc4"),
            "{folded}"
        );
        let side = reading(&study)
            .text()
            .into_iter()
            .find_map(|shown| match shown {
                Shown::Side { node, .. } => Some(node),
                _ => None,
            })
            .unwrap();
        study.update(Event::Unfold(side));
        assert!(
            texts(&study).contains("Nc6 -2...g6 2...g6 {Better.} 3.Qxe5+ ) 3.Bc4"),
            "{}",
            texts(&study)
        );
        study.update(Event::Unfold(side));
        assert_eq!(texts(&study), folded);
        study.update(Event::Go(side));
        assert!(reading(&study).aside() && texts(&study).contains("[2...g6]"));
        study.update(Event::Leave);
        assert!(!reading(&study).aside());
    }

    #[test]
    fn moves_of_the_game_are_played_on_the_board() {
        let mut study = study();
        play(&mut study, "e4");
        play(&mut study, "e5");
        assert_eq!(reading(&study).position().fullmoves().get(), 2);
        let other = moves::read(reading(&study).position(), "d4").unwrap();
        study.update(Event::Play(other));
        assert!(reading(&study).said().is_some());
    }

    #[test]
    fn a_question_may_be_shown_or_passed_by() {
        for (event, lingers) in [(Event::Solution, true), (Event::Pass, false)] {
            let mut study = study();
            study.update(Event::End);
            study.update(event);
            while study.pause().is_some() {
                study.update(Event::Tick);
            }
            let reading = reading(&study);
            assert_eq!(
                reading.mark(0),
                Some(&Mark {
                    done: true,
                    shown: true,
                    ..Mark::default()
                })
            );
            assert_eq!(reading.moment().is_some(), lingers);
        }
    }

    #[test]
    fn an_earlier_visit_is_taken_up() {
        let mut study = study();
        study.update(Event::End);
        play(&mut study, "Qxf7");
        let kept = study.outcome().kept;
        let mut again = Study::read(GAME, "");
        again.recall(&kept);
        assert!(reading(&again).done());
        assert_eq!(again.outcome().kept, kept);
        again.recall("nonsense\n9 4w=x\n0 77w=1,4w=,4w");
        assert_eq!(again.outcome().kept, kept);
    }

    /// A question of the lesson that was missed is asked again, on the same day and on
    /// another; what comes after it is hidden until then, as at first.
    #[test]
    fn a_question_that_was_missed_is_asked_again() {
        let mut study = study();
        study.update(Event::End);
        play(&mut study, "Nc3");
        assert!(study.missed().is_empty(), "it is not done with");
        play(&mut study, "Qxf7");
        study.update(Event::End);
        let kept = study.outcome().kept;
        let mut another_day = Study::read(GAME, "");
        another_day.recall(&kept);
        for mut study in [study, another_day] {
            assert_eq!(study.missed(), [(0, 0)]);
            study.update(Event::Again);
            assert!(reading(&study).waits());
            assert!(!texts(&study).contains("Qxf7"));
            play(&mut study, "Nc3");
            assert!(study.missed().is_empty(), "it is being tried");
            play(&mut study, "Qxf7");
            assert!(!reading(&study).waits());
            assert_eq!(study.missed(), [(0, 0)], "wrong once more");
            study.update(Event::Again);
            play(&mut study, "Qxf7");
            assert!(study.missed().is_empty());
            assert!(texts(&study).contains("4.Nc3??"));
            assert_eq!(study.outcome().kept, kept, "what happened first is kept");
        }
    }

    #[test]
    fn one_key_goes_through_everything() {
        let mut study = study();
        let mut told = Vec::new();
        for _ in 0..40 {
            let event = study.on();
            told.push(event.clone());
            study.update(event);
        }
        let moved = told.iter().filter(|event| **event == Event::Forward);
        assert_eq!(moved.count(), 8, "every half move of the game");
        let asked = told.iter().position(|event| *event == Event::Hint);
        let asked = asked.expect("hints come first");
        let shown = told.iter().position(|event| *event == Event::Solution);
        assert_eq!((asked, shown > Some(asked)), (6, true));
        assert!(reading(&study).done());
    }

    #[test]
    fn a_refutation_is_put_away_before_anything_else_comes() {
        let mut study = study();
        while study.on() == Event::Forward {
            study.update(Event::Forward);
        }
        let before = reading(&study).work().unwrap().scene().position.clone();
        let wrong = moves::read(&before, "Nc3").unwrap();
        study.update(Event::Play(wrong));
        assert_eq!(study.on(), Event::Skip);
        study.update(Event::Skip);
        assert_eq!(reading(&study).work().unwrap().scene().position, before);
        assert_eq!(study.on(), Event::Hint);
    }
}
