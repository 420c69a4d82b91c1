//! `keyproof moments`: what is worth asking about in a game, and puzzles made
//! of it.

use std::io::Write;
use std::path::Path;
use std::time::Instant;

use indicatif::{ProgressBar, ProgressStyle};
use keyproof::check::{Evidence, Second, Soundness};
use keyproof::explain::with_proof;
use keyproof::moments::{
    self, Answer, Course, Made, Moment, Pace, Plan, Progress, Question, Tally,
};
use keyproof::notation::{fen, moves, pgn_write};
use keyproof_tasks::{Entry, cores, faults_of, in_order, lesson_of, row_of};
use shakmaty::Position;

use crate::arguments::Moments;
use crate::check::{Counting, means};
use crate::file::Out;
use crate::input::{Item, Stream, Told};
use crate::keep::{self, Keep};
use crate::output::{self, BOLD, FAINT, Outcome, Trouble, counted};
use crate::stop::{self, Unasked};
use crate::tables;
use crate::terminal;
use crate::workers::Crew;

/// Bytes that what was found in a game takes while it waits for its turn, as
/// measured for short ones: all questions and answers. Behind a long game few are done ahead.
const FOUND: usize = 1_300_000;

/// Looks for the moments of one game, or of all games of a file.
pub fn run(task: &Moments) -> Result<Outcome, Trouble> {
    stop::listen();
    would_overwrite(task)?;
    let stream = Stream::new(std::slice::from_ref(&task.file));
    let mut progress = output::Progress::of(stream.total(), "game");
    let (mut games, mut met) = (stream, 0);
    let games = std::iter::from_fn(|| next_chosen(&mut games, task.game, &mut met));
    let (crew, games) = Crew::of(games, task.unordered);
    let alone = crew.threads <= 1;
    let finder = Finder {
        task,
        plan: task.nodes.map_or(Plan::default(), Plan::nodes),
        keep: task
            .keep
            .as_ref()
            .map(|path| Keep::open(path, "moments"))
            .transpose()?,
        threads: crew.threads_each(),
        alone,
    };
    let mut writer = Writer::new(task)?;
    let bar = progress.bar.clone();
    crew.spread(
        games,
        |item| item.as_ref().map_or(0, |item| FOUND + item.weight()),
        || (),
        |(), item| match item {
            Ok(item) => finder.find(&item.entry).map(|found| found.map(Some)),
            Err(_) => Some(Ok(None)),
        },
        |item, found| {
            let way = item.as_ref().map_or(0, |item| item.way);
            bar.suspend(|| writer.take(item, found?))?;
            if !alone {
                progress.add(way);
            }
            Ok::<(), Trouble>(())
        },
    )?;
    bar.finish_and_clear();
    let outcome = stop::ended(writer.outcome, task.keep.is_some());
    writer.end(outcome)?;
    match task.game {
        Some(number) if met < number as usize && outcome == Outcome::Sound => {
            Err(Trouble::Input(format!(
                "{}: no game {number}: the file has {}",
                task.file.display(),
                counted(met, "game")
            )))
        }
        _ => Ok(outcome),
    }
}

fn would_overwrite(task: &Moments) -> Result<(), Trouble> {
    for (option, file) in [("--puzzles", &task.puzzles), ("--lesson", &task.lesson)] {
        if file.as_ref() == Some(&task.file) {
            return Err(Trouble::Input(format!(
                "this would overwrite the games: choose another file for {option}"
            )));
        }
    }
    Ok(())
}

/// The next game that is asked for, and what is told on the way; `met` counts the games.
fn next_chosen(
    stream: &mut Stream,
    only: Option<u32>,
    met: &mut usize,
) -> Option<Result<Item, Told>> {
    let only = only.map(|number| number as usize);
    loop {
        if only.is_some_and(|number| *met >= number) {
            return None;
        }
        let item = stream.next()?;
        if let Ok(Item { entry, .. }) = &item {
            *met = entry.index;
            if only.is_some_and(|number| number != entry.index) {
                continue;
            }
        }
        return Some(item);
    }
}

