//! The work itself.

use keyproof::check::{Judge, Known, check};
use keyproof::moments;
use keyproof::notation::{fen, moves, pgn_read};
use keyproof::prove::corpus::Seeded;
use keyproof::prove::{Prover, Unwatched, Verdict, Watch};
use keyproof::search::{Limits, Search};
use keyproof::seen::Builder;
use keyproof::tables::{Material, Tables};
use shakmaty::{Chess, Move, Position};

/// Bytes that the table of the prover, or of the search, may take.
pub const TABLE: usize = 16 << 20;

/// What a piece of work takes from outside.
pub trait Host {
    /// Milliseconds of processor time so far.
    fn now(&self) -> f64;

    /// As [`Watch::go_on`].
    fn go_on(&self, _nodes: u64, _share: f32) -> bool {
        true
    }
}

/// What came of a piece of work.
#[derive(Clone, Debug, PartialEq)]
pub struct Outcome {
    /// Milliseconds of processor time.
    pub ms: f64,
    pub nodes: u64,
    pub answer: String,
}

/// Does the work. What is made once, such as endgame tables, is kept.
#[derive(Default)]
pub struct Tasks {
    tables: Tables,
}

impl Tasks {
    pub fn new() -> Tasks {
        Tasks::default()
    }

    /// Does one piece of work:
    ///
    /// - `keys N FEN`: which first moves mate in `N`
    /// - `prove N FEN`: these, and every continuation after each reply
    /// - `gain N FEN`: which first moves win a piece in `N`
    /// - `most N FEN`: the most that each first move wins in `N`
    /// - `search NODES FEN`: the best move by so many nodes
    /// - `think MS FEN`: the best move in so many milliseconds
    /// - `table NAME`: an endgame table, smaller ones not counted
    /// - `ask JSON`: a question about a game, see [`moments::Question`]
    /// - `index POSITIONS`: random games with so many positions read and indexed;
    ///   the bytes that takes
    /// - `check PGN`: the verdict on a puzzle, its line ends written as `|`
    ///
    /// # Errors
    /// Says what cannot be read.
    pub fn run(&mut self, task: &str, host: &dyn Host) -> Result<Outcome, String> {
        let unreadable = || format!("no such task: {task}");
        let (name, rest) = task.split_once(' ').ok_or_else(unreadable)?;
        match name {
            "table" => return self.table(rest, host),
            "check" => return judged(rest, host),
            "ask" => return answered(rest, host),
            "index" => return indexed(rest.parse().map_err(|_| unreadable())?, host),
            _ => {}
        }
        let (number, position) = rest.split_once(' ').ok_or_else(unreadable)?;
        let number: u64 = number.parse().map_err(|_| unreadable())?;
        let position = fen::read(position).map_err(|fault| fault.reasons().join(" "))?;
        let n = u8::try_from(number);
        match name {
            "keys" => Ok(keys(&position, n.map_err(|_| unreadable())?, host)),
            "prove" => Ok(proved(&position, n.map_err(|_| unreadable())?, host)),
            "gain" => Ok(gains(&position, n.map_err(|_| unreadable())?, host)),
            "most" => Ok(most(&position, n.map_err(|_| unreadable())?, host)),
            "search" => Ok(searched(&position, number, f64::INFINITY, host)),
            "think" => Ok(searched(&position, u64::MAX / 4, number as f64, host)),
            _ => Err(unreadable()),
        }
    }

    fn table(&mut self, name: &str, host: &dyn Host) -> Result<Outcome, String> {
        let material = Material::read(name).ok_or_else(|| format!("no material: {name}"))?;
        let begun = host.now();
        Tables::new().make(material, &mut Unwatched);
        let with_smaller = host.now() - begun;
        let mut missing = self.tables.missing(material);
        missing.pop();
        for smaller in missing {
            self.tables.make(smaller, &mut Unwatched);
        }
        let begun = host.now();
        let mut tables = self.tables.clone();
        tables.make(material, &mut Unwatched);
        let ms = host.now() - begun;
        self.tables = tables;
        let content = self.tables.content(material).ok_or("not made")?;
        let kept = self.tables.save(material).map_or(0, |bytes| bytes.len());
        let made = Made {
            with_smaller,
            kept: kept as f64,
            longest: content.longest.map(|moves| moves.unwrap_or(0)),
        };
        Ok(Outcome {
            ms,
            nodes: content.bytes as u64,
            answer: made.to_string(),
        })
    }
}

