//! Exact endgame tables for up to four men, kings included, made on demand.
//!
//! A table knows for every position of one material whether the side to move
//! wins, draws or loses, and in how many moves the mate comes when the winner
//! hurries and the loser delays (distance to mate). It is made by working
//! backwards from the mates; captures and promotions lead into smaller tables,
//! which are made first. The fifty-move rule does not count, castling rights
//! are not covered, en passant is.
//!
//! Where tables are kept between runs is left to a [`Keeper`], or to the page.

#![deny(missing_docs)]

mod bytes;
mod exits;
mod generate;
mod layout;
mod links;
mod material;
mod packed;
#[cfg(feature = "syzygy")]
pub mod syzygy;

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use shakmaty::{Chess, Color, EnPassantMode, Move, Position};

use layout::{DRAW, Placement, Table};
use prove::Watch;

pub use bytes::{FORMAT, LoadFault};
pub use material::Material;

/// What perfect play leads to, from the side to move.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "serde", serde(rename_all = "snake_case"))]
pub enum TableResult {
    /// Mates in this many of its own moves.
    Win(u16),
    /// Nobody can force mate.
    Draw,
    /// Is mated in this many of the other side's moves; 0 is mate already.
    Loss(u16),
}

/// Keeps the bytes of tables between runs.
pub trait Keeper: Send + Sync {
    /// The bytes kept of a table, if there are any.
    fn fetch(&self, material: Material) -> Option<Vec<u8>>;

    /// What was fetched is no good: the table is made anew and kept again.
    fn refused(&self, material: Material, fault: LoadFault);

    /// Keeps a table that was just made.
    fn keep(&self, made: Made);
}

/// A table that was just made.
pub struct Made {
    /// The men that the table is of.
    pub material: Material,
    table: Arc<Table>,
}

impl Made {
    /// The bytes to be kept. Packing them takes about as long as the making.
    pub fn bytes(&self) -> Vec<u8> {
        bytes::write(self.material, &self.table)
    }
}

/// Keeps them in memory.
#[derive(Default)]
pub struct InMemory {
    kept: Mutex<BTreeMap<Material, Vec<u8>>>,
}

impl Keeper for InMemory {
    fn fetch(&self, material: Material) -> Option<Vec<u8>> {
        locked(&self.kept).get(&material).cloned()
    }

    fn refused(&self, material: Material, _: LoadFault) {
        locked(&self.kept).remove(&material);
    }

    fn keep(&self, made: Made) {
        locked(&self.kept).insert(made.material, made.bytes());
    }
}

fn locked<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

/// Who stands better under best play, from the side to move, the fifty-move
/// rule counted (FIDE Laws 9.3).
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Outcome {
    /// The side to move wins.
    Win,
    /// Neither side wins.
    Draw,
    /// The other side wins.
    Loss,
}

/// What is known of a position for certain.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Exact {
    /// Who wins, by the rules a file knows.
    pub outcome: Outcome,
    /// A draw that would be decided without the fifty-move rule.
    pub by_rule: bool,
    /// Moves to mate, the winner's, where they are known.
    pub mate: Option<u16>,
}

impl Exact {
    /// The same from the side that has just moved.
    fn before(self) -> Exact {
        let (outcome, more) = match self.outcome {
            Outcome::Win => (Outcome::Loss, 0),
            Outcome::Draw => (Outcome::Draw, 0),
            Outcome::Loss => (Outcome::Win, 1),
        };
        Exact {
            outcome,
            mate: self.mate.map(|moves| moves + more),
            ..self
        }
    }
}

/// Who knows endings of more men than tables are made for.
pub trait Larger: Send + Sync {
    /// What is known of a position, its count of moves for the fifty-move rule
    /// included; `None` if that is nothing certain.
    fn exact(&self, position: &Chess) -> Option<Exact>;

    /// A move that keeps what can be had and comes closer to it.
    fn best(&self, position: &Chess) -> Option<Move>;

    /// What was found wrong so far, each file once.
    fn faults(&self) -> Vec<FileFault>;
}

/// The positions after a position's moves.
fn moved(position: &Chess) -> impl Iterator<Item = Chess> + '_ {
    position.legal_moves().into_iter().map(|m| {
        let mut after = position.clone();
        after.play_unchecked(m);
        after
    })
}

/// What is wrong with a file that was to be used.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct FileFault {
    /// Its name, such as `KQvKR.rtbw`.
    pub file: String,
    /// What is wrong with it.
    pub kind: FileFaultKind,
}

/// See [`FileFault`].
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "serde", serde(rename_all = "snake_case"))]
pub enum FileFaultKind {
    /// An ending needs it, and it is not there.
    Missing,
    /// No such file has this length: it was cut short, or more was added.
    Length,
    /// Its first bytes are those of something else.
    Foreign,
    /// What is in it makes no sense.
    Damaged,
    /// It cannot be read; what the system says.
    Unreadable(String),
}

