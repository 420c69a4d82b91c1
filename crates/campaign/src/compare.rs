//! One position, asked of the prover and of brute force.

use prove::{Aim, Prover, Shortcut, Shortcuts, Unwatched, Verdict};
use shakmaty::fen::Fen;
use shakmaty::{Bitboard, CastlingMode, Chess, EnPassantMode, FromSetup, Move, Position};

use crate::brute::{Brute, Capped, Took, played};

/// Why a position was not compared to the end.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Fault {
    /// Brute force would take too long.
    Capped,
    /// Prover and brute force disagree, in words.
    Differs(String),
}

impl From<Capped> for Fault {
    fn from(_: Capped) -> Fault {
        Fault::Capped
    }
}

/// What was compared at one position, without a difference.
#[derive(Clone, Copy, Debug, Default)]
pub struct Told {
    /// First moves that force what is asked.
    pub keys: u64,
    /// Positions whose moves were all judged, this one among them.
    pub sets: u64,
    pub took: Took,
    /// The keys are others, or of other lengths, if nobody may castle.
    pub castling_decides: bool,
    /// The same if no pawn may be taken en passant now.
    pub en_passant_decides: bool,
}

/// What the prover sees in a position, in somewhat fewer moves than asked.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stake {
    Nothing,
    /// Some move forces what is asked.
    Keys,
    /// Castling or en passant decides which.
    Special,
}

/// The moves that force what is asked, and in how many moves.
pub type Keys = Vec<(Move, u8)>;

/// A prover that takes all shortcuts, and one that takes some, kept from
/// position to position as a program keeps them.
pub struct Provers {
    all: Prover,
    some: Prover,
}

/// Most leaves of brute force for one position.
const LEAVES: u64 = 30_000_000;

/// Helpmates compared line by line at most.
const LINES: usize = 2_000;

impl Default for Provers {
    fn default() -> Provers {
        Provers {
            all: Prover::new(1 << 20),
            some: Prover::new(1 << 20),
        }
    }
}

/// How many sets of shortcuts there are.
pub const COMBINATIONS: u64 = 1 << Shortcut::ALL.len();

impl Provers {
    /// Compares the verdicts on all moves with brute force, for 1 to `n`, and
    /// those on every continuation after every reply to every key; and the
    /// prover without the shortcuts of `off`, by their bits. Gives the keys.
    ///
    /// # Errors
    /// The first difference, or that brute force takes too long.
    pub fn compare(
        &mut self,
        aim: Aim,
        position: &Chess,
        n: u8,
        off: u64,
    ) -> Result<(Told, Keys), Fault> {
        self.some.shortcuts = Shortcuts::without(off as u8);
        let mut brute = Brute::new(LEAVES);
        let mut told = Told::default();
        let lengths = match aim {
            Aim::Mate => self.mates(position, n, &mut brute, &mut told.sets),
            Aim::Selfmate | Aim::Stalemate => self.forced(aim, position, n, &mut brute),
            Aim::Helpmate => self.helped(position, n, &mut brute),
            Aim::Gain(_) => Err(differs(aim, position, n, "gains are compared in `gains`")),
        }?;
        let others = self.some.judge_aim(aim, position, n, None, &mut Unwatched);
        let others = lengths_of(&others);
        if lengths != others {
            let text = format!("{lengths:?}, but {others:?} without shortcuts {off:#b}");
            return Err(differs(aim, position, n, &text));
        }
        told.keys = lengths.len() as u64;
        told.sets += 1;
        told.took = brute.took;
        told.castling_decides = self.castling_decides(aim, position, n, &lengths);
        told.en_passant_decides = self.en_passant_decides(aim, position, n, &lengths);
        Ok((told, lengths))
    }

    /// What the prover alone sees in a position, soon told.
    pub fn stake(&mut self, aim: Aim, position: &Chess, n: u8) -> Stake {
        let n = match aim {
            Aim::Mate | Aim::Selfmate => n - 1,
            Aim::Stalemate | Aim::Gain(_) => n,
            Aim::Helpmate if n > 3 => n - 2,
            Aim::Helpmate => n,
        };
        let lengths = self.lengths(aim, position, n);
        if self.castling_decides(aim, position, n, &lengths)
            || self.en_passant_decides(aim, position, n, &lengths)
        {
            Stake::Special
        } else if lengths.is_empty() {
            Stake::Nothing
        } else {
            Stake::Keys
        }
    }

