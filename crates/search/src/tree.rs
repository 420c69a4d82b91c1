//! The search itself: principal variation search over a tree of positions,
//! with quiescence at its leaves.
//!
//! A repetition counts as a draw, so the value of a position may depend on
//! how it was reached. Such values are kept apart: each node tells its parent
//! the earliest ancestor on which its value depends (its reach), and a value
//! that depends on positions before its own is stored under a key that names
//! those positions, where no other path finds it.

use arrayvec::ArrayVec;
use shakmaty::attacks::{
    aligned, between, bishop_attacks, knight_attacks, pawn_attacks, rook_attacks,
};
use shakmaty::{Bitboard, Chess, Move, Position, Role, Square};

use super::evaluation::Evaluation;
use super::exchange::gains;
use super::moves;
use super::node::Node;
use super::order::{COUNTER, Order, Picker, PlyContext, Step, Wanted};
use super::table::{Bound, Code, Entry, NO_VALUE, Table, worth};
use prove::Watch;
use tables::{TableResult, Tables};

pub(super) const INFINITE: i32 = 32_001;
/// Being mated now; in `n` plies it is `n` more.
pub(super) const MATED: i32 = -32_000;
/// Values at or beyond this, either way, are mates.
pub(super) const MATES: i32 = 31_000;
/// Wins that an endgame table knows of, less the plies to them.
pub(super) const KNOWN: i32 = 20_000;
pub(super) const MOST_PLIES: usize = 120;

/// The clock from which positions are told apart by it: only then can fifty
/// moves without a pawn move or capture fill up within the tree.
const CLOCK_COUNTS: u32 = 60;

/// The budget is spent, or the watcher said stop.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Stopped;

/// A value depends on no position before this ply.
const NO_REACH: usize = usize::MAX;
/// A value depends on the game before the root.
const GAME: usize = 0;

#[derive(Clone, Default)]
struct Frame {
    context: PlyContext,
    static_eval: i32,
    /// 1 + the ply of the earliest position the value depends on.
    reach: usize,
    /// How many positions back a repetition can be.
    reversible: usize,
    /// Names the positions a repetition could meet.
    path: u64,
    /// Names those that the game saw twice: meeting one is a draw at once,
    /// so that nothing learnt without them holds.
    twice: u64,
    line: Vec<Code>,
}

pub(super) struct Tree<'s> {
    pub table: &'s mut Table,
    pub order: &'s mut Order,
    tables: &'s Tables,
    evaluation: &'s mut dyn Evaluation,
    pub nodes: u64,
    pub limit: u64,
    pub share: f32,
    next_look: u64,
    watch: &'s mut dyn Watch,
    /// Keys of the game so far and of the path searched; the last is the
    /// position at hand.
    keys: Vec<u64>,
    /// Index in `keys` of the root.
    root: usize,
    frames: Vec<Frame>,
    /// No null move above this ply, while one is verified.
    no_null_move_before: usize,
    /// The depth of the iteration.
    pub aim: i32,
}

/// Lines are drawn out to this many moves.
const SHORT_LINE: usize = 4;

/// Nodes between two looks at the watcher.
const POLL: u64 = 4096;