/// The tables at hand. Clones share what any of them makes, so that each table
/// is made once: hand clones to the threads that need them.
#[derive(Clone, Default)]
pub struct Tables {
    shelf: BTreeMap<Material, Arc<Table>>,
    shared: Arc<Shared>,
}

#[derive(Default)]
struct Shared {
    /// Locked while a table is fetched or made.
    shelf: Mutex<BTreeMap<Material, Arc<Table>>>,
    made_anew: Mutex<Vec<Material>>,
    keeper: Option<Box<dyn Keeper>>,
    larger: Mutex<Option<Arc<dyn Larger>>>,
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
    /// Tables that are made when they are asked for, and kept in memory alone.
    pub fn new() -> Tables {
        Tables::default()
    }

    /// Tables that are fetched from a keeper before they are made, and kept
    /// there.
    pub fn kept_by(keeper: Box<dyn Keeper>) -> Tables {
        let shared = Shared {
            keeper: Some(keeper),
            ..Shared::default()
        };
        Tables {
            shared: Arc::new(shared),
            ..Tables::default()
        }
    }

    /// From now on these tables and all their clones ask `larger` about more
    /// men.
    pub fn open_larger(&self, larger: Option<Arc<dyn Larger>>) {
        *locked(&self.shared.larger) = larger;
    }

    fn larger(&self) -> Option<Arc<dyn Larger>> {
        locked(&self.shared.larger).clone()
    }

    /// What is known for certain of a position under the fifty-move rule, its
    /// count of moves included. `None` if there are too many men or castling
    /// rights, if it cannot be told whether there are moves enough left, or if
    /// the watcher stopped the making of a table.
    pub fn exact(&mut self, position: &Chess, watch: &mut dyn Watch) -> Option<Exact> {
        let decided = |outcome, moves: u16, plies: u32| {
            let in_time = position.halfmoves() + plies <= FIFTY_MOVES;
            in_time.then_some(Exact {
                outcome,
                by_rule: false,
                mate: Some(moves),
            })
        };
        let known = match self.probe(position, watch) {
            Some(TableResult::Win(n)) => decided(Outcome::Win, n, 2 * u32::from(n) - 1),
            Some(TableResult::Loss(n)) => decided(Outcome::Loss, n, 2 * u32::from(n)),
            Some(TableResult::Draw) => Some(Exact {
                outcome: Outcome::Draw,
                by_rule: false,
                mate: None,
            }),
            None => None,
        };
        known.or_else(|| self.larger()?.exact(position))
    }

    /// The same for every legal move, from the mover's side. `None` if one of
    /// them is not known.
    pub fn exact_moves(
        &mut self,
        position: &Chess,
        watch: &mut dyn Watch,
    ) -> Option<Vec<(Move, Exact)>> {
        let judged = position.legal_moves().into_iter().map(|m| {
            let mut after = position.clone();
            after.play_unchecked(m);
            let exact = self.exact(&after, watch)?;
            Some((m, exact.before()))
        });
        judged.collect()
    }

    /// A move that keeps what can be had and comes closer to it, by the tables
    /// for more men.
    pub fn best(&self, position: &Chess) -> Option<Move> {
        self.larger()?.best(position)
    }

