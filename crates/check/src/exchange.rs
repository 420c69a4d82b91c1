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
/// first (another order pays more in 14 of 55,004 exchanges of random games).
/// Pins and checks are not looked at.
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
        // A pawn that takes on the last rank becomes a queen.
        let placed = match role == Role::Pawn && Bitboard::BACKRANKS.contains(square) {
            true => Role::Queen,
            false => role,
        };
        gains.push(prize + worth(placed) - worth(role));
        prize = worth(placed);
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
    use model::worth::balance;
    use shakmaty::{Chess, Position, attacks};

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

    #[test]
    fn a_king_takes_what_is_not_guarded() {
        let free = "8/8/3k4/4p3/8/5N2/8/4K3 w - - 0 1";
        assert_eq!(gain(free, "Nxe5"), -200);
        let guarded = "8/8/3k4/4p3/8/5N2/8/4R1K1 w - - 0 1";
        assert_eq!(gain(guarded, "Nxe5"), 100);
        // Nor is a rook of use that stands behind the king.
        let behind = fen::read("8/8/3k4/4p3/4K3/8/8/4R3 w - - 0 1").unwrap();
        let taken = best_capture(behind.board(), Square::E5, Color::White);
        assert_eq!(taken, 0);
    }

    #[test]
    fn a_pawn_that_takes_on_the_last_rank_becomes_a_queen() {
        let guarded = "3nk3/2P5/8/8/8/8/8/4K3 w - - 0 1";
        let queens = "3n4/k1P5/8/8/8/8/8/4K3 w - - 0 1";
        assert_eq!(gain(queens, "cxd8=Q"), 300 + 800);
        assert_eq!(gain(queens, "cxd8=N"), 300 + 200);
        let position = fen::read(guarded).unwrap();
        let taken = best_capture(position.board(), Square::D8, Color::White);
        assert_eq!(taken, 300 - 100, "the king takes the queen");
        let put = "6k1/2P5/8/8/8/8/4K3/3r4 b - - 0 1";
        assert_eq!(gain(put, "Rd8"), -(500 + 800));
    }

    #[test]
    fn pins_are_not_looked_at_and_castling_wins_nothing() {
        // The knight on e7 is pinned, and takes all the same.
        let pinned = "4k3/4n3/8/3p4/8/2N5/8/4RK2 w - - 0 1";
        assert_eq!(gain(pinned, "Nxd5"), 100 - 300);
        assert_eq!(gain("4k2r/8/8/8/8/8/8/4K2R w K - 0 1", "O-O"), 0);
    }

    #[test]
    fn what_a_move_takes_stands_beside_a_pawn_that_takes_in_passing() {
        let taken = |position: &str, mv: &str| {
            let position = fen::read(position).unwrap();
            captured(moves::read(&position, mv).unwrap())
        };
        let passing = "4k3/8/8/8/3pP3/5P2/8/4K3 b - e3 0 1";
        assert_eq!(taken(passing, "dxe3"), Some(Square::E4));
        assert_eq!(taken(passing, "d3"), None);
        let rook = "4k3/8/8/4p3/8/8/4R3/4K3 w - - 0 1";
        assert_eq!(taken(rook, "Rxe5+"), Some(Square::E5));
    }

    /// What a side gains by taking on a square, played out on a board: by the least man,
    /// or by `any`, whichever gains most; a pawn becomes what pays most.
    fn most(board: &Board, square: Square, side: Color, any: bool) -> i32 {
        let prize = board.role_at(square).map_or(0, worth);
        let takes = |from: &Square| {
            let man = board.piece_at(*from).unwrap();
            attacks::attacks(*from, man, board.occupied()).contains(square)
        };
        let mut takers: Vec<Square> = board.by_color(side).into_iter().filter(takes).collect();
        takers.sort_by_key(|from| board.role_at(*from));
        takers.truncate(if any { takers.len() } else { 1 });
        let mut most = 0;
        for from in takers {
            let role = board.role_at(from).unwrap();
            let becomes = match role == Role::Pawn && matches!(u32::from(square.rank()), 0 | 7) {
                true => vec![Role::Queen, Role::Rook, Role::Bishop, Role::Knight],
                false => vec![role],
            };
            for placed in becomes {
                let mut after = board.clone();
                after.discard_piece_at(from);
                after.set_piece_at(square, placed.of(side));
                let guarded = || after.attacks_to(square, !side, after.occupied()).any();
                if role != Role::King || !guarded() {
                    let now = prize + worth(placed) - worth(role);
                    most = most.max(now - self::most(&after, square, !side, any));
                }
            }
        }
        most
    }

    fn played_out(position: &Chess, mv: Move, any: bool) -> i32 {
        let mut after = position.clone();
        after.play_unchecked(mv);
        let side = position.turn();
        let now = balance(after.board(), side) - balance(position.board(), side);
        100 * i32::from(now) - most(after.board(), mv.to(), !side, any)
    }

    /// Positions with much to take: pins, promotions and pawns that take in passing are
    /// among them.
    const STARTS: [&str; 4] = [
        "rnbqkbnr/pppppppp/8/8/8/8/PPPPPPPP/RNBQKBNR w KQkq - 0 1",
        "r3k2r/1P4P1/2q1bn2/3pP3/2P1N1p1/4B2n/1p2Q1p1/R3K2R w KQkq d6 0 1",
        "n1nr2k1/PP1Pp3/8/2p1P1pp/1pP3P1/7P/pp1p3P/N1NR1K2 b - c3 0 1",
        "3rr1k1/2q2pp1/2nb1n1p/2pp2B1/3PPP2/2N2N2/PPQ3PP/3RR1K1 w - - 0 1",
    ];

    /// Beside what it should be, how often another order would pay more.
    #[test]
    fn exchanges_are_worth_what_they_come_to_when_they_are_played_out() {
        let mut seed = 0x9e37_79b9_7f4a_7c15_u64;
        let mut random = |below: usize| {
            seed ^= seed << 13;
            seed ^= seed >> 7;
            seed ^= seed << 17;
            (seed % below as u64) as usize
        };
        let (mut all, mut by_order, mut passing, mut promotions) = (0, 0, 0, 0);
        for game in 0..40 {
            let mut position = fen::read(STARTS[game % STARTS.len()]).unwrap();
            for _ in 0..30 {
                let legal = position.legal_moves();
                let (board, side) = (position.board(), position.turn());
                for &mv in legal.iter().filter(|mv| !mv.is_castle()) {
                    let gain = exchange_gain(board, mv);
                    let least = played_out(&position, mv, false);
                    assert_eq!(gain, least, "{mv} in {}", fen::write(&position));
                    by_order += usize::from(gain != played_out(&position, mv, true));
                    passing += usize::from(mv.is_en_passant());
                    promotions += usize::from(mv.is_promotion());
                    all += 1;
                }
                for square in board.by_color(!side) {
                    let gain = best_capture(board, square, side);
                    let least = most(board, square, side, false);
                    assert_eq!(gain, least, "{square} in {}", fen::write(&position));
                    by_order += usize::from(gain != most(board, square, side, true));
                    all += 1;
                }
                let Some(last) = legal.len().checked_sub(1) else {
                    break;
                };
                position.play_unchecked(legal[random(last + 1)]);
            }
        }
        assert!(
            passing >= 10 && promotions >= 1_000,
            "{passing} {promotions}"
        );
        assert!(1_000 * by_order < all, "{by_order} of {all}");
    }
}
