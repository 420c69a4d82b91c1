//! `keyproof moments`: what is worth asking about in a game, and puzzles made
//! of it.

use std::io::Write;
use std::path::Path;
use std::sync::Mutex;
use std::time::{Duration, Instant};

use indicatif::{ProgressBar, ProgressStyle};
use keyproof::check::{self, Evidence, Known, Second, Soundness};
use keyproof::draft::Draft;
use keyproof::lesson;
use keyproof::moments::{self, Course, Made, Moment, Pace, Plan, Progress, Question, Tally};
use keyproof::notation::{fen, moves, pgn_write};
use keyproof::prove::Unwatched;
use keyproof::resolved::Resolved;
use serde::{Deserialize, Serialize};
use shakmaty::Position;

use crate::arguments::Moments;
use crate::input::{self, Entry};
use crate::judge::{How, check_twice, judge_with};
use crate::output::{self, BOLD, FAINT, Outcome, Trouble, counted};
use crate::tables;
use crate::workers::{cores, in_order};

/// Looks for the moments of one game, or of all games of a file.
pub fn run(task: &Moments) -> Result<Outcome, Trouble> {
    let entries = games(task)?;
    let plan = task.nodes.map_or(Plan::default(), Plan::nodes);
    let mut kept = Kept::open(task.keep.as_deref())?;
    let mut out = anstream::stdout();
    let mut outcome = Outcome::Sound;
    let mut puzzles = String::new();
    let mut lessons = String::new();
    let mut rows = Vec::new();
    for entry in &entries {
        for fault in &entry.game.faults {
            output::complain(&format!(
                "{}:{}:{}: expected {}, found {:?}",
                entry.file, fault.place.line, fault.place.column, fault.expected, fault.text
            ));
            outcome = Outcome::Unreadable;
        }
        let Some(course) = course(entry) else {
            outcome = Outcome::Unreadable;
            continue;
        };
        let mut progress = kept.take(&course);
        answer_all(entry, &course, &mut progress, &plan, &mut kept)?;
        kept.put(&course, progress.clone());
        kept.write()?;
        let mut found = moments::moments(&course, &progress);
        found.truncate(task.top.unwrap_or(usize::MAX));
        let verdicts = match task.puzzles.is_some() || task.lesson.is_some() {
            true => make_all(entry, &found, progress.known(), &plan, task.unchecked),
            false => Vec::new(),
        };
        lessons.push_str(&pgn_write::write(&lesson(entry, &found, &verdicts)));
        for made in &verdicts {
            puzzles.push_str(&pgn_write::write(&made.draft));
            if made.report.verdict != Soundness::Sound {
                outcome = outcome.max(Outcome::Unsound);
            }
        }
        if task.json {
            rows.push(row(entry, &progress, &found, &verdicts)?);
        } else {
            describe(&mut out, entry, &course, &found, &verdicts)?;
        }
    }
    if let Some(file) = &task.puzzles {
        write(file, &puzzles)?;
    }
    if let Some(file) = &task.lesson {
        write(file, &lessons)?;
    }
    if task.json {
        serde_json::to_writer(&mut out, &rows)?;
        writeln!(out)?;
    }
    out.flush()?;
    Ok(outcome)
}

fn games(task: &Moments) -> Result<Vec<Entry>, Trouble> {
    let input = input::read(std::slice::from_ref(&task.file));
    if !input.faults.is_empty() {
        return Err(Trouble::Input(input.faults.join("\n")));
    }
    for (option, file) in [("--puzzles", &task.puzzles), ("--lesson", &task.lesson)] {
        if file.as_ref() == Some(&task.file) {
            return Err(Trouble::Input(format!(
                "this would overwrite the games: choose another file for {option}"
            )));
        }
    }
    let count = input.entries.len();
    let Some(number) = task.game.map(|n| n as usize) else {
        return Ok(input.entries);
    };
    let chosen: Vec<Entry> = input
        .entries
        .into_iter()
        .filter(|e| e.index == number)
        .collect();
    if chosen.is_empty() {
        return Err(Trouble::Input(format!(
            "{}: no game {number}: the file has {}",
            task.file.display(),
            counted(count, "game")
        )));
    }
    Ok(chosen)
}

