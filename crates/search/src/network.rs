//! The learned evaluation: a small network of integers, updated move by move.
//!
//! Each side sees the board in its own way: turned so that it plays upwards,
//! and mirrored so that its king stands on the files e to h. What it sees, a
//! man on a square (6 roles of 2 sides on 64 squares, 768 inputs), goes through
//! one hidden layer of [`HIDDEN`] units whose weights both sides share. The
//! units of the side to move and of the other are clipped, squared and summed
//! up, with weights that depend on the number of men. All is done in integers
//! that do not overflow, so every machine gives the same values.
//!
//! Only what a move changes is added to the sums of the hidden layer, and only
//! once a value is asked for (an efficiently updatable network; Yu Nasu 2018,
//! from memory). Which file holds the weights, and how they are learnt, is
//! told in `crates/train`.

use std::fmt;
use std::sync::{Arc, OnceLock};

use shakmaty::{Board, Color, Piece, Square};

use super::evaluate::{evaluate, winnable};
use super::evaluation::Evaluation;
use super::node::{Changes, Node};
use super::tree::{KNOWN, MOST_PLIES};

/// Units of the hidden layer for each side.
const HIDDEN: usize = 128;
const INPUTS: usize = 2 * 6 * 64;
/// Weights of the last layer differ by the number of men.
const BUCKETS: usize = 8;
/// A unit of the hidden layer that is wholly on.
const ON: i16 = 127;
/// A weight of one in the last layer.
const ONE: i64 = 64;
/// The largest weight of the last layer, either way, so that `ON` times it
/// does not overflow.
const MOST_WEIGHT: i16 = 255;
/// The largest bias of the hidden layer, either way, so that the weights of a full board,
/// and a move's on top, do not overflow.
const MOST_BIAS: i16 = i16::MAX - 36 * 128;

const MAGIC: &[u8; 8] = b"keyproof";
const VERSION: u16 = 1;
const BYTES: usize = 16 + INPUTS * HIDDEN + 2 * HIDDEN + BUCKETS * (4 * HIDDEN + 4) + 8;

type Sums = [i16; HIDDEN];

/// The weights.
pub struct Network {
    inputs: Vec<Sums>,
    bias: Sums,
    /// By bucket: for the side to move, and for the other.
    last: [[Sums; 2]; BUCKETS],
    last_bias: [i32; BUCKETS],
    /// Centipawns of an output of one.
    scale: i64,
}

/// Why bytes are no network.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NetworkFault {
    /// There is none: no bytes.
    Missing,
    /// Not made for this version.
    Foreign,
    /// Cut short or changed.
    Damaged,
}

impl fmt::Display for NetworkFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            NetworkFault::Missing => "there is no network",
            NetworkFault::Foreign => "these bytes are no network of this version",
            NetworkFault::Damaged => "the network is damaged",
        })
    }
}

impl std::error::Error for NetworkFault {}

impl Network {
    /// Reads a network, little-endian: `keyproof`, version, hidden units,
    /// buckets and scale (`u16` each), the weights of the inputs (`i8`, by man
    /// as the side sees it, square, unit), biases (`i16`), weights of the last
    /// layer (`i16`, by bucket, side and unit), biases (`i32`), and the FNV-1a
    /// checksum of all that (`u64`).
    ///
    /// # Errors
    /// Says what is wrong with the bytes.
    pub fn read(bytes: &[u8]) -> Result<Network, NetworkFault> {
        if bytes.is_empty() {
            return Err(NetworkFault::Missing);
        }
        let head = [VERSION, HIDDEN as u16, BUCKETS as u16].map(u16::to_le_bytes);
        let rest = bytes
            .strip_prefix(MAGIC)
            .and_then(|rest| rest.strip_prefix(head.as_flattened()))
            .ok_or(NetworkFault::Foreign)?;
        let (content, checksum) = bytes.split_last_chunk().ok_or(NetworkFault::Damaged)?;
        if bytes.len() != BYTES || fnv(content) != u64::from_le_bytes(*checksum) {
            return Err(NetworkFault::Damaged);
        }
        Network::weights(rest).ok_or(NetworkFault::Damaged)
    }

