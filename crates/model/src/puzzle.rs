//! A puzzle: a legal position, a stipulation, a solution tree in which every
//! move is legal and has a role, and words for the student.

use shakmaty::{Chess, Color, Move, Position};

use crate::aim::{Aim, Gain};
use crate::draft::{Draft, MoveFault, Node, NodeId, Resolution};
use crate::notation::fen::FenFault;
use crate::notation::moves::{self, side_name};
use crate::tongue::{phrase, say, tr};

/// What the solver must do.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Stipulation {
    /// `#n` and its like: reach the aim in so many moves of the solver, at most
    /// [`MOST_MOVES`]; of a helpmate, half moves.
    Forced(Aim, u8),
    /// `+`: win.
    Win,
    /// `=`: draw.
    Draw,
    /// `bm`: find the best move.
    Best,
}

/// Where a searched value counts as right, and where as wrong, in hundredths
/// of a pawn for the solver. Between the two a move is undecided. For
/// [`Stipulation::Best`] the bounds count from the best move's value down.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Margins {
    /// At least this is right.
    pub right: i32,
    /// Less than this is wrong.
    pub wrong: i32,
}

impl Margins {
    /// Reads `2.00 1.00`, the right margin first.
    pub fn read(text: &str) -> Option<Margins> {
        let mut numbers = text.split_whitespace().map(hundredths);
        let (right, wrong) = (numbers.next()??, numbers.next()??);
        let fits = right >= wrong && right.abs() <= 10_000 && wrong.abs() <= 10_000;
        (fits && numbers.next().is_none()).then_some(Margins { right, wrong })
    }
}

/// Reads a number such as `-0.5` in hundredths; further digits are dropped.
/// Without floating point, whose reader alone would take a tenth of the
/// student's page.
fn hundredths(text: &str) -> Option<i32> {
    let (sign, digits) = match text.strip_prefix('-') {
        Some(rest) => (-1, rest),
        None => (1, text.strip_prefix('+').unwrap_or(text)),
    };
    let (whole, part) = digits.split_once('.').unwrap_or((digits, ""));
    let plain = |text: &str| text.bytes().all(|b| b.is_ascii_digit());
    if whole.len() + part.len() == 0 || whole.len() > 6 || !plain(whole) || !plain(part) {
        return None;
    }
    let mut number = 0;
    let places = part.bytes().chain([b'0', b'0']).take(2);
    for digit in whole.bytes().chain(places) {
        number = number * 10 + i32::from(digit - b'0');
    }
    Some(sign * number)
}

impl Stipulation {
    /// What it asks of a side, in words: "White to move and mate in 2."
    pub fn task(self, side: Color) -> String {
        let text = match self {
            Stipulation::Forced(aim, n) => return aim.task(n, side),
            Stipulation::Win => phrase!("{side} to move and win.", "side"),
            Stipulation::Draw => phrase!("{side} to move and draw.", "side"),
            Stipulation::Best => phrase!("{side} to move. Find the best move.", "side"),
        };
        say!(text, side = side_name(side))
    }

    /// What must be proved to be reached, and in how many moves of the
    /// solver; `None` where nothing is.
    pub fn forced(self) -> Option<(Aim, u8)> {
        match self {
            Stipulation::Forced(aim, n) => Some((aim, n)),
            Stipulation::Win | Stipulation::Draw | Stipulation::Best => None,
        }
    }

    /// Whether the solver plays both sides, so that no move is a defence.
    pub fn shared(self) -> bool {
        self.forced().is_some_and(|(aim, _)| aim.shared())
    }

    /// The margins where the author sets none.
    pub fn margins(self) -> Margins {
        match self {
            Stipulation::Forced(..) | Stipulation::Win => Margins {
                right: 200,
                wrong: 100,
            },
            Stipulation::Draw => Margins {
                right: -50,
                wrong: -200,
            },
            Stipulation::Best => Margins {
                right: -20,
                wrong: -100,
            },
        }
    }

