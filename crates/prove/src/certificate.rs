//! Proofs written out, for an independent checker to accept or reject.
//!
//! The grammar is documented in `crates/certify/README.md`. The writer asks
//! the [`Prover`] and sets down what it answers; whether that is true is left
//! to the checker. The same answers give the same text.

use std::collections::HashMap;
use std::fmt::Write;

use shakmaty::fen::Fen;
use shakmaty::uci::UciMove;
use shakmaty::{CastlingMode, Chess, EnPassantMode, Move, Position};

use super::bitboards::Bitboards;
use super::{Aim, Prover, Verdict, Watch};
use model::worth::balance;

/// What [`Prover::judge_aim`] found for all legal moves of a position, proved.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Certificates {
    /// That each key forces it in its length; `None` without a key.
    pub mates: Option<String>,
    /// That no other move forces it in time, and that no key is shorter.
    /// Much larger than `mates`.
    pub only: String,
}

/// Why there is no certificate.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Uncertified {
    /// Cancelled, or the budget is spent, or the text grew too long, after this
    /// many nodes.
    Undecided {
        /// Positions looked at until then.
        nodes: u64,
    },
    /// In this position, this move does not do what is to be proved of it.
    Wrong(Box<Chess>, Move),
}

/// What is to be proved of the moves of a position.
#[derive(Clone, Copy, Debug)]
pub struct Claimed<'a> {
    /// What is forced: mate or a gain.
    pub aim: Aim,
    /// Where the solver is to move.
    pub position: &'a Chess,
    /// The solver's moves allowed.
    pub n: u8,
    /// Moves that force it, each in so many moves or fewer.
    pub holds: &'a [(Move, u8)],
    /// Moves that do not force it in `n`. Of those in neither list nothing
    /// is claimed.
    pub fails: &'a [Move],
    /// Moves that hold a draw by force.
    pub drawn: &'a [Move],
    /// Whether the lengths are the least.
    pub shortest: bool,
}

/// Questions' worth of nodes that one text may take.
const QUESTIONS: u64 = 20;

/// Bytes that one text may take.
const LONGEST: usize = 64 << 20;

/// Writes both certificates for the verdicts on all legal moves of `position`
/// by mate, or the gain, in `n` or fewer. The watcher is asked at every question of the
/// prover and at every line of the text.
///
/// # Errors
/// A verdict that is unknown or does not hold; a question that is not decided
/// within the prover's budget; cancelled.
pub fn write(
    prover: &mut Prover,
    aim: Aim,
    position: &Chess,
    n: u8,
    verdicts: &[(Move, Verdict)],
    watch: &mut dyn Watch,
) -> Result<Certificates, Uncertified> {
    let mut keys = Vec::new();
    for (m, verdict) in verdicts {
        match *verdict {
            Verdict::Forces { length, .. } => keys.push((*m, length)),
            Verdict::Fails { .. } => {}
            Verdict::Unknown { nodes } => return Err(Uncertified::Undecided { nodes }),
        }
    }
    keys.sort_by_key(|&(m, length)| (length, name_order(uci(m))));
    let mates = match keys.is_empty() {
        true => None,
        false => Some(certified(prover, aim, position, &keys, false, watch)?),
    };
    let only = only(prover, aim, position, n, &keys, watch)?;
    Ok(Certificates { mates, only })
}

