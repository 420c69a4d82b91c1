//! Students by questions: what each answered, and what all of them missed.

use keyproof::account::Mark;
use keyproof::notation::{fen, moves};
use keyproof::tongue::{phrase, plural, tr};
use shakmaty::{Chess, Move};

use super::Lesson;

/// How a question was answered.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Answer {
    /// Found without a wrong move and without a hint.
    AtOnce,
    /// Found with either.
    Found,
    /// The solution was shown, or the question passed by.
    Shown,
    /// Not done with.
    Begun,
    NotBegun,
}

impl Answer {
    pub const ALL: [Answer; 5] = [
        Answer::AtOnce,
        Answer::Found,
        Answer::Shown,
        Answer::Begun,
        Answer::NotBegun,
    ];
    pub fn of(mark: Option<&Mark>) -> Answer {
        match mark {
            None => Answer::NotBegun,
            Some(Mark { done: false, .. }) => Answer::Begun,
            Some(Mark { shown: true, .. }) => Answer::Shown,
            Some(mark) if mark.mistakes == 0 && mark.hints == 0 && mark.cost == 0 => Answer::AtOnce,
            Some(_) => Answer::Found,
        }
    }
    pub fn sign(self) -> &'static str {
        match self {
            Answer::AtOnce | Answer::Found => "✓",
            Answer::Shown => "○",
            Answer::Begun => "…",
            Answer::NotBegun => "·",
        }
    }
    pub fn words(self) -> &'static str {
        tr(match self {
            Answer::AtOnce => phrase("found at once"),
            Answer::Found => phrase("found"),
            Answer::Shown => phrase("shown"),
            Answer::Begun => phrase("begun"),
            Answer::NotBegun => phrase("not begun"),
        })
    }
}

/// A mark as short as it can be: `✓`, `✓2` after two wrong moves, `✓+` with a hint,
/// `○1`, `…`, `·`.
pub fn sign(mark: Option<&Mark>) -> String {
    let mut sign = Answer::of(mark).sign().to_owned();
    if let Some(mark) = mark {
        if mark.mistakes > 0 {
            sign.push_str(&mark.mistakes.to_string());
        }
        if hinted(mark) {
            sign.push('+');
        }
    }
    sign
}

/// The same in words, without the moves.
pub fn told(mark: Option<&Mark>) -> String {
    let mut parts = vec![Answer::of(mark).words().to_owned()];
    if let Some(mark) = mark {
        if mark.later {
            parts.push(tr("found later").into());
        }
        if mark.mistakes > 0 {
            let n = mark.mistakes as usize;
            parts.push(plural!(n, "{n} wrong move", "{n} wrong moves"));
        }
        match mark.hints {
            0 if hinted(mark) => parts.push(tr("with hints").into()),
            0 => {}
            n => parts.push(plural!(n, "{n} hint", "{n} hints")),
        }
        if mark.seconds > 0 {
            parts.push(mark.time());
        }
    }
    parts.join(", ")
}

fn hinted(mark: &Mark) -> bool {
    mark.hints > 0 || mark.cost > 0
}

/// Whether a question is to be seen again: it was shown, or answered wrongly first, as
/// the student's own page has it.
pub fn missed(mark: Option<&Mark>) -> bool {
    mark.is_some_and(|mark| mark.shown || mark.mistakes > 0)
}

/// In which order students stand.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Students {
    #[default]
    Name,
    /// Who missed most first.
    Missed,
}

/// In which order questions stand.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Questions {
    #[default]
    Lesson,
    Hardest,
}

/// A wrong first move, and who played it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Wrong {
    /// In SAN.
    pub san: String,
    /// Students, by their accounts.
    pub by: Vec<usize>,
}

/// What the students of a lesson answered. Students and questions are counted as the
/// lesson has them.
pub struct Table<'a> {
    pub lesson: &'a Lesson,
    pub names: Vec<String>,
    marks: Vec<Vec<Option<Mark>>>,
}