/// Looks for the moments of games.
struct Finder<'a> {
    task: &'a Moments,
    plan: Plan,
    keep: Option<Keep>,
    /// How many threads one game has.
    threads: usize,
    /// Whether there is but one game, of which each step is shown.
    alone: bool,
}

/// What was found in a game.
struct Found {
    /// What is wrong with it.
    faults: Vec<String>,
    /// Nothing, if it has no legal start.
    game: Option<FoundInGame>,
}

struct FoundInGame {
    course: Course,
    progress: Progress,
    moments: Vec<Moment>,
    made: Vec<Made>,
}

impl Finder<'_> {
    /// `None` if it was asked to stop before all was done.
    fn find(&self, entry: &Entry) -> Option<Result<Found, Trouble>> {
        let course = match entry.course() {
            Ok(course) => course,
            Err(fault) => {
                return Some(Ok(Found {
                    faults: vec![fault],
                    game: None,
                }));
            }
        };
        let faults = faults_of(entry, &course);
        let progress = match self.answer_all(entry, &course) {
            Ok(progress) => progress,
            Err(trouble) => return trouble.map(Err),
        };
        let mut moments = moments::moments(&course, &progress);
        moments.truncate(self.task.top.unwrap_or(usize::MAX));
        let made = match self.task.puzzles.is_some() || self.task.lesson.is_some() {
            true => self.make_all(entry, &moments),
            false => Vec::new(),
        };
        let game = Some(FoundInGame {
            course,
            progress,
            moments,
            made,
        });
        (!stop::asked()).then_some(Ok(Found { faults, game }))
    }

    /// Answers what is asked about a game, and tells on standard error of moments as
    /// they are found, if it is the only game.
    ///
    /// # Errors
    /// If an answer cannot be kept; nothing, if it is asked to stop.
    fn answer_all(&self, entry: &Entry, course: &Course) -> Result<Progress, Option<Trouble>> {
        let mut progress = Progress::new(course);
        let plan = format!("{:?}", self.plan);
        let print = keep::print_of(&[course.text().as_bytes(), plan.as_bytes()]);
        let known: Vec<Answer> = self.keep.as_ref().map_or(vec![], |keep| keep.get(&print));
        known.into_iter().for_each(|answer| progress.learn(answer));
        let bar = self.bar(bar);
        let mut pace = Pace::default();
        loop {
            let open = moments::questions(course, &progress, &self.plan);
            if open.is_empty() {
                bar.finish_and_clear();
                return Ok(progress);
            }
            in_order(
                &open,
                self.threads,
                || (),
                |(), question| {
                    let begin = Instant::now();
                    (answer(question), begin.elapsed())
                },
                |question, (answer, took)| {
                    let answer = answer.ok_or(None)?;
                    if let Some(keep) = &self.keep {
                        keep.put(&print, &answer)?;
                    }
                    progress.learn(answer);
                    pace.learn(moments::pass(question), took.as_secs_f64() * 1000.0);
                    if !self.alone {
                        return Ok(());
                    }
                    if let Question::Claim { ply, .. } = question {
                        let found = moments::moments(course, &progress);
                        if let Some(moment) = found.iter().find(|m| m.ply == *ply) {
                            let line = format!("  {}: {}", entry.title(), headline(moment));
                            bar.println(terminal::readable(&line));
                        }
                    }
                    tell(&bar, &moments::tally(course, &progress, &self.plan), &pace);
                    Ok::<(), Option<Trouble>>(())
                },
            )?;
        }
    }

    /// A puzzle of each moment, checked and mended.
    fn make_all(&self, entry: &Entry, found: &[Moment]) -> Vec<Made> {
        let bar = self.bar(|| output::progress(found.len(), "puzzle"));
        let follow = Counting(bar.clone());
        let (game, means) = (&entry.game.draft, means(self.threads, &follow));
        let unchecked = self.task.unchecked;
        let made = keyproof_tasks::make_all(game, found, &self.plan, unchecked, &means);
        bar.finish_and_clear();
        made
    }

    /// What is shown of the steps of one game.
    fn bar(&self, bar: impl FnOnce() -> ProgressBar) -> ProgressBar {
        match self.alone {
            true => bar(),
            false => ProgressBar::hidden(),
        }
    }
}

