//! Walks the claims of a puzzle and lays what is known beside each.
//!
//! The walk goes down accepted moves, listed defences and their answers, and
//! stops below a move whose claim fails. It finds no fault itself: that is
//! left to the modules of each kind.

use std::collections::HashSet;

use shakmaty::{Chess, Move, Position};

use super::Goal;
use super::point::{self, Point};
use super::{Evidence, Known, Question, Ruling};
use model::draft::NodeId;
use model::puzzle::{Posed, Puzzle, Role};

/// Where it was looked up what is known: a position, what is asked there, and the
/// nearest node.
pub type Rests = (Chess, Goal, NodeId);

/// What the walk met.
pub struct Survey {
    pub turns: Vec<Turn>,
    pub replies: Vec<Replies>,
    pub refutations: Vec<Claimed>,
    /// Everything above in reading order.
    pub order: Vec<Stop>,
    /// What is not yet known, to be asked.
    pub open: Vec<Question>,
    /// Where it was looked up what is known, in the order of the walk.
    pub rests_on: Vec<Rests>,
    /// Verdicts already known, and still open.
    pub answered: usize,
    pub unanswered: usize,
}

/// An index into the lists of a [`Survey`].
#[derive(Clone, Copy)]
pub enum Stop {
    Turn(usize),
    Replies(usize),
    Refutation(usize),
}

/// A position with the solver to move.
pub struct Turn {
    pub node: NodeId,
    /// What is asked of the solver's move.
    pub goal: Goal,
    /// Whether it lies below a try, or a threat that is found: then only the author's own
    /// answers are judged, not every legal move.
    pub aside: bool,
    /// What is known of each move asked about.
    pub rulings: Vec<(Move, Option<Ruling>)>,
}

/// A position with the other side to move after an accepted move.
pub struct Replies {
    pub node: NodeId,
    /// What is asked of the solver's next move.
    pub goal: Goal,
    /// Listed defences that the author left without an accepted answer, with
    /// what meets the goal after each (if known).
    pub unfinished: Vec<(NodeId, Option<Ruling>)>,
    /// Unlisted defences that an answer of the author's meets: the answer and
    /// the defences that fall to it.
    pub covered: Vec<(Move, Vec<Move>)>,
    /// Unlisted defences that no answer of the author's meets, with the
    /// shortest mate after each (if known).
    pub uncovered: Vec<(Move, Option<Ruling>)>,
    /// No move follows at all.
    pub empty: bool,
    /// The point that the accepted move makes, if any: the line may end here.
    pub point: Option<Point>,
    /// What is known of the accepted move itself.
    pub ruling: Option<Ruling>,
}

/// A refutation that the author claims for a try.
pub struct Claimed {
    pub node: NodeId,
    /// Whether the solver still meets the goal after it, if known.
    pub met: Option<Ruling>,
    /// A reply that does refute the try, if one is known.
    pub real: Option<Move>,
}

impl Turn {
    pub fn ruling(&self, mv: Move) -> Option<&Ruling> {
        self.rulings.iter().find(|(m, _)| *m == mv)?.1.as_ref()
    }

    /// The length of the mate a move forces.
    pub fn length(&self, mv: Move) -> Option<u8> {
        self.ruling(mv)?.length()
    }

    /// Moves known to meet the goal, each with its ruling, the shortest mate
    /// first.
    pub fn right(&self) -> Vec<(Move, &Ruling)> {
        let known = self
            .rulings
            .iter()
            .filter_map(|(mv, r)| Some((*mv, r.as_ref()?)));
        let mut right: Vec<_> = known.filter(|(_, ruling)| ruling.holds()).collect();
        right.sort_by_key(|(_, ruling)| ruling.length().unwrap_or(u8::MAX));
        right
    }
}

/// Surveys a puzzle.
pub fn survey(puzzle: &Puzzle, known: &Known) -> Survey {
    let mut walk = Walk {
        puzzle,
        known,
        asked: HashSet::new(),
        survey: Survey {
            turns: Vec::new(),
            replies: Vec::new(),
            refutations: Vec::new(),
            order: Vec::new(),
            open: Vec::new(),
            rests_on: Vec::new(),
            answered: 0,
            unanswered: 0,
        },
        asking: Vec::new(),
        no_key: super::no_key(puzzle),
        todo: vec![Task::Turn {
            node: NodeId::ROOT,
            goal: Goal::of(puzzle),
            aside: false,
        }],
    };
    while let Some(task) = walk.todo.pop() {
        match task {
            Task::Turn { node, goal, aside } => walk.turn(node, goal, aside),
            Task::Replies {
                node,
                goal,
                aside,
                ruling,
            } => walk.replies(node, goal, aside, ruling),
            Task::Refutation { node, goal, real } => walk.refutation(node, goal, real),
        }
    }
    walk.asking.sort_by_key(|(rank, _)| *rank);
    walk.survey.open = walk.asking.into_iter().map(|(_, q)| q).collect();
    walk.survey
}