    fn castling_decides(&mut self, aim: Aim, position: &Chess, n: u8, lengths: &Keys) -> bool {
        let other = without(position, true, false).filter(|_| position.castles().any());
        other.is_some_and(|other| self.lengths(aim, &other, n) != *lengths)
    }

    fn en_passant_decides(&mut self, aim: Aim, position: &Chess, n: u8, lengths: &Keys) -> bool {
        let ep = position.legal_ep_square();
        let other = without(position, false, true).filter(|_| ep.is_some());
        other.is_some_and(|other| self.lengths(aim, &other, n) != *lengths)
    }

    /// The moves that force the aim, and in how many moves.
    fn lengths(&mut self, aim: Aim, position: &Chess, n: u8) -> Keys {
        lengths_of(&self.all.judge_aim(aim, position, n, None, &mut Unwatched))
    }

    fn mates(
        &mut self,
        position: &Chess,
        n: u8,
        brute: &mut Brute,
        sets: &mut u64,
    ) -> Result<Keys, Fault> {
        let keys = self.judged(position, n, brute)?;
        for fewer in 1..n {
            let shorter = self.judged(position, fewer, brute)?;
            let expected: Keys = keys.iter().copied().filter(|key| key.1 <= fewer).collect();
            if shorter != expected {
                let text = format!("{shorter:?}, but {keys:?} in {n}");
                return Err(differs(Aim::Mate, position, fewer, &text));
            }
            *sets += 1;
        }
        let shortest = keys.iter().map(|key| key.1).min();
        let found = match self.all.mate(position, n, &mut Unwatched) {
            Ok(found) => found.map(|(_, verdict)| length(&verdict)),
            Err(_) => return Err(differs(Aim::Mate, position, n, "undecided")),
        };
        if found.flatten() != shortest {
            let text = format!("the shortest mate is {shortest:?}, not {found:?}");
            return Err(differs(Aim::Mate, position, n, &text));
        }
        for &(key, length) in &keys {
            let after = played(position, key);
            let mut longest = 0;
            for reply in after.legal_moves() {
                let next = played(&after, reply);
                let answers = self.judged(&next, length - 1, brute)?;
                *sets += 1;
                let shortest = answers.iter().map(|answer| answer.1).min();
                longest = longest.max(shortest.unwrap_or(u8::MAX));
            }
            let defence = self.all.longest_defence(&after, n, &mut Unwatched);
            let expected = (length > 1).then_some(length - 1);
            if defence.map(|(_, length)| length) != expected || longest != length - 1 {
                let text = format!("{key}: {defence:?} holds out longest, not for {longest}");
                return Err(differs(Aim::Mate, position, n, &text));
            }
        }
        Ok(keys)
    }

    /// The keys of a mate in `n` with their lengths, each verdict confirmed.
    fn judged(&mut self, position: &Chess, n: u8, brute: &mut Brute) -> Result<Keys, Fault> {
        let verdicts = self.all.judge(position, n, None, &mut Unwatched);
        let fault = |text: &str| differs(Aim::Mate, position, n, text);
        if verdicts.len() != position.legal_moves().len() {
            return Err(fault("not all moves are judged"));
        }
        for (m, verdict) in &verdicts {
            let after = played(position, *m);
            match verdict {
                Verdict::Forces { length, line } => {
                    if !brute.wins(&after, length - 1)? {
                        return Err(fault(&format!("{m} does not mate in {length}")));
                    }
                    if *length > 1 && brute.wins(&after, length - 2)? {
                        return Err(fault(&format!("{m} mates sooner than in {length}")));
                    }
                    if !mating_line(position, line, *length, brute)? {
                        return Err(fault(&format!("{m}: the line {line:?}")));
                    }
                }
                Verdict::Fails { line } => {
                    let fails = match line[..] {
                        [first] => {
                            first == *m
                                && if n == 1 {
                                    !after.is_checkmate()
                                } else {
                                    after.is_stalemate()
                                }
                        }
                        [first, reply] => {
                            first == *m
                                && after.is_legal(reply)
                                && !brute.mates(&played(&after, reply), n - 1)?
                        }
                        _ => false,
                    };
                    if !fails {
                        return Err(fault(&format!("{m} is not refuted by {line:?}")));
                    }
                }
                Verdict::Unknown { .. } => return Err(fault("undecided")),
            }
        }
        Ok(lengths_of(&verdicts))
    }

