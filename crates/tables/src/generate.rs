//! Retrograde analysis: from the mates backwards.
//!
//! First every position is judged by itself: legal or not, how many moves
//! stay within the table, and what the moves out of it (captures and
//! promotions) are worth. Then, ply by ply, what a lost position was reached
//! from is won, and what can only reach won positions is lost.

use shakmaty::{Bitboard, Color, Piece, Role, Square, attacks};

use super::layout::{DRAW, ILLEGAL, Layout, MATE, Men, Table};
use super::material::Material;
use super::{Part, Tables};

/// Entries between two looks at the watcher.
const POLL: usize = 1 << 16;

/// A move that keeps the position from being lost is known.
const SAFE: u8 = 255;

/// Makes a table; `smaller` has all that it leads into. `None` if stopped.
pub(super) fn table(material: Material, smaller: &Tables, part: &mut Part) -> Option<Table> {
    let layout = Layout::new(material);
    let entries = layout.entries();
    let mut work = Work {
        values: [vec![DRAW; entries], vec![DRAW; entries]],
        open: [vec![0; entries], vec![0; entries]],
        exits: [vec![DRAW; entries], vec![DRAW; entries]],
        layout: &layout,
        smaller,
        part,
        spent: 0,
    };
    work.mark_illegal(0.0..0.1)?;
    work.look_ahead(0.1..0.5)?;
    work.go_back()?;
    let values = work.values;
    Some(Table { layout, values })
}

/// Marks what is no legal position, so that a table read from bytes can be
/// built on.
pub(super) fn mark_illegal(layout: &Layout, values: &mut [Vec<u8>; 2]) {
    for turn in Color::ALL {
        for (index, value) in values[turn as usize].iter_mut().enumerate() {
            if !is_legal(layout, index, turn) {
                *value = ILLEGAL;
            }
        }
    }
}

struct Work<'w, 'p> {
    layout: &'w Layout,
    values: [Vec<u8>; 2],
    /// Moves within the table that are not known to lose, or [`SAFE`].
    open: [Vec<u8>; 2],
    /// The slowest loss among the moves out of the table.
    exits: [Vec<u8>; 2],
    smaller: &'w Tables,
    part: &'w mut Part<'p>,
    spent: u64,
}

impl Work<'_, '_> {
    fn mark_illegal(&mut self, share: std::ops::Range<f32>) -> Option<()> {
        self.each(share, |work, index, turn| {
            if !is_legal(work.layout, index, turn) {
                work.values[turn as usize][index] = ILLEGAL;
            }
        })
    }

    /// Counts the moves of every position and judges those that leave the
    /// table.
    fn look_ahead(&mut self, share: std::ops::Range<f32>) -> Option<()> {
        self.each(share, |work, index, turn| {
            if work.values[turn as usize][index] != ILLEGAL {
                work.judge(index, turn);
            }
        })
    }

    fn each(
        &mut self,
        share: std::ops::Range<f32>,
        mut act: impl FnMut(&mut Self, usize, Color),
    ) -> Option<()> {
        let entries = self.layout.entries();
        let mut done = 0;
        for turn in Color::ALL {
            for index in 0..entries {
                if index % POLL == 0 {
                    let part = done as f32 / (2 * entries) as f32;
                    self.poll(share.start + (share.end - share.start) * part)?;
                }
                done += 1;
                act(self, index, turn);
            }
        }
        self.spent += 2 * entries as u64;
        Some(())
    }

    fn poll(&mut self, share: f32) -> Option<()> {
        self.part.go_on(self.spent, share).then_some(())
    }

    fn judge(&mut self, index: usize, turn: Color) {
        let Some((squares, passing)) = self.layout.squares(index, turn) else {
            return;
        };
        let mut verdict = Judged::default();
        let placed = Placed::new(self.layout, &squares);
        for man in 0..self.layout.pieces.len() {
            let piece = self.layout.pieces[man];
            if piece.color != turn {
                continue;
            }
            if piece.role == Role::Pawn {
                self.judge_pawn(&placed, man, passing, &mut verdict);
                continue;
            }
            let from = placed.at(man);
            let reach = attacks::attacks(from, piece, placed.occupied) & !placed.of(turn);
            for to in reach {
                if placed.occupied.contains(to) {
                    verdict.leave(self.outside(&placed, man, to, piece.role, Some(to)));
                } else {
                    self.stay(&placed, man, to, &mut verdict);
                }
            }
        }
        let Judged {
            inside,
            win,
            loss,
            draws,
            any,
        } = verdict;
        let side = turn as usize;
        self.exits[side][index] = loss;
        self.open[side][index] = if draws { SAFE } else { inside };
        if win != DRAW {
            self.values[side][index] = win;
        } else if inside == 0 && !draws {
            if loss != DRAW {
                self.values[side][index] = loss;
            } else if !any {
                if placed.in_check(turn) {
                    self.values[side][index] = MATE;
                }
                self.open[side][index] = SAFE;
            }
        }
    }