    /// Reads a stipulation as authors write it: `#2`, `mate in 2`,
    /// `s#2`, `==2`, `h#2`, `h#2.5`, `gain 9 in 2`, `+`, `=`, `bm`.
    pub fn read(text: &str) -> Option<Stipulation> {
        let text = text.trim().to_ascii_lowercase();
        match text.as_str() {
            "+" | "win" => return Some(Stipulation::Win),
            "=" | "draw" => return Some(Stipulation::Draw),
            "bm" => return Some(Stipulation::Best),
            _ => {}
        }
        if let Some((k, n)) = Gain::read(&text) {
            return Some(Stipulation::Forced(Aim::Gain(Gain::of(k)), n));
        }
        Aim::ALL.into_iter().find_map(|aim| {
            let spelt = || {
                text.strip_prefix(aim.word())?
                    .trim_start()
                    .strip_prefix("in")
            };
            let n = text.strip_prefix(aim.plain_sign()).or_else(spelt)?;
            Some(Stipulation::Forced(aim, read_count(aim, n.trim())?))
        })
    }
}

/// Reads what [`Aim::count`] writes.
fn read_count(aim: Aim, text: &str) -> Option<u8> {
    let (whole, half) = match text.strip_suffix(".5") {
        Some(whole) if aim.shared() => (whole, 1),
        _ => (text, 0),
    };
    let n = whole.parse().ok().filter(|&n: &u8| n <= MOST_MOVES)?;
    let n = if aim.shared() { 2 * n + half } else { n };
    (n > 0).then_some(n)
}

impl std::fmt::Display for Stipulation {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Stipulation::Forced(aim, n) => write!(f, "{}{}", aim.sign(), aim.count(*n)),
            Stipulation::Win => f.write_str("+"),
            Stipulation::Draw => f.write_str("="),
            Stipulation::Best => f.write_str("bm"),
        }
    }
}

/// The most moves a stipulation may claim.
pub const MOST_MOVES: u8 = 60;

/// What a move of the solution tree claims.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Role {
    /// A first move of the solver that meets the stipulation.
    Key,
    /// A later move of the solver that still meets it. In a helpmate he plays
    /// both sides.
    Continuation,
    /// A tempting move of the solver that fails.
    Try,
    /// A move of the other side, to be answered.
    Defence,
    /// The reply that makes a try fail.
    Refutation,
    /// A side move of the solver without a glyph: the author must say whether
    /// it is accepted or a try.
    Unclear,
    /// No claim: what follows a refutation or an unclear move, or in a
    /// helpmate a try.
    Aside,
}

/// A move of the solution tree.
#[derive(Clone, Debug)]
pub struct PuzzleNode {
    /// The move before it; the root for a first move.
    pub parent: NodeId,
    /// What follows, the main line first.
    pub children: Vec<NodeId>,
    /// The move, which is legal.
    pub mv: Move,
    /// The position after the move.
    pub after: Chess,
    /// What it claims.
    pub role: Role,
    /// The author's words before and after the move.
    pub before: Vec<String>,
    /// The author's words for the student.
    pub words: Vec<String>,
}

/// Which defences the student must answer.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Asked {
    /// Every defence the author listed, each in turn (the default).
    #[default]
    Each,
    /// Only the first defence listed at each turn.
    Main,
    /// Only the one listed that holds out longest by proof; of several, or where
    /// nothing is proved, the one whose written line is longest.
    Stubborn,
    /// One of those listed, drawn anew each time.
    Random,
}

impl Asked {
    /// The value of the tag `Defences`, and what the student is asked.
    pub const NAMES: [(&'static str, Asked); 4] = [
        ("each", Asked::Each),
        ("main", Asked::Main),
        ("stubborn", Asked::Stubborn),
        ("random", Asked::Random),
    ];

    /// From the value of the tag; anything unknown asks each.
    pub fn read(text: &str) -> Asked {
        let text = text.trim();
        let known = Asked::NAMES
            .iter()
            .find(|(name, _)| text.eq_ignore_ascii_case(name));
        known.map_or(Asked::Each, |(_, asked)| *asked)
    }
}

/// How a puzzle is put to the student.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Posed {
    /// Find the move (the default).
    #[default]
    Find,
    /// Choose among the first moves that are written, of which one is right.
    Choice,
    /// Say whether the first move written does what is asked.
    YesNo,
    /// Play what the side to move would carry out, the other side having passed, which is
    /// shown to be to move. In the file it is the threatening side that moves, so that
    /// whoever reads PGN can play the threat; a pass is no move of PGN's.
    Threat,
}

impl Posed {
    /// The tag that says so.
    pub const TAG: &'static str = "Question";

