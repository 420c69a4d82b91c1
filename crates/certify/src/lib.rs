//! The independent checker of certificates.
//!
//! Accepts or rejects a written proof that a move forces mate in n, or that
//! no other move does. It knows the rules of chess and nothing else, and
//! shares no code with the prover, whose answers are believed because this
//! checker accepts them. Writing certificates is left to the prover.
//!
#![doc = include_str!("../README.md")]
#![forbid(unsafe_code)]

mod claim;

use std::collections::BTreeMap;

use shakmaty::{CastlingMode::Standard, Chess, Move, MoveList, Position, uci::UciMove};

pub use claim::{Accepted, Claim, Kind, Rejected};

/// The first line of every certificate.
pub const HEADER: &str = "keyproof certificate 1";

/// Checks a text of one or more certificates, one after another.
///
/// # Errors
/// The first line that fails, with the reason. Never panics; takes time in
/// proportion to the text.
pub fn verify(text: &str) -> Result<Accepted, Rejected> {
    let mut checker = Checker::default();
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
            ["claim", "mate", n, "by", m, "node", node] => self.claim(Kind::Mate, n, &[m], node),
            ["claim", "only", n, ref firsts @ .., "node", node] => {
                self.claim(Kind::Only, n, firsts, node)
            }
            ["claim", ..] => {
                Err("expected `mate N by MOVE node N` or `only N MOVES node N`".into())
            }
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
        Ok(())
    }

    fn end(&self) -> Result<(), String> {
        must!(self.claims.is_some_and(|n| n > 0), "nothing is claimed");
        let missing = self.owed.keys().next();
        missing.map_or(Ok(()), |number| Err(format!("node {number} is missing")))
    }

    fn claim(&mut self, kind: Kind, n: &str, firsts: &[&str], node: &str) -> Result<(), String> {
        must!(self.number == 0, "a claim stands above the nodes");
        let position = self.start.clone().ok_or("expected `fen FEN`")?;
        let firsts = firsts.iter().map(|m| legal(&position, m));
        let firsts = firsts.collect::<Result<_, _>>()?;
        let claim = Claim::new(position, count(n)?, kind, firsts);
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
            (Kind::Mate, ["w", first, answers @ ..]) => self.won(claim, first, answers),
            (Kind::Only, ["s", replies @ ..]) => self.safe(claim, replies),
            (Kind::Mate, _) => Err("expected `w MOVE`".into()),
            (Kind::Only, _) => Err("expected `s`".into()),
        }
    }

    /// The solver's move mates, or every reply to it is answered.
    fn won(&mut self, claim: Claim, first: &str, words: &[&str]) -> Result<(), String> {
        let m = legal(&claim.position, first.trim_end_matches('#'))?;
        let claimed = claim.firsts.iter().all(|&claimed| claimed == m);
        must!(claimed, "{first} is not the move claimed");
        let after = self.play(&claim.position, m);
        let replies = after.legal_moves();
        let mates = first.ends_with('#');
        must!(mates || !replies.is_empty(), "{first} leaves no reply");
        let answers = answers(&replies, words)?;
        if mates {
            must!(after.is_checkmate(), "{first} is not mate");
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
            let mates = self.play(&position, mate).is_checkmate();
            must!(mates, "after {} {answer} is not mate", name(reply));
        }
        Ok(())
    }

    /// Every move fails, but those that the claim leaves out.
    fn safe(&mut self, claim: Claim, words: &[&str]) -> Result<(), String> {
        let mut moves = claim.position.legal_moves();
        moves.retain(|m| !claim.firsts.contains(m));
        let answers = answers(&moves, words)?;
        for (&m, answer) in moves.iter().zip(answers) {
            let after = self.play(&claim.position, m);
            must!(!after.is_checkmate(), "{} is mate", name(m));
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
            let mates = |m: &&Move| played(&position, **m).is_checkmate();
            if let Some(&mate) = position.legal_moves().iter().find(mates) {
                return Err(format!("after {} {answer} {} is mate", name(m), name(mate)));
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
            Kind::Mate => owed.moves.min(claim.moves),
            Kind::Only => owed.moves.max(claim.moves),
        };
        let same = (owed.kind, &owed.position, &owed.firsts);
        let same = same == (claim.kind, &claim.position, &claim.firsts);
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

#[cfg(test)]
mod tests;
