//! Which replies parry which threats, and which threats are independent.

use shakmaty::{Chess, Move, Position, Square};

use super::found::{Finding, Force, Found, brings, exchanges, victim};
use super::{LONGEST_GAIN, MOST, Reply};
use crate::analyst::{Analyst, played};
use prove::{Aim, Gain, Verdict, Watch};

/// What every legal reply leaves of each threat.
pub(super) struct Table<'a> {
    pub before: &'a Chess,
    /// After the pass.
    pub from: &'a Chess,
    pub found: &'a [Found],
    /// Each reply, the position after it, and whether each of `found` stands there; those
    /// replies only of which all that is decided.
    rows: Vec<(Move, Chess, Vec<bool>)>,
}

/// What a threat does where no other stands.
pub(super) struct Alone {
    /// What it nets, in pawns; 0 if it mates.
    pub net: u8,
    /// The replies after which it does, and the threat's move after each.
    pub best: Vec<(Move, Move)>,
    /// Where what it takes stands, by the reply.
    prey: Vec<Vec<Square>>,
}

/// Replies that are asked what a threat takes after them.
const ASKED: usize = 8;

impl Table<'_> {
    /// The replies that leave one threat standing and parry the others.
    fn alone(&self, one: usize, others: &[usize]) -> impl Iterator<Item = (Move, &Chess)> {
        let alone = move |(_, _, stands): &&(Move, Chess, Vec<bool>)| {
            stands[one] && !others.iter().any(|&other| stands[other])
        };
        self.rows.iter().filter(alone).map(|(mv, at, _)| (*mv, at))
    }

    fn are_independent(&self, told: &[usize]) -> bool {
        told.iter().all(|&one| {
            let others = without(told, one);
            self.alone(one, &others).next().is_some()
        })
    }
}

/// All but one.
fn without(told: &[usize], one: usize) -> Vec<usize> {
    told.iter().copied().filter(|&other| other != one).collect()
}

