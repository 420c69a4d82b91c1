//! What has been proved so far, and questions and answers as plain text for
//! the way to and from workers.

use std::cmp::Reverse;

use fnv::FnvHashMap;
use model::aim::Aim;
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
    /// The position.
    pub fen: String,
    /// What is asked of its moves.
    pub goal: Goal,
    /// UCI.
    pub moves: Vec<String>,
    /// How often what one search of a move may cost is doubled. Nothing to a proof.
    #[cfg_attr(feature = "serde", serde(default))]
    pub effort: u8,
}

/// The answer to a question.
#[derive(Clone, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Answer {
    /// What was asked.
    pub question: Question,
    /// One per move of the question, in its order. Without moves: one, about
    /// the best move (its line starts with it), or `Fails` with an empty line.
    pub rulings: Vec<Ruling<String>>,
    /// Nodes spent on this answer.
    pub nodes: u64,
}

/// A chance, in ten-thousandths.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Chance(pub u16);

/// From this chance of being wrong on, in ten-thousandths, a search accuses nobody.
const ACCUSING: u16 = 50;

impl Chance {
    /// Whether a ruling this likely to be wrong may find fault.
    pub fn is_small(self) -> bool {
        self.0 < ACCUSING
    }

    /// In percent, with a point: "0.35".
    pub fn percent(self) -> String {
        format!("{}.{:02}", self.0 / 100, self.0 % 100)
    }
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
    /// The same, and what is proved is that a side holds a draw by force
    /// ([`prove::draw`]): the solver where a move holds, the other side where it fails.
    Drawn,
    /// By an exact endgame table.
    Table,
    /// By search.
    Searched {
        /// In plies.
        depth: u8,
        /// In hundredths of a pawn for the solver (of a move left open where the
        /// best is asked, counted from the best).
        value: Option<i32>,
        /// Positions looked at.
        #[cfg_attr(feature = "serde", serde(default))]
        spent: u64,
        /// How often the answer changed from one depth to the next.
        #[cfg_attr(feature = "serde", serde(default))]
        changes: u8,
        /// How likely the ruling is wrong, as measured of rulings like it;
        /// `None` where nothing was measured.
        #[cfg_attr(feature = "serde", serde(default))]
        chance: Option<Chance>,
    },
}

impl Evidence {
    /// Searched to a depth, and nothing measured of how often that is wrong.
    pub fn searched(depth: u8) -> Evidence {
        Evidence::Searched {
            depth,
            value: None,
            spent: 0,
            changes: 0,
            chance: None,
        }
    }

    /// Whether it is enough to find fault with what an author says.
    pub fn is_firm(self) -> bool {
        match self {
            Evidence::Proved | Evidence::Drawn | Evidence::Table => true,
            Evidence::Searched { chance, .. } => chance.is_some_and(Chance::is_small),
        }
    }

