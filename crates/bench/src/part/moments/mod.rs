//! The moments of published games: how often what made a game famous is among the
//! first that are proposed, how steady that is, and how long it takes.
//!
//! A third of the games is held back (see `tests/moments/README.md`): of those
//! nothing is printed but totals.
//!
//! Options:
//!
//! - `--cores=N`: so many games at a time (2)
//! - `--seconds=N`: begin nothing new after that; games that are not done then are
//!   left out
//! - `--kept=FILE`: keep the answers there and take them from there, with the time they
//!   took, as long as the same is asked: for those who change what is made of answers,
//!   and no answer
//! - `--games=N`: every Nth game
//! - `--steady=N`: of the games built on, measure steadiness on about so many (12)
//! - `--beyond=1`: at the end answer what the rules leave too, for `--kept`

mod kept;

use std::sync::Mutex;
use std::time::{Duration, Instant};

use kept::Kept;

use keyproof::draft::Draft;
use keyproof::moments::{
    Course, Moment, PASSES, Plan, Progress, Screening, beyond, moments, pass, promising, questions,
    screening,
};
use keyproof::notation::{moves, pgn_read};
use shakmaty::Position;

use super::checksum;
use crate::Setting;
use crate::print::{heading, percentile, short};

const GAMES: &str = "tests/moments/published.pgn";
/// Two workers, as the page usually has.
const WORKERS: usize = 2;
/// Of the games, those whose steadiness is measured: four times as dear.
const STEADY: usize = 12;
/// So many times the usual effort.
const DEARER: u64 = 4;
/// Moments compared at two efforts.
const FIRST: usize = 3;

/// A game and the half moves that made it famous.
pub(super) struct Famous {
    name: String,
    pub course: Course,
    pub named: Vec<usize>,
    pub held_back: bool,
}

/// What came of one game.
struct Scan<'a> {
    game: &'a Famous,
    progress: Progress,
    found: Vec<Moment>,
    /// Milliseconds of one core until the first proposal, and for each pass.
    first: f64,
    passes: [f64; PASSES],
}

pub fn run(setting: &Setting) -> Result<(), String> {
    heading("Moments of published games");
    let every = setting.number("games")?.unwrap_or(1).max(1);
    let every = setting.of(every, every.max(12));
    let games: Vec<Famous> = games()?.into_iter().step_by(every).collect();
    let end = setting.number("seconds")?;
    let end = end.map(|seconds| Instant::now() + Duration::from_secs(seconds as u64));
    let work = Work {
        kept: Kept::open(setting.options.get("kept"), end)?,
        cores: setting.number("cores")?.unwrap_or(WORKERS).max(1),
    };
    let all: Vec<&Famous> = games.iter().collect();
    let usual = work.scans(&all, &Plan::default())?;
    println!("{} of {} games done", usual.len(), games.len());
    totals(&usual);
    passes(&usual);
    lost(&usual);
    let built: Vec<&Famous> = games.iter().filter(|g| !g.held_back).collect();
    let sample = setting.number("steady")?;
    let sample = sample.unwrap_or(setting.of(STEADY, 2));
    if sample > 0 {
        let step = built.len().div_ceil(sample).max(1);
        steady(
            &built.iter().step_by(step).copied().collect::<Vec<_>>(),
            &work,
        )?;
    }
    if setting.options.contains_key("beyond") {
        work.each(&built, |game| work.beyond(game))?;
    }
    Ok(())
}

/// All the games.
pub(super) fn games() -> Result<Vec<Famous>, String> {
    let text = std::fs::read_to_string(GAMES).map_err(|e| format!("{GAMES}: {e}"))?;
    pgn_read::read(&text)
        .iter()
        .map(|g| famous(&g.draft))
        .collect()
}

/// What is found in a game at the usual effort.
pub(super) fn found_in(game: &Famous) -> Result<Vec<Moment>, String> {
    let kept = Kept::open(None, None)?;
    let scan = Work { kept, cores: 1 }.scan(game, &Plan::default())?;
    Ok(scan.map_or_else(Vec::new, |scan| scan.found))
}

fn famous(game: &Draft) -> Result<Famous, String> {
    let tag = |name| game.tag(name).unwrap_or("?");
    let name = format!("{} - {}, {}", tag("White"), tag("Black"), &tag("Date")[..4]);
    let course = Course::of(game).map_err(|fault| fault.reasons().join(" "))?;
    if course.stops_at.is_some() {
        return Err(format!("{name}: an illegal move"));
    }
    let good = |node| game.node(node).is_some_and(|node| node.nags.contains(&1));
    let named = (0..course.plies.len()).filter(|&ply| good(course.plies[ply].node));
    Ok(Famous {
        held_back: checksum(&name).is_multiple_of(3),
        named: named.collect(),
        name,
        course,
    })
}