/// What came of an endgame table.
pub struct Made {
    /// Milliseconds for the table and all that it leads to.
    pub with_smaller: f64,
    /// Bytes of it when it is kept.
    pub kept: f64,
    /// The longest mates, in moves, with White and with Black to move; 0 for
    /// none.
    pub longest: [u16; 2],
}

impl std::fmt::Display for Made {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let [white, black] = self.longest;
        write!(f, "{white} {black} {} {}", self.kept, self.with_smaller)
    }
}

impl std::str::FromStr for Made {
    type Err = String;

    fn from_str(text: &str) -> Result<Made, String> {
        let unreadable = || format!("no table was made: {text}");
        let fields: Option<Vec<f64>> = text.split(' ').map(|field| field.parse().ok()).collect();
        match fields.as_deref() {
            Some(&[white, black, kept, with_smaller]) => Ok(Made {
                with_smaller,
                kept,
                longest: [white as u16, black as u16],
            }),
            _ => Err(unreadable()),
        }
    }
}

struct Asking<'h>(&'h dyn Host);

impl Watch for Asking<'_> {
    fn go_on(&mut self, nodes: u64, share: f32) -> bool {
        self.0.go_on(nodes, share)
    }
}

/// Does work that always comes out the same, again and again while that takes
/// less than a millisecond; the time of one doing.
fn timed<T>(host: &dyn Host, mut work: impl FnMut() -> T) -> (T, f64) {
    let begun = host.now();
    for times in 1.. {
        let done = work();
        let ms = host.now() - begun;
        if ms >= 1.0 {
            return (done, ms / f64::from(times));
        }
    }
    unreachable!("a clock that runs")
}

fn keys(position: &Chess, n: u8, host: &dyn Host) -> Outcome {
    let ((nodes, verdicts), ms) = timed(host, || {
        let mut prover = Prover::new(TABLE);
        let verdicts = prover.judge(position, n, None, &mut Asking(host));
        (prover.nodes, verdicts)
    });
    Outcome {
        ms,
        nodes,
        answer: set(&verdicts),
    }
}

fn gains(position: &Chess, n: u8, host: &dyn Host) -> Outcome {
    let ((nodes, verdicts), ms) = timed(host, || {
        let mut prover = Prover::new(TABLE);
        let verdicts = prover.judge_gain(position, 3, n, None, &mut Asking(host));
        (prover.nodes, verdicts)
    });
    let answer = set(&verdicts);
    Outcome { ms, nodes, answer }
}

/// More gained is not told apart: two queens.
const MOST: u8 = 18;

fn most(position: &Chess, n: u8, host: &dyn Host) -> Outcome {
    let ((nodes, gained), ms) = timed(host, || {
        let mut prover = Prover::new(TABLE);
        let gained = prover.most_gained(position, MOST, n, None, &mut Asking(host));
        (prover.nodes, gained)
    });
    let said = gained
        .iter()
        .map(|gain| format!("{}={}", moves::uci(gain.mv), gain.k));
    let answer = said.collect::<Vec<_>>().join(",");
    Outcome { ms, nodes, answer }
}

type Verdicts = Vec<(Move, Verdict)>;