    fn judge_pawn(&self, placed: &Placed, man: usize, passing: bool, verdict: &mut Judged) {
        let from = placed.at(man);
        let turn = self.layout.pieces[man].color;
        let last = turn.fold_wb(7, 0);
        let mut leave = |to: Square, taken: Option<Square>| {
            if to.rank() as i32 == last {
                for role in [Role::Queen, Role::Rook, Role::Bishop, Role::Knight] {
                    verdict.leave(self.outside(placed, man, to, role, taken));
                }
            } else {
                verdict.leave(self.outside(placed, man, to, Role::Pawn, taken));
            }
        };
        for to in attacks::pawn_attacks(turn, from) & placed.of(!turn) {
            leave(to, Some(to));
        }
        if passing {
            let other = placed.at(5 - man);
            let to = Square::from_coords(
                other.file(),
                turn.fold_wb(shakmaty::Rank::Sixth, shakmaty::Rank::Third),
            );
            leave(to, Some(other));
        }
        let Some(to) = from.offset(turn.fold_wb(8, -8)) else {
            return;
        };
        if placed.occupied.contains(to) {
            return;
        }
        if to.rank() as i32 == last {
            leave(to, None);
            return;
        }
        self.stay(placed, man, to, verdict);
        if from.rank() as i32 == turn.fold_wb(1, 6)
            && let Some(far) = to.offset(turn.fold_wb(8, -8))
            && !placed.occupied.contains(far)
        {
            self.stay(placed, man, far, verdict);
        }
    }

    /// A move within the table, if it is legal.
    fn stay(&self, placed: &Placed, man: usize, to: Square, verdict: &mut Judged) {
        let turn = self.layout.pieces[man].color;
        let index = self.after(placed, man, to);
        if self.values[!turn as usize][index] != ILLEGAL {
            verdict.inside += 1;
            verdict.any = true;
        }
    }

    fn after(&self, placed: &Placed, man: usize, to: Square) -> usize {
        if self.layout.en_passant && self.layout.pieces[man].role == Role::Pawn {
            let (moved, other) = (to, placed.at(5 - man));
            let double = placed.at(man).distance(to) == 2;
            if double && moved.rank() == other.rank() && moved.distance(other) == 1 {
                let mut squares = placed.squares;
                squares[man] = to as u8;
                let turn = self.layout.pieces[man].color;
                return self.layout.index_passing(&squares, !turn);
            }
        }
        self.layout
            .moved(placed.index, &placed.squares, man, to as u8)
    }

    /// The value, for the other side, of a capture or promotion.
    fn outside(
        &self,
        placed: &Placed,
        man: usize,
        to: Square,
        role: Role,
        taken: Option<Square>,
    ) -> u8 {
        let turn = self.layout.pieces[man].color;
        let rest = (0..self.layout.pieces.len()).filter_map(|i| {
            let (square, piece) = (placed.at(i), self.layout.pieces[i]);
            if i == man {
                Some((to, role.of(turn)))
            } else {
                (Some(square) != taken).then_some((square, piece))
            }
        });
        let men = Men::new(rest);
        self.smaller
            .value(&men, !turn, false)
            .expect("smaller tables are made first")
    }

    /// Ply by ply from the mates to the longest win.
    fn go_back(&mut self) -> Option<()> {
        let mut last = self.values.iter().flatten();
        let mut longest = last
            .by_ref()
            .copied()
            .filter(|&v| v != ILLEGAL)
            .max()
            .unwrap_or(DRAW);
        let mut value = MATE;
        while value <= longest {
            // Half of the mates are usually found within a quarter of the plies.
            let share = 1.0 - 0.5 / (1.0 + f32::from(value) / 16.0);
            for turn in Color::ALL {
                let mut start = 0;
                while let Some(index) = next_at(&self.values[turn as usize], start, value) {
                    start = index + 1;
                    self.spent += 1;
                    if self.spent.is_multiple_of(POLL as u64) {
                        self.poll(share)?;
                    }
                    self.spread(index, turn, value, &mut longest);
                }
            }
            value += 1;
        }
        Some(())
    }

    /// Tells the positions from which this one is reached.
    fn spread(&mut self, index: usize, turn: Color, value: u8, longest: &mut u8) {
        let Some((squares, passing)) = self.layout.squares(index, turn) else {
            return;
        };
        let layout = self.layout;
        let placed = Placed::new(layout, &squares);
        let mover = !turn;
        for man in 0..self.layout.pieces.len() {
            let piece = self.layout.pieces[man];
            if piece.color != mover {
                continue;
            }
            for from in self.origins(&placed, man, piece, passing) {
                let index = self
                    .layout
                    .moved(placed.index, &placed.squares, man, from as u8);
                self.tell(index, mover, value, longest);
                let mut before = placed.squares;
                before[man] = from as u8;
                if self.layout.may_pass(&before, mover) {
                    let index = self.layout.index_passing(&before, mover);
                    self.tell(index, mover, value, longest);
                }
            }
        }
    }