    /// Fewest and most moves of a choice.
    pub const MOVES: [usize; 2] = [2, 5];

    /// The values of the tag.
    pub const NAMES: [(&'static str, Posed); 4] = [
        ("move", Posed::Find),
        ("choice", Posed::Choice),
        ("yes or no", Posed::YesNo),
        ("threat", Posed::Threat),
    ];

    /// From the value of the tag; `None` if it is none of them.
    pub fn read(text: &str) -> Option<Posed> {
        let text = text.trim();
        let mut known = Posed::NAMES.iter();
        let found = known.find(|(name, _)| text.eq_ignore_ascii_case(name))?;
        Some(found.1)
    }
}

/// A legal puzzle. Made by [`crate::resolved::Resolved`].
#[derive(Clone, Debug)]
pub struct Puzzle {
    start: Chess,
    stipulation: Stipulation,
    unique: bool,
    asked: Asked,
    posed: Posed,
    first: Vec<NodeId>,
    nodes: Vec<Option<PuzzleNode>>,
    tags: Vec<(String, String)>,
    words: Vec<String>,
}

/// Why a draft is no puzzle.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum DraftFault {
    /// The start cannot be played from.
    IllegalPosition(FenFault),
    /// The tag is missing.
    MissingStipulation,
    /// The tag has this, which is no stipulation.
    UnknownStipulation(String),
    /// A move of the tree cannot be played.
    IllegalMove(NodeId, MoveFault),
}

impl Puzzle {
    /// Turns a draft into a puzzle.
    ///
    /// # Errors
    /// All faults of the draft at once.
    pub(crate) fn read(draft: &Draft, resolution: &Resolution) -> Result<Puzzle, Vec<DraftFault>> {
        let mut faults = Vec::new();
        if let Err(fault) = &resolution.start {
            faults.push(DraftFault::IllegalPosition(fault.clone()));
        }
        let stipulation = match draft.tag("Stipulation").map(str::trim) {
            None | Some("") => {
                faults.push(DraftFault::MissingStipulation);
                None
            }
            Some(text) => {
                let read = Stipulation::read(text);
                if read.is_none() {
                    faults.push(DraftFault::UnknownStipulation(text.to_owned()));
                }
                read
            }
        };
        faults.extend(
            resolution
                .faults
                .iter()
                .map(|(id, fault)| DraftFault::IllegalMove(*id, fault.clone())),
        );
        match (&resolution.start, stipulation) {
            (Ok(start), Some(stipulation)) if faults.is_empty() => {
                Ok(build(draft, resolution, start, stipulation))
            }
            _ => Err(faults),
        }
    }

    /// The position to be solved.
    pub fn start(&self) -> &Chess {
        &self.start
    }

    /// What the solver must do.
    pub fn stipulation(&self) -> Stipulation {
        self.stipulation
    }

    /// The author's margins (tag `Margins`), or the usual ones.
    pub fn margins(&self) -> Margins {
        let set = self.tag("Margins").and_then(Margins::read);
        set.unwrap_or(self.stipulation.margins())
    }

    /// The side that solves.
    pub fn solver(&self) -> Color {
        self.start.turn()
    }

    /// Whether the author asks for a single right move at every turn.
    pub fn unique(&self) -> bool {
        self.unique
    }

    /// Which defences the student must answer.
    pub fn asked(&self) -> Asked {
        self.asked
    }

    /// How it is put to the student.
    pub fn posed(&self) -> Posed {
        self.posed
    }

    /// Whether Black's side is below as a student sees it: his own. Of a threat he is the
    /// one who is threatened; who plays both sides has White's below, as problems are
    /// printed.
    pub fn black_below(&self) -> bool {
        let threatened = self.posed == Posed::Threat;
        !self.stipulation.shared() && self.solver().is_black() != threatened
    }

    /// The first moves that the student chooses from, by their squares, an order that does
    /// not tell the right one; none where any move may be played.
    pub fn offered(&self) -> Vec<Move> {
        let mut offered = Vec::new();
        if self.posed == Posed::Choice {
            for &id in &self.first {
                let mv = self.node(id).mv;
                let place = offered
                    .iter()
                    .take_while(|&&other| squares(other) < squares(mv));
                offered.insert(place.count(), mv);
            }
        }
        offered
    }

