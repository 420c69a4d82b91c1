//! The independent checker of certificates.
//!
//! Accepts or rejects a written proof that a move forces mate in n, or wins material
//! in n, or that no other move does, or that a move holds a draw by force. It knows the rules of chess and nothing else, and
//! shares no code with the prover, whose answers are believed because this
//! checker accepts them. Writing certificates is left to the prover.
//!
#![doc = include_str!("../README.md")]
#![forbid(unsafe_code)]

mod claim;
mod exchange;

use std::collections::BTreeMap;

use shakmaty::{CastlingMode::Standard, Chess, Move, MoveList, Position, uci::UciMove};

pub use claim::{Accepted, Claim, Kind, Rejected};
use exchange::{balance, stays};

/// The first line of every certificate.
pub const HEADER: &str = "keyproof certificate 1";

/// Positions that all exchanges of a text may take.
const EXCHANGES: usize = 20_000_000;

/// Checks a text of one or more certificates, one after another.
///
/// # Errors
/// The first line that fails, with the reason. Never panics; takes time in
/// proportion to the text, and to the exchanges that it leaves to be played out.
pub fn verify(text: &str) -> Result<Accepted, Rejected> {
    let mut checker = Checker {
        left: EXCHANGES,
        ..Checker::default()
    };
    let mut last = 1;
    for (line, words) in (1..).zip(text.lines()) {
        let words: Vec<&str> = words.split_ascii_whitespace().collect();
        if !words.is_empty() {
            let checked = checker.line(&words);
            checked.map_err(|reason| Rejected { line, reason })?;
            last = line;
        }
    }
    match checker.end() {
        Ok(()) => Ok(checker.accepted),
        Err(reason) => Err(Rejected { line: last, reason }),
    }
}

#[derive(Default)]
struct Checker {
    accepted: Accepted,
    /// How many claims the certificate at hand makes; `None` before the first.
    claims: Option<usize>,
    start: Option<Chess>,
    /// The number of the node read last, 0 before the first.
    number: usize,
    /// What the nodes still to come must show, by their numbers.
    owed: BTreeMap<usize, Claim>,
    /// The positions of the `d` nodes read so far, to which others may come back.
    held: BTreeMap<usize, Chess>,
    /// Positions that exchanges may still take.
    left: usize,
}

macro_rules! must {
    ($holds:expr, $($otherwise:tt)+) => {
        if !$holds { return Err(format!($($otherwise)+)); }
    };
}

impl Checker {
    fn line(&mut self, words: &[&str]) -> Result<(), String> {
        if words.iter().copied().eq(HEADER.split(' ')) {
            return self.open();
        }
        must!(self.claims.is_some(), "expected `{HEADER}`");
        match *words {
            ["fen", ref fields @ ..] if self.start.is_none() => {
                self.start = Some(claim::position(&fields.join(" "))?);
                Ok(())
            }
            _ if self.start.is_none() => Err("expected `fen FEN`".into()),
            ["claim", ref words @ .., "node", node] => self.claim(words, node),
            ["claim", ..] => Err("expected `node NODE` at the end of the claim".into()),
            [number, ref proof @ ..] => self.node(number, proof),
            [] => Ok(()),
        }
    }

    fn open(&mut self) -> Result<(), String> {
        if self.claims.is_some() {
            self.end()?;
        }
        self.claims = Some(0);
        self.start = None;
        self.number = 0;
        self.held.clear();
        Ok(())
    }

    fn end(&self) -> Result<(), String> {
        must!(self.claims.is_some_and(|n| n > 0), "nothing is claimed");
        let missing = self.owed.keys().next();
        missing.map_or(Ok(()), |number| Err(format!("node {number} is missing")))
    }

