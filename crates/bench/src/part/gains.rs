//! Gains of material: how long they take to prove, natively and in wasm; how soon such a
//! proof stops; and how much of what is told by search is proved so.
//!
//! Without wasm (`keyproof-bench gains -`) the native half is measured alone, so that it
//! can be taken to another machine. Options:
//!
//! - `--positions=N`: positions that are timed (200)
//! - `--moments=N`: games whose moments are gone through (10)

use keyproof::aim::Aim;
use keyproof::draft::NodeId;
use keyproof::notation::{epd, fen, moves, pgn_read};
use keyproof::prove::corpus::Seeded;
use keyproof::prove::{Gain, Prover, Unwatched, Verdict};
use keyproof::puzzle::Puzzle;
use keyproof::resolved::Resolved;
use keyproof_bench::TABLE;
use shakmaty::{Chess, Move, Position};

use super::cancelling;
use super::moments::{Famous, found_in, games};
use crate::Setting;
use crate::engine::{native, wasm};
use crate::print::{heading, spread, times, total};

/// What is to be won: a piece.
const K: u8 = 3;

/// Men that a middle game has at least.
const MEN: usize = 20;

/// The longest gain, or mate, that is looked for to say what is proved.
const LONGEST: u8 = 4;

/// Fred Reinfeld, "Win at Chess" (1945), the first thirty of its positions of published
/// games; positions and solutions from memory.
const REINFELD: &str = "tests/outside/reinfeld.epd";

/// The demo file of puzzles that ask for more than mate.
const PUZZLES: &str = "puzzles/not-only-mate.pgn";

pub fn run(setting: &Setting) -> Result<(), String> {
    heading("Gains of a piece: milliseconds of one core, median / 95th percentile");
    let count = setting.number("positions")?.unwrap_or(setting.of(200, 20));
    println!(
        "Positions of published games (tests/moments) with {MEN} men or more in which some move\n\
         wins a piece in two moves, and none at once (seed 19). `gain`: which first moves win\n\
         one in n moves; `most`: the most that each of them wins.\n"
    );
    let games = games()?;
    let all = positions(&games, count);
    println!("work  n  positions    milliseconds      with keys     nodes    wasm / native");
    for (work, n) in [
        ("gain", 2),
        ("gain", 3),
        ("gain", 4),
        ("most", 2),
        ("most", 3),
    ] {
        timed(setting, work, n, &all)?;
    }
    if in_wasm(setting) {
        println!("\nStopping a proof of gains in a worker (node): milliseconds");
        cancelling::stopped(setting, "gain")?;
    }
    shares(setting, &games)
}

/// Whether there is wasm to be measured.
fn in_wasm(setting: &Setting) -> bool {
    setting.wasm != "-"
}

fn timed(setting: &Setting, work: &str, n: u8, all: &[String]) -> Result<(), String> {
    let tasks = all.iter().map(|fen| format!("{work} {n} {fen}"));
    let tasks: Vec<String> = tasks.collect();
    let natively = native(&tasks)?;
    let few = &tasks[..if n == 4 {
        tasks.len().div_ceil(10)
    } else {
        tasks.len()
    }];
    let mut ratio = "-".to_owned();
    if in_wasm(setting) {
        let there = wasm(&setting.wasm, few)?;
        if let Some(i) = std::iter::zip(&natively, &there).position(|(a, b)| a.answer != b.answer) {
            return Err(format!("native and wasm differ: {}", tasks[i]));
        }
        ratio = format!("{:.2}", total(&there) / total(&natively[..few.len()]));
    }
    let keyed = natively.iter().filter(|outcome| !outcome.answer.is_empty());
    println!(
        "{work} {n:2}  {:9}  {:>14}  {:>13}  {:>8}  {ratio:>8}",
        tasks.len(),
        spread(&times(&natively)),
        keyed.count(),
        natively.iter().map(|outcome| outcome.nodes).sum::<u64>() / tasks.len() as u64,
    );
    Ok(())
}

/// Positions of the games in which a piece is won in two moves, drawn from all of them.
fn positions(games: &[Famous], count: usize) -> Vec<String> {
    let mut all: Vec<&Chess> = games
        .iter()
        .flat_map(|game| game.course.plies.iter().map(|ply| &ply.before))
        .filter(|position| position.board().occupied().count() >= MEN)
        .collect();
    let mut random = Seeded::new(19);
    let mut found = Vec::new();
    while found.len() < count && !all.is_empty() {
        let position = all.swap_remove(random.below(all.len()));
        if shortest(position) == Some(2) {
            found.push(fen::write(position));
        }
    }
    found
}

/// The fewest moves, two at most, in which a piece is won.
fn shortest(position: &Chess) -> Option<u8> {
    let judged = Prover::new(TABLE).judge_gain(position, K, 2, None, &mut Unwatched);
    let lengths = judged.iter().filter_map(|(_, verdict)| match verdict {
        Verdict::Forces { length, .. } => Some(*length),
        _ => None,
    });
    lengths.min()
}

