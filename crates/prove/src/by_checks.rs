//! Long mates in which every move of the solver gives check: a depth-first
//! proof-number search (df-pn; Nagai 2002), and the walk that confirms what
//! it found.
//!
//! Nodes are positions together with the moves left, so no line ever comes
//! back to a node. A proof found here is walked through once more, each reply
//! played and each mate looked at, before anybody hears of it. That there is
//! no mate by checks says nothing about quiet moves; the exact search is for
//! that.

use std::collections::HashMap;
use std::hash::{BuildHasherDefault, Hasher};

use shakmaty::Move;

use super::bitboards::Bitboards;
use super::generate::Steps;
use super::search::Search;
use super::spend::Stopped;
use super::step::Step;

/// Stands for "cannot be": proof numbers stay below it.
const INFINITE: u32 = u32::MAX;
/// Sums of proof numbers stop here.
const LARGEST: u32 = INFINITE / 4;

/// How hard a node is, seen by the side to move: `win` is the least number of
/// leaves to settle so that it gets its way, `loss` that it does not.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Effort {
    win: u32,
    loss: u32,
}

const WON: Effort = Effort {
    win: 0,
    loss: INFINITE,
};
const LOST: Effort = Effort {
    win: INFINITE,
    loss: 0,
};

impl Effort {
    fn is_settled(self) -> bool {
        self.win == 0 || self.loss == 0
    }
}

/// A position and the solver's moves left in it.
type Node = (Bitboards, u8);

/// The length and the first step of each solver's node in a proof.
type Confirmed = HashMap<Node, (u8, Step)>;

struct Child {
    step: Step,
    board: Bitboards,
    effort: Effort,
}

/// The df-pn search with its memory.
struct ByChecks<'s, 'w> {
    search: &'s mut Search<'w>,
    known: HashMap<Node, Effort, Hashing>,
    /// Most nodes that `known` may hold.
    capacity: usize,
}

impl Search<'_> {
    /// A mate within `n` by checks alone: the proof's longest line. `None` if
    /// there is none.
    pub fn by_checks(
        &mut self,
        board: &Bitboards,
        n: u8,
        table_bytes: usize,
    ) -> Result<Option<Vec<Move>>, Stopped> {
        if n == 0 {
            return Ok(None);
        }
        // What an entry takes in the map, with its share of empty places.
        let entry = 2 * (size_of::<(Node, Effort)>() + 1);
        let mut prover = ByChecks {
            search: self,
            known: HashMap::default(),
            capacity: (table_bytes / entry).max(1000),
        };
        let effort = prover.settle((*board, n), true, LARGEST, LARGEST)?;
        if effort.win != 0 {
            return Ok(None);
        }
        let mut confirmed = Confirmed::new();
        if prover.confirm(board, n, &mut confirmed)?.is_none() {
            return Err(Stopped);
        }
        Ok(Some(longest_line(board, &confirmed)))
    }
}

/// The proof's longest line. A position that the proof comes to with more and with fewer
/// moves left is left by the shorter way, so that no line comes back to it.
fn longest_line(board: &Bitboards, confirmed: &Confirmed) -> Vec<Move> {
    let mut shortest: HashMap<Bitboards, (u8, Step)> = HashMap::new();
    for (&(board, _), &found) in confirmed {
        let kept = shortest.entry(board).or_insert(found);
        *kept = found.min(*kept);
    }
    let mut line = Vec::new();
    let mut at = *board;
    while let Some(&(_, answer)) = shortest.get(&at) {
        line.push(at.move_of(answer));
        at = at.play(answer);
        let mut replies = Steps::new();
        at.legal(&at.constraints(), &mut replies);
        let length = |&reply: &Step| shortest.get(&at.play(reply)).map(|found| found.0);
        let Some(&reply) = replies.iter().max_by_key(|&reply| length(reply)) else {
            break;
        };
        line.push(at.move_of(reply));
        at = at.play(reply);
    }
    line
}

impl ByChecks<'_, '_> {
    /// Works on a node until its effort reaches a bound or it is settled.
    fn settle(
        &mut self,
        node: Node,
        solver: bool,
        win_bound: u32,
        loss_bound: u32,
    ) -> Result<Effort, Stopped> {
        self.search.spend.node()?;
        let mut children = self.children(&node, solver);
        loop {
            let effort = combined(&children);
            if effort.is_settled() || effort.win >= win_bound || effort.loss >= loss_bound {
                self.keep(node, effort);
                return Ok(effort);
            }
            let (best, second) = two_best(&children);
            let child = &children[best];
            // The child's loss is this side's win.
            let child_loss_bound = win_bound.min(second.saturating_add(second / 4 + 1));
            let child_win_bound = loss_bound - (effort.loss - child.effort.win.min(effort.loss));
            let next = (child.board, node.1 - u8::from(solver));
            children[best].effort =
                self.settle(next, !solver, child_win_bound, child_loss_bound)?;
        }
    }