/// The certificates of a claim, as one text; empty if nothing is claimed.
///
/// # Errors
/// As [`write()`].
pub fn text(
    prover: &mut Prover,
    claimed: &Claimed,
    watch: &mut dyn Watch,
) -> Result<String, Uncertified> {
    let &Claimed {
        aim,
        position,
        n,
        holds,
        fails,
        drawn,
        shortest,
    } = claimed;
    let mut texts = Vec::new();
    if !holds.is_empty() {
        let checks_first = !shortest && aim == Aim::Mate;
        texts.push(certified(
            prover,
            aim,
            position,
            holds,
            checks_first,
            watch,
        )?);
    }
    for &mv in drawn {
        match prover.draw(position, Some(&[mv]), watch) {
            Ok(Some(plan)) => texts.push(plan.certificate(position)),
            Ok(None) => return Err(wrong(position, mv)),
            Err(nodes) => return Err(Uncertified::Undecided { nodes }),
        }
    }
    let open = position.legal_moves().into_iter();
    let open = open.filter(|m| !fails.contains(m) && !holds.iter().any(|(held, _)| held == m));
    let mut lengths = Vec::new();
    if shortest {
        lengths.extend(holds.iter().map(|&(_, length)| length.saturating_sub(1)));
        lengths.retain(|&length| length > 0 && length < n);
    }
    if !fails.is_empty() {
        lengths.push(n);
    }
    if !lengths.is_empty() {
        let firsts = holds.iter().filter(|(m, _)| !fails.contains(m)).copied();
        let firsts: Vec<(Move, u8)> = firsts.chain(open.map(|m| (m, 0))).collect();
        texts.push(others(prover, aim, position, lengths, &firsts, watch)?);
    }
    Ok(texts.join("\n"))
}

/// A certificate that each of `keys` forces mate, or the gain, in its length or fewer.
fn certified(
    prover: &mut Prover,
    aim: Aim,
    position: &Chess,
    keys: &[(Move, u8)],
    checks_first: bool,
    watch: &mut dyn Watch,
) -> Result<String, Uncertified> {
    let mut writer = Writer::new(prover, aim, watch);
    writer.checks_first = checks_first;
    let mut claims = Vec::new();
    for &(m, length) in keys.iter().rev() {
        let claim = format!("claim {} {length} by {}", named(aim, position), uci(m));
        claims.push((claim, writer.won_by(position, m, length)?));
    }
    claims.reverse();
    Ok(writer.text(position, &claims))
}

/// A certificate that no move but `keys` forces it in `n` or fewer, and that
/// no key forces it in fewer moves than its length.
fn only(
    prover: &mut Prover,
    aim: Aim,
    position: &Chess,
    n: u8,
    keys: &[(Move, u8)],
    watch: &mut dyn Watch,
) -> Result<String, Uncertified> {
    let mut lengths: Vec<u8> = keys.iter().map(|&(_, length)| length - 1).collect();
    lengths.retain(|&length| length > 0 && length < n);
    lengths.push(n);
    others(prover, aim, position, lengths, keys, watch)
}

/// A certificate that within each of `lengths` no move forces it but those of
/// `firsts` that may: each is named from its own length on.
fn others(
    prover: &mut Prover,
    aim: Aim,
    position: &Chess,
    mut lengths: Vec<u8>,
    firsts: &[(Move, u8)],
    watch: &mut dyn Watch,
) -> Result<String, Uncertified> {
    lengths.sort_unstable();
    lengths.dedup();
    let mut writer = Writer::new(prover, aim, watch);
    let only = match aim {
        Aim::Gain(_) => format!("only {}", named(aim, position)),
        _ => "only".to_owned(),
    };
    let mut claims = Vec::new();
    for &moves in lengths.iter().rev() {
        let known = firsts.iter().filter(|&&(_, length)| length <= moves);
        let firsts: Vec<Move> = known.map(|&(m, _)| m).collect();
        let names: String = firsts.iter().map(|&m| format!(" {}", uci(m))).collect();
        let claim = format!("claim {only} {moves}{names}");
        claims.push((claim, writer.safe_but(position, moves, &firsts)?));
    }
    Ok(writer.text(position, &claims))
}

/// What is forced, as a claim about this position names it.
fn named(aim: Aim, position: &Chess) -> String {
    match aim {
        Aim::Gain(gain) => {
            let from = i32::from(balance(position.board(), position.turn()));
            format!("gain {}", gain.target() - from)
        }
        _ => "mate".to_owned(),
    }
}