    /// The words before the first move.
    pub fn words(&self) -> &[String] {
        &self.words
    }

    /// Takes over the words that a node of its draft has now.
    pub fn reword(&mut self, id: NodeId, from: &Node) {
        if id == NodeId::ROOT {
            self.words.clone_from(&from.after);
        } else if let Some(Some(node)) = self.nodes.get_mut(id.0 as usize) {
            node.before.clone_from(&from.before);
            node.words.clone_from(&from.after);
        }
    }

    /// A tag's value, if set and not empty.
    pub fn tag(&self, name: &str) -> Option<&str> {
        let (_, value) = self.tags.iter().find(|(n, _)| n == name)?;
        Some(value.as_str()).filter(|v| !v.trim().is_empty())
    }

    /// The moves that follow a node, the main line first.
    pub fn children(&self, id: NodeId) -> &[NodeId] {
        if id == NodeId::ROOT {
            &self.first
        } else {
            &self.node(id).children
        }
    }

    /// A move of the tree. Panics for the root and for foreign ids.
    pub fn node(&self, id: NodeId) -> &PuzzleNode {
        self.nodes[id.0 as usize]
            .as_ref()
            .expect("a node of this puzzle")
    }

    /// The position at a node.
    pub fn position(&self, id: NodeId) -> &Chess {
        if id == NodeId::ROOT {
            &self.start
        } else {
            &self.node(id).after
        }
    }

    /// The child of a node that plays this move.
    pub fn child(&self, id: NodeId, mv: Move) -> Option<NodeId> {
        self.children(id)
            .iter()
            .copied()
            .find(|&c| self.node(c).mv == mv)
    }

    /// The children of a node with the given role.
    pub fn with_role(&self, id: NodeId, role: Role) -> impl Iterator<Item = NodeId> + '_ {
        self.children(id)
            .iter()
            .copied()
            .filter(move |&c| self.node(c).role == role)
    }

    /// The solver's moves at a node that the author accepts, the main one first.
    pub fn accepted(&self, id: NodeId) -> impl Iterator<Item = NodeId> + '_ {
        self.children(id)
            .iter()
            .copied()
            .filter(|&c| matches!(self.node(c).role, Role::Key | Role::Continuation))
    }

    /// The moves from the start to a node.
    pub fn path(&self, id: NodeId) -> Vec<Move> {
        let mut path = Vec::new();
        let mut at = id;
        while at != NodeId::ROOT {
            let node = self.node(at);
            path.push(node.mv);
            at = node.parent;
        }
        path.reverse();
        path
    }

    /// The task in words, the author's if given: "White to move and mate in 2."
    pub fn task(&self) -> String {
        if let Some(task) = self.tag("Task") {
            return task.to_owned();
        }
        let solver = self.solver();
        if self.posed == Posed::Threat {
            return say!(
                "{other} to move. What does {side} threaten?",
                other = side_name(!solver),
                side = side_name(solver),
            );
        }
        let mut task = self.stipulation.task(solver);
        let question = match (self.posed, self.first.first()) {
            (Posed::Choice, _) => tr("Which of these moves?").to_owned(),
            (Posed::YesNo, Some(&first)) => {
                let mv = moves::shown(&self.start, self.node(first).mv);
                say!("Does {move} do it?", move = mv)
            }
            _ => return task,
        };
        task.push(' ');
        task.push_str(&question);
        task
    }
}

/// A number for the squares of a move and what a pawn becomes.
fn squares(mv: Move) -> u32 {
    let from = mv.from().map_or(64, u32::from);
    (from << 6 | u32::from(mv.to())) << 3 | mv.promotion().map_or(0, |role| role as u32)
}

