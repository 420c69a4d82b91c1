//! Every language says all that is said: the files of `web/locales` are held
//! against the texts in the sources.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

use keyproof::tongue::{Tongue, decimal, plural, say, spoken, thousands, tr};
use keyproof_tongues as tongues;
use proc_macro2::{Delimiter, TokenStream, TokenTree};

/// What the texts are handed to in the sources, functions and macros, and as which
/// arguments.
const TAKERS: [(&str, &[usize]); 5] = [
    ("tr", &[0]),
    ("say", &[0]),
    ("plural", &[1, 2]),
    ("phrase", &[0]),
    ("sentence", &[0]),
];

/// What the student's page is made of; its texts go into published files.
const STUDENT: &[&str] = &[
    "crates/widget/src",
    "crates/board/src/drawing.rs",
    "crates/board/src/play.rs",
    "crates/board/src/sheet.rs",
    "crates/board/src/typed.rs",
    "crates/play/src/goal.rs",
    "crates/play/src/failure.rs",
    "crates/play/src/failure/line.rs",
    "crates/play/src/mark.rs",
    "crates/model/src/notation/moves.rs",
    "crates/model/src/aim.rs",
    "crates/model/src/aim",
    "crates/model/src/puzzle.rs",
];

/// What the student's page needs of the letters and numbers of a language.
const UNSEEN: [&str; 2] = ["K Q R B N P", "n = 1"];

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

/// The sources in a room, or the source itself.
fn sources(room: &Path) -> Vec<PathBuf> {
    let Ok(inside) = std::fs::read_dir(room) else {
        return vec![room.to_owned()];
    };
    let paths = inside.map(|entry| entry.expect("a file").path());
    let wanted = paths.filter(|path| path.is_dir() || path.extension().is_some_and(|e| e == "rs"));
    wanted.flat_map(|path| sources(&path)).collect()
}

/// The texts of these rooms, tests left out.
fn texts(rooms: &[&str]) -> BTreeSet<String> {
    let mut found = BTreeSet::new();
    for path in rooms.iter().flat_map(|room| sources(&root().join(room))) {
        let source = std::fs::read_to_string(&path).expect("a source");
        let tokens = source
            .parse()
            .unwrap_or_else(|fault| panic!("{}: {fault}", path.display()));
        collect(tokens, &mut found);
    }
    found
}

fn collect(tokens: TokenStream, found: &mut BTreeSet<String>) {
    let mut tokens = tokens.into_iter().peekable();
    let mut taker = None;
    while let Some(token) = tokens.next() {
        let takes = std::mem::take(&mut taker);
        match token {
            TokenTree::Ident(name) => taker = TAKERS.iter().find(|(taker, _)| name == taker),
            TokenTree::Punct(mark) if mark.as_char() == '!' => taker = takes,
            TokenTree::Group(group) if of_tests(&group) => {
                // What follows, up to its body.
                for token in tokens.by_ref() {
                    if matches!(&token, TokenTree::Group(body) if body.delimiter() == Delimiter::Brace)
                    {
                        break;
                    }
                    if matches!(&token, TokenTree::Punct(end) if end.as_char() == ';') {
                        break;
                    }
                }
            }
            TokenTree::Group(group) => {
                if let Some((_, places)) = takes
                    && group.delimiter() == Delimiter::Parenthesis
                {
                    let given = arguments(group.stream());
                    found.extend(places.iter().filter_map(|&at| given.get(at)?.clone()));
                }
                collect(group.stream(), found);
            }
            _ => {}
        }
    }
}

/// The arguments of a call: those that are texts.
fn arguments(tokens: TokenStream) -> Vec<Option<String>> {
    let tokens: Vec<TokenTree> = tokens.into_iter().collect();
    let comma = |token: &TokenTree| matches!(token, TokenTree::Punct(p) if p.as_char() == ',');
    let text = |argument: &[TokenTree]| match argument {
        [TokenTree::Literal(literal)] => {
            let read = syn::parse_str::<syn::LitStr>(&literal.to_string());
            read.ok().map(|text| text.value())
        }
        _ => None,
    };
    tokens.split(comma).map(text).collect()
}

