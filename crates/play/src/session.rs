//! A student at work on a puzzle, as a plain state machine.
//!
//! Every move is judged by proof, never by the author's list alone: a right
//! move is not refused because it is missing from the tree, and a wrong one is
//! not accepted because it stands there. The tree says which defences are
//! asked and which words go with a move.

use model::draft::NodeId;
use model::puzzle::{Asked, Posed, Puzzle, Role};
use prove::{Prover, Unwatched};
use shakmaty::{Chess, Move, Position};

use crate::goal::Goal;
use crate::known::{Known, Ruling};

/// What became of the student's move.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Judgement {
    /// The author's move.
    Right,
    /// Right, but found before, where several solutions are asked.
    Found,
    /// Not the author's first choice, or not listed at all, but meets the
    /// stipulation as well.
    AlsoRight,
    /// A listed try. `line` starts with the try and shows its refutation.
    Try {
        /// What shows that it fails, the move first.
        line: Vec<Move>,
    },
    /// Fails. `line` starts with the move and shows its refutation.
    Wrong {
        /// What shows that it fails, the move first.
        line: Vec<Move>,
    },
    /// Not a legal move here; nothing changed.
    Illegal,
    /// It could not be told, or lies between the author's margins; the move is
    /// taken back and not counted.
    Unknown,
}

/// What happens after a move.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Next {
    /// The other side replies; the student is to move again.
    Defence(Move),
    /// This line is done, and another defence is asked. The board goes back
    /// to `back_to` (the position in which the defence is played), and the
    /// defence is played there.
    AnotherDefence {
        /// The position before it.
        back_to: Box<Chess>,
        /// What is then played.
        defence: Move,
    },
    /// In a helpmate: the student moves for the other side.
    OtherSide,
    /// In a helpmate: this solution is done, and the board goes back to where
    /// another one branches off.
    AnotherSolution,
    /// All that was asked is solved.
    Solved,
    /// The move was not right: the board is as it was before it.
    TryAgain,
}

/// The answer to a move of the student.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Reply {
    /// What the move is.
    pub judgement: Judgement,
    /// The author's words for this move, if any.
    pub words: Vec<String>,
    /// What comes then.
    pub next: Next,
    /// The author's words for the defence played next, if any.
    pub defence_words: Vec<String>,
    /// The other side's move that ends the student's line, where it is not his
    /// own: in a selfmate.
    pub ending: Option<Move>,
    /// What is then shown on the board: how a threat goes on.
    pub shown: Vec<Move>,
}

/// Whether the move that is asked about does what is asked.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Truth {
    /// It does.
    pub does: bool,
    /// What shows it, the move first.
    pub line: Vec<Move>,
    /// The author's words for the move.
    pub words: Vec<String>,
}

/// A student's session with one puzzle.
pub struct Session {
    puzzle: Puzzle,
    known: Known,
    prover: Prover,
    spot: Spot,
    /// Defences, and solutions of a helpmate, still to be asked, the next one
    /// last.
    pending: Vec<Pending>,
    /// Lines asked in all, and those in the line being played.
    total: usize,
    current: usize,
    mistakes: u32,
    shown: bool,
    solved: bool,
    /// Where the defences drawn at random stand.
    chance: u64,
}

/// Where the student is.
#[derive(Clone)]
struct Spot {
    /// The node of the position on the board; `None` off the author's tree.
    node: Option<NodeId>,
    position: Chess,
    goal: Goal,
    /// Right moves that the student has found here, where another is asked.
    found: Vec<Move>,
}

struct Pending {
    what: Asking,
    lines: usize,
}

enum Asking {
    Defence {
        before: Chess,
        defence: NodeId,
        goal: Goal,
    },
    /// Another move of a helpmate at this place.
    Solution(Spot),
}

/// Bytes of the prover's table, and nodes it may spend on one question.
const TABLE: usize = 4 << 20;
const BUDGET: u64 = 50_000_000;

impl Session {
    /// Starts at the puzzle's first position. `known` may hold what was
    /// proved at publishing; the rest is proved when needed.
    pub fn new(puzzle: Puzzle, known: Known) -> Session {
        let mut prover = Prover::new(TABLE);
        prover.budget = Some(BUDGET);
        let spot = first(&puzzle);
        let total = lines(&puzzle, NodeId::ROOT);
        Session {
            puzzle,
            known,
            prover,
            spot,
            pending: Vec::new(),
            total,
            current: total,
            mistakes: 0,
            shown: false,
            solved: false,
            chance: 0,
        }
    }

    /// Where the author has defences drawn at random: what the draws depend on.
    pub fn seed(&mut self, seed: u64) {
        self.chance = seed;
    }

    /// The puzzle that is solved.
    pub fn puzzle(&self) -> &Puzzle {
        &self.puzzle
    }

    /// The position on the board; the student is to move unless solved.
    pub fn position(&self) -> &Chess {
        &self.spot.position
    }

    /// The node of the position on the board; `None` off the author's tree.
    pub fn node(&self) -> Option<NodeId> {
        self.spot.node
    }

    /// What is asked of the student's move.
    pub fn goal(&self) -> Goal {
        self.spot.goal
    }

    /// The student's moves left for what is asked, this one included;
    /// `None` where nothing is forced.
    pub fn moves_left(&self) -> Option<u8> {
        self.spot.goal.moves_left()
    }

    /// Whether nothing is left to find.
    pub fn solved(&self) -> bool {
        self.solved
    }

    /// Lines answered so far, and lines asked in all.
    pub fn progress(&self) -> (usize, usize) {
        let open = self.pending_lines() + self.current;
        (self.total.saturating_sub(open), self.total)
    }

    /// Wrong moves so far.
    pub fn mistakes(&self) -> u32 {
        self.mistakes
    }

    /// Whether [`Session::show`] was used.
    pub fn shown(&self) -> bool {
        self.shown
    }

    /// Whether moves can be judged: mates are proved here, other goals need
    /// the answers found at publishing.
    pub fn judges(&self) -> bool {
        let Spot { position, goal, .. } = &self.spot;
        goal.proved_here().is_some() || !self.known.rulings(position, *goal).is_empty()
    }

