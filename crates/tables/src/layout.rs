//! How the positions of a material are numbered, and what is stored of each.
//!
//! The kings' squares, then the square of the first other man, make a *row*;
//! a row has a place for every square of the last man, so that what is known
//! of its 64 positions is one bitboard for each side to move. Mirror images
//! share a row: the white king is brought to the files a to d, and without
//! pawns to the triangle a1, d1, d4. With its king on the long diagonal a
//! position without pawns and its image both have a place, and the same value.

use shakmaty::{Bitboard, Chess, Color, Piece, Position, Role, Square, attacks};

use super::material::Material;
use super::packed::Packed;

/// A byte is stored for each position and side to move: draw, or 1 + the
/// plies to mate, or no legal position. Odd bytes are losses, even ones wins.
pub(super) const DRAW: u8 = 0;
pub(super) const MATE: u8 = 1;
pub(super) const ILLEGAL: u8 = 255;

/// In the order in which arrays have what belongs to them.
pub(super) const SIDES: [Color; 2] = [Color::Black, Color::White];

/// Men on squares, at most four, kings first once arranged.
#[derive(Clone, Copy, Debug)]
pub(super) struct Placement {
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
        let men = Placement::of(position)?;
        Some(men.arranged().0)
    }
}

impl Placement {
    pub fn of(position: &Chess) -> Option<Placement> {
        let board = position.board();
        (board.occupied().count() <= 4).then(|| Placement::new(board.iter()))
    }

    pub fn new(men: impl IntoIterator<Item = (Square, Piece)>) -> Placement {
        let mut made = Placement {
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

    /// The same men in the order of their material's rows, with the board
    /// turned round and the colours exchanged if Black is the stronger side.
    pub fn arranged(&self) -> (Material, Placement, bool) {
        let pieces = self.pieces[..self.len].iter().copied();
        let (material, swapped) = Material::of_men(pieces);
        let mut men = *self;
        if swapped {
            for i in 0..men.len {
                men.squares[i] ^= 56;
                men.pieces[i].color = !men.pieces[i].color;
            }
        }
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

    pub fn places(&self) -> Places {
        Places {
            kings: [self.squares[0], self.squares[1]],
            first: self.squares[2],
            last: self.squares[self.len - 1],
        }
    }
}

/// The order of men: kings, a pawn that is the first of its kind or colour,
/// then White's, the strongest first.
fn rank(piece: Piece) -> usize {
    let color = piece.color as usize ^ 1;
    match piece.role {
        Role::King => color,
        Role::Pawn => 2 + color,
        role => 4 + 8 * color + (8 - role as usize),
    }
}

/// Where the men of a row stand.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Places {
    /// White's and Black's.
    pub kings: [u8; 2],
    /// The row's man; where there are but three men, of no meaning.
    pub first: u8,
    pub last: u8,
}

impl Places {
    /// With the colours exchanged and the board turned round.
    pub fn swapped(&self) -> Places {
        let [white, black] = self.kings;
        Places {
            kings: [black ^ 56, white ^ 56],
            first: self.first ^ 56,
            last: self.last ^ 56,
        }
    }
}

/// A way to mirror the board: squares are xored, then ranks and files
/// exchanged.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct Mirror {
    xor: u8,
    exchange: bool,
}

impl Mirror {
    /// What brings a white king to where its rows are.
    fn of(king: u8, pawns: bool) -> Mirror {
        let mut xor = if king & 4 == 0 { 0 } else { 7 };
        if !pawns && king & 32 != 0 {
            xor |= 56;
        }
        let king = king ^ xor;
        Mirror {
            xor,
            exchange: !pawns && king >> 3 > king & 7,
        }
    }

    #[inline]
    pub fn square(self, square: u8) -> u8 {
        let square = square ^ self.xor;
        if self.exchange {
            exchanged(square)
        } else {
            square
        }
    }

    #[inline]
    pub fn set(self, mut set: u64) -> u64 {
        if self.xor & 56 != 0 {
            set = set.swap_bytes();
        }
        if self.xor & 7 != 0 {
            set = Bitboard(set).flip_horizontal().0;
        }
        if self.exchange {
            set = Bitboard(set).flip_diagonal().0;
        }
        set
    }

