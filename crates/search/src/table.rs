//! The transposition table: what is known of positions seen before.

use shakmaty::{Move, Role};

/// How a stored value bounds the true one.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Bound {
    Upper = 1,
    Lower = 2,
    Exact = 3,
}

impl Bound {
    /// How the value of a search between `alpha` and `beta` bounds the true
    /// one.
    pub fn of(value: i32, alpha: i32, beta: i32) -> Bound {
        if value >= beta {
            Bound::Lower
        } else if value > alpha {
            Bound::Exact
        } else {
            Bound::Upper
        }
    }
}

/// What is stored of a position: value, static value, move and depth.
#[derive(Clone, Copy, Debug)]
pub(super) struct Entry {
    pub value: i32,
    /// The static value, or [`NO_VALUE`].
    pub still: i32,
    pub depth: i32,
    pub bound: Bound,
    pub best: Code,
}

/// Stands for a static value that was not computed.
pub(super) const NO_VALUE: i32 = i16::MIN as i32;

/// A move in 16 bits: from, to, promotion. Zero is no move.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub(super) struct Code(u16);

impl Code {
    pub const NONE: Code = Code(0);

    pub fn of(m: Move) -> Code {
        let from = m.from().map_or(0, |s| s as u16);
        let promotion = m.promotion().map_or(0, |r| r as u16);
        Code(from | (m.to() as u16) << 6 | promotion << 12)
    }

    pub fn bits(self) -> u64 {
        self.0.into()
    }
}

#[derive(Clone, Copy, Default)]
struct Slot {
    key: u64,
    best: Code,
    value: i16,
    still: i16,
    depth: u8,
    /// Bound in the low two bits, age above.
    tag: u8,
}

const WAYS: usize = 4;

pub(super) struct Table {
    slots: Vec<[Slot; WAYS]>,
    age: u8,
}

impl Table {
    /// A table of at most `bytes` bytes, but of one bucket at least.
    pub fn new(bytes: usize) -> Table {
        let buckets = (bytes / size_of::<[Slot; WAYS]>()).max(1);
        Table {
            slots: vec![[Slot::default(); WAYS]; buckets],
            age: 0,
        }
    }

    /// Marks what is stored so far as old.
    pub fn grow_older(&mut self) {
        self.age = (self.age + 1) & 63;
    }

    pub fn get(&self, key: u64) -> Option<Entry> {
        let slot = self.slots[self.bucket(key)]
            .iter()
            .find(|slot| slot.key == key && slot.tag & 3 != 0)?;
        Some(Entry {
            value: slot.value.into(),
            still: slot.still.into(),
            depth: i32::from(slot.depth),
            bound: match slot.tag & 3 {
                1 => Bound::Upper,
                2 => Bound::Lower,
                _ => Bound::Exact,
            },
            best: slot.best,
        })
    }

    pub fn put(&mut self, key: u64, entry: Entry) {
        let age = self.age;
        let bucket = self.bucket(key);
        let bucket = &mut self.slots[bucket];
        let place = match bucket.iter().position(|slot| slot.key == key) {
            Some(same) => same,
            None => {
                let worth = |slot: &Slot| {
                    let years = i32::from(age.wrapping_sub(slot.tag >> 2) & 63);
                    (slot.tag != 0, i32::from(slot.depth) - 4 * years)
                };
                (0..WAYS).min_by_key(|&i| worth(&bucket[i])).unwrap_or(0)
            }
        };
        let slot = &mut bucket[place];
        let best = if entry.best == Code::NONE && slot.key == key {
            slot.best
        } else {
            entry.best
        };
        *slot = Slot {
            key,
            best,
            value: narrow(entry.value),
            still: narrow(entry.still),
            depth: entry.depth.clamp(0, 255) as u8,
            tag: entry.bound as u8 | age << 2,
        };
    }

    fn bucket(&self, key: u64) -> usize {
        ((u128::from(key) * self.slots.len() as u128) >> 64) as usize
    }
}

fn narrow(value: i32) -> i16 {
    value.clamp(i16::MIN.into(), i16::MAX.into()) as i16
}

/// The worth of a role when men are exchanged, in centipawns.
pub(super) const fn worth(role: Role) -> i32 {
    match role {
        Role::Pawn => 100,
        Role::Knight => 320,
        Role::Bishop => 330,
        Role::Rook => 500,
        Role::Queen => 900,
        Role::King => 20_000,
    }
}
