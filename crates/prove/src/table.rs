//! What is known of positions with the solver to move, within a cap of
//! memory. Entries hold the whole position, not a digest of it, so two
//! positions are never taken for each other; and they hold facts that depend
//! on nothing else, so they stay true from question to question.

use shakmaty::{Color, Role};

use super::bitboards::Bitboards;
use super::step::Step;

/// A position in four words: a bitboard each of White's men and of the three
/// digits of the roles' numbers. A rook that may castle has the number 7, and
/// a square where en passant is possible counts as White's with no man on it.
type Key = [u64; 4];

/// What the table tells of a position.
#[derive(Clone, Copy, Default, Debug, PartialEq, Eq)]
pub(super) struct Fact {
    /// The side to move forces mate, or what else the table is about, within so
    /// many moves; 0 if not known.
    pub within: u8,
    /// The side to move does not force it within so many moves.
    pub not_within: u8,
    /// A step that forces it in `within`.
    pub step: Step,
}

/// A key and a [`Fact`] in a word, with the side to move.
type Entry = [u64; 5];

pub(super) struct Table {
    /// Pairs: the first keeps what took longest, the second the latest.
    entries: Vec<Entry>,
    pairs: usize,
    bytes: usize,
}

/// A place in the table, good until the table grows.
pub(super) struct Place {
    key: Key,
    white: bool,
    pair: usize,
}

impl Table {
    /// A table of at most `bytes` bytes, taken when it is needed.
    pub fn new(bytes: usize) -> Table {
        Table {
            entries: Vec::new(),
            pairs: 0,
            bytes,
        }
    }

    /// Takes up to `wanted` bytes of memory if it holds less; what it knew is
    /// forgotten then. A table with a cap too small for one pair knows nothing.
    pub fn reserve(&mut self, wanted: usize) {
        let pairs = wanted.min(self.bytes) / (2 * size_of::<Entry>());
        if pairs > self.pairs {
            self.pairs = pairs;
            self.entries = Vec::new();
            self.entries = vec![[0; 5]; 2 * pairs];
        }
    }

    #[inline]
    pub fn place(&self, board: &Bitboards) -> Place {
        let key = key(board);
        let white = board.turn() == Color::White;
        let pair = ((u128::from(mixed(&key, white)) * self.pairs as u128) >> 64) as usize;
        Place { key, white, pair }
    }

    #[inline]
    pub fn fact(&self, place: &Place) -> Option<Fact> {
        let pair = self.entries.get(2 * place.pair..2 * place.pair + 2)?;
        pair.iter()
            .find(|entry| place.is_of(entry))
            .map(|entry| unpacked(entry[4]))
    }

    /// Learns that `step` forces the end within `n`.
    pub fn proved(&mut self, place: &Place, n: u8, step: Step) {
        self.learn(place, n, |fact| {
            if fact.within == 0 || n < fact.within {
                fact.within = n;
                fact.step = step;
            }
        });
    }

    /// Learns that the end cannot be forced within `n`.
    pub fn refuted(&mut self, place: &Place, n: u8) {
        self.learn(place, n, |fact| fact.not_within = fact.not_within.max(n));
    }

    #[inline]
    fn learn(&mut self, place: &Place, n: u8, change: impl FnOnce(&mut Fact)) {
        let Some(pair) = self.entries.get_mut(2 * place.pair..2 * place.pair + 2) else {
            return;
        };
        let (slot, mut fact) = match pair.iter().position(|entry| place.is_of(entry)) {
            Some(slot) => (slot, unpacked(pair[slot][4])),
            None => {
                let first = unpacked(pair[0][4]);
                let keeps = first.within.max(first.not_within) > n;
                if !keeps {
                    pair[1] = pair[0];
                }
                (usize::from(keeps), Fact::default())
            }
        };
        change(&mut fact);
        let [a, b, c, d] = place.key;
        pair[slot] = [a, b, c, d, packed(fact, place.white)];
    }
}

impl Place {
    #[inline]
    fn is_of(&self, entry: &Entry) -> bool {
        entry[..4] == self.key && (entry[4] >> 16 & 1 == 1) == self.white
    }
}

#[inline]
fn packed(fact: Fact, white: bool) -> u64 {
    u64::from(fact.within)
        | u64::from(fact.not_within) << 8
        | u64::from(white) << 16
        | u64::from(fact.step.to_bits()) << 32
}

#[inline]
fn unpacked(word: u64) -> Fact {
    Fact {
        within: word as u8,
        not_within: (word >> 8) as u8,
        step: Step::from_bits((word >> 32) as u32),
    }
}

#[inline]
fn key(board: &Bitboards) -> Key {
    let by = |role| board.by(role).0;
    let special = board.special().0;
    let ep = special & !board.occupied().0;
    let castling = special ^ ep;
    [
        board.side(Color::White).0 | ep,
        by(Role::Pawn) | by(Role::Bishop) | by(Role::Queen) | castling,
        by(Role::Knight) | by(Role::Bishop) | by(Role::King) | castling,
        by(Role::Rook) | by(Role::Queen) | by(Role::King),
    ]
}

#[inline]
fn mixed(key: &Key, white: bool) -> u64 {
    let mut h = u64::from(white);
    for &word in key {
        h = (h ^ h >> 32 ^ word).wrapping_mul(0x9e37_79b9_7f4a_7c15);
    }
    h
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_table_takes_no_more_than_its_bytes() {
        let pair = 2 * size_of::<Entry>();
        for (cap, wanted) in [
            (0, 1000),
            (pair - 1, 1000),
            (1000, usize::MAX),
            (10_000, 1000),
        ] {
            let mut table = Table::new(cap);
            table.reserve(wanted);
            let taken = size_of_val(&table.entries[..]);
            let most = cap.min(wanted);
            assert!(
                taken <= most && most - taken < pair,
                "{cap} {wanted}: {taken}"
            );
        }
    }
}
