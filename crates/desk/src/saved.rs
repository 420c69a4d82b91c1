//! Work as it lies in the store: one record for each puzzle, one for each text
//! that did not read without faults, and one for the manifest. Only what changed is
//! written, all of it at once, and only over what this tab has seen.

pub mod slots;

use std::collections::{HashMap, HashSet};
use std::rc::Rc;

use keyproof::draft::Draft;
use keyproof::moments::Progress;
use keyproof::notation::{TextFault, pgn_read, pgn_write};
use keyproof::tongue::tr;
use serde::de::{DeserializeOwned, IgnoredAny};
use serde::{Deserialize, Deserializer, Serialize};

use crate::class::{self, Class};
use crate::work::{Reading, Sheet, SheetId, Work};
use slots::Slot;

/// The record of which puzzles the store holds, in order.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Manifest {
    /// Drawn when the manifest was first written. Another one means that the browser
    /// has thrown the store away since.
    pub birth: String,
    /// Counts the writings.
    pub revision: u32,
    /// The puzzles in order, each with the revision that it was written with.
    pub order: Vec<(SheetId, u32)>,
    pub open: Option<SheetId>,
    /// The browser was asked not to throw the store away.
    pub asked: bool,
    /// The revision that the class was written with; 0 where none was.
    #[serde(default)]
    pub class: u32,
}

impl Manifest {
    /// Whether this is the very manifest that another was.
    pub fn is(&self, other: &Manifest) -> bool {
        (&self.birth, self.revision) == (&other.birth, other.revision)
    }
}

/// One puzzle.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct SavedSheet {
    pub id: SheetId,
    pub revision: u32,
    pub pgn: String,
    pub reading: Option<SavedReading>,
    /// How far the search for its moments came.
    #[serde(default, deserialize_with = "if_readable")]
    pub seek: Option<Progress>,
}

/// What could not be read of a text.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct SavedReading {
    pub from: String,
    /// The key of the text, which many puzzles may have come from.
    pub text: String,
    pub faults: Vec<TextFault>,
}

/// What the store was found to hold.
#[derive(Clone, Debug, Default)]
pub struct Found {
    pub manifest: Option<Manifest>,
    /// The puzzles, without those that are known at their revision.
    pub sheets: Vec<SavedSheet>,
    /// The texts that these came from, by key.
    pub texts: HashMap<String, Rc<str>>,
    /// Work as earlier versions saved it, by key.
    pub slots: Vec<(String, Slot)>,
    /// The class, unless it is known at its revision.
    pub class: Option<Rc<Class>>,
    /// The puzzle that was open in this tab before a reload.
    pub mine: Option<SheetId>,
    /// What pages left that closed before they had saved.
    pub notes: Vec<Note>,
    /// The work in a page that the browser saved, if the store is empty: where each file
    /// has a store of its own, as it was opened anew.
    pub carried: Note,
}

/// What was typed last, put down when a page goes out of sight: a browser may end
/// the page before a transaction is over, and a note is there at once.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Note(pub Vec<Noted>);

/// A puzzle that did not yet lie in the store as it was on the desk.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Noted {
    pub id: SheetId,
    /// As it lay in the store, in PGN; `None` if it was new.
    pub was: Option<String>,
    /// As it was on the desk, in PGN.
    pub pgn: String,
}

/// The most puzzles that a page carries along, and else only the open one.
const CARRIED: usize = 200;

impl Note {
    /// What a page that the browser saves carries along: the puzzles on the desk as if
    /// none lay in a store.
    pub fn carried(work: &Work) -> Note {
        let all = work.sheets.len() <= CARRIED;
        let sheets = work.sheets.iter();
        let taken = sheets.filter(|sheet| all || Some(sheet.id) == work.open);
        let noted = taken.map(|sheet| Noted {
            id: sheet.id,
            was: None,
            pgn: pgn_write::write(&sheet.draft),
        });
        Note(noted.collect())
    }

