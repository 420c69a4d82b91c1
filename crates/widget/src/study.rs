//! A student's study of a published file: the puzzles, what stands on the
//! board, what is said, and what comes next. Plain Rust without a browser; the
//! page tells it of events and calls [`Event::Tick`] when the pause of the
//! next scene is over.

use model::resolved::Resolved;
use std::rc::Rc;

use model::draft::{Draft, MoveFault};
use model::lesson::{self, Excerpt};
use model::pgn_read;
use model::players::{self, person, told};
use model::puzzle::{DraftFault, Puzzle};
use model::short::joined;
use model::tongue::{lettered, phrase, plural, say, tr};
use play::account::{self, Account, Mark};
use play::published::{self, Published};
use play::walk::Walk;

use crate::event::Event;
use crate::reading::Reading;
use crate::words;
use crate::work::{Work, add_sentence};

/// All puzzles of a file, and the one on the desk.
pub struct Study {
    pub puzzles: Vec<Exercise>,
    pub at: usize,
    /// What the file knows of its puzzles; the view finds the author's marks
    /// there.
    pub answers: Rc<str>,
    /// Tells the lesson from others, in the account.
    key: u32,
    /// Milliseconds that are less than a second and not counted yet.
    rest: u32,
}

/// A game of the file.
pub struct Exercise {
    pub title: String,
    /// What a lesson's game was played in.
    pub event: Option<String>,
    pub author: Option<String>,
    /// The language of the author's words, as a tag of BCP 47.
    pub language: Option<String>,
    pub content: Content,
}

/// What a game of the file is.
pub enum Content {
    Puzzle(Box<Work>),
    Lesson(Box<Reading>),
    /// What is wrong with it.
    Faulty(String),
}

/// What became of a student's work on a file.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Outcome {
    /// The title of the file's only game, or how many there are.
    pub title: String,
    /// Questions answered, and asked in all.
    pub solved: usize,
    pub of: usize,
    /// Wrong moves, in each question until it was done with.
    pub mistakes: usize,
    /// Questions whose answer was shown, or that were passed by.
    pub shown: usize,
    /// Those of them that were found at a later try.
    pub later: usize,
    /// Points that hints cost, in each question until it was done with.
    pub cost: usize,
    /// All of that in a line for people.
    pub account: String,
    /// What [`Study::recall`] takes: a line for each game, of its number and the
    /// questions done in it.
    pub kept: String,
}

/// How far the student is with a puzzle.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Completion {
    Untouched,
    Begun,
    Solved,
    /// The solution was shown.
    Shown,
    Faulty,
}

impl Study {
    /// Reads the games that a page carries, and what was proved about their
    /// puzzles.
    pub fn read(lesson: &str, answers: &str) -> Study {
        let drafts: Vec<Draft> = pgn_read::read(lesson)
            .into_iter()
            .map(|game| game.draft)
            .collect();
        let games: Vec<Resolved> = drafts.iter().map(Resolved::of).collect();
        let cut: Vec<Vec<Excerpt>> = games.iter().map(lesson::excerpts).collect();
        let puzzles: Vec<Result<Puzzle, String>> = cut
            .iter()
            .flatten()
            .map(|excerpt| excerpt.resolved.puzzle().cloned().map_err(said))
            .collect();
        let published = published(answers, &puzzles);
        let mut works = puzzles
            .into_iter()
            .zip(published)
            .zip(cut.iter().flatten())
            .map(|((puzzle, published), excerpt)| {
                let in_game = excerpt.moment.is_some();
                Ok(Box::new(Work::new(puzzle?, published, in_game)))
            });
        let puzzles = games.iter().zip(&cut).enumerate().map(|(i, (game, cut))| {
            let draft = game.draft();
            let (title, event) = title(draft, i);
            let works: Vec<Result<Box<Work>, String>> = works.by_ref().take(cut.len()).collect();
            Exercise {
                title,
                event,
                author: told(draft, "Annotator").map(person),
                language: told(draft, "Language").map(str::to_owned),
                content: content(game, works),
            }
        });
        Study {
            puzzles: puzzles.collect(),
            at: 0,
            answers: answers.into(),
            key: account::key(lesson),
            rest: 0,
        }
    }

    /// The puzzle on the desk; `None` when the file has none.
    pub fn current(&self) -> Option<&Exercise> {
        self.puzzles.get(self.at)
    }

    /// Milliseconds until the next [`Event::Tick`], if one is awaited.
    pub fn pause(&self) -> Option<u32> {
        match &self.current()?.content {
            Content::Puzzle(work) => work.pause(),
            Content::Lesson(reading) => reading.pause(),
            Content::Faulty(_) => None,
        }
    }

    pub fn update(&mut self, event: Event) {
        let current = self.puzzles.get_mut(self.at).map(|e| &mut e.content);
        match (event, current) {
            (Event::Open(index), current) => {
                if let Some(Content::Puzzle(work)) = current {
                    work.walks = false;
                    work.skip();
                }
                self.at = index.min(self.puzzles.len().saturating_sub(1));
            }
            (Event::Again, _) => {
                let (missed, here) = (self.missed(), self.question());
                let next = missed.iter().find(|&&next| next > here).or(missed.first());
                if let Some(&(game, question)) = next {
                    self.update(Event::Open(game));
                    match &mut self.puzzles[game].content {
                        Content::Lesson(reading) => reading.ask_again(question),
                        _ => self.update(Event::Restart),
                    }
                }
            }
            (event, Some(Content::Puzzle(work))) => work.update(event),
            (event, Some(Content::Lesson(reading))) => reading.update(event),
            (_, Some(Content::Faulty(_)) | None) => {}
        }
    }

    /// What a coach before his group does next, through all that there is.
    pub fn on(&self) -> Event {
        let (work, more) = match self.current().map(|exercise| &exercise.content) {
            Some(Content::Puzzle(work)) => (Some(&**work), false),
            Some(Content::Lesson(reading)) => (reading.work(), reading.ways().0),
            _ => (None, false),
        };
        let next = if more {
            Event::Forward
        } else {
            Event::Open(self.at + 1)
        };
        work.and_then(Work::on).unwrap_or(next)
    }

    /// Where authors have defences drawn at random: what the draws depend on.
    pub fn seed(&mut self, seed: u64) {
        for exercise in &mut self.puzzles {
            match &mut exercise.content {
                Content::Puzzle(work) => work.seed(seed),
                Content::Lesson(reading) => reading.seed(seed),
                Content::Faulty(_) => {}
            }
        }
    }