/// What a question is asked before: the moves that the author speaks about come
/// first, and what was never asked comes before what is asked again.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Rank {
    First,
    Spoken,
    Again,
}

/// What an author says of a move by listing it, or not.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Claim {
    Right,
    Wrong,
    Nothing,
}

impl Claim {
    /// Whether a ruling says otherwise.
    fn denied_by(self, ruling: &Ruling) -> bool {
        match self {
            Claim::Right => ruling.fails(),
            Claim::Wrong => ruling.holds(),
            Claim::Nothing => false,
        }
    }
}

/// The effort that a move listed by the author is searched with at first, in
/// doublings of the least, which the others get.
const SPOKEN: u8 = 2;

/// The most effort that is spent, unless more is asked for: on a ruling that says
/// otherwise than the author, on others about listed moves, on all others.
const MOST_DENYING: u8 = 6;
const MOST_SPOKEN: u8 = 4;
const MOST_OTHERS: u8 = 2;

/// So near to a margin, in hundredths of a pawn, a move that lies between them may
/// yet turn out right or wrong.
const NEAR: i32 = 25;

/// Whether more search may tell more of a ruling.
fn wavers(goal: Goal, ruling: &Ruling) -> bool {
    let (Goal::Win(margins) | Goal::Draw(margins) | Goal::Best(margins)) = goal else {
        return false;
    };
    match (ruling, ruling.evidence()) {
        (_, Some(Evidence::Proved | Evidence::Drawn | Evidence::Table)) => false,
        (
            Ruling::Open { .. },
            Some(Evidence::Searched {
                value: Some(value), ..
            }),
        ) => value >= margins.right - NEAR || value < margins.wrong + NEAR,
        _ => !ruling.is_firm(),
    }
}

/// A ruling as it may be shown: one that says otherwise than the author, and is not
/// firm, leaves the move open.
fn shown(ruling: &Ruling, claim: Claim) -> Ruling {
    match ruling.evidence() {
        Some(evidence @ Evidence::Searched { spent, .. })
            if claim.denied_by(ruling) && !evidence.is_firm() =>
        {
            Ruling::Open {
                line: ruling.line().to_vec(),
                nodes: spent,
                evidence: Some(evidence),
            }
        }
        _ => ruling.clone(),
    }
}

enum Task {
    Turn {
        node: NodeId,
        goal: Goal,
        aside: bool,
    },
    Replies {
        node: NodeId,
        goal: Goal,
        aside: bool,
        ruling: Option<Ruling>,
    },
    Refutation {
        node: NodeId,
        goal: Goal,
        real: Option<Move>,
    },
}

struct Walk<'a> {
    puzzle: &'a Puzzle,
    known: &'a Known,
    asked: HashSet<Question>,
    asking: Vec<(Rank, Question)>,
    no_key: bool,
    survey: Survey,
    todo: Vec<Task>,
}

/// From this many moves left on, each move is a question of its own, so that
/// they spread over workers.
const SPLIT: u8 = 4;