    /// One move of this position leads to one of that value.
    fn tell(&mut self, index: usize, mover: Color, value: u8, longest: &mut u8) {
        let side = mover as usize;
        let old = self.values[side][index];
        if old == ILLEGAL {
            return;
        }
        let new = value + 1;
        if value % 2 == 1 {
            if old == DRAW || (old.is_multiple_of(2) && old > new) {
                self.values[side][index] = new;
                *longest = (*longest).max(new);
            }
        } else if old == DRAW && self.open[side][index] != SAFE {
            self.open[side][index] -= 1;
            if self.open[side][index] == 0 {
                let loss = new.max(self.exits[side][index]);
                self.values[side][index] = loss;
                *longest = (*longest).max(loss);
            }
        }
    }

    /// Where a man may have come from without a capture or promotion.
    fn origins(&self, placed: &Placed, man: usize, piece: Piece, passing: bool) -> Bitboard {
        let to = placed.at(man);
        if piece.role != Role::Pawn {
            if passing {
                return Bitboard::EMPTY;
            }
            return attacks::attacks(to, piece, placed.occupied) & !placed.occupied;
        }
        let back = piece.color.fold_wb(-8, 8);
        let mut origins = Bitboard::EMPTY;
        let home = piece.color.fold_wb(0, 7);
        let Some(near) = to.offset(back) else {
            return origins;
        };
        if placed.occupied.contains(near) || near.rank() as i32 == home {
            return origins;
        }
        if !passing {
            origins.add(near);
        }
        if to.rank() as i32 == piece.color.fold_wb(3, 4)
            && let Some(far) = near.offset(back)
            && !placed.occupied.contains(far)
        {
            let beside = self.layout.en_passant && {
                let other = placed.at(5 - man);
                other.rank() == to.rank() && other.distance(to) == 1
            };
            if beside == passing {
                origins.add(far);
            }
        }
        origins
    }
}

/// What the moves of one position come to.
#[derive(Default)]
struct Judged {
    /// Moves within the table.
    inside: u8,
    /// The quickest win among the moves out of it, and the slowest loss.
    win: u8,
    loss: u8,
    draws: bool,
    any: bool,
}

impl Judged {
    /// A move out of the table, by its value for the other side.
    fn leave(&mut self, value: u8) {
        match value {
            ILLEGAL => return,
            DRAW => self.draws = true,
            lost if lost % 2 == 1 => {
                let win = lost + 1;
                if self.win == DRAW || win < self.win {
                    self.win = win;
                }
            }
            won => self.loss = self.loss.max(won + 1),
        }
        self.any = true;
    }
}

/// Men on their squares, as sets.
struct Placed<'l> {
    squares: [u8; 4],
    /// Their number, en passant or not.
    index: usize,
    pieces: &'l [Piece],
    occupied: Bitboard,
    white: Bitboard,
}

impl<'l> Placed<'l> {
    fn new(layout: &'l Layout, squares: &[u8; 4]) -> Placed<'l> {
        let pieces = &layout.pieces[..];
        let mut white = Bitboard::EMPTY;
        let mut occupied = Bitboard::EMPTY;
        for (&square, piece) in squares.iter().zip(pieces) {
            let square = Square::new(square.into());
            occupied.add(square);
            if piece.color.is_white() {
                white.add(square);
            }
        }
        Placed {
            squares: *squares,
            index: layout.index(squares),
            pieces,
            occupied,
            white,
        }
    }

    fn at(&self, man: usize) -> Square {
        Square::new(self.squares[man].into())
    }

    fn of(&self, color: Color) -> Bitboard {
        color.fold_wb(self.white, self.occupied & !self.white)
    }

    fn in_check(&self, side: Color) -> bool {
        let king = self.at(side.fold_wb(0, 1));
        (0..self.pieces.len()).any(|man| {
            let piece = self.pieces[man];
            piece.color != side
                && attacks::attacks(self.at(man), piece, self.occupied).contains(king)
        })
    }
}

fn is_legal(layout: &Layout, index: usize, turn: Color) -> bool {
    let Some((squares, passing)) = layout.squares(index, turn) else {
        return false;
    };
    let placed = Placed::new(layout, &squares);
    if placed.occupied.count() < layout.pieces.len()
        || (layout.twins && squares[2] > squares[3])
        || placed.in_check(!turn)
    {
        return false;
    }
    if passing {
        // The squares that the pawn has just crossed are empty.
        let moved = placed.at(turn.fold_wb(3, 2));
        let back = turn.fold_wb(8, -8);
        let crossed = [moved.offset(back), moved.offset(2 * back)];
        return crossed
            .into_iter()
            .flatten()
            .all(|s| !placed.occupied.contains(s));
    }
    true
}

/// The next place at or after `start` that holds `value`.
fn next_at(values: &[u8], start: usize, value: u8) -> Option<usize> {
    const BLOCK: usize = 64;
    let mut at = start;
    while at < values.len() {
        if at.is_multiple_of(BLOCK) {
            // Whole blocks are compared at once.
            while let Some(block) = values[at..].first_chunk::<BLOCK>() {
                if block.iter().fold(false, |any, &v| any | (v == value)) {
                    break;
                }
                at += BLOCK;
            }
        }
        let end = values.len().min(at / BLOCK * BLOCK + BLOCK);
        match values[at..end].iter().position(|&v| v == value) {
            Some(found) => return Some(at + found),
            None => at = end,
        }
    }
    None
}
