//! The moves that stay within a table, a row at a time.
//!
//! A king's step, or a move of the row's man, carries a set of squares of the
//! last man to another row. The last man's own moves stay in its row.

use shakmaty::{Color, Piece, Role, attacks};

use super::layout::{Layout, Step, beside, occupied, square};

/// Squares of the last man, by row. Where a pawn beside may be taken en
/// passant the positions are others; without such pawns there are none.
#[derive(Clone, Default)]
pub(super) struct Sets {
    pub plain: Vec<u64>,
    pub passing: Vec<u64>,
}

impl Sets {
    pub fn empty(layout: &Layout) -> Sets {
        Sets {
            plain: vec![0; layout.rows()],
            passing: vec![0; if layout.en_passant { layout.rows() } else { 0 }],
        }
    }

    pub fn row(&self, row: usize) -> RowSet {
        RowSet {
            plain: self.plain[row],
            passing: self.passing.get(row).copied().unwrap_or(0),
        }
    }

    pub fn add(&mut self, row: usize, set: RowSet) {
        self.plain[row] |= set.plain;
        if set.passing != 0 {
            self.passing[row] |= set.passing;
        }
    }

    pub fn remove(&mut self, row: usize, set: RowSet) {
        self.plain[row] &= !set.plain;
        if set.passing != 0 {
            self.passing[row] &= !set.passing;
        }
    }

    /// Empties the row.
    pub fn take(&mut self, row: usize) -> RowSet {
        let set = self.row(row);
        self.remove(row, set);
        set
    }
}

/// The same of one row.
#[derive(Clone, Copy, Default, PartialEq, Eq)]
pub(super) struct RowSet {
    pub plain: u64,
    pub passing: u64,
}

impl RowSet {
    pub fn is_empty(self) -> bool {
        self.plain | self.passing == 0
    }

    /// What a pawn's double step onto a square beside `near` leads to: with
    /// en passant where the other pawn stands there.
    fn after_double(self, near: u64) -> u64 {
        (self.plain & !near) | (self.passing & near)
    }
}

/// The moves of one side.
pub(super) struct Links<'l> {
    layout: &'l Layout,
    color: Color,
    /// By the kings' number, where the side's king steps to and comes from.
    steps: Vec<Vec<Step>>,
    origins: Vec<Vec<Step>>,
    /// The row's man, if it is the side's.
    first: Option<Piece>,
    /// The last man, if it is the side's.
    last: Option<Piece>,
}

