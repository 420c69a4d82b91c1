//! Positions as they are kept for learning: 40 bytes each.
//!
//! | bytes | what |
//! |---|---|
//! | 0-31 | a nibble for each square from a1 (low) to h8: 0 empty, 1-6 pawn to king of the side to move, 7-12 of the other side |
//! | 32-33 | the search's value for the side to move in centipawns, `i16` little-endian |
//! | 34 | the game's result for the side to move: 0 lost, 1 drawn, 2 won; [`NO_GAME`] |
//! | 35 | 1 if Black is to move |
//! | 36-39 | the game's number, `u32` little-endian |
//!
//! The board is turned so that the side to move plays up from its first rank.

use shakmaty::{Board, Chess, Color, Position, Role, Square};

pub const BYTES: usize = 40;

pub type Record = [u8; BYTES];

/// Stands for the result of what was not played.
pub const NO_GAME: u8 = 3;

/// A record of no game; [`finish`] writes the result when there is one.
pub fn unfinished(position: &Chess, value: i32, game: u32) -> Record {
    let mut record = [0; BYTES];
    let us = position.turn();
    for (square, piece) in position.board() {
        let at = us.fold_wb(square, square.flip_vertical()) as usize;
        let code = piece.role as u8 + if piece.color == us { 0 } else { 6 };
        record[at / 2] |= code << (4 * (at % 2));
    }
    let value = value.clamp(i16::MIN.into(), i16::MAX.into()) as i16;
    record[32..34].copy_from_slice(&value.to_le_bytes());
    record[34] = NO_GAME;
    record[35] = us.is_black().into();
    record[36..].copy_from_slice(&game.to_le_bytes());
    record
}

/// The board of a record, with White for the side to move.
pub fn board(record: &Record) -> Board {
    let mut board = Board::empty();
    for square in Square::ALL {
        let at = square as usize;
        let code = record[at / 2] >> (4 * (at % 2)) & 15;
        let color = Color::from_white(code <= 6);
        let role = match (code + 5) % 6 {
            _ if code == 0 || code > 12 => continue,
            0 => Role::Pawn,
            1 => Role::Knight,
            2 => Role::Bishop,
            3 => Role::Rook,
            4 => Role::Queen,
            _ => Role::King,
        };
        board.set_piece_at(square, role.of(color));
    }
    board
}

/// Writes the result into a record: `white` is 0, 1 or 2 for White.
pub fn finish(record: &mut Record, white: u8) {
    record[34] = if record[35] == 1 { 2 - white } else { white };
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_record_is_seen_from_the_side_to_move() {
        let mut at = Chess::default();
        let mut record = unfinished(&at, -300, 7);
        finish(&mut record, 2);
        // A rook and a knight of White's on a1 and b1, black ones on a8 and b8.
        assert_eq!((record[0], record[28]), (0x24, 0x8a));
        assert_eq!((record[32], record[33], record[34]), (0xd4, 0xfe, 2));
        assert_eq!(&board(&record), at.board());
        at.play_unchecked(at.legal_moves()[0]);
        let mut record = unfinished(&at, 0, 7);
        finish(&mut record, 2);
        assert_eq!((record[0], record[28]), (0x24, 0x8a));
        assert_eq!((record[34], record[35], record[36]), (0, 1, 7));
        assert_eq!(board(&record).into_mirrored(), *at.board());
    }
}
