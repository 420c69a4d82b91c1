//! A backup: everything that lies on the desk as one PGN file.
//!
//! Each game carries the name of its puzzle in the tag `BackupId`. What PGN has
//! no place for stands before the first game in lines that begin with `%`, which
//! other programs skip (PGN standard, 6):
//!
//! ```text
//! %keyproof backup 1
//! %saved 2026-03-01 18:30
//! %open 00000000000000a1
//! %text 1 club.pgn                a text that did not read without faults, and
//! %|[Event "As it came"]          all its lines; \\ is a backslash, \r a return
//! %|1. e4 ((( e5 *
//! %reading 00000000000000a1 1     the puzzle that came of it, and what could not
//! %fault 2 8<tab>((<tab>a move    be read: line, column, text, what was expected
//! %class lesson<tab>5<tab>…       what the class answered, as [`crate::class::kept`] has it
//! ```
//!
//! How far searches for moments came is not in it: they can be made again.

use std::collections::HashMap;
use std::rc::Rc;

use keyproof::draft::Edit;
use keyproof::notation::{Place, TextFault, pgn_read, pgn_write};

use crate::class::{self, Class};
use crate::coded::{coded, decoded};
use crate::work::{Reading, Sheet, SheetId, Work};

const HEAD: &str = "%keyproof backup 1";
const TAG: &str = "BackupId";

/// What a backup holds.
#[derive(Clone, Debug)]
pub struct Backup {
    /// The puzzles in order; `None` for one that has no name.
    pub sheets: Vec<(Option<SheetId>, Sheet)>,
    pub open: Option<SheetId>,
    /// What the class answered.
    pub class: Class,
}

/// The name of a backup's file on a day such as `2026-03-01`.
pub fn file_name(day: &str) -> String {
    format!("keyproof-backup-{day}.pgn")
}

/// Writes all puzzles. `saved` is the time, as the author's clock has it.
pub fn write(work: &Work, saved: &str) -> String {
    let mut head = format!("{HEAD}\n%saved {saved}\n");
    if let Some(open) = work.open {
        head.push_str(&format!("%open {open}\n"));
    }
    for line in class::kept::write(&work.class).lines() {
        head.push_str(&format!("%class {line}\n"));
    }
    let mut numbers: HashMap<*const u8, usize> = HashMap::new();
    let mut games = String::new();
    for sheet in &work.sheets {
        if let Some(reading) = &sheet.reading {
            let next = numbers.len() + 1;
            let number = *numbers.entry(reading.text.as_ptr()).or_insert(next);
            if number == next {
                head.push_str(&format!("%text {number} {}\n", coded(&reading.from)));
                for line in reading.text.split('\n') {
                    head.push_str(&format!("%|{}\n", coded(line)));
                }
            }
            head.push_str(&format!("%reading {} {number}\n", sheet.id));
            for fault in &reading.faults {
                let Place { line, column } = fault.place;
                let (text, expected) = (coded(&fault.text), coded(&fault.expected));
                head.push_str(&format!("%fault {line} {column}\t{text}\t{expected}\n"));
            }
        }
        let mut draft = sheet.draft.clone();
        set_tag(&mut draft, Some(sheet.id.to_string()));
        games.push_str(&pgn_write::write(&draft));
    }
    format!("{head}\n{games}")
}

/// Reads a backup; `None` for a text that is none. A file that has lost its head
/// on the way is still a backup by the names in its games.
pub fn read(from: &str, text: &str) -> Option<Backup> {
    let text = text.trim_start_matches('\u{feff}').trim_start();
    let is_whole = text
        .lines()
        .next()
        .is_some_and(|line| line.trim_end() == HEAD);
    if !is_whole && !text.contains(&format!("[{TAG} \"")) {
        return None;
    }
    let (open, mut readings) = if is_whole {
        read_head(text)
    } else {
        Default::default()
    };
    let class = text.lines().take_while(|line| line.starts_with('%'));
    let class: Vec<&str> = class.filter_map(|l| l.strip_prefix("%class ")).collect();
    let class = class::kept::read(&class.join("\n"));
    let mut whole: Option<Rc<str>> = None;
    let mut sheets = Vec::new();
    for game in pgn_read::read(text) {
        let mut draft = game.draft;
        let id = draft.tag(TAG).and_then(|id| id.parse::<SheetId>().ok());
        if draft.tag(TAG).is_some() {
            set_tag(&mut draft, None);
        }
        let reading = id.and_then(|id| readings.remove(&id)).or_else(|| {
            let mut text = || whole.get_or_insert_with(|| text.into()).clone();
            let faults = Some(game.faults).filter(|faults| !faults.is_empty())?;
            Some(Reading::new(from.to_owned(), text(), faults))
        });
        let sheet = Sheet {
            id: id.unwrap_or(SheetId(0)),
            draft,
            reading: reading.map(Rc::new),
        };
        sheets.push((id, sheet));
    }
    (is_whole || sheets.iter().any(|(id, _)| id.is_some())).then_some(Backup {
        sheets,
        open,
        class,
    })
}

type Readings = HashMap<SheetId, Reading>;

