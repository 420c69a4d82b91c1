//! `matches PLAYER PLAYER GAMES (nodes|ms) N THREADS SEED`: a match between two
//! programs that play by the protocol of `crates/search/examples/player.rs`.
//!
//! Each opening is played twice, with colours swapped. Printed are the games
//! that the first player won, drew and lost, what that is in Elo, and what both
//! spent. The interval is of 95 % and taken over the pairs of games, since the
//! two of a pair depend on their opening.

use std::io::{BufRead, BufReader, Write};
use std::process::{Child, ChildStdin, ChildStdout, Command, Stdio};
use std::sync::Mutex;
use std::sync::atomic::{AtomicU64, Ordering};

use keyproof_train::opening::even;
use prove::corpus::Seeded;
use shakmaty::{Chess, Color, EnPassantMode, Position, fen::Fen, uci::UciMove};

const LONGEST: usize = 400;
/// Plies in a row in which both say so decide a game, or draw it from a ply on.
const DECIDED: (i32, usize) = (1000, 6);
const LEVEL: (i32, usize, usize) = (10, 16, 100);

struct Order<'a> {
    players: [&'a str; 2],
    /// `nodes N` or `ms N`.
    limit: String,
    pairs: u64,
    seed: u64,
}

#[derive(Clone, Copy, Default)]
struct Spent {
    moves: u64,
    nodes: u64,
    ms: u64,
    depth: u64,
}

#[derive(Default)]
struct Tally {
    /// Pairs by half points of the first player.
    pairs: [u64; 5],
    /// Games lost, drawn and won by the first player.
    games: [u64; 3],
    spent: [Spent; 2],
}

fn main() -> Result<(), String> {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let [first, second, games, unit, amount, threads, seed] = &args[..] else {
        return Err("matches PLAYER PLAYER GAMES (nodes|ms) N THREADS SEED".into());
    };
    let number = |text: &String| {
        text.parse::<u64>()
            .map_err(|_| format!("{text}: no number"))
    };
    if !["nodes", "ms"].contains(&unit.as_str()) {
        return Err(format!("{unit}: neither nodes nor ms"));
    }
    let order = Order {
        players: [first, second],
        limit: format!("{unit} {}", number(amount)?),
        pairs: number(games)? / 2,
        seed: number(seed)?,
    };
    let (next, tally) = (AtomicU64::new(0), Mutex::new(Tally::default()));
    std::thread::scope(|scope| {
        let all: Vec<_> = (0..number(threads)?)
            .map(|_| scope.spawn(|| work(&order, &next, &tally)))
            .collect();
        for one in all {
            one.join().map_err(|_| "a thread broke")??;
        }
        Ok::<(), String>(())
    })?;
    let tally = tally.into_inner().map_err(|_| "a thread broke")?;
    println!("{}", tally.told(&order));
    Ok(())
}

fn work(order: &Order, next: &AtomicU64, tally: &Mutex<Tally>) -> Result<(), String> {
    let mut players = [
        Player::start(order.players[0])?,
        Player::start(order.players[1])?,
    ];
    loop {
        let pair = next.fetch_add(1, Ordering::Relaxed);
        if pair >= order.pairs {
            return Ok(());
        }
        let start = even(&mut Seeded::new(order.seed << 32 ^ pair));
        let mut points = 0;
        for first in Color::ALL {
            let result = game(order, &mut players, &start, first)?;
            points += result;
            let mut tally = tally.lock().map_err(|_| "a thread broke")?;
            tally.games[result] += 1;
            for (all, player) in tally.spent.iter_mut().zip(&mut players) {
                all.add(std::mem::take(&mut player.spent));
            }
        }
        let mut tally = tally.lock().map_err(|_| "a thread broke")?;
        tally.pairs[points] += 1;
        if tally.pairs.iter().sum::<u64>() % 50 == 0 {
            println!("{}", tally.told(order));
        }
    }
}

