//! Draws by force, proved.
//!
//! A side *holds a draw by force* if, whatever the other side replies, it can bring
//! about mate, stalemate or a dead position, or stay for ever among finitely many
//! positions. What proves it is a *plan*: for each of those positions with that side to
//! move one move, after it every legal reply, and after each reply again a position of
//! the plan, or the end of the game other than by being mated. Two positions are the
//! same if men, side to move, castling rights and, where a capture there is legal, the
//! en passant square are (FIDE Laws 9.2). Nothing leads out of a plan and it is finite,
//! so a game that stays in it repeats a position as often as one likes: at the third
//! time the holder may claim the draw (9.2), at the fifth it is drawn (9.6). What stood
//! on the board before, and moves without capture or pawn move (9.3, 9.6), can only end
//! the game sooner, and drawn. A position is dead here if nobody has the men to mate
//! with: bare kings, beside them one knight or one bishop, or bishops alone, all on
//! squares of one colour; the Laws (5.2) know more dead positions, which do not count.
//!
//! It says nothing of whether the holder could win instead.
//!
//! The plans that are looked for are *plans of checks*: every move of the holder's gives
//! check or ends the game, but for a first move that is given. That there is no such
//! plan says nothing about quiet moves.
//!
//! The proof is a greatest fixed point, found lazily. Each position takes a move whose
//! replies are not known to be lost, and every position so reached is looked at in its
//! turn; where all moves are used up the position is lost, and whoever relied on it takes
//! his next move. When nothing is left to be looked at, the moves taken are a plan. First
//! only plans that go a few moves from the start are looked for.

use std::collections::HashMap;
use std::fmt::Write;

use shakmaty::fen::Fen;
use shakmaty::{Bitboard, CastlingMode, Chess, EnPassantMode, Move, Role};

use super::bitboards::Bitboards;
use super::by_checks::Hashing;
use super::generate::Steps;
use super::spend::{Spend, Stopped};
use super::step::Step;
use super::{Prover, Watch};

/// How far from the start a plan may go, in moves, one attempt after the other.
const REACH: [u32; 5] = [3, 6, 12, 24, u32::MAX];

/// Bytes that a position takes at most, about, with what is known of it.
const BYTES: usize = 600;

/// What a position counts for, since every move in it is looked at.
const WEIGHT: u64 = 8;

/// Moves of a plan that are shown in one line at most.
const SHOWN: usize = 12;

/// A proof that the side to move holds a draw by force.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Plan {
    /// The positions with the holder to move; the first is the start. Each other is led
    /// to by one before it.
    pub turns: Vec<Turn>,
}

/// What the holder does in a position of a plan.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Turn {
    /// The move.
    pub mv: Move,
    /// Every legal reply, with the number of the turn that follows; `None` if the game
    /// is over, drawn. Empty if the move ends the game itself.
    pub replies: Vec<(Move, Option<usize>)>,
}

impl Plan {
    /// The first move, and what may follow: to the end of the game, or until a position
    /// stands on the board again.
    pub fn line(&self) -> Vec<Move> {
        let mut seen = vec![false; self.turns.len()];
        let (mut line, mut at) = (Vec::new(), 0);
        while line.len() < 2 * SHOWN && !std::mem::replace(&mut seen[at], true) {
            let turn = &self.turns[at];
            line.push(turn.mv);
            let fresh = |&&(_, next): &&(Move, Option<usize>)| next.is_some_and(|n| !seen[n]);
            let longest = turn.replies.iter().find(fresh);
            let again = || turn.replies.iter().find(|reply| reply.1.is_some());
            let Some(&(reply, next)) = longest.or_else(again).or(turn.replies.first()) else {
                break;
            };
            line.push(reply);
            match next {
                Some(next) => at = next,
                None => break,
            }
        }
        line
    }
}

