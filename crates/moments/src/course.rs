//! The main line of a game, ply by ply.

use shakmaty::{Chess, Move};

use super::offer::daring;
use model::draft::{Draft, NodeId};
use model::notation::{fen, fen::FenFault, moves};
use model::tongue::Speech;

/// A move of the main line and the position before it.
#[derive(Clone, Debug)]
pub struct Ply {
    /// The node of the draft at which the move was played.
    pub at: NodeId,
    /// The node of the move itself.
    pub node: NodeId,
    /// The position before it.
    pub before: Chess,
    /// The move.
    pub played: Move,
    /// Whether it is one that annotators praise if it is right.
    pub daring: bool,
}

/// The main line of a game, up to its end or to the first move that is not
/// legal.
#[derive(Clone, Debug)]
pub struct Course {
    /// The half moves of the game's own line.
    pub plies: Vec<Ply>,
    /// The first move of the main line that cannot be played, if there is one.
    pub stops_at: Option<NodeId>,
    /// Whether it starts from the initial position, so that it has an opening.
    pub from_the_start: bool,
    /// How the game's students are spoken to.
    pub speech: Speech,
    last: Chess,
}

impl Course {
    /// Leaves all but the first plies out.
    pub fn shorten(&mut self, plies: usize) {
        if plies < self.plies.len() {
            self.last = self.plies[plies].before.clone();
            self.plies.truncate(plies);
            self.stops_at = None;
        }
    }

    /// The main line of a draft.
    ///
    /// # Errors
    /// What is wrong with the start position.
    pub fn of(draft: &Draft) -> Result<Course, FenFault> {
        let resolution = draft.resolve();
        let start = resolution.start.clone()?;
        let mut course = Course {
            plies: Vec::new(),
            stops_at: None,
            from_the_start: start == Chess::default(),
            speech: Speech::of(|name| draft.tag(name)),
            last: start,
        };
        let mut at = NodeId::ROOT;
        while let Some(&node) = draft.node(at).and_then(|n| n.children.first()) {
            let Some(step) = resolution.steps[node.0 as usize].as_ref() else {
                course.stops_at = Some(node);
                break;
            };
            course.plies.push(Ply {
                at,
                node,
                before: course.last.clone(),
                played: step.mv,
                daring: daring(&course.last, step.mv),
            });
            course.last = step.after.clone();
            at = node;
        }
        Ok(course)
    }

    /// The position before a ply; after the last move for the ply behind it.
    pub fn position(&self, ply: usize) -> &Chess {
        self.plies.get(ply).map_or(&self.last, |ply| &ply.before)
    }

    /// The start and the moves in one line of text: what tells one course from
    /// another.
    pub fn text(&self) -> String {
        let mut text = fen::write(self.position(0));
        for ply in &self.plies {
            text.push(' ');
            text.push_str(&moves::uci(ply.played));
        }
        text
    }
}
