//! What has been proved so far, and questions and answers as plain text for
//! the way to and from workers.

use std::collections::HashMap;

use shakmaty::fen::Epd;
use shakmaty::{Chess, EnPassantMode, Move, Position};

use model::notation::{fen, moves, moves::read_uci};
use prove::Verdict;

use crate::claim::{Claim, Opinion};
use crate::goal::Goal;

/// A question about a position with the solver to move: does each of `moves`
/// meet the goal? With no moves given: does any move, and which?
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Question {
    pub fen: String,
    pub goal: Goal,
    /// UCI.
    pub moves: Vec<String>,
}

/// The answer to a question.
#[derive(Clone, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Answer {
    pub question: Question,
    /// One per move of the question, in its order. Without moves: one, about
    /// the best move (its line starts with it), or `Fails` with an empty line.
    pub rulings: Vec<Ruling<String>>,
    /// Nodes spent on this answer.
    pub nodes: u64,
}

/// How a ruling is known, and how sure that is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(
    feature = "serde",
    derive(serde::Serialize, serde::Deserialize),
    serde(rename_all = "snake_case")
)]
pub enum Evidence {
    /// Every move of the other side was tried.
    Proved,
    /// By an exact endgame table.
    Table,
    /// Searched to a depth in plies; the value, where there is one, is in
    /// hundredths of a pawn for the solver (of a move left open where the best
    /// is asked, counted from the best).
    Searched { depth: u8, value: Option<i32> },
}

/// What is known of one move of the solver; `M` is a move, or its UCI text on
/// the way to and from workers.
#[derive(Clone, Debug, PartialEq, Eq)]
#[cfg_attr(
    feature = "serde",
    derive(serde::Serialize, serde::Deserialize),
    serde(rename_all = "snake_case")
)]
pub enum Ruling<M = Move> {
    /// Meets the goal. `length` is that of a forced mate, in the solver's
    /// moves. `line` starts with the move.
    Holds {
        length: Option<u8>,
        line: Vec<M>,
        evidence: Evidence,
    },
    /// Does not meet it. `line` starts with the move; its second move, if
    /// any, is a reply that shows why.
    Fails { line: Vec<M>, evidence: Evidence },
    /// Between the margins, or the budget was spent first.
    Open {
        line: Vec<M>,
        nodes: u64,
        evidence: Option<Evidence>,
    },
}

impl<M> Ruling<M> {
    /// The line that shows it.
    pub fn line(&self) -> &[M] {
        match self {
            Ruling::Holds { line, .. } | Ruling::Fails { line, .. } | Ruling::Open { line, .. } => {
                line
            }
        }
    }

    pub fn evidence(&self) -> Option<Evidence> {
        match self {
            Ruling::Holds { evidence, .. } | Ruling::Fails { evidence, .. } => Some(*evidence),
            Ruling::Open { evidence, .. } => *evidence,
        }
    }

    pub fn holds(&self) -> bool {
        matches!(self, Ruling::Holds { .. })
    }

    pub fn fails(&self) -> bool {
        matches!(self, Ruling::Fails { .. })
    }

    pub fn is_open(&self) -> bool {
        matches!(self, Ruling::Open { .. })
    }

    fn with_line<N>(&self, line: Vec<N>) -> Ruling<N> {
        match self {
            Ruling::Holds {
                length, evidence, ..
            } => Ruling::Holds {
                length: *length,
                line,
                evidence: *evidence,
            },
            Ruling::Fails { evidence, .. } => Ruling::Fails {
                line,
                evidence: *evidence,
            },
            Ruling::Open {
                nodes, evidence, ..
            } => Ruling::Open {
                line,
                nodes: *nodes,
                evidence: *evidence,
            },
        }
    }
}

impl Ruling {
    /// With the line as UCI text.
    pub fn plain(&self) -> Ruling<String> {
        self.with_line(self.line().iter().map(|&m| moves::uci(m)).collect())
    }
}

impl From<Verdict> for Ruling {
    fn from(verdict: Verdict) -> Ruling {
        match verdict {
            Verdict::Forces { length, line } => Ruling::Holds {
                length: Some(length),
                line,
                evidence: Evidence::Proved,
            },
            Verdict::Fails { line } => Ruling::Fails {
                line,
                evidence: Evidence::Proved,
            },
            Verdict::Unknown { nodes } => Ruling::Open {
                line: Vec::new(),
                nodes,
                evidence: None,
            },
        }
    }
}

