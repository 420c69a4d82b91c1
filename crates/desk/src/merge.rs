//! Bringing together what two tabs made of the same puzzles. Both began with
//! what the store held (the base); theirs lies in the store by now, mine lies on
//! this desk.
//!
//! What was changed on one side only is taken from there. What both changed
//! differently is kept twice: theirs under its name, mine next to it under a new
//! one. What one side removed is gone unless the other changed it.
//!
//! The fates are decided once, of the present state, and then hold in every
//! state that undo or redo can come back to ([`Merge::apply`]): no step back
//! brings an older text over theirs, and none takes away what they added.

use std::collections::{HashMap, HashSet};
use std::rc::Rc;

use crate::work::{Sheet, SheetId};

/// What becomes of a puzzle that does not simply stay as it is here.
#[derive(Clone, Debug)]
enum Fate {
    /// It is as it is there.
    Theirs(Rc<Sheet>),
    Gone,
    /// It is as it is there, and what is here goes on next to it under this
    /// name.
    Split(Rc<Sheet>, SheetId),
}

/// A merge, and what the author is to be told of it.
#[derive(Debug, Default)]
pub struct Merge {
    fates: HashMap<SheetId, Fate>,
    /// The puzzles there, in order.
    order: Vec<SheetId>,
    /// They were put into another order there, which then holds here too.
    theirs_lead: bool,
    /// Copies under a new name, each with what it is a copy of.
    copies: HashMap<*const Sheet, (Rc<Sheet>, Rc<Sheet>)>,
    /// Kept twice: the name of theirs, and the new one of mine.
    pub split: Vec<(SheetId, SheetId)>,
    /// Removed there and unchanged here.
    pub gone: Vec<Rc<Sheet>>,
    /// Removed there, kept because it was changed here.
    pub kept_here: Vec<SheetId>,
    /// Removed here, kept because it was changed there.
    pub kept_there: Vec<SheetId>,
}

impl Merge {
    /// Decides what becomes of each puzzle; `fresh` names copies.
    pub fn of(
        base: &[Rc<Sheet>],
        mine: &[Rc<Sheet>],
        theirs: &[Rc<Sheet>],
        fresh: &mut dyn FnMut() -> SheetId,
    ) -> Merge {
        let (was, here, there) = (by_id(base), by_id(mine), by_id(theirs));
        let order: Vec<SheetId> = theirs.iter().map(|s| s.id).collect();
        let mut merge = Merge {
            theirs_lead: base.is_empty() || reordered(base, &order),
            ..Merge::default()
        };
        for &sheet in theirs.iter().map(|s| &there[&s.id]) {
            let id = sheet.id;
            let fate = match (was.get(&id), here.get(&id)) {
                (_, Some(mine)) if same(mine, sheet) => continue,
                (Some(was), _) if same(was, sheet) => continue,
                (None, None) => Fate::Theirs(sheet.clone()),
                (Some(_), None) => {
                    merge.kept_there.push(id);
                    Fate::Theirs(sheet.clone())
                }
                (Some(was), Some(mine)) if same(was, mine) => Fate::Theirs(sheet.clone()),
                (_, Some(_)) => {
                    let copy = fresh();
                    merge.split.push((id, copy));
                    Fate::Split(sheet.clone(), copy)
                }
            };
            merge.fates.insert(id, fate);
        }
        for was in base.iter().filter(|s| !there.contains_key(&s.id)) {
            match here.get(&was.id) {
                Some(mine) if same(was, mine) => {
                    merge.gone.push((*mine).clone());
                    merge.fates.insert(was.id, Fate::Gone);
                }
                Some(_) => merge.kept_here.push(was.id),
                // A state to go back to may still have it.
                None => drop(merge.fates.insert(was.id, Fate::Gone)),
            }
        }
        merge.order = order;
        merge
    }

    /// Whether it changes nothing, in any state.
    pub fn is_idle(&self) -> bool {
        self.fates.is_empty() && (self.order.is_empty() || !self.theirs_lead)
    }

    /// The name under which a puzzle of this desk goes on.
    pub fn name(&self, id: SheetId) -> SheetId {
        match self.fates.get(&id) {
            Some(Fate::Split(_, copy)) => *copy,
            _ => id,
        }
    }