    /// The student plays a move.
    pub fn play(&mut self, mv: Move) -> Reply {
        if self.solved || !self.spot.position.is_legal(mv) {
            return self.rejected(Judgement::Illegal, Vec::new());
        }
        if self.spot.found.contains(&mv) {
            return self.rejected(Judgement::Found, Vec::new());
        }
        let listed = self.spot.node.and_then(|node| self.puzzle.child(node, mv));
        match self.judge(mv) {
            Ruling::Open { .. } => {
                let words = listed.map_or(Vec::new(), |c| self.puzzle.node(c).words.clone());
                self.rejected(Judgement::Unknown, words)
            }
            Ruling::Holds { length, .. } => self.accept(mv, listed, length),
            Ruling::Fails { line, .. } => self.refuse(mv, listed, line),
        }
    }

    /// Ends a puzzle that asks about its first move ([`Posed::YesNo`]): by the student's
    /// answer whether that does what is asked, or without one by showing it. `None`
    /// where nothing of the kind is asked, it is answered, or it cannot be told.
    pub fn answer(&mut self, said: Option<bool>) -> Option<Truth> {
        if self.puzzle.posed() != Posed::YesNo || self.solved {
            return None;
        }
        let first = *self.puzzle.children(NodeId::ROOT).first()?;
        let mv = self.puzzle.node(first).mv;
        let (does, mut line) = match self.judge(mv) {
            Ruling::Open { .. } => return None,
            Ruling::Holds { .. } => (true, Vec::new()),
            Ruling::Fails { line, .. } => (false, line),
        };
        let own = match does {
            true => Some(self.main_line(first)),
            false => self.authors_refutation(first),
        };
        if let Some(own) = own {
            line = own;
            line.insert(0, mv);
        }
        self.mistakes += u32::from(said == Some(!does));
        self.shown = said != Some(does);
        self.solved = true;
        self.current = 0;
        Some(Truth {
            does,
            line,
            words: self.puzzle.node(first).words.clone(),
        })
    }

    /// What the author writes after a move, first line only.
    fn main_line(&self, node: NodeId) -> Vec<Move> {
        let mut line = Vec::new();
        let mut at = node;
        while let Some(&next) = self.puzzle.children(at).first() {
            line.push(self.puzzle.node(next).mv);
            at = next;
        }
        line
    }

    /// A right move here (the author's first that works), for "show the
    /// solution". `None` when solved, or when there is none.
    pub fn show(&mut self) -> Option<Move> {
        if self.solved {
            return None;
        }
        self.shown = true;
        if let Some(node) = self.spot.node {
            let listed: Vec<Move> = self
                .puzzle
                .accepted(node)
                .map(|c| self.puzzle.node(c).mv)
                .filter(|mv| !self.spot.found.contains(mv))
                .collect();
            for mv in listed {
                if self.judge(mv).holds() {
                    return Some(mv);
                }
            }
        }
        let Spot { position, goal, .. } = &self.spot;
        let known = self.known.rulings(position, *goal).iter();
        if let Some((mv, _)) = known
            .filter(|(_, ruling)| ruling.holds())
            .min_by_key(|(_, r)| length(r))
        {
            return Some(*mv);
        }
        let (aim, n) = goal.proved_here()?;
        let forced = self.prover.force(aim, position, n, &mut Unwatched);
        forced.ok().flatten().map(|(mv, _)| mv)
    }

    /// Back to the first position, all forgotten.
    pub fn restart(&mut self) {
        self.spot = first(&self.puzzle);
        self.pending.clear();
        self.total = lines(&self.puzzle, NodeId::ROOT);
        self.current = self.total;
        self.mistakes = 0;
        self.shown = false;
        self.solved = false;
    }

    /// First moves other than the author's own first one that are known to be
    /// right.
    pub fn also_right(&self) -> Vec<Move> {
        let mut accepted = self.puzzle.accepted(NodeId::ROOT);
        let key = accepted.next().map(|id| self.puzzle.node(id).mv);
        let start = self.puzzle.start();
        let known = self.known.rulings(start, Goal::of(&self.puzzle)).iter();
        known
            .filter(|(mv, ruling)| ruling.holds() && Some(*mv) != key)
            .map(|(mv, _)| *mv)
            .collect()
    }

    /// Judges a legal move at the present position. Only what must be
    /// forced is proved here; gains and other goals go by what was found at publishing.
    fn judge(&mut self, mv: Move) -> Ruling {
        let Spot { position, goal, .. } = &self.spot;
        if let Some(ruling) = self.known.ruling(position, *goal, mv) {
            return ruling.clone();
        }
        let ruling = self.proved(mv);
        if !ruling.is_open() {
            let Spot { position, goal, .. } = &self.spot;
            self.known.learn_move(position, *goal, mv, ruling.clone());
        }
        ruling
    }

    /// What is proved here of a legal move.
    fn proved(&mut self, mv: Move) -> Ruling {
        let Spot { position, goal, .. } = &self.spot;
        let judged = goal.proved_here().map(|(aim, n)| {
            self.prover
                .judge_aim(aim, position, n, Some(&[mv]), &mut Unwatched)
        });
        match judged.and_then(|judged| judged.into_iter().next()) {
            Some((_, verdict)) => verdict.into(),
            None => Ruling::Open {
                line: Vec::new(),
                nodes: 0,
                evidence: None,
            },
        }
    }

    fn accept(&mut self, mv: Move, listed: Option<NodeId>, length: Option<u8>) -> Reply {
        let claimed =
            listed.filter(|&c| matches!(self.puzzle.node(c).role, Role::Key | Role::Continuation));
        let main = self
            .spot
            .node
            .and_then(|node| self.puzzle.accepted(node).next());
        let shared = self.spot.goal.shared();
        let judgement = if claimed.is_some() && (shared || claimed == main) {
            Judgement::Right
        } else {
            Judgement::AlsoRight
        };
        let words = claimed.map_or(Vec::new(), |c| self.puzzle.node(c).words.clone());

        if shared {
            return Reply {
                judgement,
                words,
                next: self.help(mv, claimed),
                defence_words: Vec::new(),
                ending: None,
                shown: Vec::new(),
            };
        }
        if self.spot.node == Some(NodeId::ROOT) {
            self.total = claimed.map_or(1, |c| lines_after(&self.puzzle, c));
            self.current = self.total;
        }
        let mut after = self.spot.position.clone();
        after.play_unchecked(mv);
        let mut reply = Reply {
            judgement,
            words,
            next: Next::Solved,
            defence_words: Vec::new(),
            ending: None,
            shown: Vec::new(),
        };
        if self.puzzle.posed() == Posed::Threat {
            reply.shown = self.threat(mv, claimed);
            for &mv in &reply.shown {
                after.play_unchecked(mv);
            }
            reply.next = self.line_done(after).0;
            return reply;
        }
        (reply.next, reply.defence_words) = match self.spot.goal.next() {
            Some(goal) if !after.is_game_over() && !goal.stands(length) => {
                self.defend(after, goal, claimed, &mut reply.ending)
            }
            _ => self.line_done(after),
        };
        reply
    }