/// The texts of the author's page that its script says in other languages.
fn page_texts() -> BTreeSet<String> {
    let page = std::fs::read_to_string(root().join("web/author.html")).expect("the thin page");
    let marks = [
        ("data-say>", "<"),
        ("data-refused=\"", "\""),
        ("keyproof:each-->", "<"),
    ];
    let texts = marks.iter().flat_map(|(mark, end)| {
        let after = page.split(mark).skip(1);
        after.filter_map(move |rest| rest.split(*end).next())
    });
    let texts: BTreeSet<String> = texts.map(str::to_owned).collect();
    assert!(texts.len() > 4, "{texts:?}");
    texts
}

/// Whether a group is that of the attribute `#[cfg(test)]`.
fn of_tests(group: &proc_macro2::Group) -> bool {
    let text = group.to_string().replace(' ', "");
    group.delimiter() == Delimiter::Bracket && text == "[cfg(test)]"
}

/// The files, by name: the English texts and what they are there, by part.
fn files() -> BTreeMap<String, BTreeMap<String, BTreeMap<String, String>>> {
    let dir = std::fs::read_dir(root().join("web/locales")).expect("the folder of languages");
    let read = |path: PathBuf| {
        let name = path
            .file_stem()
            .expect("a name")
            .to_string_lossy()
            .into_owned();
        let text = std::fs::read_to_string(&path).expect("a file");
        let parts = toml::from_str(&text).unwrap_or_else(|fault| panic!("{name}: {fault}"));
        (name, parts)
    };
    dir.map(|entry| read(entry.expect("a file").path()))
        .collect()
}

fn holes(text: &str) -> BTreeSet<&str> {
    let after = text.split('{').skip(1);
    after
        .map(|rest| rest.split('}').next().unwrap_or(rest))
        .collect()
}