impl<'s> Tree<'s> {
    /// A tree at `root`, with the keys of the positions before it in the game
    /// and no limit.
    pub fn new(
        table: &'s mut Table,
        order: &'s mut Order,
        tables: &'s Tables,
        evaluation: &'s mut dyn Evaluation,
        root: &Node,
        history: &[u64],
        watch: &'s mut dyn Watch,
    ) -> Tree<'s> {
        let mut keys = history.to_vec();
        keys.push(root.key);
        let reversible = (root.clock as usize).min(history.len());
        let mut frames = vec![Frame::default(); MOST_PLIES + 2];
        frames[0].reversible = reversible;
        evaluation.start(root);
        frames[0].static_eval = if root.in_check() {
            NO_VALUE
        } else {
            evaluation.value(0, root)
        };
        let past = &history[history.len() - reversible..];
        let sum = |sum: u64, &key: &u64| sum.wrapping_add(scramble(key));
        frames[0].path = past.iter().fold(0, sum);
        frames[0].twice = past
            .iter()
            .filter(|key| past.iter().filter(|k| k == key).count() > 1)
            .fold(0, sum);
        Tree {
            table,
            order,
            tables,
            evaluation,
            nodes: 0,
            limit: u64::MAX,
            share: 0.0,
            next_look: POLL,
            watch,
            root: keys.len() - 1,
            keys,
            frames,
            no_null_move_before: 0,
            aim: 0,
        }
    }

    /// The value, for the side to move at the root, of playing `code` there,
    /// as far as it lies between `alpha` and `beta`.
    pub fn root_move(
        &mut self,
        root: &Node,
        code: Code,
        (alpha, beta): (i32, i32),
        depth: i32,
    ) -> Result<i32, Stopped> {
        let next = root.play(code);
        self.enter(root, &next, code, 0);
        let value = self.search(&next, -beta, -alpha, depth - 1, 1);
        self.leave();
        value.map(|v| -v)
    }

    /// The static value of the root, if exchanges bring nothing.
    pub fn quiet_value(&mut self, root: &Node) -> Option<i32> {
        let static_eval = self.static_eval(root, None, 0);
        let quiet =
            !root.in_check() && self.quiesce(root, -INFINITE, INFINITE, 0, 1) == Ok(static_eval);
        quiet.then_some(static_eval)
    }

    /// The root move last searched and its expected continuation, drawn out
    /// from the table where a cut made it short.
    pub fn line(&self, root: &Chess, m: Move) -> Vec<Move> {
        let mut line = vec![m];
        let mut at = root.clone();
        at.play_unchecked(m);
        let mut known = self.frames[1].line.iter();
        loop {
            let code = match known.next() {
                Some(&code) => code,
                None if line.len() < SHORT_LINE => {
                    let entry = self.table.get(Node::new(&at).key);
                    entry.map_or(Code::NONE, |entry| entry.best)
                }
                None => break,
            };
            let legal = at.legal_moves();
            let Some(&m) = legal.iter().find(|&&m| Code::of(m) == code) else {
                break;
            };
            line.push(m);
            at.play_unchecked(m);
        }
        line
    }

    fn enter(&mut self, node: &Node, next: &Node, code: Code, ply: usize) {
        let frame = &self.frames[ply];
        let (reversible, path, twice) = if node.is_final(next) {
            (0, 0, 0)
        } else {
            let path = frame.path.wrapping_add(scramble(node.key));
            (frame.reversible + 1, path, frame.twice)
        };
        let before = frame.context.last;
        let below = &mut self.frames[ply + 1];
        below.reversible = reversible;
        below.path = path;
        below.twice = twice;
        below.context.last = Step::of(node, code);
        below.context.before = before;
        self.keys.push(next.key);
        self.evaluation.enter(ply + 1, next);
    }

    fn enter_null_move(&mut self, next: &Node, ply: usize) {
        let below = &mut self.frames[ply + 1];
        below.reversible = 0;
        below.path = 0;
        below.twice = 0;
        below.context.last = Step::NONE;
        below.context.before = Step::NONE;
        self.keys.push(next.key);
        self.evaluation.enter(ply + 1, next);
    }

    fn leave(&mut self) {
        self.keys.pop();
    }

    fn spend(&mut self) -> Result<(), Stopped> {
        if self.nodes >= self.limit {
            return Err(Stopped);
        }
        self.nodes += 1;
        if self.nodes >= self.next_look {
            self.next_look = self.nodes + POLL;
            if !self.watch.go_on(self.nodes, self.share) {
                return Err(Stopped);
            }
        }
        Ok(())
    }

    /// The value of a position without searching: dead, or in a table.
    fn known(&self, node: &Node, ply: usize) -> Option<i32> {
        if node.board.occupied().count() > 4 {
            return None;
        }
        if node.is_bare() {
            return Some(0);
        }
        let far = |moves: u16| 2 * i32::from(moves) + ply as i32;
        Some(match self.tables.made(&node.position()?)? {
            TableResult::Win(n) => KNOWN + 1000 - far(n),
            TableResult::Draw => 0,
            TableResult::Loss(n) => far(n) - KNOWN - 1000,
        })
    }

    /// If the position at hand counts as drawn by repetition: the reach of
    /// that. Within the tree one repetition is enough, with the game two.
    fn repeats(&self, ply: usize) -> Option<usize> {
        let now = self.keys.len() - 1;
        let key = self.keys[now];
        let mut seen = 0;
        for back in (4..=self.frames[ply].reversible.min(now)).step_by(2) {
            let at = now - back;
            if self.keys[at] == key {
                if at >= self.root {
                    return Some(at - self.root + 1);
                }
                seen += 1;
                if seen == 2 {
                    return Some(GAME);
                }
            }
        }
        None
    }

    /// Where the reversible moves before this ply began, as a reach.
    fn whole_reach(&self, ply: usize) -> usize {
        (ply + 1).saturating_sub(self.frames[ply].reversible)
    }

    fn static_eval(&mut self, node: &Node, entry: Option<Entry>, ply: usize) -> i32 {
        match entry {
            Some(e) if e.static_eval != NO_VALUE => e.static_eval,
            _ => self.evaluation.value(ply, node),
        }
    }

    fn search(
        &mut self,
        node: &Node,
        alpha: i32,
        beta: i32,
        depth: i32,
        ply: usize,
    ) -> Result<i32, Stopped> {
        self.search_without(node, alpha, beta, depth, ply, Code::NONE)
    }

    /// As [`Tree::search`], with one move left out.
    fn search_without(
        &mut self,
        node: &Node,
        mut alpha: i32,
        mut beta: i32,
        mut depth: i32,
        ply: usize,
        without: Code,
    ) -> Result<i32, Stopped> {
        self.frames[ply].line.clear();
        self.frames[ply].reach = NO_REACH;
        if let Some(reach) = self.repeats(ply) {
            self.frames[ply].reach = reach;
            return Ok(0);
        }
        let in_check = node.in_check();
        if in_check && (ply as i32) < 2 * self.aim {
            depth = depth.max(0) + 1;
        }
        if depth <= 0 {
            return self.quiesce(node, alpha, beta, ply, 0);
        }
        self.spend()?;
        if let Some(value) = self.known(node, ply) {
            return Ok(value);
        }
        if ply >= MOST_PLIES {
            return Ok(self.static_eval(node, None, ply));
        }
        // No line can be better than mate next move or worse than mate now.
        alpha = alpha.max(MATED + ply as i32);
        beta = beta.min(-MATED - ply as i32 - 1);
        if alpha >= beta {
            return Ok(alpha);
        }
        let is_pv = beta - alpha > 1;
        let clock = node.clock;
        let Frame { path, twice, .. } = self.frames[ply];
        let key = node.key ^ twice ^ clock_key(clock) ^ scramble(without_key(without));
        let may_depend = path != 0 && self.frames[ply].reversible as i32 + depth >= 4;
        let mut entry = self.table.get(key);
        let known = entry;
        if !is_pv
            && let Some(e) = entry
            && let Some(value) = cuts(e, alpha, beta, depth, ply)
        {
            return Ok(value);
        }
        if may_depend && let Some(e) = self.table.get(key ^ path) {
            if !is_pv && let Some(value) = cuts(e, alpha, beta, depth, ply) {
                self.frames[ply].reach = self.whole_reach(ply);
                return Ok(value);
            }
            if known.is_none_or(|known| known.depth <= e.depth) {
                entry = Some(e);
            }
        }
        let static_eval = if in_check {
            NO_VALUE
        } else {
            self.static_eval(node, entry, ply)
        };
        self.frames[ply].static_eval = static_eval;
        let improving = !in_check
            && ply >= 2
            && self.frames[ply - 2].static_eval != NO_VALUE
            && static_eval > self.frames[ply - 2].static_eval;
        self.frames[ply + 1].context.killers = [Code::NONE; 2];
        let mut guess = static_eval;
        if let Some(e) = known
            && !in_check
            && (e.bound == Bound::Exact || (e.bound == Bound::Lower) == (e.value > static_eval))
            && e.value.abs() < MATES
        {
            guess = e.value;
        }
        let quiet_bounds = alpha.abs() < MATES && beta.abs() < MATES;
        if !is_pv && !in_check && quiet_bounds && without == Code::NONE {
            // So far ahead that a quiet move will keep it.
            let margin = 85 * (depth - i32::from(improving));
            if depth <= 6 && guess - margin >= beta {
                return Ok(guess);
            }
            // So far behind that only captures could help.
            if depth <= 3 && guess + 200 + 180 * depth <= alpha {
                let value = self.quiesce(node, alpha, alpha + 1, ply, 0)?;
                if value <= alpha {
                    return Ok(value);
                }
                self.frames[ply].line.clear();
            }
            if let Some(value) = self.null_move(node, beta, depth, ply, guess)? {
                return Ok(value);
            }
            self.frames[ply].reach = NO_REACH;
        }
        let hash = entry.map_or(Code::NONE, |e| e.best);
        if hash == Code::NONE && depth >= 5 && without == Code::NONE {
            depth -= 1;
        }

        if clock >= 100 {
            self.frames[ply].reach = NO_REACH;
            let mated = in_check && !moves::any(node, node.pinned());
            return Ok(if mated { MATED + ply as i32 } else { 0 });
        }
        let extend = self.singular(node, entry, depth, ply, without)?;
        if let Extend::CutsOff { value, reach } = extend
            && value >= beta
        {
            self.frames[ply].reach = reach;
            return Ok(value);
        }

        let context = self.frames[ply].context;
        let mut picker = Picker::new(node, self.order, hash, &context, Wanted::All);
        let here = Here {
            node,
            depth,
            is_pv,
            in_check,
            improving,
            static_eval,
            context,
            checks: Checks::new(node),
        };
        let mut quiets = Tried::new();
        let mut captures = Tried::new();
        let mut searched = 0;
        let mut reach = NO_REACH;
        let first_alpha = alpha;
        let mut best = -INFINITE;
        let mut best_move = Code::NONE;
        while let Some((code, rank)) = picker.next(node, self.order) {
            if code == without {
                continue;
            }
            let late = here.late(self.order, code, rank, searched);
            if best > -MATES && quiet_bounds && here.can_skip(&late, alpha) {
                continue;
            }
            let next = node.play(code);
            let deeper = code == hash && matches!(extend, Extend::Deeper);
            self.enter(node, &next, code, ply);
            let new_depth = depth - 1 + i32::from(deeper);
            let mut value;
            if searched == 0 {
                value = -self.search(&next, -beta, -alpha, new_depth, ply + 1)?;
            } else {
                let less = here.reduced(&late, new_depth);
                value = -self.search(&next, -alpha - 1, -alpha, new_depth - less, ply + 1)?;
                if value > alpha && less > 0 {
                    value = -self.search(&next, -alpha - 1, -alpha, new_depth, ply + 1)?;
                }
                if value > alpha && value < beta {
                    value = -self.search(&next, -beta, -alpha, new_depth, ply + 1)?;
                }
            }
            self.leave();
            searched += 1;
            let child_reach = self.frames[ply + 1].reach;
            if value > best {
                best = value;
                self.lengthen(code, ply);
                if value > alpha {
                    alpha = value;
                    best_move = code;
                }
            }
            if value >= beta {
                // One move is enough, and only what it depends on counts.
                reach = child_reach;
                self.order
                    .learn(node, code, &quiets, &captures, depth, &context);
                if !late.loud {
                    self.frames[ply].context.add_killer(code);
                }
                break;
            }
            reach = reach.min(child_reach);
            let tried = if late.loud {
                &mut captures
            } else {
                &mut quiets
            };
            // Beyond so many, none is learnt from.
            let _ = tried.try_push(code);
        }
        if searched == 0 {
            return Ok(match (without == Code::NONE, in_check) {
                // There is no move but the one left out.
                (false, _) => first_alpha,
                (true, true) => MATED + ply as i32,
                (true, false) => 0,
            });
        }
        // A reach to this very position is settled here.
        if reach > ply {
            reach = NO_REACH;
        }
        self.frames[ply].reach = reach;
        let bound = Bound::of(best, first_alpha, beta);
        if without == Code::NONE {
            let key = if reach == NO_REACH { key } else { key ^ path };
            self.table.put(
                key,
                Entry {
                    value: to_table(best, ply),
                    static_eval,
                    depth,
                    bound,
                    best: best_move,
                },
            );
        }
        Ok(best)
    }

    /// The line at this ply becomes `code` and the line one ply below.
    fn lengthen(&mut self, code: Code, ply: usize) {
        let (above, below) = self.frames.split_at_mut(ply + 1);
        let line = &mut above[ply].line;
        line.clear();
        line.push(code);
        line.extend_from_slice(&below[0].line);
    }

    /// Null move: if even passing leaves the value at beta or above, a move
    /// will too. Not with pawns alone, where passing may be better than any
    /// move; deep down the result is verified.
    fn null_move(
        &mut self,
        node: &Node,
        beta: i32,
        depth: i32,
        ply: usize,
        guess: i32,
    ) -> Result<Option<i32>, Stopped> {
        let board = &node.board;
        let pieces = node.us() & !board.pawns() & !board.kings();
        if depth < 2
            || guess < beta
            || self.frames[ply].context.last == Step::NONE
            || pieces.is_empty()
            || ply < self.no_null_move_before
        {
            return Ok(None);
        }
        let next = node.null_move();
        let less = 3 + depth / 4 + ((guess - beta) / 180).min(3);
        self.enter_null_move(&next, ply);
        let value = -self.search(&next, -beta, -beta + 1, depth - less - 1, ply + 1)?;
        self.leave();
        if value < beta {
            self.frames[ply].line.clear();
            return Ok(None);
        }
        let value = if value >= MATES { beta } else { value };
        let few = pieces.count() == 1;
        let reach = self.frames[ply + 1].reach;
        if depth < 9 && !few {
            self.frames[ply].reach = reach;
            return Ok(Some(value));
        }
        let before = std::mem::replace(
            &mut self.no_null_move_before,
            ply + 1 + (depth as usize * 3) / 4,
        );
        let verified = self.search(node, beta - 1, beta, depth - less, ply);
        self.no_null_move_before = before;
        if verified? >= beta {
            let verified_reach = self.frames[ply].reach;
            self.frames[ply].reach = reach.min(verified_reach);
            return Ok(Some(value));
        }
        self.frames[ply].line.clear();
        Ok(None)
    }

    /// Whether the table's move is so much better than all others that it
    /// deserves a deeper look, or another is good enough as well.
    fn singular(
        &mut self,
        node: &Node,
        entry: Option<Entry>,
        depth: i32,
        ply: usize,
        without: Code,
    ) -> Result<Extend, Stopped> {
        let Some(e) = entry else {
            return Ok(Extend::No);
        };
        let value = from_table(e.value, ply);
        if depth < 7
            || without != Code::NONE
            || e.best == Code::NONE
            || e.bound == Bound::Upper
            || e.depth < depth - 3
            || value.abs() >= MATES
            || ply as i32 >= 2 * self.aim
        {
            return Ok(Extend::No);
        }
        let bar = value - 2 * depth;
        let context = self.frames[ply].context;
        let static_eval = self.frames[ply].static_eval;
        let other = self.search_without(node, bar - 1, bar, (depth - 1) / 2, ply, e.best)?;
        let reach = self.frames[ply].reach;
        let frame = &mut self.frames[ply];
        frame.context = context;
        frame.static_eval = static_eval;
        frame.line.clear();
        Ok(if other < bar {
            Extend::Deeper
        } else {
            Extend::CutsOff { value: bar, reach }
        })
    }

    /// Captures and promotions that do not lose material, and checks in the
    /// first ply, until the position is quiet; in check, every evasion.
    fn quiesce(
        &mut self,
        node: &Node,
        mut alpha: i32,
        beta: i32,
        ply: usize,
        deep: i32,
    ) -> Result<i32, Stopped> {
        self.frames[ply].line.clear();
        self.frames[ply].reach = NO_REACH;
        self.spend()?;
        if let Some(value) = self.known(node, ply) {
            return Ok(value);
        }
        if ply >= MOST_PLIES {
            return Ok(self.static_eval(node, None, ply));
        }
        let in_check = node.in_check();
        let key = node.key ^ clock_key(node.clock);
        let table_depth = i32::from(deep == 0 || in_check);
        let entry = self.table.get(key);
        if beta - alpha == 1
            && let Some(e) = entry
            && let Some(value) = cuts(e, alpha, beta, table_depth - 1, ply)
        {
            return Ok(value);
        }
        let first_alpha = alpha;
        let mut static_eval = NO_VALUE;
        let mut best = MATED + ply as i32;
        if !in_check {
            static_eval = self.static_eval(node, entry, ply);
            best = static_eval;
            if best >= beta && (beta <= 0 || has_pieces(node)) {
                return Ok(best);
            }
            alpha = alpha.max(best);
        }
        let hash = entry.map_or(Code::NONE, |e| e.best);
        let context = self.frames[ply].context;
        let wanted = match (in_check, deep) {
            (true, _) => Wanted::All,
            (false, 0) => Wanted::LoudThenQuiet,
            (false, _) => Wanted::Loud,
        };
        let mut picker = Picker::new(node, self.order, hash, &context, wanted);
        if !in_check && !moves::any(node, picker.pinned) {
            return Ok(0);
        }
        if best >= beta {
            return Ok(best);
        }
        let checks = Checks::new(node);
        let mut best_move = Code::NONE;
        while let Some((code, rank)) = picker.next(node, self.order) {
            let loud = node.is_loud(code);
            if !in_check {
                if loud {
                    let most = static_eval
                        + 200
                        + node.taken(code).map_or(0, worth)
                        + code.promotion().map_or(0, worth);
                    if most <= alpha && !checks.given_by(node, code) {
                        best = best.max(most);
                        continue;
                    }
                } else if !checks.given_by(node, code) || !gains(node, code, 0) {
                    continue;
                }
            } else if best > -MATES && rank < 0 && !loud && deep > 1 {
                // A late quiet evasion, where something better has been found.
                continue;
            }
            let next = node.play(code);
            self.evaluation.enter(ply + 1, &next);
            let before = context.last;
            let below = &mut self.frames[ply + 1].context;
            below.last = Step::of(node, code);
            below.before = before;
            let value = -self.quiesce(&next, -beta, -alpha, ply + 1, deep + 1)?;
            if value > best {
                best = value;
                self.lengthen(code, ply);
                if value > alpha {
                    alpha = value;
                    best_move = code;
                    if value >= beta {
                        break;
                    }
                }
            }
        }
        let bound = Bound::of(best, first_alpha, beta);
        if deep <= 1 {
            self.table.put(
                key,
                Entry {
                    value: to_table(best, ply),
                    static_eval,
                    depth: table_depth - 1,
                    bound,
                    best: best_move,
                },
            );
        }
        Ok(best)
    }
}