/// The main line of a game; what stops it is told.
fn course(entry: &Entry) -> Option<Course> {
    let place = format!("{}, game {}", entry.file, entry.index);
    match Course::of(&entry.game.draft) {
        Ok(course) => {
            if let Some(node) = course.stops_at.and_then(|id| entry.game.draft.node(id)) {
                let at = node.place.map_or(String::new(), |p| {
                    format!(" (line {}, column {})", p.line, p.column)
                });
                output::complain(&format!(
                    "{place}: {:?} is no legal move{at}; the game is looked at up to there",
                    node.text
                ));
            }
            Some(course)
        }
        Err(fault) => {
            output::complain(&format!("{place}: {}", fault.reasons().join(" ")));
            None
        }
    }
}

/// Answers what is asked about a game, with all cores, and tells on standard
/// error of moments as they are found.
fn answer_all(
    entry: &Entry,
    course: &Course,
    progress: &mut Progress,
    plan: &Plan,
    kept: &mut Kept,
) -> Result<(), Trouble> {
    let bar = bar();
    let mut saved = Instant::now();
    let mut pace = Pace::default();
    loop {
        let open = moments::questions(course, progress, plan);
        if open.is_empty() {
            break;
        }
        in_order(
            &open,
            cores(),
            || (),
            |(), question| {
                let begin = Instant::now();
                let tongue = keyproof_tongues::of_question(question);
                let answer = tongue
                    .speaks(|| moments::answer_with(question, &tables::at_hand(), &mut Unwatched));
                (answer, begin.elapsed())
            },
            |question, (answer, took)| {
                progress.learn(answer.expect("nobody stops it, and positions are our own"));
                pace.learn(moments::pass(question), took.as_secs_f64() * 1000.0);
                if let Question::Claim { ply, .. } = question {
                    let found = moments::moments(course, progress);
                    if let Some(moment) = found.iter().find(|m| m.ply == *ply) {
                        bar.println(format!("  {}: {}", entry.title(), headline(moment)));
                    }
                }
                tell(&bar, &moments::tally(course, progress, plan), &pace);
                if saved.elapsed() > Duration::from_secs(2) {
                    kept.put(course, progress.clone());
                    kept.write()?;
                    saved = Instant::now();
                }
                Ok::<(), Trouble>(())
            },
        )?;
    }
    bar.finish_and_clear();
    Ok(())
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

/// A puzzle of each moment, checked and mended.
fn make_all(
    entry: &Entry,
    found: &[Moment],
    known: Known,
    plan: &Plan,
    unchecked: bool,
) -> Vec<Made> {
    let how = How {
        nodes: Some(plan.claim),
        threads: 1,
        unchecked,
    };
    let bar = output::progress(found.len(), "puzzle");
    let known = Mutex::new(known);
    let mut made = Vec::new();
    let done: Result<(), std::convert::Infallible> = in_order(
        found,
        cores(),
        || judge_with(Some(plan.claim)),
        |judge, moment| {
            let game = &entry.game.draft;
            let tongue = keyproof_tongues::of_game(game);
            let draft = tongue.speaks(|| moments::worded(game, moment));
            let mut own = known
                .lock()
                .map_or_else(|p| p.into_inner().clone(), |k| k.clone());
            let mut made = moments::complete(draft, &mut own, judge, &mut Unwatched);
            let resolved = Resolved::of(&made.draft);
            if let Ok(puzzle) = resolved.puzzle()
                && !unchecked
            {
                check_twice(puzzle, &mut own, how, &|| Unwatched);
                made.report = check::report(&resolved, &own);
            }
            made
        },
        |_, puzzle| {
            bar.inc(1);
            made.push(puzzle);
            Ok(())
        },
    );
    let Ok(()) = done;
    bar.finish_and_clear();
    made
}

/// The game as a lesson that asks at the moments whose puzzles are sound.
fn lesson(entry: &Entry, found: &[Moment], made: &[Made]) -> Draft {
    let mut game = entry.game.draft.clone();
    let tongue = keyproof_tongues::of_game(&game);
    for (moment, made) in std::iter::zip(found, made) {
        if made.report.verdict == Soundness::Sound
            && let Some((asking, _)) =
                tongue.speaks(|| lesson::bring(&game, moment, &made.draft, found))
        {
            game = asking;
        }
    }
    game
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
        let played = &moment.played;
        let fate = match (played.right, played.cost) {
            (true, _) => "which is right".to_owned(),
            (false, 1000..) => "which gave it all away".to_owned(),
            (false, 0) => "which fails".to_owned(),
            (false, cost) => format!("which cost {}.{:02}", cost / 100, cost % 100),
        };
        writeln!(out, "     played: {}, {fate}", played.named.san)?;
        for attempt in &moment.study.tries {
            let allures: Vec<&str> = attempt.allures.iter().map(|a| a.title()).collect();
            let tempts = match (attempt.played, allures.is_empty()) {
                (_, false) => format!(" ({})", allures.join(", ")),
                (_, true) => String::new(),
            };
            writeln!(out, "     fails:  {}{tempts}", attempt.sentence)?;
        }
        for threat in &moment.study.threats {
            writeln!(out, "     threat: {}", threat.sentence)?;
        }
        for why in moment.study.reasons.iter().take(3) {
            writeln!(out, "     why:    {}: {}", why.kind.title(), why.sentence)?;
        }
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
        }
    }
    Ok(())
}