fn proved(position: &Chess, n: u8, host: &dyn Host) -> Outcome {
    let ((nodes, verdicts, below), ms) = timed(host, || all(position, n, &mut Asking(host)));
    let mut sets: Vec<String> = below
        .iter()
        .map(|(key, reply, continued)| {
            let (key, reply) = (moves::uci(*key), moves::uci(*reply));
            format!("{key},{reply}:{}", set(continued))
        })
        .collect();
    sets.push(set(&verdicts));
    sets.sort();
    Outcome {
        ms,
        nodes,
        answer: sets.join(";"),
    }
}

/// The verdicts on all first moves, and on all continuations after each reply
/// to each key.
fn all(
    position: &Chess,
    n: u8,
    watch: &mut dyn Watch,
) -> (u64, Verdicts, Vec<(Move, Move, Verdicts)>) {
    let mut prover = Prover::new(TABLE);
    let verdicts = prover.judge(position, n, None, watch);
    let mut below = Vec::new();
    for &(key, ref verdict) in &verdicts {
        let Verdict::Forces { length, .. } = *verdict else {
            continue;
        };
        let after = played(position, key);
        for reply in after.legal_moves() {
            let continued = prover.judge(&played(&after, reply), length - 1, None, watch);
            below.push((key, reply, continued));
        }
    }
    (prover.nodes, verdicts, below)
}

/// The moves that force mate, each with its length, sorted.
fn set(verdicts: &[(Move, Verdict)]) -> String {
    let mut names: Vec<String> = verdicts
        .iter()
        .filter_map(|(m, verdict)| match verdict {
            Verdict::Forces { length, .. } => Some(format!("{}={length}", moves::uci(*m))),
            Verdict::Fails { .. } => None,
            Verdict::Unknown { .. } => Some(format!("{}=?", moves::uci(*m))),
        })
        .collect();
    names.sort();
    names.join(",")
}

struct Until<'h> {
    host: &'h dyn Host,
    end: f64,
}

impl Watch for Until<'_> {
    fn go_on(&mut self, nodes: u64, share: f32) -> bool {
        self.host.now() < self.end && self.host.go_on(nodes, share)
    }
}

fn searched(position: &Chess, nodes: u64, ms: f64, host: &dyn Host) -> Outcome {
    let begun = host.now();
    let end = begun + ms;
    let mut search = Search::new(4 * TABLE);
    let limits = Limits::nodes(nodes);
    let lines = search.lines(position, &[], &limits, &mut Until { host, end });
    let best = lines.first().and_then(|line| line.moves.first());
    Outcome {
        ms: host.now() - begun,
        nodes: search.nodes,
        answer: best.map_or_else(String::new, |&m| moves::uci(m)),
    }
}

fn judged(text: &str, host: &dyn Host) -> Result<Outcome, String> {
    let games = pgn_read::read(&text.replace('|', "\n"));
    let game = games.first().ok_or("no puzzle")?;
    let begun = host.now();
    let mut judge = Judge::new(TABLE);
    judge.set_budget(Some(20_000_000));
    let report = check(
        &game.draft,
        &mut Known::default(),
        &mut judge,
        &mut Asking(host),
    );
    Ok(Outcome {
        ms: host.now() - begun,
        nodes: judge.nodes(),
        answer: format!("{:?}", report.verdict).to_lowercase(),
    })
}

fn answered(text: &str, host: &dyn Host) -> Result<Outcome, String> {
    let question = serde_json::from_str(text).map_err(|e| e.to_string())?;
    let begun = host.now();
    let answer = moments::answer(&question, &mut Asking(host)).ok_or("no answer")?;
    let ms = host.now() - begun;
    let (moments::Answer::Glance { nodes, .. }
    | moments::Answer::Look { nodes, .. }
    | moments::Answer::Claim { nodes, .. }) = &answer;
    Ok(Outcome {
        ms,
        nodes: *nodes,
        answer: serde_json::to_string(&answer).map_err(|e| e.to_string())?,
    })
}

