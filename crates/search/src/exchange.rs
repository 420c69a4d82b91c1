//! Static exchange evaluation: what a run of captures on one square wins.

use shakmaty::attacks::{bishop_attacks, rook_attacks};
use shakmaty::{Bitboard, Board, Color, Role, Square};

use super::node::Node;
use super::table::{Code, worth};

const ASCENDING: [Role; 6] = [
    Role::Pawn,
    Role::Knight,
    Role::Bishop,
    Role::Rook,
    Role::Queen,
    Role::King,
];

/// Whether the captures on the target square of a move, each side taking with
/// its least man and stopping when it likes, bring the side that moves at
/// least `least` centipawns.
pub(super) fn gains(node: &Node, code: Code, least: i32) -> bool {
    if node.castles(code).is_some() {
        return least <= 0;
    }
    let (board, turn) = (&node.board, node.turn);
    let (from, to) = (code.from(), code.to());
    let promotion = code.promotion();
    let promoted = promotion.map_or(0, |r| worth(r) - worth(Role::Pawn));
    let mut balance = node.taken(code).map_or(0, worth) + promoted - least;
    if balance < 0 {
        return false;
    }
    balance -= worth(promotion.unwrap_or(node.mover(code)));
    if balance >= 0 {
        return true;
    }
    let mut occupied = board.occupied() ^ Bitboard::from_square(from);
    occupied.add(to);
    if node.is_en_passant(code) {
        occupied.discard(Square::from_coords(to.file(), from.rank()));
    }
    let mut attackers = all_attackers(board, to, occupied) & occupied;
    let mut side = !turn;
    loop {
        let ours = attackers & board.by_color(side);
        let Some(role) = ASCENDING
            .into_iter()
            .find(|&r| (ours & board.by_role(r)).any())
        else {
            break;
        };
        // The king takes last, and only what is not guarded.
        if role == Role::King && (attackers & board.by_color(!side)).any() {
            break;
        }
        let man = (ours & board.by_role(role)).first();
        occupied.discard(man.expect("an attacker"));
        attackers |= bishop_attacks(to, occupied) & board.bishops_and_queens();
        attackers |= rook_attacks(to, occupied) & board.rooks_and_queens();
        attackers &= occupied;
        side = !side;
        balance = -balance - 1 - worth(role);
        if balance >= 0 {
            break;
        }
    }
    side != turn
}

fn all_attackers(board: &Board, to: Square, occupied: Bitboard) -> Bitboard {
    board.attacks_to(to, Color::White, occupied) | board.attacks_to(to, Color::Black, occupied)
}

#[cfg(test)]
mod tests {
    use super::*;
    use shakmaty::san::San;
    use shakmaty::{CastlingMode, Chess, fen::Fen};

    fn exact(fen: &str, san: &str) -> i32 {
        let position: Chess = fen
            .parse::<Fen>()
            .expect("FEN")
            .into_position(CastlingMode::Standard)
            .expect("legal");
        let m = san.parse::<San>().expect("SAN").to_move(&position);
        let m = m.expect("legal");
        (-2000..2000)
            .rev()
            .find(|&least| gains(&Node::new(&position), Code::of(m), least))
            .expect("within range")
    }

    #[test]
    fn exchanges_are_counted() {
        // A free pawn; a guarded one that costs the rook for the pawn.
        assert_eq!(exact("4k3/8/8/4p3/8/8/8/4RK2 w - - 0 1", "Rxe5"), 100);
        assert_eq!(exact("4k3/8/3p4/4p3/8/8/8/4RK2 w - - 0 1", "Rxe5"), -400);
    }

    #[test]
    fn men_behind_join_in() {
        // Two rooks on the file against one guard: rook for knight and pawn
        // would be worse than stopping is for Black.
        let fen = "4k3/8/3p4/4n3/8/8/4R3/4RK2 w - - 0 1";
        assert_eq!(exact(fen, "Rxe5"), 320 - 500 + 100);
    }

    #[test]
    fn a_king_takes_only_what_is_not_guarded() {
        assert_eq!(exact("8/8/3k4/4p3/8/8/4R3/4RK2 w - - 0 1", "Rxe5"), 100);
        assert_eq!(exact("8/8/3k4/4p3/8/8/4R3/5K2 w - - 0 1", "Rxe5"), -400);
    }

    #[test]
    fn en_passant_opens_the_file() {
        // Taking en passant lets the rook behind take the pawn back.
        let fen = "3rk3/8/8/3pP3/8/8/8/4K3 w - d6 0 1";
        assert_eq!(exact(fen, "exd6"), 0);
    }
}