#[test]
fn each_language_says_everything_and_nothing_else() {
    let unseen = || UNSEEN.into_iter().map(str::to_owned);
    let student: BTreeSet<String> = texts(STUDENT).into_iter().chain(unseen()).collect();
    let rooms = [
        "crates/model/src",
        "crates/prove/src",
        "crates/tables/src",
        "crates/search/src",
        "crates/play/src",
        "crates/check/src",
        "crates/explain/src",
        "crates/moments/src",
        "crates/export/src",
        "crates/index/src",
        "crates/keyproof/src",
        "crates/board/src",
        "crates/tongues/src",
        "crates/desk/src",
        "crates/author/src",
    ];
    let mut other = texts(&rooms);
    other.extend(page_texts());
    let other: BTreeSet<String> = other.difference(&student).cloned().collect();
    assert!(
        student.len() > 200 && other.len() > 80,
        "{} {}",
        student.len(),
        other.len()
    );
    let mut faults = Vec::new();
    for (name, parts) in files() {
        let none = BTreeMap::new();
        for (part, wanted) in [("student", &student), ("other", &other)] {
            let said = parts.get(part).unwrap_or(&none);
            for text in wanted {
                if !said.contains_key(text) {
                    faults.push(format!("{name}.toml lacks in [{part}]: {text:?}"));
                }
            }
            for (english, text) in said {
                if !wanted.contains(english) {
                    faults.push(format!(
                        "{name}.toml has in [{part}] what nobody says: {english:?}"
                    ));
                }
                if holes(english) != holes(text) {
                    faults.push(format!(
                        "{name}.toml has other holes: {english:?}, {text:?}"
                    ));
                }
                if text.contains('\n') || text.trim().is_empty() {
                    faults.push(format!("{name}.toml has no plain text: {text:?}"));
                }
            }
        }
        assert!(
            parts
                .keys()
                .all(|part| part == "student" || part == "other"),
            "{name}"
        );
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

/// Spaces before these signs and inside quotes do not break, and are thin before all
/// but the colon: Imprimerie nationale, Lexique des règles typographiques (from memory).
#[test]
fn french_signs_do_not_stand_alone() {
    let wrong = [
        " :",
        " ;",
        " ?",
        " !",
        "« ",
        " »",
        "\u{202f}:",
        "\u{a0};",
        "\u{a0}?",
        "\u{a0}!",
    ];
    let files = files();
    for text in files["fr"].values().flat_map(BTreeMap::values) {
        for loose in wrong {
            assert!(!text.contains(loose), "{text:?}");
        }
    }
}

/// Aims are of two genders, `das Matt` and `der Gewinn` (Duden, from memory): no word
/// before one may go by it.
#[test]
fn german_words_before_an_aim_fit_each() {
    let files = files();
    let texts = files["de"].values().flat_map(BTreeMap::values);
    for text in texts.filter(|text| text.contains("{aim}")) {
        for (at, _) in text.match_indices("{aim}") {
            let word = text[..at].trim_end().rsplit(' ').next().unwrap_or_default();
            let declined = ["kein", "ein", "das", "dem", "des"].contains(&word)
                || ["es", "er", "en", "em"]
                    .iter()
                    .any(|end| word.ends_with(end));
            assert!(!declined, "{text:?}");
        }
    }
}

#[test]
fn a_language_is_found_by_its_tag_or_a_wider_one() {
    for (tag, found) in [
        ("de", "de"),
        ("DE", "de"),
        ("de-AT", "de"),
        ("de-Latn-CH-1996", "de"),
        ("fr", "fr"),
        ("pt", "en"),
        ("", "en"),
        ("english", "en"),
    ] {
        assert_eq!(tongues::of(tag).tag(), found, "{tag}");
    }
    let all: Vec<&str> = tongues::all()
        .iter()
        .map(|(tongue, _)| tongue.tag())
        .collect();
    assert_eq!(all[0], "en");
    assert_eq!(all.len(), files().len() + 1);
}

#[test]
fn the_first_language_that_there_is_a_tongue_for_is_taken() {
    for (tags, found) in [
        (&["pt-BR", "fr-CA", "de"][..], "fr"),
        (&["pt", "en-GB", "de"], "en"),
        (&["de"], "de"),
        (&["pt"], "en"),
        (&[], "en"),
    ] {
        let tongue = tongues::first_of(tags.iter().copied());
        assert_eq!(tongue.tag(), found, "{tags:?}");
    }
}

#[test]
fn what_is_spoken_is_that_language() {
    tongues::of("de").speaks(|| {
        assert_eq!(spoken().tag(), "de");
        assert_eq!(tr("Show the solution"), "Lösung zeigen");
        let played = say!("{move} is right.", move = "1.Sf3");
        assert_eq!(played, "1.Sf3 ist richtig.");
        assert_eq!(thousands(34_512), "34.512");
        assert_eq!(decimal("+1.25"), "+1,25");
    });
    let none = |tag| tongues::of(tag).speaks(|| plural!(0, "{n} wrong move", "{n} wrong moves"));
    assert_eq!(none("fr"), "0 erreur");
    assert_eq!(none("es"), "0 jugadas erróneas");
    let thousands = |n| tongues::of("es").speaks(|| thousands(n));
    assert_eq!(
        [thousands(1_234), thousands(12_345)],
        ["1234", "12\u{202f}345"]
    );
}

#[test]
fn a_page_carries_the_texts_of_the_student_alone() {
    let carried = tongues::of("de").carried();
    assert!(carried.contains("en\nde\n") && carried.contains("\nLösung zeigen"));
    assert!(!carried.contains("Grundreihe"));
    let back = Tongue::read(carried);
    assert_eq!(back.speaks(|| tr("Show the solution")), "Lösung zeigen");
}

/// The letters are those of the PGN standard (1994), section 8.2.3.2: German
/// B S L T D K, Spanish P C A T D R, French P C F T D R.
#[test]
fn piece_letters_are_those_of_the_standard() {
    for (tag, standard) in [
        ("de", "B S L T D K"),
        ("es", "P C A T D R"),
        ("fr", "P C F T D R"),
    ] {
        let mut letters: Vec<&str> = tongues::of(tag)
            .speaks(|| tr("K Q R B N P"))
            .split(' ')
            .collect();
        letters.reverse();
        assert_eq!(letters.join(" "), standard, "{tag}");
    }
}