impl Analyst {
    /// Tries every reply against every threat.
    pub(super) fn table<'a>(
        &mut self,
        before: &'a Chess,
        from: &'a Chess,
        finding: &'a Finding,
        watch: &mut dyn Watch,
    ) -> Table<'a> {
        let found = &finding.threats[..];
        let mut rows = Vec::new();
        if !found.is_empty() {
            for mv in before.legal_moves() {
                let after = played(before, mv);
                let mut stands = Vec::with_capacity(found.len());
                for one in found {
                    stands.extend(self.stands(&after, one, finding, watch));
                }
                if stands.len() == found.len() {
                    rows.push((mv, after, stands));
                }
            }
        }
        Table {
            before,
            from,
            found,
            rows,
        }
    }

    /// The replies, with what stands of the threats that are told, in their order.
    pub(super) fn replies(
        &mut self,
        table: &Table,
        told: &[usize],
        all: &Finding,
        watch: &mut dyn Watch,
    ) -> Vec<Reply> {
        let mut replies = Vec::new();
        for (mv, after, stands) in &table.rows {
            let stands: Vec<bool> = told.iter().map(|&i| stands[i]).collect();
            let loses =
                !stands.contains(&true) && self.blunders(after, 1, all, watch) == Some(true);
            replies.push(Reply {
                mv: *mv,
                stands,
                loses,
            });
        }
        replies
    }

    /// Which threats are told, the greatest first.
    pub(super) fn independent(&mut self, table: &Table, watch: &mut dyn Watch) -> Vec<usize> {
        let mut order: Vec<usize> = (0..table.found.len()).collect();
        // Of equals, first the one that more replies leave.
        order.sort_by_key(|&i| {
            let left = table.rows.iter().filter(|(_, _, stands)| stands[i]);
            (table.found[i].rank(), std::cmp::Reverse(left.count()))
        });
        let mut told: Vec<usize> = Vec::new();
        for i in order {
            let mut all = told.clone();
            all.push(i);
            if table.are_independent(&all)
                && !told
                    .iter()
                    .any(|&other| self.do_the_same(table, i, other, &told, watch))
            {
                told = all;
            }
            if told.len() == MOST {
                break;
            }
        }
        told
    }

    /// Whether two that stand without each other, and without what else is told, always
    /// take then what the other may take, or mate on the same square.
    fn do_the_same(
        &mut self,
        table: &Table,
        one: usize,
        other: usize,
        told: &[usize],
        watch: &mut dyn Watch,
    ) -> bool {
        let (a, b) = (&table.found[one], &table.found[other]);
        if a.mates() || b.mates() {
            return a.mates() && b.mates() && a.first().to() == b.first().to();
        }
        if a.at_once() && b.at_once() {
            return false;
        }
        let mut without_one = without(told, other);
        without_one.push(one);
        let a = self.by_itself(table, one, told, watch).prey;
        let b = self.by_itself(table, other, &without_one, watch).prey;
        let may_take =
            |prey: &[Vec<Square>], square: &Square| prey.iter().flatten().any(|s| s == square);
        let always = |one: &[Vec<Square>], other: &[Vec<Square>]| {
            one.iter()
                .all(|prey| prey.iter().any(|square| may_take(other, square)))
        };
        always(&a, &b) && always(&b, &a)
    }

    /// What a threat does after the replies that parry all the others.
    pub(super) fn by_itself(
        &mut self,
        table: &Table,
        one: usize,
        others: &[usize],
        watch: &mut dyn Watch,
    ) -> Alone {
        let found = &table.found[one];
        let mut alone = Alone {
            net: 0,
            best: Vec::new(),
            prey: Vec::new(),
        };
        if found.mates() {
            return alone;
        }
        let mut best = Vec::new();
        for (reply, after) in table.alone(one, others) {
            let Some((net, mv)) = self.left(after, found, watch) else {
                continue;
            };
            if net > alone.net {
                alone.net = net;
                best.clear();
            }
            if net == alone.net
                && let Some(mv) = mv
            {
                best.push((reply, after, mv));
            }
        }
        for (reply, after, mv) in best.into_iter().take(ASKED) {
            alone.best.push((reply, mv));
            let squares = self.prey(after, mv, alone.net, watch);
            let squares = squares.into_iter().map(|square| before(square, reply));
            alone.prey.push(squares.collect());
        }
        alone
    }

    /// Whether a threat stands after a reply; `None` if that is not decided.
    fn stands(
        &mut self,
        after: &Chess,
        one: &Found,
        all: &Finding,
        watch: &mut dyn Watch,
    ) -> Option<bool> {
        if let Force::Mate(n) = one.force {
            let moves: Vec<Move> = legal(after, one).map(|(mv, _)| mv).collect();
            let judged = self.prover().judge(after, n, Some(&moves), watch);
            return Some(some_forces(&judged)? && !(n > 1 && self.allows_mate(after, all, watch)?));
        }
        if one.at_once() {
            for (mv, net) in legal(after, one) {
                if self.does_gain(after, mv, net / 3 + 1, watch)? {
                    return Some(true);
                }
            }
            return Some(false);
        }
        let (left, _) = self.left(after, one, watch)?;
        Some(left > one.net() / 3 && !self.blunders(after, left, all, watch)?)
    }

    /// The most that a threat still gains, up to what it would net, and by which move.
    fn left(
        &mut self,
        after: &Chess,
        one: &Found,
        watch: &mut dyn Watch,
    ) -> Option<(u8, Option<Move>)> {
        let (mut most, mut best) = (0, None);
        for (mv, net) in legal(after, one) {
            if net <= most || !self.does_gain(after, mv, most + 1, watch)? {
                continue;
            }
            best = Some(mv);
            if self.does_gain(after, mv, net, watch)? {
                most = net;
                continue;
            }
            most += 1;
            while self.does_gain(after, mv, most + 1, watch)? {
                most += 1;
            }
        }
        Some((most, best))
    }

    fn does_gain(&mut self, after: &Chess, mv: Move, k: u8, watch: &mut dyn Watch) -> Option<bool> {
        let prover = self.prover_of_gains();
        some_forces(&prover.judge_gain(after, k, LONGEST_GAIN, Some(&[mv]), watch))
    }

    /// Whether so much is won at once by a move that did not win it after the pass.
    fn blunders(
        &mut self,
        after: &Chess,
        k: u8,
        all: &Finding,
        watch: &mut dyn Watch,
    ) -> Option<bool> {
        let known = all.winning.iter().filter(|&&(_, net)| net >= k);
        let known: Vec<Move> = known.filter_map(|&(mv, _)| same(after, mv)).collect();
        let others = after.legal_moves().into_iter();
        let others: Vec<Move> = others.filter(|mv| !known.contains(mv)).collect();
        let prover = self.prover_of_gains();
        some_forces(&prover.judge_gain(after, k, 1, Some(&others), watch))
    }

    /// Whether a move mates at once that did not after the pass.
    fn allows_mate(&mut self, after: &Chess, all: &Finding, watch: &mut dyn Watch) -> Option<bool> {
        let at_once = all.threats.iter().filter(|one| one.force == Force::Mate(1));
        let known: Vec<Move> = at_once
            .flat_map(|one| legal(after, one))
            .map(|(mv, _)| mv)
            .collect();
        let others = after.legal_moves().into_iter();
        let others: Vec<Move> = others.filter(|mv| !known.contains(mv)).collect();
        some_forces(&self.prover().judge(after, 1, Some(&others), watch))
    }

    /// Where what a move takes stands, if that is more than a third of `k`, or it gains
    /// `k` at once; else where that which is taken, or promotes, next stands before the
    /// move, against the replies that hold it to `k`.
    fn prey(&mut self, at: &Chess, mv: Move, k: u8, watch: &mut dyn Watch) -> Vec<Square> {
        let (wins, more) = (Aim::Gain(Gain::at(k, at)), Aim::Gain(Gain::at(k + 1, at)));
        let prover = self.prover_of_gains();
        let at_once = prover.judge_aim(wins, at, 1, Some(&[mv]), watch);
        if brings(mv) > k / 3 || at_once.iter().any(forces) {
            return victim(mv).into_iter().collect();
        }
        let mut prey = Vec::new();
        let after = played(at, mv);
        for reply in after.legal_moves() {
            let last = played(&after, reply);
            let prover = self.prover_of_gains();
            if matches!(prover.force(more, &last, 1, watch), Ok(Some(_))) {
                continue;
            }
            let taking: Vec<Move> = last
                .legal_moves()
                .into_iter()
                .filter(|&mv| exchanges(mv))
                .collect();
            let judged = prover.judge_aim(wins, &last, 1, Some(&taking), watch);
            for (taken, _) in judged.into_iter().filter(forces) {
                prey.extend(victim(taken).map(|square| before(before(square, reply), mv)));
            }
        }
        prey.sort();
        prey.dedup();
        prey
    }
}