    /// Once all is done with: the questions, by game and number, that were shown or not
    /// found at once, and not found without a wrong move since the file was opened.
    /// Empty while one of them is tried again.
    pub fn missed(&self) -> Vec<(usize, usize)> {
        let mut missed = Vec::new();
        for (i, exercise) in self.puzzles.iter().enumerate() {
            for (question, work) in exercise.works().into_iter().enumerate() {
                let (Some(work), at) = (work, (i, question)) else {
                    continue;
                };
                let done = work.mark().is_some_and(|mark| mark.done);
                if !done || at == self.question() && work.tries_again() {
                    return Vec::new();
                }
                if work.missed() {
                    missed.push(at);
                }
            }
        }
        missed
    }

    /// The question on the desk, by game and number; behind all of a lesson that asks
    /// none just now.
    fn question(&self) -> (usize, usize) {
        let moment = match self.current().map(|exercise| &exercise.content) {
            Some(Content::Lesson(reading)) => reading.moment().unwrap_or(usize::MAX),
            _ => 0,
        };
        (self.at, moment)
    }

    /// Counts time for which the question on the desk was in sight, in milliseconds.
    pub fn spend(&mut self, time: u32) {
        let time = self.rest.saturating_add(time);
        self.rest = time % 1000;
        let work = match self.puzzles.get_mut(self.at).map(|e| &mut e.content) {
            Some(Content::Puzzle(work)) => Some(&mut **work),
            Some(Content::Lesson(reading)) => reading.work_mut(),
            _ => None,
        };
        if let Some(work) = work {
            work.spend(time / 1000);
        }
    }

    /// What became of the work so far.
    pub fn outcome(&self) -> Outcome {
        let mut outcome = Outcome {
            title: match self.puzzles.as_slice() {
                [only] => only.title.clone(),
                all => plural!(all.len(), "one puzzle", "{n} puzzles"),
            },
            ..Outcome::default()
        };
        for (i, exercise) in self.puzzles.iter().enumerate() {
            let mut kept = String::new();
            for (question, work) in exercise.works().into_iter().enumerate() {
                outcome.of += 1;
                let Some(mark) = work.and_then(Work::mark) else {
                    continue;
                };
                outcome.cost += mark.cost as usize;
                outcome.solved += usize::from(mark.done && !mark.shown);
                outcome.shown += usize::from(mark.shown);
                outcome.later += usize::from(mark.later);
                outcome.mistakes += mark.mistakes as usize;
                if !kept.is_empty() {
                    kept.push(',');
                }
                kept.push_str(&[&question.to_string(), "=", &mark.write()].concat());
            }
            if !kept.is_empty() {
                outcome
                    .kept
                    .push_str(&[&i.to_string(), " ", &kept, "\n"].concat());
            }
        }
        let mut account = say!(
            "{title}: {found} of {of} found",
            title = outcome.title,
            found = outcome.solved.to_string(),
            of = outcome.of.to_string(),
        );
        let mut add = |number: usize, one, more| {
            if number > 0 {
                account.push_str(&[", ", &plural!(number, one, more)].concat());
            }
        };
        add(
            outcome.mistakes,
            phrase!("{n} wrong move", "n"),
            phrase!("{n} wrong moves", "n"),
        );
        add(
            outcome.shown,
            phrase!("{n} shown", "n"),
            phrase!("{n} shown", "n"),
        );
        add(
            outcome.later,
            phrase!("one of them found later", "n"),
            phrase!("{n} of them found later", "n"),
        );
        if outcome.cost > 0 {
            let points = words::points(outcome.cost as u32);
            let hints = say!("hints for {points}", points = points);
            account.push_str(&[", ", &hints].concat());
        }
        outcome.account = account;
        outcome
    }

    /// The account for the coach: the whole in a line, what became of each question
    /// with what was played first, and a line from which all of that is read again.
    pub fn report(&self, name: &str) -> String {
        let outcome = self.outcome();
        let mut told = String::from(name);
        if !name.is_empty() {
            told.push_str(" – ");
        }
        told.push_str(&outcome.account);
        let marks = self.puzzles.iter().flat_map(|exercise| {
            let works = exercise.works().into_iter();
            works.map(move |work| (&exercise.title, work.and_then(Work::mark)))
        });
        let not_begun = Mark::default();
        for (i, (title, mark)) in marks.enumerate() {
            let mark = mark.unwrap_or(&not_begun);
            let number = (i + 1).to_string();
            let ended = words::ended(mark).unwrap_or("–");
            told.push_str(&["\n", &number, ". ", title, ": ", ended].concat());
            if mark.hints > 0 {
                let hints = plural!(mark.hints, "{n} hint", "{n} hints");
                told.push_str(&[", ", &hints].concat());
            }
            if mark.seconds > 0 {
                told.push_str(&[", ", &mark.time()].concat());
            }
            if !mark.moves.is_empty() {
                told.push_str(&[" (", &mark.played(), ")"].concat());
            }
        }
        let account = Account {
            name: name.to_owned(),
            key: self.key,
            kept: outcome.kept,
        };
        [&told, "\n", &account.write(), "\n"].concat()
    }

    /// Takes up what was kept; what does not fit this file is left alone.
    pub fn recall(&mut self, kept: &str) {
        account::marks(kept, |game, question, mark| {
            if let Some(exercise) = self.puzzles.get_mut(game) {
                exercise.recall(question, mark);
            }
        });
    }
}

impl Exercise {
    pub fn completion(&self) -> Completion {
        match &self.content {
            Content::Faulty(_) => Completion::Faulty,
            Content::Puzzle(work) if work.touched && !work.solved() => Completion::Begun,
            Content::Puzzle(work) => match work.mark() {
                Some(Mark { done: false, .. }) => Completion::Begun,
                Some(Mark {
                    shown: true,
                    later: false,
                    ..
                }) => Completion::Shown,
                Some(_) => Completion::Solved,
                None => Completion::Untouched,
            },
            Content::Lesson(reading) if reading.begun() && reading.done() => Completion::Solved,
            Content::Lesson(reading) if reading.begun() => Completion::Begun,
            Content::Lesson(_) => Completion::Untouched,
        }
    }