/// All that has been proved so far, by position and goal. Survives
/// edits, so only what changed is proved again.
#[derive(Clone, Debug, Default)]
pub struct Known {
    entries: HashMap<(String, Goal), Entry>,
    nodes: u64,
    wants_second: bool,
}

#[derive(Clone, Debug, Default)]
struct Entry {
    moves: Vec<(Move, Ruling)>,
    any: Option<Ruling>,
    /// What the checker says of these rulings.
    second: Option<Opinion>,
}

impl Known {
    /// Takes an answer in. What does not fit its question leaves it open.
    pub fn learn(&mut self, answer: &Answer) {
        let Ok(position) = fen::read(&answer.question.fen) else {
            return;
        };
        self.nodes += answer.nodes;
        let goal = answer.question.goal;
        let mut rulings = answer.rulings.iter().map(|r| rich(&position, r));
        if answer.question.moves.is_empty() {
            let entry = self.entries.entry((key(&position), goal)).or_default();
            let any = Some(rulings.next().unwrap_or_else(unread));
            if entry.any != any {
                entry.any = any;
                entry.second = None;
            }
        }
        for text in &answer.question.moves {
            let ruling = rulings.next().unwrap_or_else(unread);
            if let Some(mv) = read_uci(&position, text) {
                self.learn_move(&position, goal, mv, ruling);
            }
        }
    }

    /// Takes in what is known of one move.
    pub fn learn_move(&mut self, position: &Chess, goal: Goal, mv: Move, ruling: Ruling) {
        let entry = self.entries.entry((key(position), goal)).or_default();
        match entry.moves.iter_mut().find(|(m, _)| *m == mv) {
            Some(slot) if slot.1 == ruling => return,
            _ => entry.second = None,
        }
        match entry.moves.iter_mut().find(|(m, _)| *m == mv) {
            Some(slot) => slot.1 = ruling,
            None => entry.moves.push((mv, ruling)),
        }
    }

    /// From now on no mate counts as proved before the checker has accepted it.
    pub fn want_second(&mut self) {
        self.wants_second = true;
    }

    /// Whether mates are to be checked a second time.
    pub fn wants_second(&self) -> bool {
        self.wants_second
    }

    /// What is known of the moves of a position, as far as it is a proof that
    /// can be certified; `None` where there is nothing of the kind.
    pub fn claim(&self, position: &Chess, goal: Goal) -> Option<Claim> {
        let mate = match goal {
            Goal::Mate(n) => Some(n),
            _ if goal.forced().is_some() => return None,
            _ => None,
        };
        let (mut holds, mut fails) = (Vec::new(), Vec::new());
        for (mv, ruling) in self.rulings(position, goal) {
            match ruling {
                Ruling::Holds {
                    length: Some(length),
                    evidence: Evidence::Proved,
                    ..
                } => holds.push((moves::uci(*mv), *length)),
                Ruling::Fails {
                    evidence: Evidence::Proved,
                    ..
                } if mate.is_some() => fails.push(moves::uci(*mv)),
                _ => {}
            }
        }
        match self.any(position, goal) {
            Some(Ruling::Holds {
                length: Some(length),
                line,
                evidence: Evidence::Proved,
            }) => {
                let first = line.first().map(|&mv| moves::uci(mv));
                holds.extend(first.map(|first| (first, *length)));
            }
            Some(Ruling::Fails {
                evidence: Evidence::Proved,
                ..
            }) if mate.is_some() => {
                fails = position.legal_moves().into_iter().map(moves::uci).collect();
            }
            _ => {}
        }
        holds.sort();
        holds.dedup();
        fails.sort();
        let longest = holds.iter().map(|&(_, length)| length).max();
        let claim = Claim {
            fen: without_clocks(position),
            goal,
            n: mate.or(longest)?,
            holds,
            fails,
            shortest: mate.is_some(),
        };
        (!claim.holds.is_empty() || !claim.fails.is_empty()).then_some(claim)
    }

    /// What the checker says of a claim.
    pub fn heard(&self, claim: &Claim) -> Option<&Opinion> {
        self.opinion(&fen::read(&claim.fen).ok()?, claim.goal)
    }

    /// Takes in what came of a claim, if that is still what is known.
    pub fn hear(&mut self, claim: &Claim, opinion: Opinion) {
        let Ok(position) = fen::read(&claim.fen) else {
            return;
        };
        if self.claim(&position, claim.goal).as_ref() == Some(claim)
            && let Some(entry) = self.entries.get_mut(&(key(&position), claim.goal))
        {
            entry.second = Some(opinion);
        }
    }

