//! Which moves to look at first: the table's move, winning captures, killers,
//! countermoves, then quiet moves by what they did elsewhere in the tree.

use shakmaty::{Chess, Color, Move, MoveList, Position, Role};

use super::exchange::gains;
use super::table::{Code, worth};

const FIRST: i32 = 1 << 30;
const WINNING: i32 = 1 << 24;
const KILLER: i32 = 1 << 22;
const COUNTER: i32 = 1 << 21;
const LOSING: i32 = -(1 << 24);
/// The largest history value, either way.
const MOST: i32 = 1 << 13;

/// What a search remembers of quiet moves, and of captures that failed.
pub(super) struct Order {
    /// By side, from and to.
    history: Vec<i16>,
    /// By the man and square of the move before, then of this move.
    follow: Vec<i16>,
    /// The answer that refuted a man's move to a square.
    counter: Vec<Code>,
}

/// A man's move to a square: what the tables above are keyed by.
pub(super) type Step = Option<(Color, Role, u8)>;

/// What was played on the way to a node.
#[derive(Clone, Copy, Default)]
pub(super) struct Way {
    pub killers: [Code; 2],
    /// The move just played, and the one before it.
    pub last: Step,
    pub before: Step,
}

impl Way {
    /// A quiet move cut the search off here: its siblings try it early.
    pub fn killed_by(&mut self, code: Code) {
        if self.killers[0] != code {
            self.killers = [code, self.killers[0]];
        }
    }
}

/// Moves with the order in which to look at them.
pub(super) struct Queue {
    moves: MoveList,
    scores: [i32; 256],
    next: usize,
}

impl Queue {
    pub fn new(moves: MoveList, mut score: impl FnMut(Move) -> i32) -> Queue {
        let mut scores = [0; 256];
        for (slot, &m) in scores.iter_mut().zip(&moves) {
            *slot = score(m);
        }
        Queue {
            moves,
            scores,
            next: 0,
        }
    }
}

impl Iterator for Queue {
    /// The move and its order: negative from the losing captures on.
    type Item = (Move, i32);

    fn next(&mut self) -> Option<(Move, i32)> {
        let at = self.next;
        if at >= self.moves.len() {
            return None;
        }
        let mut best = at;
        for i in at + 1..self.moves.len() {
            if self.scores[i] > self.scores[best] {
                best = i;
            }
        }
        self.moves.swap(at, best);
        self.scores.swap(at, best);
        self.next += 1;
        Some((self.moves[at], self.scores[at]))
    }
}

const STEPS: usize = 2 * 6 * 64;

impl Order {
    pub fn new() -> Order {
        Order {
            history: vec![0; 2 * 64 * 64],
            follow: vec![0; STEPS * STEPS / 2],
            counter: vec![Code::NONE; STEPS],
        }
    }

    /// For a new question: what was learnt counts half.
    pub fn grow_older(&mut self) {
        self.history.iter_mut().for_each(|h| *h /= 2);
        self.follow.iter_mut().for_each(|h| *h /= 2);
    }

    pub fn rank(&self, position: &Chess, m: Move, hash: Code, way: &Way) -> i32 {
        let code = Code::of(m);
        if code == hash {
            return FIRST;
        }
        if is_loud(m) {
            return rank_loud(position, m);
        }
        if code == way.killers[0] {
            return KILLER + 1;
        }
        if code == way.killers[1] {
            return KILLER;
        }
        if step_index(way.last).is_some_and(|i| self.counter[i] == code) {
            return COUNTER;
        }
        self.quiet(position.turn(), m, way)
    }

    /// What the tables say of a quiet move.
    pub fn quiet(&self, turn: Color, m: Move, way: &Way) -> i32 {
        let mut sum = i32::from(self.history[from_to(turn, m)]);
        for prior in [way.last, way.before] {
            if let Some(i) = follow_index(prior, m) {
                sum += i32::from(self.follow[i]);
            }
        }
        sum
    }

    /// A quiet move cut the search off after the others had failed to.
    pub fn learn(&mut self, turn: Color, best: Move, failed: &[Move], depth: i32, way: &Way) {
        let by = (16 * depth * depth + 32 * depth).min(1600);
        self.shift(turn, best, by, way);
        for &m in failed {
            self.shift(turn, m, -by, way);
        }
        if let Some(i) = step_index(way.last) {
            self.counter[i] = Code::of(best);
        }
    }

    fn shift(&mut self, turn: Color, m: Move, by: i32, way: &Way) {
        pull(&mut self.history[from_to(turn, m)], by);
        for prior in [way.last, way.before] {
            if let Some(i) = follow_index(prior, m) {
                pull(&mut self.follow[i], by);
            }
        }
    }
}

/// Captures and promotions to a queen.
pub(super) fn is_loud(m: Move) -> bool {
    m.is_capture() || m.promotion() == Some(Role::Queen)
}

pub(super) fn rank_loud(position: &Chess, m: Move) -> i32 {
    let taken = m.capture().map_or(0, worth) + m.promotion().map_or(0, worth);
    let order = taken * 8 - worth(m.role()) / 16;
    let fine = taken >= worth(m.role()) || gains(position.board(), position.turn(), m, 0);
    order + if fine { WINNING } else { LOSING }
}

/// The step that `m` is when `turn` plays it.
pub(super) fn step(turn: Color, m: Move) -> Step {
    Some((turn, m.role(), m.to() as u8))
}

fn pull(slot: &mut i16, by: i32) {
    let old = i32::from(*slot);
    *slot = (old + by - old * by.abs() / MOST) as i16;
}

fn from_to(turn: Color, m: Move) -> usize {
    let from = m.from().map_or(0, |s| s as usize);
    (turn as usize) << 12 | from << 6 | m.to() as usize
}

fn step_index(step: Step) -> Option<usize> {
    let (color, role, to) = step?;
    Some(((color as usize * 6) + role as usize - 1) * 64 + usize::from(to))
}

/// The mover's colour is left out of the second step: it follows from what
/// the first one is to this node.
fn follow_index(prior: Step, m: Move) -> Option<usize> {
    let first = step_index(prior)?;
    let second = (m.role() as usize - 1) * 64 + m.to() as usize;
    Some(first * (STEPS / 2) + second)
}