/// "22. White to play and mate in 2: Qf6+. A mate, a sacrifice".
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

#[derive(Serialize)]
struct Row {
    file: String,
    index: usize,
    title: String,
    nodes: u64,
    moments: Vec<serde_json::Value>,
}

fn row(
    entry: &Entry,
    progress: &Progress,
    found: &[Moment],
    made: &[Made],
) -> Result<Row, Trouble> {
    let mut shown = Vec::new();
    for (i, moment) in found.iter().enumerate() {
        let mut value = serde_json::to_value(moment)?;
        value["task"] = moment.task().into();
        if let Some(made) = made.get(i) {
            value["verdict"] = serde_json::to_value(made.report.verdict)?;
        }
        shown.push(value);
    }
    Ok(Row {
        file: entry.file.clone(),
        index: entry.index,
        title: entry.title(),
        nodes: progress.nodes(),
        moments: shown,
    })
}

/// What was found out about games, in a file if one was named.
struct Kept<'a> {
    file: Option<&'a Path>,
    games: Stored,
}

#[derive(Default, Serialize, Deserialize)]
struct Stored {
    games: Vec<Progress>,
}

impl Kept<'_> {
    fn open(file: Option<&Path>) -> Result<Kept<'_>, Trouble> {
        let games = match file {
            Some(path) if path.exists() => {
                let place = |what: String| Trouble::Input(format!("{}: {what}", path.display()));
                let text = std::fs::read_to_string(path).map_err(|e| place(e.to_string()))?;
                serde_json::from_str(&text)
                    .map_err(|e| place(format!("was not written by --keep: {e}")))?
            }
            _ => Stored::default(),
        };
        Ok(Kept { file, games })
    }

    fn take(&self, course: &Course) -> Progress {
        let kept = self.games.games.iter().find(|p| p.fits(course));
        kept.cloned().unwrap_or_else(|| Progress::new(course))
    }

    fn put(&mut self, course: &Course, progress: Progress) {
        self.games.games.retain(|p| !p.fits(course));
        self.games.games.push(progress);
    }

    /// Writes beside the file and puts it in its place, so that nothing is
    /// lost when the machine stops in between.
    fn write(&self) -> Result<(), Trouble> {
        let Some(file) = self.file else { return Ok(()) };
        let text = serde_json::to_string(&self.games)?;
        let beside = file.with_extension("part");
        let done = std::fs::write(&beside, text).and_then(|()| std::fs::rename(&beside, file));
        done.map_err(|e| Trouble::Input(format!("{}: {e}", file.display())))
    }
}

fn write(file: &Path, text: &str) -> Result<(), Trouble> {
    std::fs::write(file, text).map_err(|e| Trouble::Input(format!("{}: {e}", file.display())))
}
