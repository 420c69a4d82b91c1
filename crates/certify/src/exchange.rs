//! Material, and whether it stays won: the exchange game, played out.

use shakmaty::{Chess, Color, Position, Role};

/// Plies of an exchange game; in a longer one the gain has failed.
const LONGEST: usize = 64;

/// The men of one colour less those of the other, in pawns.
pub(crate) fn balance(position: &Chess, color: Color) -> i32 {
    let men = position.board();
    let of = |(role, worth)| {
        let ours = (men.by_role(role) & men.by_color(color)).count() as i32;
        worth * (2 * ours - men.by_role(role).count() as i32)
    };
    use Role::{Bishop, Knight, Pawn, Queen, Rook};
    let worth = [(Pawn, 1), (Knight, 3), (Bishop, 3), (Rook, 5), (Queen, 9)];
    worth.map(of).iter().sum()
}

/// Whether the solver comes out of the exchange game at the target or above, after so
/// many plies of it; `None` if that takes more positions than are left.
pub(crate) fn stays(
    position: &Chess,
    (solver, target): (Color, i32),
    plies: usize,
    left: &mut usize,
) -> Option<bool> {
    let solves = position.turn() == solver;
    let mut moves = position.legal_moves();
    let check = position.is_check();
    if moves.is_empty() || plies >= LONGEST {
        return Some(moves.is_empty() && check && !solves);
    }
    if !check && (balance(position, solver) >= target) == solves {
        return Some(solves); // Whoever is to move does best to stop.
    }
    moves.retain(|m| check || m.is_capture() || m.is_promotion());
    moves.sort_by_key(|m| std::cmp::Reverse(m.capture()));
    for m in moves {
        *left = left.checked_sub(1)?;
        let after = crate::played(position, m);
        if stays(&after, (solver, target), plies + 1, left)? == solves {
            return Some(solves);
        }
    }
    Some(!solves)
}