    /// What undoes it.
    pub fn back(self) -> Mirror {
        let xor = if self.exchange {
            exchanged(self.xor)
        } else {
            self.xor
        };
        Mirror { xor, ..self }
    }
}

fn exchanged(square: u8) -> u8 {
    (square >> 3) | (square & 7) << 3
}

/// A step of a king from the kings' places of one row to those of another.
#[derive(Clone, Copy, Debug)]
pub(super) struct Step {
    pub pair: usize,
    pub mirror: Mirror,
}

/// Two kings that do not touch.
const TOUCHING: u16 = u16::MAX;

/// The numbering of one material.
#[derive(Clone, Debug)]
pub(super) struct Layout {
    /// The man whose square is part of the row, if there are four men.
    pub first: Option<Piece>,
    pub last: Piece,
    /// A pawn on each side: positions with en passant come last.
    pub en_passant: bool,
    /// The kings' squares by their number, and the number by their squares.
    pub pairs: Vec<[u8; 2]>,
    numbers: Vec<u16>,
    mirrors: [Mirror; 64],
}

/// With en passant: the file of the pawn that moved, and the side on which
/// the other one stands.
const PASSING: usize = 16;

impl Layout {
    pub fn new(material: Material) -> Layout {
        let mut men = material.pieces();
        men.sort_by_key(|&p| rank(p));
        let pawns = men.iter().any(|p| p.role == Role::Pawn);
        let mut mirrors = [Mirror::default(); 64];
        for (king, mirror) in mirrors.iter_mut().enumerate() {
            *mirror = Mirror::of(king as u8, pawns);
        }
        let mut layout = Layout {
            first: (men.len() == 4).then(|| men[2]),
            last: men[men.len() - 1],
            en_passant: men.len() == 4
                && men[2] == Color::White.pawn()
                && men[3] == Color::Black.pawn(),
            pairs: Vec::new(),
            numbers: vec![TOUCHING; 64 * 64],
            mirrors,
        };
        for white in (0..64).filter(|&king| Mirror::of(king, pawns) == Mirror::default()) {
            for black in 0..64 {
                if square(white).distance(square(black)) > 1 {
                    layout.numbers[usize::from(white) * 64 + usize::from(black)] =
                        layout.pairs.len() as u16;
                    layout.pairs.push([white, black]);
                }
            }
        }
        layout
    }

    /// Squares for the row's man.
    pub fn firsts(&self) -> usize {
        match self.first {
            None => 1,
            Some(piece) if piece.role == Role::Pawn => 48,
            Some(_) => 64,
        }
    }

    pub fn rows(&self) -> usize {
        self.pairs.len() * self.firsts()
    }

    pub fn entries(&self) -> usize {
        self.rows() * 64
            + if self.en_passant {
                self.pairs.len() * PASSING
            } else {
                0
            }
    }

    /// The row of two kings, by their number, and a man.
    #[inline]
    pub fn row(&self, pair: usize, first: u8) -> usize {
        match self.first {
            None => pair,
            Some(piece) if piece.role == Role::Pawn => pair * 48 + usize::from(first) - 8,
            Some(_) => pair * 64 + usize::from(first),
        }
    }

    /// The rows in their order: the kings' number, the square of the man.
    pub fn each_row(&self) -> impl Iterator<Item = (usize, u8)> + use<> {
        let start = match self.firsts() {
            48 => 8,
            _ => 0,
        };
        let squares = start..start + self.firsts() as u8;
        (0..self.pairs.len()).flat_map(move |pair| squares.clone().map(move |first| (pair, first)))
    }

    /// The number of the kings and what was done to the board; `None` if the
    /// kings touch.
    #[inline]
    pub fn kings(&self, kings: [u8; 2]) -> Option<Step> {
        let mirror = self.mirrors[usize::from(kings[0])];
        let [white, black] = kings.map(|king| mirror.square(king));
        let number = self.numbers[usize::from(white) * 64 + usize::from(black)];
        (number != TOUCHING).then_some(Step {
            pair: usize::from(number),
            mirror,
        })
    }

