//! What the men are worth, as chess books count them.

use shakmaty::{Board, Color, Role};

/// The worth of a man in pawns: pawn 1, knight and bishop 3, rook 5, queen 9 (common
/// practice, no source); `None` for the king, who is not to be had. A search weighs
/// men by values of its own, which are part of its evaluation.
pub const fn pawns(role: Role) -> Option<u8> {
    match role {
        Role::Pawn => Some(1),
        Role::Knight | Role::Bishop => Some(3),
        Role::Rook => Some(5),
        Role::Queen => Some(9),
        Role::King => None,
    }
}

/// The men of one colour less those of the other, in pawns; kings count for nothing.
pub fn balance(board: &Board, color: Color) -> i8 {
    let mut sum = 0;
    for role in Role::ALL {
        let men = board.by_role(role);
        let ours = (men & board.by_color(color)).count();
        let theirs = men.count() - ours;
        sum += (ours as i8 - theirs as i8) * pawns(role).unwrap_or(0) as i8;
    }
    sum
}
