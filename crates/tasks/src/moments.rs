//! What is worth asking about in games, and puzzles and lessons made of it.

use keyproof::check::{self, Known, Soundness};
use keyproof::draft::Draft;
use keyproof::lesson;
use keyproof::moments::{self, Course, Made, Moment, Plan, Progress};
use keyproof::notation::pgn_write;
use keyproof::prove::Watch;
use keyproof::resolved::Resolved;
use keyproof::tables::Tables;
use keyproof_second::put_studied;
use serde::Serialize;

use crate::entry::{Entry, read_pgn};
use crate::judge::{NODES, check_twice};
use crate::means::Means;
use crate::trouble::Trouble;
use crate::workers::in_order;

/// How games are gone through.
#[derive(Clone, Debug, Default)]
pub struct MomentsOptions {
    /// At most so many moments of a game, the best ones; none: all.
    pub top: Option<usize>,
    /// Nodes for a position that looks promising, and for the rest in proportion; none: as
    /// the core has it.
    pub nodes: Option<u64>,
    /// Whether to make a puzzle of each moment.
    pub puzzles: bool,
    /// Whether to make a lesson of each game, which asks at the moments whose puzzles are
    /// sound.
    pub lesson: bool,
    /// Whether nothing is to be checked a second time.
    pub unchecked: bool,
}

impl MomentsOptions {
    /// How much is spent on what.
    pub fn plan(&self) -> Plan {
        self.nodes.map_or(Plan::default(), Plan::nodes)
    }
}

/// What was found in a game.
#[derive(Clone, Debug, Serialize)]
pub struct GameRow {
    /// The file it came from, if it came from one.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub file: String,
    /// Its number there, from 1.
    pub index: usize,
    /// Its title, or its number where it has none.
    pub title: String,
    /// Nodes that were spent.
    pub nodes: u64,
    /// The moments, the best first.
    pub moments: Vec<MomentRow>,
    /// The game as a lesson, in PGN, if asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub lesson: Option<String>,
    /// What could not be read, in sentences that name the place.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub faults: Vec<String>,
}

/// A moment as it is told.
#[derive(Clone, Debug, Serialize)]
pub struct MomentRow {
    /// What is known of it.
    #[serde(flatten)]
    pub moment: Moment,
    /// What the student is asked to do.
    pub task: String,
    /// Whether the puzzle made of it holds, if one was asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub verdict: Option<Soundness>,
    /// The puzzle made of it, in PGN, if asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub puzzle: Option<String>,
}

/// Goes through the main line of every game of a PGN text.
///
/// # Errors
/// If there is no game, or one that begins with no legal position.
pub fn moments(
    pgn: &str,
    options: &MomentsOptions,
    means: &Means,
) -> Result<Vec<GameRow>, Trouble> {
    let entries = read_pgn(pgn, "")?;
    let rows = entries.iter().map(|entry| {
        let row = moments_of(entry, options, means);
        means.follow.done();
        row
    });
    rows.collect()
}

fn moments_of(entry: &Entry, options: &MomentsOptions, means: &Means) -> Result<GameRow, Trouble> {
    let draft = &entry.game.draft;
    let course = entry.course()?;
    let plan = options.plan();
    let mut progress = Progress::new(&course);
    answer_all(&course, &mut progress, &plan, means)?;
    let mut found = moments::moments(&course, &progress);
    found.truncate(options.top.unwrap_or(usize::MAX));
    let made = match options.puzzles || options.lesson {
        true => make_all(draft, &found, &plan, options.unchecked, means),
        false => Vec::new(),
    };
    means.go_on()?;
    let mut row = row_of(entry, &course, &progress, &found, &made);
    if !options.puzzles {
        row.moments
            .iter_mut()
            .for_each(|moment| moment.puzzle = None);
    }
    row.lesson = options
        .lesson
        .then(|| pgn_write::write(&lesson_of(draft, &found, &made)));
    Ok(row)
}