    /// How a threat goes on: by the author's line, else as it is proved here.
    fn threat(&mut self, mv: Move, claimed: Option<NodeId>) -> Vec<Move> {
        let own = claimed.map_or(Vec::new(), |c| self.main_line(c));
        match own.is_empty() {
            true => self.proved(mv).line().iter().skip(1).copied().collect(),
            false => own,
        }
    }

    /// Plays a right move of a helpmate. Where the author lists several, as
    /// many are asked, listed or not.
    fn help(&mut self, mv: Move, claimed: Option<NodeId>) -> Next {
        let (answered, _) = self.progress();
        let mut spot = self.spot.clone();
        spot.found.push(mv);
        if let Some(node) = spot.node {
            let wanted = asked_solutions(&self.puzzle, node);
            let left = wanted.len().saturating_sub(spot.found.len());
            let lines: usize = wanted
                .iter()
                .filter(|&&c| !spot.found.contains(&self.puzzle.node(c).mv))
                .take(left)
                .map(|&c| lines_after(&self.puzzle, c))
                .sum();
            if lines > 0 {
                let what = Asking::Solution(spot.clone());
                self.pending.push(Pending { what, lines });
            }
        }
        self.current = claimed.map_or(1, |c| lines_after(&self.puzzle, c));
        self.total = answered + self.pending_lines() + self.current;
        let mut after = spot.position;
        after.play_unchecked(mv);
        match spot.goal.next() {
            Some(goal) if !after.is_game_over() => {
                self.spot = Spot {
                    node: claimed,
                    position: after,
                    goal,
                    found: Vec::new(),
                };
                Next::OtherSide
            }
            _ => self.line_done(after).0,
        }
    }

    fn pending_lines(&self) -> usize {
        self.pending.iter().map(|p| p.lines).sum()
    }

    /// The other side replies: by the author's defences, or off the tree by
    /// the one that holds out longest. A reply that ends the line as the
    /// student wishes goes to `ending`.
    fn defend(
        &mut self,
        after: Chess,
        goal: Goal,
        claimed: Option<NodeId>,
        ending: &mut Option<Move>,
    ) -> (Next, Vec<String>) {
        let mut asked = claimed.map_or(Vec::new(), |node| listed(&self.puzzle, node));
        if let Some(last) = asked.len().checked_sub(1) {
            match self.puzzle.asked() {
                Asked::Each => {}
                Asked::Main => asked.truncate(1),
                Asked::Stubborn => asked = vec![self.most_stubborn(&asked, goal)],
                Asked::Random => asked = vec![asked[self.draw(last + 1)]],
            }
        }
        let mut asked = asked.into_iter();
        if let Some(first) = asked.next() {
            let (mv, words) = self.enter(first, goal);
            self.current = lines(&self.puzzle, first);
            let rest: Vec<Pending> = asked
                .map(|defence| Pending {
                    what: Asking::Defence {
                        before: after.clone(),
                        defence,
                        goal,
                    },
                    lines: lines(&self.puzzle, defence),
                })
                .collect();
            self.pending.extend(rest.into_iter().rev());
            return (Next::Defence(mv), words);
        }
        let Some((aim, n)) = goal.proved_here() else {
            return self.line_done(after);
        };
        let longest = self
            .prover
            .holds_out(aim, &after, n, &mut Unwatched)
            .map(|(mv, needed)| match claimed {
                Some(node) if needed == 0 => self.first_listed(node).unwrap_or(mv),
                _ => mv,
            });
        let Some(mv) = longest.or_else(|| after.legal_moves().first().copied()) else {
            return self.line_done(after);
        };
        let mut position = after;
        position.play_unchecked(mv);
        if goal.ended(&position) {
            *ending = Some(mv);
            return self.line_done(position);
        }
        self.spot = Spot {
            node: None,
            position,
            goal,
            found: Vec::new(),
        };
        (Next::Defence(mv), Vec::new())
    }

    /// Of the defences listed at a place: the one that holds out longest.
    fn most_stubborn(&mut self, listed: &[NodeId], goal: Goal) -> NodeId {
        let mut best = (listed[0], (0, 0));
        for &defence in listed {
            let after = &self.puzzle.node(defence).after;
            let needed = goal.proved_here().map_or(0, |(aim, n)| {
                let mut enough = 1;
                while enough <= n
                    && !matches!(
                        self.prover.force(aim, after, enough, &mut Unwatched),
                        Ok(Some(_))
                    )
                {
                    enough += 1;
                }
                enough
            });
            let holds = (needed, longest_line(&self.puzzle, defence));
            if holds > best.1 {
                best = (defence, holds);
            }
        }
        best.0
    }

    /// Draws one of `of`, by a linear congruence (the multiplier and increment
    /// are Knuth's, The Art of Computer Programming, volume 2, from memory).
    fn draw(&mut self, of: usize) -> usize {
        let next = self.chance.wrapping_mul(6_364_136_223_846_793_005);
        self.chance = next.wrapping_add(1_442_695_040_888_963_407);
        (self.chance >> 33) as usize % of
    }

    fn first_listed(&self, node: NodeId) -> Option<Move> {
        let first = self.puzzle.children(node).first()?;
        Some(self.puzzle.node(*first).mv)
    }

    fn line_done(&mut self, last: Chess) -> (Next, Vec<String>) {
        let Some(Pending { what, lines }) = self.pending.pop() else {
            self.current = 0;
            self.solved = true;
            self.spot.node = None;
            self.spot.position = last;
            return (Next::Solved, Vec::new());
        };
        self.current = lines;
        match what {
            Asking::Solution(spot) => {
                self.spot = spot;
                (Next::AnotherSolution, Vec::new())
            }
            Asking::Defence {
                before,
                defence,
                goal,
            } => {
                let (mv, words) = self.enter(defence, goal);
                let next = Next::AnotherDefence {
                    back_to: Box::new(before),
                    defence: mv,
                };
                (next, words)
            }
        }
    }

    fn enter(&mut self, defence: NodeId, goal: Goal) -> (Move, Vec<String>) {
        let node = self.puzzle.node(defence);
        self.spot = Spot {
            node: Some(defence),
            position: node.after.clone(),
            goal,
            found: Vec::new(),
        };
        (node.mv, node.words.clone())
    }

