//! A line with all its positions, and what the definitions ask of it.

use shakmaty::{Bitboard, Board, Chess, Color, Move, Position, Role, Square, attacks};

use super::{Reason, ReasonKind};
use check::Goal;
use check::exchange::worth;
use model::notation::moves;
use model::tongue::say;

pub struct Scene {
    /// The positions before each move, and after the last.
    positions: Vec<Chess>,
    line: Vec<Move>,
    facts: Vec<Facts>,
    pub solver: Color,
}

/// What is known of a solver's move beyond the board and the line.
#[derive(Clone, Default)]
pub struct Facts {
    /// Every other legal move is known to fail.
    pub only: bool,
    /// What the solver is asked next, if the other side, could it pass, would
    /// prevent it.
    pub pass: Option<Goal>,
    /// A man of the solver's that may be taken, and cannot be taken.
    pub immune: Option<Immune>,
    /// The solver's next move played at once, and what refutes it, if it fails then.
    pub too_soon: Option<Vec<Move>>,
    /// First moves of what the solver threatens after his move.
    pub threatened: Vec<Move>,
    /// What the other side threatened first of all, if the solver's move parries it.
    pub parried: Option<Parried>,
}

/// A threat that the solver's move parries.
#[derive(Clone, Debug)]
pub struct Parried {
    /// The first move of the threat.
    pub mv: Move,
    /// As it is shown, with its number.
    pub shown: String,
}

/// A man that cannot be taken: the capture that comes first, and what follows.
#[derive(Clone, Debug)]
pub struct Immune {
    pub square: Square,
    pub line: Vec<Move>,
}

impl Scene {
    pub fn new(position: &Chess, line: &[Move]) -> Scene {
        let mut positions = vec![position.clone()];
        let mut played = Vec::new();
        for &mv in line {
            let mut next = positions[positions.len() - 1].clone();
            if !next.is_legal(mv) {
                break;
            }
            next.play_unchecked(mv);
            positions.push(next);
            played.push(mv);
        }
        Scene {
            solver: position.turn(),
            positions,
            facts: vec![Facts::default(); played.len().div_ceil(2)],
            line: played,
        }
    }

    pub fn solver_moves(&self) -> usize {
        self.line.len().div_ceil(2)
    }

    /// Takes in what is known of the solver's move number `at`.
    pub fn know(&mut self, at: usize, facts: Facts) {
        self.facts[at] = facts;
    }

    pub fn facts(&self, at: usize) -> &Facts {
        &self.facts[at]
    }

    /// The solver's move number `at`.
    pub fn mv(&self, at: usize) -> Move {
        self.line[2 * at]
    }

    /// The reply to it in the line.
    pub fn reply(&self, at: usize) -> Option<Move> {
        self.line.get(2 * at + 1).copied()
    }

    /// The solver's next move in the line.
    pub fn next(&self, at: usize) -> Option<Move> {
        self.line.get(2 * at + 2).copied()
    }

