//! The student's way through a lesson, as a plain state machine.
//!
//! It knows where the student is and what he may see: nothing beyond a moment
//! that is still to be answered. The puzzle at a moment is left to
//! [`crate::session`].

use model::draft::NodeId;
use model::lesson::{Moment, MomentFault, moments};
use model::notation::moves;
use model::resolved::Resolved;
use shakmaty::{Chess, Color, Move, Position};

/// A student's way through one game.
pub struct Walk {
    start: Chess,
    words: Vec<String>,
    first: Vec<NodeId>,
    nodes: Vec<Option<Leaf>>,
    moments: Vec<Moment>,
    /// By moment: whether it is answered.
    answered: Vec<bool>,
    at: NodeId,
}

struct Leaf {
    parent: NodeId,
    children: Vec<NodeId>,
    mv: Move,
    after: Chess,
    /// The move as it is shown, with the marks of its glyphs.
    text: String,
    before: Vec<String>,
    words: Vec<String>,
}

/// What comes of a step forward.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Step {
    /// The game or a line of it has been stepped through.
    Moved,
    /// This moment must be answered first.
    Asked(usize),
    /// The line is at its end.
    End,
}

/// A piece of the lesson's text, as far as it may be seen.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Piece {
    /// The author's words.
    Words(String),
    /// A move, with its number where one is due: `12.Nf3!`, `Kf8`.
    Move {
        /// The move.
        node: NodeId,
        /// The move as it is shown.
        text: String,
    },
    /// A side line begins, with this move.
    Opens(NodeId),
    /// A side line ends.
    Closes,
    /// The student is, or was, asked here.
    Moment(usize),
}

impl Walk {
    /// At the start of a game. Moves that cannot be played are left out, with
    /// what follows them.
    ///
    /// # Errors
    /// What is wrong with the lesson's moments; nothing, if the start position
    /// is no position.
    pub fn new(resolved: &Resolved) -> Result<Walk, Vec<MomentFault>> {
        let (draft, resolution) = (resolved.draft(), resolved.resolution());
        let Ok(start) = resolution.start.clone() else {
            return Err(Vec::new());
        };
        let moments = moments(resolved)?;
        let legal = |ids: &[NodeId]| -> Vec<NodeId> {
            let legal = ids.iter().copied();
            legal
                .filter(|&id| resolution.position(id).is_some())
                .collect()
        };
        let mut nodes: Vec<Option<Leaf>> = resolution.steps.iter().map(|_| None).collect();
        for (id, step) in resolution.steps.iter().enumerate() {
            let (Some(step), Some(node)) = (step, draft.node(NodeId(id as u32))) else {
                continue;
            };
            let Some(before) = resolution.position(node.parent) else {
                continue;
            };
            let mut text = moves::shown(before, step.mv);
            for &nag in &node.nags {
                text.push_str(mark(nag));
            }
            nodes[id] = Some(Leaf {
                parent: node.parent,
                children: legal(&node.children),
                mv: step.mv,
                after: step.after.clone(),
                text,
                before: node.before.clone(),
                words: node.after.clone(),
            });
        }
        let root = draft.node(NodeId::ROOT);
        Ok(Walk {
            start,
            words: root.map_or(Vec::new(), |root| root.after.clone()),
            first: root.map_or(Vec::new(), |root| legal(&root.children)),
            nodes,
            answered: vec![false; moments.len()],
            moments,
            at: NodeId::ROOT,
        })
    }

    /// The moments at which the lesson asks.
    pub fn moments(&self) -> &[Moment] {
        &self.moments
    }

    /// Where the student is.
    pub fn at(&self) -> NodeId {
        self.at
    }

    /// The position on the board.
    pub fn position(&self) -> &Chess {
        self.leaf(self.at).map_or(&self.start, |leaf| &leaf.after)
    }

    /// The move that led to it.
    pub fn last(&self) -> Option<Move> {
        self.leaf(self.at).map(|leaf| leaf.mv)
    }