/// `None` if it was asked to stop.
fn answer(question: &Question) -> Option<Answer> {
    keyproof_tasks::answered(question, &tables::at_hand(), &mut Unasked)
}

/// Writes what was found, game by game.
struct Writer<'a> {
    task: &'a Moments,
    out: terminal::Stdout,
    puzzles: Option<Out>,
    lessons: Option<Out>,
    outcome: Outcome,
}

impl Writer<'_> {
    fn new(task: &Moments) -> Result<Writer<'_>, Trouble> {
        let file = |path: &Option<std::path::PathBuf>| {
            let begun = path.as_deref().map(|path: &Path| Out::to(Some(path)));
            begun.transpose()
        };
        Ok(Writer {
            puzzles: file(&task.puzzles)?,
            lessons: file(&task.lesson)?,
            task,
            out: terminal::stdout(),
            outcome: Outcome::Sound,
        })
    }

    fn take(&mut self, item: Result<Item, Told>, found: Option<Found>) -> Result<(), Trouble> {
        let (entry, found) = match (item, found) {
            (Ok(item), Some(found)) => (item.entry, found),
            (Err(told), _) => {
                if told.say() {
                    self.worse(Outcome::Unreadable);
                }
                return Ok(());
            }
            (Ok(_), None) => return Ok(()),
        };
        found
            .faults
            .iter()
            .for_each(|fault| output::complain(fault));
        if found.game.is_none() || !entry.game.faults.is_empty() {
            self.worse(Outcome::Unreadable);
        }
        let Some(found) = found.game else {
            return Ok(());
        };
        let FoundInGame {
            course,
            progress,
            moments,
            made,
        } = &found;
        let mut row = row_of(&entry, course, progress, moments, made);
        if let Some(lessons) = &mut self.lessons {
            let lesson = pgn_write::write(&lesson_of(&entry.game.draft, moments, made));
            lessons.put(&lesson)?;
            row.lesson = Some(lesson);
        }
        for made in made {
            if let Some(puzzles) = &mut self.puzzles {
                puzzles.put(&pgn_write::write(&made.draft))?;
            }
            if made.report.verdict != Soundness::Sound {
                self.outcome = self.outcome.max(Outcome::Unsound);
            }
        }
        match self.task.json {
            true => output::line(&mut self.out, &row),
            false => Ok(describe(&mut self.out, &entry, course, moments, made)?),
        }
    }

    fn worse(&mut self, outcome: Outcome) {
        self.outcome = self.outcome.max(outcome);
    }

    fn end(mut self, outcome: Outcome) -> Result<(), Trouble> {
        self.out.flush()?;
        for out in [self.puzzles, self.lessons].into_iter().flatten() {
            out.end(outcome, |_| ())?;
        }
        Ok(())
    }
}

/// Shows how far the work is, and how long it may still take.
fn tell(bar: &ProgressBar, tally: &Tally, pace: &Pace) {
    bar.set_length(tally.asked as u64);
    bar.set_position(tally.answered as u64);
    if let Some(millis) = pace.to_go(tally, cores()) {
        bar.set_message(format!("about {:.0} s to go", millis / 1000.0));
    }
}

fn bar() -> ProgressBar {
    let style = ProgressStyle::with_template("{bar:24} {pos} of {len} questions, {msg}")
        .expect("a template that parses")
        .progress_chars("=> ");
    ProgressBar::new(0).with_style(style)
}