impl Walk<'_> {
    fn turn(&mut self, node: NodeId, goal: Goal, aside: bool) {
        let puzzle = self.puzzle;
        let position = puzzle.position(node);
        let listed: Vec<Move> = puzzle
            .children(node)
            .iter()
            .map(|&c| puzzle.node(c).mv)
            .collect();
        let mut moves: Vec<Move> = Vec::new();
        for mv in listed
            .iter()
            .copied()
            .chain(position.legal_moves().into_iter().filter(|_| !aside))
        {
            if !moves.contains(&mv) {
                moves.push(mv);
            }
        }
        self.rests_on(position, goal, node);
        let known = |mv: &Move| self.known.ruling(position, goal, *mv);
        let wanted: Vec<(Move, Option<u8>)> = moves
            .iter()
            .map(|&mv| (mv, self.wanted(node, goal, mv)))
            .collect();
        let rulings: Vec<_> = moves
            .into_iter()
            .map(|mv| {
                let claim = self.claim(node, mv);
                (mv, known(&mv).map(|ruling| shown(ruling, claim)))
            })
            .collect();
        let missing = wanted.iter().filter(|(_, effort)| effort.is_some()).count();
        self.survey.answered += rulings.len() - missing;
        for (rank, effort, moves) in self.grouped(node, goal, &wanted) {
            let size = if goal.pairs_left().is_some_and(|n| n >= SPLIT) {
                1
            } else {
                moves.len()
            };
            for part in moves.chunks(size) {
                let question = Question::about(position, goal, part).with_effort(effort);
                self.ask(rank, question);
            }
        }
        let turn = Turn {
            node,
            goal,
            aside,
            rulings,
        };

        let next = self.after(&turn);
        self.todo.extend(next.into_iter().rev());
        self.survey.order.push(Stop::Turn(self.survey.turns.len()));
        self.survey.turns.push(turn);
    }

    /// What is to be gone through below a turn.
    fn after(&self, turn: &Turn) -> Vec<Task> {
        let (puzzle, goal) = (self.puzzle, turn.goal);
        // Of a threat only the line that is written is shown.
        let aside = turn.aside || puzzle.posed() == Posed::Threat;
        let mut next = Vec::new();
        for &child in puzzle.children(turn.node) {
            let PuzzleMove { mv, role, over } = self.puzzle_move(child);
            let ruling = turn.ruling(mv);
            let fails = ruling.is_some_and(Ruling::fails);
            // A gain that stands with the last move allowed leaves nothing to ask either.
            let stands = point::stands(goal, ruling);
            match (role, goal.next().or(stands.then_some(goal))) {
                (Role::Key | Role::Continuation, Some(goal)) if !fails && !over => {
                    if goal.shared() && !puzzle.children(child).is_empty() {
                        next.push(Task::Turn {
                            node: child,
                            goal,
                            aside,
                        });
                    }
                    if goal.shared() && self.goes_on(child) {
                        continue;
                    }
                    next.push(Task::Replies {
                        node: child,
                        goal,
                        aside,
                        ruling: ruling.cloned(),
                    });
                }
                (Role::Try, Some(goal)) if !ruling.is_some_and(Ruling::holds) => {
                    let real = ruling
                        .filter(|r| r.fails())
                        .and_then(|r| r.line().get(1).copied());
                    for &reply in puzzle.children(child) {
                        match puzzle.node(reply).role {
                            // Every position has a best move, so a fall in
                            // value shows at the try itself.
                            Role::Refutation if matches!(goal, Goal::Best(_)) => {}
                            Role::Refutation => {
                                next.push(Task::Refutation {
                                    node: reply,
                                    goal,
                                    real,
                                });
                            }
                            Role::Defence => next.push(Task::Turn {
                                node: reply,
                                goal,
                                aside: true,
                            }),
                            _ => {}
                        }
                    }
                }
                _ => {}
            }
        }
        next
    }

    fn replies(&mut self, node: NodeId, goal: Goal, aside: bool, ruling: Option<Ruling>) {
        let puzzle = self.puzzle;
        let position = puzzle.position(node);
        // What follows in a helpmate are moves of the solver's.
        let listed = if goal.shared() {
            &[]
        } else {
            puzzle.children(node)
        };
        let mut replies = Replies {
            node,
            goal,
            unfinished: Vec::new(),
            covered: Vec::new(),
            uncovered: Vec::new(),
            empty: listed.is_empty(),
            point: point::made(puzzle, node, goal, ruling.as_ref()),
            ruling,
        };
        let stands = point::stands(goal, replies.ruling.as_ref());
        let listed = if stands { &[] } else { listed };
        let mut answers: Vec<Move> = Vec::new();
        let mut next = Vec::new();
        for &defence in listed {
            if goal.ended(puzzle.position(defence)) || point::repeats(puzzle, defence, goal) {
                continue;
            }
            let before = answers.len();
            answers.extend(puzzle.accepted(defence).map(|c| puzzle.node(c).mv));
            let unclear = puzzle.with_role(defence, Role::Unclear).next().is_some();
            if answers.len() == before && !unclear {
                let mate = self.any(puzzle.position(defence), goal, defence);
                replies.unfinished.push((defence, mate));
            }
            if !puzzle.children(defence).is_empty() {
                next.push(Task::Turn {
                    node: defence,
                    goal,
                    aside,
                });
            }
        }
        self.todo.extend(next.into_iter().rev());

        if goal.moves_left().is_some() && !replies.empty && !aside && !stands {
            let played: Vec<Move> = listed.iter().map(|&d| puzzle.node(d).mv).collect();
            for defence in position.legal_moves() {
                if !played.contains(&defence) {
                    self.unlisted(&mut replies, defence, &answers);
                }
            }
        }
        self.survey
            .order
            .push(Stop::Replies(self.survey.replies.len()));
        self.survey.replies.push(replies);
    }

    /// Does one of the author's answers to other defences meet this one too?
    fn unlisted(&mut self, replies: &mut Replies, defence: Move, answers: &[Move]) {
        let mut after = self.puzzle.position(replies.node).clone();
        after.play_unchecked(defence);
        if replies.goal.ended(&after) {
            return;
        }
        self.rests_on(&after, replies.goal, replies.node);
        let legal = after.legal_moves();
        let mut missing = Vec::new();
        let mut tried: Vec<Move> = Vec::new();
        for answer in answers {
            let Some(&mv) = legal.iter().find(|m| same_move(**m, *answer)) else {
                continue;
            };
            if tried.contains(&mv) {
                continue;
            }
            tried.push(mv);
            match self.known.ruling(&after, replies.goal, mv) {
                Some(Ruling::Holds { .. }) => {
                    self.survey.answered += 1;
                    match replies.covered.iter_mut().find(|(a, _)| same_move(*a, mv)) {
                        Some((_, defences)) => defences.push(defence),
                        None => replies.covered.push((mv, vec![defence])),
                    }
                    return;
                }
                Some(_) => self.survey.answered += 1,
                None => missing.push(mv),
            }
        }
        if missing.is_empty() {
            let mate = self.any(&after, replies.goal, replies.node);
            replies.uncovered.push((defence, mate));
        } else {
            self.ask(Rank::First, Question::about(&after, replies.goal, &missing));
        }
    }

    fn refutation(&mut self, node: NodeId, goal: Goal, real: Option<Move>) {
        let met = self.any(self.puzzle.position(node), goal, node);
        self.survey
            .order
            .push(Stop::Refutation(self.survey.refutations.len()));
        self.survey.refutations.push(Claimed { node, met, real });
    }

    /// Whether any move meets the goal, asked for if not known, or if it wavers.
    fn any(&mut self, position: &Chess, goal: Goal, node: NodeId) -> Option<Ruling> {
        self.rests_on(position, goal, node);
        let met = self.known.any(position, goal).cloned();
        let spent = self.known.effort_on_any(position, goal);
        let effort = match (&met, spent) {
            (Some(ruling), Some(spent)) => self.next_effort(goal, ruling, spent, MOST_SPOKEN),
            _ if goal.forced().is_some() => Some(0),
            _ => Some(SPOKEN.min(self.known.most_effort())),
        };
        match effort {
            None => self.survey.answered += 1,
            Some(effort) => {
                let rank = if met.is_none() {
                    Rank::First
                } else {
                    Rank::Spoken
                };
                let question = Question::about(position, goal, &[]).with_effort(effort);
                self.ask(rank, question);
            }
        }
        met.map(|ruling| shown(&ruling, Claim::Wrong))
    }

    fn rests_on(&mut self, position: &Chess, goal: Goal, node: NodeId) {
        self.survey.rests_on.push((position.clone(), goal, node));
    }

    fn ask(&mut self, rank: Rank, question: Question) {
        if self.asked.insert(question.clone()) {
            self.survey.unanswered += question.moves.len().max(1);
            self.asking.push((rank, question));
        }
    }

    /// What the author says of a solver's move at a node.
    fn claim(&self, node: NodeId, mv: Move) -> Claim {
        match self
            .puzzle
            .child(node, mv)
            .map(|c| self.puzzle.node(c).role)
        {
            Some(Role::Key | Role::Continuation) => Claim::Right,
            Some(Role::Try) => Claim::Wrong,
            Some(_) => Claim::Nothing,
            None if self.no_key || !self.counts(node) => Claim::Nothing,
            None => Claim::Wrong,
        }
    }

    /// Whether a right move that is not listed is more than a remark here.
    fn counts(&self, node: NodeId) -> bool {
        super::counts_unlisted(self.puzzle, node)
    }

    /// The effort with which a move is still to be asked about; `None` if it need
    /// not be.
    fn wanted(&self, node: NodeId, goal: Goal, mv: Move) -> Option<u8> {
        let position = self.puzzle.position(node);
        let listed = self.puzzle.child(node, mv).is_some();
        let least = if listed && goal.forced().is_none() {
            SPOKEN.min(self.known.most_effort())
        } else {
            0
        };
        let known = self.known.ruling(position, goal, mv);
        let spent = self.known.effort(position, goal, mv);
        let (Some(ruling), Some(spent)) = (known, spent) else {
            return Some(least);
        };
        let counts = self.counts(node);
        let most = if listed && self.claim(node, mv).denied_by(ruling) {
            MOST_DENYING
        } else if listed || counts && ruling.holds() {
            MOST_SPOKEN
        } else if counts {
            MOST_OTHERS
        } else {
            0
        };
        let next = self.next_effort(goal, ruling, spent, most)?;
        Some(next.max(least))
    }

    /// The effort of the next search of what wavers, doubled each time.
    fn next_effort(&self, goal: Goal, ruling: &Ruling, spent: u8, most: u8) -> Option<u8> {
        let most = most.saturating_add(self.known.more());
        let most = most.min(self.known.most_effort());
        (wavers(goal, ruling) && spent < most).then(|| spent + 1)
    }

    /// The moves to be asked about, put together by effort.
    fn grouped(
        &self,
        node: NodeId,
        goal: Goal,
        wanted: &[(Move, Option<u8>)],
    ) -> Vec<(Rank, u8, Vec<Move>)> {
        let position = self.puzzle.position(node);
        let mut groups: Vec<(Rank, u8, Vec<Move>)> = Vec::new();
        for &(mv, effort) in wanted {
            let Some(effort) = effort else { continue };
            let rank = if self.known.ruling(position, goal, mv).is_none() {
                Rank::First
            } else if self.puzzle.child(node, mv).is_some() {
                Rank::Spoken
            } else {
                Rank::Again
            };
            match groups.iter_mut().find(|g| (g.0, g.1) == (rank, effort)) {
                Some(group) => group.2.push(mv),
                None => groups.push((rank, effort, vec![mv])),
            }
        }
        groups
    }

    /// Whether a move that the author accepts, or may, follows.
    fn goes_on(&self, node: NodeId) -> bool {
        let mut unclear = self.puzzle.with_role(node, Role::Unclear);
        self.puzzle.accepted(node).next().is_some() || unclear.next().is_some()
    }

    fn puzzle_move(&self, id: NodeId) -> PuzzleMove {
        let node = self.puzzle.node(id);
        PuzzleMove {
            mv: node.mv,
            role: node.role,
            over: node.after.is_game_over(),
        }
    }
}

