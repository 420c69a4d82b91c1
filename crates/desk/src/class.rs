//! What the class answered: the lessons that were given out, and the accounts that came
//! back. Which accounts are taken is decided here; what they say together is
//! [`table`]'s, a file for other programs [`csv`]'s, and how all of it is kept
//! [`kept`]'s.

pub mod csv;
pub mod kept;
pub mod table;

use std::collections::HashSet;
use std::rc::Rc;

use keyproof::account::{Account, AccountFault, Mark};
use keyproof::tongue::{say, tr};

use crate::sheet_id::SheetId;

/// All lessons that were given out, in that order.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Class {
    /// Each with its accounts.
    pub lessons: Vec<Rc<Lesson>>,
}

/// A lesson as it was given out, and what came back of it.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Lesson {
    /// The key that its accounts carry.
    pub key: u32,
    pub title: String,
    /// In the order of the file.
    pub questions: Vec<Question>,
    pub accounts: Vec<Account>,
}

/// A question as it was asked, whatever became of its puzzle since.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Question {
    /// The number of its game in the file, and its own in the game, from 0.
    pub game: usize,
    pub number: usize,
    /// The title of its game.
    pub title: String,
    /// The puzzle or lesson that it came from.
    pub sheet: SheetId,
    /// Where a lesson asks it: `12w`, `3b`.
    pub place: Option<String>,
    /// The position, and whether its diagram has Black's side below.
    pub fen: String,
    pub black_below: bool,
    /// The author's first move, in SAN.
    pub key: Option<String>,
}

/// What became of an account that was brought.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Took {
    /// It is the student's first.
    New,
    /// It goes on from the one that was there, and took its place.
    GoesOn,
    /// It stands beside another of that name, which says something else.
    Beside,
    /// All of it was there already.
    Known,
    /// It is of no lesson that was given out here.
    Foreign,
}

/// How an account stands to one that came before.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Relation {
    /// The same, or an earlier one.
    Within,
    GoesOn,
    Other,
}

/// Lessons without an account that are remembered.
const WITHOUT_ACCOUNTS: usize = 60;

impl Class {
    pub fn is_empty(&self) -> bool {
        self.lessons.is_empty()
    }
    pub fn lesson(&self, key: u32) -> Option<&Rc<Lesson>> {
        self.lessons.iter().find(|lesson| lesson.key == key)
    }
    /// The lesson to look at first: the latest with accounts.
    pub fn latest(&self) -> Option<&Rc<Lesson>> {
        let answered = |lesson: &&Rc<Lesson>| !lesson.accounts.is_empty();
        let latest = self.lessons.iter().rev().find(answered);
        latest.or(self.lessons.last())
    }
    /// Accounts of all lessons.
    pub fn accounts(&self) -> usize {
        self.lessons.iter().map(|l| l.accounts.len()).sum()
    }
    /// Remembers a lesson that is given out. One with the same key is the same.
    pub fn give(&mut self, mut lesson: Lesson) {
        if let Some(at) = self.lessons.iter().position(|l| l.key == lesson.key) {
            lesson.accounts = self.lessons.remove(at).accounts.clone();
        }
        self.lessons.push(Rc::new(lesson));
        let bare = self.lessons.iter().filter(|l| l.accounts.is_empty());
        if bare.count() > WITHOUT_ACCOUNTS {
            let oldest = self.lessons.iter().position(|l| l.accounts.is_empty());
            oldest.map(|at| self.lessons.remove(at));
        }
    }
    /// Takes an account to the others of its lesson.
    pub fn take(&mut self, account: &Account) -> Took {
        let Some(lesson) = self.lessons.iter_mut().find(|l| l.key == account.key) else {
            return Took::Foreign;
        };
        let same: Vec<usize> = (0..lesson.accounts.len())
            .filter(|&at| lesson.accounts[at].name == account.name)
            .collect();
        let relation = |&at: &usize| (at, relation(&lesson.accounts[at], account));
        let relations: Vec<(usize, Relation)> = same.iter().map(relation).collect();
        if relations.iter().any(|(_, r)| *r == Relation::Within) {
            return Took::Known;
        }
        let lesson = Rc::make_mut(lesson);
        match relations.iter().find(|(_, r)| *r == Relation::GoesOn) {
            Some(&(at, _)) => {
                lesson.accounts[at] = account.clone();
                Took::GoesOn
            }
            None => {
                lesson.accounts.push(account.clone());
                match same.is_empty() || account.name.is_empty() {
                    true => Took::New,
                    false => Took::Beside,
                }
            }
        }
    }
    /// Removes accounts of a lesson: one, or all.
    pub fn remove(&mut self, key: u32, at: Option<usize>) {
        let Some(lesson) = self.lessons.iter_mut().find(|l| l.key == key) else {
            return;
        };
        let lesson = Rc::make_mut(lesson);
        match at {
            Some(at) if at < lesson.accounts.len() => drop(lesson.accounts.remove(at)),
            Some(_) => {}
            None => lesson.accounts.clear(),
        }
    }
}