/// A node's place in [`Writer::nodes`].
type Id = usize;

/// Words, some of which end in a node's number.
type Words = Vec<(String, Option<Id>)>;

/// A line of the certificate, without the numbers in it.
struct Node {
    line: String,
    /// Where in the line the numbers of other nodes stand.
    below: Vec<(u32, Id)>,
}

struct Writer<'p, 'w> {
    prover: &'p mut Prover,
    watch: &'w mut dyn Watch,
    /// Mate or a gain.
    aim: Aim,
    /// Each after all that it refers to.
    nodes: Vec<Node>,
    /// Bytes in them.
    bytes: usize,
    /// The prover's nodes at which it is too much.
    most: u64,
    /// Whether mates by checks are looked for first: they need not be the shortest.
    checks_first: bool,
    /// Each with the moves that it takes.
    won: HashMap<Chess, (u8, Id)>,
    /// By the moves left, which a safe position survives.
    safe: HashMap<Chess, Vec<(u8, Id)>>,
    /// By the moves left, the replies that refuted something, with how often.
    refuters: Vec<Vec<(UciMove, u32)>>,
}

impl Writer<'_, '_> {
    fn new<'p, 'w>(prover: &'p mut Prover, aim: Aim, watch: &'w mut dyn Watch) -> Writer<'p, 'w> {
        let budget = prover.budget.map(|nodes| nodes.saturating_mul(QUESTIONS));
        Writer {
            most: budget.map_or(u64::MAX, |nodes| prover.nodes.saturating_add(nodes)),
            prover,
            watch,
            aim,
            nodes: Vec::new(),
            bytes: 0,
            checks_first: false,
            won: HashMap::new(),
            safe: HashMap::new(),
            refuters: vec![Vec::new(); 256],
        }
    }

    /// The node of a position that is won in `left` moves or fewer.
    fn won(&mut self, position: &Chess, left: u8) -> Result<Option<Id>, Uncertified> {
        match self.won.get(position) {
            Some(&(length, id)) if length <= left => return Ok(Some(id)),
            _ => {}
        }
        let Some((m, length)) = self.winning(position, left)? else {
            return Ok(None);
        };
        let id = self.won_by(position, m, length)?;
        self.won.insert(position.clone(), (length, id));
        Ok(Some(id))
    }

    /// A move that wins in `left` moves or fewer, with the moves that it takes.
    fn winning(&mut self, position: &Chess, left: u8) -> Result<Option<(Move, u8)>, Uncertified> {
        if self.checks_first
            && let Ok(Some(line)) = self.prover.mate_by_checks(position, left, self.watch)
            && let (Some(&m), Ok(length)) = (line.first(), u8::try_from(line.len().div_ceil(2)))
        {
            return Ok(Some((m, length)));
        }
        match self.prover.force(self.aim, position, left, self.watch) {
            Ok(Some((m, Verdict::Forces { length, .. }))) => Ok(Some((m, length))),
            Ok(_) => Ok(None),
            Err(nodes) => Err(Uncertified::Undecided { nodes }),
        }
    }

    /// The node of a position that this move wins in `left` moves or fewer.
    fn won_by(&mut self, position: &Chess, m: Move, left: u8) -> Result<Id, Uncertified> {
        self.go_on()?;
        let after = played(position, m);
        let replies = ordered(&after);
        if self.ends(position, m)? {
            return Ok(self.push(format!("w {}#", uci(m)), Vec::new()));
        }
        if replies.is_empty() || left < 2 {
            return Err(wrong(position, m));
        }
        let mut words = Vec::new();
        let mut ended = Vec::new();
        for reply in replies {
            let there = played(&after, reply);
            let ends = self.ending(&there)?;
            if !ends.is_empty() {
                ended.push((reply, ends));
            } else if let Some(id) = self.won(&there, left - 1)? {
                words.push((format!("{}:", uci(reply)), Some(id)));
            } else {
                return Err(wrong(position, m));
            }
        }
        let (usual, named) = grouped(ended);
        words.extend(named.into_iter().map(|(reply, last)| {
            let word = format!("{}:{last}#", uci(reply));
            (word, None)
        }));
        words.sort();
        words.splice(0..0, usual.map(|last| (format!("{last}#"), None)));
        Ok(self.push(format!("w {}", uci(m)), words))
    }