    fn refuse(&mut self, mv: Move, listed: Option<NodeId>, proved: Vec<Move>) -> Reply {
        self.mistakes += 1;
        let tried = listed.filter(|&c| self.puzzle.node(c).role == Role::Try);
        let Some(node) = tried else {
            return self.rejected(Judgement::Wrong { line: proved }, Vec::new());
        };
        let words = self.puzzle.node(node).words.clone();
        let line = self.authors_refutation(node).map_or(proved, |rest| {
            let mut line = vec![mv];
            line.extend(rest);
            line
        });
        self.rejected(Judgement::Try { line }, words)
    }

    /// The author's refutation of a try with what he adds to it, if it does
    /// refute.
    fn authors_refutation(&mut self, tried: NodeId) -> Option<Vec<Move>> {
        let first = self.puzzle.with_role(tried, Role::Refutation).next()?;
        let after = &self.puzzle.node(first).after;
        if let Some((aim, n)) = self.spot.goal.next().and_then(Goal::proved_here)
            && (aim.ended(after) || self.prover.force(aim, after, n, &mut Unwatched) != Ok(None))
        {
            return None;
        }
        let mut line = self.main_line(first);
        line.insert(0, self.puzzle.node(first).mv);
        Some(line)
    }

    fn rejected(&self, judgement: Judgement, words: Vec<String>) -> Reply {
        let next = if self.solved {
            Next::Solved
        } else {
            Next::TryAgain
        };
        Reply {
            judgement,
            words,
            next,
            defence_words: Vec::new(),
            ending: None,
            shown: Vec::new(),
        }
    }
}

fn length(ruling: &Ruling) -> Option<u8> {
    match ruling {
        Ruling::Holds { length, .. } => *length,
        _ => None,
    }
}

fn first(puzzle: &Puzzle) -> Spot {
    Spot {
        node: Some(NodeId::ROOT),
        position: puzzle.start().clone(),
        goal: Goal::of(puzzle),
        found: Vec::new(),
    }
}

/// Moves of the longest line written after a move.
fn longest_line(puzzle: &Puzzle, node: NodeId) -> usize {
    let mut todo = vec![(node, 0)];
    let mut longest = 0;
    while let Some((node, length)) = todo.pop() {
        longest = longest.max(length);
        todo.extend(puzzle.children(node).iter().map(|&c| (c, length + 1)));
    }
    longest
}

/// The defences asked after an accepted move, as far as their number goes; none to a
/// threat, which is only shown.
fn asked(puzzle: &Puzzle, node: NodeId) -> Vec<NodeId> {
    if puzzle.posed() == Posed::Threat {
        return Vec::new();
    }
    let mut asked = listed(puzzle, node);
    if puzzle.asked() != Asked::Each {
        asked.truncate(1);
    }
    asked
}

/// The defences listed after an accepted move that leave the student a move.
fn listed(puzzle: &Puzzle, node: NodeId) -> Vec<NodeId> {
    // A reply left standing at the end of a line shows its point: a repetition.
    let forced = puzzle.stipulation().forced().is_some();
    puzzle
        .with_role(node, Role::Defence)
        .filter(|&d| !puzzle.node(d).after.is_game_over())
        .filter(|&d| forced || puzzle.accepted(d).next().is_some())
        .collect()
}

/// The moves of a helpmate that are asked at a node, each in turn.
fn asked_solutions(puzzle: &Puzzle, node: NodeId) -> Vec<NodeId> {
    let most = match puzzle.asked() {
        Asked::Each => usize::MAX,
        _ => 1,
    };
    puzzle.accepted(node).take(most).collect()
}

/// Lines asked from a position with the solver to move, by the author's main
/// answers; in a helpmate, by all of them.
fn lines(puzzle: &Puzzle, node: NodeId) -> usize {
    if puzzle.stipulation().shared() {
        return lines_after(puzzle, node);
    }
    puzzle
        .accepted(node)
        .next()
        .map_or(1, |main| lines_after(puzzle, main))
}

/// Lines asked after an accepted move.
fn lines_after(puzzle: &Puzzle, node: NodeId) -> usize {
    let mut total = 0;
    let mut todo = vec![node];
    while puzzle.stipulation().shared() {
        let Some(node) = todo.pop() else {
            return total;
        };
        let next = asked_solutions(puzzle, node);
        total += usize::from(next.is_empty());
        todo.extend(next);
    }
    while let Some(node) = todo.pop() {
        let next: Vec<NodeId> = asked(puzzle, node)
            .into_iter()
            .filter_map(|d| puzzle.accepted(d).next())
            .collect();
        let ends = asked(puzzle, node).len() - next.len();
        total += if asked(puzzle, node).is_empty() {
            1
        } else {
            ends
        };
        todo.extend(next);
    }
    total
}

#[cfg(test)]
mod tests {
    use super::*;
    use model::notation::moves;
    use model::pgn_read;
    use model::resolved::Resolved;

    fn session(text: &str) -> Session {
        let draft = pgn_read::read(text).remove(0).draft;
        let puzzle = Resolved::of(&draft).into_puzzle().expect("a puzzle");
        Session::new(puzzle, Known::default())
    }

    fn play(session: &mut Session, text: &str) -> Reply {
        let mv = moves::read(session.position(), text).expect("a legal move");
        session.play(mv)
    }

    const TWO_ROOKS: &str = "[FEN \"6k1/5ppp/8/8/8/8/8/R2R2K1 w - - 0 1\"]\n[Stipulation \"#1\"]\n\n1. Ra8# {Down the file.} (1. Rd7 $2 {Too slow.} Kf8) *";

    #[test]
    fn right_moves_are_right_listed_or_not() {
        let reply = play(&mut session(TWO_ROOKS), "Ra8");
        assert_eq!(
            (reply.judgement, reply.next),
            (Judgement::Right, Next::Solved)
        );
        assert_eq!(reply.words, ["Down the file."]);
        let reply = play(&mut session(TWO_ROOKS), "Rd8");
        assert_eq!(
            (reply.judgement, reply.next),
            (Judgement::AlsoRight, Next::Solved)
        );
    }

    const MATES: &str = "[FEN \"6k1/5ppp/8/8/8/8/8/R5K1 w - - 0 1\"]\n[Stipulation \"#2\"]\n[Question \"yes or no\"]\n\n1. Ra8# {Down the file.} *";
    const ESCAPES: &str = "[FEN \"6k1/5pp1/8/8/8/8/8/R5K1 w - - 0 1\"]\n[Stipulation \"#2\"]\n[Question \"yes or no\"]\n\n1. Ra8+ $2 {Air.} Kh7 2. Ra7 *";