    fn weights(mut rest: &[u8]) -> Option<Network> {
        let scale = i64::from(u16::from_le_bytes(take(&mut rest)?));
        let mut inputs = vec![[0; HIDDEN]; INPUTS];
        for weight in inputs.as_flattened_mut() {
            let [byte] = take(&mut rest)?;
            *weight = i16::from(byte as i8);
        }
        let mut short = || take(&mut rest).map(i16::from_le_bytes);
        let mut bias = [0; HIDDEN];
        for weight in &mut bias {
            *weight = short()?.clamp(-MOST_BIAS, MOST_BIAS);
        }
        let mut last = [[[0; HIDDEN]; 2]; BUCKETS];
        for weight in last.as_flattened_mut().as_flattened_mut() {
            *weight = short()?.clamp(-MOST_WEIGHT, MOST_WEIGHT);
        }
        let mut last_bias = [0; BUCKETS];
        for weight in &mut last_bias {
            *weight = i32::from_le_bytes(take(&mut rest)?);
        }
        Some(Network {
            inputs,
            bias,
            last,
            last_bias,
            scale,
        })
    }

    /// The network that belongs to the program; it has beaten the reference
    /// in a match (`crates/train`).
    ///
    /// # Errors
    /// As for [`Network::read`].
    pub fn own() -> Result<Arc<Network>, NetworkFault> {
        static OWN: OnceLock<Result<Arc<Network>, NetworkFault>> = OnceLock::new();
        OWN.get_or_init(|| Network::read(include_bytes!("network.bin")).map(Arc::new))
            .clone()
    }

    /// What it makes of a board, worked out from scratch: centipawns for the
    /// side to move, before the search judges what can be won at all.
    pub fn of(&self, board: &Board, turn: Color) -> i32 {
        let sums = [turn, !turn].map(|color| self.sums(board, Side::new(board, color)));
        self.value(board.occupied().count(), [&sums[0], &sums[1]])
    }

    /// The sums of the hidden layer as `side` sees the board.
    fn sums(&self, board: &Board, side: Side) -> Sums {
        let mut sums = self.bias;
        for (square, piece) in board {
            for (sum, weight) in sums.iter_mut().zip(&self.inputs[side.input(piece, square)]) {
                *sum += weight;
            }
        }
        sums
    }

    /// The sums after changes to the board.
    #[inline(always)]
    fn change(&self, before: &Sums, changes: &Changes, side: Side, after: &mut Sums) {
        let row = |man: Option<(Piece, Square)>| {
            man.map(|(piece, square)| &self.inputs[side.input(piece, square)])
        };
        let [gone, taken] = [row(changes.gone[0]), row(changes.gone[1])];
        let [come, castled] = [row(changes.come[0]), row(changes.come[1])];
        match (gone, taken, come, castled) {
            (Some(gone), None, Some(come), None) => {
                for i in 0..HIDDEN {
                    after[i] = before[i] + come[i] - gone[i];
                }
            }
            (Some(gone), Some(taken), Some(come), None) => {
                for i in 0..HIDDEN {
                    after[i] = before[i] + come[i] - gone[i] - taken[i];
                }
            }
            _ => {
                *after = *before;
                for row in [gone, taken].into_iter().flatten() {
                    after.iter_mut().zip(row).for_each(|(sum, w)| *sum -= w);
                }
                for row in [come, castled].into_iter().flatten() {
                    after.iter_mut().zip(row).for_each(|(sum, w)| *sum += w);
                }
            }
        }
    }

