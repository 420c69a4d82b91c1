//! The transposition table: what is known of positions seen before.

use shakmaty::{Move, Role, Square};

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
    pub static_eval: i32,
    pub depth: i32,
    pub bound: Bound,
    pub best: Code,
}

/// Stands for a static value that was not computed.
pub(super) const NO_VALUE: i32 = i16::MIN as i32;

/// A move in 16 bits: from, to, promotion. Castling goes from the king to its
/// rook. Zero is no move.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub(super) struct Code(u16);

impl Code {
    pub const NONE: Code = Code(0);

    pub fn of(m: Move) -> Code {
        Code::new(m.from().unwrap_or(Square::A1), m.to(), m.promotion())
    }

    pub fn new(from: Square, to: Square, promotion: Option<Role>) -> Code {
        let promotion = promotion.map_or(0, |role| role as u16);
        Code(from as u16 | (to as u16) << 6 | promotion << 12)
    }

    pub fn from(self) -> Square {
        Square::new(u32::from(self.0 & 63))
    }

    pub fn to(self) -> Square {
        Square::new(u32::from(self.0 >> 6 & 63))
    }

    pub fn promotion(self) -> Option<Role> {
        match self.0 >> 12 {
            2 => Some(Role::Knight),
            3 => Some(Role::Bishop),
            4 => Some(Role::Rook),
            5 => Some(Role::Queen),
            _ => None,
        }
    }

    /// From and to as one number, below 64 times 64.
    pub fn squares(self) -> usize {
        usize::from(self.0 & 0xfff)
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
    static_eval: i16,
    depth: u8,
    /// Bound in the low two bits, age above.
    tag: u8,
}

const WAYS: usize = 4;

/// Slots that share a line of the processor's cache.
#[derive(Clone, Copy, Default)]
#[repr(align(64))]
struct Bucket([Slot; WAYS]);

pub(super) struct Table {
    /// Those in use.
    buckets: Vec<Bucket>,
    /// As many as there may be.
    most: usize,
    age: u8,
}

/// Slots for each position of a question: most are looked at more than once, or not
/// stored.
const SLOTS_A_NODE: u64 = 1;

impl Table {
    /// A table of at most `bytes` bytes, but of one bucket at least, taken when it is
    /// needed.
    pub fn new(bytes: usize) -> Table {
        let most = (bytes / size_of::<Bucket>()).clamp(1, 1 << 31);
        Table {
            buckets: Vec::new(),
            most,
            age: 0,
        }
    }

    /// Forgets all, and goes on with as much of its bytes as a question of so many
    /// nodes needs.
    pub fn forget(&mut self, nodes: u64) {
        let wanted = nodes.saturating_mul(SLOTS_A_NODE) / WAYS as u64;
        let wanted = usize::try_from(wanted).unwrap_or(usize::MAX);
        self.buckets.clear();
        self.buckets
            .resize(wanted.clamp(1, self.most), Bucket::default());
        self.age = 0;
    }

    /// Marks what is stored so far as old. Each search begins with it, so that here a
    /// table that nothing was in yet takes its bytes.
    pub fn age(&mut self) {
        if self.buckets.is_empty() {
            self.buckets.resize(self.most, Bucket::default());
        }
        self.age = (self.age + 1) & 63;
    }

    pub fn get(&self, key: u64) -> Option<Entry> {
        let Bucket(slots) = &self.buckets[self.bucket(key)];
        let slot = slots
            .iter()
            .find(|slot| slot.key == key && slot.tag & 3 != 0)?;
        Some(Entry {
            value: slot.value.into(),
            static_eval: slot.static_eval.into(),
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
        let Bucket(bucket) = &mut self.buckets[bucket];
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
            static_eval: narrow(entry.static_eval),
            depth: entry.depth.clamp(0, 255) as u8,
            tag: entry.bound as u8 | age << 2,
        };
    }

    fn bucket(&self, key: u64) -> usize {
        (((key >> 32) * self.buckets.len() as u64) >> 32) as usize
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
