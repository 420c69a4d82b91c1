//! What the men are called in sentences.

use shakmaty::{Board, Role, Square};

use crate::aim::gain::{PAWN, QUEEN, ROOK};
use crate::tongue::{phrase, say, tr};

/// As what is won or paid: "a rook", "the queen". A king stands for the queen, since
/// there is nothing beyond.
pub fn one(role: Role) -> &'static str {
    tr(match role {
        Role::Pawn => PAWN,
        Role::Knight => phrase("a knight"),
        Role::Bishop => phrase("a bishop"),
        Role::Rook => ROOK,
        Role::Queen | Role::King => QUEEN,
    })
}

/// As one that was spoken of: "the rook".
pub fn the(role: Role) -> &'static str {
    tr(match role {
        Role::Pawn => phrase("the pawn"),
        Role::Knight => phrase("the knight"),
        Role::Bishop => phrase("the bishop"),
        Role::Rook => phrase("the rook"),
        Role::Queen => phrase("the queen"),
        Role::King => phrase("the king"),
    })
}

/// By where it stands: "the rook on d8"; the square alone where none does.
pub fn on(board: &Board, square: Square) -> String {
    let text = match board.role_at(square) {
        Some(Role::Pawn) => phrase!("the pawn on {square}", "square"),
        Some(Role::Knight) => phrase!("the knight on {square}", "square"),
        Some(Role::Bishop) => phrase!("the bishop on {square}", "square"),
        Some(Role::Rook) => phrase!("the rook on {square}", "square"),
        Some(Role::Queen) => phrase!("the queen on {square}", "square"),
        Some(Role::King) => phrase!("the king on {square}", "square"),
        None => return square.to_string(),
    };
    say!(text, square = square.to_string())
}