    /// Centipawns for the side to move, by its sums and the other side's.
    #[inline(always)]
    fn value(&self, men: usize, sums: [&Sums; 2]) -> i32 {
        let bucket = (men.saturating_sub(2) / 4).min(BUCKETS - 1);
        let mut sum: i32 = 0;
        for (sums, weights) in sums.into_iter().zip(&self.last[bucket]) {
            for (&unit, &weight) in sums.iter().zip(weights) {
                let unit = unit.clamp(0, ON);
                sum += i32::from(unit) * i32::from(unit.wrapping_mul(weight));
            }
        }
        let output = i64::from(sum / i32::from(ON)) + i64::from(self.last_bias[bucket]);
        let most = i64::from(KNOWN) / 2;
        (output * self.scale / (i64::from(ON) * ONE)).clamp(-most, most) as i32
    }
}

/// The two loops that cost most, compiled once more for processors with wider
/// registers; what they work out is the same.
#[cfg(target_arch = "x86_64")]
impl Network {
    #[target_feature(enable = "avx2,popcnt")]
    fn change_wide(&self, before: &Sums, changes: &Changes, side: Side, after: &mut Sums) {
        self.change(before, changes, side, after);
    }

    #[target_feature(enable = "avx2,popcnt")]
    fn value_wide(&self, men: usize, sums: [&Sums; 2]) -> i32 {
        self.value(men, sums)
    }
}

#[cfg(target_arch = "x86_64")]
fn is_wide() -> bool {
    is_x86_feature_detected!("avx2") && is_x86_feature_detected!("popcnt")
}

fn take<const N: usize>(rest: &mut &[u8]) -> Option<[u8; N]> {
    let (first, others) = rest.split_first_chunk()?;
    *rest = others;
    Some(*first)
}

/// The checksum FNV-1a (Fowler, Noll and Vo).
fn fnv(bytes: &[u8]) -> u64 {
    bytes.iter().fold(0xcbf2_9ce4_8422_2325, |sum, &byte| {
        (sum ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3)
    })
}

/// How a side sees the board.
#[derive(Clone, Copy)]
struct Side {
    color: Color,
    mirrored: bool,
}

impl Side {
    fn new(board: &Board, color: Color) -> Side {
        let king = board.king_of(color).unwrap_or(Square::E1);
        Side {
            color,
            mirrored: is_mirrored(king),
        }
    }

    fn input(self, piece: Piece, square: Square) -> usize {
        let square = self.color.fold_wb(square, square.flip_vertical());
        let square = match self.mirrored {
            true => square.flip_horizontal(),
            false => square,
        };
        let man = usize::from(piece.color != self.color) * 6 + piece.role as usize - 1;
        man * 64 + square as usize
    }
}

fn is_mirrored(king: Square) -> bool {
    king.file() < shakmaty::File::E
}

/// Whether a side sees the board the other way round after a move.
fn turns(changes: &Changes, color: Color) -> bool {
    match (changes.gone[0], changes.come[0]) {
        (Some((man, from)), Some((_, to))) if man == color.king() => {
            is_mirrored(from) != is_mirrored(to)
        }
        _ => false,
    }
}

/// The network at work in a tree.
pub(super) struct Learned {
    network: Arc<Network>,
    #[cfg(target_arch = "x86_64")]
    wide: bool,
    plies: Vec<Ply>,
}

#[derive(Clone)]
struct Ply {
    changes: Changes,
    /// By colour, and whether they are worked out yet.
    sums: [Sums; 2],
    ready: [bool; 2],
}

impl Learned {
    pub fn new(network: Arc<Network>) -> Learned {
        let ply = Ply {
            changes: Changes::default(),
            sums: [[0; HIDDEN]; 2],
            ready: [false; 2],
        };
        Learned {
            network,
            #[cfg(target_arch = "x86_64")]
            wide: is_wide(),
            plies: vec![ply; MOST_PLIES + 2],
        }
    }

