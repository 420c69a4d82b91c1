//! Making the moves of a node: loud ones, quiet ones, and whether there is any.
//!
//! What is made may leave the king in check; [`Node::is_safe`] tells.

use arrayvec::ArrayVec;
use shakmaty::attacks::{
    between, bishop_attacks, king_attacks, knight_attacks, pawn_attacks, queen_attacks,
    rook_attacks,
};
use shakmaty::{Bitboard, CastlingSide, Color, Role, Square};

use super::node::{Node, home};
use super::table::Code;

/// Moves, each with its rank in the order.
pub(super) type Moves = ArrayVec<(Code, i32), 256>;

/// Captures and promotions to a queen.
pub(super) fn loud(node: &Node, moves: &mut Moves) {
    let (us, them) = (node.us(), node.them());
    let targets = them & allowed(node);
    if !node.checkers.more_than_one() {
        men(node, targets, moves);
        let pawns = us & node.board.pawns();
        for to in targets {
            for from in pawn_attacks(!node.turn, to) & pawns {
                pawn(from, to, Role::Queen, moves);
                if Bitboard::BACKRANKS.contains(to) {
                    under(from, to, moves);
                }
            }
        }
        if let Some(to) = node.en_passant {
            for from in pawn_attacks(!node.turn, to) & pawns {
                moves.push((Code::new(from, to, None), 0));
            }
        }
        for to in steps(node) & Bitboard::BACKRANKS & allowed(node) {
            pawn(behind(node.turn, to), to, Role::Queen, moves);
        }
    }
    king(node, them, moves);
}

/// All others, promotions to lesser men without a capture among them.
pub(super) fn quiet(node: &Node, moves: &mut Moves) {
    let free = !node.board.occupied();
    let targets = free & allowed(node);
    if !node.checkers.more_than_one() {
        men(node, targets, moves);
        let single = steps(node);
        for to in single & targets {
            let from = behind(node.turn, to);
            if Bitboard::BACKRANKS.contains(to) {
                under(from, to, moves);
            } else {
                moves.push((Code::new(from, to, None), 0));
            }
        }
        let third = Bitboard(node.turn.fold_wb(0xff_0000, 0xff00_0000_0000));
        for to in ahead(node.turn, single & third) & targets {
            let from = behind(node.turn, behind(node.turn, to));
            moves.push((Code::new(from, to, None), 0));
        }
    }
    king(node, free, moves);
    if node.checkers.is_empty() {
        for side in CastlingSide::ALL {
            if can_castle(node, side) {
                moves.push((Code::new(node.king(), home(node.turn, side), None), 0));
            }
        }
    }
}

/// Whether a code, of whatever position, is a move here.
pub(super) fn is_legal(node: &Node, code: Code, pinned: Bitboard) -> bool {
    let (from, to) = (code.from(), code.to());
    if code == Code::NONE || !node.us().contains(from) {
        return false;
    }
    let occupied = node.board.occupied();
    let role = node.mover(code);
    if node.us().contains(to) {
        let side = CastlingSide::from_queen_side(to < from);
        return role == Role::King
            && code.promotion().is_none()
            && to == home(node.turn, side)
            && node.checkers.is_empty()
            && can_castle(node, side);
    }
    let promotes = role == Role::Pawn && Bitboard::BACKRANKS.contains(to);
    if promotes != code.promotion().is_some() {
        return false;
    }
    let moves = match role {
        Role::Pawn if node.is_en_passant(code) => pawn_attacks(node.turn, from).contains(to),
        Role::Pawn if node.them().contains(to) => pawn_attacks(node.turn, from).contains(to),
        Role::Pawn => {
            let single = ahead(node.turn, Bitboard::from_square(from)) & !occupied;
            let third = Bitboard(node.turn.fold_wb(0xff_0000, 0xff00_0000_0000));
            let double = ahead(node.turn, single & third) & !occupied;
            (single | double).contains(to)
        }
        Role::Knight => knight_attacks(from).contains(to),
        Role::Bishop => bishop_attacks(from, occupied).contains(to),
        Role::Rook => rook_attacks(from, occupied).contains(to),
        Role::Queen => queen_attacks(from, occupied).contains(to),
        Role::King => king_attacks(from).contains(to),
    };
    let answers = role == Role::King || node.is_en_passant(code) || allowed(node).contains(to);
    moves && answers && node.is_safe(code, pinned)
}

/// Whether there is a legal move.
pub(super) fn any(node: &Node, pinned: Bitboard) -> bool {
    if node.checkers.is_empty() {
        // Nearly always a pawn or a knight that is not pinned can move.
        let free = node.us() & !pinned;
        let pawns = ahead(node.turn, free & node.board.pawns()) & !node.board.occupied();
        let knight = |from: Square| (knight_attacks(from) & !node.us()).any();
        if pawns.any() || (free & node.board.knights()).into_iter().any(knight) {
            return true;
        }
    }
    let mut moves = Moves::new();
    loud(node, &mut moves);
    quiet(node, &mut moves);
    moves.iter().any(|&(code, _)| node.is_safe(code, pinned))
}

/// Where a man other than the king may go: anywhere, but in check only where
/// it takes or stops the one man that gives it.
fn allowed(node: &Node) -> Bitboard {
    match (node.checkers.first(), node.checkers.more_than_one()) {
        (None, _) => Bitboard::FULL,
        (Some(checker), false) => node.checkers | between(node.king(), checker),
        (Some(_), true) => Bitboard::EMPTY,
    }
}