    #[test]
    fn a_yes_or_a_no_is_held_against_what_is_proved() {
        for (text, does, line) in [(MATES, true, "Ra8#"), (ESCAPES, false, "Ra8+ Kh7 Ra7")] {
            for said in [Some(true), Some(false), None] {
                let mut session = session(text);
                let start = session.position().clone();
                let truth = session.answer(said).expect("an answer");
                assert_eq!(truth.does, does);
                let written = moves::line(&start, &truth.line, 1);
                let written: Vec<&str> = written.split([' ', '.']).collect();
                let told = line.split(' ').all(|mv| written.contains(&mv));
                assert!(
                    told && truth.line.len() == line.split(' ').count(),
                    "{written:?}"
                );
                assert_eq!(truth.words.len(), 1);
                let right = said == Some(does);
                assert_eq!(session.mistakes(), u32::from(said == Some(!does)));
                assert_eq!((session.solved(), session.shown()), (true, !right));
                assert_eq!(session.answer(said), None, "once");
                session.restart();
                assert!(!session.solved() && session.answer(Some(does)).is_some());
            }
        }
        assert_eq!(session(TWO_ROOKS).answer(Some(true)), None);
        // Nothing is known of it here.
        assert_eq!(session(&MATES.replace("#2", "+")).answer(None), None);
    }

    const THREAT: &str = "[FEN \"1k1r3r/ppp1qpp1/8/5n2/7p/1Q3P2/PP1N2PP/R5RK b - - 0 1\"]\n[Stipulation \"#2\"]\n[Question \"threat\"]\n\n1... Ng3+ {Opens the file.} 2. hxg3 hxg3# *";

    /// Its first move is asked for, and the rest is shown.
    #[test]
    fn a_threat_is_found_by_its_first_move() {
        let mut session = session(THREAT);
        assert_eq!(
            session.puzzle().task(),
            "White to move. What does Black threaten?"
        );
        assert!(!session.puzzle().black_below());
        let wrong = play(&mut session, "Qe2").judgement;
        assert!(matches!(wrong, Judgement::Wrong { .. }), "{wrong:?}");
        let reply = play(&mut session, "Ng3+");
        assert_eq!(
            (reply.judgement, reply.next),
            (Judgement::Right, Next::Solved)
        );
        assert_eq!(reply.words, ["Opens the file."]);
        let line: Vec<String> = reply.shown.into_iter().map(moves::uci).collect();
        assert_eq!(line, ["h2g3", "h4g3"]);
        assert!(session.solved() && session.position().is_checkmate());
        assert_eq!((session.progress(), session.mistakes()), ((1, 1), 1));
        session.restart();
        assert_eq!(session.show().map(moves::uci).as_deref(), Some("f5g3"));
    }

    /// What the author does not list goes on as it is proved.
    #[test]
    fn a_threat_that_is_not_listed_is_shown_as_well() {
        let mut session = session(&THREAT.replace("1... Ng3+ {Opens the file.} 2. hxg3 hxg3#", ""));
        let reply = play(&mut session, "Ng3+");
        assert_eq!(reply.judgement, Judgement::AlsoRight);
        assert_eq!(reply.shown.len(), 2);
        assert!(session.position().is_checkmate());
    }

    /// The moves in the order of their squares, whichever the author wrote first.
    #[test]
    fn a_choice_is_offered_in_an_order_that_does_not_tell() {
        let text = TWO_ROOKS.replace("\n\n", "\n[Question \"choice\"]\n\n");
        let puzzle = session(&text.replace("1. Ra8# {Down the file.}", "1. Rd8#")).puzzle;
        let offered = puzzle.offered();
        let offered: Vec<String> = offered.into_iter().map(moves::uci).collect();
        assert_eq!(offered, ["d1d7", "d1d8"]);
        assert!(session(TWO_ROOKS).puzzle.offered().is_empty());
        assert_eq!(
            puzzle.task(),
            "White to move and mate in one. Which of these moves?"
        );
        assert_eq!(
            session(ESCAPES).puzzle.task(),
            "White to move and mate in 2. Does Ra8+ do it?"
        );
    }

    /// A gain is not proved here: what was found at publishing says what is right.
    #[test]
    fn a_gain_ends_where_it_stands() {
        a_gain_of_the_queen_ends_where_it_stands("gain 9 in 2");
        // With a move left, and a reply listed.
        a_gain_of_the_queen_ends_where_it_stands("gain 9 in 3");
    }

    fn a_gain_of_the_queen_ends_where_it_stands(stipulation: &str) {
        let fork = "[FEN \"6k1/3q1p1p/8/3N4/8/8/5PPP/6K1 w - - 0 1\"]\n[Stipulation \"gain 9 in 2\"]\n\n1. Nf6+ (1. Nb6 $2 Qd1#) 1... Kg7 2. Nxd7 Kg8 *";
        let mut session = session(&fork.replace("gain 9 in 2", stipulation));
        assert!(!session.judges());
        let mut tell = |moves: &[&str], length: Option<u8>| {
            let (mut at, goal) = (session.puzzle.start().clone(), Goal::of(&session.puzzle));
            let mut line: Vec<Move> = Vec::new();
            for text in moves {
                line.push(moves::read(&at, text).expect("a legal move"));
                at.play_unchecked(line[line.len() - 1]);
            }
            let mv = *line.last().expect("a move");
            let mut before = session.puzzle.start().clone();
            for &mv in &line[..line.len() - 1] {
                before.play_unchecked(mv);
            }
            let left = (0..line.len() / 2).fold(goal, |goal, _| goal.next().expect("one left"));
            let evidence = crate::known::Evidence::Proved;
            let line = vec![mv];
            let ruling = match length {
                Some(_) => Ruling::Holds {
                    length,
                    line,
                    evidence,
                },
                None => Ruling::Fails { line, evidence },
            };
            session.known.learn_move(&before, left, mv, ruling);
        };
        tell(&["Nf6+"], Some(2));
        tell(&["Nb6"], None);
        tell(&["Nf6+", "Kg7", "Nxd7"], Some(1));
        assert!(session.judges());
        let wrong = play(&mut session, "Nb6").judgement;
        assert!(matches!(wrong, Judgement::Try { ref line } if line.len() == 2));
        let reply = play(&mut session, "Nf6+");
        assert!(matches!(reply.next, Next::Defence(_)), "{reply:?}");
        let reply = play(&mut session, "Nxd7");
        assert_eq!(
            (reply.judgement, reply.next),
            (Judgement::Right, Next::Solved)
        );
    }