    fn claim(&mut self, words: &[&str], node: &str) -> Result<(), String> {
        must!(self.number == 0, "a claim stands above the nodes");
        let (kind, k, n, firsts) = match *words {
            ["mate", n, "by", ref m @ ..] if m.len() == 1 => (Kind::Forces, None, Some(n), m),
            ["gain", k, n, "by", ref m @ ..] if m.len() == 1 => (Kind::Forces, Some(k), Some(n), m),
            ["draw", "by", ref m @ ..] if m.len() == 1 => (Kind::Draws, None, None, m),
            ["only", "gain", k, n, ref firsts @ ..] => (Kind::Only, Some(k), Some(n), firsts),
            ["only", n, ref firsts @ ..] => (Kind::Only, None, Some(n), firsts),
            _ => return Err("no claim of the grammar".into()),
        };
        let position = self.start.clone().ok_or("expected `fen FEN`")?;
        let firsts = firsts.iter().map(|m| legal(&position, m));
        let firsts = firsts.collect::<Result<_, _>>()?;
        let from = balance(&position, position.turn());
        let target = k.map(pawns).transpose()?.map(|k| from + k);
        let moves = n.map_or(Ok(0), count)?;
        let claim = Claim {
            position,
            moves,
            kind,
            firsts,
            target,
        };
        self.claims = self.claims.map(|n| n + 1);
        self.accepted.claims.push(claim.clone());
        self.owe(node, claim)
    }

    fn node(&mut self, number: &str, proof: &[&str]) -> Result<(), String> {
        self.number += 1;
        let next = self.number;
        must!(count(number)? == next, "expected node {next}");
        let owed = self.owed.remove(&next);
        let claim = owed.ok_or("nothing above refers to this node")?;
        match (claim.kind, proof) {
            (Kind::Forces, ["w", first, answers @ ..]) => self.won(claim, first, answers),
            (Kind::Only, ["s", replies @ ..]) => self.safe(claim, replies),
            (Kind::Draws, ["d", first, answers @ ..]) => self.holds(claim, first, answers),
            (Kind::Forces, _) => Err("expected `w MOVE`".into()),
            (Kind::Only, _) => Err("expected `s`".into()),
            (Kind::Draws, _) => Err("expected `d MOVE`".into()),
        }
    }

    /// Whether the solver's move that led to `after` does at once what is claimed.
    fn done(&mut self, claim: &Claim, after: &Chess) -> Result<bool, String> {
        let solver = claim.position.turn();
        match claim.target.filter(|&k| balance(after, solver) >= k) {
            None => Ok(after.is_checkmate()),
            Some(target) => stays(after, (solver, target), 0, &mut self.left)
                .ok_or_else(|| "the exchanges take too many positions".into()),
        }
    }

    /// The solver's move does it at once, or every reply to it is answered.
    fn won(&mut self, claim: Claim, first: &str, words: &[&str]) -> Result<(), String> {
        let m = legal(&claim.position, first.trim_end_matches('#'))?;
        let claimed = claim.firsts.iter().all(|&claimed| claimed == m);
        must!(claimed, "{first} is not the move claimed");
        let after = self.play(&claim.position, m);
        let replies = after.legal_moves();
        let (done, end) = (first.ends_with('#'), claim.end());
        must!(done || !replies.is_empty(), "{first} leaves no reply");
        let answers = answers(&replies, words)?;
        if done {
            must!(self.done(&claim, &after)?, "{first} is not {end}");
            return Ok(());
        }
        must!(claim.moves > 1, "no further move is allowed here");
        for (&reply, answer) in replies.iter().zip(answers) {
            let position = self.play(&after, reply);
            must!(!answer.is_empty(), "nothing meets {}", name(reply));
            let Some(mate) = answer.strip_suffix('#') else {
                self.owe(answer, claim.below(position))?;
                continue;
            };
            let mate = legal(&position, mate)?;
            let then = self.play(&position, mate);
            let (done, m) = (self.done(&claim, &then)?, name(reply));
            must!(done, "after {m} {answer} is not {end}");
        }
        Ok(())
    }

    /// Nothing leads out of the nodes, but the end of the game that the solver does not
    /// lose.
    fn holds(&mut self, claim: Claim, first: &str, words: &[&str]) -> Result<(), String> {
        let m = legal(&claim.position, first)?;
        let claimed = claim.firsts.iter().all(|&claimed| claimed == m);
        must!(claimed, "{first} is not the move claimed");
        self.held.insert(self.number, claim.position.clone());
        let after = self.play(&claim.position, m);
        let mut replies = after.legal_moves();
        replies.retain(|&mut reply| {
            !after.is_insufficient_material() && !drawn(&played(&after, reply))
        });
        for (&reply, answer) in replies.iter().zip(answers(&replies, words)?) {
            let position = self.play(&after, reply);
            must!(!answer.is_empty(), "nothing meets {}", name(reply));
            let node = count(answer)?;
            match self.held.get(&node) {
                Some(held) => must!(*held == position, "node {node} is about another position"),
                None => self.owe(answer, claim.below(position))?,
            }
        }
        Ok(())
    }

