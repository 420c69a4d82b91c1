//! Answers questions: what must be forced by proof, other goals by search against the
//! author's margins.

use shakmaty::{Chess, Move, Position};

use super::chance;
use super::signs::{Signs, Test};
use super::{Answer, Evidence, Goal, Margins, Question, Ruling};
use model::notation::{fen, moves::read_uci};
use prove::draw::Plan;
use prove::{Aim, Prover, Unwatched, Verdict, Watch};
use search::{BoundTest, Grade, Limits, Search, Value};
use tables::{FIFTY_MOVES, Material, Outcome, Tables};

/// A prover and a search, each with its table.
pub struct Judge {
    prover: Prover,
    search: Search,
    /// Nodes that a test may spend at most, and those that it may now.
    most_searched: u64,
    searched: u64,
    /// Doublings of the least effort, as the question asked for.
    effort: u8,
    signs: Vec<Option<Signs>>,
}

/// Bytes of a judge's tables, for whoever gives verdicts to people: with the same, page
/// and command give the same.
pub const TABLE_BYTES: usize = 32 << 20;

/// Nodes spent on one test of one move at the least effort, where nothing must be
/// forced.
const NODES_PER_TEST: u64 = 25_000;

/// Tests that the search for the best move may take as much as.
const BEST: u64 = 4;

/// The same where a test of that move does not bear its value out.
const BEST_AGAIN: u64 = 16;

/// How much smaller one such test is at most than what a proof may take.
const SHARE_OF_TEST: u64 = 12;

/// Mates after a move that the prover looks for, in moves: by exact search, and by
/// checks alone. Either may spend as much as a test of the move.
const FEW: u8 = 3;
const BY_CHECKS: u8 = 25;

/// Mates at the end of a searched line that are handed to the prover, in moves,
/// and the nodes it may spend on one; what is longer stays searched.
const LONGEST_CONFIRMED: u8 = 6;
const CONFIRMING: u64 = 500_000;

/// Men of the endings that the search has tables of, without files.
const OWN_TABLES: usize = 4;

/// Moves of a table's line that are shown.
const SHOWN_OF_TABLES: usize = 12;

/// What a mate, or being mated, counts for as a value.
const DECIDED: i32 = 1_000;

impl Judge {
    /// A judge whose tables take at most about `table_bytes` bytes.
    pub fn new(table_bytes: usize) -> Judge {
        Judge::with_tables(table_bytes, Tables::new())
    }

    /// The same with endgame tables from elsewhere.
    pub fn with_tables(table_bytes: usize, tables: Tables) -> Judge {
        Judge {
            prover: Prover::new(table_bytes / 2),
            search: Search::with_tables(table_bytes / 2, tables),
            most_searched: u64::MAX,
            searched: NODES_PER_TEST,
            effort: 0,
            signs: Vec::new(),
        }
    }

    /// Nodes that one question about a forced end may spend, and a twelfth of which
    /// one test of a move where no mate is asked, whatever effort the question asks
    /// for. `None` for no bound on those.
    pub fn set_budget(&mut self, budget: Option<u64>) {
        self.prover.budget = budget;
        self.most_searched = most_searched(budget);
    }

    /// The least effort at which a test may spend as much as a budget lets it.
    pub fn most_effort(budget: Option<u64>) -> u8 {
        most_effort(most_searched(budget))
    }

    /// The budget that was set.
    pub fn budget(&self) -> Option<u64> {
        self.prover.budget
    }

    /// What the search showed of itself, of each move last asked about; `None` of
    /// those that were not ruled on by search.
    pub fn signs(&self) -> &[Option<Signs>] {
        &self.signs
    }

    /// The endgame tables of the search, to be kept or handed back.
    pub fn tables(&mut self) -> &mut Tables {
        &mut self.search.tables
    }

    /// Nodes spent over the life of the judge.
    pub fn nodes(&self) -> u64 {
        self.prover.nodes + self.search.nodes
    }

    /// Answers a question. One that cannot be read is left open.
    pub fn answer(&mut self, question: &Question, watch: &mut dyn Watch) -> Answer {
        let before = self.nodes();
        let most = u64::MAX >> question.effort.min(63);
        self.searched =
            (NODES_PER_TEST.min(most) << question.effort.min(63)).min(self.most_searched);
        self.effort = question.effort;
        self.signs.clear();
        let rulings = self.rule(question, watch).unwrap_or_else(|| {
            let open = Ruling::Open {
                line: Vec::new(),
                nodes: 0,
                evidence: None,
            };
            vec![open; question.moves.len().max(1)]
        });
        Answer {
            question: question.clone(),
            rulings: rulings.iter().map(Ruling::plain).collect(),
            nodes: self.nodes() - before,
        }
    }

    fn rule(&mut self, question: &Question, watch: &mut dyn Watch) -> Option<Vec<Ruling>> {
        let position = fen::read(&question.fen).ok()?;
        let asked: Vec<Move> = question
            .moves
            .iter()
            .map(|m| read_uci(&position, m))
            .collect::<Option<_>>()?;
        if asked.is_empty() && position.is_game_over() {
            let (line, evidence) = (Vec::new(), Evidence::Proved);
            return Some(vec![if question.goal.ended(&position) {
                Ruling::Holds {
                    length: Some(0),
                    line,
                    evidence,
                }
            } else {
                Ruling::Fails { line, evidence }
            }]);
        }
        if let Some(claim) = question.goal.forced() {
            return if asked.is_empty() {
                Some(vec![self.any_forces(&position, claim, watch)])
            } else {
                self.force(&position, claim, &asked, watch)
            };
        }
        match question.goal {
            Goal::Forced(..) => None,
            Goal::Win(margins) | Goal::Draw(margins) if asked.is_empty() => {
                self.forget(&position, 1, watch);
                Some(vec![self.any(&position, margins, watch)])
            }
            Goal::Win(margins) | Goal::Draw(margins) => Some(
                asked
                    .iter()
                    .map(|&mv| {
                        self.forget(&position, 1, watch);
                        self.keeps(&position, mv, margins, None, watch)
                    })
                    .collect(),
            ),
            Goal::Best(margins) => {
                self.forget(&position, asked.len(), watch);
                let mut best = self.best(&position, BEST, watch)?;
                let holds =
                    best.all_lose(margins) || self.best_holds(&position, &best, margins, watch);
                if !holds {
                    // What is counted from a value that nothing bears out is wrong by as
                    // much as that is.
                    best = self.best(&position, BEST_AGAIN, watch)?;
                }
                if asked.is_empty() {
                    return Some(vec![best.ruling]);
                }
                if best.all_lose(margins) {
                    return Some(asked.iter().map(|&mv| best.all_lost(mv)).collect());
                }
                let margins = best.margins(margins);
                Some(
                    asked
                        .iter()
                        .map(|&mv| self.keeps(&position, mv, margins, Some(&best), watch))
                        .map(|ruling| counted_from(best.value, ruling))
                        .map(|ruling| if holds { ruling } else { unmeasured(ruling) })
                        .collect(),
                )
            }
        }
    }