    /// The author's words at this place.
    pub fn words(&self) -> &[String] {
        self.leaf(self.at).map_or(&self.words, |leaf| &leaf.words)
    }

    /// The moment that is to be answered here.
    pub fn asked(&self) -> Option<usize> {
        self.asked_at(self.at)
    }

    /// Whether a moment is answered.
    pub fn answered(&self, moment: usize) -> bool {
        self.answered.get(moment) == Some(&true)
    }

    /// Marks a moment as answered, so that the lesson goes on.
    pub fn answer(&mut self, moment: usize) {
        if let Some(answered) = self.answered.get_mut(moment) {
            *answered = true;
        }
    }

    /// Asks at a moment once more.
    pub fn ask(&mut self, moment: usize) {
        if let Some(answered) = self.answered.get_mut(moment) {
            *answered = false;
            self.at = self.moments[moment].node;
        }
    }

    /// One move on, along the line the student is in.
    pub fn forward(&mut self) -> Step {
        if let Some(moment) = self.asked() {
            return Step::Asked(moment);
        }
        match self.children(self.at).first() {
            Some(&next) => {
                self.at = next;
                Step::Moved
            }
            None => Step::End,
        }
    }

    /// Whether the line has a move more, seen or not.
    pub fn goes_on(&self) -> bool {
        !self.children(self.at).is_empty()
    }

    /// One move back; `false` at the start.
    pub fn back(&mut self) -> bool {
        match self.leaf(self.at) {
            Some(leaf) => {
                self.at = leaf.parent;
                true
            }
            None => false,
        }
    }

    /// To a place that may be seen; `false` if it may not.
    pub fn go(&mut self, node: NodeId) -> bool {
        let seen = self.sees(node);
        if seen {
            self.at = node;
        }
        seen
    }

    /// On along the line with this move; `false` if no line that may be seen
    /// has it.
    pub fn play(&mut self, mv: Move) -> bool {
        let children = self.children(self.at).iter();
        let next = children
            .copied()
            .find(|&child| self.leaf(child).is_some_and(|leaf| leaf.mv == mv));
        next.is_some_and(|next| self.go(next))
    }

    /// The first moves of the side lines that the student is in, the innermost
    /// first; none on the main line.
    pub fn sides(&self) -> Vec<NodeId> {
        let mut sides = Vec::new();
        let mut here = self.at;
        while let Some(leaf) = self.leaf(here) {
            if self.children(leaf.parent).first() != Some(&here) {
                sides.push(here);
            }
            here = leaf.parent;
        }
        sides
    }

    /// Back to the move of the main line beside which the student's side line
    /// began; `false` on the main line.
    pub fn leave(&mut self) -> bool {
        let Some(&outermost) = self.sides().last() else {
            return false;
        };
        let parent = self.leaf(outermost).map(|leaf| leaf.parent);
        let beside = parent.and_then(|parent| self.children(parent).first().copied());
        beside.is_some_and(|beside| self.go(beside))
    }

    /// Whether a place may be seen: no moment before it waits for its answer.
    pub fn sees(&self, node: NodeId) -> bool {
        if node != NodeId::ROOT && self.leaf(node).is_none() {
            return false;
        }
        let mut here = node;
        while let Some(leaf) = self.leaf(here) {
            here = leaf.parent;
            if self.asked_at(here).is_some() {
                return false;
            }
        }
        true
    }

    /// The text of the lesson, as far as it may be seen, in reading order.
    pub fn pieces(&self) -> Vec<Piece> {
        let mut pieces: Vec<Piece> = self.words.iter().cloned().map(Piece::Words).collect();
        let mut todo = vec![Todo::After(NodeId::ROOT)];
        while let Some(next) = todo.pop() {
            match next {
                Todo::After(node) => {
                    if let Some(moment) = self.moments.iter().position(|m| m.node == node) {
                        pieces.push(Piece::Moment(moment));
                    }
                    if self.asked_at(node).is_some() {
                        continue;
                    }
                    let Some((&main, sides)) = self.children(node).split_first() else {
                        continue;
                    };
                    self.add(main, &mut pieces);
                    todo.push(Todo::After(main));
                    for &side in sides.iter().rev() {
                        todo.extend([Todo::Close, Todo::Side(side)]);
                    }
                }
                Todo::Side(node) => {
                    pieces.push(Piece::Opens(node));
                    self.add(node, &mut pieces);
                    todo.push(Todo::After(node));
                }
                Todo::Close => pieces.push(Piece::Closes),
            }
        }
        pieces
    }