    /// The work on each of its questions, of those that could be set up.
    fn works(&self) -> Vec<Option<&Work>> {
        match &self.content {
            Content::Faulty(_) => Vec::new(),
            Content::Puzzle(work) => vec![Some(work)],
            Content::Lesson(reading) => reading.works().collect(),
        }
    }

    fn recall(&mut self, question: usize, mark: Mark) {
        match &mut self.content {
            Content::Puzzle(work) if question == 0 => work.recall(mark),
            Content::Lesson(reading) => reading.recall(question, mark),
            _ => {}
        }
    }
}

/// What a game of the file is, given the work on its puzzles.
fn content(game: &Resolved, mut works: Vec<Result<Box<Work>, String>>) -> Content {
    if !lesson::is_lesson(game.draft()) {
        return match works.pop() {
            Some(Ok(work)) => Content::Puzzle(work),
            Some(Err(fault)) => Content::Faulty(fault),
            None => Content::Faulty(String::new()),
        };
    }
    match Walk::new(game) {
        Ok(walk) => Content::Lesson(Box::new(Reading::new(walk, works))),
        Err(faults) => {
            let mut text = String::from(tr("This lesson cannot be set up."));
            for fault in faults.iter().take(3) {
                text.push(' ');
                text.push_str(&fault.to_string());
            }
            Content::Faulty(text)
        }
    }
}

/// What was published, one for each game of the file. A game that is no puzzle
/// keeps its place in the numbering, held by any other.
fn published(answers: &str, puzzles: &[Result<Puzzle, String>]) -> Vec<Published> {
    let Some(any) = puzzles.iter().find_map(|p| p.as_ref().ok()) else {
        return puzzles.iter().map(|_| Published::default()).collect();
    };
    let seated: Vec<Puzzle> = puzzles
        .iter()
        .map(|p| p.as_ref().unwrap_or(any).clone())
        .collect();
    published::read_answers(answers, &seated)
}

/// The title of a game of the file, and what it was played in where that is something
/// else: of a lesson its players and the date, else the event, or the players, or its
/// number.
fn title(draft: &Draft, index: usize) -> (String, Option<String>) {
    let event = told(draft, "Event").map(str::to_owned);
    if let Some(game) = players::of_game(draft) {
        return (game, event);
    }
    let title = event.or_else(|| players::players(draft));
    let number = || say!("Puzzle {n}", n = (index + 1).to_string());
    (title.unwrap_or_else(number), None)
}