    fn any_forces(
        &mut self,
        position: &Chess,
        (aim, n): (Aim, u8),
        watch: &mut dyn Watch,
    ) -> Ruling {
        match self.prover.force(aim, position, n, watch) {
            Ok(Some((_, verdict))) => verdict.into(),
            Ok(None) => Ruling::Fails {
                line: Vec::new(),
                evidence: Evidence::Proved,
            },
            Err(nodes) => Ruling::Open {
                line: Vec::new(),
                nodes,
                evidence: None,
            },
        }
    }

    fn force(
        &mut self,
        position: &Chess,
        (aim, n): (Aim, u8),
        asked: &[Move],
        watch: &mut dyn Watch,
    ) -> Option<Vec<Ruling>> {
        let judged = self.prover.judge_aim(aim, position, n, Some(asked), watch);
        asked
            .iter()
            .map(|mv| Some(judged.iter().find(|(m, _)| m == mv)?.1.clone().into()))
            .collect()
    }

    /// Whether a move keeps the right margin, or falls under the wrong one. `best` is
    /// the best move, where the margins count from it.
    fn keeps(
        &mut self,
        position: &Chess,
        mv: Move,
        margins: Margins,
        best: Option<&Best>,
        watch: &mut dyn Watch,
    ) -> Ruling {
        self.signs.push(None);
        if let Some(ruling) = self.by_table(position, mv, margins, watch) {
            return ruling;
        }
        if let Some(ruling) = self.by_force(position, mv, margins, watch) {
            return ruling;
        }
        // Where the margins count from a value that is searched, nothing is proved.
        if best.is_none()
            && let Some(ruling) = self.by_draw(position, mv, margins, watch)
        {
            return ruling;
        }
        let right = self.tested(position, mv, margins.right, watch);
        if right.outcome == BoundTest::Keeps
            && let Some(ruling) = self.proved(position, &right.moves, watch)
        {
            return ruling;
        }
        if right.outcome == BoundTest::Unknown {
            return undecided(mv, right.nodes);
        }
        if right.grade == Grade::Table && right.outcome == BoundTest::Keeps {
            return Ruling::Holds {
                length: None,
                line: right.moves,
                evidence: Evidence::Table,
            };
        }
        let wrong = self.tested(position, mv, margins.wrong, watch);
        self.weighed(position, mv, margins, best, [right, wrong], watch)
    }

    /// A search's test of a move against a bound.
    fn tested(
        &mut self,
        position: &Chess,
        mv: Move,
        bound: i32,
        watch: &mut dyn Watch,
    ) -> search::Answer {
        self.search
            .at_least(position, &[], mv, bound, self.searched, watch)
    }

    /// The ruling by two tests of a move, one against each margin.
    fn weighed(
        &mut self,
        position: &Chess,
        mv: Move,
        margins: Margins,
        best: Option<&Best>,
        [right, wrong]: [search::Answer; 2],
        watch: &mut dyn Watch,
    ) -> Ruling {
        let nodes = right.nodes + wrong.nodes;
        let searched = |depth, changes, value, signs: Option<Signs>| match wrong.grade {
            Grade::Table => Evidence::Table,
            Grade::Proved => Evidence::Proved,
            Grade::Searched => Evidence::Searched {
                depth,
                value,
                spent: nodes,
                changes,
                chance: signs.as_ref().map(chance::of),
            },
        };
        let changes = right.changes.max(wrong.changes);
        match (right.outcome, wrong.outcome) {
            (_, BoundTest::Unknown) => undecided(mv, nodes),
            (BoundTest::Keeps, BoundTest::Keeps) => {
                let signs = self.shown_by(position, mv, margins, best, [&right, &wrong]);
                *self.signs.last_mut().expect("one was just put there") = Some(signs);
                Ruling::Holds {
                    length: None,
                    evidence: searched(right.depth, changes, None, Some(signs)),
                    line: right.moves,
                }
            }
            (BoundTest::Fails, BoundTest::Fails) => {
                let signs = self.shown_by(position, mv, margins, best, [&wrong, &right]);
                *self.signs.last_mut().expect("one was just put there") = Some(signs);
                Ruling::Fails {
                    evidence: searched(wrong.depth, changes, None, Some(signs)),
                    line: wrong.moves,
                }
            }
            _ => {
                let value = self.between(position, mv, margins, watch);
                Ruling::Open {
                    evidence: Some(searched(wrong.depth, changes, value, None)),
                    line: right.moves,
                    nodes,
                }
            }
        }
    }

    /// What the two tests of a move showed, by which it is told how sure they are: its
    /// `own`, which the ruling rests on, and the `other`.
    fn shown_by(
        &self,
        position: &Chess,
        mv: Move,
        margins: Margins,
        best: Option<&Best>,
        [own, other]: [&search::Answer; 2],
    ) -> Signs {
        let mut after = position.clone();
        after.play_unchecked(mv);
        let loud = |&m: &Move| is_loud(&after, m);
        let replies = after.legal_moves().into_iter().filter(|m| loud(m)).count();
        Signs {
            right: own.outcome == BoundTest::Keeps,
            effort: self.effort,
            own: Test::of(own),
            other: Test::of(other),
            best: best.map(|best| (best.swing, best.changes)),
            value: best.map(|best| best.value),
            men: position.board().occupied().count() as u8,
            loud_replies: u8::try_from(replies).unwrap_or(u8::MAX),
            in_check: position.is_check(),
            loud: is_loud(position, mv),
            gap: margins.right - margins.wrong,
        }
    }

    /// A move after which one side has a forced mate that the prover finds: soon, or
    /// by checks alone.
    fn by_force(
        &mut self,
        position: &Chess,
        mv: Move,
        margins: Margins,
        watch: &mut dyn Watch,
    ) -> Option<Ruling> {
        self.briefly(|judge| {
            let mut ruling = None;
            if margins.right <= DECIDED {
                ruling = judge.mates(position, mv, watch);
            }
            if ruling.is_none() && margins.wrong > -DECIDED {
                ruling = judge.is_mated(position, mv, watch);
            }
            ruling
        })
    }

    /// Has the prover answer within what a test of a move may spend.
    fn briefly<T>(&mut self, ask: impl FnOnce(&mut Judge) -> T) -> T {
        let budget = self.prover.budget;
        self.prover.budget = Some(budget.map_or(self.searched, |b| b.min(self.searched)));
        let answer = ask(self);
        self.prover.budget = budget;
        answer
    }

