//! The moves that lead out of a table, captures and promotions, looked up in
//! smaller tables position by position.

use std::sync::Arc;

use shakmaty::{Bitboard, Color, Piece, Role, attacks};

use super::Tables;
use super::layout::{DRAW, ILLEGAL, Layout, Places, Table, comes_from, occupied, square};
use super::material::Material;

/// What the moves out of the table are worth, by the squares of a row's last
/// man.
pub(super) struct Leaving {
    /// Where there are such moves.
    pub any: u64,
    /// Where one of them draws.
    pub draws: u64,
    /// The quickest wins and the slowest losses among them.
    pub wins: [u8; 64],
    pub losses: [u8; 64],
}

impl Leaving {
    fn nothing() -> Leaving {
        Leaving {
            any: 0,
            draws: 0,
            wins: [DRAW; 64],
            losses: [DRAW; 64],
        }
    }

    /// Takes one move, by its value for the other side.
    fn leave(&mut self, last: u8, value: u8) {
        if value == ILLEGAL {
            return;
        }
        let at = usize::from(last);
        self.any |= 1 << last;
        if value == DRAW {
            self.draws |= 1 << last;
        } else if value % 2 == 1 {
            let win = value + 1;
            if self.wins[at] == DRAW || win < self.wins[at] {
                self.wins[at] = win;
            }
        } else {
            self.losses[at] = self.losses[at].max(value + 1);
        }
    }
}

/// The moves of one side that leave the table.
pub(super) struct Exits<'t> {
    layout: &'t Layout,
    color: Color,
    /// After the row's man, or the last man, was taken.
    first_taken: Option<Exit<'t>>,
    last_taken: Exit<'t>,
    /// After either man, a pawn, was promoted; empty if it is none.
    first_promoted: Vec<Exit<'t>>,
    last_promoted: Vec<Exit<'t>>,
    /// After the row's man took the last one and was promoted.
    first_promoted_taking: Vec<Exit<'t>>,
}

impl<'t> Exits<'t> {
    pub fn new(layout: &'t Layout, color: Color, smaller: &'t Tables) -> Exits<'t> {
        let to = |first, last| Exit::new(first, last, smaller);
        let (first, last) = (layout.first, Some(layout.last));
        Exits {
            layout,
            color,
            first_taken: first.map(|_| to(None, last)),
            last_taken: to(None, first),
            first_promoted: promotions(first).map(|made| to(Some(made), last)).collect(),
            last_promoted: promotions(last).map(|made| to(first, Some(made))).collect(),
            first_promoted_taking: promotions(first).map(|made| to(None, Some(made))).collect(),
        }
    }

    /// Judges the moves out of the `legal` positions of a row.
    pub fn judge(&self, pair: usize, first: u8, legal: u64) -> Leaving {
        let mut leaving = Leaving::nothing();
        if legal != 0 {
            let row = Row::new(self.layout, pair, first);
            self.take_first(&row, legal, &mut leaving);
            self.take_last(&row, legal, &mut leaving);
            self.promote(&row, legal, &mut leaving);
        }
        leaving
    }

    /// The same for taking en passant alone.
    pub fn judge_passing(&self, pair: usize, first: u8, legal: u64) -> Leaving {
        let mut leaving = Leaving::nothing();
        let kings = self.layout.pairs[pair];
        for last in squares(legal) {
            let value = match self.color {
                Color::White => self.last_taken.value(kings, 0, last + 8, Color::Black),
                Color::Black => {
                    let exit = self.first_taken.as_ref().expect("two pawns");
                    exit.value(kings, 0, first - 8, Color::White)
                }
            };
            leaving.leave(last, value);
        }
        leaving
    }

    fn take_first(&self, row: &Row, legal: u64, leaving: &mut Leaving) {
        let Some(exit) = &self.first_taken else {
            return;
        };
        if self
            .layout
            .first
            .is_none_or(|piece| piece.color == self.color)
        {
            return;
        }
        let at = square(row.first);
        let king = row.kings[self.color.fold_wb(0, 1)];
        if square(king).distance(at) == 1 {
            let kings = row.after(self.color, row.first);
            for last in squares(legal) {
                leaving.leave(last, exit.value(kings, 0, last, !self.color));
            }
        }
        if self.layout.last.color == self.color {
            let from = comes_from(self.layout.last, at, row.occupied);
            for last in squares(legal & from.0) {
                leaving.leave(last, exit.value(row.kings, 0, row.first, !self.color));
            }
        }
    }

    fn take_last(&self, row: &Row, legal: u64, leaving: &mut Leaving) {
        if self.layout.last.color == self.color {
            return;
        }
        let king = square(row.kings[self.color.fold_wb(0, 1)]);
        for last in squares(legal & attacks::king_attacks(king).0) {
            let kings = row.after(self.color, last);
            leaving.leave(
                last,
                self.last_taken.value(kings, 0, row.first, !self.color),
            );
        }
        let Some(piece) = self.layout.first.filter(|piece| piece.color == self.color) else {
            return;
        };
        let to = attacks::attacks(square(row.first), piece, row.occupied);
        for last in squares(legal & to.0) {
            if piece.role == Role::Pawn && !(8..56).contains(&last) {
                for exit in &self.first_promoted_taking {
                    leaving.leave(last, exit.value(row.kings, 0, last, !self.color));
                }
            } else {
                leaving.leave(last, self.last_taken.value(row.kings, 0, last, !self.color));
            }
        }
    }

    fn promote(&self, row: &Row, legal: u64, leaving: &mut Leaving) {
        let (seventh, step) = self.color.fold_wb((6, 8), (1, -8));
        let pawn = |piece: Piece| {
            piece
                == Piece {
                    color: self.color,
                    role: Role::Pawn,
                }
        };
        if self.layout.first.is_some_and(pawn) && row.first >> 3 == seventh {
            let to = row.first.wrapping_add_signed(step);
            if !row.kings.contains(&to) {
                for last in squares(legal & !(1 << to)) {
                    for exit in &self.first_promoted {
                        leaving.leave(last, exit.value(row.kings, to, last, !self.color));
                    }
                }
            }
        }
        if pawn(self.layout.last) {
            for last in squares(legal & 0xff << (8 * seventh)) {
                let to = last.wrapping_add_signed(step);
                if row.kings.contains(&to) || row.occupied_by_first(to) {
                    continue;
                }
                for exit in &self.last_promoted {
                    leaving.leave(last, exit.value(row.kings, row.first, to, !self.color));
                }
            }
        }
    }
}