    /// The node of a position that is not won in `left` moves.
    fn safe(&mut self, position: &Chess, left: u8) -> Result<Id, Uncertified> {
        if let Some(id) = self.known_safe(position, left) {
            return Ok(id);
        }
        let id = self.safe_but(position, left, &[])?;
        let known = self.safe.entry(position.clone()).or_default();
        known.push((left, id));
        Ok(id)
    }

    /// The node of a position that no move but `firsts` wins in `left` moves.
    fn safe_but(&mut self, position: &Chess, left: u8, firsts: &[Move]) -> Result<Id, Uncertified> {
        self.go_on()?;
        let mut words = Vec::new();
        let mut met = Vec::new();
        for m in ordered(position) {
            let after = played(position, m);
            if firsts.contains(&m) || after.is_stalemate() {
                continue;
            }
            if self.ends(position, m)? {
                return Err(wrong(position, m));
            }
            match left {
                0 | 1 => {}
                2 => met.push((m, after)),
                _ => {
                    let (reply, there) = self.refutation(position, m, &after, left)?;
                    let id = self.safe(&there, left - 1)?;
                    words.push((format!("{}:{}:", uci(m), uci(reply)), Some(id)));
                }
            }
        }
        if left == 2 {
            words = self.last_refutations(position, met)?;
        }
        Ok(self.push("s".to_owned(), words))
    }

    /// For each move a reply that leaves nothing that ends it at once; few differ.
    fn last_refutations(
        &mut self,
        position: &Chess,
        met: Vec<(Move, Chess)>,
    ) -> Result<Words, Uncertified> {
        let mut found = Vec::new();
        for (m, after) in &met {
            let known = self.refuters[2].iter().map(|&(reply, _)| reply);
            let all = ordered(after).into_iter().map(uci);
            let tried: Vec<UciMove> = known.chain(all).collect();
            let reply = self.first_to_hold(after, &tried)?;
            let reply = reply.ok_or_else(|| wrong(position, *m))?;
            self.refuted(2, reply);
            found.push(reply);
        }
        let mut distinct = found.clone();
        distinct.sort_by_key(|&reply| name_order(reply));
        distinct.dedup();
        let (mut usual, mut most) = (None, 0);
        for reply in distinct {
            let mut meets = 0;
            for (_, after) in &met {
                meets += usize::from(self.holds(after, reply)?);
            }
            if meets >= most {
                (usual, most) = (Some(reply), meets);
            }
        }
        let mut words: Words = usual
            .iter()
            .map(|reply| (reply.to_string(), None))
            .collect();
        for ((m, after), reply) in met.iter().zip(found) {
            let met = match usual {
                Some(usual) => self.holds(after, usual)?,
                None => false,
            };
            if !met {
                words.push((format!("{}:{reply}", uci(*m)), None));
            }
        }
        Ok(words)
    }

