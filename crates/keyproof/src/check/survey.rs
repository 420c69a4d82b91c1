//! Walks the claims of a puzzle and lays what is known beside each.
//!
//! The walk goes down accepted moves, listed defences and their answers, and
//! stops below a move whose claim fails. It finds no fault itself: that is
//! left to the modules of each kind.

use std::collections::HashSet;

use shakmaty::{Move, Position};

use super::known::{Known, Question};
use crate::draft::NodeId;
use crate::prove::Verdict;
use crate::puzzle::{Puzzle, Role};

/// What the walk met.
pub struct Survey {
    pub turns: Vec<Turn>,
    pub replies: Vec<Replies>,
    pub refutations: Vec<Claimed>,
    /// Everything above in reading order.
    pub order: Vec<Stop>,
    /// What is not yet known, to be asked.
    pub open: Vec<Question>,
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
    /// The solver's moves left, this one included.
    pub left: u8,
    /// Whether it lies below a try: then only the author's own answers are
    /// judged, not every legal move.
    pub aside: bool,
    /// What is known of each move asked about.
    pub verdicts: Vec<(Move, Option<Verdict>)>,
}

/// A position with the other side to move after an accepted move.
pub struct Replies {
    pub node: NodeId,
    /// The solver's moves left.
    pub left: u8,
    /// Listed defences that the author left without an accepted answer, with
    /// the shortest mate after each (if known).
    pub unfinished: Vec<(NodeId, Option<Verdict>)>,
    /// Unlisted defences that an answer of the author's meets: the answer and
    /// the defences that fall to it.
    pub covered: Vec<(Move, Vec<Move>)>,
    /// Unlisted defences that no answer of the author's meets, with the
    /// shortest mate after each (if known).
    pub uncovered: Vec<(Move, Option<Verdict>)>,
    /// No move follows at all.
    pub empty: bool,
    /// The verdict on the accepted move itself.
    pub verdict: Option<Verdict>,
}

/// A refutation that the author claims for a try.
pub struct Claimed {
    pub node: NodeId,
    /// The shortest mate after it, if known.
    pub mate: Option<Verdict>,
    /// A reply that does refute the try, if one is known.
    pub real: Option<Move>,
}

impl Turn {
    pub fn verdict(&self, mv: Move) -> Option<&Verdict> {
        self.verdicts.iter().find(|(m, _)| *m == mv)?.1.as_ref()
    }

    /// The length of the mate a move forces.
    pub fn length(&self, mv: Move) -> Option<u8> {
        match self.verdict(mv) {
            Some(Verdict::Forces { length, .. }) => Some(*length),
            _ => None,
        }
    }

    /// Moves known to force mate in time, the shortest first.
    pub fn forcing(&self) -> Vec<(Move, u8, &[Move])> {
        let mut forcing: Vec<_> = self
            .verdicts
            .iter()
            .filter_map(|(mv, verdict)| match verdict {
                Some(Verdict::Forces { length, line }) => Some((*mv, *length, line.as_slice())),
                _ => None,
            })
            .collect();
        forcing.sort_by_key(|(_, length, _)| *length);
        forcing
    }
}

/// Surveys a puzzle that claims mate in `n`.
pub fn survey(puzzle: &Puzzle, n: u8, known: &Known) -> Survey {
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
            answered: 0,
            unanswered: 0,
        },
        todo: vec![Task::Turn {
            node: NodeId::ROOT,
            left: n,
            aside: false,
        }],
    };
    while let Some(task) = walk.todo.pop() {
        match task {
            Task::Turn { node, left, aside } => walk.turn(node, left, aside),
            Task::Replies {
                node,
                left,
                aside,
                verdict,
            } => walk.replies(node, left, aside, verdict),
            Task::Refutation { node, left, real } => walk.refutation(node, left, real),
        }
    }
    walk.survey
}

enum Task {
    Turn {
        node: NodeId,
        left: u8,
        aside: bool,
    },
    Replies {
        node: NodeId,
        left: u8,
        aside: bool,
        verdict: Option<Verdict>,
    },
    Refutation {
        node: NodeId,
        left: u8,
        real: Option<Move>,
    },
}

struct Walk<'a> {
    puzzle: &'a Puzzle,
    known: &'a Known,
    asked: HashSet<Question>,
    survey: Survey,
    todo: Vec<Task>,
}

/// From this many moves left on, each move is a question of its own, so that
/// they spread over workers.
const SPLIT: u8 = 4;