impl Plan {
    /// The plan as a certificate that its first move holds a draw by force, by the grammar
    /// of `crates/certify/README.md`; `start` is the position it was found in.
    pub fn certificate(&self, start: &Chess) -> String {
        let fen = Fen::from_position(start, EnPassantMode::Legal);
        let mut text = format!("keyproof certificate 1\nfen {fen}\n");
        let uci = |m: Move| m.to_uci(CastlingMode::Standard);
        if let Some(first) = self.turns.first() {
            let _ = writeln!(text, "claim draw by {} node 1", uci(first.mv));
        }
        for (number, turn) in (1..).zip(&self.turns) {
            let _ = write!(text, "{number} d {}", uci(turn.mv));
            let mut words: Vec<String> = Vec::new();
            for &(reply, next) in &turn.replies {
                words.extend(next.map(|next| format!(" {}:{}", uci(reply), next + 1)));
            }
            words.sort();
            let _ = writeln!(text, "{}", words.concat());
        }
        text
    }
}

impl Prover {
    /// A plan of checks by which the side to move, in a game that is not over, holds a
    /// draw, beginning with one of `firsts` where they are given, checks or not. `None` if there is none, which does
    /// not say that the draw is not held.
    ///
    /// # Errors
    /// The positions looked at, if it is undecided.
    pub fn draw(
        &mut self,
        position: &Chess,
        firsts: Option<&[Move]>,
        watch: &mut dyn Watch,
    ) -> Result<Option<Plan>, u64> {
        let start = Bitboards::of(position);
        let steps: Option<Vec<Step>> =
            firsts.map(|firsts| firsts.iter().map(|&m| Step::of(m)).collect());
        let most = self.table_bytes / BYTES;
        let mut spend = Spend::new(self.budget, watch);
        let mut found = Ok(None);
        for reach in REACH {
            let mut graph = Graph::new(&mut spend, most, reach);
            found = graph.plan(start, steps.as_deref());
            if found != Ok(None) || !graph.cut {
                break;
            }
        }
        let nodes = spend.nodes;
        self.nodes += nodes;
        #[cfg(feature = "broken-prover")]
        let found = found.map(|found| {
            let any = shakmaty::Position::legal_moves(position).first().copied();
            let first = firsts.map_or(any, |firsts| firsts.first().copied());
            broken(first, found)
        });
        found.map_err(|Stopped| nodes)
    }
}

/// What was found, or now and then the contrary.
#[cfg(feature = "broken-prover")]
fn broken(first: Option<Move>, found: Option<Plan>) -> Option<Plan> {
    if !super::broken::flips() {
        return found;
    }
    let replies = Vec::new();
    match (found, first) {
        (None, Some(mv)) => Some(Plan {
            turns: vec![Turn { mv, replies }],
        }),
        _ => None,
    }
}

/// A position with the holder to move.
struct Node {
    board: Bitboards,
    /// Moves from the start, as it was first reached.
    depth: u32,
    /// What is still to be tried, the best last.
    moves: Vec<Step>,
    taken: Option<Taken>,
    /// Those that took a move which leads here; some may have taken another since.
    parents: Vec<usize>,
    /// How many of them still lead here.
    wanted: u32,
    lost: bool,
}

/// A move with its replies, and the nodes that these lead to.
struct Taken {
    step: Step,
    replies: Replies,
}

/// Replies, each with the node it leads to; `None` if the game is over, drawn.
type Replies = Vec<(Step, Option<usize>)>;

/// What a reply leads to.
enum Reached {
    Drawn,
    Lost,
    Node(usize),
}

struct Graph<'s, 'w> {
    spend: &'s mut Spend<'w>,
    most: usize,
    reach: u32,
    /// Whether a plan may have been missed since it would go further.
    cut: bool,
    nodes: Vec<Node>,
    ids: HashMap<Bitboards, usize, Hashing>,
    /// Nodes without a move taken, if they are still wanted.
    open: Vec<usize>,
}