    fn sum_up(&self, men: usize, sums: [&Sums; 2]) -> i32 {
        #[cfg(target_arch = "x86_64")]
        if self.wide {
            // SAFETY: `is_wide` said that the processor can do it.
            return unsafe { self.network.value_wide(men, sums) };
        }
        self.network.value(men, sums)
    }

    /// Works out the sums of a side at a ply, from the nearest ply before that
    /// has them.
    fn update(&mut self, ply: usize, board: &Board, color: Color) {
        let c = color as usize;
        let side = Side::new(board, color);
        let mut known = ply;
        while known > 0 && !self.plies[known].ready[c] && !turns(&self.plies[known].changes, color)
        {
            known -= 1;
        }
        if !self.plies[known].ready[c] {
            self.plies[ply].sums[c] = self.network.sums(board, side);
            self.plies[ply].ready[c] = true;
            return;
        }
        for at in known + 1..=ply {
            let (above, below) = self.plies.split_at_mut(at);
            let (before, now) = (&above[at - 1].sums[c], &mut below[0]);
            #[cfg(target_arch = "x86_64")]
            if self.wide {
                // SAFETY: `is_wide` said that the processor can do it.
                unsafe {
                    self.network
                        .change_wide(before, &now.changes, side, &mut now.sums[c]);
                }
                now.ready[c] = true;
                continue;
            }
            self.network
                .change(before, &now.changes, side, &mut now.sums[c]);
            now.ready[c] = true;
        }
    }
}

impl Evaluation for Learned {
    fn start(&mut self, root: &Node) {
        self.enter(0, root);
    }

    fn enter(&mut self, ply: usize, next: &Node) {
        let slot = &mut self.plies[ply];
        slot.changes = next.changes;
        slot.ready = [false; 2];
    }

