//! What the class answered: accounts come in and go, the table is turned about, and
//! what was missed is given out again.

use std::cell::OnceCell;
use std::collections::{HashMap, HashSet};
use std::rc::Rc;

use keyproof::account::{Account, AccountFault};
use keyproof::tongue::{Phrase, holes, marked, phrase, plural, say, tr};

use super::{Desk, undo};
use crate::class::table::{Questions, Students, Table};
use crate::class::{Brought, Class, Lesson, Took, brought, csv};
use crate::message::{ClassMsg, Closer, Effect, GiveOutMsg, Offers, Scope, Who};
use crate::names::{list, stem};
use crate::work::{SheetId, Work};

/// The page with what the class answered, as it is looked at.
#[derive(Clone, Debug, Default)]
pub struct Room {
    pub open: bool,
    lesson: Option<u32>,
    pub students: Students,
    pub questions: Questions,
    pub closer: Option<Closer>,
    /// Wrong first moves that are not drawn.
    hidden: HashSet<String>,
    /// What is given out again.
    pub(super) again: Again,
}

/// Questions that are given out once more.
#[derive(Clone, Debug, Default)]
pub(super) struct Again {
    /// By their sheets, each with the places in a lesson; none for a puzzle.
    pub(super) picked: HashMap<SheetId, Vec<String>>,
    /// What the questions are from.
    title: String,
    /// What the file is called.
    file: String,
}

impl Desk {
    /// The page with what the class answered.
    pub fn class_room(&self) -> &Room {
        &self.class
    }
    pub fn class(&self) -> &Class {
        &self.document.work.class
    }
    /// The lesson whose answers are looked at.
    pub fn class_lesson(&self) -> Option<&Rc<Lesson>> {
        let class = &self.document.work.class;
        let chosen = self.class.lesson.and_then(|key| class.lesson(key));
        chosen.or_else(|| class.latest())
    }
    /// Whether a wrong first move is drawn on the diagram.
    pub fn draws(&self, san: &str) -> bool {
        !self.class.hidden.contains(san)
    }

    pub(super) fn update_class(&mut self, msg: ClassMsg) -> Vec<Effect> {
        match msg {
            ClassMsg::Open(open) => self.open_class(open),
            ClassMsg::Came { from, text } => self.take_accounts(from, &text),
            ClassMsg::Lesson(key) => {
                self.class.lesson = Some(key);
                self.class.closer = None;
                vec![]
            }
            ClassMsg::Students(order) => {
                self.class.students = order;
                vec![]
            }
            ClassMsg::Questions(order) => {
                self.class.questions = order;
                vec![]
            }
            ClassMsg::Closer(closer) => self.look_closer(closer),
            ClassMsg::Draw(san) => {
                if !self.class.hidden.remove(&san) {
                    self.class.hidden.insert(san);
                }
                vec![]
            }
            ClassMsg::Remove(at) => self.remove_student(at),
            ClassMsg::RemoveAll => self.remove_students(),
            ClassMsg::Again(who) => self.again(who),
            ClassMsg::SaveCsv => self.save_csv(),
        }
    }
    fn open_class(&mut self, open: bool) -> Vec<Effect> {
        self.class.open = open;
        match open {
            true => vec![Effect::Focus("class-head")],
            // The button may be on a leaf that is not shown; the desk's is always there.
            false => ["about-desk", "class-open"].map(Effect::Focus).into(),
        }
    }
    fn look_closer(&mut self, closer: Option<Closer>) -> Vec<Effect> {
        self.class.hidden.clear();
        let left = std::mem::replace(&mut self.class.closer, closer);
        match (left, closer) {
            (_, Some(_)) => vec![Effect::KeepFocus, Effect::Focus("class-closer")],
            (Some(_), None) => vec![Effect::FocusBack],
            (None, None) => vec![],
        }
    }