    /// As a text: of each puzzle a line with its name and the bytes of both games
    /// (`-` for one that was new), and then the games.
    pub fn write(&self) -> String {
        let mut text = String::new();
        for Noted { id, was, pgn } in &self.0 {
            let bytes = was
                .as_ref()
                .map_or("-".to_owned(), |was| was.len().to_string());
            text += &format!("{id} {bytes} {}\n", pgn.len());
            text.extend([was.as_deref().unwrap_or(""), pgn]);
        }
        text
    }
    /// Reads it; what was cut off or damaged is left out.
    pub fn read(mut text: &str) -> Note {
        let mut noted = Vec::new();
        while let Some((one, rest)) = Noted::read(text) {
            noted.push(one);
            text = rest;
        }
        Note(noted)
    }
}

impl Noted {
    /// The first puzzle of a note, and what follows it.
    fn read(text: &str) -> Option<(Noted, &str)> {
        let (line, rest) = text.split_once('\n')?;
        let mut words = line.split(' ');
        let id = words.next()?.parse().ok()?;
        let (was, pgn) = (words.next()?, words.next()?.parse().ok()?);
        let (was, rest) = match was {
            "-" => (None, rest),
            bytes => {
                let (was, rest) = rest.split_at_checked(bytes.parse().ok()?)?;
                (Some(was.to_owned()), rest)
            }
        };
        let (pgn, rest) = rest.split_at_checked(pgn)?;
        let pgn = pgn.to_owned();
        Some((Noted { id, was, pgn }, rest))
    }
}

/// What is to be written, in one transaction.
#[derive(Clone, Debug)]
pub struct Writing {
    /// The manifest that must lie in the store; if another does, nothing is written.
    pub base: Option<Manifest>,
    pub manifest: Manifest,
    pub sheets: Vec<SavedSheet>,
    /// Texts by key.
    pub texts: Vec<(String, Rc<str>)>,
    /// The class as text, if it changed.
    pub class: Option<String>,
    /// Keys of records to be removed.
    pub gone: Vec<String>,
}

impl Writing {
    /// Whether the store holds all of it already.
    pub fn is_idle(&self) -> bool {
        let held = self.base.as_ref().is_some_and(|base| {
            (&base.order, base.open) == (&self.manifest.order, self.manifest.open)
                && (base.asked, base.class) == (self.manifest.asked, self.manifest.class)
        });
        let nothing =
            self.base.is_none() && self.manifest.order.is_empty() && self.manifest.class == 0;
        (held || nothing) && self.sheets.is_empty() && self.gone.is_empty()
    }
}

/// The key of the manifest in the store.
pub const MANIFEST: &str = "row";
/// The key of the class.
pub const CLASS: &str = "class";
/// What the key of a puzzle begins with.
pub const SHEET: &str = "sheet ";
/// What the key of a text begins with.
pub const TEXT: &str = "text ";

/// The key of a puzzle in the store.
pub fn sheet_key(id: SheetId) -> String {
    format!("{SHEET}{id}")
}

/// The key of a text in the store.
fn text_key(text: &str) -> String {
    format!("{TEXT}{:032x}", digest(text))
}

/// A short name for a text, the same for the same text (FNV-1a).
pub fn digest(text: &str) -> u128 {
    const PRIME: u128 = 0x0000_0000_0100_0000_0000_0000_0000_013b;
    const BASIS: u128 = 0x6c62_272e_07bb_0142_62b8_2175_6295_c58d;
    let bytes = text.bytes();
    bytes.fold(BASIS, |sum, byte| {
        (sum ^ u128::from(byte)).wrapping_mul(PRIME)
    })
}

/// What cannot be read of a search is begun anew; the work itself must not be
/// lost over it.
pub fn if_readable<'de, D, T>(from: D) -> Result<Option<T>, D::Error>
where
    D: Deserializer<'de>,
    T: DeserializeOwned,
{
    #[derive(Deserialize)]
    #[serde(untagged)]
    enum Read<T> {
        Fits(Option<T>),
        Other(IgnoredAny),
    }
    Ok(match Read::deserialize(from)? {
        Read::Fits(read) => read,
        Read::Other(_) => None,
    })
}

/// How far the search for a sheet's moments came.
pub type Sought<'a> = dyn Fn(SheetId) -> Option<&'a Progress> + 'a;

/// What is known to lie in the store.
#[derive(Clone, Debug, Default)]
pub struct Stored {
    pub manifest: Option<Manifest>,
    sheets: HashMap<SheetId, StoredSheet>,
    pub class: Rc<Class>,
}

