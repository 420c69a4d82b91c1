//! Why a wrong move fails: the refutation followed to a point that convinces,
//! and the kind of failure that the board then shows.
//!
//! The reply comes from the ruling that found the move wrong; search and
//! prover carry it on. What cannot be shown is not said: a move of which
//! nothing nearer is seen is weaker, or does not force what is asked.

use shakmaty::{Chess, Color, Move, Position, Role, Square};

use super::analyst::{Analyst, evidence, hundredths, played, positions};
use super::scene::landing;
use super::threats::{LONGEST_GAIN, brings, least};
use super::toll::{Toll, unpaid};
use super::{FailureKind, Proof};
use check::exchange::{exchange_gain, worth};
use check::{Evidence, Goal, Ruling};
use model::puzzle::Margins;
use model::transform::passed;
use model::worth::balance;
use prove::{Aim, Verdict, Watch};
use search::{Line, Value};

/// Why a wrong move fails.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Failure {
    /// How it fails.
    pub kind: FailureKind,
    /// Starts with the wrong move and runs to the point; legal.
    pub line: Vec<Move>,
    /// One sentence, in English, that names the move and the reply.
    pub sentence: String,
    /// How the kind is known. That the move fails may be known better.
    pub evidence: Evidence,
    /// Where it is proved that the reply mates or wins as much, the claim.
    pub proof: Option<Proof>,
}

/// What is seen of a failure before it is put in words.
struct Seen {
    kind: FailureKind,
    line: Vec<Move>,
    evidence: Evidence,
    proof: Option<Proof>,
}

/// Longest mate of the other side that is looked for, in moves.
const LONGEST_MATE: u8 = 3;

/// Longest loss of material that is proved, in moves of the other side.
const LONGEST_LOSS: u8 = 3;

/// The least, in pawns, that is a loss of the exchange, and of a pawn that got through.
const EXCHANGE: u8 = 2;
const PASSED: u8 = 3;

/// The most plies of a line that is shown.
const MOST_PLIES: usize = 8;

/// What may be left of what is lost, in hundredths of a pawn, for it to be told as lost.
const COMPENSATION: i32 = 100;

/// So many times the budget goes into a loss that is not proved.
const DOUBT: u64 = 4;

/// The most that a mate may be late to be told as late, in moves.
const LATE: u8 = 2;

impl Analyst {
    /// Why the move that `line` starts with fails. `line` is legal from
    /// `position`; the rest of it is the reply that refutes the move, as far
    /// as a [`Ruling::Fails`] tells it. There is always exactly one reason.
    ///
    /// # Panics
    /// If `line` is empty or its first move illegal.
    pub fn failure(
        &mut self,
        position: &Chess,
        goal: Goal,
        line: &[Move],
        watch: &mut dyn Watch,
    ) -> Failure {
        let wrong = Wrong {
            position,
            mv: line[0],
            after: played(position, line[0]),
            given: line,
            goal,
        };
        let seen = self.seen(&wrong, watch);
        let number = position.fullmoves().get();
        Failure {
            kind: seen.kind,
            sentence: seen.kind.sentence(position, &seen.line, goal, number),
            line: seen.line,
            evidence: seen.evidence,
            proof: seen.proof,
        }
    }

    /// Why each move that was ruled wrong fails, in the order given.
    pub fn failures(
        &mut self,
        position: &Chess,
        goal: Goal,
        judged: &[(Move, Ruling)],
        watch: &mut dyn Watch,
    ) -> Vec<Failure> {
        let mut failures = Vec::new();
        for (mv, ruling) in judged.iter().filter(|(_, ruling)| ruling.fails()) {
            let alone = [*mv];
            let line = match ruling.line() {
                line if line.first() == Some(mv) => line,
                _ => &alone,
            };
            failures.push(self.failure(position, goal, line, watch));
        }
        failures
    }

    fn seen(&mut self, wrong: &Wrong, watch: &mut dyn Watch) -> Seen {
        let after = &wrong.after;
        let at_once = |kind| Seen {
            kind,
            line: vec![wrong.mv],
            evidence: Evidence::Proved,
            proof: None,
        };
        if after.is_checkmate() {
            return at_once(FailureKind::Mates);
        }
        if after.is_stalemate() {
            return at_once(FailureKind::Stalemates);
        }
        if after.is_insufficient_material() {
            return at_once(FailureKind::Slips);
        }
        match wrong.goal.forced() {
            Some((Aim::Mate, n)) => self.no_mate(wrong, n, watch),
            // Nobody refutes what both sides help with.
            Some((Aim::Helpmate, _)) => wrong.unforced(None),
            Some((aim, n)) => self.unforced(wrong, aim, n, watch),
            None => self.falls_short(wrong, watch),
        }
    }