/// How the games are gone through.
struct Work {
    kept: Kept,
    cores: usize,
}

impl Work {
    /// Does something with the games on all cores, a game at a time each; what came of
    /// those that were done is in their order.
    fn each<'a, T: Send>(
        &self,
        games: &[&'a Famous],
        one: impl Fn(&'a Famous) -> Result<Option<T>, String> + Sync,
    ) -> Result<Vec<T>, String> {
        let next = Mutex::new(0..games.len());
        let done = Mutex::new(Vec::new());
        let take = || next.lock().expect("no panic").next();
        std::thread::scope(|scope| {
            let work = || {
                while let Some(i) = take() {
                    let came = one(games[i]);
                    done.lock().expect("no panic").push((i, came));
                }
            };
            for _ in 0..self.cores {
                scope.spawn(work);
            }
        });
        let mut done = done.into_inner().expect("no panic");
        done.sort_by_key(|(i, _)| *i);
        done.into_iter()
            .filter_map(|(_, came)| came.transpose())
            .collect()
    }

    fn scans<'a>(&self, games: &[&'a Famous], plan: &Plan) -> Result<Vec<Scan<'a>>, String> {
        self.each(games, |game| self.scan(game, plan))
    }

    /// Goes through a game; `None` when the time is over.
    fn scan<'a>(&self, game: &'a Famous, plan: &Plan) -> Result<Option<Scan<'a>>, String> {
        let course = &game.course;
        let mut progress = Progress::new(course);
        let (mut first, mut passes) = (f64::NAN, [0.0; PASSES]);
        while let Some(question) = questions(course, &progress, plan).first() {
            let Some((answer, ms)) = self.kept.answer(question)? else {
                return Ok(None);
            };
            progress.learn(answer);
            passes[pass(question)] += ms;
            if first.is_nan() && !moments(course, &progress).is_empty() {
                first = passes.iter().sum();
            }
        }
        Ok(Some(Scan {
            found: moments(course, &progress),
            game,
            progress,
            first,
            passes,
        }))
    }

    /// Answers what the rules leave of a game at the usual effort.
    fn beyond(&self, game: &Famous) -> Result<Option<()>, String> {
        let plan = Plan::default();
        let Some(Scan { mut progress, .. }) = self.scan(game, &plan)? else {
            return Ok(None);
        };
        while let Some(question) = beyond(&game.course, &progress, &plan, &game.named).first() {
            let Some((answer, _)) = self.kept.answer(question)? else {
                return Ok(None);
            };
            progress.learn(answer);
        }
        Ok(Some(()))
    }
}

/// The best place of a named move among the proposals.
fn place(scan: &Scan) -> Option<usize> {
    let named = |moment: &Moment| scan.game.named.contains(&moment.ply);
    scan.found.iter().position(named)
}

/// The best place of a named move among what the first two passes find promising.
fn promised(scan: &Scan) -> Option<usize> {
    let plies = promising(&scan.game.course, &scan.progress);
    plies.iter().position(|ply| scan.game.named.contains(ply))
}

fn totals(scans: &[Scan]) {
    println!("games        number  first  in 3   in 5   at all  none proposed");
    for (what, held_back, place) in [
        ("built on", false, place as fn(&Scan) -> Option<usize>),
        ("held back", true, place),
        ("  two passes", false, promised),
        ("  held back", true, promised),
    ] {
        let some: Vec<&Scan> = scans
            .iter()
            .filter(|s| s.game.held_back == held_back)
            .collect();
        let share = |places: usize| {
            let within = some.iter().filter(|s| place(s).is_some_and(|p| p < places));
            format!("{:.0} %", 100.0 * within.count() as f64 / some.len() as f64)
        };
        println!(
            "{what:12} {:6}  {:5}  {:5}  {:5}  {:6}  {}",
            some.len(),
            share(1),
            share(3),
            share(5),
            share(usize::MAX),
            some.iter().filter(|s| s.found.is_empty()).count(),
        );
    }
    let seconds = |of: fn(&Scan) -> f64| -> Vec<f64> {
        let all = scans.iter().map(of).filter(|ms| !ms.is_nan());
        all.map(|ms| ms / 1e3 / WORKERS as f64).collect()
    };
    let moves: usize = scans.iter().map(|s| s.game.course.plies.len()).sum();
    let (first, whole) = (seconds(|s| s.first), seconds(|s| s.passes.iter().sum()));
    let nodes: u64 = scans.iter().map(|s| s.progress.nodes()).sum();
    println!(
        "Seconds on {WORKERS} workers, median and 95th percentile: first proposal {} / {}, whole game {} / {}; 40 moves {}; {:.1} million positions a game",
        short(percentile(&first, 50)),
        short(percentile(&first, 95)),
        short(percentile(&whole, 50)),
        short(percentile(&whole, 95)),
        short(whole.iter().sum::<f64>() * 80.0 / moves as f64),
        nodes as f64 / 1e6 / scans.len() as f64,
    );
}