/// Why a game of the file is no puzzle.
fn said(faults: &[DraftFault]) -> String {
    let mut told = String::from(tr("This puzzle cannot be set up."));
    for fault in faults.iter().take(3) {
        let why = match fault {
            DraftFault::IllegalPosition(fault) => say!(
                "Its position cannot be played from: {fen}.",
                fen = fault.text
            ),
            DraftFault::MissingStipulation => {
                tr("It does not say what the solver must do.").to_owned()
            }
            DraftFault::UnknownStipulation(what) => say!(
                "Its stipulation is not known: {stipulation}.",
                stipulation = what
            ),
            DraftFault::IllegalMove(_, MoveFault::Ambiguous { fits }) => say!(
                "A move of its solution can mean {moves}.",
                moves = lettered(&joined(fits, tr(" or ")))
            ),
            DraftFault::IllegalMove(..) => tr("A move of its solution is not legal.").to_owned(),
        };
        add_sentence(&mut told, why);
    }
    told
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::answered::Branch;
    use crate::work::Tone;
    use keyproof_board::{LineKind, Mark as BoardMark};
    use model::draft::NodeId;
    use model::notation::moves;
    use shakmaty::{Chess, Color, Move, Position};

    /// Own position: the other rook cuts the king off, wherever it goes.
    const TWO_DEFENCES: &str = "[Event \"Two corridors\"]\n[Annotator \"Windle, Marta\"]\n\
        [FEN \"4k3/R7/8/8/8/8/8/1R5K w - - 0 1\"]\n[Stipulation \"#2\"]\n[Hint1 \"A waiting move.\"]\n\
        [Hint2 \"By the other rook.\"]\n\n{Take your time.} 1. Rb6 {Quietly.} (1. Ra6 $2 {Lets the king out.} Ke7) \
        1... Kd8 (1... Kf8 {The other way.} 2. Rb8# {Here too.}) 2. Rb8# {There.} *\n\n";
    const ONE_MOVE: &str = "[White \"Ostrava\"]\n[Black \"Lind\"]\n[FEN \"6k1/5ppp/8/8/8/8/8/R2R2K1 w - - 0 1\"]\n\
        [Stipulation \"#1\"]\n\n1. Ra8# *\n\n";
    const FAULTY: &str = "[FEN \"8/8/8/8/8/8/8/8 w - - 0 1\"]\n[Stipulation \"#1\"]\n\n*\n\n";

    fn study(texts: &[&str]) -> Study {
        Study::read(&texts.concat(), "")
    }

    fn work(study: &Study) -> &Work {
        match &study.current().unwrap().content {
            Content::Puzzle(work) => work,
            _ => panic!("no puzzle"),
        }
    }

    fn play(study: &mut Study, text: &str) {
        let mv = moves::read(work(study).position(), text).unwrap();
        study.update(Event::Play(mv));
    }

    fn said(study: &Study) -> &str {
        work(study).verdict().map_or("", |verdict| &verdict.text)
    }

    /// Lets all pauses pass, and gives the moves seen on the board.
    fn watch(study: &mut Study) -> Vec<String> {
        let mut seen = vec![];
        while study.pause().is_some() {
            study.update(Event::Tick);
            if let Some(mv) = work(study).scene().last {
                seen.push(moves::uci(mv));
            }
        }
        seen
    }

    #[test]
    fn a_right_move_is_praised_and_the_defence_follows_after_a_pause() {
        let mut study = study(&[TWO_DEFENCES]);
        play(&mut study, "Rb6");
        assert_eq!(said(&study), "1.Rb6 is right.");
        assert_eq!(work(&study).verdict().unwrap().words, ["Quietly."]);
        assert!(study.pause().is_some() && work(&study).moves().is_empty());
        study.update(Event::Tick);
        assert_eq!(said(&study), "1.Rb6 is right. Now 1...Kd8: mate in one.");
        assert_eq!(study.pause(), None);
        assert!(!work(&study).moves().is_empty());
        assert_eq!(work(&study).turn(), (2, Some(2)));
    }

    const FORK: &str = "[Event \"Two at once\"]\n[FEN \"6k1/3q1p1p/8/3N4/8/8/5PPP/6K1 w - - 0 1\"]\n\
        [Stipulation \"+\"]\n\n1. Nf6+ (1. Nb6 $2 {He mates first.} Qd1#) 1... Kg7 2. Nxd7 *\n\n";
    const ANSWERS: &str = "puzzle 0\n- d5f6= d5b6!d7d1;m1 d5c7!d7d1;m1\ng... d5f6,g8g7 f6d7=\n\
        d5f6,g8g7 f6d7=\nline d5f6,g8g7,f6d7\nwhy 0 f6,d7,g8 f6d7,f6g8 fork: Nf6+ attacks both.\n\
        threat 0 - f6d7 threat: The threat: 2.Nxd7.\n";

    #[test]
    fn a_wrong_first_move_is_answered_by_its_reason() {
        let mut study = Study::read(FORK, ANSWERS);
        play(&mut study, "Nc7");
        assert_eq!(said(&study), "1.Nc7 runs into 1...Qd1#.");
        assert_eq!(watch(&mut study), ["d7d1"]);
        play(&mut study, "Nb6");
        assert_eq!(said(&study), "1.Nb6 runs into 1...Qd1#.");
        assert_eq!(work(&study).verdict().unwrap().words, ["He mates first."]);
    }

    /// One kind of wrong move has the author's words, unless the move has its own;
    /// the end has others.
    #[test]
    fn the_author_speaks_of_kinds_of_wrong_moves_and_at_the_end() {
        let puzzle = FORK.replace(
            "[Stipulation",
            "[WrongMated \"Mind the back rank.\"]\n[Closing \"Forks win queens.\"]\n[Stipulation",
        );
        let mut study = Study::read(&puzzle, ANSWERS);
        play(&mut study, "Nc7");
        assert_eq!(said(&study), "1.Nc7 runs into 1...Qd1#.");
        assert_eq!(
            work(&study).verdict().unwrap().words,
            ["Mind the back rank."]
        );
        watch(&mut study);
        play(&mut study, "Nb6");
        assert_eq!(work(&study).verdict().unwrap().words, ["He mates first."]);
        watch(&mut study);
        play(&mut study, "Nf6");
        watch(&mut study);
        play(&mut study, "Nxd7");
        watch(&mut study);
        assert!(work(&study).solved());
        assert_eq!(work(&study).verdict().unwrap().words, ["Forks win queens."]);
    }

    #[test]
    fn reasons_come_with_the_solution_and_are_shown_on_the_board() {
        let mut study = Study::read(FORK, ANSWERS);
        assert!(work(&study).whys().is_empty());
        play(&mut study, "Nf6");
        watch(&mut study);
        play(&mut study, "Nxd7");
        watch(&mut study);
        assert!(work(&study).solved());
        assert_eq!(work(&study).whys().len(), 2);
        study.update(Event::Why(0));
        let scene = work(&study).scene().clone();
        assert_eq!(scene.last.map(moves::uci).as_deref(), Some("d5f6"));
        assert_eq!(scene.marks.len(), 5);
        study.update(Event::Why(1));
        assert!(matches!(
            work(&study).scene().marks[..],
            [BoardMark::Line {
                kind: LineKind::Threat,
                ..
            }]
        ));
        study.update(Event::Why(1));
        assert_eq!(work(&study).why(), None);
        assert_eq!(&work(&study).scene().position, work(&study).position());
    }

    #[test]
    fn every_defence_is_asked_and_the_end_is_told() {
        let mut study = study(&[TWO_DEFENCES]);
        assert_eq!(study.current().unwrap().completion(), Completion::Untouched);
        play(&mut study, "Rb6");
        watch(&mut study);
        play(&mut study, "Rb8");
        assert_eq!(said(&study), "2.Rb8# is right. Defence 1 of 2 is answered.");
        watch(&mut study);
        assert!(
            said(&study).ends_with("The next one is 1...Kf8: mate in one."),
            "{}",
            said(&study)
        );
        assert_eq!(
            work(&study).verdict().unwrap().words,
            ["There.", "The other way."]
        );
        assert_eq!(work(&study).scene().position, *work(&study).position());
        play(&mut study, "Rb8");
        assert!(work(&study).solved());
        assert_eq!(
            said(&study),
            "2.Rb8# is right: mate. Every defence is answered: solved, without a wrong move."
        );
        assert_eq!(study.current().unwrap().completion(), Completion::Solved);
    }

    #[test]
    fn a_try_gets_the_authors_words_and_is_refuted_on_the_board_then_taken_back() {
        let mut study = study(&[TWO_DEFENCES]);
        let before = work(&study).position().clone();
        play(&mut study, "Ra6");
        let verdict = work(&study).verdict().unwrap();
        assert_eq!(verdict.tone, Tone::Wrong);
        assert_eq!(
            verdict.text,
            "1.Ra6 fails: 1...Ke7 and there is no mate in time."
        );
        assert_eq!(verdict.words, ["Lets the king out."]);
        assert_ne!(work(&study).scene().position, before);
        assert_eq!(watch(&mut study), ["e8e7"]);
        assert_eq!(work(&study).scene().position, before);
        assert_eq!(work(&study).scene().last, None);
        assert_eq!(
            said(&study),
            "1.Ra6 fails: 1...Ke7 and there is no mate in time."
        );
    }

    #[test]
    fn a_wrong_move_is_refuted_and_taken_back_and_counted() {
        let mut study = study(&[ONE_MOVE]);
        play(&mut study, "Ra7");
        assert!(
            said(&study).starts_with("1.Ra7 is not mate"),
            "{}",
            said(&study)
        );
        watch(&mut study);
        play(&mut study, "Rd8");
        assert_eq!(
            said(&study),
            "1.Rd8# is right as well: mate. Solved, with one wrong move."
        );
    }

    #[test]
    fn a_move_during_the_pauses_does_not_wait_for_them() {
        let mut study = study(&[TWO_DEFENCES]);
        play(&mut study, "Rb6");
        play(&mut study, "Rb8");
        assert!(said(&study).starts_with("2.Rb8#"));
        study.update(Event::Skip);
        assert_eq!(study.pause(), None);
        assert_eq!(work(&study).scene().position, *work(&study).position());
    }

    #[test]
    fn hints_come_one_by_one() {
        let mut study = study(&[TWO_DEFENCES]);
        assert_eq!(work(&study).hints(), (&[][..], 2));
        for shown in [1, 2, 2] {
            study.update(Event::Hint);
            assert_eq!(work(&study).hints().0.len(), shown);
        }
    }

    #[test]
    fn hints_cost_what_the_author_says_and_are_made_of_the_key_where_he_wrote_none() {
        let mut study = study(&["[HintCost \"0 2\"]\n", TWO_DEFENCES]);
        study.update(Event::Hint);
        assert_eq!((work(&study).cost(), work(&study).next_cost()), (0, 2));
        study.update(Event::Hint);
        play(&mut study, "Rb6");
        watch(&mut study);
        play(&mut study, "Rb8");
        watch(&mut study);
        play(&mut study, "Rb8");
        let outcome = study.outcome();
        assert_eq!(
            outcome.account,
            "Two corridors: 1 of 1 found, hints for 2 points"
        );
        let mut again = Study::read(&["[HintCost \"0 2\"]\n", TWO_DEFENCES].concat(), "");
        again.recall(&outcome.kept);
        assert_eq!(again.outcome(), outcome);

        let made = |text: &str| {
            let mut study = Study::read(text, "");
            for _ in 0..9 {
                study.update(Event::Hint);
            }
            work(&study).hints().0.to_vec()
        };
        assert_eq!(made(ONE_MOVE), ["A rook moves.", "It goes to a8."]);
        let themed = ["[Themes \"back rank\"]\n", ONE_MOVE].concat();
        assert_eq!(made(&themed)[0], "The theme: back rank.");
        assert!(made(&["[Hint1 \"-\"]\n", ONE_MOVE].concat()).is_empty());
    }

    #[test]
    fn lines_fill_up_as_defences_are_answered() {
        let mut study = study(&[TWO_DEFENCES]);
        let texts = |study: &Study| -> Vec<String> {
            let branches = work(study).found().0.iter();
            let text =
                |b: &Branch| format!("{} {}{}", b.depth, b.text, if b.done { " ok" } else { "" });
            branches.map(text).collect()
        };
        play(&mut study, "Rb6");
        assert_eq!(texts(&study), ["0 1.Rb6 Kd8"]);
        assert_eq!(work(&study).found().1, 1);
        play(&mut study, "Rb8");
        assert_eq!(texts(&study), ["0 1.Rb6 Kd8 2.Rb8# ok", "1 1...Kf8"]);
        play(&mut study, "Rb8");
        assert_eq!(texts(&study)[1], "1 1...Kf8 2.Rb8# ok");
        study.update(Event::Restart);
        assert!(texts(&study).is_empty());
    }

    #[test]
    fn after_the_end_any_move_is_played_and_the_solution_found_again() {
        let mut study = study(&[ONE_MOVE]);
        study.update(Event::Look(NodeId::ROOT));
        assert!(work(&study).look().is_none(), "not before the end");
        play(&mut study, "Ra8");
        assert!(work(&study).moves().is_empty());
        study.update(Event::Look(NodeId::ROOT));
        assert_eq!(work(&study).position(), work(&study).puzzle().start());
        for san in ["Kf1", "h5", "Ra5"] {
            play(&mut study, san);
        }
        assert_eq!(work(&study).looked().as_deref(), Some("1.Kf1 h5 2.Ra5"));
        for _ in 0..3 {
            study.update(Event::LookBack);
        }
        study.update(Event::LookOn);
        assert_eq!(work(&study).looked().as_deref(), Some("1.Ra8#"));
        assert!(work(&study).scene().position.is_checkmate());
        assert_eq!(
            work(&study).look().unwrap().ways(work(&study).puzzle()),
            (false, true)
        );
        study.update(Event::LookEnd);
        assert!(work(&study).look().is_none() && work(&study).solved());
        assert_eq!(work(&study).mistakes(), 0);
    }

    /// A choice between two moves on the back rank, of which one lets the king out.
    const CHOICE: &str = "[FEN \"6k1/5ppp/8/8/8/8/8/R2R2K1 w - - 0 1\"]\n[Stipulation \"#1\"]\n[Question \"choice\"]\n\n1. Ra8# {Down the file.} (1. Rd7 $2 {Too slow.} Kf8) *\n\n";

    #[test]
    fn a_choice_takes_one_of_its_moves_and_shows_why_another_fails() {
        let mut study = study(&[CHOICE]);
        assert_eq!(work(&study).options(), ["1.Ra8#", "1.Rd7"]);
        assert_eq!(work(&study).moves().len(), 2);
        // It mates as well, but is none of them.
        play(&mut study, "Rd8");
        assert_eq!(said(&study), "Answer by one of these buttons.");
        assert_eq!(study.outcome().kept, "");
        study.update(Event::Choose(1));
        assert!(
            said(&study).starts_with("1.Rd7 is not mate"),
            "{}",
            said(&study)
        );
        watch(&mut study);
        assert_eq!(work(&study).options(), ["1.Ra8#", "✗ 1.Rd7"]);
        study.update(Event::Choose(0));
        assert!(said(&study).starts_with("1.Ra8# is right: mate. Solved, with one wrong move."));
        assert!(work(&study).options().is_empty());
        assert_eq!(study.outcome().kept, "0 0=1:Rd7? Ra8#\n");
        study.update(Event::Restart);
        assert_eq!(work(&study).options(), ["1.Ra8#", "1.Rd7"]);
    }

    /// The check lets the king out.
    const THREAT: &str = "[FEN \"1k1r3r/ppp1qpp1/8/5n2/7p/1Q3P2/PP1N2PP/R5RK b - - 0 1\"]\n[Stipulation \"#2\"]\n[Question \"threat\"]\n[Closing \"Ask first.\"]\n\n1... Ng3+ {Opens the file.} 2. hxg3 hxg3# *\n\n";

    /// The side that is threatened is shown to be to move and has its men below; the other
    /// side's threat is played, and its line is shown.
    #[test]
    fn a_threat_is_played_as_if_the_other_side_had_passed() {
        let mut study = study(&[THREAT]);
        let asked = work(&study).said();
        assert_eq!(asked.text, "Play a move of Black, as if White had passed.");
        assert_eq!(work(&study).side(), Color::White);
        assert!(!work(&study).black_below() && work(&study).turn() == (1, None));
        play(&mut study, "Qe2");
        assert_eq!(work(&study).said().tone, Tone::Wrong);
        watch(&mut study);
        assert_eq!(work(&study).side(), Color::White);
        play(&mut study, "Ng3+");
        assert_eq!(
            said(&study),
            "1...Ng3+ is right. Solved, with one wrong move."
        );
        let words = &work(&study).said().words;
        assert_eq!(words[..], ["Opens the file.", "Ask first."]);
        assert_eq!(watch(&mut study), ["h2g3", "h4g3"]);
        assert!(work(&study).solved() && work(&study).position().is_checkmate());
        assert_eq!(work(&study).mark().unwrap().moves, "Qe2? Ng3+");
        study.update(Event::Restart);
        study.update(Event::Solution);
        assert_eq!(watch(&mut study).last().map(String::as_str), Some("h4g3"));
    }

    const YES_OR_NO: &str = "[FEN \"6k1/5pp1/8/8/8/8/8/R5K1 w - - 0 1\"]\n[Stipulation \"#2\"]\n[Question \"yes or no\"]\n[Closing \"Count the exits.\"]\n\n1. Ra8+ $2 {Air.} Kh7 *\n\n";

    #[test]
    fn a_yes_or_no_is_answered_once_and_then_shown() {
        let mut study = study(&[YES_OR_NO]);
        assert_eq!(work(&study).options(), ["Yes, it does", "No, it fails"]);
        assert!(work(&study).moves().is_empty());
        assert_eq!(work(&study).hints().1, 0, "a hint of a key would tell");
        study.update(Event::Choose(1));
        let told = said(&study).to_owned();
        assert!(
            told.starts_with("So it is. 1.Ra8+ fails: 1...Kh7"),
            "{told}"
        );
        let verdict = work(&study).verdict().unwrap();
        assert_eq!((verdict.tone, verdict.words.len()), (Tone::Right, 2));
        assert!(watch(&mut study).contains(&"g8h7".to_owned()));
        assert_eq!(study.outcome().kept, "0 0=0:no\n");
        assert_eq!(study.current().unwrap().completion(), Completion::Solved);
        assert!(study.missed().is_empty());
        assert!(study.report("").contains("✓ found at once (no)"));
    }

    /// At one moment of a lesson: the game's own move is among those offered.
    #[test]
    fn a_lesson_asks_for_a_choice_at_its_moment() {
        let game = "[FEN \"6k1/5ppp/8/8/8/8/8/R5K1 w - - 0 1\"]\n[Moments \"1w #1\"]\n[Question_1w \"choice\"]\n\n1. Ra7 $2 (1. Ra8# $1) 1... h6 *\n\n";
        let mut study = study(&[game]);
        study.update(Event::Forward);
        let reading = |study: &Study| match &study.current().unwrap().content {
            Content::Lesson(reading) => (
                reading.work().map(Work::options).unwrap_or_default(),
                reading.done(),
            ),
            _ => panic!("no lesson"),
        };
        let offered = vec!["1.Ra7".to_owned(), "1.Ra8#".to_owned()];
        assert_eq!(reading(&study), (offered, false));
        study.update(Event::Choose(1));
        assert_eq!(reading(&study), (vec![], true));
        assert_eq!(study.outcome().kept, "0 0=0:Ra8#\n");
    }

    #[test]
    fn a_wrong_yes_is_not_called_found_and_is_asked_again() {
        let mut study = study(&[YES_OR_NO]);
        study.update(Event::Choose(0));
        assert!(
            said(&study).starts_with("It is not so. 1.Ra8+ fails"),
            "{}",
            said(&study)
        );
        assert_eq!(work(&study).verdict().unwrap().tone, Tone::Wrong);
        watch(&mut study);
        assert_eq!(study.outcome().kept, "0 0=1s:yes?\n");
        assert_eq!(study.missed(), [(0, 0)]);
        study.update(Event::Again);
        study.update(Event::Choose(1));
        watch(&mut study);
        assert_eq!(study.outcome().kept, "0 0=1sl:yes?\n");
        assert!(study.missed().is_empty());
        // Or it is shown.
        let mut study = self::study(&[YES_OR_NO]);
        study.update(Event::Solution);
        assert!(work(&study).solved() && work(&study).lists_solution());
        assert_eq!(study.outcome().kept, "0 0=0s\n");
        assert!(said(&study).starts_with("1.Ra8+ fails"), "{}", said(&study));
    }

    #[test]
    fn the_threat_may_be_asked_for_once_the_key_is_played() {
        let mut study = Study::read(FORK, ANSWERS);
        assert_eq!(work(&study).threat(), None);
        play(&mut study, "Nf6");
        watch(&mut study);
        assert_eq!(work(&study).threat(), Some(1));
        study.update(Event::Why(1));
        assert!(work(&study).shown_why().unwrap().threat && work(&study).whys().is_empty());
        study.update(Event::Why(1));
        play(&mut study, "Nxd7");
        assert!(work(&study).solved() && work(&study).threat().is_none());
    }

    #[test]
    fn the_solution_plays_itself_through_every_defence_and_is_listed() {
        let mut study = study(&[TWO_DEFENCES]);
        study.update(Event::Solution);
        assert!(work(&study).lists_solution());
        let seen = watch(&mut study);
        for mv in ["e8d8", "e8f8", "b6b8"] {
            assert!(seen.iter().any(|s| s == mv), "{mv} in {seen:?}");
        }
        assert!(work(&study).solved());
        assert!(said(&study).ends_with("That is the solution."));
        assert_eq!(study.current().unwrap().completion(), Completion::Shown);
        study.update(Event::Restart);
        assert!(!work(&study).solved() && !work(&study).lists_solution());
        assert_eq!(study.current().unwrap().completion(), Completion::Shown);
    }

    /// Plays the study's only puzzle, a mate in one, to its end.
    fn find(study: &mut Study) {
        play(study, "Ra8");
        watch(study);
    }

    #[test]
    fn what_was_shown_first_stays_shown() {
        let mut study = study(&[ONE_MOVE]);
        study.update(Event::Solution);
        study.update(Event::Restart);
        assert!(study.outcome().account.ends_with("0 of 1 found, 1 shown"));
        find(&mut study);
        assert!(said(&study).ends_with("Solved this time, without a wrong move."));
        let outcome = study.outcome();
        assert!(
            outcome
                .account
                .ends_with("0 of 1 found, 1 shown, one of them found later"),
            "{}",
            outcome.account
        );
        let mut again = Study::read(ONE_MOVE, "");
        again.recall(&outcome.kept);
        assert_eq!(again.outcome(), outcome);
        assert_eq!(said(&again), "Last time the solution was shown.");
    }

    #[test]
    fn a_wrong_move_counts_whatever_comes_after_it() {
        let mut first = study(&[ONE_MOVE]);
        play(&mut first, "Ra7");
        first.update(Event::Restart);
        let begun = first.outcome();
        assert!(begun.account.ends_with("0 of 1 found, 1 wrong move"));
        assert_eq!(first.current().unwrap().completion(), Completion::Begun);
        find(&mut first);
        let mut second = study(&[ONE_MOVE]);
        second.recall(&begun.kept);
        assert_eq!(second.outcome(), begun);
        find(&mut second);
        for study in [&first, &second] {
            assert!(said(study).ends_with("Solved, with one wrong move."));
            assert!(
                study
                    .outcome()
                    .account
                    .ends_with("1 of 1 found, 1 wrong move")
            );
        }
    }

    #[test]
    fn what_was_found_stays_found() {
        let mut first = study(&[ONE_MOVE]);
        find(&mut first);
        let found = first.outcome();
        first.update(Event::Restart);
        play(&mut first, "Ra7");
        watch(&mut first);
        assert_eq!(first.outcome(), found);
        first.update(Event::Solution);
        watch(&mut first);
        assert_eq!(first.outcome(), found);
        let mut again = study(&[ONE_MOVE]);
        again.recall(&found.kept);
        assert_eq!(said(&again), "Solved last time, without a wrong move.");
        assert_eq!(again.current().unwrap().completion(), Completion::Solved);
    }

    #[test]
    fn the_account_tells_each_question_and_is_read_back() {
        let mut study = study(&[ONE_MOVE, TWO_DEFENCES]);
        play(&mut study, "Ra7");
        find(&mut study);
        let report = study.report("Ilsa");
        let lines: Vec<&str> = report.lines().collect();
        assert_eq!(
            lines[..3],
            [
                "Ilsa – 2 puzzles: 1 of 2 found, 1 wrong move",
                "1. Ostrava – Lind: ✓ found (Ra7? Ra8#)",
                "2. Two corridors: –",
            ]
        );
        let read = Account::read(&report).unwrap();
        assert_eq!(
            (read.name.as_str(), read.kept),
            ("Ilsa", study.outcome().kept)
        );
        assert_eq!(read.key, account::key(&[ONE_MOVE, TWO_DEFENCES].concat()));
        study.update(Event::Open(1));
        study.update(Event::Hint);
        study.update(Event::Restart);
        assert_eq!(study.outcome().kept, "0 0=1:Ra7? Ra8#\n1 0=0bh\n");
    }

    /// Time counts where the question is that is on the desk, until it is done with,
    /// and begins no question.
    #[test]
    fn time_in_sight_is_counted_until_a_question_is_done_with() {
        let mut study = study(&[ONE_MOVE, TWO_DEFENCES]);
        study.spend(1_600);
        assert_eq!(study.outcome().kept, "");
        study.update(Event::Open(1));
        study.spend(400);
        study.update(Event::Hint);
        study.spend(59_999);
        study.update(Event::Open(0));
        play(&mut study, "Ra7");
        study.spend(3_001);
        find(&mut study);
        study.spend(90_000);
        assert_eq!(study.outcome().kept, "0 0=1t5:Ra7? Ra8#\n1 0=0bht60\n");
        let report = study.report("");
        let lines: Vec<&str> = report.lines().collect();
        assert_eq!(
            lines[1..3],
            [
                "1. Ostrava – Lind: ✓ found, 0:05 (Ra7? Ra8#)",
                "2. Two corridors: –, 1 hint, 1:00",
            ]
        );
        let mut again = self::study(&[ONE_MOVE, TWO_DEFENCES]);
        again.recall(&study.outcome().kept);
        again.update(Event::Open(1));
        again.spend(5_000);
        assert!(again.outcome().kept.ends_with("1 0=0bht65\n"));
    }

    #[test]
    fn what_was_missed_is_asked_again_once_all_is_done() {
        let mut study = study(&[ONE_MOVE, TWO_DEFENCES, ONE_MOVE]);
        play(&mut study, "Ra7");
        find(&mut study);
        study.update(Event::Open(2));
        find(&mut study);
        assert!(study.missed().is_empty(), "one is still to come");
        study.update(Event::Open(1));
        study.update(Event::Solution);
        watch(&mut study);
        assert_eq!(study.missed(), [(0, 0), (1, 0)]);
        let kept = study.outcome().kept;
        study.update(Event::Again);
        assert_eq!(study.at, 0);
        play(&mut study, "Ra7");
        watch(&mut study);
        assert!(study.missed().is_empty(), "it is being tried");
        play(&mut study, "Ra8");
        assert_eq!(study.missed(), [(0, 0), (1, 0)], "wrong once more");
        study.update(Event::Restart);
        find(&mut study);
        assert_eq!(study.missed(), [(1, 0)]);
        // What happened first stays as it was, and is asked again another day.
        assert_eq!(study.outcome().kept, kept);
        let mut again = Study::read(&[ONE_MOVE, TWO_DEFENCES, ONE_MOVE].concat(), "");
        again.recall(&kept);
        assert_eq!(again.missed(), [(0, 0), (1, 0)]);
        again.update(Event::Again);
        assert_eq!(again.at, 1);
    }

    #[test]
    fn the_solution_that_is_shown_is_not_called_right() {
        let mut study = study(&[ONE_MOVE]);
        study.update(Event::Solution);
        watch(&mut study);
        assert_eq!(said(&study), "1.Ra8#: mate. That is the solution.");
        assert_eq!(work(&study).verdict().unwrap().tone, Tone::Plain);
    }

    #[test]
    fn several_puzzles_keep_their_own_work_and_a_faulty_one_is_told() {
        let mut study = study(&[TWO_DEFENCES, FAULTY, ONE_MOVE]);
        play(&mut study, "Rb6");
        study.update(Event::Open(1));
        assert_eq!(study.current().unwrap().completion(), Completion::Faulty);
        let Content::Faulty(fault) = &study.current().unwrap().content else {
            panic!("no fault");
        };
        assert!(fault.contains("8/8/8/8/8/8/8/8 w"), "{fault}");
        study.update(Event::Play(work_move()));
        study.update(Event::Open(2));
        assert_eq!(study.current().unwrap().title, "Ostrava – Lind");
        play(&mut study, "Ra8");
        study.update(Event::Open(0));
        assert_eq!(study.current().unwrap().completion(), Completion::Begun);
        assert_eq!(study.pause(), None);
        play(&mut study, "Rb8");
        study.update(Event::Open(99));
        assert_eq!(study.at, 2);
    }

    fn work_move() -> Move {
        moves::read(&Chess::default(), "e4").unwrap()
    }

    #[test]
    fn an_empty_file_has_no_puzzle() {
        let mut study = study(&[]);
        assert!(study.current().is_none());
        study.update(Event::Open(3));
        study.update(Event::Tick);
        assert!(study.current().is_none());
    }

    #[test]
    fn an_illegal_move_changes_nothing() {
        let mut study = study(&[ONE_MOVE]);
        study.update(Event::Play(work_move()));
        assert_eq!(said(&study), "That move is not legal here.");
        assert_eq!(study.current().unwrap().completion(), Completion::Untouched);
    }

    #[test]
    fn a_searched_puzzle_without_its_answers_says_so() {
        let study = study(&[&ONE_MOVE.replace("#1", "+")]);
        assert_eq!(
            said(&study),
            "This puzzle came without its answers, so moves cannot be judged."
        );
    }

    #[test]
    fn the_solver_has_his_side_below_unless_turned() {
        let mut study = study(&[
            "[FEN \"r2r2k1/8/8/8/8/8/5PPP/6K1 b - - 0 1\"]\n[Stipulation \"#1\"]\n\n1... Ra1# *",
        ]);
        assert!(work(&study).black_below());
        study.update(Event::Turn);
        assert!(!work(&study).black_below());
        play(&mut study, "Rd2");
        assert_eq!(said(&study), "1...Rd2 is not mate.");
        watch(&mut study);
        play(&mut study, "Ra1");
        assert!(said(&study).starts_with("1...Ra1# is right: mate."));
    }

    #[test]
    fn names_are_written_as_people_write_them() {
        assert_eq!(
            study(&[TWO_DEFENCES]).puzzles[0].author.as_deref(),
            Some("Marta Windle")
        );
    }

    #[test]
    fn a_selfmate_is_played_to_the_other_sides_mate() {
        let mut study = study(&["[FEN \"8/8/8/5Q2/8/8/6PP/2r1k2K w - - 0 1\"]\n\
            [Stipulation \"s#2\"]\n\n1. Qf2+ Kd1 2. Qd2+ *\n\n"]);
        assert_eq!(
            work(&study).puzzle().task(),
            "White to move and make Black mate in 2 moves."
        );
        play(&mut study, "Qf2+");
        watch(&mut study);
        assert_eq!(
            said(&study),
            "1.Qf2+ is right. Now 1...Kd1: make the other side mate at once."
        );
        play(&mut study, "Qd2+");
        assert_eq!(said(&study), "2.Qd2+ is right.");
        assert_eq!(watch(&mut study).last().map(String::as_str), Some("d1d2"));
        assert_eq!(
            said(&study),
            "2.Qd2+ is right. 2...Kxd2# mates, as it must. Solved, without a wrong move."
        );
        assert_eq!(work(&study).turn(), (2, Some(2)));
    }

    #[test]
    fn a_stalemate_is_asked_and_told() {
        let mut study = study(&["[FEN \"5k2/6R1/8/8/8/1K6/1P6/3Q4 w - - 0 1\"]\n\
            [Stipulation \"==1\"]\n\n1. Qd7 *\n\n"]);
        play(&mut study, "Qe2");
        assert_eq!(said(&study), "1.Qe2 is not stalemate.");
        watch(&mut study);
        play(&mut study, "Qd7");
        assert!(said(&study).starts_with("1.Qd7 is right: stalemate. Solved"));
    }

    #[test]
    fn both_sides_of_a_helpmate_are_played_and_told_apart() {
        let mut study = study(&["[FEN \"8/6k1/8/6K1/6p1/7R/8/5N2 b - - 0 1\"]\n\
            [Stipulation \"h#2\"]\n\n1... Kf8 (1... Kg8 $1 2. Kf6 Kf8 3. Rh8#) 2. Kf6 g3 3. Rh8# *\n\n"]);
        assert_eq!(
            work(&study).puzzle().task(),
            "Helpmate in 2: Black moves first, and both sides help White to mate Black."
        );
        assert!(!work(&study).black_below());
        assert_eq!(work(&study).turn(), (1, Some(4)));
        play(&mut study, "Kf7");
        assert_eq!(
            said(&study),
            "1...Kf7 does not help: no mate is left in 3 half moves."
        );
        watch(&mut study);
        play(&mut study, "Kf8");
        assert_eq!(
            said(&study),
            "1...Kf8 is right. Now White: play on, 3 half moves left."
        );
        assert_eq!(work(&study).turn(), (2, Some(4)));
        play(&mut study, "Kf6");
        play(&mut study, "g3");
        assert_eq!(said(&study), "2...g3 is right. Now White: mate.");
        play(&mut study, "Nd2");
        assert_eq!(said(&study), "3.Nd2 is not mate.");
        watch(&mut study);
        play(&mut study, "Rh8");
        assert_eq!(
            said(&study),
            "3.Rh8# is right: mate. Solution 1 of 2 is found."
        );
        watch(&mut study);
        assert!(said(&study).ends_with("Look for the next one from here."));
        assert_eq!(work(&study).scene().position, *work(&study).position());
        play(&mut study, "Kf8");
        assert_eq!(
            said(&study),
            "1...Kf8 was found before: look for another solution."
        );
        for san in ["Kg8", "Kf6", "Kf8", "Rh8"] {
            play(&mut study, san);
        }
        assert_eq!(
            said(&study),
            "3.Rh8# is right: mate. Every solution is found: solved, with 2 wrong moves."
        );
        assert_eq!(work(&study).turn(), (4, Some(4)));
    }
}