/// Moves of knights, bishops, rooks and queens to `targets`.
fn men(node: &Node, targets: Bitboard, moves: &mut Moves) {
    let (board, us) = (&node.board, node.us());
    let occupied = board.occupied();
    let mut push = |from: Square, reach: Bitboard| {
        for to in reach & targets {
            moves.push((Code::new(from, to, None), 0));
        }
    };
    for from in us & board.knights() {
        push(from, knight_attacks(from));
    }
    for from in us & board.bishops_and_queens() {
        push(from, bishop_attacks(from, occupied));
    }
    for from in us & board.rooks_and_queens() {
        push(from, rook_attacks(from, occupied));
    }
}

fn king(node: &Node, targets: Bitboard, moves: &mut Moves) {
    let from = node.king();
    for to in king_attacks(from) & targets {
        moves.push((Code::new(from, to, None), 0));
    }
}

fn pawn(from: Square, to: Square, best: Role, moves: &mut Moves) {
    let promotion = Bitboard::BACKRANKS.contains(to).then_some(best);
    moves.push((Code::new(from, to, promotion), 0));
}

fn under(from: Square, to: Square, moves: &mut Moves) {
    for role in [Role::Knight, Role::Rook, Role::Bishop] {
        moves.push((Code::new(from, to, Some(role)), 0));
    }
}

/// Free squares just before the pawns of the side to move.
fn steps(node: &Node) -> Bitboard {
    ahead(node.turn, node.us() & node.board.pawns()) & !node.board.occupied()
}

fn ahead(color: Color, Bitboard(set): Bitboard) -> Bitboard {
    Bitboard(color.fold_wb(set << 8, set >> 8))
}

fn behind(color: Color, square: Square) -> Square {
    square.offset(color.fold_wb(-8, 8)).unwrap_or(square)
}

fn can_castle(node: &Node, side: CastlingSide) -> bool {
    let color = node.turn;
    if !node.has_right(color, side) {
        return false;
    }
    let (king, rook) = (node.king(), home(color, side));
    let occupied = node.board.occupied();
    (between(king, rook) & occupied).is_empty()
        && (between(king, side.king_to(color)).with(side.king_to(color)))
            .into_iter()
            .all(|square| node.board.attacks_to(square, !color, occupied).is_empty())
}

#[cfg(test)]
mod tests {
    use shakmaty::Position;

    use super::*;
    use crate::node::tests::{STARTS, walk};
    use crate::tests::position;

    fn made(node: &Node) -> Vec<Code> {
        let mut moves = Moves::new();
        loud(node, &mut moves);
        assert!(moves.iter().all(|&(code, _)| node.is_loud(code)));
        let louds = moves.len();
        quiet(node, &mut moves);
        assert!(moves[louds..].iter().all(|&(code, _)| !node.is_loud(code)));
        let pinned = node.pinned();
        let mut codes: Vec<Code> = moves.iter().map(|&(code, _)| code).collect();
        codes.retain(|&code| node.is_safe(code, pinned));
        codes.sort_by_key(|code| code.bits());
        codes
    }

    /// Against shakmaty.
    #[test]
    fn the_legal_moves_are_made_and_no_others() {
        let mut seen = Vec::new();
        walk(200, |at, node| {
            let mut legal: Vec<Code> = at.legal_moves().into_iter().map(Code::of).collect();
            legal.sort_by_key(|code| code.bits());
            assert_eq!(made(node), legal, "{at:?}");
            let pinned = node.pinned();
            assert_eq!(any(node, pinned), !legal.is_empty());
            // Moves of earlier positions are told from those of this one.
            for &code in &seen {
                assert_eq!(
                    is_legal(node, code, pinned),
                    legal.contains(&code),
                    "{at:?}"
                );
            }
            seen.extend(legal);
            seen.truncate(300);
            let third = seen.len() / 3;
            seen.rotate_left(third);
        });
    }

    #[test]
    fn double_check_is_answered_by_the_king_alone() {
        let node = Node::new(&position("4k3/8/8/8/7b/8/R3r3/4K3 w - - 0 1"));
        assert!(node.checkers.more_than_one());
        let takes = Code::new(Square::A2, Square::E2, None);
        assert!(!is_legal(&node, takes, node.pinned()));
        assert_eq!(made(&node).len(), 3);
    }

    /// Nodes at depth 4 and 3 of positions 1, 2 and 5. Source: published
    /// perft values (chess programming literature), from memory; 197281 for
    /// the initial position also in `tests/outside`.
    #[test]
    fn as_many_lines_as_published() {
        fn perft(node: &Node, depth: u32) -> u64 {
            let moves = made(node);
            if depth == 1 {
                return moves.len() as u64;
            }
            moves
                .into_iter()
                .map(|code| perft(&node.play(code), depth - 1))
                .sum()
        }
        for (start, depth, lines) in [
            (0, 4, 197_281),
            (1, 3, 97_862),
            (2, 4, 43_238),
            (4, 3, 9_483),
        ] {
            let node = Node::new(&position(STARTS[start]));
            assert_eq!(perft(&node, depth), lines, "{}", STARTS[start]);
        }
    }
}