    fn forced(
        &mut self,
        aim: Aim,
        position: &Chess,
        n: u8,
        brute: &mut Brute,
    ) -> Result<Keys, Fault> {
        let forces = |brute: &mut Brute, after: &Chess, n| match aim {
            Aim::Selfmate => brute.selfmates(after, n),
            _ => brute.stalemates(after, n),
        };
        let mut keys = Keys::new();
        for (m, verdict) in self.all.judge_aim(aim, position, n, None, &mut Unwatched) {
            let after = played(position, m);
            let mut expected = None;
            for length in 1..=n {
                if expected.is_none() && forces(brute, &after, length)? {
                    expected = Some(length);
                }
            }
            if length(&verdict) != expected {
                let text = format!("{m}: {verdict:?}, not {expected:?}");
                return Err(differs(aim, position, n, &text));
            }
            keys.extend(expected.map(|length| (m, length)));
        }
        Ok(keys)
    }

    fn helped(&mut self, position: &Chess, n: u8, brute: &mut Brute) -> Result<Keys, Fault> {
        let mut lengths = Keys::new();
        let mut lines = Vec::new();
        for length in (2 - n % 2..=n).step_by(2) {
            lines.clear();
            brute.helpmates(position, length, &mut Vec::new(), &mut lines)?;
            for line in &lines {
                if lengths.iter().all(|(m, _)| *m != line[0]) {
                    lengths.push((line[0], length));
                }
            }
        }
        let ours = self.lengths(Aim::Helpmate, position, n);
        lengths.sort_by_key(|key| ours.iter().position(|other| other.0 == key.0));
        if ours != lengths {
            let text = format!("{ours:?}, not {lengths:?}");
            return Err(differs(Aim::Helpmate, position, n, &text));
        }
        if lines.len() <= LINES {
            let found = self.all.helpmates(position, n, LINES, &mut Unwatched);
            let mut found = found.map(|(lines, _)| lines).unwrap_or_default();
            let name = |line: &Vec<Move>| line.iter().map(Move::to_string).collect::<String>();
            found.sort_by_key(name);
            lines.sort_by_key(name);
            if found != lines {
                let text = format!("{} lines, not {}", found.len(), lines.len());
                return Err(differs(Aim::Helpmate, position, n, &text));
            }
        }
        Ok(lengths)
    }
}

fn length(verdict: &Verdict) -> Option<u8> {
    match verdict {
        Verdict::Forces { length, .. } => Some(*length),
        Verdict::Fails { .. } | Verdict::Unknown { .. } => None,
    }
}

fn lengths_of(verdicts: &[(Move, Verdict)]) -> Keys {
    let forces = |(m, verdict): &(Move, Verdict)| length(verdict).map(|length| (*m, length));
    verdicts.iter().filter_map(forces).collect()
}

/// Whether a line is legal, ends in mate, and needs after each reply what is
/// left of it and no less.
fn mating_line(
    position: &Chess,
    line: &[Move],
    length: u8,
    brute: &mut Brute,
) -> Result<bool, Capped> {
    if line.len() + 1 != 2 * usize::from(length) {
        return Ok(false);
    }
    let mut at = position.clone();
    for (i, &m) in line.iter().enumerate() {
        if !at.is_legal(m) {
            return Ok(false);
        }
        at = played(&at, m);
        if i % 2 == 1 {
            let left = length - 1 - (i / 2) as u8;
            if !brute.mates(&at, left)? || brute.mates(&at, left - 1)? {
                return Ok(false);
            }
        }
    }
    Ok(at.is_checkmate())
}

fn differs(aim: Aim, position: &Chess, n: u8, text: &str) -> Fault {
    let fen = Fen::from_position(position, EnPassantMode::PseudoLegal);
    Fault::Differs(format!("{}{} {fen}: {text}", aim.sign(), aim.count(n)))
}

/// The same position without the right to castle, or to take en passant now.
fn without(position: &Chess, castling: bool, ep: bool) -> Option<Chess> {
    let mut setup = position.to_setup(EnPassantMode::Legal);
    if castling {
        setup.castling_rights = Bitboard::EMPTY;
    }
    if ep {
        setup.ep_square = None;
    }
    Chess::from_setup(setup, CastlingMode::Standard).ok()
}