fn indexed(positions: usize, host: &dyn Host) -> Result<Outcome, String> {
    let mut random = Seeded::new(1);
    let mut text = String::new();
    let mut written = 0;
    while written < positions {
        written += write_game(&mut random, &mut text);
    }
    let begun = host.now();
    let mut builder = Builder::new();
    pgn_read::each(&text, &mut |game| {
        // Two random games may be the same one.
        let _ = builder.add(&game.draft);
    });
    let index = builder.index();
    Ok(Outcome {
        ms: host.now() - begun,
        nodes: index.positions() as u64,
        answer: index.bytes().to_string(),
    })
}

/// Plies of a random game: those of an ordinary one.
const PLIES: usize = 80;

/// Writes a random game and says how many positions it has.
fn write_game(random: &mut Seeded, text: &mut String) -> usize {
    text.push_str("[White \"A\"]\n[Black \"B\"]\n\n");
    let mut at = Chess::default();
    for ply in 0..PLIES {
        let legal = at.legal_moves();
        if legal.is_empty() {
            text.push_str("*\n\n");
            return ply + 1;
        }
        let mv = legal[random.below(legal.len())];
        if ply % 2 == 0 {
            text.push_str(&format!("{}. ", ply / 2 + 1));
        }
        text.push_str(&moves::san(&at, mv));
        text.push(if ply % 12 == 11 { '\n' } else { ' ' });
        at.play_unchecked(mv);
    }
    text.push_str("*\n\n");
    PLIES + 1
}

fn played(position: &Chess, m: Move) -> Chess {
    let mut after = position.clone();
    after.play_unchecked(m);
    after
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A clock that runs whenever it is looked at.
    struct Clock(std::cell::Cell<f64>);
    impl Host for Clock {
        fn now(&self) -> f64 {
            let seen = self.0.get();
            self.0.set(seen + 2.0);
            seen
        }
    }

    fn answer(task: &str) -> Result<String, String> {
        Tasks::new()
            .run(task, &Clock(0.0.into()))
            .map(|outcome| outcome.answer)
    }

    #[test]
    fn a_task_says_what_it_found() {
        let rook = "8/5P1k/5K2/8/8/8/8/8 w - - 0 1";
        assert_eq!(answer(&format!("keys 2 {rook}")).as_deref(), Ok("f7f8r=2"));
        let fork = "6k1/3q1p1p/8/3N4/8/8/5PPP/6K1 w - - 0 1";
        assert_eq!(answer(&format!("gain 2 {fork}")).as_deref(), Ok("d5f6=2"));
        assert_eq!(answer(&format!("most 2 {fork}")).as_deref(), Ok("d5f6=9"));
        assert_eq!(
            answer(&format!("prove 2 {rook}")).as_deref(),
            Ok("f7f8r,h7h6:f8h8=1;f7f8r=2")
        );
        assert_eq!(
            answer(&format!("search 1000 {rook}")).as_deref(),
            Ok("f7f8r")
        );
        assert!(answer("table KQK").unwrap().starts_with("10 "));
        let indexed = Tasks::new().run("index 500", &Clock(0.0.into())).unwrap();
        assert!((500..600).contains(&indexed.nodes));
        let bytes: u64 = indexed.answer.parse().unwrap();
        assert!(bytes >= 14 * indexed.nodes && bytes < 15 * indexed.nodes);
        let glance = format!("ask {{\"glance\":{{\"ply\":3,\"fen\":\"{rook}\",\"nodes\":1000}}}}");
        assert!(answer(&glance).unwrap().contains("f7f8r"));
        let pgn = format!("check [FEN \"{rook}\"]|[Stipulation \"#2\"]||1. f8=R Kh6 2. Rh8# *|");
        assert_eq!(answer(&pgn).as_deref(), Ok("sound"));
    }

    #[test]
    fn what_cannot_be_read_is_an_error() {
        for task in [
            "",
            "prove",
            "prove x y",
            "prove 300 8/8/8/8/8/8/8/8 w - -",
            "table KXK",
            "sing 3 x",
            "ask {}",
            "index many",
        ] {
            assert!(answer(task).is_err(), "{task}");
        }
    }
}
