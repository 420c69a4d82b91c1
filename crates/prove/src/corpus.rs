//! Positions made from a seed, for tests and measurements: men set at random,
//! and positions from random play.

use shakmaty::{
    Bitboard, Board, CastlingMode, Chess, Color, FromSetup, Piece, Position, Role, Setup, Square,
};

use super::{Prover, Unwatched, Verdict};

/// A stream of numbers that depends on its seed alone (splitmix64; Steele,
/// Lea and Flood 2014).
#[derive(Clone, Debug)]
pub struct Seeded(u64);

impl Seeded {
    /// Draws that the seed fixes.
    pub fn new(seed: u64) -> Seeded {
        Seeded(seed)
    }

    /// The next number, spread over all of `u64`.
    pub fn draw(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ z >> 30).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ z >> 27).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ z >> 31
    }

    /// A number below `end`, which is above 0.
    pub fn below(&mut self, end: usize) -> usize {
        ((u128::from(self.draw()) * end as u128) >> 64) as usize
    }
}

/// A legal position with `men` men, both kings among them, set at random;
/// rights to castle where king and rook stand at home.
pub fn placed(random: &mut Seeded, men: usize) -> Chess {
    loop {
        let mut board = Board::empty();
        let mut free: Vec<Square> = Square::ALL.to_vec();
        for i in 0..men.max(2) {
            let color = Color::from_white(if i < 2 { i == 0 } else { random.below(2) == 0 });
            let role = match i {
                0 | 1 => Role::King,
                _ => [
                    Role::Pawn,
                    Role::Pawn,
                    Role::Knight,
                    Role::Bishop,
                    Role::Rook,
                    Role::Queen,
                ][random.below(6)],
            };
            let at_home = i < 2 && random.below(4) == 0;
            let sq = if at_home {
                color.fold_wb(Square::E1, Square::E8)
            } else {
                free[random.below(free.len())]
            };
            free.retain(|&other| other != sq);
            board.set_piece_at(sq, Piece { color, role });
        }
        let home = |color: Color| color.fold_wb(Square::E1, Square::E8);
        let mut rights = Bitboard::EMPTY;
        for rook in board.rooks() & Bitboard::CORNERS {
            let color = Color::from_white(board.white().contains(rook));
            if rook.rank() == home(color).rank() && board.king_of(color) == Some(home(color)) {
                rights.add(rook);
            }
        }
        let setup = Setup {
            board,
            turn: Color::from_white(random.below(2) == 0),
            castling_rights: rights,
            ..Setup::empty()
        };
        if let Ok(position) = Chess::from_setup(setup, CastlingMode::Standard) {
            return position;
        }
    }
}

/// A position with a move to make, after up to `plies` random moves from the
/// start or from [`placed`] men, with its moves so far.
pub fn played(random: &mut Seeded, from: Chess, plies: usize) -> Chess {
    let mut position = from;
    for _ in 0..plies {
        let moves = position.legal_moves();
        if moves.is_empty() {
            break;
        }
        let m = moves[random.below(moves.len())];
        let mut next = position.clone();
        next.play_unchecked(m);
        if next.legal_moves().is_empty() {
            break;
        }
        position = next;
    }
    position
}

/// A position from random play whose shortest mate takes exactly `n` moves,
/// `n` at least 2. Found by going back from positions where mate is near.
pub fn mating(random: &mut Seeded, n: u8, prover: &mut Prover) -> Chess {
    let mut length = |position: &Chess, n| {
        let mate = prover.mate(position, n, &mut Unwatched);
        match mate {
            Ok(Some((_, Verdict::Forces { length, .. }))) => length,
            _ => 0,
        }
    };
    loop {
        let mut game = vec![played(random, Chess::default(), 10)];
        for ply in 0..100 {
            let position = &game[ply];
            let next = played(random, position.clone(), 1);
            if next == *position {
                break;
            }
            game.push(next);
        }
        let near = game.iter().position(|at| length(at, 2) == 2);
        let Some(near) = near else { continue };
        let back = usize::from(n - 2) * 2;
        for ply in (near.saturating_sub(back)..=near).rev().step_by(2) {
            if length(&game[ply], n) == n {
                return game.swap_remove(ply);
            }
        }
    }
}

/// A position for tests: few men or many, set or played, by turns.
pub fn mixed(random: &mut Seeded) -> Chess {
    match random.below(4) {
        0 => {
            let men = 3 + random.below(5);
            placed(random, men)
        }
        1 => {
            let men = 3 + random.below(10);
            let from = placed(random, men);
            let plies = random.below(6);
            played(random, from, plies)
        }
        2 => {
            let plies = 20 + random.below(80);
            played(random, Chess::default(), plies)
        }
        _ => {
            let plies = 100 + random.below(150);
            played(random, Chess::default(), plies)
        }
    }
}
