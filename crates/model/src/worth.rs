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
    let of = |role| {
        let men = board.by_role(role);
        let ours = (men & board.by_color(color)).count() as i8;
        let theirs = (men & board.by_color(!color)).count() as i8;
        (ours - theirs) * pawns(role).map_or(0, |worth| worth as i8)
    };
    Role::ALL.into_iter().map(of).sum()
}