    fn mates(&mut self, position: &Chess, mv: Move, watch: &mut dyn Watch) -> Option<Ruling> {
        let judged = self.prover.judge(position, FEW, Some(&[mv]), watch);
        let soon: Ruling = judged.into_iter().next()?.1.into();
        if let Ruling::Holds { line, .. } = &soon {
            return in_time(position, line).then_some(soon);
        }
        let mut after = position.clone();
        after.play_unchecked(mv);
        let replies = after.legal_moves();
        let mut longest: Vec<Move> = Vec::new();
        for &reply in &replies {
            let mut next = after.clone();
            next.play_unchecked(reply);
            let mate = self.prover.mate_by_checks(&next, BY_CHECKS, watch).ok()??;
            if mate.len() + 2 > longest.len() {
                longest = [mv, reply].into_iter().chain(mate).collect();
            }
        }
        (!replies.is_empty() && in_time(position, &longest)).then_some(Ruling::Holds {
            length: u8::try_from(longest.len().div_ceil(2)).ok(),
            line: longest,
            evidence: Evidence::Proved,
        })
    }

    fn is_mated(&mut self, position: &Chess, mv: Move, watch: &mut dyn Watch) -> Option<Ruling> {
        let mut after = position.clone();
        after.play_unchecked(mv);
        let soon = match self.prover.mate(&after, FEW, watch) {
            Ok(Some((_, Verdict::Forces { line, .. }))) => Some(line),
            _ => None,
        };
        let mate = match soon {
            Some(line) => line,
            None => self
                .prover
                .mate_by_checks(&after, BY_CHECKS, watch)
                .ok()??,
        };
        let line: Vec<Move> = std::iter::once(mv).chain(mate).collect();
        in_time(position, &line).then_some(Ruling::Fails {
            line,
            evidence: Evidence::Proved,
        })
    }

    /// A move after which one side holds a draw by force, where that decides it: the
    /// solver where no more is asked, the other side where that is too little.
    fn by_draw(
        &mut self,
        position: &Chess,
        mv: Move,
        margins: Margins,
        watch: &mut dyn Watch,
    ) -> Option<Ruling> {
        if let Some(ruling) = self.holds_draw(position, Some(&[mv]), margins, watch) {
            return Some(ruling);
        }
        let mut after = position.clone();
        after.play_unchecked(mv);
        if margins.wrong <= 0 || has_own_table(position) || after.is_game_over() {
            return None;
        }
        let plan = self.drawn(&after, None, watch)?;
        Some(Ruling::Fails {
            line: std::iter::once(mv).chain(plan.line()).collect(),
            evidence: Evidence::Drawn,
        })
    }

    /// That the solver, to move, holds a draw by force, by one of these first moves, where
    /// no more is asked.
    fn holds_draw(
        &mut self,
        position: &Chess,
        firsts: Option<&[Move]>,
        margins: Margins,
        watch: &mut dyn Watch,
    ) -> Option<Ruling> {
        if margins.right > 0 || has_own_table(position) {
            return None;
        }
        let plan = self.drawn(position, firsts, watch)?;
        Some(Ruling::Holds {
            length: None,
            line: plan.line(),
            evidence: Evidence::Drawn,
        })
    }

    /// A plan by which the side to move holds a draw.
    fn drawn(
        &mut self,
        position: &Chess,
        firsts: Option<&[Move]>,
        watch: &mut dyn Watch,
    ) -> Option<Plan> {
        self.briefly(|judge| judge.prover.draw(position, firsts, watch).ok().flatten())
    }

    /// A move into an ending that a table knows, under the fifty-move rule.
    fn by_table(
        &mut self,
        position: &Chess,
        mv: Move,
        margins: Margins,
        watch: &mut dyn Watch,
    ) -> Option<Ruling> {
        let mut after = position.clone();
        after.play_unchecked(mv);
        let Some(exact) = self.search.tables.exact(&after, watch) else {
            // A table may know the ending, and not whether the moves that are
            // left are enough.
            return Material::of(&after).map(|_| Ruling::Open {
                line: vec![mv],
                nodes: 0,
                evidence: None,
            });
        };
        if has_own_table(position) && !exact.by_rule {
            // The search gives the same answer with a line to the mate.
            return None;
        }
        let value = match exact.outcome {
            Outcome::Loss => DECIDED,
            Outcome::Draw => 0,
            Outcome::Win => -DECIDED,
        };
        let line = vec![mv];
        let evidence = Evidence::Table;
        Some(if value >= margins.right {
            Ruling::Holds {
                length: None,
                line,
                evidence,
            }
        } else if value < margins.wrong {
            Ruling::Fails {
                line: self.table_line(&after, line),
                evidence,
            }
        } else {
            Ruling::Open {
                line,
                nodes: 0,
                evidence: Some(evidence),
            }
        })
    }

    /// A line played out by the tables to mate.
    fn table_line(&mut self, after: &Chess, mut line: Vec<Move>) -> Vec<Move> {
        let mut at = after.clone();
        while line.len() < SHOWN_OF_TABLES {
            let tables = &mut self.search.tables;
            let best = match tables.best_moves(&at, &mut Unwatched) {
                Some(moves) => moves.first().map(|&(mv, _)| mv),
                None => tables.best(&at),
            };
            let Some(mv) = best else { break };
            at.play_unchecked(mv);
            line.push(mv);
        }
        line
    }

    /// The value of a move, where it lies between the margins.
    fn between(
        &mut self,
        position: &Chess,
        mv: Move,
        margins: Margins,
        watch: &mut dyn Watch,
    ) -> Option<i32> {
        let limits = Limits {
            moves: Some(vec![mv]),
            ..Limits::nodes(self.searched)
        };
        let lines = self.search.lines(position, &[], &limits, watch);
        match lines.first().map(|line| line.value) {
            Some(Value::Cp(value)) if value < margins.right && value >= margins.wrong => {
                Some(value)
            }
            _ => None,
        }
    }

    /// A searched line that ends in mate, confirmed by the prover.
    fn proved(&mut self, position: &Chess, line: &[Move], watch: &mut dyn Watch) -> Option<Ruling> {
        let mut last = position.clone();
        for &mv in line {
            last.play_unchecked(mv);
        }
        if !last.is_checkmate() || last.turn() == position.turn() || !in_time(position, line) {
            return None;
        }
        let n = u8::try_from(line.len().div_ceil(2))
            .ok()
            .filter(|&n| n <= LONGEST_CONFIRMED)?;
        let budget = self.prover.budget;
        self.prover.budget = Some(budget.map_or(CONFIRMING, |b| b.min(CONFIRMING)));
        let judged = self.prover.judge(position, n, Some(&line[..1]), watch);
        self.prover.budget = budget;
        let ruling: Ruling = judged.into_iter().next()?.1.into();
        ruling.holds().then_some(ruling)
    }

