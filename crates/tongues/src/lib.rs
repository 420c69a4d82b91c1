//! The languages: the files of `web/locales`, one for each, as tongues of the
//! core. A file has the English texts and what they are in its language; the
//! part `[student]` goes into published files.

use std::collections::HashMap;
use std::sync::LazyLock;

use keyproof::draft::Draft;
use keyproof::explain::Inquiry;
use keyproof::moments::Question;
use keyproof::tongue::{Speech, Tongue, tr};

rust_i18n::i18n!("../../web/locales");

/// The part of a file that the student's page needs.
const STUDENT: &str = "student";

/// The languages, English first and then those there are files for, each with
/// letters for the men and with figurines.
static KNOWN: LazyLock<Vec<[Tongue; 2]>> = LazyLock::new(|| {
    let locales = _rust_i18n_available_locales();
    let others = locales.iter().map(|locale| read(locale));
    let tongues = [Tongue::ENGLISH].into_iter().chain(others);
    tongues.map(|t| [t, t.with_figurines()]).collect()
});

/// The tongue of a language by its tag of BCP 47: of `de-AT` that of `de` where
/// it has no file of its own, and English where there is none at all.
pub fn of(tag: &str) -> Tongue {
    found(tag).unwrap_or(&KNOWN[0])[0]
}

/// The tongue that a student is spoken to in: by the tag `Language` of a game,
/// and with figurines where its tag `Pieces` asks for them.
pub fn of_game(game: &Draft) -> Tongue {
    of_speech(&Speech::of(|name| game.tag(name)))
}

/// The tongue of the first of these languages that there is one for; English
/// where there is none.
pub fn first_of<'a>(tags: impl IntoIterator<Item = &'a str>) -> Tongue {
    let mut tags = tags.into_iter();
    tags.find_map(found).unwrap_or(&KNOWN[0])[0]
}

/// The tongue of the students of a puzzle that is explained.
pub fn of_inquiry(inquiry: &Inquiry) -> Tongue {
    of_speech(&inquiry.speech)
}

/// The tongue of the students of a game that is asked about.
pub fn of_question(question: &Question) -> Tongue {
    match question {
        Question::Claim { speech, .. } => of_speech(speech),
        Question::Glance { .. } | Question::Look { .. } => Tongue::ENGLISH,
    }
}

fn of_speech(speech: &Speech) -> Tongue {
    found(&speech.language).unwrap_or(&KNOWN[0])[usize::from(speech.figurines)]
}

/// The language of a tag, or of a wider one.
fn found(tag: &str) -> Option<&'static [Tongue; 2]> {
    let mut wanted = tag.trim();
    loop {
        let mut known = KNOWN.iter();
        let found = known.find(|[tongue, _]| tongue.tag().eq_ignore_ascii_case(wanted));
        match found {
            Some(_) => return found,
            None => wanted = _rust_i18n_lookup_fallback(wanted)?,
        }
    }
}

/// All languages, each with its own name: English, and those there are files for.
pub fn all() -> Vec<(Tongue, &'static str)> {
    let own = |&[tongue, _]: &[Tongue; 2]| (tongue, tongue.speaks(|| tr("English")));
    KNOWN.iter().map(own).collect()
}

fn read(locale: &str) -> Tongue {
    let tag: (&str, &str) = ("en", locale.to_owned().leak());
    let mut texts = HashMap::from([tag]);
    let mut student = vec![tag];
    let messages = _rust_i18n_backend().messages_for_locale(locale);
    for (key, text) in messages.unwrap_or_default() {
        let Some((part, english)) = key.split_once('.') else {
            continue;
        };
        let pair: (&str, &str) = (english.to_owned().leak(), text.into_owned().leak());
        if part == STUDENT {
            student.push(pair);
        }
        texts.insert(pair.0, pair.1);
    }
    student.sort_unstable();
    let find = move |english: &str| texts.get(english).copied();
    Tongue::new(Box::new(find), &student)
}