    /// Takes the accounts of a text to the class, and tells what became of each.
    pub(super) fn take_accounts(&mut self, from: String, text: &str) -> Vec<Effect> {
        let mut class = (*self.document.work.class).clone();
        let brought = brought(text);
        let mut taken = Taken {
            from,
            ..Taken::default()
        };
        // Made once, and only if some account is of no lesson that is remembered.
        let on_desk = OnceCell::new();
        for Brought { line, name, read } in brought {
            let took = read.map(|account| {
                if class.lesson(account.key).is_none() {
                    let on_desk = on_desk.get_or_init(|| self.could_be_given());
                    let lesson = on_desk.iter().find(|lesson| lesson.key == account.key);
                    lesson
                        .into_iter()
                        .for_each(|lesson| class.give(lesson.clone()));
                }
                (class.take(&account), account)
            });
            taken.add(line, name, took);
        }
        let at = taken.at;
        self.class.lesson = at.or(self.class.lesson);
        let come = taken.come();
        let effects = match come {
            true => {
                self.class.closer = None;
                let mut effects = self.replace_class(class);
                effects.extend(self.open_class(true));
                effects
            }
            false => vec![],
        };
        let offers = move || match come {
            true => undo(),
            false => Offers::new(),
        };
        match taken.is_whole() {
            true => self.tell(move || taken.words(), offers),
            false => self.warn(move || taken.words(), offers),
        }
        effects
    }
    fn replace_class(&mut self, class: Class) -> Vec<Effect> {
        let work = Work {
            class: Rc::new(class),
            ..self.document.work.clone()
        };
        self.replace(work, None)
    }
    /// The lessons that the desk would give out now: one that was given out without
    /// being remembered here (by the command, or before there was a memory) is known by
    /// its text, as far as that is still the same.
    fn could_be_given(&self) -> Vec<Lesson> {
        let all: Vec<SheetId> = self.scope(Scope::All);
        let alone = all.iter().map(|&id| vec![id]);
        let together = [self.scope(Scope::Chosen), all.clone()];
        let given = alone
            .chain(together)
            .filter_map(|ids| self.given(&ids, false));
        given.collect()
    }
    fn remove_student(&mut self, at: usize) -> Vec<Effect> {
        let Some(lesson) = self.class_lesson() else {
            return vec![];
        };
        let (key, name) = (lesson.key, lesson.names().get(at).cloned());
        let Some(name) = name else { return vec![] };
        let effects = self.without(key, Some(at));
        let told = move || say!("The account of {names} is removed.", names = name);
        self.tell(told, undo);
        effects
    }
    fn remove_students(&mut self) -> Vec<Effect> {
        let Some(lesson) = self.class_lesson() else {
            return vec![];
        };
        let (key, count) = (lesson.key, lesson.accounts.len());
        if count == 0 {
            return vec![];
        }
        let effects = self.without(key, None);
        let told = move || {
            plural!(
                count,
                "One account is removed.",
                "{n} accounts are removed."
            )
        };
        self.tell(told, undo);
        effects
    }
    fn without(&mut self, key: u32, at: Option<usize>) -> Vec<Effect> {
        let mut class = (*self.document.work.class).clone();
        class.remove(key, at);
        self.class.lesson = Some(key);
        self.class.closer = None;
        let mut effects = vec![Effect::Focus("class-head")];
        effects.extend(self.replace_class(class));
        effects
    }
    fn save_csv(&self) -> Vec<Effect> {
        let Some(lesson) = self.class_lesson() else {
            return vec![];
        };
        vec![Effect::Download {
            name: format!("{}.csv", stem(&lesson.title)),
            kind: "text/csv",
            text: csv::write(lesson),
        }]
    }