    #[test]
    fn wrong_moves_are_refused_and_taken_back() {
        let mut session = session(TWO_ROOKS);
        let start = session.position().clone();
        let reply = play(&mut session, "Rd7");
        assert!(matches!(reply.judgement, Judgement::Try { ref line } if line.len() == 2));
        assert_eq!(reply.words, ["Too slow."]);
        assert_eq!(reply.next, Next::TryAgain);
        let reply = play(&mut session, "Kf1");
        assert!(matches!(reply.judgement, Judgement::Wrong { .. }));
        assert_eq!((session.position(), session.mistakes()), (&start, 2));
    }

    #[test]
    fn an_accepted_move_that_fails_is_refused_all_the_same() {
        let text =
            "[FEN \"6k1/5ppp/8/8/8/8/8/R2R2K1 w - - 0 1\"]\n[Stipulation \"#1\"]\n\n1. Rd7 *";
        assert!(matches!(
            play(&mut session(text), "Rd7").judgement,
            Judgement::Wrong { .. }
        ));
    }

    #[test]
    fn a_move_of_another_position_is_illegal() {
        let mut session = session(TWO_ROOKS);
        let foreign = moves::read(&Chess::default(), "e4").unwrap();
        assert_eq!(session.play(foreign).judgement, Judgement::Illegal);
    }

    /// King and two rooks; Black may go to either side of the corner.
    const TWO_DEFENCES: &str = "[FEN \"4k3/R7/8/8/8/8/8/1R5K w - - 0 1\"]\n[Stipulation \"#2\"]\n\n1. Rb6 Kd8 (1... Kf8 {The other way.} 2. Rb8#) 2. Rb8# *";

    #[test]
    fn each_listed_defence_is_asked_in_turn() {
        let mut session = session(TWO_DEFENCES);
        assert_eq!(session.progress(), (0, 2));
        let Next::Defence(first) = play(&mut session, "Rb6").next else {
            panic!()
        };
        assert_eq!(moves::uci(first), "e8d8");
        let reply = play(&mut session, "Rb8");
        let Next::AnotherDefence { defence, .. } = reply.next else {
            panic!("{:?}", reply.next)
        };
        assert_eq!(moves::uci(defence), "e8f8");
        assert_eq!(reply.defence_words, ["The other way."]);
        assert_eq!(session.progress(), (1, 2));
        assert_eq!(play(&mut session, "Rb8").next, Next::Solved);
        assert_eq!(session.progress(), (2, 2));
        assert!(session.solved());
    }

    #[test]
    fn a_defence_that_the_author_left_unanswered_is_asked_all_the_same() {
        let mut session = session(&TWO_DEFENCES.replace(" 2. Rb8# *", " *"));
        assert_eq!(session.progress(), (0, 2));
        assert_eq!(session.node(), Some(NodeId::ROOT));
        let Next::Defence(first) = play(&mut session, "Rb6").next else {
            panic!()
        };
        assert_eq!(moves::uci(first), "e8d8");
        let here = session.node().map(|node| session.puzzle().node(node).mv);
        assert_eq!(here, Some(first));
        let next = play(&mut session, "Rb8").next;
        assert!(matches!(next, Next::AnotherDefence { .. }), "{next:?}");
    }

    #[test]
    fn where_nothing_is_forced_a_reply_without_answer_only_shows_the_point() {
        let text = FORK_FOR_A_WIN;
        let mut session = session(text);
        for moves in [&["Nf6+"][..], &["Nf6+", "Kg7", "Nxd7"]] {
            let mut before = session.puzzle.start().clone();
            let (last, way) = moves.split_last().expect("a move");
            for text in way {
                before.play_unchecked(moves::read(&before, text).expect("a legal move"));
            }
            let mv = moves::read(&before, last).expect("a legal move");
            let ruling = Ruling::Holds {
                length: None,
                line: vec![mv],
                evidence: crate::known::Evidence::Table,
            };
            let goal = Goal::of(&session.puzzle);
            session.known.learn_move(&before, goal, mv, ruling);
        }
        let next = play(&mut session, "Nf6+").next;
        assert!(matches!(next, Next::Defence(_)), "{next:?}");
        assert_eq!(play(&mut session, "Nxd7").next, Next::Solved);
    }

    const FORK_FOR_A_WIN: &str = "[FEN \"6k1/3q1p1p/8/3N4/8/8/5PPP/6K1 w - - 0 1\"]\n[Stipulation \"+\"]\n\n1. Nf6+ Kg7 2. Nxd7 Kg8 *";

    #[test]
    fn a_refutation_that_refutes_is_shown_as_written_and_no_other() {
        let with =
            |tried: &str| TWO_DEFENCES.replace("1. Rb6 Kd8", &format!("1. Rb6 ({tried}) 1... Kd8"));
        let shown = |tried: &str, san: &str| {
            let mut session = session(&with(tried));
            match play(&mut session, san).judgement {
                Judgement::Try { line } => line.into_iter().map(moves::uci).collect::<Vec<_>>(),
                other => panic!("{other:?}"),
            }
        };
        let written = shown("1. Ra8+ $2 Kf7 2. Kg2 Ke6", "Ra8+");
        assert_eq!(written, ["a7a8", "e8f7", "h1g2", "f7e6"]);
        // After 1...Kf8 there is 2.Rb8#; the king takes the rook.
        assert_eq!(shown("1. Rd7 $2 Kf8", "Rd7"), ["a7d7", "e8d7"]);
    }

    #[test]
    fn off_the_tree_the_student_goes_on_against_the_longest_defence() {
        let mut session = session(TWO_DEFENCES);
        let reply = play(&mut session, "Rb5");
        assert_eq!(reply.judgement, Judgement::AlsoRight);
        assert!(matches!(reply.next, Next::Defence(_)));
        assert_eq!(session.node(), None);
        assert_eq!(play(&mut session, "Rb8").next, Next::Solved);
    }

    #[test]
    fn the_solution_can_be_shown_move_by_move_to_the_end() {
        let mut session = session(TWO_DEFENCES);
        let mut moves = 0;
        while let Some(mv) = session.show() {
            assert!(matches!(session.play(mv).judgement, Judgement::Right));
            moves += 1;
        }
        assert!(session.solved() && session.shown());
        assert_eq!(moves, 3);
        session.restart();
        assert!(!session.solved() && !session.shown());
    }