    /// The number of a position; `None` if the kings touch.
    #[inline]
    pub fn index(&self, places: &Places) -> Option<usize> {
        let Step { pair, mirror } = self.kings(places.kings)?;
        let row = self.row(pair, mirror.square(places.first));
        Some(row * 64 + usize::from(mirror.square(places.last)))
    }

    /// The number of a position with en passant, the side to move to take.
    pub fn index_passing(&self, places: &Places, side: Color) -> Option<usize> {
        let Step { pair, mirror } = self.kings(places.kings)?;
        let [first, last] = [places.first, places.last].map(|pawn| mirror.square(pawn));
        Some(self.passing(pair, first, last, side))
    }

    /// The same for pawns on the squares of a row.
    pub fn passing(&self, pair: usize, first: u8, last: u8, side: Color) -> usize {
        let (moved, taker) = side.fold_wb((last, first), (first, last));
        let right = usize::from(taker > moved);
        self.rows() * 64 + pair * PASSING + usize::from(moved & 7) * 2 + right
    }

    /// Where the king of a side may step from each pair of kings, whatever
    /// else is on the board.
    pub fn steps(&self, side: Color) -> Vec<Vec<Step>> {
        let from = |&[white, black]: &[u8; 2]| {
            let king = square(side.fold_wb(white, black));
            let to = attacks::king_attacks(king).into_iter();
            to.filter_map(|to| self.kings(side.fold_wb([to as u8, black], [white, to as u8])))
                .collect()
        };
        self.pairs.iter().map(from).collect()
    }

    /// The legal positions of a row: with Black and with White to move.
    pub fn legal(&self, pair: usize, first: u8) -> [u64; 2] {
        let [white, black] = self.pairs[pair].map(square);
        let kings = occupied(self.pairs[pair]);
        let first = self.first.map(|piece| (piece, square(first)));
        let mut all = kings;
        if let Some((_, at)) = first {
            if kings.contains(at) {
                return [0; 2];
            }
            all.add(at);
        }
        let mut placed = !all;
        if self.last.role == Role::Pawn {
            placed &= !Bitboard::BACKRANKS;
        }
        SIDES.map(|side| {
            let king = side.fold_wb(black, white);
            // The other side's king must not be in check.
            let mut checks = Bitboard::EMPTY;
            if let Some((piece, at)) = first
                && piece.color == side
                && attacks::attacks(at, piece, kings).contains(king)
            {
                checks = !attacks::between(at, king);
            }
            if self.last.color == side {
                checks |= comes_from(self.last, king, all);
            }
            (placed & !checks).0
        })
    }

    /// The legal positions of a row in which the side to move stands beside a
    /// pawn that has just moved two squares.
    pub fn legal_passing(&self, pair: usize, first: u8) -> [u64; 2] {
        if !self.en_passant {
            return [0; 2];
        }
        let kings = self.pairs[pair];
        let legal = self.legal(pair, first);
        SIDES.map(|side| {
            let row = side.fold_wb(4, 3);
            let crossed = |pawn: u8| match side {
                Color::White => [pawn + 8, pawn + 16],
                Color::Black => [pawn - 8, pawn - 16],
            };
            if first >> 3 != row {
                return 0;
            }
            let mut set = beside(first) & legal[side as usize];
            for last in Bitboard(set) {
                let moved = side.fold_wb(last as u8, first);
                if crossed(moved).iter().any(|s| kings.contains(s)) {
                    set &= !(1 << last as u8);
                }
            }
            set
        })
    }
}

/// The squares to the left and right of one.
pub(super) fn beside(square: u8) -> u64 {
    let at = 1_u64 << square;
    (at << 1 & !0x0101_0101_0101_0101) | (at >> 1 & !0x8080_8080_8080_8080)
}

/// From where a man attacks a square.
pub(super) fn comes_from(piece: Piece, to: Square, occupied: Bitboard) -> Bitboard {
    let backwards = Piece {
        color: !piece.color,
        ..piece
    };
    attacks::attacks(to, backwards, occupied)
}

pub(super) fn occupied(kings: [u8; 2]) -> Bitboard {
    Bitboard(1 << kings[0] | 1 << kings[1])
}

pub(super) fn square(at: u8) -> Square {
    Square::new(at.into())
}

/// The values of one material.
pub(super) struct Table {
    pub layout: Layout,
    pub values: Values,
}

/// By number, with Black and with White to move.
pub(super) enum Values {
    Whole([Vec<u8>; 2]),
    /// As it was kept.
    Packed(Packed),
}

impl Table {
    /// The value of men arranged for this table. `None` if what was kept
    /// cannot be unpacked.
    #[inline]
    pub fn value(&self, places: &Places, turn: Color) -> Option<u8> {
        match self.layout.index(places) {
            Some(index) => self.at(index, turn),
            None => Some(ILLEGAL),
        }
    }