#[derive(Clone, Debug)]
struct StoredSheet {
    sheet: Rc<Sheet>,
    seek: Option<Progress>,
    /// The key of its text.
    text: Option<String>,
}

impl Stored {
    /// The puzzles in order.
    pub fn sheets(&self) -> Vec<Rc<Sheet>> {
        let order = self.manifest.iter().flat_map(|manifest| &manifest.order);
        let kept = order.filter_map(|(id, _)| self.sheets.get(id));
        kept.map(|kept| kept.sheet.clone()).collect()
    }
    /// How far the search for a puzzle's moments is known to have come.
    pub fn seek(&self, id: SheetId) -> Option<&Progress> {
        self.sheets.get(&id)?.seek.as_ref()
    }
    /// Whether all puzzles lie in the store as they are, what was found in their
    /// games, and the class.
    pub fn holds(&self, work: &Work, sought: &Sought) -> bool {
        let sheets = &work.sheets;
        let order = self
            .manifest
            .as_ref()
            .map_or(&[][..], |manifest| &manifest.order);
        let is_kept = |sheet: &Rc<Sheet>| {
            let kept = self.sheets.get(&sheet.id);
            kept.is_some_and(|kept| kept.is_of(sheet, sought(sheet.id)))
        };
        order.len() == sheets.len()
            && order.iter().zip(sheets).all(|((id, _), s)| *id == s.id)
            && sheets.iter().all(is_kept)
            && self.holds_class(&work.class)
    }
    /// What does not lie in the store yet of the puzzles on the desk.
    pub fn note(&self, work: &Work) -> Note {
        let noted = |sheet: &Rc<Sheet>| {
            let kept = self.sheets.get(&sheet.id).map(|kept| &kept.sheet);
            if kept.is_some_and(|kept| Rc::ptr_eq(kept, sheet)) {
                return None;
            }
            let was = kept.map(|kept| pgn_write::write(&kept.draft));
            let pgn = pgn_write::write(&sheet.draft);
            (was.as_ref() != Some(&pgn)).then_some(Noted {
                id: sheet.id,
                was,
                pgn,
            })
        };
        Note(work.sheets.iter().filter_map(noted).collect())
    }
    fn holds_class(&self, class: &Rc<Class>) -> bool {
        Rc::ptr_eq(&self.class, class) || self.class == *class
    }
    /// A puzzle that reads the same as what lies there lies there.
    pub fn is_same(&mut self, sheet: &Rc<Sheet>) {
        if let Some(kept) = self.sheets.get_mut(&sheet.id)
            && !Rc::ptr_eq(&kept.sheet, sheet)
            && kept.sheet.holds_same(sheet)
        {
            kept.sheet = sheet.clone();
        }
    }
    /// What lies in the store now, where `self` did. A puzzle that the manifest
    /// does not name was left by a manifest that could not be read, and is taken in.
    pub fn followed_by(&self, found: &Found) -> Stored {
        let Some(manifest) = &found.manifest else {
            return Stored::default();
        };
        let read: HashMap<SheetId, StoredSheet> = found
            .sheets
            .iter()
            .map(|saved| (saved.id, saved.kept(&found.texts)))
            .collect();
        let known = self
            .manifest
            .as_ref()
            .filter(|known| known.birth == manifest.birth);
        let known = known.filter(|known| known.class == manifest.class);
        let class = match (&found.class, known) {
            (Some(class), _) => class.clone(),
            (None, Some(_)) => self.class.clone(),
            (None, None) => Rc::default(),
        };
        let mut manifest = manifest.clone();
        let named: HashSet<SheetId> = manifest.order.iter().map(|(id, _)| *id).collect();
        let strays = found.sheets.iter().filter(|s| !named.contains(&s.id));
        manifest.order.extend(strays.map(|s| (s.id, s.revision)));
        let mut sheets = HashMap::new();
        for (id, _) in &manifest.order {
            if let Some(kept) = read.get(id).or_else(|| self.sheets.get(id)) {
                sheets.insert(*id, kept.clone());
            }
        }
        Stored {
            manifest: Some(manifest),
            sheets,
            class,
        }
    }
    /// What the store was named when it was first written.
    pub fn birth(&self) -> Option<&String> {
        self.manifest.as_ref().map(|manifest| &manifest.birth)
    }
    /// What is to be written so that the store holds this manifest, and what it then
    /// holds. `fresh` names a new store.
    pub fn writing(&self, work: &Work, sought: &Sought, fresh: SheetId) -> (Writing, Stored) {
        let before = self.manifest.clone().unwrap_or_default();
        let birth = self.birth().cloned();
        let birth = birth.unwrap_or_else(|| fresh.to_string());
        let revision = before.revision + 1;
        let written: HashMap<SheetId, u32> = before.order.iter().copied().collect();
        let mut keys: HashMap<*const u8, String> = HashMap::new();
        let mut texts = Vec::new();
        let had: HashSet<&String> = self.texts().collect();
        let (mut order, mut changed, mut sheets) = (Vec::new(), Vec::new(), HashMap::new());
        for sheet in &work.sheets {
            let (id, seek) = (sheet.id, sought(sheet.id));
            if let Some(kept) = self.sheets.get(&id)
                && kept.is_of(sheet, seek)
                && let Some(&revision) = written.get(&id)
            {
                order.push((id, revision));
                sheets.insert(id, kept.clone());
                continue;
            }
            let reading = sheet.reading.as_ref().map(|reading| {
                let text = keys.entry(reading.text.as_ptr()).or_insert_with(|| {
                    let key = text_key(&reading.text);
                    if !had.contains(&key) {
                        texts.push((key.clone(), reading.text.clone()));
                    }
                    key
                });
                SavedReading {
                    from: reading.from.clone(),
                    text: text.clone(),
                    faults: reading.faults.clone(),
                }
            });
            let kept = StoredSheet {
                sheet: sheet.clone(),
                seek: seek.cloned(),
                text: reading.as_ref().map(|r| r.text.clone()),
            };
            changed.push(SavedSheet {
                id,
                revision,
                pgn: pgn_write::write(&sheet.draft),
                reading,
                seek: seek.cloned(),
            });
            order.push((id, revision));
            sheets.insert(id, kept);
        }
        let new_class = !self.holds_class(&work.class);
        let manifest = Manifest {
            birth,
            revision,
            order,
            open: work.open,
            asked: before.asked,
            class: if new_class { revision } else { before.class },
        };
        let gone = self.sheets.keys().filter(|id| !sheets.contains_key(id));
        let mut gone: Vec<String> = gone.map(|&id| sheet_key(id)).collect();
        let kept = Stored {
            manifest: Some(manifest.clone()),
            sheets,
            class: work.class.clone(),
        };
        let needed: HashSet<&String> = kept.texts().collect();
        gone.extend(had.difference(&needed).map(|key| (*key).clone()));
        gone.sort();
        let writing = Writing {
            base: self.manifest.clone(),
            manifest,
            sheets: changed,
            texts,
            class: new_class.then(|| class::kept::write(&work.class)),
            gone,
        };
        (writing, kept)
    }
    fn texts(&self) -> impl Iterator<Item = &String> {
        self.sheets.values().filter_map(|kept| kept.text.as_ref())
    }
}