    /// Has a student's file made of what was missed.
    fn again(&mut self, who: Who) -> Vec<Effect> {
        let Some(lesson) = self.class_lesson().cloned() else {
            return vec![];
        };
        let table = Table::of(&lesson);
        let (missed, whose) = match who {
            Who::Student(at) => (table.missed_by(at), table.names.get(at).cloned()),
            Who::Half => (table.missed_by_half(), None),
        };
        let mut picked: HashMap<SheetId, Vec<String>> = HashMap::new();
        let mut lost = 0;
        for question in missed.iter().filter_map(|&q| lesson.questions.get(q)) {
            if self.document.work.sheet(question.sheet).is_none() {
                lost += 1;
                continue;
            }
            let places = picked.entry(question.sheet).or_default();
            places.extend(question.place.clone());
        }
        if lost > 0 {
            let words = move || {
                plural!(
                    lost,
                    "One of the questions is no longer on the desk.",
                    "{n} of the questions are no longer on the desk.",
                )
            };
            self.refuse(words);
        }
        let name = [Some(lesson.title.clone()), whose];
        let name: Vec<String> = name.into_iter().flatten().collect();
        self.class.again = Again {
            picked,
            title: lesson.title.clone(),
            file: stem(&format!("again {}", name.join(" "))),
        };
        self.update_give_out(GiveOutMsg::Publish(Scope::Missed))
    }
    /// The sheets with questions that are given out once more.
    pub(super) fn sheets_again(&self) -> Vec<SheetId> {
        let all = self.document.work.sheets.iter().map(|s| s.id);
        all.filter(|id| self.class.again.picked.contains_key(id))
            .collect()
    }
    /// What a file of questions given out once more is called.
    pub(super) fn file_again(&self) -> String {
        self.class.again.file.clone()
    }
    /// What stands above them, in the language of the file.
    pub(super) fn heading_again(&self) -> String {
        say!("Once more: {title}", title = self.class.again.title)
    }
}

/// What became of the accounts of a text.
#[derive(Default)]
struct Taken {
    from: String,
    /// The lesson of the last that was taken.
    at: Option<u32>,
    new: Vec<String>,
    on: Vec<String>,
    beside: Vec<String>,
    known: usize,
    /// Each with its line.
    damaged: Vec<(usize, String)>,
    foreign: Vec<(usize, String)>,
}

impl Taken {
    fn add(&mut self, line: usize, name: String, took: Result<(Took, Account), AccountFault>) {
        let Ok((took, account)) = took else {
            return self.damaged.push((line, name));
        };
        if took != Took::Foreign {
            self.at = Some(account.key);
        }
        match took {
            Took::New => self.new.push(name),
            Took::GoesOn => self.on.push(name),
            Took::Beside => self.beside.push(name),
            Took::Known => self.known += 1,
            Took::Foreign => self.foreign.push((line, name)),
        }
    }
    /// Whether something came that was not here.
    fn come(&self) -> bool {
        !(self.new.is_empty() && self.on.is_empty() && self.beside.is_empty())
    }
    /// Whether all was taken.
    fn is_whole(&self) -> bool {
        self.damaged.is_empty() && self.foreign.is_empty()
    }
    fn words(&self) -> String {
        let mut words = Vec::new();
        let mut named = |names: &[String], one: Named, more: Named| {
            if !names.is_empty() {
                let told = if names.len() == 1 { one } else { more };
                words.push(say!(told, names = list(&called(names))));
            }
        };
        named(
            &self.new,
            phrase!("The account of {names} came in.", "names"),
            phrase!("The accounts of {names} came in.", "names"),
        );
        named(
            &self.on,
            phrase!(
                "That of {names} goes on from the one that was here, and took its place.",
                "names"
            ),
            phrase!(
                "Those of {names} go on from the ones that were here, and took their places.",
                "names"
            ),
        );
        named(
            &self.beside,
            phrase!(
                "Another account of {names} says something else: it stands beside the first.",
                "names"
            ),
            phrase!(
                "Other accounts of {names} say something else: they stand beside the first.",
                "names"
            ),
        );
        let (damaged, foreign) = (places(&self.damaged), places(&self.foreign));
        named(
            &damaged,
            phrase!(
                "Damaged, and not taken: {names}. Ask for it once more.",
                "names"
            ),
            phrase!(
                "Damaged, and not taken: {names}. Ask for them once more.",
                "names"
            ),
        );
        named(
            &foreign,
            phrase!(
                "Of no lesson that this desk gave out, and not taken: {names}.",
                "names"
            ),
            phrase!(
                "Of no lesson that this desk gave out, and not taken: {names}.",
                "names"
            ),
        );
        if self.known > 0 {
            words.push(plural!(
                self.known,
                "One account was here already.",
                "{n} accounts were here already.",
            ));
        }
        if words.is_empty() {
            let from = marked(&self.from);
            words.push(say!("No account was found in {from}.", from = from));
        }
        words.join(" ")
    }
}