impl<'a> Table<'a> {
    pub fn of(lesson: &'a Lesson) -> Table<'a> {
        let accounts = lesson.accounts.iter();
        Table {
            names: lesson.names(),
            marks: accounts.map(|account| lesson.marks(account)).collect(),
            lesson,
        }
    }
    pub fn mark(&self, student: usize, question: usize) -> Option<&Mark> {
        self.marks.get(student)?.get(question)?.as_ref()
    }
    /// All students in an order.
    pub fn students(&self, order: Students) -> Vec<usize> {
        let mut all: Vec<usize> = (0..self.marks.len()).collect();
        all.sort_by_cached_key(|&student| {
            let missed = match order {
                Students::Name => 0,
                Students::Missed => self.missed_by(student).len(),
            };
            (usize::MAX - missed, self.names[student].to_lowercase())
        });
        all
    }
    /// All questions in an order.
    pub fn questions(&self, order: Questions) -> Vec<usize> {
        let mut all: Vec<usize> = (0..self.lesson.questions.len()).collect();
        if order == Questions::Hardest {
            // Sorted as they stand where they are equally hard.
            all.sort_by_key(|&question| std::cmp::Reverse(self.hardness(question)));
        }
        all
    }
    /// The questions that a student missed.
    pub fn missed_by(&self, student: usize) -> Vec<usize> {
        let all = 0..self.lesson.questions.len();
        all.filter(|&q| missed(self.mark(student, q))).collect()
    }
    /// The students who missed a question.
    pub fn who_missed(&self, question: usize) -> Vec<usize> {
        let all = 0..self.marks.len();
        all.filter(|&s| missed(self.mark(s, question))).collect()
    }
    /// The questions that half of the students missed, or more.
    pub fn missed_by_half(&self) -> Vec<usize> {
        let all = 0..self.lesson.questions.len();
        let half = |&q: &usize| {
            let missed = self.who_missed(q).len();
            missed > 0 && 2 * missed >= self.marks.len()
        };
        all.filter(half).collect()
    }
    /// How many students answered a question so.
    pub fn count(&self, question: usize, answer: Answer) -> usize {
        let all = 0..self.marks.len();
        all.filter(|&s| Answer::of(self.mark(s, question)) == answer)
            .count()
    }
    /// The question that most students missed, of several the one with more wrong
    /// moves; `None` if none was missed.
    pub fn hardest(&self) -> Option<usize> {
        let first = *self.questions(Questions::Hardest).first()?;
        (!self.who_missed(first).is_empty()).then_some(first)
    }
    fn hardness(&self, question: usize) -> (usize, u32) {
        let marks = (0..self.marks.len()).filter_map(|s| self.mark(s, question));
        let wrong = marks.map(|mark| mark.mistakes).sum();
        (self.who_missed(question).len(), wrong)
    }
    /// The wrong first moves at a question, the most frequent first. A student who
    /// played one twice is counted once.
    pub fn wrong(&self, question: usize) -> Vec<Wrong> {
        let mut all: Vec<Wrong> = Vec::new();
        for student in 0..self.marks.len() {
            let Some(mark) = self.mark(student, question) else {
                continue;
            };
            for san in wrong_first(mark) {
                match all.iter_mut().find(|wrong| wrong.san == san) {
                    Some(wrong) if wrong.by.contains(&student) => {}
                    Some(wrong) => wrong.by.push(student),
                    None => all.push(Wrong {
                        san: san.to_owned(),
                        by: vec![student],
                    }),
                }
            }
        }
        all.sort_by_key(|wrong| std::cmp::Reverse(wrong.by.len()));
        all
    }
}

/// The wrong moves that were played before any other.
fn wrong_first(mark: &Mark) -> impl Iterator<Item = &str> {
    let moves = mark.moves.split(' ');
    moves.map_while(|played| played.strip_suffix('?').filter(|san| !san.is_empty()))
}

impl super::Question {
    /// The position, if it can be read.
    pub fn position(&self) -> Option<Chess> {
        fen::read(&self.fen).ok()
    }
    /// A move of it by its SAN.
    pub fn find(&self, san: &str) -> Option<Move> {
        moves::read(&self.position()?, san).ok()
    }
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;
    use crate::class::Question;
    use crate::sheet_id::SheetId;
    use keyproof::account::Account;

