//! Which moves to look at first: the table's move, winning captures, killers,
//! countermoves, then quiet moves by what they did elsewhere in the tree, and
//! losing captures last. Each stage makes its moves only when it is reached.

use shakmaty::{Bitboard, Color, Role};

use super::exchange::gains;
use super::moves::{self, Moves};
use super::node::Node;
use super::table::{Code, worth};

const KILLER: i32 = 1 << 22;
pub(super) const COUNTER: i32 = 1 << 21;
/// Added to the rank of captures that win or lose.
const WINNING: i32 = 1 << 24;
const LOSING: i32 = -(1 << 24);
/// The largest history value, either way.
const MOST: i32 = 1 << 13;

/// What a search remembers of moves.
pub(super) struct Order {
    /// By side, from and to.
    history: Vec<i16>,
    /// By the man and square of the move before (or the one before that), then of this move.
    continuation_history: Vec<i16>,
    /// Captures, by the man, its target and the man taken.
    captures: Vec<i16>,
    /// The answer that refuted a man's move to a square.
    countermoves: Vec<Code>,
}

/// A man's move to a square, what the tables above are keyed by; or none.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Step(u16);

impl Default for Step {
    fn default() -> Step {
        Step::NONE
    }
}

impl Step {
    pub const NONE: Step = Step(u16::MAX);

    /// The step that a move of a node is.
    pub fn of(node: &Node, code: Code) -> Step {
        let man = node.turn as usize * 6 + node.mover(code) as usize - 1;
        Step((man * 64 + code.to() as usize) as u16)
    }

    fn index(self) -> Option<usize> {
        (self != Step::NONE).then_some(self.0.into())
    }

    /// The step without the colour that makes it: it follows from what the
    /// step before is to a node.
    fn half(self) -> usize {
        usize::from(self.0) % (STEPS / 2)
    }
}

/// What the moves before a node say of which to try first in it.
#[derive(Clone, Copy, Default)]
pub(super) struct PlyContext {
    pub killers: [Code; 2],
    /// The move just played, and the one before it.
    pub last: Step,
    pub before: Step,
}

impl PlyContext {
    /// A quiet move cut the search off here: its siblings try it early.
    pub fn add_killer(&mut self, code: Code) {
        if self.killers[0] != code {
            self.killers = [code, self.killers[0]];
        }
    }
}

const STEPS: usize = 2 * 6 * 64;

impl Order {
    pub fn new() -> Order {
        Order {
            history: vec![0; 2 * 64 * 64],
            continuation_history: vec![0; STEPS * STEPS / 2],
            captures: vec![0; STEPS * 8],
            countermoves: vec![Code::NONE; STEPS],
        }
    }

    /// Forgets what was learnt.
    pub fn forget(&mut self) {
        for table in [
            &mut self.history,
            &mut self.continuation_history,
            &mut self.captures,
        ] {
            table.fill(0);
        }
        self.countermoves.fill(Code::NONE);
    }

    /// For a new question: what was learnt counts half.
    pub fn age(&mut self) {
        for table in [
            &mut self.history,
            &mut self.continuation_history,
            &mut self.captures,
        ] {
            table.iter_mut().for_each(|h| *h /= 2);
        }
    }

    /// What the tables say of a quiet move.
    pub fn quiet(&self, node: &Node, code: Code, context: &PlyContext) -> i32 {
        self.told(node, context)(code)
    }

    /// What the tables say of the quiet moves of a node.
    fn told(&self, node: &Node, context: &PlyContext) -> impl Fn(Code) -> i32 {
        let history = &self.history[from_to(node.turn, Code::NONE)..][..64 * 64];
        let continuation_history = |prior: Step| {
            let first = prior.index()? * (STEPS / 2);
            self.continuation_history.get(first..first + STEPS / 2)
        };
        let (last, before) = (
            continuation_history(context.last),
            continuation_history(context.before),
        );
        move |code| {
            let step = Step::of(node, code).half();
            let of = |row: Option<&[i16]>| row.map_or(0, |row| i32::from(row[step]));
            i32::from(history[code.squares()]) + of(last) + of(before)
        }
    }