fn build(
    draft: &Draft,
    resolution: &Resolution,
    start: &Chess,
    stipulation: Stipulation,
) -> Puzzle {
    let mut puzzle = Puzzle {
        start: start.clone(),
        stipulation: match stipulation {
            Stipulation::Forced(aim, n) => Stipulation::Forced(aim.from(start), n),
            other => other,
        },
        unique: draft
            .tag("Uniqueness")
            .is_some_and(|v| v.trim().eq_ignore_ascii_case("every move")),
        asked: draft.tag("Defences").map_or(Asked::Each, Asked::read),
        posed: draft
            .tag(Posed::TAG)
            .and_then(Posed::read)
            .filter(|_| !stipulation.shared())
            .unwrap_or_default(),
        first: Vec::new(),
        nodes: vec![None; resolution.steps.len()],
        tags: draft.tags().to_vec(),
        words: Vec::new(),
    };
    if let Some(root) = draft.node(NodeId::ROOT) {
        puzzle.first = root.children.clone();
        puzzle.words = root.after.clone();
    }
    for id in draft.walk() {
        let (Some(node), Some(step)) = (draft.node(id), &resolution.steps[id.0 as usize]) else {
            continue;
        };
        let role = role(draft, &puzzle, id, node);
        puzzle.nodes[id.0 as usize] = Some(PuzzleNode {
            parent: node.parent,
            children: node.children.clone(),
            mv: step.mv,
            after: step.after.clone(),
            role,
            before: node.before.clone(),
            words: node.after.clone(),
        });
    }
    puzzle
}

/// The role of a move, given those of the moves before it.
fn role(draft: &Draft, puzzle: &Puzzle, id: NodeId, node: &Node) -> Role {
    let good = node.nags.iter().any(|nag| matches!(nag, 1 | 3 | 7 | 8));
    let poor = node.is_poor();
    let solvers = |accepted: Role| {
        let main = draft
            .node(node.parent)
            .is_some_and(|p| p.children.first() == Some(&id));
        match (main, good, poor) {
            (_, true, true) => Role::Unclear,
            (_, _, true) => Role::Try,
            (true, _, _) | (_, true, _) => accepted,
            _ => Role::Unclear,
        }
    };
    if node.parent == NodeId::ROOT {
        return solvers(Role::Key);
    }
    let parent = puzzle.node(node.parent).role;
    if puzzle.stipulation.shared() {
        return match parent {
            Role::Key | Role::Continuation => solvers(Role::Continuation),
            _ => Role::Aside,
        };
    }
    match parent {
        Role::Defence => solvers(Role::Continuation),
        Role::Key | Role::Continuation => Role::Defence,
        Role::Try if poor && !good => Role::Defence,
        Role::Try => Role::Refutation,
        Role::Refutation | Role::Unclear | Role::Aside => Role::Aside,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn stipulations_are_read_as_they_are_written() {
        for (text, read, written) in [
            ("#2", Stipulation::Forced(Aim::Mate, 2), "#2"),
            (" Mate in 3", Stipulation::Forced(Aim::Mate, 3), "#3"),
            ("S#2", Stipulation::Forced(Aim::Selfmate, 2), "s#2"),
            (
                "selfmate in 12",
                Stipulation::Forced(Aim::Selfmate, 12),
                "s#12",
            ),
            ("== 3", Stipulation::Forced(Aim::Stalemate, 3), "==3"),
            ("h#2", Stipulation::Forced(Aim::Helpmate, 4), "h#2"),
            ("H# 2.5", Stipulation::Forced(Aim::Helpmate, 5), "h#2.5"),
            (
                "helpmate in 0.5",
                Stipulation::Forced(Aim::Helpmate, 1),
                "h#0.5",
            ),
            ("=", Stipulation::Draw, "="),
        ] {
            assert_eq!(Stipulation::read(text), Some(read), "{text}");
            assert_eq!(read.to_string(), written);
        }
        for text in [
            "", "#", "h#", "h#0", "h#2.6", "h#61", "#2.5", "s#0", "s#61", "==", "==x", "===2",
            "s2", "selfmate",
        ] {
            assert_eq!(Stipulation::read(text), None, "{text}");
        }
    }

    #[test]
    fn margins_are_read_in_hundredths() {
        let read = |text| Margins::read(text).map(|m| (m.right, m.wrong));
        assert_eq!(read("2.00 1.00"), Some((200, 100)));
        assert_eq!(read("-0.5 -2"), Some((-50, -200)));
        assert_eq!(read("+.25 0.1"), Some((25, 10)));
        assert_eq!(read("100 -100"), Some((10_000, -10_000)));
        for text in [
            "",
            "2",
            "1 2",
            "1 1 1",
            "a b",
            "1. .",
            "101 1",
            "1e1 1",
            "99999999999 1",
        ] {
            assert_eq!(read(text), None, "{text}");
        }
    }
}