/// Moves that failed, to learn from.
type Tried = ArrayVec<Code, 64>;

/// What the moves of one node have in common.
struct Here<'n> {
    node: &'n Node,
    depth: i32,
    is_pv: bool,
    in_check: bool,
    improving: bool,
    static_eval: i32,
    context: PlyContext,
    checks: Checks,
}

/// A move after others have been searched.
struct Late {
    code: Code,
    rank: i32,
    searched: usize,
    loud: bool,
    gives_check: bool,
    /// What the order's tables say of a quiet move.
    history: i32,
}

impl Here<'_> {
    fn late(&self, order: &Order, code: Code, rank: i32, searched: usize) -> Late {
        let loud = self.node.is_loud(code);
        Late {
            code,
            rank,
            searched,
            loud,
            gives_check: self.checks.given_by(self.node, code),
            history: match loud {
                true => 0,
                // That is what quiet moves are ranked by, but for refuters.
                false if rank < COUNTER => rank,
                false => order.quiet(self.node, code, &self.context),
            },
        }
    }

    /// Whether a move is not worth looking at so near the leaves, something
    /// better than being mated having been found.
    fn can_skip(&self, late: &Late, alpha: i32) -> bool {
        let Here { depth, is_pv, .. } = *self;
        let loses = |most: i32| !gains(self.node, late.code, most);
        if self.in_check {
            return false;
        }
        if late.loud || late.gives_check || late.code.promotion().is_some() {
            return late.rank < 0 && depth <= 5 && loses(-100 * depth);
        }
        let left = (depth - reduction(depth, late.searched)).max(1);
        self.is_late(late.searched)
            || (!is_pv && depth <= 7 && self.static_eval + 120 + 100 * left <= alpha)
            || (depth <= 4 && late.history < -2500 * depth)
            || (depth <= 7 && loses(-40 * depth))
    }

    /// Whether so many moves failed that a quiet one is not worth looking at.
    fn is_late(&self, searched: usize) -> bool {
        let Here { depth, is_pv, .. } = *self;
        let most = (4 + depth * depth) / if self.improving { 1 } else { 2 };
        !is_pv && depth <= 7 && !self.in_check && searched as i32 >= most
    }

    /// Plies by which a late move is looked at less deep.
    fn reduced(&self, late: &Late, new_depth: i32) -> i32 {
        let first = late.searched <= usize::from(self.is_pv);
        if self.depth < 3 || first || (late.loud && late.rank >= 0) {
            return 0;
        }
        let less = reduction(self.depth, late.searched) + i32::from(!self.improving)
            - i32::from(self.is_pv)
            - i32::from(late.gives_check)
            - i32::from(self.in_check)
            - (late.history / 5000).clamp(-2, 2);
        less.clamp(0, new_depth - 1)
    }
}