/// Answers all that is asked about a game.
fn answer_all(
    course: &Course,
    progress: &mut Progress,
    plan: &Plan,
    means: &Means,
) -> Result<(), Trouble> {
    loop {
        let open = moments::questions(course, progress, plan);
        if open.is_empty() {
            return Ok(());
        }
        in_order(
            &open,
            means.threads,
            || means.watch(),
            |watch, question| answered(question, &means.tables, watch),
            |_, answer| {
                progress.learn(answer.ok_or(Trouble::Stopped)?);
                Ok::<(), Trouble>(())
            },
        )?;
    }
}

/// The answer to a question about a game, with what it says is proved put to the checker;
/// `None` if it was stopped.
pub fn answered(
    question: &moments::Question,
    tables: &Tables,
    watch: &mut dyn Watch,
) -> Option<moments::Answer> {
    let tongue = keyproof_tongues::of_question(question);
    tongue.speaks(|| {
        let mut answer = moments::answer_with(question, tables, watch)?;
        put_studied(&mut answer, watch);
        Some(answer)
    })
}

/// A puzzle of each moment of a game, checked and mended.
pub fn make_all(
    game: &Draft,
    found: &[Moment],
    plan: &Plan,
    unchecked: bool,
    means: &Means,
) -> Vec<Made> {
    let alone = means.on(1);
    // Asked anew, and as deeply as where a puzzle is checked, so that what is called sound
    // here is called that there too.
    let nodes = Some(NODES / Plan::default().claim * plan.claim);
    let mut made = Vec::new();
    let done: Result<(), std::convert::Infallible> = in_order(
        found,
        means.threads,
        || (alone.judge(nodes), alone.watch()),
        |(judge, watch), moment| {
            let tongue = keyproof_tongues::of_game(game);
            let draft = tongue.speaks(|| moments::worded(game, moment));
            let mut own = Known::default();
            let mut made = moments::complete(draft, &mut own, judge, watch);
            let resolved = Resolved::of(&made.draft);
            if let Ok(puzzle) = resolved.puzzle()
                && !unchecked
            {
                check_twice(puzzle, &mut own, nodes, &alone);
                made.report = check::report(&resolved, &own);
            }
            made
        },
        |_, puzzle| {
            means.follow.done();
            made.push(puzzle);
            Ok(())
        },
    );
    let Ok(()) = done;
    made
}

/// The game as a lesson that asks at the moments whose puzzles are sound.
pub fn lesson_of(game: &Draft, found: &[Moment], made: &[Made]) -> Draft {
    let mut game = game.clone();
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

/// What is told of a game; `made` are the puzzles of its moments, or none.
pub fn row_of(
    entry: &Entry,
    course: &Course,
    progress: &Progress,
    found: &[Moment],
    made: &[Made],
) -> GameRow {
    let moments = found.iter().enumerate().map(|(i, moment)| MomentRow {
        moment: moment.clone(),
        task: moment.task(),
        verdict: made.get(i).map(|made| made.report.verdict),
        puzzle: made.get(i).map(|made| pgn_write::write(&made.draft)),
    });
    GameRow {
        file: entry.file.clone(),
        index: entry.index,
        title: entry.title(),
        nodes: progress.nodes(),
        moments: moments.collect(),
        lesson: None,
        faults: faults_of(entry, course),
    }
}

/// What of a game could not be read, in sentences that name the place.
pub fn faults_of(entry: &Entry, course: &Course) -> Vec<String> {
    let file = match entry.file.as_str() {
        "" => String::new(),
        file => format!("{file}:"),
    };
    let mut sentences: Vec<String> = entry
        .game
        .faults
        .iter()
        .map(|fault| {
            let place = fault.place;
            let (expected, text) = (&fault.expected, &fault.text);
            format!(
                "{file}{}:{}: expected {expected}, found {text:?}",
                place.line, place.column
            )
        })
        .collect();
    let stop = course.stops_at.and_then(|id| entry.game.draft.node(id));
    sentences.extend(stop.map(|node| {
        let at = node.place.map_or(String::new(), |p| {
            format!(" (line {}, column {})", p.line, p.column)
        });
        format!(
            "{}: {:?} is no legal move{at}; the game is looked at up to there",
            entry.at(),
            node.text
        )
    }));
    sentences
}