impl Lesson {
    /// What its students are called, in the order of the accounts: those of one name
    /// are counted.
    pub fn names(&self) -> Vec<String> {
        let named = |at: usize| {
            let name = self.accounts[at].name.as_str();
            let same = self.accounts[..=at].iter().filter(|a| a.name == name);
            let called = if name.is_empty() {
                tr("without a name")
            } else {
                name
            };
            match same.count() {
                1 => called.to_owned(),
                n => format!("{called} ({n})"),
            }
        };
        (0..self.accounts.len()).map(named).collect()
    }
    /// What an account tells of each question; `None` of one that was not begun.
    pub fn marks(&self, account: &Account) -> Vec<Option<Mark>> {
        let told = marks(account);
        let of = |question: &Question| {
            let here =
                |told: &&(usize, usize, Mark)| (told.0, told.1) == (question.game, question.number);
            told.iter().find(here).map(|(_, _, mark)| mark.clone())
        };
        self.questions.iter().map(of).collect()
    }
}

impl Question {
    /// The title of its puzzle, or of its game and the place in that.
    pub fn named(&self) -> String {
        match &self.place {
            None => self.title.clone(),
            Some(place) => say!(
                "{title}, move {place}",
                title = self.title,
                place = shown(place)
            ),
        }
    }
}

/// `12.` of `12w`, `12...` of `12b`.
fn shown(place: &str) -> String {
    match place.strip_suffix('b') {
        Some(number) => format!("{number}..."),
        None => format!("{}.", place.trim_end_matches('w')),
    }
}

/// How a later account of a name stands to an earlier one. What happened first is
/// kept by the student's page, so that an account only grows.
fn relation(before: &Account, after: &Account) -> Relation {
    match (grown(before, after), grown(after, before)) {
        (_, true) => Relation::Within,
        (true, false) => Relation::GoesOn,
        _ => Relation::Other,
    }
}

/// The marks of an account, by game and question.
fn marks(account: &Account) -> Vec<(usize, usize, Mark)> {
    let mut all = Vec::new();
    keyproof::account::marks(&account.kept, |game, question, mark| {
        all.push((game, question, mark));
    });
    all
}

/// Whether all that an account tells is told by another, as it was or further on.
fn grown(before: &Account, after: &Account) -> bool {
    let after = marks(after);
    marks(before).into_iter().all(|(game, question, was)| {
        let here = |told: &&(usize, usize, Mark)| (told.0, told.1) == (game, question);
        after.iter().find(here).is_some_and(|(_, _, is)| {
            let later = Mark {
                later: is.later,
                ..was.clone()
            };
            match was.done {
                true => later == *is && is.later >= was.later,
                false => {
                    is.moves.starts_with(&was.moves)
                        && is.mistakes >= was.mistakes
                        && is.cost >= was.cost
                        && is.hints >= was.hints
                        && is.seconds >= was.seconds
                }
            }
        })
    })
}

/// What was changed of a class elsewhere, to be done here as well. The order of
/// accounts and lessons is none of it.
#[derive(Clone, Debug, Default)]
pub struct Change {
    gone: Vec<Account>,
    gone_lessons: HashSet<u32>,
    came: Vec<Account>,
    came_lessons: Vec<Lesson>,
}