    /// The solver's moves after number `at`.
    pub fn later(&self, at: usize) -> impl Iterator<Item = Move> + '_ {
        self.line.iter().copied().skip(2 * at + 2).step_by(2)
    }

    /// All moves after the solver's number `at`.
    pub fn rest(&self, at: usize) -> impl Iterator<Item = Move> + '_ {
        self.line.iter().copied().skip(2 * at + 1)
    }

    /// The position before the solver's move.
    pub fn before(&self, at: usize) -> &Chess {
        &self.positions[2 * at]
    }

    /// The position after the solver's move.
    pub fn after(&self, at: usize) -> &Chess {
        &self.positions[2 * at + 1]
    }

    /// The position after the reply, if there is one.
    pub fn after_reply(&self, at: usize) -> Option<&Chess> {
        self.positions.get(2 * at + 2)
    }

    /// The position after the solver's next move.
    pub fn after_next(&self, at: usize) -> Option<&Chess> {
        self.positions.get(2 * at + 3)
    }

    pub fn last(&self) -> &Chess {
        &self.positions[self.positions.len() - 1]
    }

    /// The square on which the solver's moved man stands after the move (the
    /// king's, when castling).
    pub fn landing(&self, at: usize) -> Square {
        landing(self.mv(at), self.solver)
    }

    /// The solver's move as it is shown, with its number: "2.Nf7#".
    pub fn san(&self, at: usize) -> String {
        let number = u32::from(self.before(at).fullmoves());
        moves::line(self.before(at), &[self.mv(at)], number)
    }

    pub fn reason(
        &self,
        kind: ReasonKind,
        at: usize,
        sentence: String,
        squares: Vec<Square>,
        arrows: Vec<(Square, Square)>,
    ) -> Reason {
        Reason {
            kind,
            at,
            sentence,
            squares,
            arrows,
        }
    }

    /// Whether the solver's move after the reply mates, or takes a piece that nobody guards.
    pub fn next_pays(&self, at: usize) -> bool {
        let (Some(next), Some(last)) = (self.next(at), self.after_next(at)) else {
            return false;
        };
        let piece = next
            .capture()
            .is_some_and(|r| worth(r) >= worth(Role::Knight));
        last.is_checkmate() || piece && !guarded(last.board(), next.to(), !self.solver)
    }

    /// Whether the solver's move after the reply mates.
    pub fn next_mates(&self, at: usize) -> bool {
        self.after_next(at).is_some_and(|p| p.is_checkmate())
    }
}

pub fn landing(mv: Move, side: Color) -> Square {
    match mv.castling_side() {
        Some(castling) => castling.king_to(side),
        None => mv.to(),
    }
}

/// "a", "a and b", "a, b and c".
pub fn joined(parts: &[String]) -> String {
    match parts {
        [] => String::new(),
        [one] => one.clone(),
        [rest @ .., last] => say!("{list} and {last}", list = rest.join(", "), last = last),
    }
}

/// Whether a side's man guards a square.
pub fn guards(board: &Board, from: Square, target: Square) -> bool {
    board.attacks_from(from).contains(target)
}

pub fn guarded(board: &Board, square: Square, by: Color) -> bool {
    board.attacks_to(square, by, board.occupied()).any()
}

pub fn is_slider(role: Role) -> bool {
    matches!(role, Role::Bishop | Role::Rook | Role::Queen)
}

/// Whether a man on `square` is a target for an attacker: the king, a man
/// worth more than the attacker, or one that nobody guards.
pub fn is_target(board: &Board, attacker: Square, square: Square) -> bool {
    let (Some(hunter), Some(prey)) = (board.piece_at(attacker), board.piece_at(square)) else {
        return false;
    };
    hunter.color != prey.color
        && (prey.role == Role::King
            || worth(prey.role) > worth(hunter.role)
            || prey.role != Role::Pawn && !guarded(board, square, prey.color))
}

/// The first man a slider of that kind meets from a square in each direction,
/// with the one behind it: `(front, behind)`.
pub fn rays(board: &Board, from: Square) -> Vec<(Square, Option<Square>)> {
    let Some(piece) = board.piece_at(from).filter(|p| is_slider(p.role)) else {
        return Vec::new();
    };
    let occupied = board.occupied();
    (attacks::attacks(from, piece, occupied) & occupied)
        .into_iter()
        .map(|front| {
            let lifted = occupied ^ Bitboard::from_square(front);
            let behind =
                (attacks::attacks(from, piece, lifted) & lifted & attacks::ray(from, front))
                    .into_iter()
                    .find(|&s| attacks::between(from, s).contains(front));
            (front, behind)
        })
        .collect()
}

/// With a capital at the start of a sentence.
pub fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars
        .next()
        .map_or(String::new(), |c| c.to_uppercase().chain(chars).collect())
}