impl Links<'_> {
    pub fn new(layout: &Layout, color: Color) -> Links<'_> {
        let steps = layout.steps(color);
        let mut origins = vec![Vec::new(); steps.len()];
        for (pair, steps) in steps.iter().enumerate() {
            for step in steps {
                origins[step.pair].push(Step {
                    pair,
                    mirror: step.mirror.back(),
                });
            }
        }
        Links {
            layout,
            color,
            steps,
            origins,
            first: layout.first.filter(|piece| piece.color == color),
            last: Some(layout.last).filter(|piece| piece.color == color),
        }
    }

    /// The positions of a row from which a move leads into `sets`, which are
    /// legal positions with the other side to move.
    pub fn sources(&self, pair: usize, first: u8, sets: &Sets) -> u64 {
        let layout = self.layout;
        let mut found = 0;
        for step in &self.steps[pair] {
            let set = sets.plain[layout.row(step.pair, step.mirror.square(first))];
            if set != 0 {
                found |= step.mirror.back().set(set);
            }
        }
        let forward = self.color.fold_wb(8, -8);
        self.each_move(pair, first, forward, |to, crossed, double| {
            let set = sets.row(layout.row(pair, to));
            let near = if double { self.near(to) } else { 0 };
            found |= set.after_double(near) & !crossed;
        });
        found | self.within(pair, first, sets.row(layout.row(pair, first)))
    }

    /// Marks in `reached` all positions from which a move leads into `set`.
    pub fn spread(&self, pair: usize, first: u8, set: RowSet, reached: &mut [u64]) {
        let layout = self.layout;
        if set.plain != 0 {
            for step in &self.origins[pair] {
                reached[layout.row(step.pair, step.mirror.square(first))] |=
                    step.mirror.set(set.plain);
            }
        }
        let backward = self.color.fold_wb(-8, 8);
        self.each_move(pair, first, backward, |from, crossed, double| {
            let near = if double { self.near(first) } else { 0 };
            reached[layout.row(pair, from)] |= set.after_double(near) & !crossed;
        });
        reached[layout.row(pair, first)] |= self.within(pair, first, set);
    }

    /// Squares beside a pawn that counts for en passant.
    fn near(&self, pawn: u8) -> u64 {
        if self.layout.en_passant {
            beside(pawn)
        } else {
            0
        }
    }

    /// Moves of the row's man past the kings, a pawn's by `step`: where to,
    /// which squares are crossed, and whether a pawn goes two squares.
    fn each_move(&self, pair: usize, first: u8, step: i8, mut act: impl FnMut(u8, u64, bool)) {
        let Some(piece) = self.first else { return };
        let kings = self.layout.pairs[pair];
        if piece.role != Role::Pawn {
            let at = square(first);
            let kings = occupied(kings);
            for to in attacks::attacks(at, piece, kings) & !kings {
                act(to as u8, attacks::between(at, to).0, false);
            }
            return;
        }
        let near = first.wrapping_add_signed(step);
        if !(8..56).contains(&near) || kings.contains(&near) {
            return;
        }
        act(near, 0, false);
        let far = near.wrapping_add_signed(step);
        // Either way a double step has one end on the pawn's first rank.
        let home = self.color.fold_wb(1, 6);
        let start = if step == self.color.fold_wb(8, -8) {
            first
        } else {
            far
        };
        if start >> 3 == home && !kings.contains(&far) {
            act(far, 1 << near, true);
        }
    }

    /// From where the last man's moves lead into `set`, without leaving the
    /// row.
    fn within(&self, pair: usize, first: u8, set: RowSet) -> u64 {
        let Some(piece) = self.last else { return 0 };
        if set.is_empty() {
            return 0;
        }
        let mut empty = !0;
        for king in self.layout.pairs[pair] {
            empty &= !(1 << king);
        }
        if self.layout.first.is_some() {
            empty &= !(1 << first);
        }
        if piece.role == Role::Pawn {
            let double = set.after_double(self.near(first));
            return pawn_origins(piece.color, set.plain, double, empty);
        }
        origins(piece.role, set.plain, empty)
    }
}

/// From where pawns come by one step into `set`, or by two into `double`.
fn pawn_origins(color: Color, set: u64, double: u64, empty: u64) -> u64 {
    let middle = 0x00ff_ffff_ffff_ff00;
    match color {
        Color::White => {
            let crossed = double >> 8 & 0x0000_0000_00ff_0000 & empty;
            (set >> 8 | crossed >> 8) & middle & empty
        }
        Color::Black => {
            let crossed = double << 8 & 0x0000_ff00_0000_0000 & empty;
            (set << 8 | crossed << 8) & middle & empty
        }
    }
}

const NOT_A: u64 = 0xfefe_fefe_fefe_fefe;
const NOT_H: u64 = 0x7f7f_7f7f_7f7f_7f7f;

/// From where pieces other than pawns come into `set` over empty squares.
fn origins(role: Role, set: u64, empty: u64) -> u64 {
    let straight = || {
        flood::<8>(set, empty, !0)
            | flood::<-8>(set, empty, !0)
            | flood::<1>(set, empty, NOT_A)
            | flood::<-1>(set, empty, NOT_H)
    };
    let diagonal = || {
        flood::<9>(set, empty, NOT_A)
            | flood::<-7>(set, empty, NOT_A)
            | flood::<7>(set, empty, NOT_H)
            | flood::<-9>(set, empty, NOT_H)
    };
    let all = match role {
        Role::Queen => straight() | diagonal(),
        Role::Rook => straight(),
        Role::Bishop => diagonal(),
        _ => {
            let one = (set << 1 & NOT_A) | (set >> 1 & NOT_H);
            let two = (set << 2 & NOT_A & NOT_A << 1) | (set >> 2 & NOT_H & NOT_H >> 1);
            one << 16 | one >> 16 | two << 8 | two >> 8
        }
    };
    all & empty
}

/// Where one or more steps over empty squares lead, no step coming out on
/// another side of the board.
#[inline]
fn flood<const STEP: i32>(set: u64, empty: u64, inside: u64) -> u64 {
    let step = |set: u64, times: i32| {
        if STEP > 0 {
            set << (STEP * times)
        } else {
            set >> (-STEP * times)
        }
    };
    let mut open = empty & inside;
    let mut reached = set | (open & step(set, 1));
    open &= step(open, 1);
    reached |= open & step(reached, 2);
    open &= step(open, 2);
    reached |= open & step(reached, 4);
    step(reached, 1) & inside
}