    #[test]
    fn the_author_may_ask_the_main_defence_only() {
        let text = format!("[Defences \"main\"]\n{TWO_DEFENCES}");
        let mut session = session(&text);
        play(&mut session, "Rb6");
        assert_eq!(play(&mut session, "Rb8").next, Next::Solved);
    }

    /// After 1.Ra7 the king's move falls to 2.Rb8#; the bishop can put itself
    /// between once more.
    const UNEVEN: &str = "[FEN \"6k1/8/7p/8/8/6P1/R2b1PK1/1R6 w - - 0 1\"]\n[Stipulation \"#3\"]\n\n1. Ra7 Kf8 (1... Bg5 2. Rb8+ Bd8 3. Rxd8#) 2. Rb8# *";

    #[test]
    fn the_author_may_ask_the_most_stubborn_defence_only() {
        let mut session = session(&format!("[Defences \"stubborn\"]\n{UNEVEN}"));
        let Next::Defence(defence) = play(&mut session, "Ra7").next else {
            panic!()
        };
        assert_eq!(moves::uci(defence), "d2g5");
        assert_eq!(session.progress(), (0, 1));
    }

    #[test]
    fn the_most_stubborn_defence_is_the_longest_to_beat_not_the_longest_written() {
        let asked = |text: &str, key: &str| {
            let mut session = session(&format!("[Defences \"stubborn\"]\n{text}"));
            match play(&mut session, key).next {
                Next::Defence(defence) => moves::uci(defence),
                other => panic!("{other:?}"),
            }
        };
        let written = UNEVEN.replace(
            "Kf8 (1... Bg5 2. Rb8+ Bd8 3. Rxd8#) 2. Rb8#",
            "Kf8 (1... Bg5 2. Rb8+) 2. Kf1 Ke8 3. Rb8#",
        );
        assert_eq!(asked(&written, "Ra7"), "d2g5");
        // As long to beat: the longer written, else the first.
        assert_eq!(asked(TWO_DEFENCES, "Rb6"), "e8d8");
        let first_is_shorter = TWO_DEFENCES.replace(" 2. Rb8# *", " *");
        assert_eq!(asked(&first_is_shorter, "Rb6"), "e8f8");
    }

    #[test]
    fn the_author_may_have_a_defence_drawn_which_the_seed_decides() {
        let drawn = |seed: u64| {
            let mut session = session(&format!("[Defences \"random\"]\n{TWO_DEFENCES}"));
            session.seed(seed);
            let Next::Defence(defence) = play(&mut session, "Rb6").next else {
                panic!()
            };
            assert_eq!(session.progress(), (0, 1));
            assert_eq!(play(&mut session, "Rb8").next, Next::Solved);
            moves::uci(defence)
        };
        let all: Vec<String> = (0..20).map(|seed| drawn(seed << 32)).collect();
        assert!(all.iter().any(|mv| mv == "e8d8") && all.iter().any(|mv| mv == "e8f8"));
        assert_eq!(drawn(7), drawn(7));
    }

    #[test]
    fn other_right_first_moves_can_be_told() {
        let mut session = session(TWO_ROOKS);
        assert!(session.also_right().is_empty());
        play(&mut session, "Rd7");
        play(&mut session, "Rd8");
        let also = session.also_right();
        assert_eq!(
            also.into_iter().map(moves::uci).collect::<Vec<_>>(),
            ["d1d8"]
        );
    }

    const SELFMATE: &str = "[FEN \"8/8/8/5Q2/8/8/6PP/2r1k2K w - - 0 1\"]\n[Stipulation \"s#2\"]\n\n1. Qf2+ Kxf2# (1... Kd1 2. Qd2+ Kxd2#) *";

    #[test]
    fn a_selfmate_ends_with_the_other_sides_mate() {
        let mut session = session(SELFMATE);
        assert_eq!(session.progress(), (0, 1));
        assert!(matches!(
            play(&mut session, "Qf3").judgement,
            Judgement::Wrong { .. }
        ));
        // The defence that mates at once leaves nothing to ask.
        let reply = play(&mut session, "Qf2+");
        assert!(matches!(reply.next, Next::Defence(mv) if mv.to() == shakmaty::Square::D1));
        assert_eq!((session.moves_left(), reply.ending), (Some(1), None));
        let shown = session.show().expect("a move");
        let reply = session.play(shown);
        assert_eq!(
            (reply.judgement, reply.next),
            (Judgement::Right, Next::Solved)
        );
        let ending = reply.ending.expect("the mating move");
        assert_eq!(ending.to(), shakmaty::Square::D2);
        assert!(session.position().is_checkmate());
    }

    #[test]
    fn a_selfmate_goes_on_off_the_tree() {
        let mut session = session(&SELFMATE.replace("Kxf2# (1... Kd1 2. Qd2+ Kxd2#)", ""));
        let reply = play(&mut session, "Qf2+");
        assert!(matches!(reply.next, Next::Defence(mv) if mv.to() == shakmaty::Square::D1));
        assert_eq!(play(&mut session, "Qd2+").next, Next::Solved);
    }

    #[test]
    fn a_selfmate_goes_on_where_only_the_reply_that_mates_at_once_is_listed() {
        let mut session = session(&SELFMATE.replace(" (1... Kd1 2. Qd2+ Kxd2#)", ""));
        let reply = play(&mut session, "Qf2+");
        assert!(matches!(reply.next, Next::Defence(mv) if mv.to() == shakmaty::Square::D1));
        assert_eq!(reply.ending, None);
    }

    #[test]
    fn of_replies_that_mate_alike_the_author_s_is_played() {
        for (listed, from) in [("Nexf2#", "e4f2"), ("Ngxf2#", "g4f2")] {
            let text = format!(
                "[FEN \"8/8/8/4ppp1/4nkn1/8/Q5PP/6RK w - - 0 1\"]\n[Stipulation \"s#1\"]\n\n1. Qf2+ {listed} *"
            );
            let reply = play(&mut session(&text), "Qf2+");
            assert_eq!(reply.judgement, Judgement::Right);
            assert_eq!(reply.ending.map(moves::uci).as_deref(), Some(from));
        }
    }