    /// A move with the words around it.
    fn add(&self, node: NodeId, pieces: &mut Vec<Piece>) {
        let Some(leaf) = self.leaf(node) else { return };
        pieces.extend(leaf.before.iter().cloned().map(Piece::Words));
        let before = self.leaf(leaf.parent).map_or(&self.start, |l| &l.after);
        let number = before.fullmoves().get().to_string();
        let text = match (before.turn(), pieces.last()) {
            (Color::White, _) => [&number, ".", &leaf.text].concat(),
            (Color::Black, Some(Piece::Move { .. })) => leaf.text.clone(),
            (Color::Black, _) => [&number, "...", &leaf.text].concat(),
        };
        pieces.push(Piece::Move { node, text });
        pieces.extend(leaf.words.iter().cloned().map(Piece::Words));
    }

    fn asked_at(&self, node: NodeId) -> Option<usize> {
        let at = self.moments.iter().position(|m| m.node == node)?;
        (!self.answered[at]).then_some(at)
    }

    fn leaf(&self, node: NodeId) -> Option<&Leaf> {
        self.nodes.get(node.0 as usize)?.as_ref()
    }

    fn children(&self, node: NodeId) -> &[NodeId] {
        self.leaf(node).map_or(&self.first, |leaf| &leaf.children)
    }
}

enum Todo {
    After(NodeId),
    Side(NodeId),
    Close,
}

