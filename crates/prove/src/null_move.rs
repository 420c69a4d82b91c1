//! Two moves before the end most moves change nothing near the king: one
//! reply refutes them all. This module tells which, without playing them.
//!
//! For a reply `r` take the position with `r` played and the solver's move
//! left out, a null move. It is quiet if no move there could mate even if every man of the
//! solver were out of the others' way: every possible check leaves a flight
//! that nothing covers. A solver's move that neither opens a line to the king
//! nor brings its man near enough to check or to cover such a flight keeps it
//! quiet, so `r` refutes that move. Everything is decided on the safe side: a
//! move is only ever passed on to the search too often.

use shakmaty::attacks::{
    between, bishop_attacks, king_attacks, knight_attacks, pawn_attacks, queen_attacks,
    rook_attacks,
};
use shakmaty::{Bitboard, CastlingSide, Rank, Role, Square};

use super::bitboards::{Bitboards, back_rank, square};
use super::generate::{double_rank, forward};
use super::step::{Kind, Step};

/// What a solver's move must keep off for the reply to refute it.
pub(super) struct NullMoveRefutation {
    /// Men of the defence after the reply: the only blockers counted.
    walls: Bitboard,
    /// The king and its flights that nothing covers.
    zone: Bitboard,
    /// Squares whose leaving may let the reply fail.
    keep: Bitboard,
    /// Squares whose taking may let the reply fail.
    avoid: Bitboard,
    /// Squares from which a man of this role would check and cover all
    /// flights: bishop, rook, queen, knight, pawn.
    goals: Goals,
    board: Bitboards,
}

struct Goals {
    pawn: Bitboard,
    knight: Bitboard,
    bishop: Bitboard,
    rook: Bitboard,
    queen: Bitboard,
}

impl Bitboards {
    /// The solver to move and not in check: a reply among
    /// `replies` that refutes its null move and leaves the position quiet.
    pub fn null_move_refutation(&self, replies: &[Step]) -> Option<NullMoveRefutation> {
        let passed = self.passed();
        let constraints = passed.constraints();
        replies
            .iter()
            .filter(|&&reply| passed.takes_over(&constraints, reply))
            .find_map(|&reply| passed.play(reply).refuted_by(reply))
    }

    /// The solver to move, who has passed before `reply`.
    fn refuted_by(self, reply: Step) -> Option<NullMoveRefutation> {
        let board = self;
        if board.ep().is_some() {
            return None;
        }
        let us = board.us();
        let walls = board.them();
        let king = board.king(!board.turn());
        let occupied = board.occupied();
        let straight = rook_attacks(king, occupied);
        let diagonal = bishop_attacks(king, occupied);
        let king_bit = Bitboard::from(king);

        // A line piece that only the solver's own men keep from the king, or castling.
        if (rook_attacks(king, walls) & us & board.straight()).any()
            || (bishop_attacks(king, walls) & us & board.diagonal()).any()
            || board.castling_checks(straight)
        {
            return None;
        }

        let pawns = board.by(Role::Pawn) & us;
        let mut covered = king_attacks(board.king(board.turn()));
        let mut reach = [Bitboard::EMPTY; 4];
        for from in board.by(Role::Knight) & us {
            reach[0] |= knight_attacks(from);
        }
        for from in board.by(Role::Bishop) & us {
            reach[1] |= bishop_attacks(from, walls);
        }
        for from in board.by(Role::Rook) & us {
            reach[2] |= rook_attacks(from, walls);
        }
        for from in board.by(Role::Queen) & us {
            reach[3] |= queen_attacks(from, walls);
        }
        for from in pawns {
            covered |= pawn_attacks(board.turn(), from);
        }
        for reach in reach {
            covered |= reach;
        }
        let flights = king_attacks(king) & !walls & !covered;

        let open_walls = walls ^ king_bit;
        let goals = Goals {
            pawn: pawn_attacks(!board.turn(), king)
                .into_iter()
                .filter(|&to| (flights & !pawn_attacks(board.turn(), to)).is_empty())
                .collect(),
            knight: good(knight_attacks(king), flights, knight_attacks),
            bishop: good(diagonal, flights, |to| bishop_attacks(to, open_walls)),
            rook: good(straight, flights, |to| rook_attacks(to, open_walls)),
            queen: good(straight | diagonal, flights, |to| {
                queen_attacks(to, open_walls)
            }),
        };
        let mates = reach[0] & goals.knight
            | reach[1] & goals.bishop
            | reach[2] & goals.rook
            | reach[3] & goals.queen;
        if mates.any() || board.pawns_reach(pawns, walls, king_bit, flights, goals.pawn) {
            return None;
        }
        let (from, to) = (reply.from(), reply.to());
        let mut avoid = between(from, to).with(from).with(to);
        if reply.kind() == Kind::Double {
            // A pawn that comes there could take the replying one away.
            avoid |= pawn_attacks(!board.turn(), square(between(from, to)));
        }
        Some(NullMoveRefutation {
            walls,
            zone: king_bit | flights,
            keep: straight | diagonal | Bitboard::from(to),
            avoid,
            goals,
            board,
        })
    }