    /// A state of the row with the fates in force.
    pub fn apply(&mut self, row: &[Rc<Sheet>]) -> Vec<Rc<Sheet>> {
        let mut sheets: HashMap<SheetId, Rc<Sheet>> = HashMap::new();
        let mut here = Vec::with_capacity(row.len());
        for sheet in row {
            let mut put = |sheet: Rc<Sheet>| {
                here.push(sheet.id);
                sheets.insert(sheet.id, sheet);
            };
            match self.fates.get(&sheet.id) {
                None => put(sheet.clone()),
                Some(Fate::Theirs(theirs)) => put(theirs.clone()),
                Some(Fate::Gone) => {}
                Some(Fate::Split(theirs, name)) => {
                    put(theirs.clone());
                    let copied = self.copies.entry(Rc::as_ptr(sheet)).or_insert_with(|| {
                        let copy = Sheet {
                            id: *name,
                            ..(**sheet).clone()
                        };
                        (sheet.clone(), Rc::new(copy))
                    });
                    put(copied.1.clone());
                }
            }
        }
        let known = sheets.len();
        for (id, fate) in &self.fates {
            if let Fate::Theirs(theirs) | Fate::Split(theirs, _) = fate {
                sheets.entry(*id).or_insert_with(|| theirs.clone());
            }
        }
        if sheets.len() > known || self.theirs_lead {
            let there = self.order.iter().copied();
            let there: Vec<SheetId> = there.filter(|id| sheets.contains_key(id)).collect();
            here = match self.theirs_lead {
                true => woven(there, &here),
                false => woven(here, &there),
            };
        }
        here.iter().filter_map(|id| sheets.remove(id)).collect()
    }
}

fn same(a: &Rc<Sheet>, b: &Rc<Sheet>) -> bool {
    Rc::ptr_eq(a, b) || a.holds_same(b)
}

fn by_id(sheets: &[Rc<Sheet>]) -> HashMap<SheetId, &Rc<Sheet>> {
    sheets.iter().map(|sheet| (sheet.id, sheet)).collect()
}

/// Whether what was there before stands in another order now.
fn reordered(base: &[Rc<Sheet>], now: &[SheetId]) -> bool {
    let place: HashMap<SheetId, usize> = base.iter().map(|s| s.id).zip(0..).collect();
    let places = now.iter().filter_map(|id| place.get(id));
    !places.is_sorted()
}

/// One order with what only the other has put in after its neighbour there; what
/// has none before it goes before the one that follows, else to the end.
fn woven(mut one: Vec<SheetId>, other: &[SheetId]) -> Vec<SheetId> {
    let mut in_one: HashSet<SheetId> = one.iter().copied().collect();
    for (place, &id) in other.iter().enumerate() {
        if !in_one.insert(id) {
            continue;
        }
        let find = |wanted: SheetId| one.iter().position(|&id| id == wanted);
        let before = place.checked_sub(1).and_then(|p| find(other[p]));
        let at = before.map(|p| p + 1).or_else(|| {
            let mut following = other[place + 1..].iter();
            following.find_map(|&id| find(id))
        });
        one.insert(at.unwrap_or(one.len()), id);
    }
    one
}

#[cfg(test)]
mod tests {
    use keyproof::notation::pgn_read;

    use super::*;

    fn sheet(id: u64, words: &str) -> Rc<Sheet> {
        let pgn = format!("[Event \"{words}\"]\n\n*\n");
        Rc::new(Sheet {
            id: SheetId(id),
            draft: pgn_read::read(&pgn).remove(0).draft,
            reading: None,
        })
    }
    fn words(sheet: &Sheet) -> &str {
        sheet.draft.tag("Event").unwrap_or_default()
    }
    fn row(of: &[(u64, &str)]) -> Vec<Rc<Sheet>> {
        of.iter().map(|&(id, words)| sheet(id, words)).collect()
    }
    fn shown(row: &[Rc<Sheet>]) -> Vec<(u64, String)> {
        row.iter().map(|s| (s.id.0, words(s).to_owned())).collect()
    }
    fn expected(of: &[(u64, &str)]) -> Vec<(u64, String)> {
        of.iter().map(|&(id, w)| (id, w.to_owned())).collect()
    }
    fn merge(base: &[Rc<Sheet>], mine: &[Rc<Sheet>], theirs: &[Rc<Sheet>]) -> Merge {
        let mut next = 100;
        Merge::of(base, mine, theirs, &mut || {
            next += 1;
            SheetId(next)
        })
    }