    /// What was found wrong with files for more men so far.
    pub fn faults(&self) -> Vec<FileFault> {
        self.larger()
            .map_or_else(Vec::new, |larger| larger.faults())
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
        let value = self.value(
            &Placement::of(position)?,
            position.turn(),
            en_passant(position),
        )?;
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

    /// Sees to it that the table of a material is here: one that is kept is
    /// fetched, else it is made, and before it what it leads into. `false` if
    /// the watcher stopped it; tables finished by then stay.
    pub fn make(&mut self, material: Material, watch: &mut dyn Watch) -> bool {
        if material.is_bare() || self.shelf.contains_key(&material) {
            return true;
        }
        let shared = self.shared.clone();
        let mut making = Making {
            common: locked(&shared.shelf),
            count: self.missing(material).len(),
            done: 0,
            watch,
        };
        self.see_to(material, false, &mut making).is_some()
    }

    /// Sees to it that a table is here, and on demand unpacked; `None` if the
    /// watcher stopped it.
    fn see_to(&mut self, material: Material, whole: bool, making: &mut Making) -> Option<()> {
        if material.is_bare() || self.take(material, whole, making) {
            return Some(());
        }
        for smaller in material.leads_into() {
            self.see_to(smaller, true, making)?;
        }
        let table = Arc::new(generate::table(material, self, making)?);
        making.done += 1;
        if let Some(keeper) = &self.shared.keeper {
            let table = table.clone();
            keeper.keep(Made { material, table });
        }
        locked(&self.shared.made_anew).push(material);
        self.put(material, table, making);
        Some(())
    }

    /// Takes a table that is here, that another has made, or that is kept.
    fn take(&mut self, material: Material, whole: bool, making: &mut Making) -> bool {
        let here = self.shelf.get(&material);
        let here = here.or_else(|| making.common.get(&material)).cloned();
        let Some(table) = here.or_else(|| self.fetch(material)) else {
            return false;
        };
        if !whole || table.is_whole() {
            self.put(material, table, making);
            return true;
        }
        match table.unpacked() {
            Some(table) => self.put(material, Arc::new(table), making),
            None => self.refuse(material, LoadFault::Damaged),
        }
        self.shelf
            .get(&material)
            .is_some_and(|table| table.is_whole())
    }

    fn fetch(&self, material: Material) -> Option<Arc<Table>> {
        let keeper = self.shared.keeper.as_ref()?;
        match bytes::read(keeper.fetch(material)?) {
            Ok((named, table)) if named == material => return Some(Arc::new(table)),
            Ok(_) => self.refuse(material, LoadFault::Foreign),
            Err(fault) => self.refuse(material, fault),
        }
        None
    }

    fn refuse(&self, material: Material, fault: LoadFault) {
        if let Some(keeper) = &self.shared.keeper {
            keeper.refused(material, fault);
        }
    }

    fn put(&mut self, material: Material, table: Arc<Table>, making: &mut Making) {
        making.common.insert(material, table.clone());
        self.shelf.insert(material, table);
    }

    /// The tables that a material still needs, itself included, in the order
    /// in which to make (or load) them.
    pub fn missing(&self, material: Material) -> Vec<Material> {
        let mut missing = Vec::new();
        self.collect(material, &mut missing);
        missing
    }

    /// The tables that a position and those after its moves need, and that are
    /// not here.
    pub fn near(&self, position: &Chess) -> Vec<Material> {
        let mut near: Vec<Material> = std::iter::once(position.clone())
            .chain(moved(position))
            .filter_map(|position| Material::of(&position))
            .filter(|material| !material.is_dead() && !self.shelf.contains_key(material))
            .collect();
        near.sort();
        near.dedup();
        near
    }

    /// The tables of the positions after a position's moves, made where they are not
    /// here, and no others. Where the watcher stopped the making, fewer.
    pub fn after(&mut self, position: &Chess, watch: &mut dyn Watch) -> Tables {
        let mut after = Tables::new();
        for material in moved(position).filter_map(|after| Material::of(&after)) {
            if self.make(material, watch)
                && let Some(table) = self.shelf.get(&material)
            {
                after.shelf.insert(material, table.clone());
            }
        }
        after
    }

    /// The tables that are here.
    pub fn materials(&self) -> impl Iterator<Item = Material> + '_ {
        self.shelf.keys().copied()
    }

    /// Those that had to be made, here or by a clone, in that order.
    pub fn made_anew(&self) -> Vec<Material> {
        locked(&self.shared.made_anew).clone()
    }

    /// What is in a table, if it is here.
    pub fn content(&self, material: Material) -> Option<Content> {
        let table = self.shelf.get(&material)?;
        Some(Content {
            longest: table.longest()?,
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
    pub fn load(&mut self, bytes: Vec<u8>) -> Result<Material, LoadFault> {
        let (material, table) = bytes::read(bytes)?;
        let table = Arc::new(table);
        locked(&self.shared.shelf).insert(material, table.clone());
        self.shelf.insert(material, table);
        Ok(material)
    }

    fn collect(&self, material: Material, missing: &mut Vec<Material>) {
        if material.is_bare() || self.shelf.contains_key(&material) || missing.contains(&material) {
            return;
        }
        for smaller in material.leads_into() {
            self.collect(smaller, missing);
        }
        missing.push(material);
    }

    /// The stored value. `None` if there is no such table.
    fn value(&self, men: &Placement, turn: Color, en_passant: bool) -> Option<u8> {
        let (material, men, swapped) = men.arranged();
        if material.is_dead() {
            return Some(DRAW);
        }
        let turn = if swapped { !turn } else { turn };
        let table = self.shelf.get(&material)?;
        let places = men.places();
        match en_passant {
            true => table.value_passing(&places, turn),
            false => table.value(&places, turn),
        }
    }
}

fn en_passant(position: &Chess) -> bool {
    position.ep_square(EnPassantMode::Legal).is_some()
}

/// The making of a table and of what it leads into.
struct Making<'m> {
    /// What clones have, locked meanwhile.
    common: MutexGuard<'m, BTreeMap<Material, Arc<Table>>>,
    /// Tables that are done, and that are to be done at most.
    done: usize,
    count: usize,
    watch: &'m mut dyn Watch,
}

impl Making<'_> {
    fn go_on(&mut self, entries: u64, share: f32) -> bool {
        let share = (self.done as f32 + share) / self.count as f32;
        self.watch.go_on(entries, share.clamp(0.0, 1.0))
    }
}

/// Plies after which a draw can be claimed (FIDE Laws 9.3); a mate by the last
/// of them counts.
pub const FIFTY_MOVES: u32 = 100;

#[cfg(test)]
mod tests;