    /// Whether castling could give check along the lines from the king.
    fn castling_checks(&self, straight: Bitboard) -> bool {
        (self.castling() & back_rank(self.turn()) & self.us()).any()
            && CastlingSide::ALL
                .into_iter()
                .any(|side| straight.contains(side.rook_to(self.turn())))
    }

    /// Whether a pawn, were the solver's men out of its way, could check and
    /// cover all flights.
    fn pawns_reach(
        &self,
        pawns: Bitboard,
        walls: Bitboard,
        king: Bitboard,
        flights: Bitboard,
        goals: Bitboard,
    ) -> bool {
        let delta = forward(self.turn());
        let single = pawns.shift(delta) & !walls;
        let double = single.shift(delta) & !walls & double_rank(self.turn());
        if ((single | double) & goals).any() {
            return true;
        }
        let takes = |to| (pawn_attacks(!self.turn(), to) & pawns).any();
        if (goals & walls).into_iter().any(takes) {
            return true;
        }
        let last = back_rank(!self.turn());
        let promotes = |to| {
            let queen = queen_attacks(to, walls ^ king);
            let needed = flights | king;
            (needed & !queen).is_empty() || (needed & !knight_attacks(to)).is_empty()
        };
        (single & last).into_iter().any(promotes)
            || (last & walls)
                .into_iter()
                .any(|to| takes(to) && promotes(to))
    }
}

impl NullMoveRefutation {
    /// Whether the solver's legal `step` keeps the position quiet, so that the reply
    /// refutes it.
    #[inline]
    pub fn refutes(&self, step: Step) -> bool {
        let (from, to) = (step.from(), step.to());
        if self.keep.contains(from) || self.avoid.contains(to) || step.is_promotion() {
            return false;
        }
        // A man that takes and moves on leaves a line open.
        if self.walls.contains(to) && (queen_attacks(to, self.walls) & self.zone).any() {
            return false;
        }
        let (attacks, goals) = match step.role() {
            Role::Knight => (knight_attacks(to), self.goals.knight),
            Role::Bishop => (bishop_attacks(to, self.walls), self.goals.bishop),
            Role::Rook => (rook_attacks(to, self.walls), self.goals.rook),
            Role::Queen => (queen_attacks(to, self.walls), self.goals.queen),
            Role::King if step.kind() == Kind::Plain => (king_attacks(to), Bitboard::EMPTY),
            Role::King => return false,
            Role::Pawn => return self.refutes_pawn(step.kind(), to),
        };
        (attacks & (self.zone | goals)).is_empty()
    }

    fn refutes_pawn(&self, kind: Kind, to: Square) -> bool {
        let turn = self.board.turn();
        let seventh = turn.fold_wb(Rank::Seventh, Rank::Second);
        let attacks = pawn_attacks(turn, to);
        let ahead = Bitboard::from(to).shift(forward(turn));
        kind != Kind::EnPassant
            && to.rank() != seventh
            && (attacks & self.zone).is_empty()
            && ((attacks | ahead) & self.goals.pawn).is_empty()
    }
}

/// The squares among `from` that cover all of `flights`.
#[inline]
fn good(from: Bitboard, flights: Bitboard, attacks: impl Fn(Square) -> Bitboard) -> Bitboard {
    if flights.is_empty() {
        return from;
    }
    from.into_iter()
        .filter(|&to| (flights & !attacks(to)).is_empty())
        .collect()
}