    /// What the checker says of all that is known of the moves of a position.
    pub fn opinion(&self, position: &Chess, goal: Goal) -> Option<&Opinion> {
        self.entries.get(&(key(position), goal))?.second.as_ref()
    }

    /// Whether what is known of the moves of a position may be told to students:
    /// where a second opinion is wanted, proofs of mates only with a yes.
    pub fn is_believed(&self, position: &Chess, goal: Goal) -> bool {
        !self.wants_second
            || !matches!(goal, Goal::Mate(_))
            || matches!(self.opinion(position, goal), Some(Opinion::Accepted { .. }))
    }

    /// What is known of a move. `Open` counts as an answer: the budget was
    /// spent.
    pub fn ruling(&self, position: &Chess, goal: Goal, mv: Move) -> Option<&Ruling> {
        self.rulings(position, goal)
            .iter()
            .find(|(m, _)| *m == mv)
            .map(|(_, r)| r)
    }

    /// All that is known of the moves of a position.
    pub fn rulings(&self, position: &Chess, goal: Goal) -> &[(Move, Ruling)] {
        self.entries
            .get(&(key(position), goal))
            .map_or(&[], |e| &e.moves)
    }

    /// What is known of a position as an answer that can be sent.
    pub fn answer(&self, position: &Chess, goal: Goal) -> Answer {
        let judged = self.rulings(position, goal);
        let moves: Vec<Move> = judged.iter().map(|(mv, _)| *mv).collect();
        Answer {
            question: Question::about(position, goal, &moves),
            rulings: judged.iter().map(|(_, ruling)| ruling.plain()).collect(),
            nodes: 0,
        }
    }

    /// Whether any move meets the goal: the best (`Holds`), none (`Fails`), or
    /// open; `None` if never asked.
    pub fn any(&self, position: &Chess, goal: Goal) -> Option<&Ruling> {
        self.entries.get(&(key(position), goal))?.any.as_ref()
    }

    /// Nodes spent on all that is known.
    pub fn nodes(&self) -> u64 {
        self.nodes
    }

    /// Forgets what was left undecided or could not be checked, so that it is
    /// asked again (with a larger budget, say).
    pub fn forget_undecided(&mut self) {
        for entry in self.entries.values_mut() {
            let unreached = |second: &mut Opinion| matches!(second, Opinion::Unreached(_));
            entry.second.take_if(unreached);
            entry.moves.retain(|(_, r)| !r.is_open());
            entry.any.take_if(|r| r.is_open());
        }
    }
}

impl Question {
    /// Whether its moves may be asked about one by one, by several judges.
    /// Best moves are measured against each other, so they may not.
    pub fn splits(&self) -> bool {
        self.moves.len() > 1 && !matches!(self.goal, Goal::Best(_))
    }

    /// A question for each move, where that may be.
    pub fn split(self) -> Vec<Question> {
        if !self.splits() {
            return vec![self];
        }
        let Question { fen, goal, moves } = self;
        moves
            .into_iter()
            .map(|mv| Question {
                fen: fen.clone(),
                goal,
                moves: vec![mv],
            })
            .collect()
    }

    /// A question about these moves, or about the position as a whole if there
    /// are none.
    pub fn about(position: &Chess, goal: Goal, moves: &[Move]) -> Question {
        Question {
            fen: without_clocks(position),
            goal,
            moves: moves.iter().map(|&m| moves::uci(m)).collect(),
        }
    }
}

/// Positions that differ in their clocks alone share what is known.
fn key(position: &Chess) -> String {
    Epd::from_position(position, EnPassantMode::Legal).to_string()
}

/// The FEN of a position as if the game began there.
fn without_clocks(position: &Chess) -> String {
    format!("{} 0 1", key(position))
}

/// An answer that is missing or does not fit its question leaves it open, so
/// that it is not asked again and again.
fn unread() -> Ruling {
    Ruling::Open {
        line: Vec::new(),
        nodes: 0,
        evidence: None,
    }
}

/// Open if the line is not legal from the position.
fn rich(position: &Chess, ruling: &Ruling<String>) -> Ruling {
    let mut position = position.clone();
    let mut line = Vec::with_capacity(ruling.line().len());
    for text in ruling.line() {
        let Some(mv) = read_uci(&position, text) else {
            return unread();
        };
        position.play_unchecked(mv);
        line.push(mv);
    }
    ruling.with_line(line)
}