impl Graph<'_, '_> {
    fn new<'s, 'w>(spend: &'s mut Spend<'w>, most: usize, reach: u32) -> Graph<'s, 'w> {
        Graph {
            spend,
            most,
            reach,
            cut: false,
            nodes: Vec::new(),
            ids: HashMap::default(),
            open: Vec::new(),
        }
    }

    fn plan(&mut self, start: Bitboards, firsts: Option<&[Step]>) -> Result<Option<Plan>, Stopped> {
        self.spend.nodes(WEIGHT)?;
        let mut steps = Steps::new();
        start.legal(&start.constraints(), &mut steps);
        let moves = match firsts {
            Some(firsts) => {
                steps.retain(|step| firsts.contains(step));
                let mut last = forcing(&start, &steps);
                let mut moves = steps.to_vec();
                moves.retain(|step| !last.contains(step));
                moves.append(&mut last);
                moves
            }
            None => forcing(&start, &steps),
        };
        let root = self.add(start, 0, moves);
        self.nodes[root].wanted = 1;
        self.open.push(root);
        while let Some(id) = self.open.pop() {
            let node = &self.nodes[id];
            if node.lost || node.taken.is_some() || node.wanted == 0 {
                continue;
            }
            if !self.take(id)? {
                self.lose(id);
            }
            if self.nodes[root].lost {
                return Ok(None);
            }
        }
        Ok(Some(self.taken()))
    }

    fn add(&mut self, board: Bitboards, depth: u32, moves: Vec<Step>) -> usize {
        let id = self.nodes.len();
        self.nodes.push(Node {
            board,
            depth,
            moves,
            taken: None,
            parents: Vec::new(),
            wanted: 0,
            lost: false,
        });
        self.ids.insert(board, id);
        id
    }

    /// Takes the next move of a node that no reply is known to refute; `false` if there
    /// is none left.
    fn take(&mut self, id: usize) -> Result<bool, Stopped> {
        while let Some(step) = self.nodes[id].moves.pop() {
            let Some(replies) = self.replies(id, step)? else {
                continue;
            };
            let next = replies.iter().filter_map(|&(_, next)| next);
            let mut next: Vec<usize> = next.collect();
            for &child in &next {
                self.nodes[child].parents.push(id);
                self.nodes[child].wanted += 1;
            }
            // What is soonest lost is looked at first.
            next.sort_by_key(|&child| std::cmp::Reverse(self.nodes[child].moves.len()));
            next.retain(|&child| self.nodes[child].taken.is_none());
            self.open.append(&mut next);
            self.nodes[id].taken = Some(Taken { step, replies });
            return Ok(true);
        }
        Ok(false)
    }

    /// The replies to a move, none if it ends the game; `None` if one of them is known to
    /// refute it.
    fn replies(&mut self, id: usize, step: Step) -> Result<Option<Replies>, Stopped> {
        let Node { board, depth, .. } = self.nodes[id];
        let after = board.play(step);
        let mut steps = Steps::new();
        if !after.is_dead() {
            after.legal(&after.constraints(), &mut steps);
        }
        steps.sort_by_key(|reply| !after.them().contains(reply.to()));
        let mut replies = Vec::with_capacity(steps.len());
        for reply in steps {
            let next = match self.reached(after.play(reply), depth + 1)? {
                Reached::Lost => return Ok(None),
                Reached::Drawn => None,
                Reached::Node(next) => Some(next),
            };
            replies.push((reply, next));
        }
        Ok(Some(replies))
    }