    /// A reply to `m` after which the position is safe for `left - 1` moves:
    /// one whose node is written already, else one that refuted other moves.
    fn refutation(
        &mut self,
        position: &Chess,
        m: Move,
        after: &Chess,
        left: u8,
    ) -> Result<(Move, Chess), Uncertified> {
        for reply in ordered(after) {
            let there = played(after, reply);
            if self.known_safe(&there, left - 1).is_some() {
                return Ok((reply, there));
            }
        }
        let row = usize::from(left);
        for i in 0..self.refuters[row].len() {
            let Ok(reply) = self.refuters[row][i].0.to_move(after) else {
                continue;
            };
            let there = played(after, reply);
            match self.prover.force(self.aim, &there, left - 1, self.watch) {
                Ok(None) => {
                    self.refuted(row, uci(reply));
                    return Ok((reply, there));
                }
                Ok(Some(_)) => {}
                Err(nodes) => return Err(Uncertified::Undecided { nodes }),
            }
        }
        let verdict = self
            .prover
            .judge_aim(self.aim, position, left, Some(&[m]), self.watch);
        match verdict.first() {
            Some((_, Verdict::Fails { line })) if line.len() > 1 => {
                self.refuted(row, uci(line[1]));
                Ok((line[1], played(after, line[1])))
            }
            Some((_, Verdict::Unknown { nodes })) => Err(Uncertified::Undecided { nodes: *nodes }),
            _ => Err(wrong(position, m)),
        }
    }

    /// Whether a solver's move mates, or the gain stands after it.
    fn ends(&mut self, position: &Chess, m: Move) -> Result<bool, Uncertified> {
        if self.aim == Aim::Mate {
            return Ok(played(position, m).is_checkmate());
        }
        Ok(!self.at_once(position, Some(&[m]))?.is_empty())
    }

    /// The moves of a position with which the solver is done.
    fn ending(&mut self, position: &Chess) -> Result<Vec<UciMove>, Uncertified> {
        if self.aim == Aim::Mate {
            return Ok(mates_at_once(position));
        }
        self.at_once(position, None)
    }

    fn at_once(
        &mut self,
        position: &Chess,
        moves: Option<&[Move]>,
    ) -> Result<Vec<UciMove>, Uncertified> {
        let judged = self
            .prover
            .judge_aim(self.aim, position, 1, moves, self.watch);
        let mut found = Vec::new();
        for (m, verdict) in judged {
            match verdict {
                Verdict::Forces { .. } => found.push(uci(m)),
                Verdict::Fails { .. } => {}
                Verdict::Unknown { nodes } => return Err(Uncertified::Undecided { nodes }),
            }
        }
        found.sort_by_key(|&m| name_order(m));
        Ok(found)
    }

    /// Whether the reply is legal and leaves no move with which the solver is done.
    fn holds(&mut self, after: &Chess, reply: UciMove) -> Result<bool, Uncertified> {
        let Ok(reply) = reply.to_move(after) else {
            return Ok(false);
        };
        let there = played(after, reply);
        if self.aim == Aim::Mate {
            return Ok(Bitboards::of(&there).mate_in_one().is_none());
        }
        match self.prover.force(self.aim, &there, 1, self.watch) {
            Ok(found) => Ok(found.is_none()),
            Err(nodes) => Err(Uncertified::Undecided { nodes }),
        }
    }

    fn first_to_hold(
        &mut self,
        after: &Chess,
        replies: &[UciMove],
    ) -> Result<Option<UciMove>, Uncertified> {
        for &reply in replies {
            if self.holds(after, reply)? {
                return Ok(Some(reply));
            }
        }
        Ok(None)
    }

    /// Keeps the replies that refute most in front.
    fn refuted(&mut self, row: usize, reply: UciMove) {
        let row = &mut self.refuters[row];
        match row.iter_mut().find(|(known, _)| *known == reply) {
            Some((_, times)) => *times += 1,
            None => row.push((reply, 1)),
        }
        row.sort_by_key(|&(_, times)| std::cmp::Reverse(times));
    }

    fn known_safe(&self, position: &Chess, left: u8) -> Option<Id> {
        let known = self.safe.get(position)?;
        known
            .iter()
            .find(|&&(moves, _)| moves >= left)
            .map(|&(_, id)| id)
    }

    fn go_on(&mut self) -> Result<(), Uncertified> {
        let nodes = self.prover.nodes;
        let much = nodes > self.most || self.bytes > LONGEST;
        match !much && self.watch.go_on(nodes, 0.0) {
            true => Ok(()),
            false => Err(Uncertified::Undecided { nodes }),
        }
    }