    /// What the tables say of a capture.
    fn capture(&self, node: &Node, code: Code) -> i32 {
        i32::from(self.captures[capture_index(node, code)])
    }

    /// A move cut the search off after others had failed to: quiet ones if it
    /// is quiet, and captures in any case.
    pub fn learn(
        &mut self,
        node: &Node,
        best: Code,
        quiets: &[Code],
        captures: &[Code],
        depth: i32,
        context: &PlyContext,
    ) {
        let by = (16 * depth * depth + 32 * depth).min(1600);
        if node.is_loud(best) {
            pull(&mut self.captures[capture_index(node, best)], by);
        } else {
            self.shift(node, best, by, context);
            for &code in quiets {
                self.shift(node, code, -by, context);
            }
            if let Some(i) = context.last.index() {
                self.countermoves[i] = best;
            }
        }
        for &code in captures {
            pull(&mut self.captures[capture_index(node, code)], -by);
        }
    }

    fn shift(&mut self, node: &Node, code: Code, by: i32, context: &PlyContext) {
        let step = Step::of(node, code);
        pull(&mut self.history[from_to(node.turn, code)], by);
        for prior in [context.last, context.before] {
            if let Some(i) = continuation_index(prior, step) {
                pull(&mut self.continuation_history[i], by);
            }
        }
    }
}

/// Which moves are wanted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Wanted {
    All,
    /// Captures and promotions to a queen.
    Loud,
    /// These, and quiet moves after them in any order.
    LoudThenQuiet,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Stage {
    Hash,
    MakeLoud,
    Loud,
    Killers,
    MakeQuiet,
    Quiet,
    Losing,
    Done,
}

/// The legal moves of a node, one after the other.
pub(super) struct Picker {
    stage: Stage,
    wanted: Wanted,
    hash: Code,
    refuters: [Code; 3],
    context: PlyContext,
    pub pinned: Bitboard,
    moves: Moves,
    /// The next of `moves` to give out, or of the refuters.
    next: usize,
    /// How many of `moves`, from the first on, are captures that lose.
    losing: usize,
}

impl Picker {
    pub fn new(
        node: &Node,
        order: &Order,
        hash: Code,
        context: &PlyContext,
        wanted: Wanted,
    ) -> Picker {
        let pinned = node.pinned();
        let fits =
            (wanted == Wanted::All || node.is_loud(hash)) && moves::is_legal(node, hash, pinned);
        let countermove = context
            .last
            .index()
            .map_or(Code::NONE, |i| order.countermoves[i]);
        Picker {
            stage: Stage::Hash,
            wanted,
            hash: if fits { hash } else { Code::NONE },
            refuters: [context.killers[0], context.killers[1], countermove],
            context: *context,
            pinned,
            moves: Moves::new(),
            next: 0,
            losing: 0,
        }
    }