/// By what a move is proved to be right.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Proof {
    Mate,
    /// In so many moves.
    Gain(u8),
    Draw,
    None,
}

/// Nodes for one question.
const BUDGET: u64 = 20_000_000;

impl Proof {
    /// What is proved of a move; a draw is looked for where no more is asked.
    fn of(position: &Chess, mv: Move, draw: bool) -> Proof {
        let mut prover = Prover::new(TABLE);
        prover.budget = Some(BUDGET);
        let one = Some(&[mv][..]);
        let mut length = |aim, n| {
            let judged = prover.judge_aim(aim, position, n, one, &mut Unwatched);
            match judged.first() {
                Some((_, Verdict::Forces { length, .. })) => Some(*length),
                _ => None,
            }
        };
        if length(Aim::Mate, LONGEST).is_some() {
            return Proof::Mate;
        }
        if let Some(n) = length(Aim::Gain(Gain::at(1, position)), LONGEST) {
            return Proof::Gain(n);
        }
        match prover.draw(position, one, &mut Unwatched) {
            Ok(Some(_)) if draw => Proof::Draw,
            _ => Proof::None,
        }
    }
}

/// How many of the right moves of some positions are proved to be right.
fn share(name: &str, asked: &[(Chess, Move, bool)]) {
    let proofs: Vec<Proof> = asked
        .iter()
        .map(|(position, mv, draw)| Proof::of(position, *mv, *draw))
        .collect();
    let count = |proof: Proof| proofs.iter().filter(|&&found| found == proof).count();
    let gains = (1..=LONGEST).map(|n| count(Proof::Gain(n)).to_string());
    let gains = gains.collect::<Vec<_>>().join(" ");
    let proved = proofs.len() - count(Proof::None);
    println!(
        "{name:34} {:6}  {:5}  {:10}  {:6}  {:5}  {:.0} %",
        proofs.len(),
        count(Proof::Mate),
        gains,
        count(Proof::Draw),
        proved,
        100.0 * proved as f64 / proofs.len().max(1) as f64,
    );
}

fn shares(setting: &Setting, games: &[Famous]) -> Result<(), String> {
    heading("What is proved of moves that are right");
    println!(
        "Mates within {LONGEST} moves; gains of a pawn or more within 1, 2, 3, {LONGEST}; draws by force\n\
         where no more is asked. Praised: the first moves marked so in the published games that\n\
         are held back, middle games or not.\n"
    );
    println!("{:34} number  mates  gains       draws   all", "");
    share(&format!("keys of {PUZZLES}"), &puzzles()?);
    share(&format!("solutions of {REINFELD}"), &reinfeld()?);
    let held_back = || games.iter().filter(|game| game.held_back);
    let praised = held_back().flat_map(|game| {
        let at = |&ply: &usize| &game.course.plies[ply];
        let plies = game.named.iter().map(at);
        plies.map(|ply| (ply.before.clone(), ply.played, false))
    });
    let praised: Vec<_> = praised.take(setting.of(100, 10)).collect();
    share("praised moves, held back", &praised);
    let count = setting.number("moments")?.unwrap_or(setting.of(10, 1));
    let mut asked = Vec::new();
    for game in held_back().take(count) {
        for moment in found_in(game)? {
            let position = fen::read(&moment.fen).map_err(|fault| fault.reasons().join(" "))?;
            let first = moment.accepted.first();
            let mv = first.and_then(|right| moves::read_uci(&position, &right.named.uci));
            let mv = mv.ok_or("a moment without a right move")?;
            asked.push((position, mv, moment.stipulation == "="));
        }
    }
    share(&format!("moments of {count} games"), &asked);
    Ok(())
}

/// The first of the solutions of each position.
fn reinfeld() -> Result<Vec<(Chess, Move, bool)>, String> {
    let text = std::fs::read_to_string(REINFELD).map_err(|e| format!("{REINFELD}: {e}"))?;
    let record = |(i, line)| {
        let record = epd::record(line, i).ok()?;
        let mv = *record.moves("bm").ok()?.first()?;
        Some((record.position, mv, false))
    };
    let records: Option<Vec<_>> = (1..).zip(text.lines()).map(record).collect();
    records.ok_or_else(|| format!("{REINFELD}: not all records are read"))
}

/// The keys of the demo file's puzzles.
fn puzzles() -> Result<Vec<(Chess, Move, bool)>, String> {
    let text = std::fs::read_to_string(PUZZLES).map_err(|e| format!("{PUZZLES}: {e}"))?;
    let read = pgn_read::read(&text);
    let puzzles = read.iter().map(|game| {
        let puzzle: Puzzle = Resolved::of(&game.draft)
            .into_puzzle()
            .map_err(|_| format!("{PUZZLES}: no puzzle"))?;
        let key = puzzle.accepted(NodeId::ROOT).next();
        let key = key.ok_or_else(|| format!("{PUZZLES}: no key"))?;
        let draw = puzzle.stipulation().to_string() == "=";
        Ok((puzzle.start().clone(), puzzle.node(key).mv, draw))
    });
    puzzles.collect()
}