    fn keep(&mut self, node: Node, effort: Effort) {
        if self.known.len() >= self.capacity {
            // Settled nodes are worth more than guesses.
            self.known.retain(|_, effort| effort.is_settled());
            if self.known.len() * 2 >= self.capacity {
                self.known.clear();
            }
        }
        self.known.insert(node, effort);
    }

    fn children(&self, node: &Node, solver: bool) -> Vec<Child> {
        let (board, left) = node;
        let mut steps = Steps::new();
        board.legal(&board.constraints(), &mut steps);
        let left = left - u8::from(solver);
        steps
            .into_iter()
            .filter_map(|step| {
                let after = board.play(step);
                let effort = if solver {
                    first_defence(&after, left)?
                } else {
                    first_attack(&after, left)
                };
                let effort = match self.known.get(&(after, left)) {
                    Some(&known) if !effort.is_settled() => known,
                    _ => effort,
                };
                Some(Child {
                    step,
                    board: after,
                    effort,
                })
            })
            .collect()
    }

    /// Walks through the proof below a solver's node and notes for each its
    /// length and its step. `None` if a mate turns out to be none.
    fn confirm(
        &mut self,
        board: &Bitboards,
        left: u8,
        confirmed: &mut Confirmed,
    ) -> Result<Option<u8>, Stopped> {
        if let Some(&(length, _)) = confirmed.get(&(*board, left)) {
            return Ok(Some(length));
        }
        self.search.spend.node()?;
        let mate = board.mate_in_one();
        if !mate.is_none() {
            let mates = board.play(mate).is_checkmate();
            confirmed.insert((*board, left), (1, mate));
            return Ok(mates.then_some(1));
        }
        let step = self.proved_step(board, left)?;
        let after = board.play(step);
        let mut replies = Steps::new();
        after.legal(&after.constraints(), &mut replies);
        let mut length = 1;
        for reply in replies {
            let Some(rest) = self.confirm(&after.play(reply), left - 1, confirmed)? else {
                return Ok(None);
            };
            length = length.max(1 + rest);
        }
        confirmed.insert((*board, left), (length, step));
        Ok(Some(length))
    }

    /// The step that wins in a node known to be won; found again if it was
    /// forgotten.
    fn proved_step(&mut self, board: &Bitboards, left: u8) -> Result<Step, Stopped> {
        loop {
            let children = self.children(&(*board, left), true);
            if let Some(child) = children.iter().find(|child| child.effort.loss == 0) {
                return Ok(child.step);
            }
            self.settle((*board, left), true, LARGEST, LARGEST)?;
        }
    }
}

/// The effort of a node with the defence to move, `None` if it is not in
/// check.
fn first_defence(board: &Bitboards, left: u8) -> Option<Effort> {
    let constraints = board.constraints();
    if constraints.checkers.is_empty() {
        return None;
    }
    let mut replies = Steps::new();
    board.legal(&constraints, &mut replies);
    Some(match replies.len() {
        0 => LOST,
        _ if left == 0 => WON,
        // Any one reply saves the defence, all must fail for the solver.
        replies => Effort {
            win: 1,
            loss: replies as u32,
        },
    })
}

/// The effort of a node with the solver to move.
fn first_attack(board: &Bitboards, left: u8) -> Effort {
    if left > 0 && !board.mate_in_one().is_none() {
        WON
    } else if left <= 1 {
        LOST
    } else {
        Effort { win: 1, loss: 1 }
    }
}

/// One child lost for the other side wins; all won for it lose.
fn combined(children: &[Child]) -> Effort {
    let win = children.iter().map(|child| child.effort.loss).min();
    let loss = children.iter().fold(0u32, |sum, child| {
        if sum == INFINITE || child.effort.win == INFINITE {
            INFINITE
        } else {
            (sum + child.effort.win).min(LARGEST - 1)
        }
    });
    Effort {
        win: win.unwrap_or(INFINITE),
        loss,
    }
}

/// The child that is easiest to win, and how hard the next one is.
fn two_best(children: &[Child]) -> (usize, u32) {
    let (mut best, mut least, mut second) = (0, INFINITE, INFINITE);
    for (i, child) in children.iter().enumerate() {
        if child.effort.loss < least {
            (best, second, least) = (i, least, child.effort.loss);
        } else {
            second = second.min(child.effort.loss);
        }
    }
    (best, second)
}

/// How positions are hashed.
pub(super) type Hashing = BuildHasherDefault<Mixer>;

/// A quick hash for positions.
#[derive(Default)]
pub(super) struct Mixer(u64);

impl Hasher for Mixer {
    fn write(&mut self, bytes: &[u8]) {
        for &byte in bytes {
            self.write_u64(byte.into());
        }
    }

    fn write_u64(&mut self, word: u64) {
        self.0 = (self.0 ^ (self.0 >> 32) ^ word).wrapping_mul(0x9e37_79b9_7f4a_7c15);
    }

    fn finish(&self) -> u64 {
        self.0 ^ (self.0 >> 32)
    }
}
