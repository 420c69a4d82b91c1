//! Retrograde analysis: from the mates backwards, a row at a time.
//!
//! What the moves out of the table are worth is looked up first. Then, ply by
//! ply, what a lost position is reached from is won, and what leads to won
//! positions only is lost.

use shakmaty::{Bitboard, Color};

use super::exits::{Exits, Leaving};
use super::layout::{DRAW, ILLEGAL, Layout, MATE, SIDES, Table, Values, mark_illegal};
use super::links::{Links, RowSet, Sets};
use super::material::Material;
use super::{Making, Tables};

/// Rows between two looks at the watcher.
const POLL: usize = 1 << 12;

/// Makes a table; `smaller` has all that it leads into. `None` if stopped.
pub(super) fn table(material: Material, smaller: &Tables, making: &mut Making) -> Option<Table> {
    let layout = Layout::new(material);
    let mut work = Work {
        sides: SIDES.map(|side| Side::new(&layout, side)),
        links: SIDES.map(|side| Links::new(&layout, side)),
        layout: &layout,
        making,
        spent: 0,
    };
    work.look_ahead(smaller)?;
    work.go_back()?;
    let mut values = work.sides.map(|side| side.values);
    mark_illegal(&layout, &mut values);
    let values = Values::Whole(values);
    Some(Table { layout, values })
}

struct Work<'w, 'm> {
    layout: &'w Layout,
    /// Black and White to move.
    sides: [Side; 2],
    links: [Links<'w>; 2],
    making: &'w mut Making<'m>,
    spent: u64,
}

/// What is known with one side to move.
struct Side {
    color: Color,
    values: Vec<u8>,
    /// Not known to be won.
    open: Sets,
    lost: Sets,
    /// Some move out of the table is not known to lose.
    held: Sets,
    /// No move, except perhaps en passant.
    immobile: Vec<u64>,
    /// Found in the last ply.
    fresh: Sets,
    /// What leads there, or out of the table at the right time.
    reached: Sets,
    /// By value, where moves out of the table win, and where all of them have
    /// lost by then.
    wins: Vec<Vec<Place>>,
    losses: Vec<Vec<Place>>,
}

#[derive(Clone, Copy)]
struct Place {
    row: u32,
    last: u8,
    passing: bool,
}

impl Place {
    fn set(self) -> (usize, RowSet) {
        let set = 1 << self.last;
        let (plain, passing) = if self.passing { (0, set) } else { (set, 0) };
        (self.row as usize, RowSet { plain, passing })
    }
}

impl Side {
    fn new(layout: &Layout, color: Color) -> Side {
        let mut open = Sets::empty(layout);
        for (pair, first) in layout.each_row() {
            let set = RowSet {
                plain: layout.legal(pair, first)[color as usize],
                passing: layout.legal_passing(pair, first)[color as usize],
            };
            open.add(layout.row(pair, first), set);
        }
        let empty = Sets::empty(layout);
        Side {
            color,
            values: vec![DRAW; layout.entries()],
            open,
            immobile: empty.passing.clone(),
            lost: empty.clone(),
            held: empty.clone(),
            fresh: empty.clone(),
            reached: empty,
            wins: vec![Vec::new(); ILLEGAL.into()],
            losses: vec![Vec::new(); ILLEGAL.into()],
        }
    }

    /// Takes what the moves out of the table are worth.
    fn take(&mut self, row: usize, passing: bool, leaving: &Leaving) {
        for last in Bitboard(leaving.any) {
            let place = Place {
                row: row as u32,
                last: last as u8,
                passing,
            };
            self.held.add(row, place.set().1);
            let last = last as usize;
            if leaving.wins[last] != DRAW {
                self.wins[usize::from(leaving.wins[last])].push(place);
            } else if leaving.draws >> last & 1 == 0 {
                self.losses[usize::from(leaving.losses[last])].push(place);
            }
        }
    }

    /// The value of the last moves out of the table that decide anything.
    fn last_exit(&self) -> Option<usize> {
        let mut both = self.wins.iter().zip(&self.losses);
        both.rposition(|(wins, losses)| !wins.is_empty() || !losses.is_empty())
    }

    fn note(&mut self, layout: &Layout, pair: usize, first: u8, value: u8, new: RowSet) {
        let row = layout.row(pair, first);
        self.fresh.add(row, new);
        for last in Bitboard(new.plain) {
            self.values[row * 64 + last as usize] = value;
        }
        for last in Bitboard(new.passing) {
            self.values[layout.passing(pair, first, last as u8, self.color)] = value;
        }
    }
}

impl Work<'_, '_> {
    fn poll(&mut self, share: f32) -> Option<()> {
        self.making.go_on(self.spent, share).then_some(())
    }