    /// How sure it is: what is greater replaces what is less.
    fn strength(self) -> (u8, Option<Reverse<Chance>>) {
        match self {
            Evidence::Proved | Evidence::Drawn => (2, None),
            Evidence::Table => (1, None),
            Evidence::Searched { chance, .. } => (0, chance.map(Reverse)),
        }
    }
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
        /// The solver's moves it takes, where that is known.
        length: Option<u8>,
        /// What shows it, the move first.
        line: Vec<M>,
        /// What it rests on.
        evidence: Evidence,
    },
    /// Does not meet it. `line` starts with the move; its second move, if
    /// any, is a reply that shows why.
    Fails {
        /// What shows it, the move first.
        line: Vec<M>,
        /// What it rests on.
        evidence: Evidence,
    },
    /// Between the margins, or the budget was spent first.
    Open {
        /// The best that was found, the move first.
        line: Vec<M>,
        /// Positions looked at.
        nodes: u64,
        /// What is known so far, if anything.
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

    /// What it rests on; `None` where nothing is known.
    pub fn evidence(&self) -> Option<Evidence> {
        match self {
            Ruling::Holds { evidence, .. } | Ruling::Fails { evidence, .. } => Some(*evidence),
            Ruling::Open { evidence, .. } => *evidence,
        }
    }

    /// Whether the move does what is asked.
    pub fn holds(&self) -> bool {
        matches!(self, Ruling::Holds { .. })
    }

    /// In how many moves of the solver's what is forced comes about.
    pub fn length(&self) -> Option<u8> {
        match self {
            Ruling::Holds { length, .. } => *length,
            _ => None,
        }
    }

    /// Whether the move does not do what is asked.
    pub fn fails(&self) -> bool {
        matches!(self, Ruling::Fails { .. })
    }

    /// Whether that is undecided.
    pub fn is_open(&self) -> bool {
        matches!(self, Ruling::Open { .. })
    }

    /// Whether it is decided, and by evidence that is [firm](Evidence::is_firm).
    pub fn is_firm(&self) -> bool {
        !self.is_open() && self.evidence().is_some_and(Evidence::is_firm)
    }

    /// Whether it gives way to another that cost more: what is decided gives way
    /// only to what is surer, and never to the lack of a decision once it is firm.
    fn gives_way(&self, other: &Ruling<M>) -> bool {
        let strength = |ruling: &Ruling<M>| ruling.evidence().map(Evidence::strength);
        match (self.is_open(), other.is_open()) {
            (true, _) => true,
            (false, true) => !self.is_firm(),
            (false, false) => strength(other) >= strength(self),
        }
    }

    /// The ruling told by the line of an earlier one, where both say by evidence of the
    /// same kind that the move fails: each search may take another reply for the best one,
    /// and an author who has read one is not to find another each time.
    fn shown_as(self, earlier: &Ruling<M>) -> Ruling<M>
    where
        M: Clone,
    {
        let kind = |evidence: &Evidence| std::mem::discriminant(evidence);
        match (self, earlier) {
            (
                Ruling::Fails { evidence, .. },
                Ruling::Fails {
                    line,
                    evidence: known,
                },
            ) if line.len() > 1 && kind(&evidence) == kind(known) => Ruling::Fails {
                line: line.clone(),
                evidence,
            },
            (ruling, _) => ruling,
        }
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
    entries: FnvHashMap<(String, Goal), Entry>,
    nodes: u64,
    wants_second: bool,
    more: u8,
    most: Option<u8>,
}

/// Doublings that make about ten times as much.
const MORE: u8 = 3;

#[derive(Clone, Debug, Default)]
struct Entry {
    moves: Vec<(Move, Ruling)>,
    /// Of each of the moves, the greatest effort at which it was asked.
    efforts: Vec<u8>,
    any: Option<(Ruling, u8)>,
    /// What the checker says of these rulings.
    second: Option<Opinion>,
}

/// What is told, and not asked about again.
const GIVEN: u8 = u8::MAX;

impl Entry {
    fn is_unasked(&self) -> bool {
        self.moves.is_empty() && self.any.is_none()
    }

    fn learn(&mut self, mv: Move, ruling: Ruling, effort: u8) {
        let Some(i) = self.moves.iter().position(|(m, _)| *m == mv) else {
            self.moves.push((mv, ruling));
            self.efforts.push(effort);
            self.second = None;
            return;
        };
        if replace(&mut self.moves[i].1, &mut self.efforts[i], ruling, effort) {
            self.second = None;
        }
    }

    fn learn_any(&mut self, ruling: Ruling, effort: u8) {
        let changes = match &mut self.any {
            None => {
                self.any = Some((ruling, effort));
                true
            }
            Some((known, spent)) => replace(known, spent, ruling, effort),
        };
        if changes {
            self.second = None;
        }
    }
}

/// More effort replaces what is known only by what is surer. Whether anything changes.
fn replace(known: &mut Ruling, spent: &mut u8, ruling: Ruling, effort: u8) -> bool {
    let takes = effort <= *spent || known.gives_way(&ruling);
    let changes = takes && *known != ruling;
    if changes {
        *known = ruling;
    }
    *spent = effort.max(*spent);
    changes
}

impl Known {
    /// Takes an answer in. What does not fit its question leaves it open. A move that fails
    /// as before is shown to fail as before.
    pub fn learn(&mut self, answer: &Answer) {
        let Ok(position) = fen::read(&answer.question.fen) else {
            return;
        };
        self.nodes += answer.nodes;
        let effort = answer.question.effort;
        let place = place(&position, answer.question.goal);
        let entry = self.entries.entry(place).or_default();
        let mut rulings = answer.rulings.iter().map(|r| rich(&position, r));
        if answer.question.moves.is_empty() {
            entry.learn_any(rulings.next().unwrap_or_else(unread), effort);
        }
        for text in &answer.question.moves {
            let ruling = rulings.next().unwrap_or_else(unread);
            if let Some(mv) = read_uci(&position, text) {
                let earlier = entry.moves.iter().find(|(known, _)| *known == mv);
                let ruling = match earlier {
                    Some((_, earlier)) => ruling.shown_as(earlier),
                    None => ruling,
                };
                entry.learn(mv, ruling, effort);
            }
        }
    }

    /// Takes in what is known of one move.
    pub fn learn_move(&mut self, position: &Chess, goal: Goal, mv: Move, ruling: Ruling) {
        let entry = self.entries.entry(place(position, goal)).or_default();
        entry.learn(mv, ruling, GIVEN);
    }

    /// From now on no mate or gain counts as proved before the checker has accepted it.
    pub fn want_second(&mut self) {
        self.wants_second = true;
    }

    /// Whether mates and gains are to be checked a second time.
    pub fn wants_second(&self) -> bool {
        self.wants_second
    }

    /// What is known of the moves of a position, as far as it is a proof that
    /// can be certified; `None` where there is nothing of the kind.
    pub fn claim(&self, position: &Chess, goal: Goal) -> Option<Claim> {
        let forced = match goal.forced() {
            Some((Aim::Mate | Aim::Gain(_), n)) => Some(n),
            Some(_) => return None,
            None => None,
        };
        let (mut holds, mut fails, mut drawn) = (Vec::new(), Vec::new(), Vec::new());
        for (mv, ruling) in self.rulings(position, goal) {
            match ruling {
                Ruling::Holds {
                    evidence: Evidence::Drawn,
                    ..
                } => drawn.push(moves::uci(*mv)),
                Ruling::Holds {
                    length: Some(length),
                    evidence: Evidence::Proved,
                    ..
                } => holds.push((moves::uci(*mv), *length)),
                Ruling::Fails {
                    evidence: Evidence::Proved,
                    ..
                } if forced.is_some() => fails.push(moves::uci(*mv)),
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
            }) if forced.is_some() => {
                fails = position.legal_moves().into_iter().map(moves::uci).collect();
            }
            Some(Ruling::Holds {
                line,
                evidence: Evidence::Drawn,
                ..
            }) => drawn.extend(line.first().map(|&mv| moves::uci(mv))),
            _ => {}
        }
        for moves in [&mut fails, &mut drawn] {
            moves.sort();
            moves.dedup();
        }
        holds.sort();
        holds.dedup();
        if holds.is_empty() && fails.is_empty() && drawn.is_empty() {
            return None;
        }
        let longest = holds.iter().map(|&(_, length)| length).max();
        Some(Claim {
            fen: asked(position, goal),
            goal,
            n: forced.or(longest).unwrap_or(0),
            holds,
            fails,
            drawn,
            shortest: forced.is_some(),
        })
    }

    /// Of a position where no mate is asked for: of each move that is known to lose to one,
    /// or to let a win go, that the other side mates after it, or holds a draw by force.
    /// Each is a claim of its own, about the position after the move.
    pub fn losses(&self, position: &Chess, goal: Goal) -> Vec<Claim> {
        if goal.forced().is_some() {
            return Vec::new();
        }
        let lost = self
            .rulings(position, goal)
            .iter()
            .filter_map(|(mv, ruling)| {
                let Ruling::Fails { line, evidence } = ruling else {
                    return None;
                };
                let reply = moves::uci(*line.get(1)?);
                let mut after = position.clone();
                after.play_unchecked(*mv);
                let (n, holds, drawn) = match evidence {
                    Evidence::Proved => {
                        let n = u8::try_from(line.len() / 2).ok()?;
                        (n, vec![(reply, n)], Vec::new())
                    }
                    Evidence::Drawn => (0, Vec::new(), vec![reply]),
                    Evidence::Table | Evidence::Searched { .. } => return None,
                };
                Some(Claim {
                    fen: asked(&after, goal),
                    goal,
                    n,
                    holds,
                    fails: Vec::new(),
                    drawn,
                    shortest: false,
                })
            });
        lost.collect()
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
        let known = self.claim(&position, claim.goal).as_ref() == Some(claim);
        // Nothing is known of the moves of the other side, after a move that loses.
        let place = place(&position, claim.goal);
        let unasked = || self.entries.get(&place).is_none_or(Entry::is_unasked);
        if known || claim.goal.forced().is_none() && unasked() {
            self.entries.entry(place).or_default().second = Some(opinion);
        }
    }

    /// What the checker says of all that is known of the moves of a position.
    pub fn opinion(&self, position: &Chess, goal: Goal) -> Option<&Opinion> {
        self.entries.get(&place(position, goal))?.second.as_ref()
    }

    /// Whether what is known of the moves of a position may be told to students:
    /// where a second opinion is wanted, proofs of mates and gains only with a yes.
    pub fn is_believed(&self, position: &Chess, goal: Goal) -> bool {
        !self.wants_second
            || !matches!(goal, Goal::Forced(Aim::Mate | Aim::Gain(_), _))
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
            .get(&place(position, goal))
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
        let (ruling, _) = self.entries.get(&place(position, goal))?.any.as_ref()?;
        Some(ruling)
    }

    /// The greatest effort at which a move was asked about; `None` if it never was.
    pub fn effort(&self, position: &Chess, goal: Goal, mv: Move) -> Option<u8> {
        let entry = self.entries.get(&place(position, goal))?;
        let i = entry.moves.iter().position(|(m, _)| *m == mv)?;
        Some(entry.efforts[i])
    }

    /// As [`Known::effort`], for the position as a whole.
    pub fn effort_on_any(&self, position: &Chess, goal: Goal) -> Option<u8> {
        let entry = self.entries.get(&place(position, goal))?;
        entry.any.as_ref().map(|(_, effort)| *effort)
    }

    /// Has nothing asked with more effort than this, since no judge would spend it.
    pub fn limit_effort(&mut self, most: u8) {
        self.most = Some(most);
    }

    /// The most effort that is asked for.
    pub fn most_effort(&self) -> u8 {
        self.most.unwrap_or(u8::MAX)
    }

    /// Doublings of effort that were asked for beyond what is spent anyway.
    pub fn more(&self) -> u8 {
        self.more
    }

    /// Nodes spent on all that is known.
    pub fn nodes(&self) -> u64 {
        self.nodes
    }

    /// Has what was left undecided, or could not be checked, asked again, with a budget about ten times as
    /// large. What was searched stays until something surer is known.
    pub fn forget_undecided(&mut self) {
        self.more = self.more.saturating_add(MORE);
        for entry in self.entries.values_mut() {
            let unreached = |second: &mut Opinion| matches!(second, Opinion::Unreached(_));
            entry.second.take_if(unreached);
        }
        for ((_, goal), entry) in &mut self.entries {
            let proof = goal.forced().is_some();
            // Of what was searched and left open, evidence says how far it came.
            let forgotten = |r: &Ruling| r.is_open() && (proof || r.evidence().is_none());
            let kept: Vec<bool> = entry.moves.iter().map(|(_, r)| !forgotten(r)).collect();
            let mut keep = kept.iter();
            entry.moves.retain(|_| keep.next() == Some(&true));
            let mut keep = kept.iter();
            entry.efforts.retain(|_| keep.next() == Some(&true));
            entry.any.take_if(|(ruling, _)| forgotten(ruling));
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
        let Question {
            fen,
            goal,
            moves,
            effort,
        } = self;
        moves
            .into_iter()
            .map(|mv| Question {
                fen: fen.clone(),
                goal,
                moves: vec![mv],
                effort,
            })
            .collect()
    }

    /// A question about these moves, or about the position as a whole if there
    /// are none.
    pub fn about(position: &Chess, goal: Goal, moves: &[Move]) -> Question {
        Question {
            fen: asked(position, goal),
            goal,
            moves: moves.iter().map(|&m| moves::uci(m)).collect(),
            effort: 0,
        }
    }

    /// The same with what a search may cost doubled so many times.
    pub fn with_effort(self, effort: u8) -> Question {
        Question { effort, ..self }
    }
}

/// From this clock on it counts whatever stands on the board: fifty moves without a
/// pawn move or capture can then fill up within what a search sees.
const LATE: u32 = 60;

/// With so few men it always counts, since tables know how long a win takes.
const FEW_MEN: usize = 7;

/// The halfmove clock, as far as it bears on a goal. Nothing that must be forced asks
/// for it: the fifty-move rule never shortens such a claim.
fn clock(position: &Chess, goal: Goal) -> u32 {
    let counts = goal.forced().is_none()
        && (position.halfmoves() >= LATE || position.board().occupied().count() <= FEW_MEN);
    if counts { position.halfmoves() } else { 0 }
}

/// The FEN of a position, with as much of its clock as bears on the goal.
fn asked(position: &Chess, goal: Goal) -> String {
    let epd = Epd::from_position(position, EnPassantMode::Legal);
    format!("{epd} {} 1", clock(position, goal))
}

/// Positions that are asked about alike share what is known.
fn place(position: &Chess, goal: Goal) -> (String, Goal) {
    (asked(position, goal), goal)
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