/// Plays a game; half points of the first player, who has the colour `first`.
fn game(
    order: &Order,
    players: &mut [Player; 2],
    start: &Chess,
    first: Color,
) -> Result<usize, String> {
    for player in players.iter_mut() {
        player.ask("new")?;
    }
    let fen = Fen::from_position(start, EnPassantMode::Legal).to_string();
    let (mut at, mut past, mut moves) = (start.clone(), Vec::new(), String::new());
    let (mut decided, mut level) = ([0, 0], 0);
    let won = |by: Color| if by == first { 2 } else { 0 };
    for ply in 0..LONGEST {
        if at.is_checkmate() {
            return Ok(won(!at.turn()));
        }
        let times = past.iter().filter(|before| **before == at).count();
        if at.is_game_over() || at.halfmoves() >= 100 || times >= 2 {
            return Ok(1);
        }
        let player = &mut players[usize::from(at.turn() != first)];
        let answer = player.ask(&format!("move {}\t{fen}\t{moves}", order.limit))?;
        let (m, value) = player
            .take(&answer, &at)
            .ok_or_else(|| format!("{}: {answer} in {fen} {moves}", player.name))?;
        let white = at.turn().fold_wb(value, -value);
        decided[0] = if white >= DECIDED.0 {
            decided[0] + 1
        } else {
            0
        };
        decided[1] = if white <= -DECIDED.0 {
            decided[1] + 1
        } else {
            0
        };
        level = if value.abs() <= LEVEL.0 { level + 1 } else { 0 };
        if decided[0] == DECIDED.1 {
            return Ok(won(Color::White));
        }
        if decided[1] == DECIDED.1 {
            return Ok(won(Color::Black));
        }
        if level >= LEVEL.1 && ply >= LEVEL.2 {
            return Ok(1);
        }
        moves += &format!("{m} ");
        past.push(at.clone());
        at.play_unchecked(m.to_move(&at).map_err(|fault| fault.to_string())?);
    }
    Ok(1)
}

struct Player {
    name: String,
    /// Ended when its input ends.
    _child: Child,
    input: ChildStdin,
    output: BufReader<ChildStdout>,
    spent: Spent,
}

impl Player {
    /// Starts a program; what follows a space in `command` are its arguments.
    fn start(command: &str) -> Result<Player, String> {
        let mut words = command.split(' ');
        let failed = |why: &dyn std::fmt::Display| format!("{command}: {why}");
        let mut child = Command::new(words.next().unwrap_or_default())
            .args(words)
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .map_err(|fault| failed(&fault))?;
        let input = child.stdin.take().ok_or_else(|| failed(&"no pipe"))?;
        let output = child.stdout.take().ok_or_else(|| failed(&"no pipe"))?;
        Ok(Player {
            name: command.to_owned(),
            _child: child,
            input,
            output: BufReader::new(output),
            spent: Spent::default(),
        })
    }

    fn ask(&mut self, line: &str) -> Result<String, String> {
        let mut answer = String::new();
        writeln!(self.input, "{line}")
            .and_then(|()| self.input.flush())
            .and_then(|()| self.output.read_line(&mut answer))
            .map_err(|fault| format!("{}: {fault}", self.name))?;
        Ok(answer.trim_end().to_owned())
    }

    /// The move and the value of an answer, what it cost being noted.
    fn take(&mut self, answer: &str, at: &Chess) -> Option<(UciMove, i32)> {
        let mut words = answer.split(' ');
        let m: UciMove = words.next()?.parse().ok()?;
        let value = words.next()?.parse().ok()?;
        let mut number = || words.next()?.parse::<u64>().ok();
        self.spent.add(Spent {
            moves: 1,
            depth: number()?,
            nodes: number()?,
            ms: number()?,
        });
        m.to_move(at).ok()?;
        Some((UciMove::from_standard(m.to_move(at).ok()?), value))
    }
}

impl Spent {
    fn add(&mut self, other: Spent) {
        self.moves += other.moves;
        self.nodes += other.nodes;
        self.ms += other.ms;
        self.depth += other.depth;
    }

    fn told(&self) -> String {
        let each = |sum: u64| sum as f64 / self.moves.max(1) as f64;
        format!(
            "{:.0} nodes, {:.1} ms, depth {:.1} a move",
            each(self.nodes),
            each(self.ms),
            each(self.depth),
        )
    }
}

impl Tally {
    fn told(&self, order: &Order) -> String {
        let [lost, drawn, won] = self.games;
        let pairs = self.pairs.iter().sum::<u64>() as f64;
        let share = |i: usize| self.pairs[i] as f64 / pairs;
        let mean: f64 = (0..5).map(|i| share(i) * i as f64 / 4.0).sum();
        let spread: f64 = (0..5)
            .map(|i| share(i) * (i as f64 / 4.0 - mean).powi(2))
            .sum();
        let error = 1.96 * (spread / pairs).sqrt();
        format!(
            "{} games at {}: won {won}, drawn {drawn}, lost {lost}; \
             Elo {:+.0} (95 %: {:+.0} to {:+.0})\n  first: {}\n  second: {}",
            lost + drawn + won,
            order.limit,
            elo(mean),
            elo(mean - error),
            elo(mean + error),
            self.spent[0].told(),
            self.spent[1].told(),
        )
    }
}

/// The difference in Elo at which so much is scored.
fn elo(score: f64) -> f64 {
    -400.0 * (1.0 / score.clamp(1e-6, 1.0 - 1e-6) - 1.0).log10()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Three of four is 191 points. Source: the logistic formula of the FIDE
    /// rating tables' kin, worked out by hand: 400 log10 3 = 190.8.
    #[test]
    fn a_score_is_told_in_elo() {
        assert_eq!(elo(0.75).round(), 191.0);
        assert_eq!(elo(0.5).round(), 0.0);
    }
}