enum Extend {
    No,
    Deeper,
    /// Several moves reach this value.
    CutsOff {
        value: i32,
        reach: usize,
    },
}

/// Where a man of each role gives check, and whose move uncovers one.
struct Checks {
    king: Square,
    by_role: [Bitboard; 5],
    lids: Bitboard,
}

impl Checks {
    fn new(node: &Node) -> Checks {
        let board = &node.board;
        let us = node.turn;
        let king = board.king_of(!us).expect("a king");
        let occupied = board.occupied();
        let diagonal = bishop_attacks(king, occupied);
        let straight = rook_attacks(king, occupied);
        let ours = board.by_color(us);
        let far = (bishop_attacks(king, Bitboard::EMPTY) & board.bishops_and_queens())
            | (rook_attacks(king, Bitboard::EMPTY) & board.rooks_and_queens());
        let mut lids = Bitboard::EMPTY;
        for slider in far & ours {
            let on_the_way = between(king, slider) & occupied;
            if on_the_way.count() == 1 {
                lids |= on_the_way & ours;
            }
        }
        Checks {
            king,
            by_role: [
                pawn_attacks(!us, king),
                knight_attacks(king),
                diagonal,
                straight,
                diagonal | straight,
            ],
            lids,
        }
    }

    fn given_by(&self, node: &Node, code: Code) -> bool {
        let (from, to) = (code.from(), code.to());
        let plain = code.promotion().is_none() && node.castles(code).is_none();
        if !plain || node.is_en_passant(code) {
            return node.play(code).in_check();
        }
        let role = node.mover(code);
        let direct = role != Role::King && self.by_role[role as usize - 1].contains(to);
        direct || (self.lids.contains(from) && !aligned(self.king, from, to))
    }
}

