//! A position with what is carried along from move to move: hash key,
//! piece-square values, phase.

use shakmaty::attacks::pawn_attacks;
use shakmaty::zobrist::{Zobrist64, ZobristValue};
use shakmaty::{
    CastlingSide, Chess, Color, EnPassantMode, Move, Piece, Position, Rank, Role, Square,
};

use super::squares::{self, Score};

#[derive(Clone)]
pub(super) struct Node {
    pub position: Chess,
    /// Equal for positions that the Laws (9.2) call the same.
    pub key: u64,
    /// Of the pawns and kings alone.
    pub pawn_key: u64,
    /// Material and piece-square values, White's less Black's.
    pub score: Score,
    /// What is left on the board besides pawns, [`squares::FULL_PHASE`] at
    /// the start of a game.
    pub phase: i32,
}

impl Node {
    pub fn new(position: Chess) -> Node {
        let Zobrist64(key) = position.zobrist_hash(EnPassantMode::Legal);
        let mut node = Node {
            key,
            pawn_key: 0,
            score: Score::default(),
            phase: 0,
            position: Chess::new(),
        };
        for (square, piece) in position.board() {
            node.toggle(square, piece, 1);
        }
        node.key = key;
        node.position = position;
        node
    }

    pub fn turn(&self) -> Color {
        self.position.turn()
    }

    pub fn play(&self, m: Move) -> Node {
        let mut next = self.clone();
        next.forget_state();
        let us = self.turn();
        match m {
            Move::Normal {
                role,
                from,
                capture,
                to,
                promotion,
            } => {
                if let Some(taken) = capture {
                    next.toggle(to, taken.of(!us), -1);
                }
                next.toggle(from, role.of(us), -1);
                next.toggle(to, promotion.unwrap_or(role).of(us), 1);
            }
            Move::EnPassant { from, to } => {
                let taken = Square::from_coords(to.file(), from.rank());
                next.toggle(taken, (!us).pawn(), -1);
                next.toggle(from, us.pawn(), -1);
                next.toggle(to, us.pawn(), 1);
            }
            Move::Castle { king, rook } => {
                let side = CastlingSide::from_queen_side(rook < king);
                next.toggle(king, us.king(), -1);
                next.toggle(rook, us.rook(), -1);
                next.toggle(side.king_to(us), us.king(), 1);
                next.toggle(side.rook_to(us), us.rook(), 1);
            }
            Move::Put { .. } => {}
        }
        next.position.play_unchecked(m);
        next.remember_state();
        next
    }

    /// The position with the other side to move, unless that is illegal.
    pub fn pass(&self) -> Option<Node> {
        let position = self.position.clone().swap_turn().ok()?;
        let mut next = Node {
            position,
            ..self.clone()
        };
        let Zobrist64(key) = next.position.zobrist_hash(EnPassantMode::Legal);
        next.key = key;
        Some(next)
    }

    /// Turn, castling rights and en passant square out of the key.
    fn forget_state(&mut self) {
        self.key ^= state_key(&self.position);
    }

    fn remember_state(&mut self) {
        self.key ^= state_key(&self.position);
    }

    fn toggle(&mut self, square: Square, piece: Piece, by: i32) {
        let Zobrist64(key) = Zobrist64::zobrist_for_piece(square, piece);
        self.key ^= key;
        if matches!(piece.role, Role::Pawn | Role::King) {
            self.pawn_key ^= key;
        }
        let score = squares::score(square, piece);
        self.score.middle += by * score.middle;
        self.score.end += by * score.end;
        self.phase += by * squares::phase(piece.role);
    }
}

fn state_key(position: &Chess) -> u64 {
    let mut key = 0;
    let mut mix = |Zobrist64(k): Zobrist64| key ^= k;
    if position.turn().is_white() {
        mix(Zobrist64::zobrist_for_white_turn());
    }
    let castles = position.castles();
    if !castles.is_empty() {
        for color in Color::ALL {
            for side in CastlingSide::ALL {
                if castles.has(color, side) {
                    mix(Zobrist64::zobrist_for_castling_right(color, side));
                }
            }
        }
    }
    if let Some(square) = legal_ep_square(position) {
        mix(Zobrist64::zobrist_for_en_passant_file(square.file()));
    }
    key
}

fn legal_ep_square(position: &Chess) -> Option<Square> {
    let square = position.maybe_ep_square()?;
    debug_assert!(matches!(square.rank(), Rank::Third | Rank::Sixth));
    let takers = pawn_attacks(!position.turn(), square) & position.our(Role::Pawn);
    if takers.is_empty() {
        return None;
    }
    position.legal_ep_square()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Walks a fixed zigzag of moves and compares with values from scratch.
    #[test]
    fn what_is_carried_along_equals_what_is_computed_anew() {
        let starts = [
            "rnbqkbnr/pppppppp/8/8/8/8/PPPPPPPP/RNBQKBNR w KQkq - 0 1",
            "r3k2r/p1ppqpb1/bn2pnp1/3PN3/1p2P3/2N2Q1p/PPPBBPPP/R3K2R w KQkq - 0 1",
            "8/2p5/3p4/KP5r/1R3p1k/8/4P1P1/8 w - - 0 1",
            "r3k2r/Pppp1ppp/1b3nbN/nP6/BBP1P3/q4N2/Pp1P2PP/R2Q1RK1 w kq - 0 1",
        ];
        for fen in starts {
            let mut node = Node::new(super::super::tests::position(fen));
            for step in 0..300_usize {
                let moves = node.position.legal_moves();
                let Some(&m) = moves.get((step * 7919) % moves.len().max(1)) else {
                    break;
                };
                node = node.play(m);
                let anew = Node::new(node.position.clone());
                assert_eq!(
                    (node.key, node.pawn_key, node.score, node.phase),
                    (anew.key, anew.pawn_key, anew.score, anew.phase),
                );
            }
        }
    }
}