type Named = Phrase<{ holes::set("names") }>;

fn called(names: &[String]) -> Vec<String> {
    let called = names.iter().map(|name| match name.as_str() {
        "" => tr("a student without a name").to_owned(),
        name => name.to_owned(),
    });
    called.collect()
}

/// Where accounts stand in a text: "Bo (line 4)".
fn places(all: &[(usize, String)]) -> Vec<String> {
    let told = all.iter().map(|(line, name)| match name.as_str() {
        "" => say!("line {n}", n = line.to_string()),
        name => say!("{name} (line {n})", name = name, n = line.to_string()),
    });
    told.collect()
}

#[cfg(test)]
mod tests {
    use super::super::safety::Store;
    use super::super::tests::{PAGE, bring, desk, run};
    use super::*;
    use crate::backup;
    use crate::class::Question;
    use crate::message::{EditMsg, ListMsg, Msg, Purpose, StoreMsg};

    /// A puzzle, and a lesson that asks twice.
    const EVENING: &str = r##"[Event "Two corridors"]
[FEN "7k/8/8/8/8/8/R7/1R2K3 w - - 0 1"]
[Stipulation "#2"]

1. Ra7 Kg8 2. Rb8# *

[Event "Thursday"]
[Moments "2b #1, 3b #1"]

1. f3 e5 2. g4 a6 $2 (2... Qh4# $1) 3. a3 Qh4# *
"##;

    /// Gives it out, and gives back the student's file.
    fn give(desk: &mut Desk, scope: Scope) -> (String, String) {
        let purpose = Purpose::File(scope);
        run(desk, Msg::GiveOut(GiveOutMsg::PublishAllTheSame(purpose)));
        taken(desk, purpose)
    }

    fn taken(desk: &mut Desk, purpose: Purpose) -> (String, String) {
        let template = Ok(PAGE.into());
        let mut effects = run(
            desk,
            Msg::GiveOut(GiveOutMsg::Template { purpose, template }),
        );
        effects.extend(run(desk, Msg::GiveOut(GiveOutMsg::WithoutReasons)));
        let file = effects.into_iter().find_map(|effect| match effect {
            Effect::Download { name, text, .. } => Some((name, text)),
            _ => None,
        });
        file.expect("a file")
    }

    fn evening() -> (Desk, u32) {
        let mut desk = desk();
        bring(&mut desk, EVENING);
        give(&mut desk, Scope::All);
        let key = desk.class().lessons[0].key;
        (desk, key)
    }

    fn account(key: u32, name: &str, kept: &str) -> String {
        let (name, kept) = (name.into(), kept.into());
        Account { name, key, kept }.write()
    }

    fn paste(desk: &mut Desk, text: &str) {
        run(
            desk,
            Msg::List(ListMsg::Pasted {
                text: text.into(),
                in_tree: false,
            }),
        );
    }

    fn class(desk: &mut Desk, msg: ClassMsg) -> Vec<Effect> {
        run(desk, Msg::Class(msg))
    }

    fn told(desk: &Desk) -> String {
        desk.notices().last().expect("a notice").text.clone()
    }

    #[test]
    fn a_lesson_is_remembered_as_it_was_given_out() {
        let (mut desk, key) = evening();
        let lesson = desk.class_lesson().unwrap().clone();
        assert_eq!(lesson.title, "2 chess lessons");
        let asked = |q: &Question| (q.game, q.number, q.named(), q.key.clone());
        let asked: Vec<_> = lesson.questions.iter().map(asked).collect();
        let expected = |game, number, name: &str, key: &str| {
            (game, number, name.to_owned(), Some(key.to_owned()))
        };
        assert_eq!(
            asked,
            [
                expected(0, 0, "Two corridors", "Ra7"),
                expected(1, 0, "Thursday, move 2...", "Qh4#"),
                expected(1, 1, "Thursday, move 3...", "Qh4#"),
            ]
        );
        // That it was given out is nothing to be undone, and outlives it.
        run(&mut desk, Msg::Edit(EditMsg::Undo));
        assert!(desk.work().sheets.is_empty());
        assert_eq!(desk.class().lessons[0].key, key);
    }

    #[test]
    fn accounts_are_taken_the_damaged_and_foreign_named_and_all_of_it_undone() {
        let (mut desk, key) = evening();
        let zoe = account(key, "Zoë", "0 0=1:Rb7? Ra7 Rb8#\n1 0=0s\n");
        let bo = account(key, "Bo", "0 0=0:Ra7 Rb8#\n");
        let foreign = account(key + 1, "Cleo", "0 0=0\n");
        let chat = format!("Zoë: {zoe}\n{}]\nthen {bo}\n\n{foreign}", &bo[..30]);
        paste(&mut desk, &chat);
        assert!(desk.class_room().open);
        assert_eq!(
            told(&desk),
            "The accounts of Zoë and Bo came in. Damaged, and not taken: Bo (line 2). Ask for it \
             once more. Of no lesson that this desk gave out, and not taken: Cleo (line 5)."
        );
        assert_eq!(desk.class_lesson().unwrap().names(), ["Zoë", "Bo"]);
        assert_eq!(desk.work().sheets.len(), 2, "no puzzle came of it");
        let on = account(key, "Bo", "0 0=0:Ra7 Rb8#\n1 0=0h:Qh4#\n");
        paste(&mut desk, &format!("{on}{zoe}"));
        let words = "That of Bo goes on from the one that was here, and took its place. One \
                     account was here already.";
        assert_eq!(told(&desk), words);
        class(&mut desk, ClassMsg::Remove(0));
        assert_eq!(told(&desk), "The account of Zoë is removed.");
        class(&mut desk, ClassMsg::RemoveAll);
        assert_eq!(desk.class().accounts(), 0);
        for left in [1, 2, 2, 0] {
            run(&mut desk, Msg::Edit(EditMsg::Undo));
            assert_eq!(desk.class().accounts(), left);
        }
        paste(&mut desk, &foreign);
        let words = "Of no lesson that this desk gave out, and not taken: Cleo (line 1).";
        assert_eq!(told(&desk), words);
    }

    #[test]
    fn a_lesson_that_was_given_out_elsewhere_is_known_by_its_text() {
        let (first, key) = evening();
        let text = backup::write(
            &Work {
                class: Rc::default(),
                ..first.work().clone()
            },
            "2026-03-01",
        );
        let mut other = desk();
        bring(&mut other, &text);
        assert!(other.class().is_empty());
        paste(&mut other, &account(key, "Bo", "1 1=0s\n"));
        assert_eq!(other.class_lesson().unwrap().names(), ["Bo"]);
    }

    #[test]
    fn what_was_missed_is_given_out_again_question_by_question() {
        let (mut desk, key) = evening();
        paste(
            &mut desk,
            &account(key, "Zoë", "0 0=0:Ra7 Rb8#\n1 0=0:Qh4#,1=0s\n"),
        );
        paste(
            &mut desk,
            &account(key, "Bo", "0 0=1:Rb7? Ra7 Rb8#\n1 1=2:Qg5? Qf6? Qh4#\n"),
        );
        class(&mut desk, ClassMsg::Again(Who::Student(0)));
        let purpose = Purpose::File(Scope::Missed);
        if desk.held().is_some() {
            run(
                &mut desk,
                Msg::GiveOut(GiveOutMsg::PublishAllTheSame(purpose)),
            );
        }
        let (name, text) = taken(&mut desk, purpose);
        assert_eq!(name, "again-2-chess-lessons-zoë.html");
        assert!(text.contains("Once more: 2 chess lessons") && !text.contains("Zoë"));
        assert!(text.contains("6P1/P4P2") && !text.contains("6P1/5P2") && !text.contains("Ra7"));
        let again = desk.class().lessons.last().unwrap().clone();
        assert_eq!(again.questions.len(), 1);
        assert_eq!(again.questions[0].named(), "Thursday, move 3...");

        class(&mut desk, ClassMsg::Lesson(key));
        class(&mut desk, ClassMsg::Again(Who::Half));
        if desk.held().is_some() {
            run(
                &mut desk,
                Msg::GiveOut(GiveOutMsg::PublishAllTheSame(purpose)),
            );
        }
        let (name, text) = taken(&mut desk, purpose);
        assert_eq!(name, "again-2-chess-lessons.html");
        assert!(text.contains("Ra7") && text.contains("Qh4#"));
        // Its accounts are taken like any other's.
        let again = desk.class().lessons.last().unwrap().clone();
        assert_eq!(again.questions.len(), 2);
        paste(&mut desk, &account(again.key, "Bo", "1 0=0:Qh4#\n"));
        assert_eq!(
            desk.class_lesson().unwrap().title,
            "Once more: 2 chess lessons"
        );

        // What is no longer there is told.
        let gone = desk.work().sheets[1].id;
        run(&mut desk, Msg::List(ListMsg::Remove(gone)));
        class(&mut desk, ClassMsg::Lesson(key));
        class(&mut desk, ClassMsg::Again(Who::Half));
        assert_eq!(
            told(&desk),
            "One of the questions is no longer on the desk."
        );
    }

    #[test]
    fn what_one_student_missed_may_be_what_half_the_class_missed() {
        let (mut desk, key) = evening();
        paste(
            &mut desk,
            &account(key, "Ann", "0 0=1:Rb7? Ra7 Rb8#\n1 0=0s\n"),
        );
        paste(&mut desk, &account(key, "Bo", "0 0=0:Ra7 Rb8#\n"));
        for (who, file) in [
            (Who::Student(0), "again-2-chess-lessons-ann.html"),
            (Who::Half, "again-2-chess-lessons.html"),
        ] {
            let purpose = Purpose::File(Scope::Missed);
            class(&mut desk, ClassMsg::Again(who));
            if desk.held().is_some() {
                run(
                    &mut desk,
                    Msg::GiveOut(GiveOutMsg::PublishAllTheSame(purpose)),
                );
            }
            assert_eq!(taken(&mut desk, purpose).0, file);
        }
        assert_eq!(desk.class().lessons.len(), 2);
    }

    #[test]
    fn a_whole_lesson_given_out_once_more_stays_the_lesson() {
        let mut desk = desk();
        let puzzle = EVENING.split("[Event \"Thursday\"]").next().unwrap();
        bring(&mut desk, puzzle);
        give(&mut desk, Scope::Open);
        let key = desk.class().lessons[0].key;
        paste(&mut desk, &account(key, "Ann", "0 0=0s\n"));
        for file in [
            "again-two-corridors-ann.html",
            "again-two-corridors-ann.html",
        ] {
            class(&mut desk, ClassMsg::Again(Who::Student(0)));
            assert_eq!(taken(&mut desk, Purpose::File(Scope::Missed)).0, file);
        }
        let titles = desk.class().lessons.iter().map(|l| l.title.as_str());
        assert_eq!(titles.collect::<Vec<_>>(), ["Two corridors"]);
    }

    #[test]
    fn the_class_is_kept_with_the_work_and_shared_by_tabs() {
        let (mut first, key) = evening();
        paste(&mut first, &account(key, "Bo", "0 0=0\n"));
        let mut store = Store::default();
        store.save(&mut first);
        assert!(!first.unsaved());
        let mut second = store.tab(2);
        assert_eq!(second.class(), first.class());
        paste(&mut second, &account(key, "Zoë", "0 0=0s\n"));
        assert!(second.unsaved());
        store.save(&mut second);
        paste(&mut first, &account(key, "Ann", "0 0=0\n"));
        store.save(&mut first);
        assert_eq!(first.class_lesson().unwrap().names(), ["Bo", "Ann", "Zoë"]);
        // Undo takes back what this tab did, and nothing of the other's.
        run(&mut first, Msg::Edit(EditMsg::Undo));
        assert_eq!(first.class_lesson().unwrap().names(), ["Bo", "Zoë"]);
        store.save(&mut first);
        store.read_again(&mut second);
        assert_eq!(second.class_lesson().unwrap().names().len(), 2);
        store.read_again(&mut first);
        assert!(!first.unsaved() && !second.unsaved());
    }

    #[test]
    fn the_class_is_in_the_backup() {
        let (mut first, key) = evening();
        paste(&mut first, &account(key, "Bo", "0 0=0\n"));
        let saved = run(&mut first, Msg::Store(StoreMsg::SaveBackup));
        let [Effect::Backup(work)] = &saved[..] else {
            panic!("{saved:?}")
        };
        let text = backup::write(work, "2026-03-01");
        let mut other = desk();
        bring(&mut other, &text);
        let words = "2 puzzles came back from the backup club.pgn. One student\u{2019}s answers \
                     came back with it.";
        assert_eq!(told(&other), words);
        assert_eq!(other.class(), first.class());
        bring(&mut other, &text);
        assert!(told(&other).starts_with("Everything in the backup"));
        class(&mut other, ClassMsg::RemoveAll);
        bring(&mut other, &text);
        assert!(told(&other).starts_with("Answers of the class came back"));
        let saved = class(&mut other, ClassMsg::SaveCsv);
        let [Effect::Download { name, text, .. }] = &saved[..] else {
            panic!("{saved:?}")
        };
        assert_eq!(name, "2-chess-lessons.csv");
        assert!(text.contains("\r\nBo,found at once,"), "{text}");
    }

    #[test]
    fn what_is_looked_at_more_closely_is_left_again() {
        let (mut desk, key) = evening();
        paste(&mut desk, &account(key, "Bo", "0 0=1:Rb7? Ra7 Rb8#\n"));
        let closer = Some(Closer::Question(0));
        class(&mut desk, ClassMsg::Closer(closer));
        assert!(desk.draws("Rb7"));
        class(&mut desk, ClassMsg::Draw("Rb7".into()));
        assert!(!desk.draws("Rb7"));
        class(&mut desk, ClassMsg::Draw("Rb7".into()));
        assert!(desk.draws("Rb7"));
        class(&mut desk, ClassMsg::Questions(Questions::Hardest));
        class(&mut desk, ClassMsg::Students(Students::Missed));
        assert_eq!(desk.class_room().closer, closer);
        class(&mut desk, ClassMsg::Closer(None));
        assert!(desk.class_room().closer.is_none() && desk.class_room().open);
        run(&mut desk, Msg::Page(crate::message::PageMsg::LeafAt(1)));
        assert!(!desk.class_room().open, "a leaf was asked for");
    }
}
