//! What is known of positions with the solver to move, within a cap of
//! memory. Entries hold the whole position, not a digest of it, so two
//! positions are never taken for each other; and they hold facts that depend
//! on nothing else, so they stay true from question to question.

use shakmaty::{Color, Role};

use super::men::Men;
use super::step::Step;

/// A position in four words: a bitboard each of White's men and of the three
/// digits of the roles' numbers. A rook that may castle has the number 7, and
/// a square where en passant is possible counts as White's with no man on it.
type Key = [u64; 4];

#[derive(Clone, Copy, Default)]
struct Entry {
    key: Key,
    /// A step that forces mate in `within`.
    step: Step,
    /// The side to move forces mate within so many moves; 0 if not known.
    within: u8,
    /// The side to move does not force mate within so many moves.
    not_within: u8,
    white: bool,
}

/// What the table tells of a position.
#[derive(Clone, Copy, Default, Debug, PartialEq, Eq)]
pub(super) struct Fact {
    pub step: Step,
    pub within: u8,
    pub not_within: u8,
}

pub(super) struct Table {
    /// Pairs: the first keeps what took longest, the second the latest.
    entries: Vec<Entry>,
    pairs: usize,
    bytes: usize,
}

/// A place in the table, good until the table is asked for another.
pub(super) struct Place {
    key: Key,
    white: bool,
    pair: usize,
}

impl Table {
    /// A table of at most `bytes` bytes, taken when it is first needed.
    pub fn new(bytes: usize) -> Table {
        Table {
            entries: Vec::new(),
            pairs: 0,
            bytes,
        }
    }

    /// Takes the memory. Without, or with a cap too small for one pair, the
    /// table forgets everything.
    pub fn reserve(&mut self) {
        if self.entries.is_empty() {
            self.pairs = self.bytes / (2 * size_of::<Entry>());
            self.entries = vec![Entry::default(); 2 * self.pairs];
        }
    }

    #[inline]
    pub fn place(&self, men: &Men) -> Place {
        let key = key(men);
        let pair = ((u128::from(mixed(&key)) * self.pairs as u128) >> 64) as usize;
        Place {
            key,
            white: men.turn() == Color::White,
            pair,
        }
    }

    #[inline]
    pub fn fact(&self, place: &Place) -> Option<Fact> {
        let pair = self.entries.get(2 * place.pair..2 * place.pair + 2)?;
        pair.iter()
            .find(|entry| place.is_of(entry))
            .map(|entry| Fact {
                step: entry.step,
                within: entry.within,
                not_within: entry.not_within,
            })
    }

    /// Learns that `step` forces mate within `n`.
    pub fn proved(&mut self, place: &Place, n: u8, step: Step) {
        self.learn(place, n, |entry| {
            if entry.within == 0 || n < entry.within {
                entry.within = n;
                entry.step = step;
            }
        });
    }

    /// Learns that there is no forced mate within `n`.
    pub fn refuted(&mut self, place: &Place, n: u8) {
        self.learn(place, n, |entry| entry.not_within = entry.not_within.max(n));
    }

    #[inline]
    fn learn(&mut self, place: &Place, n: u8, change: impl FnOnce(&mut Entry)) {
        let Some(pair) = self.entries.get_mut(2 * place.pair..2 * place.pair + 2) else {
            return;
        };
        let slot = match pair.iter().position(|entry| place.is_of(entry)) {
            Some(slot) => slot,
            None => {
                let slot = usize::from(pair[0].within.max(pair[0].not_within) > n);
                pair[slot] = Entry {
                    key: place.key,
                    white: place.white,
                    ..Entry::default()
                };
                slot
            }
        };
        change(&mut pair[slot]);
    }
}

impl Place {
    #[inline]
    fn is_of(&self, entry: &Entry) -> bool {
        entry.key == self.key && entry.white == self.white
    }
}

#[inline]
fn key(men: &Men) -> Key {
    let by = |role| men.by(role).0;
    let special = men.special().0;
    let ep = special & !men.occupied().0;
    let castling = special ^ ep;
    [
        men.side(Color::White).0 | ep,
        by(Role::Pawn) | by(Role::Bishop) | by(Role::Queen) | castling,
        by(Role::Knight) | by(Role::Bishop) | by(Role::King) | castling,
        by(Role::Rook) | by(Role::Queen) | by(Role::King),
    ]
}

#[inline]
fn mixed(key: &Key) -> u64 {
    let mut h = 0u64;
    for &word in key {
        h = (h ^ h >> 32 ^ word).wrapping_mul(0x9e37_79b9_7f4a_7c15);
    }
    h
}