    pub fn question(number: usize) -> Question {
        Question {
            game: number,
            number: 0,
            title: format!("Corridor {number}"),
            sheet: SheetId(7 + number as u64),
            place: None,
            fen: "7k/8/8/8/8/8/R7/1R2K3 w - - 0 1".into(),
            black_below: false,
            key: Some("Ra7".into()),
        }
    }

    /// A lesson of three questions, and what students kept of it.
    pub fn lesson(kept: &[(&str, &str)]) -> Lesson {
        let accounts = kept.iter().map(|(name, kept)| Account {
            name: (*name).into(),
            key: 5,
            kept: (*kept).into(),
        });
        Lesson {
            key: 5,
            title: "Thursday".into(),
            questions: (0..3).map(question).collect(),
            accounts: accounts.collect(),
        }
    }

    const CLASS: &[(&str, &str)] = &[
        ("Zoë", "0 0=0:Ra7 Rb8#\n1 0=2:Rb7? Rb7? Ra7 Rb8#\n2 0=0s\n"),
        ("Bo", "0 0=1bh:Kd2?\n1 0=1:Rb7? Ra7 Kd2? Rb8#\n"),
        ("Bo", "1 0=0h:Ra7 Rb8#\n2 0=1s:Kf2?\n"),
    ];

    #[test]
    fn each_answer_has_a_short_sign_and_its_words() {
        let told_of = |text: &str| {
            let mark = Mark::read(text);
            (sign(mark.as_ref()), told(mark.as_ref()))
        };
        let expected = [
            ("0:Ra7", "✓", "found at once"),
            ("2:Rb7?", "✓2", "found, 2 wrong moves"),
            ("0h", "✓+", "found, 1 hint"),
            ("0+3", "✓+", "found, with hints"),
            ("1hh+3", "✓1+", "found, 1 wrong move, 2 hints"),
            ("0s", "○", "shown"),
            ("1sl", "○1", "shown, found later, 1 wrong move"),
            ("1b", "…1", "begun, 1 wrong move"),
            ("1ht65", "✓1+", "found, 1 wrong move, 1 hint, 1:05"),
            ("", "·", "not begun"),
        ];
        for (text, sign, words) in expected {
            assert_eq!(told_of(text), (sign.into(), words.into()), "{text}");
        }
    }

    #[test]
    fn the_table_says_who_missed_what_and_what_was_hardest() {
        let lesson = lesson(CLASS);
        let table = Table::of(&lesson);
        assert_eq!(table.names, ["Zoë", "Bo", "Bo (2)"]);
        assert_eq!(table.missed_by(0), [1, 2]);
        assert_eq!(table.missed_by(1), [0, 1], "what is begun wrongly counts");
        assert_eq!(table.missed_by(2), [2], "a hint alone does not");
        assert_eq!(table.who_missed(1), [0, 1]);
        assert_eq!(table.missed_by_half(), [1, 2]);
        assert_eq!(table.hardest(), Some(1), "with more wrong moves than 3");
        assert_eq!(table.questions(Questions::Hardest), [1, 2, 0]);
        assert_eq!(table.questions(Questions::Lesson), [0, 1, 2]);
        assert_eq!(table.students(Students::Name), [1, 2, 0]);
        assert_eq!(table.students(Students::Missed), [1, 0, 2]);
        assert_eq!(table.count(2, Answer::Shown), 2);
        let nothing = super::tests::lesson(&[("Bo", "0 0=0:Ra7\n")]);
        assert_eq!(Table::of(&nothing).hardest(), None);
        assert!(Table::of(&nothing).missed_by_half().is_empty());
    }

    #[test]
    fn wrong_first_moves_are_counted_by_students() {
        let lesson = lesson(CLASS);
        let table = Table::of(&lesson);
        let wrong = table.wrong(1);
        // Kd2 was no first move: Ra7 stood on the board.
        assert_eq!(
            wrong,
            [Wrong {
                san: "Rb7".into(),
                by: vec![0, 1]
            }]
        );
        let mv = lesson.questions[1].find("Rb7").unwrap();
        assert_eq!(mv.to(), shakmaty::Square::B7);
        assert!(lesson.questions[1].find("Qh8").is_none());
    }
}