    /// Every case of one puzzle between two that stay: not there or with one
    /// of three texts, in the base, here and there.
    #[test]
    fn one_puzzle_in_every_case() {
        let texts = [None, Some("a"), Some("b"), Some("c")];
        let of = |text: Option<&str>| {
            let middle = text.map(|t| (2, t));
            let all = [Some((1, "first")), middle, Some((3, "last"))];
            row(&all.into_iter().flatten().collect::<Vec<_>>())
        };
        for base in texts {
            for mine in texts {
                for theirs in texts {
                    let (b, m, t) = (of(base), of(mine), of(theirs));
                    let mut merge = merge(&b, &m, &t);
                    let after = shown(&merge.apply(&m));
                    let middle: Vec<(u64, &str)> = match (base, mine, theirs) {
                        // Nobody has it, or both have the same.
                        (_, m, t) if m == t => t.map(|t| (2, t)).into_iter().collect(),
                        // Only they did something.
                        (b, m, t) if m == b => t.map(|t| (2, t)).into_iter().collect(),
                        // Only I did something.
                        (b, m, t) if t == b => m.map(|m| (2, m)).into_iter().collect(),
                        // One removed it, the other changed it.
                        (_, None, Some(t)) => vec![(2, t)],
                        (_, Some(m), None) => vec![(2, m)],
                        (_, Some(m), Some(t)) => vec![(2, t), (101, m)],
                        (_, None, None) => vec![],
                    };
                    let mut all = vec![(1, "first")];
                    all.extend(middle);
                    all.push((3, "last"));
                    assert_eq!(after, expected(&all), "{base:?} {mine:?} {theirs:?}");

                    let case = (base.is_some(), mine.is_some(), theirs.is_some());
                    let split = after.iter().any(|(id, _)| *id == 101);
                    assert_eq!(merge.split.len(), usize::from(split));
                    let lost = case == (true, true, false) && mine == base;
                    assert_eq!(merge.gone.len(), usize::from(lost));
                    let stayed = case == (true, true, false) && mine != base;
                    assert_eq!(merge.kept_here.len(), usize::from(stayed));
                    let came = case == (true, false, true) && theirs != base;
                    assert_eq!(merge.kept_there.len(), usize::from(came));
                }
            }
        }
    }

    #[test]
    fn both_add_and_each_stands_by_its_neighbour() {
        let base = row(&[(1, "a"), (2, "b")]);
        let mine = [&base[..1], &row(&[(3, "mine")]), &base[1..]].concat();
        let theirs = [&base[..], &row(&[(4, "theirs")])].concat();
        let after = merge(&base, &mine, &theirs).apply(&mine);
        let ids: Vec<u64> = after.iter().map(|s| s.id.0).collect();
        assert_eq!(ids, [1, 3, 2, 4]);
    }

    #[test]
    fn an_order_made_there_holds_and_one_made_here_stays() {
        let base = row(&[(1, "a"), (2, "b"), (3, "c")]);
        let turned: Vec<_> = base.iter().rev().cloned().collect();
        let added = [&base[..2], &row(&[(4, "new")]), &base[2..]].concat();
        let ids = |row: &[Rc<Sheet>]| row.iter().map(|s| s.id.0).collect::<Vec<_>>();
        let after = merge(&base, &added, &turned).apply(&added);
        assert_eq!(ids(&after), [3, 2, 4, 1]);
        let after = merge(&base, &turned, &added).apply(&turned);
        assert_eq!(ids(&after), [3, 2, 4, 1]);
    }

    #[test]
    fn what_was_done_before_the_store_answered_comes_behind() {
        let (mine, theirs) = (row(&[(7, "new")]), row(&[(1, "a"), (2, "b")]));
        let after = merge(&[], &mine, &theirs).apply(&mine);
        assert_eq!(shown(&after), expected(&[(1, "a"), (2, "b"), (7, "new")]));
    }

    /// The fates hold in the states of undo and redo.
    #[test]
    fn no_state_brings_an_older_text_over_theirs() {
        let base = row(&[(1, "saved"), (2, "gone"), (3, "both")]);
        let mine = [&base[..2], &row(&[(3, "mine")])].concat();
        let theirs = row(&[(1, "theirs"), (3, "their own"), (4, "added")]);
        let mut merge = merge(&base, &mine, &theirs);
        let now = merge.apply(&mine);
        let all = [(1, "theirs"), (3, "their own"), (101, "mine"), (4, "added")];
        let mut sorted = shown(&now);
        sorted.sort();
        let mut wanted = expected(&all);
        wanted.sort();
        assert_eq!(sorted, wanted);

        let older = row(&[(1, "older"), (2, "older too"), (3, "half typed")]);
        let mut sorted = shown(&merge.apply(&older));
        sorted.sort();
        let mut wanted = expected(&[
            (1, "theirs"),
            (3, "their own"),
            (4, "added"),
            (101, "half typed"),
        ]);
        wanted.sort();
        assert_eq!(sorted, wanted);
        // Before anything was there.
        let mut empty = shown(&merge.apply(&[]));
        empty.sort();
        assert_eq!(
            empty,
            expected(&[(1, "theirs"), (3, "their own"), (4, "added")])
        );
        // States that were the same stay the same.
        let again = merge.apply(&mine);
        assert!(now.iter().zip(&again).all(|(a, b)| Rc::ptr_eq(a, b)));
    }
}
