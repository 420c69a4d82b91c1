//! The class as text, for the store and for a backup: a line for each lesson, question
//! and account, its parts separated by tabs. An account is the very line that came.
//!
//! ```text
//! lesson   5      Thursday
//! question 0   0  00000000000000a1  12w  FEN  w  Ra7   Corridor
//! account  [keyproof1 …]
//! ```

use std::rc::Rc;

use keyproof::account::Account;

use super::{Class, Lesson, Question};
use crate::coded::{coded, decoded};

/// What stands for something that is not there.
const NONE: &str = "-";
/// Whose side is below on the diagram.
const WHITE: &str = "w";
const BLACK: &str = "b";

pub fn write(class: &Class) -> String {
    let mut text = String::new();
    let mut line = |parts: &[&str]| {
        let parts: Vec<String> = parts.iter().map(|part| coded(part)).collect();
        text.push_str(&parts.join("\t"));
        text.push('\n');
    };
    for lesson in &class.lessons {
        line(&["lesson", &lesson.key.to_string(), &lesson.title]);
        for question in &lesson.questions {
            line(&[
                "question",
                &question.game.to_string(),
                &question.number.to_string(),
                &question.sheet.to_string(),
                question.place.as_deref().unwrap_or(NONE),
                &question.fen,
                if question.black_below { BLACK } else { WHITE },
                question.key.as_deref().unwrap_or(NONE),
                &question.title,
            ]);
        }
        for account in &lesson.accounts {
            line(&["account", &account.write()]);
        }
    }
    text
}

/// Reads what was written. What does not fit is passed over.
pub fn read(text: &str) -> Class {
    let mut lessons: Vec<Lesson> = Vec::new();
    for line in text.lines() {
        let parts: Vec<String> = line.split('\t').map(decoded).collect();
        let parts: Vec<&str> = parts.iter().map(String::as_str).collect();
        match (parts.as_slice(), lessons.last_mut()) {
            (["lesson", key, title], _) => {
                if let Ok(key) = key.parse() {
                    lessons.push(Lesson {
                        key,
                        title: (*title).to_owned(),
                        ..Lesson::default()
                    });
                }
            }
            (["question", rest @ ..], Some(lesson)) => lesson.questions.extend(question(rest)),
            (["account", line], Some(lesson)) => {
                let account = Account::read(line).ok();
                let own = account.filter(|account| account.key == lesson.key);
                lesson.accounts.extend(own);
            }
            _ => {}
        }
    }
    Class {
        lessons: lessons.into_iter().map(Rc::new).collect(),
    }
}

fn question(parts: &[&str]) -> Option<Question> {
    let &[game, number, sheet, place, fen, below, key, title] = parts else {
        return None;
    };
    let there = |text: &str| (text != NONE).then(|| text.to_owned());
    Some(Question {
        game: game.parse().ok()?,
        number: number.parse().ok()?,
        title: title.to_owned(),
        sheet: sheet.parse().ok()?,
        place: there(place),
        fen: fen.to_owned(),
        black_below: below == BLACK,
        key: there(key),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::class::table::tests::lesson;

    #[test]
    fn what_is_written_is_read_again_and_the_rest_passed_over() {
        let mut odd = lesson(&[("Zoë", "0 0=1:Kd2? Ra7\n"), ("", "")]);
        odd.title = "Tabs\tand\nlines \\".into();
        odd.questions[1].place = Some("12b".into());
        odd.questions[2].key = None;
        odd.questions[2].black_below = true;
        let class = Class {
            lessons: vec![Rc::new(odd), Rc::new(Lesson::default())],
        };
        let text = write(&class);
        assert_eq!(read(&text), class);
        let foreign = Account {
            key: 6,
            ..class.lessons[0].accounts[0].clone()
        };
        let more = format!(
            "account\tx\n{text}question\t1\nodd\naccount\t{}\n",
            foreign.write()
        );
        assert_eq!(read(&more), class);
    }
}
