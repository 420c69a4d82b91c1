//! Whether a line has made its point, so that it may stop there. Whether the
//! moves that lead there are right is left to the survey.

use shakmaty::{Chess, EnPassantMode, Move, Position, Role};

use super::{Evidence, Goal, Ruling};
use crate::exchange::{exchange_gain, worth};
use model::draft::NodeId;
use model::puzzle::Puzzle;
use model::tongue::tr;

/// What a line has reached.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Point {
    /// Whatever the other side plays now, it ends as was to be forced.
    Forced,
    /// Material by the margin, with nothing left to take or to promote.
    Material,
    /// An ending that a table knows.
    Table,
    /// A position that stood on the board before.
    Repetition,
    /// A best move needs nothing after it.
    Best,
}

impl Point {
    /// The point as the end of a sentence.
    pub fn words(self) -> &'static str {
        match self {
            Point::Forced | Point::Best => tr("nothing more is asked"),
            Point::Material => tr("there is nothing left to take or to promote"),
            Point::Table => tr("the table knows the rest"),
            Point::Repetition => tr("the position repeats"),
        }
    }
}

/// The point made by an accepted move of the tree; `goal` is what is asked of
/// the solver's next move.
pub fn made(puzzle: &Puzzle, node: NodeId, goal: Goal, ruling: Option<&Ruling>) -> Option<Point> {
    if goal.forced().is_none() && ruling.and_then(Ruling::evidence) == Some(Evidence::Table) {
        return Some(Point::Table);
    }
    if stands(goal, ruling) {
        return Some(Point::Forced);
    }
    if repeats(puzzle, node, goal) {
        return Some(Point::Repetition);
    }
    reached(puzzle.position(node), goal)
}

/// Whether a gain stands after a move, so that nothing more is asked after it.
pub fn stands(goal: Goal, ruling: Option<&Ruling>) -> bool {
    goal.stands(ruling.and_then(Ruling::length))
}

/// Whether the position at a node stood on the board before, where that is a
/// point.
pub fn repeats(puzzle: &Puzzle, node: NodeId, goal: Goal) -> bool {
    let here = puzzle.position(node);
    let mut at = node;
    while matches!(goal, Goal::Draw(_)) && at != NodeId::ROOT {
        at = puzzle.node(at).parent;
        if same(puzzle.position(at), here) {
            return true;
        }
    }
    false
}

/// How many plies of a line from `position`, the solver to move, it takes to
/// make the point: up to the solver's move that makes it, else all up to his
/// last.
pub fn plies(position: &Chess, line: &[Move], goal: Goal) -> usize {
    let all = line.len() - usize::from(line.len().is_multiple_of(2) && !line.is_empty());
    if goal.forced().is_some() {
        return line.len();
    }
    let mut at = position.clone();
    let mut seen = vec![at.clone()];
    for (i, &mv) in line[..all].iter().enumerate() {
        at.play_unchecked(mv);
        let drawn = matches!(goal, Goal::Draw(_)) && seen.iter().any(|p| same(p, &at));
        let few = at.board().occupied().count() <= 4;
        if i % 2 == 0 && (drawn || few || reached(&at, goal).is_some()) {
            return i + 1;
        }
        seen.push(at.clone());
    }
    all
}

/// Whether a line may stop at this position, the other side to move, by what
/// the board shows.
pub fn settled(position: &Chess, goal: Goal) -> bool {
    reached(position, goal).is_some()
}

/// The point that a position shows by itself, the other side to move.
fn reached(position: &Chess, goal: Goal) -> Option<Point> {
    match goal {
        Goal::Best(_) => Some(Point::Best),
        Goal::Forced(aim, _) if aim.shared() => None,
        Goal::Win(margins) | Goal::Draw(margins) => {
            quietly_ahead(position, margins.right).then_some(Point::Material)
        }
        _ => {
            let replies = position.legal_moves();
            let ended = |&reply: &Move| {
                let mut after = position.clone();
                after.play_unchecked(reply);
                goal.ended(&after)
            };
            (!replies.is_empty() && replies.iter().all(ended)).then_some(Point::Forced)
        }
    }
}

/// Whether the side that just moved is ahead in material, with no capture,
/// check or promotion that would change it.
fn quietly_ahead(position: &Chess, ahead: i32) -> bool {
    let board = position.board();
    let count = |side| -> i32 {
        let men = board.by_color(side).into_iter();
        men.filter_map(|s| board.role_at(s))
            .filter(|role| *role != Role::King)
            .map(worth)
            .sum()
    };
    let lead = count(!position.turn()) - count(position.turn());
    let loud = |mv: Move| mv.is_promotion() || mv.is_capture() && exchange_gain(board, mv) > 0;
    lead >= ahead && !position.is_check() && !position.legal_moves().into_iter().any(loud)
}

/// The same men on the same squares, the same side to move, the same rights.
fn same(a: &Chess, b: &Chess) -> bool {
    a.board() == b.board()
        && a.turn() == b.turn()
        && a.castles().castling_rights() == b.castles().castling_rights()
        && a.ep_square(EnPassantMode::Legal) == b.ep_square(EnPassantMode::Legal)
}