impl Change {
    pub fn between(before: &Class, after: &Class) -> Change {
        let all = |class: &Class| -> Vec<Account> {
            let accounts = class.lessons.iter().flat_map(|l| l.accounts.clone());
            accounts.collect()
        };
        let (was, is) = (all(before), all(after));
        let bare = |lesson: &Rc<Lesson>| Lesson {
            accounts: Vec::new(),
            ..(**lesson).clone()
        };
        let is_new = |lesson: &Lesson| before.lesson(lesson.key).map(bare).as_ref() != Some(lesson);
        let lacks = |class: &Class, key| class.lesson(key).is_none();
        Change {
            gone: was.iter().filter(|a| !is.contains(a)).cloned().collect(),
            came: is.iter().filter(|a| !was.contains(a)).cloned().collect(),
            gone_lessons: (before.lessons.iter().map(|l| l.key))
                .filter(|&key| lacks(after, key))
                .collect(),
            came_lessons: after.lessons.iter().map(bare).filter(is_new).collect(),
        }
    }
    pub fn is_idle(&self) -> bool {
        self.gone.is_empty()
            && self.came.is_empty()
            && self.gone_lessons.is_empty()
            && self.came_lessons.is_empty()
    }
    /// A class with the change done to it. What was added to a lesson that is gone
    /// elsewhere keeps it.
    pub fn apply(&self, class: &Rc<Class>) -> Rc<Class> {
        if self.is_idle() {
            return class.clone();
        }
        let mut next = (**class).clone();
        for lesson in &mut next.lessons {
            if lesson.accounts.iter().any(|a| self.gone.contains(a)) {
                Rc::make_mut(lesson)
                    .accounts
                    .retain(|a| !self.gone.contains(a));
            }
        }
        next.lessons
            .retain(|l| !l.accounts.is_empty() || !self.gone_lessons.contains(&l.key));
        for lesson in &self.came_lessons {
            match next.lessons.iter_mut().find(|l| l.key == lesson.key) {
                None => next.lessons.push(Rc::new(lesson.clone())),
                Some(own) => {
                    let own = Rc::make_mut(own);
                    own.title.clone_from(&lesson.title);
                    own.questions.clone_from(&lesson.questions);
                }
            }
        }
        for account in &self.came {
            next.take(account);
        }
        match next == **class {
            true => class.clone(),
            false => Rc::new(next),
        }
    }
}

/// An account that was looked for in a text, by the line in which it begins, from 1.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Brought {
    pub line: usize,
    /// The student, as far as it can be read; empty where he gave no name.
    pub name: String,
    pub read: Result<Account, AccountFault>,
}

/// Whether a text has something of an account in it.
pub fn is_brought(text: &str) -> bool {
    text.contains(keyproof::account::OPENS)
}

