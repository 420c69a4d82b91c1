//! How the positions of a material are numbered, and what is stored of each.
//!
//! Mirror images share a number: the white king is brought to the files a to
//! d, and without pawns to the ranks 1 to 4. No position is its own image, so
//! each has exactly one number.

use shakmaty::{Bitboard, Chess, Color, Piece, Position, Role, Square, attacks};

use super::material::Material;

/// A byte is stored for each position and side to move: draw, or 1 + the
/// plies to mate, or no legal position. Odd bytes are losses, even ones wins.
pub(super) const DRAW: u8 = 0;
pub(super) const MATE: u8 = 1;
pub(super) const ILLEGAL: u8 = 255;

/// Men on squares, at most four, kings first once arranged.
#[derive(Clone, Copy, Debug)]
pub(super) struct Men {
    pieces: [Piece; 4],
    squares: [u8; 4],
    len: usize,
}

impl Material {
    /// The material of a position; `None` if it has more than four men or
    /// castling rights.
    pub fn of(position: &Chess) -> Option<Material> {
        if !position.castles().is_empty() {
            return None;
        }
        let men = Men::of(position)?;
        Some(men.arranged().0)
    }
}

impl Men {
    pub fn of(position: &Chess) -> Option<Men> {
        let board = position.board();
        (board.occupied().count() <= 4).then(|| Men::new(board.iter()))
    }

    pub fn new(men: impl IntoIterator<Item = (Square, Piece)>) -> Men {
        let mut made = Men {
            pieces: [Color::White.king(); 4],
            squares: [0; 4],
            len: 0,
        };
        for (square, piece) in men {
            made.pieces[made.len] = piece;
            made.squares[made.len] = square as u8;
            made.len += 1;
        }
        made
    }

    pub fn iter(&self) -> impl Iterator<Item = (Square, Piece)> + '_ {
        let squares = self.squares[..self.len].iter();
        squares
            .map(|&s| Square::new(s.into()))
            .zip(self.pieces[..self.len].iter().copied())
    }

    /// The same men in the order of their material, with the board turned
    /// round and the colours exchanged if Black is the stronger side.
    pub fn arranged(&self) -> (Material, Men, bool) {
        let roles = |color| {
            self.iter()
                .filter(|(_, p)| p.color == color && p.role != Role::King)
                .map(|(_, p)| p.role)
                .collect()
        };
        let (material, swapped) = Material::sorted(roles(Color::White), roles(Color::Black));
        let mut men = *self;
        if swapped {
            for i in 0..men.len {
                men.squares[i] ^= 56;
                men.pieces[i].color = !men.pieces[i].color;
            }
        }
        let rank = |p: Piece| {
            let color = p.color as usize ^ 1;
            match p.role {
                Role::King => color,
                role => 2 + 8 * color + (8 - role as usize),
            }
        };
        for i in 1..men.len {
            for j in (1..=i).rev() {
                if rank(men.pieces[j]) < rank(men.pieces[j - 1]) {
                    men.pieces.swap(j, j - 1);
                    men.squares.swap(j, j - 1);
                }
            }
        }
        (material, men, swapped)
    }

    pub fn squares(&self) -> &[u8; 4] {
        &self.squares
    }

    /// Whether the side to move could take the king.
    pub fn leave_a_king_to_take(&self, turn: Color) -> bool {
        let occupied = self.iter().fold(Bitboard::EMPTY, |set, (s, _)| set.with(s));
        let king = self.iter().find(|(_, p)| *p == (!turn).king());
        king.is_some_and(|(king, _)| {
            self.iter().any(|(square, piece)| {
                piece.color == turn && attacks::attacks(square, piece, occupied).contains(king)
            })
        })
    }
}

/// The numbering of one material.
#[derive(Clone, Debug)]
pub(super) struct Layout {
    pub pieces: Vec<Piece>,
    pub pawns: bool,
    /// Two men of one kind: the lower square comes first.
    pub twins: bool,
    /// A pawn on each side: positions with en passant come last.
    pub en_passant: bool,
    /// Numbers without en passant.
    pub plain: usize,
    /// How far apart the numbers are when a man is one square further.
    strides: [isize; 4],
}

/// With en passant: the file of the pawn that moved, and the side on which
/// the other one stands.
const PASSING: usize = 16;

impl Layout {
    pub fn new(material: Material) -> Layout {
        let pieces = material.pieces();
        let pawns = pieces.iter().any(|p| p.role == Role::Pawn);
        let kings = if pawns { 32 } else { 16 } * 64;
        let plain = pieces[2..].iter().fold(kings, |n, &p| n * squares_for(p));
        let mut strides = [1; 4];
        for man in (1..pieces.len() - 1).rev() {
            strides[man] = strides[man + 1] * squares_for(pieces[man + 1]) as isize;
        }
        Layout {
            strides,
            twins: pieces.len() == 4 && pieces[2] == pieces[3],
            en_passant: pieces.len() == 4
                && pieces[2].role == Role::Pawn
                && pieces[3] == Color::Black.pawn(),
            pieces,
            pawns,
            plain,
        }
    }

    pub fn entries(&self) -> usize {
        self.plain
            + if self.en_passant {
                32 * 64 * PASSING
            } else {
                0
            }
    }

