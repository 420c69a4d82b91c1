//! Material and piece-square values.
//!
//! Source: Tomasz Michniewski, "Simplified Evaluation Function" (article,
//! 1995-2001), values from memory. The article gives one table per man and a
//! second one for the king in the ending; the ending table of the pawns, which
//! values advance alone, is our own.

use shakmaty::{Board, Role};

/// Values for the middle game and for the ending, in centipawns.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct Score {
    pub middle: i32,
    pub end: i32,
}

/// The phase of the starting position.
pub(super) const FULL_PHASE: i32 = 24;

/// The worth of all men on their squares, White's less Black's.
pub(super) fn score(board: &Board) -> Score {
    let mut sum = Score::default();
    for (role, material, middle, end) in [
        (Role::Pawn, 100, &PAWN, &PAWN_END),
        (Role::Knight, 320, &KNIGHT, &KNIGHT),
        (Role::Bishop, 330, &BISHOP, &BISHOP),
        (Role::Rook, 500, &ROOK, &ROOK),
        (Role::Queen, 900, &QUEEN, &QUEEN),
        (Role::King, 0, &KING, &KING_END),
    ] {
        // The tables are printed with the eighth rank first.
        for square in board.by_role(role) & board.white() {
            let at = square.flip_vertical() as usize;
            sum.middle += material + i32::from(middle[at]);
            sum.end += material + i32::from(end[at]);
        }
        for square in board.by_role(role) & board.black() {
            sum.middle -= material + i32::from(middle[square as usize]);
            sum.end -= material + i32::from(end[square as usize]);
        }
    }
    sum
}

/// What is left on the board besides pawns: 1 a minor piece, 2 a rook, 4 a
/// queen, [`FULL_PHASE`] at the start of a game.
pub(super) fn phase(board: &Board) -> i32 {
    let minor = (board.knights() | board.bishops()).count();
    (minor + 2 * board.rooks().count() + 4 * board.queens().count()) as i32
}

#[rustfmt::skip]
static PAWN: [i8; 64] = [
      0,  0,  0,  0,  0,  0,  0,  0,
     50, 50, 50, 50, 50, 50, 50, 50,
     10, 10, 20, 30, 30, 20, 10, 10,
      5,  5, 10, 25, 25, 10,  5,  5,
      0,  0,  0, 20, 20,  0,  0,  0,
      5, -5,-10,  0,  0,-10, -5,  5,
      5, 10, 10,-20,-20, 10, 10,  5,
      0,  0,  0,  0,  0,  0,  0,  0,
];

#[rustfmt::skip]
static PAWN_END: [i8; 64] = [
      0,  0,  0,  0,  0,  0,  0,  0,
     60, 60, 60, 60, 60, 60, 60, 60,
     40, 40, 40, 40, 40, 40, 40, 40,
     25, 25, 25, 25, 25, 25, 25, 25,
     15, 15, 15, 15, 15, 15, 15, 15,
      5,  5,  5,  5,  5,  5,  5,  5,
      0,  0,  0,  0,  0,  0,  0,  0,
      0,  0,  0,  0,  0,  0,  0,  0,
];

#[rustfmt::skip]
static KNIGHT: [i8; 64] = [
    -50,-40,-30,-30,-30,-30,-40,-50,
    -40,-20,  0,  0,  0,  0,-20,-40,
    -30,  0, 10, 15, 15, 10,  0,-30,
    -30,  5, 15, 20, 20, 15,  5,-30,
    -30,  0, 15, 20, 20, 15,  0,-30,
    -30,  5, 10, 15, 15, 10,  5,-30,
    -40,-20,  0,  5,  5,  0,-20,-40,
    -50,-40,-30,-30,-30,-30,-40,-50,
];

#[rustfmt::skip]
static BISHOP: [i8; 64] = [
    -20,-10,-10,-10,-10,-10,-10,-20,
    -10,  0,  0,  0,  0,  0,  0,-10,
    -10,  0,  5, 10, 10,  5,  0,-10,
    -10,  5,  5, 10, 10,  5,  5,-10,
    -10,  0, 10, 10, 10, 10,  0,-10,
    -10, 10, 10, 10, 10, 10, 10,-10,
    -10,  5,  0,  0,  0,  0,  5,-10,
    -20,-10,-10,-10,-10,-10,-10,-20,
];

#[rustfmt::skip]
static ROOK: [i8; 64] = [
      0,  0,  0,  0,  0,  0,  0,  0,
      5, 10, 10, 10, 10, 10, 10,  5,
     -5,  0,  0,  0,  0,  0,  0, -5,
     -5,  0,  0,  0,  0,  0,  0, -5,
     -5,  0,  0,  0,  0,  0,  0, -5,
     -5,  0,  0,  0,  0,  0,  0, -5,
     -5,  0,  0,  0,  0,  0,  0, -5,
      0,  0,  0,  5,  5,  0,  0,  0,
];

#[rustfmt::skip]
static QUEEN: [i8; 64] = [
    -20,-10,-10, -5, -5,-10,-10,-20,
    -10,  0,  0,  0,  0,  0,  0,-10,
    -10,  0,  5,  5,  5,  5,  0,-10,
     -5,  0,  5,  5,  5,  5,  0, -5,
      0,  0,  5,  5,  5,  5,  0, -5,
    -10,  5,  5,  5,  5,  5,  0,-10,
    -10,  0,  5,  0,  0,  0,  0,-10,
    -20,-10,-10, -5, -5,-10,-10,-20,
];

#[rustfmt::skip]
static KING: [i8; 64] = [
    -30,-40,-40,-50,-50,-40,-40,-30,
    -30,-40,-40,-50,-50,-40,-40,-30,
    -30,-40,-40,-50,-50,-40,-40,-30,
    -30,-40,-40,-50,-50,-40,-40,-30,
    -20,-30,-30,-40,-40,-30,-30,-20,
    -10,-20,-20,-20,-20,-20,-20,-10,
     20, 20,  0,  0,  0,  0, 20, 20,
     20, 30, 10,  0,  0, 10, 30, 20,
];

#[rustfmt::skip]
static KING_END: [i8; 64] = [
    -50,-40,-30,-20,-20,-30,-40,-50,
    -30,-20,-10,  0,  0,-10,-20,-30,
    -30,-10, 20, 30, 30, 20,-10,-30,
    -30,-10, 30, 40, 40, 30,-10,-30,
    -30,-10, 30, 40, 40, 30,-10,-30,
    -30,-10, 20, 30, 30, 20,-10,-30,
    -30,-30,  0,  0,  0,  0,-30,-30,
    -50,-30,-30,-30,-30,-30,-30,-50,
];