    /// Before what is answered by search, so that it is answered the same whatever was
    /// asked before, on this worker or on that: a question about the best move as a whole,
    /// other questions move by move, since they are split ([`Question::splits`]).
    fn forget(&mut self, position: &Chess, moves: usize, watch: &mut dyn Watch) {
        let nodes = self.searched.saturating_mul(BEST + 2 * moves as u64);
        self.search.forget(position, nodes, watch);
        self.prover.forget();
    }

    /// The best move of an ending that a table knows.
    fn best_by_table(&mut self, position: &Chess, watch: &mut dyn Watch) -> Option<Move> {
        self.search.tables.exact(position, watch)?;
        let moves = self.search.tables.exact_moves(position, watch)?;
        let best = moves.iter().min_by_key(|(_, exact)| match exact.outcome {
            Outcome::Win => (0, i32::from(exact.mate.unwrap_or(0))),
            Outcome::Draw => (1, 0),
            Outcome::Loss => (2, 0),
        });
        best.map(|&(mv, _)| mv)
    }

    /// Whether any move keeps the right margin: whether the best one does.
    fn any(&mut self, position: &Chess, margins: Margins, watch: &mut dyn Watch) -> Ruling {
        if let Some(mv) = self.best_by_table(position, watch) {
            return match self.keeps(position, mv, margins, None, watch) {
                Ruling::Fails { evidence, .. } => Ruling::Fails {
                    line: Vec::new(),
                    evidence,
                },
                other => other,
            };
        }
        if let Some(ruling) = self.holds_draw(position, None, margins, watch) {
            return ruling;
        }
        let best = self.best(position, BEST, watch);
        let Some((best, &mv)) = best
            .as_ref()
            .and_then(|b| Some((b, b.ruling.line().first()?)))
        else {
            return Ruling::Open {
                line: Vec::new(),
                nodes: 0,
                evidence: None,
            };
        };
        if best.value >= margins.right && best.ruling.is_firm() {
            return best.ruling.clone();
        }
        match self.keeps(position, mv, margins, None, watch) {
            Ruling::Fails { evidence, .. } => Ruling::Fails {
                line: Vec::new(),
                evidence,
            },
            other => other,
        }
    }

    /// Whether a test of the best move bears out the value that it was found with; if
    /// not, nothing that is measured against it is sure.
    fn best_holds(
        &mut self,
        position: &Chess,
        best: &Best,
        margins: Margins,
        watch: &mut dyn Watch,
    ) -> bool {
        let (Some(&mv), false) = (best.ruling.line().first(), best.ruling.is_firm()) else {
            return true;
        };
        let bound = best.margins(margins).right;
        let test = self
            .search
            .at_least(position, &[], mv, bound, self.searched, watch);
        test.outcome == BoundTest::Keeps
    }

    /// The best move, mates counted as [`DECIDED`], and its line.
    fn best(&mut self, position: &Chess, times: u64, watch: &mut dyn Watch) -> Option<Best> {
        let limits = Limits::nodes(self.searched.saturating_mul(times));
        let before = self.search.nodes;
        let line = self
            .search
            .lines(position, &[], &limits, watch)
            .into_iter()
            .next()?;
        let (value, length) = match line.value {
            Value::Cp(value) => (value.clamp(-DECIDED, DECIDED), None),
            Value::MateIn(n) if line.grade == Grade::Proved => (DECIDED, u8::try_from(n).ok()),
            Value::MateIn(_) => (DECIDED, None),
            Value::MatedIn(_) => (-DECIDED, None),
        };
        let evidence = match line.grade {
            Grade::Proved => Evidence::Proved,
            Grade::Table => Evidence::Table,
            Grade::Searched => Evidence::Searched {
                depth: line.depth,
                value: Some(value),
                spent: self.search.nodes - before,
                changes: line.changes,
                chance: None,
            },
        };
        Some(Best {
            value,
            swing: line.swing,
            changes: line.changes,
            ruling: Ruling::Holds {
                length,
                line: line.moves,
                evidence,
            },
        })
    }
}

/// Whether the search has a table of the ending without files.
fn has_own_table(position: &Chess) -> bool {
    position.board().occupied().count() <= OWN_TABLES
}

/// Nodes that a test may spend at most.
fn most_searched(budget: Option<u64>) -> u64 {
    budget.map_or(u64::MAX, |nodes| {
        (nodes / SHARE_OF_TEST).max(NODES_PER_TEST)
    })
}

/// The doublings that make so many nodes of the least effort, and no fewer.
fn most_effort(nodes: u64) -> u8 {
    (nodes.div_ceil(NODES_PER_TEST).max(1) - 1)
        .checked_ilog2()
        .map_or(0, |doublings| doublings as u8 + 1)
}

/// The best move as it was searched.
struct Best {
    /// In hundredths of a pawn.
    value: i32,
    swing: i32,
    changes: u8,
    ruling: Ruling,
}

impl Best {
    /// The margins counted from its value.
    fn margins(&self, margins: Margins) -> Margins {
        Margins {
            right: self.value + margins.right,
            wrong: self.value + margins.wrong,
        }
    }

    /// Whether even the best move is lost.
    fn all_lose(&self, margins: Margins) -> bool {
        self.margins(margins).right <= -DECIDED
    }

    /// Where even the best move is lost, any move is as good, as far as one can see.
    fn all_lost(&self, mv: Move) -> Ruling {
        Ruling::Holds {
            length: None,
            line: vec![mv],
            evidence: match self.ruling.evidence() {
                Some(Evidence::Searched { depth, .. }) => Evidence::searched(depth),
                _ => Evidence::searched(0),
            },
        }
    }
}

/// Whether a line to mate ends before the other side may claim a draw by the
/// fifty-move rule (FIDE Laws, 9.3), whatever is played in it.
fn in_time(position: &Chess, line: &[Move]) -> bool {
    position.halfmoves() as usize + line.len() <= FIFTY_MOVES as usize
}

/// Whether a move takes, promotes or gives check.
fn is_loud(position: &Chess, mv: Move) -> bool {
    let mut after = position.clone();
    after.play_unchecked(mv);
    mv.is_capture() || mv.is_promotion() || after.is_check()
}

/// A ruling of which nobody knows how likely it is wrong.
fn unmeasured(mut ruling: Ruling) -> Ruling {
    if let Ruling::Holds { evidence, .. } | Ruling::Fails { evidence, .. } = &mut ruling
        && let Evidence::Searched { chance, .. } = evidence
    {
        *chance = None;
    }
    ruling
}

/// A ruling whose value, if it lies between the margins, counts from the best
/// move's.
fn counted_from(best: i32, mut ruling: Ruling) -> Ruling {
    if let Ruling::Open {
        evidence: Some(Evidence::Searched {
            value: Some(value), ..
        }),
        ..
    } = &mut ruling
    {
        *value -= best;
    }
    ruling
}

