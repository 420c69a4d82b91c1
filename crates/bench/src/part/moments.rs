//! The moments of published games: how often what made a game famous is among the
//! first that are proposed, how steady that is, and how long it takes.
//!
//! A third of the games is held back (see `tests/moments/README.md`): of those
//! nothing is printed but totals.
//!
//! `KEYPROOF_KEPT=FILE` keeps the answers in a file and takes them from there, with
//! the time they took, as long as the same is asked: for those who change what is made
//! of answers, and no answer. `KEYPROOF_GAMES=N` takes every Nth game.

use std::collections::HashMap;
use std::io::Write;
use std::sync::Mutex;
use std::time::Instant;

use keyproof::draft::Draft;
use keyproof::moments::{
    Answer, Course, Moment, Plan, Progress, Question, Standing, answer, moments, promising,
    questions, standing,
};
use keyproof::notation::{moves, pgn_read};
use keyproof::prove::Unwatched;
use shakmaty::Position;

use super::checksum;
use crate::Setting;
use crate::print::{heading, percentile, short};

const GAMES: &str = "tests/moments/published.pgn";
/// Two workers, as the page usually has.
const WORKERS: usize = 2;
/// Of the games, those whose steadiness is measured: four times as dear.
const STEADY: usize = 12;
/// Moments compared at two efforts.
const FIRST: usize = 3;

/// A game and the half moves that made it famous.
struct Famous {
    name: String,
    course: Course,
    named: Vec<usize>,
    held_back: bool,
}

/// What came of one game.
struct Scan<'a> {
    game: &'a Famous,
    progress: Progress,
    found: Vec<Moment>,
    /// Milliseconds of one core until the first proposal, and in all.
    first: f64,
    whole: f64,
}

pub fn run(setting: &Setting) -> Result<(), String> {
    heading("Moments of published games");
    let mut games = games()?;
    let every = std::env::var("KEYPROOF_GAMES").ok();
    let every = every.and_then(|n| n.parse().ok()).unwrap_or(1);
    let every = setting.of(every, every.max(12));
    let mut number = 0;
    games.retain(|_| {
        number += 1;
        (number - 1) % every == 0
    });
    let kept = Kept::open()?;
    let usual: Vec<Scan> = scans(&games, &Plan::default(), &kept)?;
    totals(&usual);
    lost(&usual);
    let built: Vec<Famous> = games.into_iter().filter(|g| !g.held_back).collect();
    let step = built.len().div_ceil(setting.of(STEADY, 2)).max(1);
    let sample: Vec<Famous> = built.into_iter().step_by(step).collect();
    match kept.two_passes {
        true => Ok(()),
        false => steady(&sample, &kept),
    }
}

fn games() -> Result<Vec<Famous>, String> {
    let text = std::fs::read_to_string(GAMES).map_err(|e| format!("{GAMES}: {e}"))?;
    pgn_read::read(&text)
        .iter()
        .map(|g| famous(&g.draft))
        .collect()
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

/// Goes through the games on all workers, a game at a time each.
fn scans<'a>(games: &'a [Famous], plan: &Plan, kept: &Kept) -> Result<Vec<Scan<'a>>, String> {
    let next = Mutex::new(0..games.len());
    let done = Mutex::new(Vec::new());
    std::thread::scope(|scope| {
        let work = || {
            while let Some(i) = next.lock().expect("no panic").next() {
                let scan = scan(&games[i], plan, kept);
                done.lock().expect("no panic").push((i, scan));
            }
        };
        for _ in 0..WORKERS {
            scope.spawn(work);
        }
    });
    let mut done = done.into_inner().expect("no panic");
    done.sort_by_key(|(i, _)| *i);
    done.into_iter().map(|(_, scan)| scan).collect()
}