fn describe(
    out: &mut impl Write,
    entry: &Entry,
    course: &Course,
    found: &[Moment],
    made: &[Made],
) -> std::io::Result<()> {
    writeln!(
        out,
        "{BOLD}{}{BOLD:#}  {FAINT}{} ({}){FAINT:#}: {} in {}",
        entry.title(),
        entry.file,
        entry.index,
        counted(found.len(), "moment"),
        counted(course.plies.len().div_ceil(2), "move"),
    )?;
    for (i, moment) in found.iter().enumerate() {
        writeln!(out, "{:>3}. {BOLD}{}{BOLD:#}", i + 1, headline(moment))?;
        writeln!(out, "     {FAINT}{}{FAINT:#}", moment.fen)?;
        for accepted in &moment.accepted {
            writeln!(out, "     right:  {}", sans(&moment.fen, &accepted.line))?;
        }
        if let Some(won) = &moment.study.won {
            let told = with_proof(&won.sentence, Some(&won.proof));
            writeln!(out, "     wins:   {told}")?;
        }
        let played = &moment.played;
        let fate = match (played.right, played.cost) {
            (true, _) => "which is right".to_owned(),
            (false, 1000..) => "which gave it all away".to_owned(),
            (false, 0) => "which fails".to_owned(),
            (false, cost) => format!("which cost {}.{:02}", cost / 100, cost % 100),
        };
        writeln!(out, "     played: {}, {fate}", played.named.san)?;
        studied(out, moment)?;
        let because: Vec<String> = moment
            .because
            .iter()
            .map(|(what, points)| format!("{what} {points:+}"))
            .collect();
        writeln!(
            out,
            "     {FAINT}{}; difficulty {} of 5; worth {}: {}{FAINT:#}",
            evidence(moment.evidence),
            moment.study.difficulty.level,
            moment.worth,
            because.join(", ")
        )?;
        if !moment.open.is_empty() {
            let open: Vec<&str> = moment.open.iter().map(|m| m.san.as_str()).collect();
            writeln!(out, "     undecided: {}", open.join(" "))?;
        }
        if let Some(made) = made.get(i) {
            judged(out, made)?;
        }
    }
    Ok(())
}

/// What fails, what is threatened, and why.
fn studied(out: &mut impl Write, moment: &Moment) -> std::io::Result<()> {
    for attempt in &moment.study.tries {
        let allures: Vec<&str> = attempt.allures.iter().map(|a| a.title()).collect();
        let tempts = match (attempt.played, allures.is_empty()) {
            (_, false) => format!(" ({})", allures.join(", ")),
            (_, true) => String::new(),
        };
        let told = with_proof(&attempt.sentence, attempt.proof.as_ref());
        writeln!(out, "     fails:  {told}{tempts}")?;
    }
    for threat in &moment.study.threats {
        let told = with_proof(&threat.sentence, threat.proof.as_ref());
        writeln!(out, "     threat: {told}")?;
    }
    for why in moment.study.reasons.iter().take(3) {
        writeln!(out, "     why:    {}: {}", why.kind.title(), why.sentence)?;
    }
    Ok(())
}

/// What the moment is as a puzzle.
fn judged(out: &mut impl Write, made: &Made) -> std::io::Result<()> {
    let (word, colour) = output::verdict(made.report.verdict);
    let twice = match &made.report.second {
        Second::Skipped => format!(", {}", made.report.second.words()),
        _ => String::new(),
    };
    writeln!(out, "     as a puzzle: {colour}{word}{colour:#}{twice}")?;
    for finding in &made.report.findings {
        if finding.weight != keyproof::check::Weight::Remark {
            writeln!(out, "         {}", finding.message)?;
        }
    }
    Ok(())
}

/// "22. White to move and mate in 2: Qf6+. A mate, a sacrifice".
fn headline(moment: &Moment) -> String {
    let kinds: Vec<&str> = moment.kinds.iter().map(|kind| kind.title()).collect();
    let keys: Vec<&str> = moment
        .accepted
        .iter()
        .map(|a| a.named.san.as_str())
        .collect();
    let dots = match moment.turn {
        moments::Side::White => ".",
        moments::Side::Black => "...",
    };
    format!(
        "{}{dots}{}  {}  ({})",
        moment.number,
        keys.join(" or "),
        moment.task(),
        kinds.join("; ")
    )
}

fn evidence(evidence: Evidence) -> String {
    match evidence {
        Evidence::Proved => "proved".into(),
        Evidence::Drawn => "a draw by force, proved".into(),
        Evidence::Table => "by table".into(),
        Evidence::Searched { depth, .. } => format!("searched to depth {depth}"),
    }
}

fn sans(start: &str, line: &[String]) -> String {
    let Ok(position) = fen::read(start) else {
        return String::new();
    };
    let line = moves::read_ucis(&position, line);
    moves::line(&position, &line, position.fullmoves().get())
}