fn promotions(piece: Option<Piece>) -> impl Iterator<Item = Piece> {
    let pawn = piece.filter(|piece| piece.role == Role::Pawn);
    let roles = [Role::Queen, Role::Rook, Role::Bishop, Role::Knight];
    pawn.into_iter()
        .flat_map(move |pawn| roles.map(|role| Piece { role, ..pawn }))
}

fn squares(set: u64) -> impl Iterator<Item = u8> {
    Bitboard(set).into_iter().map(|square| square as u8)
}

/// Where the men of a row stand.
struct Row {
    kings: [u8; 2],
    first: u8,
    has_first: bool,
    /// By the kings.
    occupied: Bitboard,
}

impl Row {
    fn new(layout: &Layout, pair: usize, first: u8) -> Row {
        let kings = layout.pairs[pair];
        Row {
            kings,
            first,
            has_first: layout.first.is_some(),
            occupied: occupied(kings),
        }
    }

    /// The kings after one has moved.
    fn after(&self, color: Color, to: u8) -> [u8; 2] {
        let [white, black] = self.kings;
        color.fold_wb([to, black], [white, to])
    }

    fn occupied_by_first(&self, at: u8) -> bool {
        self.has_first && self.first == at
    }
}

/// Where a kind of move leads.
struct Exit<'t> {
    /// `None` if nothing but kings is left.
    table: Option<&'t Table>,
    /// The table has the colours exchanged, or the men the other way round.
    swapped: bool,
    crossed: bool,
}

impl<'t> Exit<'t> {
    /// To what a row's man and a last man have, or the latter alone.
    fn new(first: Option<Piece>, last: Option<Piece>, smaller: &'t Tables) -> Exit<'t> {
        let men = [first, last].into_iter().flatten();
        let (material, swapped) = Material::of_men(men);
        let table = (last.is_some()).then(|| {
            let table = smaller.shelf.get(&material);
            table.expect("smaller tables are made first")
        });
        let there = first.map(|piece| match swapped {
            true => Piece {
                color: !piece.color,
                ..piece
            },
            false => piece,
        });
        Exit {
            table: table.map(Arc::as_ref),
            swapped,
            crossed: table.is_some_and(|table| table.layout.first != there),
        }
    }

    fn value(&self, kings: [u8; 2], first: u8, last: u8, turn: Color) -> u8 {
        let mut places = Places { kings, first, last };
        let Some(table) = self.table else {
            let [white, black] = kings.map(square);
            return if white.distance(black) > 1 {
                DRAW
            } else {
                ILLEGAL
            };
        };
        if self.crossed {
            std::mem::swap(&mut places.first, &mut places.last);
        }
        let value = match self.swapped {
            true => table.value(&places.swapped(), !turn),
            false => table.value(&places, turn),
        };
        value.expect("smaller tables are whole")
    }
}