    /// The other side's forced mate after the wrong move.
    fn mated(&mut self, wrong: &Wrong, watch: &mut dyn Watch) -> Option<Seen> {
        let mate = self.prover().mate(&wrong.after, LONGEST_MATE, watch);
        let Ok(Some((_, Verdict::Forces { length, line }))) = mate else {
            return None;
        };
        let seen = wrong.seen(FailureKind::Mated(length), &line, Evidence::Proved);
        Some(Seen {
            proof: Some(Proof::mate(&wrong.after, line[0], length)),
            ..seen
        })
    }

    /// What is asked, forced too late.
    fn slower(&mut self, wrong: &Wrong, aim: Aim, n: u8, watch: &mut dyn Watch) -> Option<Seen> {
        let most = n.checked_add(LATE)?;
        let judged = self
            .prover()
            .judge_aim(aim, wrong.position, most, Some(&[wrong.mv]), watch);
        match judged.into_iter().next() {
            Some((_, Verdict::Forces { length, line })) if length > n => Some(Seen {
                kind: FailureKind::Slower(length),
                line: line.into_iter().take(2).collect(),
                evidence: Evidence::Proved,
                proof: None,
            }),
            _ => None,
        }
    }

    fn no_mate(&mut self, wrong: &Wrong, n: u8, watch: &mut dyn Watch) -> Seen {
        if let Some(seen) = self.mated(wrong, watch) {
            return seen;
        }
        if n > 1
            && let Some(seen) = self.slower(wrong, Aim::Mate, n, watch)
        {
            return seen;
        }
        if gives(&wrong.after)
            && let Some(line) = self.best(&wrong.after, None, watch)
            && let Some(seen) = self.loses(wrong, &line, PIECE, watch)
            && self.refutes(&wrong.after, seen.line[1], n, watch)
        {
            return seen;
        }
        let Some(reply) = self.reply(wrong, n, watch) else {
            return wrong.unforced(None);
        };
        let flight = (reply.role() == Role::King)
            .then(|| FailureKind::Escapes(landing(reply, wrong.after.turn())));
        let kind = if wrong.after.is_check() {
            flight.unwrap_or(FailureKind::Parried(None))
        } else if n == 1 {
            return wrong.seen(FailureKind::Idle, &[], Evidence::Proved);
        } else {
            match self.threatened(wrong, n - 1, watch) {
                FailureKind::Parried(threat) => flight.unwrap_or(FailureKind::Parried(threat)),
                other => other,
            }
        };
        wrong.seen(kind, &[reply], Evidence::Proved)
    }

    /// Whether the reply escapes mate in the moves that are left.
    fn refutes(&mut self, after: &Chess, reply: Move, n: u8, watch: &mut dyn Watch) -> bool {
        n <= 1 || self.prover().mate(&played(after, reply), n - 1, watch) == Ok(None)
    }

    /// The reply that shows best that there is no mate.
    fn reply(&mut self, wrong: &Wrong, n: u8, watch: &mut dyn Watch) -> Option<Move> {
        if n > 1 {
            return wrong.given.get(1).copied().or_else(|| {
                let all = self.prover().refutations(&wrong.after, n - 1, watch);
                all.ok()?.first().copied()
            });
        }
        let checkers = wrong.after.checkers();
        wrong.after.legal_moves().into_iter().min_by_key(|reply| {
            let takes_checker = reply.is_capture() && checkers.contains(reply.to());
            (!takes_checker, reply.role() != Role::King)
        })
    }

    /// What the move threatens, and the reply parries.
    fn threatened(&mut self, wrong: &Wrong, n: u8, watch: &mut dyn Watch) -> FailureKind {
        let Some(passed) = passed(&wrong.after) else {
            return FailureKind::Idle;
        };
        match self.prover().mate(&passed, n, watch) {
            Ok(Some((mv, Verdict::Forces { length: 1, .. }))) if !mv.is_castle() => {
                FailureKind::Parried(Some(mv.to()))
            }
            Ok(Some(_)) => FailureKind::Parried(None),
            Ok(None) => FailureKind::Idle,
            Err(_) => FailureKind::Unforced,
        }
    }