impl StoredSheet {
    fn is_of(&self, sheet: &Rc<Sheet>, seek: Option<&Progress>) -> bool {
        Rc::ptr_eq(&self.sheet, sheet) && self.seek.as_ref() == seek
    }
}

impl SavedSheet {
    fn kept(&self, texts: &HashMap<String, Rc<str>>) -> StoredSheet {
        let mut games = pgn_read::read(&self.pgn);
        let reading = match &self.reading {
            // A record that is not the one game it should be is kept as a text.
            _ if games.len() > 1 => {
                let faults = games.iter().flat_map(|g| g.faults.clone()).collect();
                let from = tr("this browser").to_owned();
                Some(Reading::new(from, self.pgn.as_str().into(), faults))
            }
            Some(reading) => {
                let text = texts.get(&reading.text).cloned().unwrap_or_default();
                let (from, faults) = (reading.from.clone(), reading.faults.clone());
                Some(Reading::new(from, text, faults))
            }
            None => None,
        };
        let draft = match games.is_empty() {
            true => Draft::new(),
            false => games.swap_remove(0).draft,
        };
        StoredSheet {
            sheet: Rc::new(Sheet {
                id: self.id,
                draft,
                reading: reading.map(Rc::new),
            }),
            seek: self.seek.clone(),
            text: self.reading.as_ref().map(|reading| reading.text.clone()),
        }
    }
}