impl Walk<'_> {
    fn turn(&mut self, node: NodeId, left: u8, aside: bool) {
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
        let verdicts: Vec<_> = moves
            .into_iter()
            .map(|mv| (mv, self.known.verdict(position, left, mv).cloned()))
            .collect();
        let missing: Vec<Move> = verdicts
            .iter()
            .filter(|(_, v)| v.is_none())
            .map(|(m, _)| *m)
            .collect();
        self.survey.answered += verdicts.len() - missing.len();
        let size = if left >= SPLIT {
            1
        } else {
            missing.len().max(1)
        };
        for part in missing.chunks(size) {
            self.ask(Question::about(position, left, part));
        }
        let turn = Turn {
            node,
            left,
            aside,
            verdicts,
        };

        let mut next = Vec::new();
        for &child in puzzle.children(node) {
            let PuzzleMove { mv, role, mates } = self.puzzle_move(child);
            let verdict = turn.verdict(mv);
            let fails = matches!(verdict, Some(Verdict::Fails { .. }));
            match role {
                Role::Key | Role::Continuation if !fails && !mates && left > 1 => {
                    next.push(Task::Replies {
                        node: child,
                        left: left - 1,
                        aside,
                        verdict: verdict.cloned(),
                    });
                }
                Role::Try if !matches!(verdict, Some(Verdict::Forces { .. })) && left > 1 => {
                    let real = match verdict {
                        Some(Verdict::Fails { line }) => line.get(1).copied(),
                        _ => None,
                    };
                    for &reply in puzzle.children(child) {
                        match puzzle.node(reply).role {
                            Role::Refutation => {
                                next.push(Task::Refutation {
                                    node: reply,
                                    left: left - 1,
                                    real,
                                });
                            }
                            _ => next.push(Task::Turn {
                                node: reply,
                                left: left - 1,
                                aside: true,
                            }),
                        }
                    }
                }
                _ => {}
            }
        }
        self.todo.extend(next.into_iter().rev());
        self.survey.order.push(Stop::Turn(self.survey.turns.len()));
        self.survey.turns.push(turn);
    }

    fn replies(&mut self, node: NodeId, left: u8, aside: bool, verdict: Option<Verdict>) {
        let puzzle = self.puzzle;
        let position = puzzle.position(node);
        let listed = puzzle.children(node);
        let mut replies = Replies {
            node,
            left,
            unfinished: Vec::new(),
            covered: Vec::new(),
            uncovered: Vec::new(),
            empty: listed.is_empty(),
            verdict,
        };
        let mut answers: Vec<Move> = Vec::new();
        let mut next = Vec::new();
        for &defence in listed {
            let before = answers.len();
            answers.extend(puzzle.accepted(defence).map(|c| puzzle.node(c).mv));
            let unclear = puzzle.with_role(defence, Role::Unclear).next().is_some();
            if answers.len() == before && !unclear {
                let mate = self.mate(puzzle.position(defence), left);
                replies.unfinished.push((defence, mate));
            }
            if !puzzle.children(defence).is_empty() {
                next.push(Task::Turn {
                    node: defence,
                    left,
                    aside,
                });
            }
        }
        self.todo.extend(next.into_iter().rev());

        if !replies.empty && !aside {
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
            match self.known.verdict(&after, replies.left, mv) {
                Some(Verdict::Forces { .. }) => {
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
            let mate = self.mate(&after, replies.left);
            replies.uncovered.push((defence, mate));
        } else {
            self.ask(Question::about(&after, replies.left, &missing));
        }
    }

    fn refutation(&mut self, node: NodeId, left: u8, real: Option<Move>) {
        let mate = self.mate(self.puzzle.position(node), left);
        self.survey
            .order
            .push(Stop::Refutation(self.survey.refutations.len()));
        self.survey.refutations.push(Claimed { node, mate, real });
    }

    /// The shortest mate, asked for if not known.
    fn mate(&mut self, position: &shakmaty::Chess, left: u8) -> Option<Verdict> {
        let mate = self.known.mate(position, left).cloned();
        match mate {
            Some(_) => self.survey.answered += 1,
            None => self.ask(Question::about(position, left, &[])),
        }
        mate
    }

    fn ask(&mut self, question: Question) {
        if self.asked.insert(question.clone()) {
            self.survey.unanswered += question.moves.len().max(1);
            self.survey.open.push(question);
        }
    }

    fn puzzle_move(&self, id: NodeId) -> PuzzleMove {
        let node = self.puzzle.node(id);
        PuzzleMove {
            mv: node.mv,
            role: node.role,
            mates: node.after.is_checkmate(),
        }
    }
}

struct PuzzleMove {
    mv: Move,
    role: Role,
    mates: bool,
}

/// The same man to the same square, whatever stands there.
fn same_move(a: Move, b: Move) -> bool {
    a.role() == b.role()
        && a.from() == b.from()
        && a.to() == b.to()
        && a.promotion() == b.promotion()
}