    fn value(&mut self, ply: usize, node: &Node) -> i32 {
        let board = &node.board;
        if board.white().count() == 1 || board.black().count() == 1 {
            // How to mate a bare king, the reference knows better.
            return evaluate(node);
        }
        for color in Color::ALL {
            if !self.plies[ply].ready[color as usize] {
                self.update(ply, board, color);
            }
        }
        let turn = node.turn;
        let sums = [turn, !turn].map(|color| &self.plies[ply].sums[color as usize]);
        let value = self.sum_up(board.occupied().count(), sums);
        value * winnable(board, turn.fold_wb(value, -value)) / 64
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::node::tests::walk;

    /// A network of random weights, up to the largest that there can be.
    fn random_bytes() -> Vec<u8> {
        let mut random = prove::corpus::Seeded::new(5);
        let mut bytes = MAGIC.to_vec();
        for short in [VERSION, HIDDEN as u16, BUCKETS as u16, 400] {
            bytes.extend(short.to_le_bytes());
        }
        bytes.extend((0..INPUTS * HIDDEN).map(|_| random.draw() as u8));
        let shorts = HIDDEN + 2 * HIDDEN * BUCKETS;
        bytes.extend((0..shorts).flat_map(|_| (random.below(511) as i16 - 255).to_le_bytes()));
        bytes.extend((0..BUCKETS).flat_map(|_| (random.below(9999) as i32).to_le_bytes()));
        sealed(bytes)
    }

    fn sealed(mut bytes: Vec<u8>) -> Vec<u8> {
        let sum = fnv(&bytes);
        bytes.extend(sum.to_le_bytes());
        bytes
    }

    /// The definition, in wide integers and without anything carried along:
    /// the weights are taken from the bytes.
    fn plain(bytes: &[u8], board: &Board, turn: Color) -> i32 {
        let short = |at: usize| i128::from(i16::from_le_bytes([bytes[at], bytes[at + 1]]));
        let bias = 16 + INPUTS * HIDDEN;
        let last = bias + 2 * HIDDEN;
        let men: Vec<(Square, Piece)> = board.iter().collect();
        let bucket = (men.len() - 2) / 4;
        let mut sum = 0;
        for (i, color) in [turn, !turn].into_iter().enumerate() {
            let king = board.king_of(color).expect("a king");
            for unit in 0..HIDDEN {
                let mut on = short(bias + 2 * unit);
                for &(square, piece) in &men {
                    let mut at = square as usize;
                    if color.is_black() {
                        at ^= 56;
                    }
                    if king as usize % 8 < 4 {
                        at ^= 7;
                    }
                    let theirs = usize::from(piece.color != color);
                    let input = (6 * theirs + piece.role as usize - 1) * 64 + at;
                    on += i128::from(bytes[16 + input * HIDDEN + unit] as i8);
                }
                let on = on.clamp(0, 127);
                sum += on * on * short(last + 2 * ((2 * bucket + i) * HIDDEN + unit));
            }
        }
        let at = last + 4 * HIDDEN * BUCKETS + 4 * bucket;
        let own = i32::from_le_bytes(bytes[at..at + 4].try_into().expect("four bytes"));
        let value = (sum / 127 + i128::from(own)) * short(14) / (127 * 64);
        value.clamp(-10_000, 10_000) as i32
    }

    #[test]
    fn values_are_those_of_the_definition() {
        let bytes = random_bytes();
        let network = Network::read(&bytes).expect("a network");
        let mut seen = std::collections::HashSet::new();
        walk(10, |_, node| {
            let value = network.of(&node.board, node.turn);
            assert_eq!(value, plain(&bytes, &node.board, node.turn));
            seen.insert(value);
        });
        assert!(seen.len() > 100);
    }

    /// As in a tree: most positions are entered without being asked about.
    #[test]
    fn what_a_move_changes_gives_what_all_gives() {
        let network = Arc::new(Network::read(&random_bytes()).expect("a network"));
        let mut learned = Learned::new(network.clone());
        let (mut ply, mut asked, mut turned) = (0, 0, 0);
        walk(300, |_, node| {
            if node.changes.come[0].is_none() || ply == MOST_PLIES {
                learned.start(node);
                ply = 0;
            } else {
                ply += 1;
                learned.enter(ply, node);
            }
            turned += usize::from(turns(&node.changes, !node.turn));
            if ply % 5 < 3 {
                return;
            }
            asked += 1;
            let value = learned.value(ply, node);
            let whole = network.of(&node.board, node.turn);
            let drawish = winnable(&node.board, node.turn.fold_wb(whole, -whole)) < 64;
            let bare = Color::ALL.map(|color| node.board.by_color(color).count() == 1);
            assert!(value == whole || drawish || bare.contains(&true));
            for color in Color::ALL {
                let anew = network.sums(&node.board, Side::new(&node.board, color));
                if learned.plies[ply].ready[color as usize] {
                    assert_eq!(learned.plies[ply].sums[color as usize], anew);
                }
            }
        });
        assert!(asked > 5000 && turned > 100, "{asked} {turned}");
    }

    #[test]
    fn what_is_damaged_is_not_taken() {
        let good = random_bytes();
        assert!(Network::read(&good).is_ok());
        let fault = |bytes: &[u8]| Network::read(bytes).err();
        assert_eq!(fault(b""), Some(NetworkFault::Missing));
        assert_eq!(fault(&good[..10]), Some(NetworkFault::Foreign));
        assert_eq!(fault(&good[..20]), Some(NetworkFault::Damaged));
        assert_eq!(fault(&good[..good.len() - 1]), Some(NetworkFault::Damaged));
        for at in [16, good.len() / 2, good.len() - 1] {
            let mut bad = good.clone();
            bad[at] ^= 4;
            assert_eq!(fault(&bad), Some(NetworkFault::Damaged), "{at}");
        }
        let mut older = good[..good.len() - 8].to_vec();
        older[8] = 0;
        assert_eq!(fault(&sealed(older)), Some(NetworkFault::Foreign));
    }
}
