//! Exact endgame tables for up to four men, kings included, made on demand.
//!
//! A table knows for every position of one material whether the side to move
//! wins, draws or loses, and in how many moves the mate comes when the winner
//! hurries and the loser delays (distance to mate). It is made by working
//! backwards from the mates; captures and promotions lead into smaller tables,
//! which are made first. The fifty-move rule does not count, castling rights
//! are not covered, en passant is.
//!
//! Keeping the bytes of a table between visits is left to the page.

mod bytes;
mod generate;
mod layout;
mod material;

use std::collections::BTreeMap;

use shakmaty::{Chess, Color, EnPassantMode, Move, Position};

use layout::{DRAW, ILLEGAL, Men, Table};
use prove::Watch;

pub use bytes::LoadFault;
pub use material::Material;

/// What perfect play leads to, from the side to move.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "serde", serde(rename_all = "snake_case"))]
pub enum TableResult {
    /// Mates in this many of its own moves.
    Win(u16),
    Draw,
    /// Is mated in this many of the other side's moves; 0 is mate already.
    Loss(u16),
}

/// The tables made so far.
#[derive(Default)]
pub struct Tables {
    shelf: BTreeMap<Material, Table>,
}

/// What one table holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Content {
    /// The longest mates, in moves, with White and with Black to move, White
    /// being the side named first. `None` where that side never wins.
    pub longest: [Option<u16>; 2],
    /// Bytes it takes in memory.
    pub bytes: usize,
}

impl Tables {
    pub fn new() -> Tables {
        Tables::default()
    }

    /// The result of a position, making the tables it needs. `None` if there
    /// are more than four men or castling rights, or if the watcher stopped
    /// the making.
    pub fn probe(&mut self, position: &Chess, watch: &mut dyn Watch) -> Option<TableResult> {
        let material = Material::of(position)?;
        self.make(material, watch).then_some(())?;
        self.made(position)
    }

    /// The result of a position, if its table is here already.
    pub fn made(&self, position: &Chess) -> Option<TableResult> {
        if !position.castles().is_empty() {
            return None;
        }
        let value = self.value(&Men::of(position)?, position.turn(), en_passant(position))?;
        Some(match value {
            DRAW => TableResult::Draw,
            // Odd codes are even plies: losses.
            _ if value % 2 == 1 => TableResult::Loss(u16::from(value / 2)),
            _ => TableResult::Win(u16::from(value / 2)),
        })
    }

    /// All legal moves with what each leads to, from the mover's side, the
    /// best first: quick wins, slow wins, draws, slow losses, quick losses.
    /// `None` as in [`Tables::probe`].
    pub fn best_moves(
        &mut self,
        position: &Chess,
        watch: &mut dyn Watch,
    ) -> Option<Vec<(Move, TableResult)>> {
        self.probe(position, watch)?;
        let mut moves = Vec::new();
        for m in position.legal_moves() {
            let mut after = position.clone();
            after.play_unchecked(m);
            moves.push((
                m,
                match self.probe(&after, watch)? {
                    TableResult::Loss(n) => TableResult::Win(n + 1),
                    TableResult::Draw => TableResult::Draw,
                    TableResult::Win(n) => TableResult::Loss(n),
                },
            ));
        }
        moves.sort_by_key(|(_, result)| match result {
            TableResult::Win(n) => (0, i32::from(*n)),
            TableResult::Draw => (1, 0),
            TableResult::Loss(n) => (2, -i32::from(*n)),
        });
        Some(moves)
    }

    /// Makes the table of a material and what it leads into, unless they are
    /// here. `false` if the watcher stopped it; tables finished by then stay.
    pub fn make(&mut self, material: Material, watch: &mut dyn Watch) -> bool {
        let missing = self.missing(material);
        let count = missing.len();
        for (i, material) in missing.into_iter().enumerate() {
            let mut part = Part {
                watch,
                done: i,
                count,
            };
            match generate::table(material, self, &mut part) {
                Some(table) => self.shelf.insert(material, table),
                None => return false,
            };
        }
        true
    }

    /// The tables that a material still needs, itself included, in the order
    /// in which to make (or load) them.
    pub fn missing(&self, material: Material) -> Vec<Material> {
        let mut missing = Vec::new();
        self.collect(material, &mut missing);
        missing
    }

    /// The tables that are here.
    pub fn materials(&self) -> impl Iterator<Item = Material> + '_ {
        self.shelf.keys().copied()
    }

    /// What is in a table, if it is here.
    pub fn content(&self, material: Material) -> Option<Content> {
        let table = self.shelf.get(&material)?;
        Some(Content {
            longest: table.longest(),
            bytes: table.bytes(),
        })
    }

    /// A table as bytes to be kept, if it is here.
    pub fn save(&self, material: Material) -> Option<Vec<u8>> {
        Some(bytes::write(material, self.shelf.get(&material)?))
    }

    /// Takes a table from bytes that [`Tables::save`] gave.
    ///
    /// # Errors
    /// If the bytes are not such, or were damaged.
    pub fn load(&mut self, bytes: &[u8]) -> Result<Material, LoadFault> {
        let (material, table) = bytes::read(bytes)?;
        self.shelf.insert(material, table);
        Ok(material)
    }

    fn collect(&self, material: Material, missing: &mut Vec<Material>) {
        if material.is_dead() || self.shelf.contains_key(&material) || missing.contains(&material) {
            return;
        }
        for smaller in material.leads_into() {
            self.collect(smaller, missing);
        }
        missing.push(material);
    }

    /// The stored value, [`ILLEGAL`] if the side that just moved is in check.
    /// `None` if there is no such table.
    fn value(&self, men: &Men, turn: Color, en_passant: bool) -> Option<u8> {
        let (material, men, swapped) = men.arranged();
        let turn = if swapped { !turn } else { turn };
        if material.is_dead() {
            return Some(if men.leave_a_king_to_take(turn) {
                ILLEGAL
            } else {
                DRAW
            });
        }
        let table = self.shelf.get(&material)?;
        Some(table.value(&men, turn, en_passant))
    }
}

fn en_passant(position: &Chess) -> bool {
    position.ep_square(EnPassantMode::Legal).is_some()
}

/// Progress of one table among several.
struct Part<'w> {
    watch: &'w mut dyn Watch,
    done: usize,
    count: usize,
}

impl Part<'_> {
    fn go_on(&mut self, entries: u64, share: f32) -> bool {
        let share = (self.done as f32 + share) / self.count as f32;
        self.watch.go_on(entries, share.clamp(0.0, 1.0))
    }
}

#[cfg(test)]
mod tests;