    /// The next move and its rank: below zero from the losing captures on, and
    /// for quiet moves that failed more than they worked.
    pub fn next(&mut self, node: &Node, order: &Order) -> Option<(Code, i32)> {
        loop {
            match self.stage {
                Stage::Hash => {
                    self.stage = Stage::MakeLoud;
                    if self.hash != Code::NONE {
                        return Some((self.hash, 1 << 30));
                    }
                }
                Stage::MakeLoud => {
                    moves::loud(node, &mut self.moves);
                    for (code, rank) in &mut self.moves {
                        *rank = rank_loud(node, *code) + order.capture(node, *code) / 8;
                    }
                    self.stage = Stage::Loud;
                }
                Stage::Loud => {
                    let Some((code, rank)) = self.best() else {
                        self.stage = match self.wanted {
                            Wanted::All => Stage::Killers,
                            Wanted::Loud => Stage::Done,
                            Wanted::LoudThenQuiet => Stage::MakeQuiet,
                        };
                        self.next = 0;
                        continue;
                    };
                    if code == self.hash || !node.is_safe(code, self.pinned) {
                        continue;
                    }
                    if wins(node, code) {
                        return Some((code, rank + WINNING));
                    }
                    self.moves[self.losing] = (code, rank + LOSING);
                    self.losing += 1;
                }
                Stage::Killers => {
                    let Some(&code) = self.refuters.get(self.next) else {
                        self.stage = Stage::MakeQuiet;
                        continue;
                    };
                    self.next += 1;
                    if !self.refuters[..self.next - 1].contains(&code)
                        && code != self.hash
                        && !node.is_loud(code)
                        && moves::is_legal(node, code, self.pinned)
                    {
                        let rank = [KILLER + 1, KILLER, COUNTER][self.next - 1];
                        return Some((code, rank));
                    }
                }
                Stage::MakeQuiet => {
                    self.moves.truncate(self.losing);
                    moves::quiet(node, &mut self.moves);
                    if self.wanted == Wanted::All {
                        let told = order.told(node, &self.context);
                        for (code, rank) in &mut self.moves[self.losing..] {
                            *rank = told(*code);
                        }
                    }
                    self.next = self.losing;
                    self.stage = Stage::Quiet;
                }
                Stage::Quiet => {
                    let next = match self.wanted == Wanted::All {
                        true => self.best(),
                        false => self.any(),
                    };
                    let Some((code, rank)) = next else {
                        self.next = 0;
                        self.stage = Stage::Losing;
                        continue;
                    };
                    let given = self.wanted == Wanted::All && self.refuters.contains(&code);
                    if code != self.hash && !given && node.is_safe(code, self.pinned) {
                        return Some((code, rank));
                    }
                }
                Stage::Losing => {
                    if self.next < self.losing && self.wanted == Wanted::All {
                        self.next += 1;
                        return Some(self.moves[self.next - 1]);
                    }
                    self.stage = Stage::Done;
                }
                Stage::Done => return None,
            }
        }
    }

    fn any(&mut self) -> Option<(Code, i32)> {
        self.next += 1;
        self.moves.get(self.next - 1).copied()
    }

    /// Takes the best of the moves that are left.
    fn best(&mut self) -> Option<(Code, i32)> {
        let at = self.next;
        let rest = self.moves.get_mut(at..)?;
        let (mut best, mut most) = (0, rest.first()?.1);
        for (i, &(_, rank)) in rest.iter().enumerate().skip(1) {
            if rank > most {
                (best, most) = (i, rank);
            }
        }
        rest.swap(0, best);
        self.next += 1;
        Some(self.moves[at])
    }
}

/// By the man taken, then by the man that takes.
fn rank_loud(node: &Node, code: Code) -> i32 {
    let taken = node.taken(code).map_or(0, worth) + code.promotion().map_or(0, worth);
    taken * 8 - worth(node.mover(code)) / 16
}

/// Whether a loud move loses no material.
fn wins(node: &Node, code: Code) -> bool {
    let taken = node.taken(code).map_or(0, worth) + code.promotion().map_or(0, worth);
    taken >= worth(node.mover(code)) || gains(node, code, 0)
}

fn pull(slot: &mut i16, by: i32) {
    let old = i32::from(*slot);
    *slot = (old + by - old * by.abs() / MOST) as i16;
}

fn from_to(turn: Color, code: Code) -> usize {
    (turn as usize) << 12 | code.squares()
}

fn capture_index(node: &Node, code: Code) -> usize {
    let Step(step) = Step::of(node, code);
    let taken = node.taken(code).map_or(0, |role: Role| role as usize);
    usize::from(step) * 8 + taken
}

fn continuation_index(prior: Step, step: Step) -> Option<usize> {
    Some(prior.index()? * (STEPS / 2) + step.half())
}