/// Whether the side to move has anything but king and pawns.
fn has_pieces(node: &Node) -> bool {
    let board = &node.board;
    (node.us() & !board.pawns() & !board.kings()).any()
}

/// Plies to look less deep at the `searched`-th move.
fn reduction(depth: i32, searched: usize) -> i32 {
    // 16 log2, so that no platform rounds it otherwise.
    let log = |n: i32| {
        let n = n.max(1);
        let whole = n.ilog2() as i32;
        16 * whole + (((n - (1 << whole)) * 16) >> whole)
    };
    (log(depth) * log(searched as i32) + 300) / (256 * 5)
}

fn cuts(e: Entry, alpha: i32, beta: i32, depth: i32, ply: usize) -> Option<i32> {
    if e.depth < depth {
        return None;
    }
    let value = from_table(e.value, ply);
    let holds = match e.bound {
        Bound::Exact => true,
        Bound::Lower => value >= beta,
        Bound::Upper => value <= alpha,
    };
    holds.then_some(value)
}

/// Mates are stored as seen from their own position.
fn to_table(value: i32, ply: usize) -> i32 {
    if value.abs() < MATES {
        value
    } else {
        value + value.signum() * ply as i32
    }
}

fn from_table(value: i32, ply: usize) -> i32 {
    if value.abs() < MATES {
        value
    } else {
        value - value.signum() * ply as i32
    }
}