    fn reached(&mut self, board: Bitboards, depth: u32) -> Result<Reached, Stopped> {
        if let Some(&id) = self.ids.get(&board) {
            return Ok(match self.nodes[id].lost {
                true => Reached::Lost,
                false => Reached::Node(id),
            });
        }
        if board.is_dead() {
            return Ok(Reached::Drawn);
        }
        let constraints = board.constraints();
        let mut steps = Steps::new();
        board.legal(&constraints, &mut steps);
        if steps.is_empty() {
            return Ok(match constraints.checkers.any() {
                true => Reached::Lost,
                false => Reached::Drawn,
            });
        }
        if depth > self.reach {
            self.cut = true;
            return Ok(Reached::Lost);
        }
        self.spend.nodes(WEIGHT)?;
        if self.nodes.len() >= self.most {
            return Err(Stopped);
        }
        let moves = forcing(&board, &steps);
        let lost = moves.is_empty();
        let id = self.add(board, depth, moves);
        self.nodes[id].lost = lost;
        Ok(match lost {
            true => Reached::Lost,
            false => Reached::Node(id),
        })
    }

    /// Marks a node as lost; those that relied on it are to take another move, or are
    /// lost too.
    fn lose(&mut self, id: usize) {
        let mut lost = vec![id];
        while let Some(id) = lost.pop() {
            self.nodes[id].lost = true;
            for parent in std::mem::take(&mut self.nodes[id].parents) {
                let leads = |taken: &mut Taken| taken.replies.iter().any(|r| r.1 == Some(id));
                let Some(taken) = self.nodes[parent].taken.take_if(leads) else {
                    continue;
                };
                for child in taken.replies.into_iter().filter_map(|(_, next)| next) {
                    self.nodes[child].wanted -= 1;
                }
                match self.nodes[parent].moves.is_empty() {
                    true => lost.push(parent),
                    false => self.open.push(parent),
                }
            }
        }
    }

    /// The moves taken, from the start on.
    fn taken(&self) -> Plan {
        let mut numbers = HashMap::from([(0, 0)]);
        let mut order = vec![0];
        let mut turns = Vec::new();
        while let Some(&id) = order.get(turns.len()) {
            let node = &self.nodes[id];
            let Some(taken) = &node.taken else { break };
            let after = node.board.play(taken.step);
            let replies = taken.replies.iter().map(|&(reply, next)| {
                let number = next.map(|next| {
                    *numbers.entry(next).or_insert_with(|| {
                        order.push(next);
                        order.len() - 1
                    })
                });
                (after.move_of(reply), number)
            });
            let replies = replies.collect();
            let mv = node.board.move_of(taken.step);
            turns.push(Turn { mv, replies });
        }
        Plan { turns }
    }
}

/// Of these legal steps those that give check, the one with the fewest replies last;
/// one alone if it ends the game.
fn forcing(board: &Bitboards, steps: &Steps) -> Vec<Step> {
    let checks = board.checks();
    let mut found: Vec<(Step, usize)> = Vec::new();
    for &step in steps {
        let after = board.play(step);
        let constraints = after.constraints();
        let checks = checks.may_give(step) && constraints.checkers.any();
        let ends = match checks {
            true => false,
            false => after.is_stuck(&constraints),
        };
        let trades = step.is_promotion() || board.them().contains(step.to());
        if ends || trades && after.is_dead() {
            return vec![step];
        }
        if checks {
            let mut replies = Steps::new();
            after.legal(&constraints, &mut replies);
            if replies.is_empty() {
                return vec![step];
            }
            found.push((step, replies.len()));
        }
    }
    found.sort_by_key(|&(_, replies)| std::cmp::Reverse(replies));
    found.into_iter().map(|(step, _)| step).collect()
}

impl Bitboards {
    /// Whether neither side has the men to mate with, whatever is played.
    fn is_dead(&self) -> bool {
        let by = |role| self.by(role);
        if (by(Role::Pawn) | by(Role::Rook) | by(Role::Queen)).any() {
            return false;
        }
        let (knights, bishops) = (by(Role::Knight), by(Role::Bishop));
        match knights.count() {
            0 => {
                bishops.is_subset(Bitboard::DARK_SQUARES)
                    || bishops.is_subset(Bitboard::LIGHT_SQUARES)
            }
            1 => bishops.is_empty(),
            _ => false,
        }
    }
}

#[cfg(test)]
mod tests;