    fn unforced(&mut self, wrong: &Wrong, aim: Aim, n: u8, watch: &mut dyn Watch) -> Seen {
        if matches!(aim, Aim::Stalemate | Aim::Gain(_))
            && let Some(seen) = self.mated(wrong, watch)
        {
            return seen;
        }
        if n > 1
            && let Some(seen) = self.slower(wrong, aim, n, watch)
        {
            return seen;
        }
        let reply = wrong.given.get(1).copied().or_else(|| {
            let mut replies = wrong.after.legal_moves().into_iter();
            let ends = |&reply: &Move| wrong.goal.ended(&played(&wrong.after, reply));
            replies.find(|reply| n <= 1 && !ends(reply))
        });
        wrong.unforced(reply)
    }

    /// A win not kept, a draw not held, a best move missed.
    fn falls_short(&mut self, wrong: &Wrong, watch: &mut dyn Watch) -> Seen {
        if let Some(seen) = self.mated(wrong, watch) {
            return seen;
        }
        if let Some(seen) = self.held(wrong, watch) {
            return seen;
        }
        let mut best = self.best(&wrong.after, None, watch);
        if let Some(reply) = wrong.given.get(1).copied()
            && best.as_ref().is_none_or(|line| !wrong.refuted(line.value))
        {
            let given = self.best(&wrong.after, Some(vec![reply]), watch);
            best = given.or(best);
        }
        let Some(line) = best else {
            return wrong.judged(FailureKind::Weaker, wrong.given.get(1..).unwrap_or(&[]));
        };
        match line.value {
            Value::MateIn(n) if evidence(&line) != searched(&line) && n <= 6 => {
                let n = u8::try_from(n).unwrap_or(u8::MAX);
                return wrong.seen(FailureKind::Mated(n), &line.moves, evidence(&line));
            }
            Value::MateIn(_) if evidence(&line) == searched(&line) => {
                return wrong.shown(FailureKind::Attacked, &line.moves, evidence(&line));
            }
            _ => {}
        }
        let known = evidence(&line);
        if let Some(seen) = self.drawn(wrong, &line, watch) {
            return seen;
        }
        if let Some(seen) = self.loses(wrong, &line, PAWN, watch) {
            return seen;
        }
        let value = hundredths(line.value);
        let kind = match wrong.goal {
            Goal::Best(_) => FailureKind::Weaker,
            Goal::Win(_) if value < LOSING => FailureKind::Slips,
            _ => FailureKind::Lost,
        };
        let shown: Vec<Move> = line.moves.iter().copied().take(3).collect();
        wrong.seen(kind, &shown, known)
    }

    /// A draw that the other side holds by force, where it was to be won.
    fn held(&mut self, wrong: &Wrong, watch: &mut dyn Watch) -> Option<Seen> {
        if !matches!(wrong.goal, Goal::Win(margins) if margins.wrong > 0) {
            return None;
        }
        let plan = self.prover().draw(&wrong.after, None, watch).ok()??;
        let line = plan.line();
        let last = positions(&wrong.after, &line).pop()?;
        let kind = match () {
            () if last.is_checkmate() => return None,
            () if last.is_stalemate() => FailureKind::Stalemates,
            () if last.is_insufficient_material() => FailureKind::Slips,
            () => FailureKind::Perpetual,
        };
        Some(wrong.shown(kind, &line, Evidence::Drawn))
    }

    /// A draw by stalemate or repetition at the end of the other side's best
    /// line, where that is what it plays for.
    fn drawn(&mut self, wrong: &Wrong, line: &Line, watch: &mut dyn Watch) -> Option<Seen> {
        if line.value != Value::Cp(0) || matches!(wrong.goal, Goal::Draw(_)) {
            return None;
        }
        let mut moves = line.moves.clone();
        let mut all = positions(&wrong.after, &moves);
        while moves.len() < REPEATING {
            let last = &all[all.len() - 1];
            if last.is_stalemate() {
                return Some(wrong.seen(FailureKind::Stalemates, &moves, evidence(line)));
            }
            if repeated(&all) {
                let mut replies = all
                    .iter()
                    .filter(|p| p.turn() == wrong.position.turn())
                    .skip(1);
                let kind = if replies.all(|p| p.is_check()) {
                    FailureKind::Perpetual
                } else if moves.len() <= SOON {
                    FailureKind::Repeats
                } else {
                    return None;
                };
                return Some(wrong.seen(kind, &moves, evidence(line)));
            }
            let next = self.glance(last, watch)?;
            let last = played(last, next);
            moves.push(next);
            all.push(last);
        }
        None
    }

    /// What a short search plays.
    pub(super) fn glance(&mut self, position: &Chess, watch: &mut dyn Watch) -> Option<Move> {
        let line = self.best_within(self.budget / 8, position, None, watch);
        line?.moves.first().copied()
    }