/// The printed mark of a glyph: the six of the PGN standard for moves, and the
/// usual signs for positions (common practice, no source).
fn mark(nag: u8) -> &'static str {
    match nag {
        1 => "!",
        2 => "?",
        3 => "!!",
        4 => "??",
        5 => "!?",
        6 => "?!",
        10..=12 => " =",
        13 => " ∞",
        14 => " ⩲",
        15 => " ⩱",
        16 => " ±",
        17 => " ∓",
        18 | 20 => " +−",
        19 | 21 => " −+",
        _ => "",
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use model::pgn_read;

    const GAME: &str = "[Moments \"2w bm, 3b =\"]\n\n{Hello.} 1. e4 e5 {Usual.} (1... c5 $5 2. Nf3 (2. c3 d5)) 2. Nf3 $1 (2. f4 exf4) 2... Nc6 3. Bb5 a6 *";

    fn walk() -> Walk {
        let draft = pgn_read::read(GAME).remove(0).draft;
        Walk::new(&Resolved::of(&draft)).unwrap()
    }

    fn text(walk: &Walk) -> String {
        let pieces = walk.pieces().into_iter().map(|piece| match piece {
            Piece::Words(words) => format!("{{{words}}}"),
            Piece::Move { text, .. } => text,
            Piece::Opens(_) => "(".into(),
            Piece::Closes => ")".into(),
            Piece::Moment(i) => format!("<{i}>"),
        });
        pieces.collect::<Vec<_>>().join(" ")
    }

    fn all(walk: &mut Walk) -> usize {
        std::iter::from_fn(|| (walk.forward() == Step::Moved).then_some(())).count()
    }

    #[test]
    fn the_lesson_waits_at_a_moment_and_hides_what_follows() {
        let mut walk = walk();
        let opening = "{Hello.} 1.e4 e5 {Usual.} ( 1...c5!? 2.Nf3 ( 2.c3 d5 ) ) <0>";
        assert_eq!(text(&walk), opening);
        assert_eq!(all(&mut walk), 2);
        assert_eq!((walk.forward(), walk.asked()), (Step::Asked(0), Some(0)));
        assert_eq!(walk.words(), ["Usual."]);
        walk.answer(0);
        assert_eq!(all(&mut walk), 3);
        assert_eq!(walk.asked(), Some(1));
        assert_eq!(
            text(&walk),
            format!("{opening} 2.Nf3! ( 2.f4 exf4 ) 2...Nc6 3.Bb5 <1>")
        );
        walk.answer(1);
        assert_eq!((all(&mut walk), walk.forward()), (1, Step::End));
    }

    #[test]
    fn where_the_student_is_and_what_is_answered_is_told() {
        let mut walk = walk();
        assert_eq!(walk.moments().len(), 2);
        assert_eq!((walk.at(), walk.goes_on()), (NodeId::ROOT, true));
        all(&mut walk);
        assert_eq!(walk.at(), walk.moments()[0].node);
        assert!(walk.goes_on());
        walk.answer(0);
        let answered = |walk: &Walk| [0, 1, 2].map(|moment| walk.answered(moment));
        assert_eq!(answered(&walk), [true, false, false]);
        all(&mut walk);
        walk.answer(1);
        assert_eq!(answered(&walk), [true, true, false]);
        all(&mut walk);
        assert!(!walk.goes_on());
    }

    /// The numbers are those of the PGN standard of 1994, section 10 (numeric annotation
    /// glyphs), from memory; the signs are common practice, no source.
    #[test]
    fn glyphs_are_printed_as_their_signs() {
        let printed = [1, 2, 3, 4, 5, 6].map(mark);
        assert_eq!(printed, ["!", "?", "!!", "??", "!?", "?!"]);
        let printed = [10, 11, 12, 13, 14, 15, 16, 17, 18, 19, 20, 21].map(mark);
        let equal = " =";
        assert_eq!(
            printed,
            [
                equal, equal, equal, " ∞", " ⩲", " ⩱", " ±", " ∓", " +−", " −+", " +−", " −+"
            ]
        );
        assert_eq!([0, 7, 9, 22, 255].map(mark), [""; 5]);
    }

    #[test]
    fn nothing_beyond_an_open_moment_can_be_reached() {
        let mut walk = walk();
        let hidden = walk.nodes.iter().enumerate().filter_map(|(id, leaf)| {
            let text = &leaf.as_ref()?.text;
            ["Nf3!", "f4", "exf4", "Nc6", "a6"]
                .contains(&text.as_str())
                .then_some(NodeId(id as u32))
        });
        let hidden: Vec<NodeId> = hidden.collect();
        assert_eq!(hidden.len(), 5);
        assert!(hidden.iter().all(|&node| !walk.go(node)));
        assert_eq!(walk.at(), NodeId::ROOT);
        assert!(!walk.go(NodeId(999)));
        walk.answer(0);
        assert!(walk.go(hidden[0]));
    }

    #[test]
    fn a_side_line_is_entered_and_left() {
        let mut walk = walk();
        let opened: Vec<NodeId> = walk
            .pieces()
            .into_iter()
            .filter_map(|piece| match piece {
                Piece::Opens(node) => Some(node),
                _ => None,
            })
            .collect();
        assert!(walk.go(opened[1]));
        all(&mut walk);
        assert_eq!(walk.sides(), [opened[1], opened[0]]);
        assert!(walk.leave());
        assert!(walk.sides().is_empty() && !walk.leave());
        assert_eq!(walk.last().map(|mv| mv.to()), Some(shakmaty::Square::E5));
        while walk.back() {}
        assert_eq!(walk.at(), NodeId::ROOT);
    }

    #[test]
    fn a_move_of_the_lesson_is_followed_and_no_other() {
        let mut walk = walk();
        let played = |walk: &Walk, text: &str| moves::read(walk.position(), text).unwrap();
        let other = played(&walk, "d4");
        assert!(!walk.play(other));
        let first = played(&walk, "e4");
        assert!(walk.play(first));
        let side = played(&walk, "c5");
        assert!(walk.play(side) && walk.sides().len() == 1);
        walk.leave();
        let hidden = played(&walk, "Nf3");
        assert!(!walk.play(hidden));
    }
}