fn scan<'a>(game: &'a Famous, plan: &Plan, kept: &Kept) -> Result<Scan<'a>, String> {
    let course = &game.course;
    let mut progress = Progress::new(course);
    let (mut whole, mut first) = (0.0, f64::NAN);
    loop {
        let open = questions(course, &progress, plan);
        let Some(question) = open
            .iter()
            .find(|question| !kept.two_passes || !matches!(question, Question::Claim { .. }))
        else {
            break;
        };
        let (answer, ms) = kept.answer(question)?;
        progress.learn(answer);
        whole += ms;
        if first.is_nan() && !moments(course, &progress).is_empty() {
            first = whole;
        }
    }
    Ok(Scan {
        found: moments(course, &progress),
        game,
        progress,
        first,
        whole,
    })
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
    let (first, whole) = (seconds(|s| s.first), seconds(|s| s.whole));
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

/// Which rule lost the named moves of the games that are built on.
fn lost(scans: &[Scan]) {
    let mut counts: Vec<(String, usize)> = Vec::new();
    let built = scans.iter().filter(|scan| !scan.game.held_back);
    for scan in built {
        let missed = place(scan)
            .or(promised(scan))
            .is_none_or(|place| place >= 3);
        for &ply in &scan.game.named {
            let standing = standing(&scan.game.course, &scan.progress, ply);
            let name = match standing {
                Standing::Proposed(place) if place < 3 => "proposed in 3".to_owned(),
                Standing::Proposed(place) if place < 5 => "proposed in 5".to_owned(),
                Standing::Proposed(_) => "proposed later".to_owned(),
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
fn steady(games: &[Famous], kept: &Kept) -> Result<(), String> {
    let usual = Plan::default();
    let some = scans(games, &usual, kept)?;
    let four = scans(games, &Plan::nodes(4 * usual.look), kept)?;
    let (mut same, mut all) = (0_usize, 0_usize);
    for (a, b) in some.iter().zip(&four) {
        for (one, other) in [(a, b), (b, a)] {
            let first = one.found.iter().take(FIRST);
            let stands = |moment: &&Moment| other.found.iter().any(|m| m.ply == moment.ply);
            all += first.clone().count();
            same += first.filter(stands).count();
        }
    }
    println!(
        "Steady: of the first {FIRST} at {} and at {} positions, {same} of {all} ({:.0} %) are proposed at the other too ({} games)",
        usual.look,
        4 * usual.look,
        100.0 * same as f64 / all.max(1) as f64,
        games.len(),
    );
    Ok(())
}

/// Answers with the milliseconds they took, in memory and in a file if one is named.
struct Kept {
    known: Mutex<HashMap<String, (Answer, f64)>>,
    file: Option<Mutex<std::fs::File>>,
    /// Nobody asks the checker.
    two_passes: bool,
}

impl Kept {
    fn open() -> Result<Kept, String> {
        let mut known = HashMap::new();
        let two_passes = std::env::var_os("KEYPROOF_TWO_PASSES").is_some();
        let Ok(path) = std::env::var("KEYPROOF_KEPT") else {
            return Ok(Kept {
                known: Mutex::default(),
                file: None,
                two_passes,
            });
        };
        for line in std::fs::read_to_string(&path).unwrap_or_default().lines() {
            let (question, answer, ms) = serde_json::from_str(line).map_err(|e| e.to_string())?;
            known.insert(question, (answer, ms));
        }
        let file = std::fs::OpenOptions::new()
            .create(true)
            .append(true)
            .open(&path);
        Ok(Kept {
            known: Mutex::new(known),
            two_passes,
            file: Some(Mutex::new(file.map_err(|e| format!("{path}: {e}"))?)),
        })
    }

    fn answer(&self, question: &Question) -> Result<(Answer, f64), String> {
        let asked = serde_json::to_string(question).map_err(|e| e.to_string())?;
        if let Some(known) = self.known.lock().expect("no panic").get(&asked) {
            return Ok(known.clone());
        }
        let begin = Instant::now();
        let answer = answer(question, &mut Unwatched).ok_or("a question that cannot be read")?;
        let ms = begin.elapsed().as_secs_f64() * 1e3;
        if let Some(file) = &self.file {
            let line = serde_json::to_string(&(&asked, &answer, ms)).map_err(|e| e.to_string())?;
            let written = writeln!(file.lock().expect("no panic"), "{line}");
            written.map_err(|e| e.to_string())?;
        }
        self.known
            .lock()
            .expect("no panic")
            .insert(asked, (answer.clone(), ms));
        Ok((answer, ms))
    }
}