/// Where the man that a move brought to a square came from; the square itself if it
/// was there.
fn before(square: Square, mv: Move) -> Square {
    mv.from().filter(|_| mv.to() == square).unwrap_or(square)
}

/// Whether one of the moves judged forces what was asked; `None` if that is not decided.
fn some_forces(judged: &[(Move, Verdict)]) -> Option<bool> {
    let unknown = |(_, verdict): &(Move, Verdict)| matches!(verdict, Verdict::Unknown { .. });
    match judged.iter().any(forces) {
        false if judged.iter().any(unknown) => None,
        any => Some(any),
    }
}

fn forces(judged: &(Move, Verdict)) -> bool {
    matches!(judged.1, Verdict::Forces { .. })
}

/// The moves of a threat that are still there, with what they would net.
fn legal<'a>(after: &'a Chess, one: &'a Found) -> impl Iterator<Item = (Move, u8)> + 'a {
    one.moves
        .iter()
        .filter_map(|&(mv, net)| Some((same(after, mv)?, net)))
}

/// The move of the same man to the same square in another position, where it takes
/// the same.
pub(super) fn same(position: &Chess, mv: Move) -> Option<Move> {
    position.legal_moves().into_iter().find(|other| {
        other.from() == mv.from()
            && other.to() == mv.to()
            && other.role() == mv.role()
            && other.capture() == mv.capture()
            && other.promotion() == mv.promotion()
    })
}