    /// The value if the side to move may take en passant, which is the same
    /// where no pawns stand for that.
    pub fn value_passing(&self, places: &Places, turn: Color) -> Option<u8> {
        if !self.layout.en_passant {
            return self.value(places, turn);
        }
        match self.layout.index_passing(places, turn) {
            Some(index) => self.at(index, turn),
            None => Some(ILLEGAL),
        }
    }

    #[inline]
    fn at(&self, index: usize, turn: Color) -> Option<u8> {
        match &self.values {
            Values::Whole(values) => Some(values[turn as usize][index]),
            Values::Packed(packed) => packed.value(turn as usize, index),
        }
    }

    pub fn is_whole(&self) -> bool {
        matches!(self.values, Values::Whole(_))
    }

    /// The same table unpacked, its illegal positions marked. `None` if what
    /// was kept cannot be unpacked.
    pub fn unpacked(&self) -> Option<Table> {
        let layout = self.layout.clone();
        let mut values = match &self.values {
            Values::Whole(values) => values.clone(),
            Values::Packed(packed) => packed.unpacked()?,
        };
        mark_illegal(&layout, &mut values);
        let values = Values::Whole(values);
        Some(Table { layout, values })
    }

    /// The longest mates with White and with Black to move and winning.
    pub fn longest(&self) -> Option<[Option<u16>; 2]> {
        let unpacked;
        let values = match &self.values {
            Values::Whole(values) => values,
            Values::Packed(packed) => {
                unpacked = packed.unpacked()?;
                &unpacked
            }
        };
        Some([Color::White, Color::Black].map(|turn| {
            let wins = values[turn as usize].iter();
            wins.filter(|&&v| v != DRAW && v != ILLEGAL && v % 2 == 0)
                .max()
                .map(|&v| u16::from(v / 2))
        }))
    }

    /// Bytes it takes in memory, if nothing is inflated yet.
    pub fn bytes(&self) -> usize {
        match &self.values {
            Values::Whole(values) => values.iter().map(Vec::len).sum(),
            Values::Packed(packed) => packed.bytes().len(),
        }
    }
}

/// Marks what is no legal position.
pub(super) fn mark_illegal(layout: &Layout, values: &mut [Vec<u8>; 2]) {
    let start = layout.rows() * 64;
    let mut passing = SIDES.map(|_| vec![false; layout.entries() - start]);
    for (pair, first) in layout.each_row() {
        let row = layout.row(pair, first);
        let legal = layout.legal(pair, first);
        let legal_passing = layout.legal_passing(pair, first);
        for side in SIDES {
            let at = side as usize;
            for none in Bitboard(!legal[at]) {
                values[at][row * 64 + none as usize] = ILLEGAL;
            }
            for last in Bitboard(legal_passing[at]) {
                passing[at][layout.passing(pair, first, last as u8, side) - start] = true;
            }
        }
    }
    for (values, passing) in values.iter_mut().zip(passing) {
        for (value, legal) in values[start..].iter_mut().zip(passing) {
            if !legal {
                *value = ILLEGAL;
            }
        }
    }
}
