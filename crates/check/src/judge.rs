//! Answers questions: what must be forced by proof, other goals by search against the
//! author's margins.

use shakmaty::{Chess, Move, Position};

use super::{Answer, Evidence, Goal, Margins, Question, Ruling};
use model::notation::{fen, moves::read_uci};
use prove::{Aim, Prover, Unwatched, Watch};
use search::{Grade, Kept, Limits, Search, Value};
use tables::{Material, Standing, Tables};

/// A prover and a search, each with its table.
pub struct Judge {
    prover: Prover,
    search: Search,
    searched: u64,
}

/// Nodes spent on one test of one move, where nothing must be forced.
const NODES_PER_TEST: u64 = 25_000;

/// How much smaller one such test is than what a proof may take: there are a few
/// dozen at every turn.
const SHARE_OF_TEST: u64 = 800;

/// Mates at the end of a searched line that are handed to the prover, in moves,
/// and the nodes it may spend on one; what is longer stays searched.
const LONGEST_CONFIRMED: u8 = 6;
const CONFIRMING: u64 = 500_000;

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
            searched: NODES_PER_TEST,
        }
    }

    /// Nodes that one question about a forced end may spend, and, in proportion, one
    /// test of a move where no mate is asked. `None` for no bound
    /// on those.
    pub fn set_budget(&mut self, budget: Option<u64>) {
        self.prover.budget = budget;
        self.searched = budget.map_or(NODES_PER_TEST, |nodes| {
            (nodes / SHARE_OF_TEST).max(NODES_PER_TEST)
        });
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
            Goal::Mate(_) | Goal::Selfmate(_) | Goal::Stalemate(_) | Goal::Helpmate(_) => None,
            Goal::Win(margins) | Goal::Draw(margins) if asked.is_empty() => {
                Some(vec![self.any(&position, margins, watch)])
            }
            Goal::Win(margins) | Goal::Draw(margins) => Some(
                asked
                    .iter()
                    .map(|&mv| self.keeps(&position, mv, margins, watch))
                    .collect(),
            ),
            Goal::Best(margins) => {
                let best = self.best(&position, watch)?;
                if asked.is_empty() {
                    return Some(vec![best.1]);
                }
                let margins = Margins {
                    right: best.0 + margins.right,
                    wrong: best.0 + margins.wrong,
                };
                Some(
                    asked
                        .iter()
                        .map(|&mv| self.keeps(&position, mv, margins, watch))
                        .map(|ruling| counted_from(best.0, ruling))
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

    /// Whether a move keeps the right margin, or falls under the wrong one.
    fn keeps(
        &mut self,
        position: &Chess,
        mv: Move,
        margins: Margins,
        watch: &mut dyn Watch,
    ) -> Ruling {
        if let Some(ruling) = self.by_table(position, mv, margins, watch) {
            return ruling;
        }
        let right = self
            .search
            .at_least(position, &[], mv, margins.right, self.searched, watch);
        let evidence = known_by(&right);
        match right.kept {
            Kept::Keeps => {
                return self
                    .proved(position, &right.moves, watch)
                    .unwrap_or(Ruling::Holds {
                        length: None,
                        line: right.moves,
                        evidence,
                    });
            }
            Kept::Unknown => {
                return Ruling::Open {
                    line: vec![mv],
                    nodes: right.nodes,
                    evidence: None,
                };
            }
            Kept::Fails => {}
        }
        let wrong = self
            .search
            .at_least(position, &[], mv, margins.wrong, self.searched, watch);
        let evidence = known_by(&wrong);
        let nodes = right.nodes + wrong.nodes;
        match wrong.kept {
            Kept::Fails => Ruling::Fails {
                line: wrong.moves,
                evidence,
            },
            Kept::Keeps => Ruling::Open {
                line: right.moves,
                nodes,
                evidence: Some(self.between(position, mv, margins, wrong.depth, watch)),
            },
            Kept::Unknown => Ruling::Open {
                line: vec![mv],
                nodes,
                evidence: None,
            },
        }
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
        if position.board().occupied().count() <= 4 && !exact.by_rule {
            // The search gives the same answer with a line to the mate.
            return None;
        }
        let value = match exact.standing {
            Standing::Loss => DECIDED,
            Standing::Draw => 0,
            Standing::Win => -DECIDED,
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

    /// The value of a move that lies between the margins.
    fn between(
        &mut self,
        position: &Chess,
        mv: Move,
        margins: Margins,
        depth: u8,
        watch: &mut dyn Watch,
    ) -> Evidence {
        let limits = Limits {
            moves: Some(vec![mv]),
            ..Limits::nodes(self.searched)
        };
        let lines = self.search.lines(position, &[], &limits, watch);
        let value = match lines.first().map(|line| line.value) {
            Some(Value::Cp(value)) if value < margins.right && value >= margins.wrong => {
                Some(value)
            }
            _ => None,
        };
        Evidence::Searched { depth, value }
    }

    /// A searched line that ends in mate, confirmed by the prover.
    fn proved(&mut self, position: &Chess, line: &[Move], watch: &mut dyn Watch) -> Option<Ruling> {
        let mut last = position.clone();
        for &mv in line {
            last.play_unchecked(mv);
        }
        if !last.is_checkmate() || last.turn() == position.turn() {
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

    /// The best move of an ending that a table knows.
    fn best_by_table(&mut self, position: &Chess, watch: &mut dyn Watch) -> Option<Move> {
        self.search.tables.exact(position, watch)?;
        let moves = self.search.tables.exact_moves(position, watch)?;
        let best = moves.iter().min_by_key(|(_, exact)| match exact.standing {
            Standing::Win => (0, i32::from(exact.mate.unwrap_or(0))),
            Standing::Draw => (1, 0),
            Standing::Loss => (2, -i32::from(exact.mate.unwrap_or(0))),
        });
        best.map(|&(mv, _)| mv)
    }

    /// Whether any move keeps the right margin.
    fn any(&mut self, position: &Chess, margins: Margins, watch: &mut dyn Watch) -> Ruling {
        if let Some(mv) = self.best_by_table(position, watch) {
            return match self.keeps(position, mv, margins, watch) {
                Ruling::Fails { evidence, .. } => Ruling::Fails {
                    line: Vec::new(),
                    evidence,
                },
                other => other,
            };
        }
        let Some((value, best)) = self.best(position, watch) else {
            return Ruling::Open {
                line: Vec::new(),
                nodes: 0,
                evidence: None,
            };
        };
        let evidence = best.evidence();
        match value {
            v if v >= margins.right => best,
            v if v < margins.wrong => Ruling::Fails {
                line: Vec::new(),
                evidence: evidence.unwrap_or(Evidence::Searched {
                    depth: 0,
                    value: None,
                }),
            },
            _ => Ruling::Open {
                line: best.line().to_vec(),
                nodes: 0,
                evidence,
            },
        }
    }

    /// The best move's value, mates counted as [`DECIDED`], and its line.
    fn best(&mut self, position: &Chess, watch: &mut dyn Watch) -> Option<(i32, Ruling)> {
        let limits = Limits::nodes(self.searched * 4);
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
            },
        };
        Some((
            value,
            Ruling::Holds {
                length,
                line: line.moves,
                evidence,
            },
        ))
    }
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

/// How the search knows whether a move keeps a value.
fn known_by(answer: &search::Answer) -> Evidence {
    match answer.grade {
        Grade::Table => Evidence::Table,
        Grade::Proved => Evidence::Proved,
        Grade::Searched => Evidence::Searched {
            depth: answer.depth,
            value: None,
        },
    }
}

#[cfg(test)]
mod tests {
    use crate::trial::{kinds, report};
    use crate::{Kind, Soundness, Weight};

    /// The knight forks king and queen.
    const FORK: &str = "[FEN \"6k1/3q1p1p/8/3N4/8/8/5PPP/6K1 w - - 0 1\"]\n[Stipulation \"+\"]\n\n1. Nf6+ (1. Nb6 $2 Qd1#) 1... Kg7 2. Nxd7 *";

    #[test]
    fn a_won_queen_is_a_sound_win() {
        let report = report(FORK);
        assert_eq!(report.verdict, Soundness::Sound, "{:?}", report.findings);
        assert!(report.findings.iter().all(|f| f.weight == Weight::Remark));
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

    #[test]
    fn a_move_that_holds_is_told_from_moves_that_lose() {
        let report = report(HOLDS);
        assert!(
            !kinds(&report).contains(&Kind::NoSolution),
            "{:?}",
            report.findings
        );
    }
}