/// A move that a search gave up.
fn undecided(mv: Move, nodes: u64) -> Ruling {
    Ruling::Open {
        line: vec![mv],
        nodes,
        evidence: None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trial::{kinds, report};
    use crate::{Kind, Soundness, Weight};

    /// The knight forks king and queen.
    const FORK: &str = "[FEN \"6k1/3q1p1p/8/3N4/8/8/5PPP/6K1 w - - 0 1\"]\n[Stipulation \"+\"]\n\n1. Nf6+ (1. Nb6 $2 Qd1#) 1... Kg7 2. Nxd7 *";

    #[test]
    fn the_most_effort_is_the_first_that_spends_all() {
        let most = [1, 2, 3, 4, 5].map(|times| most_effort(times * NODES_PER_TEST));
        assert_eq!(most, [0, 1, 2, 2, 3]);
        assert!(NODES_PER_TEST << most_effort(u64::MAX / 4) >= u64::MAX / 4);
    }

    #[test]
    fn a_won_queen_is_a_sound_win() {
        let report = report(FORK);
        assert_eq!(report.verdict, Soundness::Sound, "{:?}", report.findings);
        assert!(report.findings.iter().all(|f| f.weight == Weight::Remark));
    }

    /// Black is about to mate, and White checks for ever.
    #[test]
    fn a_perpetual_check_is_proved_to_hold() {
        let perpetual = "[FEN \"6k1/6p1/8/7Q/8/8/qr6/7K w - - 0 1\"]\n[Stipulation \"=\"]\n\n1. Qe8+ Kh7 2. Qh5+ Kg8 *";
        let report = report(perpetual);
        assert_eq!(report.verdict, Soundness::Sound, "{:?}", report.findings);
    }

    /// White mates at once, or lets Black check for ever.
    #[test]
    fn a_win_that_a_perpetual_check_takes_away_is_proved_to_fail() {
        let start = fen::read("7k/QR6/8/8/7q/8/6P1/6K1 w - - 0 1").expect("a position");
        let mv = read_uci(&start, "b7b6").expect("a legal move");
        let margins = Margins {
            right: 200,
            wrong: 100,
        };
        let question = Question::about(&start, Goal::Win(margins), &[mv]);
        let answer = Judge::new(1 << 20).answer(&question, &mut Unwatched);
        let Ruling::Fails { line, evidence } = &answer.rulings[0] else {
            panic!("{answer:?}");
        };
        assert_eq!(*evidence, Evidence::Drawn);
        assert_eq!(line[1], "h4e1");
    }

    #[test]
    fn a_win_that_stops_before_its_point_is_unfinished() {
        let report = report(&FORK.replace(" 1... Kg7 2. Nxd7", ""));
        assert_eq!(kinds(&report), [Kind::UnfinishedSolution]);
    }

    #[test]
    fn a_best_move_has_no_equal() {
        let best = FORK.replace("\"+\"", "\"bm\"");
        let sound = report(&best);
        assert_eq!(sound.verdict, Soundness::Sound, "{:?}", sound.findings);
        let wrong = best.replace("1. Nf6+ (1. Nb6 $2 Qd1#) 1... Kg7 2. Nxd7", "1. Nb6");
        assert!(kinds(&report(&wrong)).contains(&Kind::NoSolution));
    }

    /// The rook must give itself up for the pawn, or it queens.
    const HOLDS: &str =
        "[FEN \"8/8/8/p6p/P6P/1k6/1p1R4/1K6 w - - 0 1\"]\n[Stipulation \"=\"]\n\n1. Rxb2+ *";

    #[test]
    fn an_ending_of_few_men_is_judged_by_its_table() {
        let few = HOLDS.replace("8/8/8/p6p/P6P/1k6/1p1R4/1K6", "8/8/8/8/8/1k6/3R4/1K6");
        let report = report(&few.replace("Rxb2+", "Rd3+"));
        assert!(
            !kinds(&report).contains(&Kind::Undecided),
            "{:?}",
            report.findings
        );
    }

    /// The rook wins the knight in 24 moves. With 15 left (Syzygy's count: none of
    /// them is enough) a table that knows mates alone leaves it open.
    #[test]
    fn the_clock_counts_in_an_ending_of_few_men() {
        let early = "[FEN \"4n3/8/3K4/8/8/8/2k5/R7 w - - 0 99\"]\n[Stipulation \"+\"]\n\n1. Kd5 *";
        let holds = |text: &str| !kinds(&report(text)).contains(&Kind::Undecided);
        assert!(holds(early));
        assert!(!holds(&early.replace("- 0 99", "- 70 99")));
    }

    /// A mate in two that comes a move too late (FIDE Laws, 9.3): with 97 on the clock
    /// White mates on the fiftieth move, with 98 Black claims the draw before it.
    #[test]
    fn a_win_by_mate_must_come_before_the_fifty_moves_are_over() {
        let mate = "[FEN \"6k1/8/5K2/8/8/8/8/R6Q w - - 97 99\"]\n[Stipulation \"+\"]\n\n1. Ra7 Kf8 2. Qh8# *";
        let doubted = |text: &str| {
            let doubts = [Kind::NoSolution, Kind::Undecided];
            let mut findings = report(text).findings.into_iter();
            findings.any(|f| doubts.contains(&f.kind) && f.message.contains("Ra7"))
        };
        assert!(!doubted(mate));
        assert!(doubted(&mate.replace("- 97 99", "- 98 99")));
    }

    #[test]
    fn a_move_that_holds_is_told_from_moves_that_lose() {
        let report = report(HOLDS);
        assert!(
            !kinds(&report).contains(&Kind::NoSolution),
            "{:?}",
            report.findings
        );
    }

    #[test]
    fn a_test_may_spend_a_twelfth_of_the_budget_and_never_less_than_the_least() {
        assert_eq!(most_searched(None), u64::MAX);
        assert_eq!(most_searched(Some(1)), NODES_PER_TEST);
        assert_eq!(most_searched(Some(12 * 40_000)), 40_000);
        assert_eq!(Judge::most_effort(Some(12 * 4 * NODES_PER_TEST)), 2);
        let mut judge = Judge::new(1 << 20);
        judge.set_budget(Some(12 * 40_000));
        assert_eq!(
            (judge.budget(), judge.most_searched),
            (Some(480_000), 40_000)
        );
    }

    const MARGINS: Margins = Margins {
        right: -20,
        wrong: -100,
    };

    fn best(value: i32) -> Best {
        Best {
            value,
            swing: 0,
            changes: 0,
            ruling: Ruling::Holds {
                length: None,
                line: Vec::new(),
                evidence: Evidence::searched(7),
            },
        }
    }

    #[test]
    fn the_margins_count_from_the_best_move_unless_that_is_lost() {
        let counted = best(150).margins(MARGINS);
        assert_eq!((counted.right, counted.wrong), (130, 50));
        let lost = |value| best(value).all_lose(MARGINS);
        assert!(lost(-DECIDED) && lost(20 - DECIDED));
        assert!(!lost(21 - DECIDED));
        let any = best(-DECIDED).all_lost(read_uci(&Chess::default(), "a2a3").expect("a move"));
        assert!(any.holds());
        assert_eq!(any.evidence(), Some(Evidence::searched(7)));
        let open = |value| Ruling::Open {
            line: Vec::new(),
            nodes: 1,
            evidence: Some(Evidence::Searched {
                depth: 7,
                value: Some(value),
                spent: 1,
                changes: 0,
                chance: None,
            }),
        };
        assert_eq!(counted_from(150, open(90)), open(-60));
        let ruling = best(0).ruling;
        assert_eq!(counted_from(150, ruling.clone()), ruling);
    }

    #[test]
    fn what_nothing_bears_out_has_no_chance() {
        let ruling = |right: bool, chance| {
            let evidence = Evidence::Searched {
                depth: 7,
                value: None,
                spent: 1,
                changes: 0,
                chance,
            };
            let line = Vec::new();
            match right {
                true => Ruling::Holds {
                    length: None,
                    line,
                    evidence,
                },
                false => Ruling::Fails { line, evidence },
            }
        };
        for right in [true, false] {
            let sure = ruling(right, Some(crate::Chance(3)));
            assert_eq!(unmeasured(sure), ruling(right, None));
        }
    }

    #[test]
    fn captures_promotions_and_checks_are_loud() {
        let start = fen::read("4k3/1P6/8/3p4/4P3/8/8/R3K3 w - - 0 1").expect("a position");
        let loud = |mv: &str| is_loud(&start, read_uci(&start, mv).expect("a legal move"));
        assert!(["e4d5", "b7b8n", "a1a8"].into_iter().all(loud));
        assert!(!["e4e5", "a1a7", "e1e2"].into_iter().any(loud));
    }

    /// FIDE Laws, 9.3: fifty moves of each side.
    #[test]
    fn a_line_is_in_time_up_to_the_hundredth_half_move() {
        let start = fen::read("6k1/8/5K2/8/8/8/8/R6Q w - - 97 99").expect("a position");
        let moves = ["a1a7", "g8f8", "h1h8", "f8g8"].map(String::from);
        let line = model::notation::moves::read_ucis(&start, &moves[..3]);
        assert!(in_time(&start, &line) && in_time(&start, &[]));
        let longer: Vec<Move> = line.iter().chain(&line[..1]).copied().collect();
        assert!(!in_time(&start, &longer));
    }

    /// The bishop takes the other one, and is left against a knight.
    #[test]
    fn a_draw_by_table_counts_for_nothing_on_the_margins() {
        let start = fen::read("6n1/8/8/3k4/8/3Kb3/8/2B5 w - - 0 1").expect("a position");
        let mv = read_uci(&start, "c1e3").expect("a legal move");
        let mut judge = Judge::new(1 << 20);
        for (right, wrong, kind) in [
            (200, 1, "fails"),
            (200, 0, "open"),
            (1, -50, "open"),
            (0, -50, "holds"),
        ] {
            let margins = Margins { right, wrong };
            let ruling = judge.by_table(&start, mv, margins, &mut Unwatched);
            let told = match &ruling {
                Some(Ruling::Holds { .. }) => "holds",
                Some(Ruling::Fails { .. }) => "fails",
                Some(Ruling::Open { .. }) => "open",
                None => "no table",
            };
            assert_eq!(told, kind, "{right} {wrong}: {ruling:?}");
        }
    }

    /// What two tests of a move that said so make of it, and the signs that are kept.
    fn weighed(outcomes: [BoundTest; 2], grade: Grade) -> (Ruling, Option<Signs>) {
        let start = fen::read("r5k1/5ppp/8/8/8/8/P4PPP/R5K1 w - - 0 1").expect("a position");
        let mv = |uci: &str| read_uci(&start, uci).expect("a legal move");
        let margins = Margins {
            right: 6_000,
            wrong: -6_000,
        };
        let [right, wrong] = outcomes;
        let right = search::Answer {
            outcome: right,
            depth: 9,
            since: 5,
            changes: 1,
            moves: vec![mv("h2h3")],
            nodes: 400,
            grade: Grade::Searched,
        };
        let wrong = search::Answer {
            outcome: wrong,
            depth: 11,
            since: 4,
            changes: 3,
            moves: vec![mv("h2h3"); 2],
            nodes: 30,
            grade,
        };
        let mut judge = Judge::new(1 << 20);
        judge.signs.push(None);
        let answers = [right, wrong];
        let ruling = judge.weighed(&start, mv("h2h3"), margins, None, answers, &mut Unwatched);
        (ruling, judge.signs[0])
    }

    #[test]
    fn a_move_is_right_or_wrong_where_both_margins_say_so() {
        use BoundTest::{Fails, Keeps, Unknown};
        let evidence = |ruling: &Ruling| match ruling.evidence() {
            Some(Evidence::Searched {
                depth,
                spent,
                changes,
                chance,
                ..
            }) => (depth, spent, changes, chance),
            other => panic!("{other:?}"),
        };
        let (right, signs) = weighed([Keeps, Keeps], Grade::Searched);
        let signs = signs.expect("signs");
        assert!(right.holds() && right.line().len() == 1 && signs.right);
        assert_eq!(evidence(&right), (9, 430, 3, Some(chance::of(&signs))));
        assert_eq!((signs.own.steady, signs.other.steady), (4, 7));
        assert_eq!((signs.gap, signs.men, signs.loud_replies), (12_000, 11, 1));
        let (wrong, signs) = weighed([Fails, Fails], Grade::Searched);
        let signs = signs.expect("signs");
        assert!(wrong.fails() && wrong.line().len() == 2 && !signs.right);
        assert_eq!(evidence(&wrong), (11, 430, 3, Some(chance::of(&signs))));
        assert_eq!((signs.own.steady, signs.other.steady), (7, 4));
        for outcomes in [[Fails, Keeps], [Keeps, Fails]] {
            let (between, signs) = weighed(outcomes, Grade::Searched);
            assert!(between.is_open() && signs.is_none());
            let told = between.evidence().expect("evidence");
            assert!(
                matches!(
                    told,
                    Evidence::Searched {
                        value: Some(-100..100),
                        ..
                    }
                ),
                "{told:?}"
            );
        }
        let (unknown, signs) = weighed([Keeps, Unknown], Grade::Searched);
        assert_eq!((unknown.evidence(), signs), (None, None));
        assert!(matches!(unknown, Ruling::Open { nodes: 430, .. }));
        let table = weighed([Keeps, Keeps], Grade::Table).0;
        assert_eq!(table.evidence(), Some(Evidence::Table));
    }

    /// A draw that is held by force is right where no more than a draw is asked, and wrong
    /// where a draw is too little.
    #[test]
    fn a_draw_by_force_decides_on_its_side_of_the_margins() {
        let drawn = |text: &str, mv: &str, right: i32, wrong: i32| {
            let start = fen::read(text).expect("a position");
            let mv = read_uci(&start, mv).expect("a legal move");
            let goal = Goal::Draw(Margins { right, wrong });
            let question = Question::about(&start, goal, &[mv]);
            let answer = Judge::new(1 << 20).answer(&question, &mut Unwatched);
            let drawn = answer.rulings[0].evidence() == Some(Evidence::Drawn);
            drawn.then(|| answer.rulings[0].holds())
        };
        let holds = "6k1/6p1/8/7Q/8/8/qr6/7K w - - 0 1";
        assert_eq!(drawn(holds, "h5e8", 0, -200), Some(true));
        assert_eq!(drawn(holds, "h5e8", 1, -200), None);
        let lets = "7k/QR6/8/8/7q/8/6P1/6K1 w - - 0 1";
        assert_eq!(drawn(lets, "b7b6", 200, 1), Some(false));
        assert_eq!(drawn(lets, "b7b6", 200, 0), None);
    }

    #[test]
    fn of_an_ending_that_a_table_knows_the_quickest_mate_is_taken() {
        let any = |text: &str| {
            let start = fen::read(text).expect("a position");
            let goal = Goal::Win(Margins {
                right: 200,
                wrong: 100,
            });
            let question = Question::about(&start, goal, &[]);
            let answer = Judge::new(1 << 20).answer(&question, &mut Unwatched);
            answer.rulings[0].clone()
        };
        let mates = any("k7/8/1K6/8/8/8/8/6Q1 w - - 0 1");
        assert_eq!((mates.holds(), mates.length()), (true, Some(1)));
        let lost = any("8/8/8/8/8/1k6/1q6/3K4 w - - 0 1");
        assert!(lost.fails() && lost.line().is_empty());
        // Most moves let the win go.
        assert!(any("8/8/3k4/8/4K3/4P3/8/8 w - - 0 1").holds());
    }

    const WIN: Goal = Goal::Win(Margins {
        right: 200,
        wrong: 100,
    });

    /// What a new judge, or this one, says of these moves, of the best one if there are none.
    fn ruled(judge: &mut Judge, text: &str, goal: Goal, moves: &[&str]) -> Answer {
        let start = fen::read(text).expect("a position");
        let moves = moves.iter().map(|mv| read_uci(&start, mv));
        let moves: Vec<Move> = moves.map(|mv| mv.expect("a legal move")).collect();
        judge.answer(&Question::about(&start, goal, &moves), &mut Unwatched)
    }

    fn small() -> Judge {
        Judge::new(1 << 20)
    }

    /// The knight forks king and queen, or lets Black mate.
    const FORKS: &str = "6k1/3q1p1p/8/3N4/8/8/5PPP/6K1 w - - 0 1";

    #[test]
    fn what_is_spent_is_counted_and_the_signs_of_searches_are_kept() {
        let mut judge = small();
        let answer = ruled(&mut judge, FORKS, WIN, &["d5f6", "d5b6"]);
        let signs: Vec<bool> = judge.signs().iter().map(Option::is_some).collect();
        assert_eq!(signs, [true, false]);
        assert!(answer.nodes > 0);
        assert_eq!(judge.nodes(), answer.nodes);
        assert!(answer.rulings[0].holds());
        let Ruling::Fails { line, evidence } = &answer.rulings[1] else {
            panic!("{answer:?}");
        };
        assert_eq!(*evidence, Evidence::Proved);
        assert_eq!(*line, ["d5b6", "d7d1"]);
        // Another question spends its own, and finds the same.
        let again = ruled(&mut judge, FORKS, WIN, &["d5f6", "d5b6"]);
        assert_eq!(again, answer);
        assert_eq!(judge.nodes(), 2 * answer.nodes);
        let best = |judge: &mut Judge| ruled(judge, FORKS, Goal::Best(MARGINS), &[]);
        assert_eq!(best(&mut judge), best(&mut small()));
    }

    #[test]
    fn effort_doubles_what_a_test_may_spend_up_to_the_most() {
        let spends = |budget, effort| {
            let mut judge = small();
            judge.set_budget(budget);
            let question = Question::about(&Chess::default(), WIN, &[]).with_effort(effort);
            let unread = Question {
                fen: String::new(),
                ..question
            };
            judge.answer(&unread, &mut Unwatched);
            judge.searched
        };
        let least = NODES_PER_TEST;
        assert_eq!(
            [0, 1, 4].map(|e| spends(None, e)),
            [least, 2 * least, 16 * least]
        );
        assert_eq!([63, 64, 255].map(|e| spends(None, e)), [1 << 63; 3]);
        let most = Some(SHARE_OF_TEST * 3 * least);
        assert_eq!(
            [1, 2, 60].map(|e| spends(most, e)),
            [2 * least, 3 * least, 3 * least]
        );
    }

    #[test]
    fn the_tables_that_it_made_can_be_had() {
        let mut judge = Judge::with_tables(1 << 20, Tables::new());
        ruled(
            &mut judge,
            "8/8/3k4/8/4K3/4P3/8/8 w - - 0 1",
            WIN,
            &["e4d4"],
        );
        let made: Vec<Material> = judge.tables().materials().collect();
        assert!(
            made.contains(&Material::read("KPK").expect("a material")),
            "{made:?}"
        );
    }

    #[test]
    fn a_value_is_told_only_between_the_margins() {
        let start = fen::read("r5k1/5ppp/8/8/8/8/P4PPP/R5K1 w - - 0 1").expect("a position");
        let mv = read_uci(&start, "h2h3").expect("a legal move");
        let told = |right, wrong| {
            let margins = Margins { right, wrong };
            small().between(&start, mv, margins, &mut Unwatched)
        };
        let value = told(1_000, -1_000).expect("a value");
        assert_eq!(told(value + 1, value), Some(value));
        assert_eq!(told(value, value - 1), None);
        assert_eq!(told(value + 2, value + 1), None);
    }

    /// Into endings that a table knows: a pawn that is lost to the queen, and bishop against
    /// knight. The line is played on by the table.
    #[test]
    fn a_move_into_an_ending_of_few_men_fails_with_a_line_of_the_table() {
        let margins = Margins {
            right: 200,
            wrong: 1,
        };
        for (text, mv, plies) in [
            ("8/8/8/3k4/8/q3p3/3P4/6K1 w - - 0 1", "d2e3", 8),
            (
                "6n1/8/8/3k4/8/3Kb3/8/2B5 w - - 0 1",
                "c1e3",
                SHOWN_OF_TABLES,
            ),
        ] {
            let answer = ruled(&mut small(), text, Goal::Win(margins), &[mv]);
            let Ruling::Fails { line, evidence } = &answer.rulings[0] else {
                panic!("{answer:?}");
            };
            assert_eq!(*evidence, Evidence::Table);
            assert_eq!((line[0].as_str(), line.len()), (mv, plies));
            let start = fen::read(text).expect("a position");
            let legal = model::notation::moves::read_ucis(&start, line);
            assert_eq!(legal.len(), plies);
        }
    }

    /// White could check for ever, but of so few men the table knows it.
    #[test]
    fn of_few_men_a_draw_is_known_by_the_table() {
        let checks = "8/8/5q1Q/8/2k5/8/8/4K3 b - - 0 1";
        let ruling = ruled(&mut small(), checks, WIN, &["f6a6"])
            .rulings
            .remove(0);
        assert!(ruling.fails());
        assert_eq!(ruling.evidence(), Some(Evidence::Table));
    }

    /// White mates soon, but his first move gives no check.
    #[test]
    fn a_move_that_lets_the_other_side_mate_quietly_is_proved_to_fail() {
        let lost = "8/8/1R6/8/8/3k4/7P/R3K3 b Q - 0 1";
        let answer = ruled(&mut small(), lost, WIN, &["d3c2"]);
        let Ruling::Fails { line, evidence } = &answer.rulings[0] else {
            panic!("{answer:?}");
        };
        assert_eq!(*evidence, Evidence::Proved);
        assert_eq!(line[1], "a1a3");
    }

    #[test]
    fn a_stalemate_wins_nothing() {
        let stalemates = "7k/8/8/p4KQ1/P7/8/8/8 w - - 0 1";
        let ruling = &ruled(&mut small(), stalemates, WIN, &["g5g6"]).rulings[0];
        assert!(ruling.fails(), "{ruling:?}");
    }

    /// A mate in four that begins with a quiet move, as a search might find it.
    #[test]
    fn a_searched_mate_is_proved_where_it_is_one_and_comes_in_time() {
        let text = "r3k3/p4R1p/4p1K1/8/8/7Q/1N6/8 w q - 0 1";
        let start = fen::read(text).expect("a position");
        let read = |moves: &[&str]| {
            let moves: Vec<String> = moves.iter().map(|&mv| mv.to_owned()).collect();
            let line = model::notation::moves::read_ucis(&start, &moves);
            assert_eq!(line.len(), moves.len());
            line
        };
        let mates = read(&["g6f6", "e8c8", "h3c3", "c8b8", "c3b3", "b8c8", "b3b7"]);
        let stops = read(&["g6f6", "e8c8", "h3c3", "c8b8", "c3b3", "b8c8", "b3b4"]);
        let proved = |halfmoves: u32, line: &[Move]| {
            let text = text.replace("0 1", &format!("{halfmoves} 99"));
            let start = fen::read(&text).expect("a position");
            small().proved(&start, line, &mut Unwatched)
        };
        let ruling = proved(93, &mates).expect("a mate");
        assert_eq!((ruling.holds(), ruling.length()), (true, Some(4)));
        assert_eq!(ruling.evidence(), Some(Evidence::Proved));
        assert_eq!(proved(94, &mates), None);
        assert_eq!(proved(0, &stops), None);
        // The line of a table is one too.
        let table = ruled(
            &mut small(),
            "k7/7P/2K5/8/8/8/8/8 w - - 0 1",
            WIN,
            &["c6c7"],
        );
        let ruling = &table.rulings[0];
        assert_eq!((ruling.holds(), ruling.length()), (true, Some(4)));
        assert_eq!(ruling.evidence(), Some(Evidence::Proved));
    }

    #[test]
    fn the_best_move_of_all_is_told_as_surely_as_it_is_known() {
        // Mate in one, and mated whatever is played.
        let any = |text| ruled(&mut small(), text, WIN, &[]).rulings.remove(0);
        let mates = any("6k1/5ppp/8/8/8/8/5PPP/R5K1 w - - 0 1");
        assert_eq!((mates.holds(), mates.length()), (true, Some(1)));
        assert_eq!(mates.evidence(), Some(Evidence::Proved));
        let mated = any("5rk1/8/8/8/8/7q/P5p1/6K1 w - - 0 1");
        assert!(mated.fails() && mated.line().is_empty(), "{mated:?}");
        assert_eq!(mated.evidence(), Some(Evidence::Proved));
        // A queen up is searched, and tested: how likely that is wrong is known.
        let ahead = any("6k1/5pp1/7p/8/8/8/5PPP/3Q2K1 w - - 0 1");
        let Some(Evidence::Searched { chance, .. }) = ahead.evidence() else {
            panic!("{ahead:?}");
        };
        assert!(ahead.holds() && chance.is_some());
    }

    #[test]
    fn a_value_that_a_test_does_not_bear_out_does_not_hold() {
        let start = fen::read(FORKS).expect("a position");
        let holds = |value, evidence| {
            let line = vec![read_uci(&start, "d5f6").expect("a legal move")];
            let ruling = Ruling::Holds {
                length: None,
                line,
                evidence,
            };
            let best = Best {
                ruling,
                ..best(value)
            };
            small().best_holds(&start, &best, MARGINS, &mut Unwatched)
        };
        assert!(holds(300, Evidence::searched(7)));
        assert!(!holds(900, Evidence::searched(7)));
        assert!(holds(900, Evidence::Proved));
    }

    /// How likely it is wrong is known then.
    #[test]
    fn a_best_move_that_a_test_bears_out_is_not_searched_again() {
        let answer = ruled(&mut small(), FORKS, Goal::Best(MARGINS), &["d5f6"]);
        let Some(Evidence::Searched { chance, .. }) = answer.rulings[0].evidence() else {
            panic!("{answer:?}");
        };
        assert!(answer.rulings[0].holds() && chance.is_some());
        assert!(answer.nodes < (BEST + BEST_AGAIN) * NODES_PER_TEST);
    }

    /// The king steps to a5 or b4, and is mated by checks: sooner on b4, and so late that
    /// fifty moves may be over.
    #[test]
    fn a_mate_by_checks_is_as_long_as_the_longest_and_must_come_in_time() {
        let ladder = |halfmoves: u32| {
            let text = format!("6QR/8/5K2/8/k6p/8/8/8 w - - {halfmoves} 99");
            ruled(&mut small(), &text, WIN, &["g8a2"]).rulings.remove(0)
        };
        let mates = ladder(83);
        assert_eq!((mates.holds(), mates.length()), (true, Some(9)));
        assert_eq!(mates.line().len(), 17);
        assert_eq!(ladder(84).length(), None);
    }
}