    fn push(&mut self, head: String, words: Words) -> Id {
        let mut node = Node {
            line: head,
            below: Vec::new(),
        };
        for (word, below) in words {
            node.line.push(' ');
            node.line += &word;
            let place = node.line.len() as u32;
            node.below.extend(below.map(|id| (place, id)));
        }
        // A number takes about five letters.
        self.bytes += node.line.len() + 5 * (node.below.len() + 1);
        self.nodes.push(node);
        self.nodes.len() - 1
    }

    /// The nodes in reverse: each stands above all that it refers to.
    fn text(&self, position: &Chess, claims: &[(String, Id)]) -> String {
        let number = |id: Id| self.nodes.len() - id;
        let fen = Fen::from_position(position, EnPassantMode::Legal);
        let mut text = String::with_capacity(self.bytes + 200);
        let _ = writeln!(text, "keyproof certificate 1\nfen {fen}");
        for (claim, root) in claims {
            let _ = writeln!(text, "{claim} node {}", number(*root));
        }
        for (id, node) in self.nodes.iter().enumerate().rev() {
            let _ = write!(text, "{} ", number(id));
            let mut from = 0;
            for &(place, below) in &node.below {
                let place = place as usize;
                let _ = write!(text, "{}{}", &node.line[from..place], number(below));
                from = place;
            }
            text += &node.line[from..];
            text.push('\n');
        }
        text
    }
}

fn wrong(position: &Chess, m: Move) -> Uncertified {
    Uncertified::Wrong(Box::new(position.clone()), m)
}

/// Chooses one answer for each move so that few differ: the one that answers
/// most moves, if more than one, and what answers the others.
fn grouped(mut met: Vec<(Move, Vec<UciMove>)>) -> (Option<UciMove>, Vec<(Move, UciMove)>) {
    let mut usual = None;
    let mut named = Vec::new();
    let mut first = true;
    while !met.is_empty() {
        let mut counts: Vec<(UciMove, usize)> = Vec::new();
        for answer in met.iter().flat_map(|(_, answers)| answers) {
            match counts.iter_mut().find(|(known, _)| known == answer) {
                Some((_, count)) => *count += 1,
                None => counts.push((*answer, 1)),
            }
        }
        counts.sort_by_key(|&(_, count)| std::cmp::Reverse(count));
        let Some(&(best, count)) = counts.first() else {
            break;
        };
        let served = met.extract_if(.., |(_, answers)| answers.contains(&best));
        let served: Vec<(Move, UciMove)> = served.map(|(m, _)| (m, best)).collect();
        if std::mem::take(&mut first) && count > 1 {
            usual = Some(best);
        } else {
            named.extend(served);
        }
    }
    (usual, named)
}

/// The legal moves in the order of their names.
fn ordered(position: &Chess) -> Vec<Move> {
    let mut moves: Vec<Move> = position.legal_moves().into_iter().collect();
    moves.sort_by_cached_key(|&m| name_order(uci(m)));
    moves
}

/// Sorts moves as their names sort.
fn name_order(m: UciMove) -> impl Ord {
    let squares = [m.from(), m.to()].map(|sq| sq.map(|sq| (sq.file(), sq.rank())));
    (squares, m.promotion().map(|role| role.char()))
}

fn mates_at_once(position: &Chess) -> Vec<UciMove> {
    if Bitboards::of(position).mate_in_one().is_none() {
        return Vec::new();
    }
    let mut moves = ordered(position);
    moves.retain(|&m| played(position, m).is_checkmate());
    moves.into_iter().map(uci).collect()
}

fn played(position: &Chess, m: Move) -> Chess {
    let mut after = position.clone();
    after.play_unchecked(m);
    after
}

fn uci(m: Move) -> UciMove {
    UciMove::from_move(m, CastlingMode::Standard)
}

#[cfg(test)]
mod tests;