    /// Every move fails, but those that the claim leaves out.
    fn safe(&mut self, claim: Claim, words: &[&str]) -> Result<(), String> {
        let mut moves = claim.position.legal_moves();
        moves.retain(|m| !claim.firsts.contains(m));
        let (answers, end) = (answers(&moves, words)?, claim.end());
        for (&m, answer) in moves.iter().zip(answers) {
            let after = self.play(&claim.position, m);
            must!(!self.done(&claim, &after)?, "{} is {end}", name(m));
            if claim.moves == 1 || after.is_stalemate() {
                continue;
            }
            must!(!answer.is_empty(), "nothing meets {}", name(m));
            let (reply, node) = answer.split_once(':').unwrap_or((answer, ""));
            let reply = legal(&after, reply).map_err(|e| format!("after {} {e}", name(m)))?;
            let position = self.play(&after, reply);
            if claim.moves > 2 {
                self.owe(node, claim.below(position))?;
                continue;
            }
            for then in position.legal_moves() {
                let done = self.done(&claim, &played(&position, then))?;
                let (m, then) = (name(m), name(then));
                must!(!done, "after {m} {answer} {then} is {end}");
            }
        }
        Ok(())
    }

    /// Leaves a claim to a node below.
    fn owe(&mut self, node: &str, claim: Claim) -> Result<(), String> {
        let number = count(node)?;
        must!(number > self.number, "node {number} does not stand below");
        let owed = self.owed.entry(number).or_insert_with(|| claim.clone());
        owed.moves = match claim.kind {
            Kind::Forces | Kind::Draws => owed.moves.min(claim.moves),
            Kind::Only => owed.moves.max(claim.moves),
        };
        let same = (owed.kind, owed.target, &owed.position, &owed.firsts);
        let same = same == (claim.kind, claim.target, &claim.position, &claim.firsts);
        must!(same, "node {number} is about another position");
        Ok(())
    }

    fn play(&mut self, position: &Chess, m: Move) -> Chess {
        self.accepted.positions += 1;
        played(position, m)
    }
}

/// What meets each of the moves: what is named for it, else the answer that
/// stands alone, else nothing.
fn answers<'t>(moves: &MoveList, words: &[&'t str]) -> Result<Vec<&'t str>, String> {
    let mut usual = "";
    let mut answers = vec![None; moves.len()];
    for &word in words {
        if let Some((met, answer)) = word.split_once(':') {
            let before = answers[find(moves, met)?].replace(answer);
            must!(before.is_none(), "{met} is met twice");
        } else {
            must!(usual.is_empty(), "`{word}` is out of place");
            usual = word;
        }
    }
    let known = |answer: Option<&'t str>| answer.unwrap_or(usual);
    Ok(answers.into_iter().map(known).collect())
}

fn legal(position: &Chess, text: &str) -> Result<Move, String> {
    let moves = position.legal_moves();
    find(&moves, text).map(|i| moves[i])
}

fn find(moves: &MoveList, text: &str) -> Result<usize, String> {
    let uci: Option<UciMove> = text.parse().ok();
    let found = moves.iter().position(|&m| Some(name(m)) == uci);
    found.ok_or_else(|| format!("`{text}` is not a legal move"))
}

fn name(m: Move) -> UciMove {
    m.to_uci(Standard)
}

/// Whether the game is over, and nobody has won it.
fn drawn(position: &Chess) -> bool {
    position.is_stalemate() || position.is_insufficient_material()
}

fn played(position: &Chess, m: Move) -> Chess {
    let mut after = position.clone();
    after.play_unchecked(m);
    after
}

fn count(text: &str) -> Result<usize, String> {
    let digits = text.len() < 10 && text.bytes().all(|b| b.is_ascii_digit());
    let number = text.parse().ok().filter(|&n| digits && n > 0);
    number.ok_or_else(|| format!("expected a number from 1, found `{text}`"))
}

fn pawns(text: &str) -> Result<i32, String> {
    let number = text.parse().ok();
    let number = number.filter(|&k: &i32| k.abs() < 1000 && k.to_string() == text);
    number.ok_or_else(|| format!("expected a whole number, found `{text}`"))
}

#[cfg(test)]
mod tests;
