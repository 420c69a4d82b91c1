//! The languages: the files of `web/locales`, one for each, as tongues of the
//! core. A file has the English texts and what they are in its language; the
//! part `[student]` goes into published files.

use std::sync::LazyLock;

use keyproof::draft::{Draft, Edit};
use keyproof::explain::Inquiry;
use keyproof::moments::Question;
use keyproof::resolved::Resolved;
use keyproof::tongue::{Speech, Tongue, tr, unlettered};

/// The languages as their files have them. Each text here is many, with a NUL between
/// them: the English ones in their order, and for each file what they are there in the
/// same order, empty where it has none.
struct Locales {
    /// Their tags of BCP 47, which the files are named by.
    tags: &'static [&'static str],
    /// What goes into published files.
    student: &'static str,
    student_in: &'static [&'static str],
    other: &'static str,
    other_in: &'static [&'static str],
}

/// The files, by name.
const LOCALES: Locales = include!(concat!(env!("OUT_DIR"), "/locales.rs"));

/// The languages, English first and then those there are files for, each with
/// letters for the men and with figurines.
static KNOWN: LazyLock<Vec<[Tongue; 2]>> = LazyLock::new(|| {
    let others = (0..LOCALES.tags.len()).map(tongue);
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
            None => (wanted, _) = wanted.rsplit_once('-')?,
        }
    }
}

/// All languages, each with its own name: English, and those there are files for.
pub fn all() -> Vec<(Tongue, &'static str)> {
    let own = |&[tongue, _]: &[Tongue; 2]| (tongue, tongue.speaks(|| tr("English")));
    KNOWN.iter().map(own).collect()
}

/// A game whose moves do not all read as the PGN standard has them, with the piece
/// letters of the language by which most of them do put into the standard's, and that
/// language's own name. `None` if no language reads more of it.
pub fn respelt(game: &Draft) -> Option<(Draft, &'static str)> {
    let faults = |game: &Draft| Resolved::of(game).faults().len();
    let as_it_is = faults(game);
    let others = all().into_iter().filter(|_| as_it_is > 0);
    let read = others.filter_map(|(tongue, name)| {
        let game = tongue.speaks(|| unlettered_game(game));
        let left = faults(&game);
        (left < as_it_is).then_some((left, game, name))
    });
    let best = read.min_by_key(|(left, ..)| *left);
    best.map(|(_, game, name)| (game, name))
}

/// A game with the piece letters of the language put into English ones.
fn unlettered_game(game: &Draft) -> Draft {
    let mut respelt = game.clone();
    for node in game.walk() {
        let text = game.node(node).map(|node| unlettered(&node.text));
        if let Some(text) = text {
            // A text that is no move stays as it was typed.
            let _ = respelt.apply(&Edit::SetMove { node, text });
        }
    }
    respelt
}

/// English texts and what they are in a language, sorted.
type Pairs = Vec<(&'static str, &'static str)>;

fn pairs(english: &'static str, texts: &'static str) -> Pairs {
    let pairs = english.split('\0').zip(texts.split('\0'));
    pairs.filter(|(_, text)| !text.is_empty()).collect()
}

/// The tongue of the file with this number.
fn tongue(file: usize) -> Tongue {
    let tag = LOCALES.tags[file];
    let student = pairs(LOCALES.student, LOCALES.student_in[file]);
    let other = pairs(LOCALES.other, LOCALES.other_in[file]);
    let mut carried = student.clone();
    carried.push(("en", tag));
    carried.sort_unstable();
    let find = move |english: &str| match english {
        "en" => Some(tag),
        _ => text(&student, english).or_else(|| text(&other, english)),
    };
    Tongue::new(Box::new(find), &carried)
}

fn text(texts: &[(&'static str, &'static str)], english: &str) -> Option<&'static str> {
    let at = texts.binary_search_by_key(&english, |(text, _)| text);
    at.ok().map(|at| texts[at].1)
}