/// Reads the lines before the first game. What does not fit is passed over.
fn read_head(text: &str) -> (Option<SheetId>, Readings) {
    let mut open = None;
    let mut texts: HashMap<&str, (String, String)> = HashMap::new();
    let mut number = "";
    let mut noted: Vec<(SheetId, &str, Vec<TextFault>)> = Vec::new();
    for line in text.lines().map_while(|line| line.strip_prefix('%')) {
        if let Some(line) = line.strip_prefix('|') {
            if let Some((_, text)) = texts.get_mut(number) {
                text.push_str(&decoded(line));
                text.push('\n');
            }
            continue;
        }
        let (word, rest) = line.split_once(' ').unwrap_or((line, ""));
        match word {
            "open" => open = rest.parse().ok(),
            "text" => {
                let (named, from) = rest.split_once(' ').unwrap_or((rest, ""));
                number = named;
                texts.insert(named, (decoded(from), String::new()));
            }
            "reading" => {
                if let Some((id, number)) = rest.split_once(' ')
                    && let Ok(id) = id.parse()
                {
                    noted.push((id, number, Vec::new()));
                }
            }
            "fault" => {
                if let (Some(fault), Some((_, _, faults))) = (fault(rest), noted.last_mut()) {
                    faults.push(fault);
                }
            }
            _ => {}
        }
    }
    let texts: HashMap<&str, (String, Rc<str>)> = texts
        .into_iter()
        .map(|(number, (from, text))| {
            let text = text.strip_suffix('\n').unwrap_or(&text);
            (number, (from, text.into()))
        })
        .collect();
    let readings = noted.into_iter().filter_map(|(id, number, faults)| {
        let (from, text) = texts.get(number)?;
        Some((id, Reading::new(from.clone(), text.clone(), faults)))
    });
    (open, readings.collect())
}

fn fault(line: &str) -> Option<TextFault> {
    let mut parts = line.split('\t');
    let (line, column) = parts.next()?.split_once(' ')?;
    Some(TextFault {
        place: Place {
            line: line.parse().ok()?,
            column: column.parse().ok()?,
        },
        text: decoded(parts.next()?),
        expected: decoded(parts.next()?),
    })
}

fn set_tag(draft: &mut keyproof::draft::Draft, value: Option<String>) {
    let name = TAG.into();
    draft
        .apply(&Edit::SetTag { name, value })
        .expect("setting a tag needs no node");
}

#[cfg(test)]
mod tests {
    use super::*;

    fn work() -> Work {
        let text: Rc<str> = "[Event \"C:\\club\"]\r\n\r\n1. e4 ((( oops\r\n\t% a line".into();
        let fault = TextFault {
            place: Place { line: 3, column: 7 },
            text: "((\t(".into(),
            expected: "a move".into(),
        };
        let reading = || Reading::new("a\nname.pgn".into(), text.clone(), vec![fault.clone()]);
        let mut work = Work::new();
        let pgn = "[Event \"One\"]\n\n1. e4 {words} e5 (1... c5 $1) *\n\n[Event \"Two\"]\n\n1. d4 *\n\n[Event \"Three\"]\n\n*\n";
        for (id, game) in (1 << 60..).zip(pgn_read::read(pgn)) {
            let reading = (id != 1 << 60).then(|| Rc::new(reading()));
            let id = SheetId(id);
            work.sheets.push(Rc::new(Sheet {
                id,
                draft: game.draft,
                reading,
            }));
        }
        work.open = Some(work.sheets[1].id);
        let lesson = class::table::tests::lesson(&[("Zoë", "0 0=1:Kd2? Ra7\n")]);
        work.class = Rc::new(Class {
            lessons: vec![Rc::new(lesson)],
        });
        work
    }

    #[test]
    fn everything_comes_back_as_it_was() {
        let work = work();
        let text = write(&work, "2026-03-01 18:30");
        let backup = read("backup.pgn", &text).expect("a backup");
        assert_eq!(
            (backup.open, backup.class),
            (work.open, (*work.class).clone())
        );
        assert_eq!(backup.sheets.len(), 3);
        for ((id, sheet), before) in backup.sheets.iter().zip(&work.sheets) {
            assert_eq!(*id, Some(before.id));
            assert!(sheet.holds_same(before), "{text}");
        }
        assert_eq!(text.matches("%text ").count(), 1);
    }

    /// To any other program it is PGN: lines that begin with `%` are skipped, and
    /// what is left reads without faults.
    #[test]
    fn it_is_plain_pgn() {
        let games = pgn_read::read(&write(&work(), "2026-03-01"));
        assert_eq!(games.len(), 3);
        assert!(games.iter().all(|game| game.faults.is_empty()));
    }

    #[test]
    fn a_backup_without_its_head_still_names_its_puzzles() {
        let text = write(&work(), "2026-03-01");
        let games: Vec<&str> = text.lines().filter(|l| !l.starts_with('%')).collect();
        let backup = read("it", &games.join("\n")).expect("a backup");
        assert!(backup.sheets.iter().all(|(id, _)| id.is_some()));
        assert!(backup.open.is_none());
    }

    #[test]
    fn what_came_to_harm_keeps_its_text() {
        let text = write(&work(), "2026-03-01");
        let harmed = text.replace("{words}", "{words} ))");
        let backup = read("backup.pgn", &harmed).expect("a backup");
        let reading = backup.sheets[0].1.reading.as_ref().expect("its text");
        assert_eq!((&*reading.from, &*reading.text), ("backup.pgn", &*harmed));
    }

    #[test]
    fn any_other_pgn_is_none() {
        assert!(read("it", "[Event \"x\"]\n\n1. e4 {[BackupId]} *\n").is_none());
        assert!(read("it", "").is_none());
    }
}