struct PuzzleMove {
    mv: Move,
    role: Role,
    over: bool,
}

/// The same man to the same square, whatever stands there.
pub fn same_move(a: Move, b: Move) -> bool {
    a.role() == b.role()
        && a.from() == b.from()
        && a.to() == b.to()
        && a.promotion() == b.promotion()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trial::draft;
    use crate::{Chance, Margins};
    use model::aim::Aim;
    use model::notation::moves::uci;
    use model::resolved::Resolved;
    use play::known::Answer;

    const MARGINS: Margins = Margins {
        right: 200,
        wrong: 100,
    };

    fn searched(value: Option<i32>, chance: Option<u16>) -> Evidence {
        Evidence::Searched {
            depth: 9,
            value,
            spent: 700,
            changes: 1,
            chance: chance.map(Chance),
        }
    }

    fn holds(evidence: Evidence) -> Ruling {
        Ruling::Holds {
            length: None,
            line: Vec::new(),
            evidence,
        }
    }

    fn fails(evidence: Evidence) -> Ruling {
        let line = Vec::new();
        Ruling::Fails { line, evidence }
    }

    /// Half a per cent is no small chance any more.
    const FIRM: Option<u16> = Some(49);
    const LOOSE: Option<u16> = Some(50);

    #[test]
    fn what_is_near_a_margin_or_not_firm_is_searched_again() {
        let win = Goal::Win(MARGINS);
        let between = |value| Ruling::Open {
            line: Vec::new(),
            nodes: 1,
            evidence: Some(searched(Some(value), None)),
        };
        let wavering = |value: i32| wavers(win, &between(value));
        assert_eq!(
            [101, 124, 125, 174, 175, 199].map(wavering),
            [true, true, false, false, true, true]
        );
        for ruling in [holds, fails] {
            assert!(wavers(win, &ruling(searched(None, LOOSE))));
            assert!(wavers(win, &ruling(searched(None, None))));
            assert!(!wavers(win, &ruling(searched(None, FIRM))));
            for evidence in [Evidence::Proved, Evidence::Drawn, Evidence::Table] {
                assert!(!wavers(win, &ruling(evidence)));
            }
        }
        let mate = Goal::Forced(Aim::Mate, 2);
        assert!(!wavers(mate, &holds(searched(None, None))));
    }

    #[test]
    fn what_is_not_firm_contradicts_nobody() {
        let open = Ruling::Open {
            line: Vec::new(),
            nodes: 700,
            evidence: Some(searched(None, LOOSE)),
        };
        for (ruling, denied, others) in [
            (holds as fn(Evidence) -> Ruling, Claim::Wrong, Claim::Right),
            (fails, Claim::Right, Claim::Wrong),
        ] {
            let (firm, loose) = (searched(None, FIRM), searched(None, LOOSE));
            assert_eq!(shown(&ruling(loose), denied), open);
            assert_eq!(shown(&ruling(loose), others), ruling(loose));
            assert_eq!(shown(&ruling(loose), Claim::Nothing), ruling(loose));
            assert_eq!(shown(&ruling(firm), denied), ruling(firm));
            assert_eq!(
                shown(&ruling(Evidence::Proved), denied),
                ruling(Evidence::Proved)
            );
        }
    }

    /// Asks for all that is raised, until nothing is, and tells at which effort each
    /// move was asked about first and last. Every move holds, or fails, and never firmly.
    fn efforts(text: &str, right: bool) -> Vec<(String, u8, u8)> {
        let puzzle = Resolved::of(&draft(text)).into_puzzle().expect("a puzzle");
        let mut known = Known::default();
        let mut told: Vec<(String, u8, u8)> = Vec::new();
        loop {
            let open = survey(&puzzle, &known).open;
            if open.is_empty() {
                return told;
            }
            for question in open {
                for mv in &question.moves {
                    match told.iter_mut().find(|(known, ..)| known == mv) {
                        Some(entry) => entry.2 = question.effort,
                        None => told.push((mv.clone(), question.effort, question.effort)),
                    }
                }
                let evidence = searched(None, LOOSE);
                let ruling = if right { holds } else { fails };
                let rulings = question.moves.iter().map(|_| ruling(evidence).plain());
                known.learn(&Answer {
                    rulings: rulings.collect(),
                    question,
                    nodes: 1,
                });
            }
        }
    }

    /// A pawn up; a key, a try, and a move without a mark.
    const WIN: &str = "[FEN \"r5k1/5ppp/8/8/8/8/P4PPP/R5K1 w - - 0 1\"]\n[Stipulation \"+\"]\n\n1. h3 (1. g3 $2) (1. f3) *";

    #[test]
    fn what_contradicts_the_author_is_asked_about_with_the_most_effort() {
        let at = |told: &[(String, u8, u8)], mv: &str| {
            let mut told = told.iter();
            let (_, first, last) = told.find(|(known, ..)| known == mv).expect("asked");
            (*first, *last)
        };
        let right = efforts(WIN, true);
        assert_eq!(at(&right, "h2h3"), (SPOKEN, MOST_SPOKEN));
        assert_eq!(at(&right, "g2g3"), (SPOKEN, MOST_DENYING));
        assert_eq!(at(&right, "f2f3"), (SPOKEN, MOST_SPOKEN));
        assert_eq!(at(&right, "a2a4"), (0, MOST_SPOKEN));
        let wrong = efforts(WIN, false);
        assert_eq!(at(&wrong, "h2h3"), (SPOKEN, MOST_DENYING));
        assert_eq!(at(&wrong, "g2g3"), (SPOKEN, MOST_SPOKEN));
        assert_eq!(at(&wrong, "a2a4"), (0, MOST_OTHERS));
        // Of a choice what is not listed counts for nothing.
        let choice = format!("[Question \"choice\"]\n{WIN}");
        assert_eq!(at(&efforts(&choice, true), "a2a4"), (0, 0));
    }

    #[test]
    fn what_the_author_speaks_of_is_asked_about_again_before_the_rest() {
        let puzzle = Resolved::of(&draft(WIN)).into_puzzle().expect("a puzzle");
        let (start, goal) = (puzzle.start(), Goal::of(&puzzle));
        let mut known = Known::default();
        let first = survey(&puzzle, &known);
        let spoken: Vec<&str> = vec!["h2h3", "g2g3", "f2f3"];
        assert_eq!(first.open[0].moves, spoken);
        assert_eq!(
            (first.answered, first.unanswered),
            (0, start.legal_moves().len())
        );
        for mv in start.legal_moves() {
            // The king's move alone is not known yet.
            if uci(mv) != "g1f1" {
                let ruling = fails(searched(None, LOOSE)).plain();
                let question = Question::about(start, goal, &[mv]);
                let (rulings, nodes) = (vec![ruling], 1);
                known.learn(&Answer {
                    question,
                    rulings,
                    nodes,
                });
            }
        }
        let open = survey(&puzzle, &known).open;
        assert_eq!(open[0].moves, ["g1f1"]);
        assert_eq!(open[1].moves, spoken);
        assert!(open[2].moves.len() > 10 && open.len() == 3);
        assert_eq!([open[1].effort, open[2].effort], [SPOKEN, 1]);
    }

    /// So that workers may share it.
    #[test]
    fn of_a_long_mate_each_move_is_asked_about_by_itself() {
        let of = |n: u8| {
            let text = format!(
                "[FEN \"7k/8/8/8/8/8/R7/1R2K3 w - - 0 1\"]\n[Stipulation \"#{n}\"]\n\n1. Ra7 *"
            );
            let puzzle = Resolved::of(&draft(&text)).into_puzzle().expect("a puzzle");
            let survey = survey(&puzzle, &Known::default());
            let moves = survey.open.iter().map(|question| question.moves.len());
            moves.collect::<Vec<_>>()
        };
        let legal = of(3)[0];
        assert!(legal > 20);
        assert_eq!(of(4), vec![1; legal]);
    }

    /// The king may not step out of the corner for long: the rook mates on the last rank.
    #[test]
    fn what_is_said_of_replies_and_answers_that_are_judged_already_is_not_asked_twice() {
        use crate::Kind;
        let found = |moves: &str| {
            let text = format!(
                "[FEN \"k7/8/1K6/8/8/8/8/2R5 w - - 0 1\"]\n[Stipulation \"#2\"]\n\n{moves} *"
            );
            crate::trial::kinds(&crate::trial::report(&text))
        };
        // A try that works has no refutation that could fail.
        let works = found("1. Rd1 $2 Kb8");
        assert!(works.contains(&Kind::WorkingTry), "{works:?}");
        assert!(!works.contains(&Kind::FailingRefutation), "{works:?}");
        // An answer without a mark is one, until it is said that it is none.
        let unmarked = found("1. Rd1 Kb8 2. Rd7 $2 (2. Rd8#)");
        assert!(unmarked.contains(&Kind::AmbiguousVariation), "{unmarked:?}");
        assert!(
            !unmarked.contains(&Kind::UnfinishedSolution),
            "{unmarked:?}"
        );
    }

    #[test]
    fn only_what_a_failing_try_fails_to_is_known_to_refute_it() {
        let text =
            "[FEN \"1k6/8/1K6/8/8/7p/8/2R5 w - - 0 1\"]\n[Stipulation \"#2\"]\n\n1. Rc2 $2 Ka8 *";
        let puzzle = Resolved::of(&draft(text)).into_puzzle().expect("a puzzle");
        let moves = ["c1c2", "h3h2"].map(String::from);
        let line = model::notation::moves::read_ucis(puzzle.start(), &moves);
        let real = |ruling| {
            let mut known = Known::default();
            known.learn_move(puzzle.start(), Goal::of(&puzzle), line[0], ruling);
            survey(&puzzle, &known).refutations[0].real
        };
        let (evidence, nodes) = (Evidence::Proved, 1);
        let fails = Ruling::Fails {
            line: line.clone(),
            evidence,
        };
        assert_eq!(real(fails), Some(line[1]));
        let open = Ruling::Open {
            line: line.clone(),
            nodes,
            evidence: None,
        };
        assert_eq!(real(open), None);
    }
}