    /// Judges the moves out of the table, and finds the mates.
    fn look_ahead(&mut self, smaller: &Tables) -> Option<()> {
        let layout = self.layout;
        let exits = SIDES.map(|side| Exits::new(layout, side, smaller));
        for (pair, first) in layout.each_row() {
            let row = layout.row(pair, first);
            if row.is_multiple_of(POLL) {
                self.poll(0.5 * row as f32 / layout.rows() as f32)?;
            }
            self.spent += 128;
            for (at, exits) in exits.iter().enumerate() {
                let legal = self.sides[at].open.row(row);
                let leaving = exits.judge(pair, first, legal.plain);
                self.sides[at].take(row, false, &leaving);
                let mut still = legal.plain & !leaving.any;
                if still != 0 {
                    still &= !self.links[at].sources(pair, first, &self.sides[1 - at].open);
                }
                // In check, the other side to move would not be legal.
                let plain = still & !self.sides[1 - at].open.plain[row];
                let mut passing = 0;
                if legal.passing != 0 {
                    let leaving = exits.judge_passing(pair, first, legal.passing);
                    self.sides[at].take(row, true, &leaving);
                    self.sides[at].immobile[row] = still;
                    passing = plain & legal.passing & !leaving.any;
                }
                let mates = RowSet { plain, passing };
                self.sides[at].lost.add(row, mates);
                self.sides[at].note(layout, pair, first, MATE, mates);
            }
        }
        Some(())
    }

    /// Ply by ply from the mates to the longest win.
    fn go_back(&mut self) -> Option<()> {
        let last_exit = self.sides.iter().filter_map(Side::last_exit).max();
        let mut value = MATE;
        let mut found = true;
        while found || usize::from(value) < last_exit.unwrap_or(0) {
            // Half of the mates are usually found within a quarter of the plies.
            self.poll(1.0 - 0.5 / (1.0 + f32::from(value) / 16.0))?;
            for mover in SIDES {
                self.spread(mover);
            }
            value += 1;
            found = false;
            for mover in SIDES {
                found |= match value % 2 {
                    0 => self.win(mover, value),
                    _ => self.lose(mover, value),
                };
            }
        }
        Some(())
    }

    /// Marks what leads to the positions found last.
    fn spread(&mut self, mover: Color) {
        let mut fresh = std::mem::take(&mut self.sides[!mover as usize].fresh);
        let reached = &mut self.sides[mover as usize].reached.plain;
        for (pair, first) in self.layout.each_row() {
            let set = fresh.take(self.layout.row(pair, first));
            if !set.is_empty() {
                self.spent += 1;
                self.links[mover as usize].spread(pair, first, set, reached);
            }
        }
        self.sides[!mover as usize].fresh = fresh;
    }

    /// What was reached is won; whether there was any.
    fn win(&mut self, mover: Color, value: u8) -> bool {
        let side = &mut self.sides[mover as usize];
        for place in std::mem::take(&mut side.wins[usize::from(value)]) {
            let (row, set) = place.set();
            side.reached.add(row, set);
        }
        let mut found = false;
        for (pair, first) in self.layout.each_row() {
            let row = self.layout.row(pair, first);
            let mut new = side.reached.take(row);
            if new.is_empty() {
                continue;
            }
            let open = side.open.row(row);
            new.plain &= open.plain;
            new.passing = (new.passing | new.plain) & open.passing;
            side.open.remove(row, new);
            side.note(self.layout, pair, first, value, new);
            found |= !new.is_empty();
        }
        found
    }

    /// What was reached is lost, unless there is a way out; whether there was
    /// any.
    fn lose(&mut self, mover: Color, value: u8) -> bool {
        let [black, white] = &mut self.sides;
        let (side, other) = match mover {
            Color::Black => (black, white),
            Color::White => (white, black),
        };
        for place in std::mem::take(&mut side.losses[usize::from(value)]) {
            let (row, set) = place.set();
            side.held.remove(row, set);
            side.reached.add(row, set);
        }
        let mut found = false;
        for (pair, first) in self.layout.each_row() {
            let row = self.layout.row(pair, first);
            let reached = side.reached.take(row);
            if reached.is_empty() {
                continue;
            }
            let (open, lost) = (side.open.row(row), side.lost.row(row));
            let held = side.held.row(row);
            let mut plain = reached.plain & open.plain & !lost.plain & !held.plain;
            if plain != 0 {
                self.spent += 1;
                plain &= !self.links[mover as usize].sources(pair, first, &other.open);
            }
            let mut passing = (reached.passing | plain) & open.passing;
            if passing != 0 {
                passing &= !lost.passing & !held.passing;
                passing &= lost.plain | plain | side.immobile[row];
            }
            let new = RowSet { plain, passing };
            side.lost.add(row, new);
            side.note(self.layout, pair, first, value, new);
            found |= !new.is_empty();
        }
        found
    }
}