    /// What is lost for good in the other side's best line, if it is worth at
    /// least `least`.
    fn loses(
        &mut self,
        wrong: &Wrong,
        line: &Line,
        least: i32,
        watch: &mut dyn Watch,
    ) -> Option<Seen> {
        let mut moves = vec![wrong.mv];
        moves.extend(&line.moves);
        let mut last = positions(wrong.position, &moves).pop()?;
        while !quiet(&last) && moves.len() < 2 * MOST_PLIES {
            let next = self.glance(&last, watch)?;
            last.play_unchecked(next);
            moves.push(next);
        }
        let solver = wrong.position.turn();
        let toll = Toll::of(&moves);
        if toll.net < least {
            return None;
        }
        let kind = kind(&toll, wrong.position, &moves, solver)?;
        let lost = match kind {
            FailureKind::Loses(role) => role,
            _ => Role::Rook,
        };
        let point = (2..=moves.len().min(MOST_PLIES))
            .step_by(2)
            .find(|&p| match kind {
                FailureKind::Promotes(_) => moves[p - 1].is_promotion(),
                _ => {
                    let taken = moves[p - 1].capture() == Some(lost);
                    let rest = (p..=moves.len()).step_by(2);
                    taken && rest.into_iter().all(|q| Toll::of(&moves[..q]).net >= least)
                }
            })?;
        let seen = wrong.seen(kind, &moves[1..point], evidence(line));
        let seen = self.surely(wrong, seen, watch);
        match seen.proof {
            Some(_) => Some(seen),
            None => self.doubted(wrong, seen, toll.net, watch),
        }
    }

    /// A move and what follows it, to where it has lost more than it took: by a search,
    /// and by a deeper one.
    pub(super) fn costs(
        &mut self,
        position: &Chess,
        mv: Move,
        watch: &mut dyn Watch,
    ) -> Option<Vec<Move>> {
        let wrong = Wrong {
            position,
            mv,
            after: played(position, mv),
            given: &[mv],
            goal: Goal::Best(Margins { right: 0, wrong: 0 }),
        };
        let line = self.best(&wrong.after, None, watch)?;
        let seen = self.loses(&wrong, &line, PAWN, watch)?;
        (seen.kind != FailureKind::Attacked).then_some(seen.line)
    }

    /// What is seen to be lost and not proved, if the position after the reply is worth as
    /// little to the side that moved as it must be: searched anew from there, and deeper,
    /// since a line may lose what its side need not. If it is mated there, that.
    fn doubted(
        &mut self,
        wrong: &Wrong,
        seen: Seen,
        net: i32,
        watch: &mut dyn Watch,
    ) -> Option<Seen> {
        let before = balance(wrong.position.board(), wrong.position.turn());
        let told = match seen.kind {
            FailureKind::Loses(role) => net.max(worth(role) / 2),
            _ => net,
        };
        let most = 100 * i32::from(before).max(0) - told + COMPENSATION;
        let reply = seen.line[1];
        let at = played(&wrong.after, reply);
        let Some(best) = self.best_within(DOUBT * self.budget, &at, None, watch) else {
            return Some(seen);
        };
        if let Value::MatedIn(_) = best.value {
            let line = [&[reply], &best.moves[..]].concat();
            return Some(wrong.shown(FailureKind::Attacked, &line, evidence(&best)));
        }
        (hundredths(best.value) <= most).then_some(seen)
    }

    /// What is seen to be lost, with the proof that it is, if there is one.
    fn surely(&mut self, wrong: &Wrong, seen: Seen, watch: &mut dyn Watch) -> Seen {
        let least = match seen.kind {
            FailureKind::Loses(role) => least(role, 0),
            FailureKind::LosesExchange => EXCHANGE,
            _ => PASSED,
        };
        let replies = (seen.line.len() / 2).min(usize::from(LONGEST_LOSS)) as u8;
        let n = replies.max(LONGEST_GAIN);
        let reply = [seen.line[1]];
        let gained = self.gains(&wrong.after, &reply, n, watch).pop();
        let proof = gained.and_then(|gain| {
            let net = gain.k.checked_sub(brings(wrong.mv))?;
            let proof = Proof::gain(&wrong.after, gain.mv, gain.k, gain.length, net);
            (net >= least).then_some(proof)
        });
        let evidence = match proof {
            Some(_) => Evidence::Proved,
            None => seen.evidence,
        };
        Seen {
            evidence,
            proof,
            ..seen
        }
    }
}