fn clock_key(clock: u32) -> u64 {
    if clock < CLOCK_COUNTS {
        0
    } else {
        scramble(u64::from(clock))
    }
}

fn without_key(without: Code) -> u64 {
    if without == Code::NONE {
        0
    } else {
        1 << 32 | without.bits()
    }
}

fn scramble(key: u64) -> u64 {
    let mut x = key.wrapping_mul(0x9e37_79b9_7f4a_7c15);
    x ^= x >> 32;
    x = x.wrapping_mul(0xd6e8_feb8_6659_fd93);
    x ^ x >> 29
}

#[cfg(test)]
mod tests {
    use shakmaty::san::San;

    use super::*;
    use crate::tests::position;
    use prove::Unwatched;

    /// A rook down, White draws by Qe8+ Kh7 Qh5+ Kg8 and so on. After Qe8+ Kh7
    /// the draw rests on the position before: it may be stored for this path
    /// alone.
    #[test]
    fn a_draw_by_repetition_is_stored_for_its_path_alone() {
        let mut at = Node::new(&position("6k1/6p1/8/7Q/8/r7/1q3PPP/6K1 w - - 0 1"));
        let root = at.clone();
        let (mut table, mut order) = (Table::new(1 << 20), Order::new());
        table.age();
        let tables = Tables::new();
        let mut watch = Unwatched;
        let mut evaluation = crate::evaluation::Reference;
        let mut tree = Tree::new(
            &mut table,
            &mut order,
            &tables,
            &mut evaluation,
            &root,
            &[],
            &mut watch,
        );
        let check = |node: &Node, san: &str| {
            let san: San = san.parse().expect("SAN");
            let position = node.position().expect("legal");
            Code::of(san.to_move(&position).expect("legal"))
        };
        for depth in 1..=8 {
            tree.aim = depth;
            let value = tree.root_move(&root, check(&root, "Qe8+"), (-INFINITE, INFINITE), depth);
            assert!(depth < 5 || value == Ok(0), "{value:?} at depth {depth}");
        }
        let mut path: u64 = 0;
        for san in ["Qe8+", "Kh7"] {
            path = path.wrapping_add(scramble(at.key));
            at = at.play(check(&at, san));
        }
        let drawn = |e: Entry| e.value == 0 && e.bound != Bound::Upper;
        assert!(table.get(at.key ^ path).is_some_and(drawn));
        assert!(!table.get(at.key).is_some_and(drawn));
    }
}
