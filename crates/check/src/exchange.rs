//! What a capture is worth when both sides go on taking on the square.

use model::worth::pawns;
use shakmaty::{Bitboard, Board, Color, Move, Role, Square};

/// The value of a man in pawns' hundredths ([`pawns`]). The king counts more than
/// all others together.
pub fn worth(role: Role) -> i32 {
    pawns(role).map_or(10_000, |pawns| 100 * i32::from(pawns))
}

/// What the side that plays `mv` gains, in hundredths of a pawn, when both
/// sides take on the target square for as long as it pays, the least man
/// first. Pins and checks are not looked at.
pub fn exchange_gain(board: &Board, mv: Move) -> i32 {
    let (Some(from), to) = (mv.from(), mv.to()) else {
        return 0;
    };
    let Some(mover) = board.piece_at(from) else {
        return 0;
    };
    if mv.is_castle() {
        return 0;
    }
    let mut occupied = board.occupied();
    occupied.discard(from);
    if mv.is_en_passant() {
        occupied.discard(Square::from_coords(to.file(), from.rank()));
    }
    let placed = mv.promotion().unwrap_or(mover.role);
    let taken = mv.capture().map_or(0, worth) + worth(placed) - worth(mover.role);
    taken - swap(board, to, !mover.color, occupied, worth(placed)).max(0)
}

/// Where the man that a move takes stands; `None` if it takes none.
pub fn captured(mv: Move) -> Option<Square> {
    match mv {
        Move::EnPassant { from, to } => Some(Square::from_coords(to.file(), from.rank())),
        _ => mv.is_capture().then(|| mv.to()),
    }
}

/// What `side` gains by taking on a square where a man of worth `prize` of the
/// other side stands; 0 if it does not pay.
pub fn best_capture(board: &Board, square: Square, side: Color) -> i32 {
    let prize = board.role_at(square).map_or(0, worth);
    swap(board, square, side, board.occupied(), prize).max(0)
}

fn swap(board: &Board, square: Square, side: Color, occupied: Bitboard, prize: i32) -> i32 {
    let mut gains = Vec::with_capacity(16);
    let (mut side, mut occupied, mut prize) = (side, occupied, prize);
    while let Some((from, role)) = least_attacker(board, square, side, occupied) {
        let exposed = occupied ^ Bitboard::from_square(from);
        if role == Role::King && attacked(board, square, !side, exposed) {
            break;
        }
        gains.push(prize);
        prize = worth(role);
        occupied = exposed;
        side = !side;
    }
    gains
        .into_iter()
        .rev()
        .fold(0, |after, gain| (gain - after).max(0))
}

fn least_attacker(
    board: &Board,
    square: Square,
    side: Color,
    occupied: Bitboard,
) -> Option<(Square, Role)> {
    let attackers = board.attacks_to(square, side, occupied) & occupied;
    Role::ALL
        .into_iter()
        .find_map(|role| Some(((attackers & board.by_role(role)).first()?, role)))
}

fn attacked(board: &Board, square: Square, side: Color, occupied: Bitboard) -> bool {
    (board.attacks_to(square, side, occupied) & occupied).any()
}

#[cfg(test)]
mod tests {
    use super::*;
    use model::notation::{fen, moves};
    use shakmaty::Position;

    fn gain(position: &str, mv: &str) -> i32 {
        let position = fen::read(position).unwrap();
        exchange_gain(position.board(), moves::read(&position, mv).unwrap())
    }

    #[test]
    fn exchanges_stop_when_they_no_longer_pay() {
        assert_eq!(gain("4k3/8/3p4/4p3/8/5N2/8/4K3 w - - 0 1", "Nxe5"), -200);
        assert_eq!(gain("4k3/8/8/4p3/8/5N2/8/4K3 w - - 0 1", "Nxe5"), 100);
        assert_eq!(gain("4r1k1/8/8/4p3/8/8/4R3/4R1K1 w - - 0 1", "Rxe5"), 100);
        assert_eq!(gain("4k3/8/8/8/3pP3/8/8/4K3 b - e3 0 1", "dxe3"), 100);
    }
}