/// A wrong move.
struct Wrong<'a> {
    position: &'a Chess,
    mv: Move,
    after: Chess,
    given: &'a [Move],
    goal: Goal,
}

impl Wrong<'_> {
    /// `rest` is what follows the wrong move.
    fn seen(&self, kind: FailureKind, rest: &[Move], evidence: Evidence) -> Seen {
        let mut line = vec![self.mv];
        line.extend(rest);
        Seen {
            kind,
            line,
            evidence,
            proof: None,
        }
    }

    fn shown(&self, kind: FailureKind, rest: &[Move], evidence: Evidence) -> Seen {
        self.seen(kind, &rest[..rest.len().min(MOST_PLIES - 1)], evidence)
    }

    fn judged(&self, kind: FailureKind, rest: &[Move]) -> Seen {
        self.shown(kind, rest, Evidence::searched(0))
    }

    fn unforced(&self, reply: Option<Move>) -> Seen {
        let rest: Vec<Move> = reply.into_iter().collect();
        self.seen(FailureKind::Unforced, &rest, Evidence::Proved)
    }

    /// Whether a value for the other side shows that the move fails. Below the
    /// best move anything may.
    fn refuted(&self, value: Value) -> bool {
        match self.goal {
            Goal::Win(margins) | Goal::Draw(margins) => -hundredths(value) < margins.wrong,
            _ => true,
        }
    }
}

const PAWN: i32 = 100;

/// What is told as lost in a puzzle where more than a pawn is at stake.
const PIECE: i32 = 200;

/// From here on the other side is winning, not only safe.
const LOSING: i32 = 150;

/// Plies in which a perpetual check must show, and a repetition without.
const REPEATING: usize = 12;
const SOON: usize = 6;

fn searched(line: &Line) -> Evidence {
    Evidence::searched(line.depth)
}

/// Whether a position stands twice in a row of positions.
fn repeated(all: &[Chess]) -> bool {
    (0..all.len()).any(|i| all[i + 1..].iter().any(|p| same(p, &all[i])))
}

/// Whether a line comes back to where it began: what was there to be won is there still.
pub(super) fn comes_back(position: &Chess, line: &[Move]) -> bool {
    let all = positions(position, line);
    all[1..].iter().any(|later| same(later, position))
}

/// The same position, as repetitions count it (but for a capture en passant, which comes
/// once).
fn same(a: &Chess, b: &Chess) -> bool {
    a.board() == b.board()
        && a.turn() == b.turn()
        && a.castles().castling_rights() == b.castles().castling_rights()
}

/// Whether the side to move has a capture that wins a piece by counting.
fn gives(position: &Chess) -> bool {
    let board = position.board();
    let wins = |mv: &Move| mv.is_capture() && exchange_gain(board, *mv) >= PIECE;
    position.legal_moves().iter().any(wins)
}

/// No check, no promotion, no capture that pays.
pub(super) fn quiet(position: &Chess) -> bool {
    let loud = |mv: &Move| {
        mv.is_promotion() || mv.is_capture() && exchange_gain(position.board(), *mv) > 0
    };
    position.is_game_over() || !position.is_check() && !position.legal_moves().iter().any(loud)
}

/// The kind of loss: the greatest man lost for which none like it was
/// taken, or the pawn that got through.
fn kind(toll: &Toll, position: &Chess, line: &[Move], solver: Color) -> Option<FailureKind> {
    if let Some(square) = promoted(position, line, solver) {
        return Some(FailureKind::Promotes(square));
    }
    let (role, won) = unpaid(&toll.lost, &toll.won);
    let unpaid = role?;
    let minor = |role: &Role| worth(*role) == worth(Role::Knight);
    match unpaid {
        Role::Rook if won.iter().any(minor) => Some(FailureKind::LosesExchange),
        role => Some(FailureKind::Loses(role)),
    }
}

/// Where the other side promotes in a line, and keeps what it promoted.
pub(super) fn promoted(position: &Chess, line: &[Move], solver: Color) -> Option<Square> {
    let mut at = position.clone();
    let mut standing: Option<(Square, Square)> = None;
    for &mv in line {
        let theirs = at.turn() != solver;
        at.play_unchecked(mv);
        if theirs && mv.is_promotion() {
            standing = Some((mv.to(), mv.to()));
        } else if let Some((square, stands)) = standing {
            if theirs && mv.from() == Some(stands) {
                standing = Some((square, mv.to()));
            } else if !theirs && mv.to() == stands {
                standing = None;
            }
        }
    }
    standing.map(|(square, _)| square)
}

#[cfg(test)]
mod tests;