/// What each pass costs.
fn passes(scans: &[Scan]) {
    let mean = |pass: usize| {
        let whole: f64 = scans.iter().map(|scan| scan.passes[pass]).sum();
        short(whole / 1e3 / scans.len() as f64)
    };
    println!(
        "Seconds of one core a game: glances {}, looks {}, claims {}",
        mean(0),
        mean(1),
        mean(2)
    );
}

/// Which rule lost the named moves of the games that are built on.
fn lost(scans: &[Scan]) {
    let mut counts: Vec<(String, usize)> = Vec::new();
    let built = scans.iter().filter(|scan| !scan.game.held_back);
    for scan in built {
        let missed = place(scan)
            .or(promised(scan))
            .is_none_or(|place| place >= 3);
        for &ply in &scan.game.named {
            let screening = screening(&scan.game.course, &scan.progress, ply);
            let name = match screening {
                Screening::Proposed(place) if place < 3 => "proposed in 3".to_owned(),
                Screening::Proposed(place) if place < 5 => "proposed in 5".to_owned(),
                Screening::Proposed(_) => "proposed later".to_owned(),
                other => format!("{other:?}"),
            };
            if missed {
                println!("  {}: {}  {name}", scan.game.name, written(scan.game, ply));
            }
            match counts.iter_mut().find(|(known, _)| *known == name) {
                Some((_, count)) => *count += 1,
                None => counts.push((name, 1)),
            }
        }
        if missed {
            let first: Vec<String> = scan.found.iter().take(5).map(headline).collect();
            println!("      {}", first.join("; "));
        }
    }
    counts.sort_by_key(|(_, count)| std::cmp::Reverse(*count));
    let counts: Vec<String> = counts
        .iter()
        .map(|(name, n)| format!("{name} {n}"))
        .collect();
    println!("Named moves of the games built on: {}", counts.join(", "));
}

fn written(game: &Famous, ply: usize) -> String {
    let at = &game.course.plies[ply];
    moves::line(&at.before, &[at.played], at.before.fullmoves().get())
}

fn headline(moment: &Moment) -> String {
    let dots = if moment.fen.contains(" w ") {
        "."
    } else {
        "..."
    };
    let sans: Vec<&str> = moment.accepted.iter().map(|a| &a.named.san[..]).collect();
    format!(
        "{}{dots}{} {} {}",
        moment.number,
        sans.join("/"),
        moment.stipulation,
        moment.worth
    )
}

/// Whether the first proposals stand at four times the effort, and the other way
/// round.
fn steady(games: &[&Famous], work: &Work) -> Result<(), String> {
    let usual = Plan::default();
    let some = work.scans(games, &usual)?;
    let dearer = work.scans(games, &Plan::nodes(DEARER * usual.look))?;
    let pairs: Vec<(&Scan, &Scan)> = some
        .iter()
        .filter_map(|a| Some((a, dearer.iter().find(|b| std::ptr::eq(a.game, b.game))?)))
        .collect();
    let (mut same, mut all) = (0_usize, 0_usize);
    for &(a, b) in &pairs {
        for (one, other) in [(a, b), (b, a)] {
            let first = one.found.iter().take(FIRST);
            let stands = |moment: &&Moment| other.found.iter().any(|m| m.ply == moment.ply);
            all += first.clone().count();
            for moment in first.clone().filter(|m| !stands(m)) {
                let screening = screening(&other.game.course, &other.progress, moment.ply);
                println!(
                    "  wavers: {}: {}  {screening:?}",
                    one.game.name,
                    headline(moment)
                );
            }
            same += first.filter(stands).count();
        }
    }
    println!(
        "Steady: of the first {FIRST} at {} and at {} positions, {same} of {all} ({:.0} %) are proposed at the other too ({} games)",
        usual.look,
        DEARER * usual.look,
        100.0 * same as f64 / all.max(1) as f64,
        pairs.len(),
    );
    println!("At {DEARER} times the effort:");
    totals(&dearer);
    Ok(())
}