    #[test]
    fn off_the_tree_the_shortest_way_is_shown() {
        let mut session = session(TWO_DEFENCES);
        play(&mut session, "Rb5");
        let position = session.position().clone();
        let goal = session.goal();
        let mut told = |san: &str, length: u8| {
            let mv = moves::read(&position, san).expect("a legal move");
            let ruling = Ruling::Holds {
                length: Some(length),
                line: vec![mv],
                evidence: crate::known::Evidence::Proved,
            };
            session.known.learn_move(&position, goal, mv, ruling);
        };
        // As if it took longer: what is shown goes by what is known.
        told("Kg2", 4);
        told("Kg1", 2);
        told("Kh2", 3);
        assert_eq!(session.show().map(moves::uci).as_deref(), Some("h1g1"));
    }

    #[test]
    fn a_stalemate_is_judged_by_proof() {
        let text = "[FEN \"4k3/8/8/8/6R1/1K6/1P6/3Q4 w - - 0 1\"]\n[Stipulation \"==2\"]\n\n1. Rg7 (1. Rg1 $2 Kf7) 1... Kf8 2. Qd7 *";
        let mut session = session(text);
        assert!(matches!(
            play(&mut session, "Rg1").judgement,
            Judgement::Try { line } if line.len() == 2
        ));
        assert!(matches!(play(&mut session, "Rg7").next, Next::Defence(_)));
        assert!(matches!(
            play(&mut session, "Qe2").judgement,
            Judgement::Wrong { .. }
        ));
        let reply = play(&mut session, "Qd7");
        assert_eq!(
            (reply.judgement, reply.next),
            (Judgement::Right, Next::Solved)
        );
        assert!(session.position().is_stalemate());
    }

    const HELPMATE: &str = "[FEN \"8/6k1/8/6K1/6p1/7R/8/5N2 b - - 0 1\"]\n[Stipulation \"h#2\"]\n\n1... Kf8 {One way.} (1... Kg8 $1 2. Kf6 Kf8 3. Rh8#) (1... Kf7 $2 {Too near.} 2. Kf5) 2. Kf6 g3 3. Rh8# *";

    #[test]
    fn both_sides_of_a_helpmate_are_played_and_every_solution_is_asked() {
        let mut session = session(HELPMATE);
        assert_eq!(
            (session.progress(), session.moves_left()),
            ((0, 2), Some(4))
        );
        let reply = play(&mut session, "Kf8");
        assert_eq!(
            (reply.judgement, reply.next, reply.words),
            (
                Judgement::Right,
                Next::OtherSide,
                vec!["One way.".to_owned()]
            )
        );
        assert!(session.position().turn().is_white());
        assert!(matches!(
            play(&mut session, "Kg6").judgement,
            Judgement::Wrong { line } if line.len() == 1
        ));
        for san in ["Kf6", "g3"] {
            assert_eq!(play(&mut session, san).next, Next::OtherSide);
        }
        assert_eq!(play(&mut session, "Rh8").next, Next::AnotherSolution);
        assert_eq!(
            (session.progress(), session.moves_left()),
            ((1, 2), Some(4))
        );
        assert_eq!(session.position(), session.puzzle().start());
        let again = play(&mut session, "Kf8");
        assert_eq!(
            (again.judgement, again.next),
            (Judgement::Found, Next::TryAgain)
        );
        let tried = play(&mut session, "Kf7");
        assert!(matches!(tried.judgement, Judgement::Try { line } if line.len() == 1));
        assert_eq!(tried.words, ["Too near."]);
        for san in ["Kg8", "Kf6", "Kf8"] {
            assert_eq!(play(&mut session, san).judgement, Judgement::Right);
        }
        assert_eq!(play(&mut session, "Rh8").next, Next::Solved);
        assert!(session.position().is_checkmate());
        assert_eq!((session.progress(), session.mistakes()), ((2, 2), 2));
    }

    #[test]
    fn an_unlisted_helpmate_counts_for_a_listed_one() {
        let only_one = HELPMATE.replace(" (1... Kg8 $1 2. Kf6 Kf8 3. Rh8#)", "");
        let mut session = session(&only_one);
        assert_eq!(play(&mut session, "Kg8").judgement, Judgement::AlsoRight);
        for san in ["Kf6", "Kf8"] {
            assert_eq!(play(&mut session, san).next, Next::OtherSide);
        }
        assert_eq!(play(&mut session, "Rh8").next, Next::Solved);
    }

    #[test]
    fn a_helpmate_that_comes_sooner_ends_the_solution() {
        let longer = HELPMATE.replace("h#2", "h#3");
        let longer = &longer[..longer.find("1... Kf8").expect("the solution")];
        let mut session = session(&format!("{longer}1... Kg8 2. Kf6 Kf8 3. Kg6 g3 4. Rh8# *"));
        assert_eq!(play(&mut session, "Kg8").judgement, Judgement::Right);
        for san in ["Kf6", "Kf8"] {
            assert_eq!(play(&mut session, san).next, Next::OtherSide);
        }
        assert_eq!(play(&mut session, "Rh8").next, Next::Solved);
    }

    #[test]
    fn what_is_left_of_a_helpmate_counts_the_lines_of_the_solutions_not_found() {
        // The second has two lines as it is written.
        let uneven = HELPMATE.replace(
            "2. Kf6 Kf8 3. Rh8#)",
            "2. Kf6 (2. Kg6 $1 Kf8 3. Rh8#) 2... Kf8 3. Rh8#)",
        );
        let mut session = session(&uneven);
        assert_eq!(session.progress(), (0, 3));
        play(&mut session, "Kf8");
        assert_eq!(session.progress(), (0, 3));
        for san in ["Kf6", "g3", "Rh8"] {
            play(&mut session, san);
        }
        assert_eq!(session.progress(), (1, 3));
    }

    #[test]
    fn one_solution_is_enough_where_the_author_says_so() {
        let mut session = session(&format!("[Defences \"main\"]\n{HELPMATE}"));
        assert_eq!(session.progress(), (0, 1));
        for san in ["Kf8", "Kf6", "g3"] {
            assert_eq!(play(&mut session, san).next, Next::OtherSide);
        }
        assert_eq!(play(&mut session, "Rh8").next, Next::Solved);
    }

    #[test]
    fn a_helpmate_shows_each_solution_in_turn() {
        let mut session = session(HELPMATE);
        let mut shown = Vec::new();
        while let Some(mv) = session.show() {
            assert!(shown.len() < 20, "{shown:?}");
            shown.push(model::notation::moves::uci(mv));
            session.play(mv);
        }
        assert!(session.solved());
        let both = "g7f8 g5f6 g4g3 h3h8 g7g8 g5f6 g8f8 h3h8";
        assert_eq!(shown.join(" "), both);
    }
}