/// All accounts in a text, whatever stands around them.
pub fn brought(text: &str) -> Vec<Brought> {
    let all = keyproof::account::all(text).into_iter();
    all.map(|(at, read)| Brought {
        line: text[..at].matches('\n').count() + 1,
        name: match &read {
            Ok(account) => account.name.clone(),
            Err(_) => keyproof::account::name_in(&text[at..]).unwrap_or_default(),
        },
        read,
    })
    .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn account(name: &str, kept: &str) -> Account {
        Account {
            name: name.into(),
            key: 5,
            kept: kept.into(),
        }
    }

    fn class() -> Class {
        let mut class = Class::default();
        class.give(table::tests::lesson(&[]));
        class
    }

    fn told(class: &Class) -> Vec<(String, String)> {
        let accounts = class.lessons.iter().flat_map(|l| &l.accounts);
        accounts.map(|a| (a.name.clone(), a.kept.clone())).collect()
    }

    #[test]
    fn a_later_account_takes_the_place_of_an_earlier_and_another_stands_beside_it() {
        let mut class = class();
        let begun = account("Zoë", "0 0=1bh:Rb7?\n1 0=0s\n");
        let on = account("Zoë", "0 0=2hh:Rb7? Kd2? Ra7 Rb8#\n1 0=0sl\n2 0=0:Ra7\n");
        let other = account("Zoë", "0 0=0:Ra7 Rb8#\n");
        let (foreign, nameless) = (
            Account {
                key: 6,
                ..on.clone()
            },
            account("", "0 0=0s\n"),
        );
        let steps = [
            (&begun, Took::New),
            (&begun, Took::Known),
            (&on, Took::GoesOn),
            (&begun, Took::Known),
            (&other, Took::Beside),
            (&on, Took::Known),
            (&nameless, Took::New),
            (&account("", "1 0=0s\n"), Took::New),
            (&foreign, Took::Foreign),
        ];
        for (account, took) in steps {
            assert_eq!(class.take(account), took, "{account:?}");
        }
        let lesson = class.latest().unwrap();
        let names = ["Zoë", "Zoë (2)", "without a name", "without a name (2)"];
        assert_eq!(lesson.names(), names);
        assert_eq!(lesson.accounts[0], on);
        class.remove(5, Some(9));
        class.remove(5, Some(0));
        assert_eq!(class.accounts(), 3);
        class.remove(5, None);
        assert_eq!((class.accounts(), class.lessons.len()), (0, 1));
    }

    #[test]
    fn a_lesson_given_out_again_keeps_its_accounts_and_old_ones_without_are_forgotten() {
        let mut class = class();
        class.take(&account("Bo", "0 0=0\n"));
        class.give(Lesson {
            title: "Friday".into(),
            ..table::tests::lesson(&[])
        });
        let lesson = class.latest().unwrap();
        assert_eq!(
            (lesson.title.as_str(), lesson.accounts.len()),
            ("Friday", 1)
        );
        for key in 100..300 {
            class.give(Lesson {
                key,
                ..Lesson::default()
            });
        }
        assert_eq!(class.lessons.len(), WITHOUT_ACCOUNTS + 1);
        assert_eq!((class.lessons[0].key, class.lessons[1].key), (5, 240));
    }

    #[test]
    fn what_another_tab_changed_is_done_here_as_well() {
        let mut before = class();
        let [bo, zoe, ann] = ["Bo", "Zoë", "Ann"].map(|name| account(name, "0 0=0\n"));
        before.take(&bo);
        before.take(&zoe);
        let (mut mine, mut theirs) = (before.clone(), before.clone());
        mine.take(&ann);
        mine.remove(5, Some(1));
        let bo_on = account("Bo", "0 0=0\n1 0=0s\n");
        theirs.take(&bo_on);
        theirs.give(Lesson {
            key: 6,
            ..Lesson::default()
        });
        let change = Change::between(&before, &theirs);
        assert!(!change.is_idle());
        let merged = change.apply(&Rc::new(mine));
        let kept = |name: &str, kept: &str| (name.to_owned(), kept.to_owned());
        let expected = [kept("Ann", "0 0=0\n"), kept("Bo", "0 0=0\n1 0=0s\n")];
        assert_eq!(told(&merged), expected);
        assert_eq!(merged.lessons.len(), 2);
        assert!(
            Rc::ptr_eq(&change.apply(&merged), &merged),
            "once is enough"
        );
        let back = Change::between(&theirs, &before);
        let undone = back.apply(&Rc::new(theirs));
        assert!(Change::between(&undone, &before).is_idle());
        assert!(Change::between(&before, &before).is_idle());
    }

    #[test]
    fn accounts_are_found_in_a_chat_or_in_what_a_course_exports() {
        let (bo, zoe) = (account("Bo", "0 0=0\n"), account("Zoë", "1 0=0s\n"));
        let mut damaged = bo.write();
        damaged.replace_range(damaged.len() - 3..damaged.len() - 2, "%");
        let chat = format!(
            "name,comment\n\"Bo\",\"2 of 3 found\n{}\"\n{damaged}\n(no account)\n> {}\n",
            bo.write(),
            zoe.write()
        );
        assert!(is_brought(&chat) && !is_brought("1. e4 e5"));
        let all = brought(&chat);
        let lines: Vec<(usize, &str, bool)> = (all.iter())
            .map(|b| (b.line, b.name.as_str(), b.read.is_ok()))
            .collect();
        assert_eq!(lines, [(3, "Bo", true), (4, "Bo", false), (6, "Zoë", true)]);
    }

    /// Python's zlib and base64, which know nothing of ours, read the line and write
    /// one that is read here.
    #[test]
    fn another_program_reads_and_writes_the_line() {
        let script = "import base64, struct, sys, zlib\n\
            letters = sys.argv[1].removeprefix('[keyproof1 ').removesuffix(']')\n\
            line = base64.urlsafe_b64decode(letters + '=' * (-len(letters) % 4))\n\
            total, key = struct.unpack('<II', line[:8])\n\
            assert zlib.crc32(line[4:]) == total\n\
            name, kept = line[8:].decode().split('\\n', 1)\n\
            told = struct.pack('<I', key + 1) + f'{name[::-1]}\\n{kept}'.encode()\n\
            line = struct.pack('<I', zlib.crc32(told)) + told\n\
            print('[keyproof1', base64.urlsafe_b64encode(line).decode().rstrip('=') + ']')";
        let account = account("Zoë", "0 0=1:Kd2? Ra7 Rb8#\n2 0=0sh\n");
        let python = std::process::Command::new("python3")
            .args(["-c", script, &account.write()])
            .output()
            .expect("python3");
        assert!(python.status.success(), "{python:?}");
        let line = String::from_utf8(python.stdout).unwrap();
        let read = Account::read(&line).expect("an account");
        assert_eq!((read.name.as_str(), read.key), ("ëoZ", 6));
        assert_eq!(read.kept, account.kept);
    }
}