    /// The number of a position.
    #[inline]
    pub fn index(&self, squares: &[u8; 4]) -> usize {
        let (mut index, mirror) = self.kings(squares);
        match self.pieces.len() {
            3 => index = self.append(index, 2, squares[2] ^ mirror),
            4 => {
                let (mut a, mut b) = (squares[2] ^ mirror, squares[3] ^ mirror);
                if self.twins && a > b {
                    std::mem::swap(&mut a, &mut b);
                }
                index = self.append(index, 2, a);
                index = self.append(index, 3, b);
            }
            _ => {}
        }
        index
    }

    /// The number after one man of the position numbered `index` goes
    /// elsewhere, `squares` being those that the number stands for.
    #[inline]
    pub fn moved(&self, index: usize, squares: &[u8; 4], man: usize, to: u8) -> usize {
        if man == 0 || (man >= 2 && self.twins) {
            let mut squares = *squares;
            squares[man] = to;
            return self.index(&squares);
        }
        let step = isize::from(i16::from(to) - i16::from(squares[man]));
        index.wrapping_add_signed(step * self.strides[man])
    }

    /// The number of a position with en passant, the side to move to take.
    pub fn index_passing(&self, squares: &[u8; 4], turn: Color) -> usize {
        let (kings, mirror) = self.kings(squares);
        let white = (squares[2] ^ mirror) & 7;
        let black = (squares[3] ^ mirror) & 7;
        let (moved, taker) = turn.fold_wb((black, white), (white, black));
        let side = usize::from(taker > moved);
        self.plain + kings * PASSING + usize::from(moved) * 2 + side
    }

    /// Whether the side to move has a pawn that might take the other one en
    /// passant, going by where they stand.
    pub fn may_pass(&self, squares: &[u8; 4], turn: Color) -> bool {
        let row = turn.fold_wb(4, 3);
        self.en_passant
            && squares[2] / 8 == row
            && squares[3] / 8 == row
            && squares[2].abs_diff(squares[3]) == 1
    }

    /// The position of a number; the flag tells en passant. `None` where a
    /// pawn would stand outside the board.
    pub fn squares(&self, index: usize, turn: Color) -> Option<([u8; 4], bool)> {
        let mut squares = [0; 4];
        let passing = index >= self.plain;
        let mut rest = index;
        if passing {
            rest -= self.plain;
            let (moved, side) = ((rest % PASSING / 2) as u8, (rest % 2) as u8);
            rest /= PASSING;
            let taker = (moved + 2 * side).checked_sub(1).filter(|&f| f < 8)?;
            let row = turn.fold_wb(32, 24);
            let (white, black) = turn.fold_wb((taker, moved), (moved, taker));
            squares[2] = row + white;
            squares[3] = row + black;
        } else {
            for man in (2..self.pieces.len()).rev() {
                // Constant divisors are quicker than squares_for().
                if self.pieces[man].role == Role::Pawn {
                    squares[man] = (rest % 48) as u8 + 8;
                    rest /= 48;
                } else {
                    squares[man] = (rest % 64) as u8;
                    rest /= 64;
                }
            }
        }
        squares[1] = (rest % 64) as u8;
        let king = (rest / 64) as u8;
        squares[0] = (king / 4) * 8 + king % 4;
        Some((squares, passing))
    }

    #[inline]
    fn kings(&self, squares: &[u8; 4]) -> (usize, u8) {
        let king = squares[0];
        let mut mirror = if king & 4 != 0 { 7 } else { 0 };
        if !self.pawns && king & 32 != 0 {
            mirror |= 56;
        }
        let king = king ^ mirror;
        let place = (king >> 3) * 4 + (king & 7);
        (
            usize::from(place) * 64 + usize::from(squares[1] ^ mirror),
            mirror,
        )
    }

    #[inline]
    fn append(&self, index: usize, man: usize, square: u8) -> usize {
        if self.pieces[man].role == Role::Pawn {
            index * 48 + usize::from(square) - 8
        } else {
            index * 64 + usize::from(square)
        }
    }
}

fn squares_for(piece: Piece) -> usize {
    if piece.role == Role::Pawn { 48 } else { 64 }
}

/// The values of one material.
pub(super) struct Table {
    pub layout: Layout,
    /// By number, with Black and with White to move.
    pub values: [Vec<u8>; 2],
}

impl Table {
    /// The value of men arranged for this table.
    pub fn value(&self, men: &Men, turn: Color, en_passant: bool) -> u8 {
        let index = if en_passant && self.layout.en_passant {
            self.layout.index_passing(men.squares(), turn)
        } else {
            self.layout.index(men.squares())
        };
        self.values[turn as usize][index]
    }

    /// The longest mates with White and with Black to move and winning.
    pub fn longest(&self) -> [Option<u16>; 2] {
        [Color::White, Color::Black].map(|turn| {
            let wins = self.values[turn as usize].iter();
            wins.filter(|&&v| v != DRAW && v != ILLEGAL && v % 2 == 0)
                .max()
                .map(|&v| u16::from(v / 2))
        })
    }

    pub fn bytes(&self) -> usize {
        self.values.iter().map(Vec::len).sum()
    }
}
