//! The language in which sentences are made.
//!
//! The English texts stand where they are used, each a whole sentence or a name
//! of its own, since other languages put words in another order. What changes in a
//! text is a hole with a name, `{move}`. A [`Tongue`] holds what the texts are in
//! another language; a text that it lacks is shown in English. The core knows no
//! language: `keyproof-tongues` reads the files of `web/locales`, and a published
//! file carries what its page needs.
//!
//! Which tongue is spoken belongs to a thread, as a locale does:
//! [`Tongue::speaks`] holds for what is made inside.

use std::cell::Cell;

/// A language to make sentences in. A handle: what it refers to stays.
#[derive(Clone, Copy)]
pub struct Tongue(Option<&'static Texts>);

struct Texts {
    /// What an English text is in it.
    find: Box<Find>,
    /// What the student's page needs of it.
    carried: String,
}

/// Finds what an English text is.
pub type Find = dyn Fn(&str) -> Option<&'static str> + Send + Sync;

thread_local! {
    static SPOKEN: Cell<Tongue> = const { Cell::new(Tongue::ENGLISH) };
}

/// The piece letters of the PGN standard, king to pawn; what they are in
/// another language is a text like any other.
const LETTERS: &str = phrase("K Q R B N P");

/// What stands for the men in moves that are shown, where it is not letters.
const SIGNS: &str = "♔ ♕ ♖ ♗ ♘ ♙";

/// How a language writes numbers of four and of five digits.
const THOUSANDS: [&str; 2] = [phrase("1,000"), phrase("10,000")];

/// How a language writes a number that is not whole.
const HALF: &str = phrase("0.5");

/// For which numbers a language uses the first form of a plural; the other
/// rule is [`UNDER_TWO`].
const ONE: &str = phrase("n = 1");
const UNDER_TWO: &str = "n < 2";

impl Tongue {
    /// The language that the texts stand in.
    pub const ENGLISH: Tongue = Tongue(None);

    /// A tongue that finds its texts so. The student's page needs those of
    /// `student`: each English text and what it is here.
    pub fn new(find: Box<Find>, student: &[(&str, &str)]) -> Tongue {
        let lines = student
            .iter()
            .map(|(english, text)| [english, "\n", text, "\n"].concat());
        Tongue::of(find, lines.collect())
    }

    /// A tongue from what [`Tongue::carried`] wrote; English from an empty text.
    pub fn read(carried: &str) -> Tongue {
        let texts: &'static str = Box::leak(carried.into());
        let find = move |english: &str| {
            let mut lines = texts.split('\n');
            while let (Some(line), text) = (lines.next(), lines.next()) {
                if line == english {
                    return text;
                }
            }
            None
        };
        Tongue::of(Box::new(find), String::new())
    }

    fn of(find: Box<Find>, carried: String) -> Tongue {
        Tongue(Some(Box::leak(Box::new(Texts { find, carried }))))
    }

    /// What the student's page needs of it, as text: each English text and what it
    /// is here, a line each. Empty for English.
    pub fn carried(self) -> &'static str {
        self.0.map_or("", |texts| &texts.carried)
    }

    /// The same with figurines for the men in the moves that it shows.
    pub fn with_figurines(self) -> Tongue {
        let find = move |english: &str| match english {
            SIGNS => Some(SIGNS),
            _ => self.find(english),
        };
        let carried = [self.carried(), SIGNS, "\n", SIGNS, "\n"].concat();
        Tongue::of(Box::new(find), carried)
    }

    /// The language, as BCP 47 has it: a text like any other.
    pub fn tag(self) -> &'static str {
        self.find("en").unwrap_or("en")
    }

    /// Speaks this while `make` runs.
    pub fn speaks<T>(self, make: impl FnOnce() -> T) -> T {
        let before = spoken();
        self.speak();
        let made = make();
        before.speak();
        made
    }

    /// Speaks this from now on, in this thread.
    pub fn speak(self) {
        SPOKEN.with(|spoken| spoken.set(self));
    }

    fn find(self, english: &str) -> Option<&'static str> {
        (self.0?.find)(english)
    }
}

/// How the students of a game are spoken to.
#[derive(Clone, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Speech {
    /// The value of the tag `Language`; empty where there is none.
    pub language: String,
    /// Whether the tag `Pieces` asks for figurines in moves.
    pub figurines: bool,
}

impl Speech {
    /// By the values of a game's tags.
    pub fn of<'a>(tag: impl Fn(&str) -> Option<&'a str>) -> Speech {
        let pieces = tag("Pieces").unwrap_or_default();
        Speech {
            language: tag("Language").unwrap_or_default().to_owned(),
            figurines: pieces.trim().eq_ignore_ascii_case("figurines"),
        }
    }
}

/// The tongue that is spoken.
pub fn spoken() -> Tongue {
    SPOKEN.with(Cell::get)
}

/// A text without holes.
#[inline(never)]
pub fn tr(english: &'static str) -> &'static str {
    spoken().find(english).unwrap_or(english)
}

/// Marks a text that is looked up later.
pub const fn phrase(english: &'static str) -> &'static str {
    english
}

/// A text that [`phrase()`] marked, and that was kept as it is in English.
pub fn marked(english: &str) -> &str {
    spoken().find(english).unwrap_or(english)
}

/// Says a text with its holes filled. That each hole has a value, and each value a
/// hole, is checked when it is compiled.
///
/// ```
/// use keyproof_model::tongue::say;
/// let (mv, line) = ("1.Qb2", String::from("1...Rd1#"));
/// assert_eq!(say!("{move} runs into {line}.", move = mv, line = line), "1.Qb2 runs into 1...Rd1#.");
/// ```
///
/// ```compile_fail
/// # use keyproof_model::tongue::say;
/// say!("{move} runs into {line}.", move = "1.Qb2");
/// ```
///
/// ```compile_fail
/// # use keyproof_model::tongue::say;
/// say!("{move} is right.", move = "1.Qb2", line = "1...Rd1#");
/// ```
///
/// Where one of several texts is said, each is a [`phrase!`](crate::phrase) for values
/// of these names:
///
/// ```
/// # use keyproof_model::tongue::{phrase, say};
/// let mate = |n: u8| match n {
///     1 => phrase!("mate in one", "n"),
///     _ => phrase!("mate in {n}", "n"),
/// };
/// assert_eq!(say!(mate(1), n = "1"), "mate in one");
/// assert_eq!(say!(mate(2), n = "2"), "mate in 2");
/// ```
///
/// ```compile_fail
/// # use keyproof_model::tongue::{phrase, say};
/// say!(phrase!("mate in {n}", "n"), moves = "2");
/// ```
#[macro_export]
macro_rules! say {
    ($text:literal, $first:ident = $value:expr $(, $more:ident = $values:expr)* $(,)?) => {{
        const NAMES: &str = concat!(stringify!($first) $(, " ", stringify!($more))*);
        const _: () = $crate::tongue::holes::all_filled($text, NAMES);
        $crate::tongue::filled($text, NAMES, &[&$value $(, &$values)*])
    }};
    ($text:expr, $first:ident = $value:expr $(, $more:ident = $values:expr)* $(,)?) => {{
        const NAMES: &str = concat!(stringify!($first) $(, " ", stringify!($more))*);
        let text: $crate::tongue::Phrase<{ $crate::tongue::holes::set(NAMES) }> = $text;
        $crate::tongue::filled(text.english(), NAMES, &[&$value $(, &$values)*])
    }};
}

/// Marks a text that is said later, with values of these names. That it has no
/// other holes is checked when it is compiled.
///
/// ```compile_fail
/// # use keyproof_model::tongue::phrase;
/// phrase!("mate in {n}", "move moves");
/// ```
#[macro_export]
macro_rules! phrase {
    ($text:literal, $names:expr) => {{
        const _: () = $crate::tongue::holes::none_other($text, $names);
        $crate::tongue::Phrase::<{ $crate::tongue::holes::set($names) }>::marked($text)
    }};
}

/// Says one text for one and another for more, with the number as `{n}`. Which
/// numbers the first is for is the language's rule.
#[macro_export]
macro_rules! plural {
    ($n:expr, $one:literal, $more:literal $(,)?) => {
        $crate::plural!($n, $crate::phrase!($one, "n"), $crate::phrase!($more, "n"))
    };
    ($n:expr, $one:expr, $more:expr $(,)?) => {
        $crate::tongue::counted($n, $one, $more)
    };
}

pub use crate::{phrase, plural, say};

/// A text that is said with values of certain names, of which `NAMES` is made by
/// [`holes::set`]: two texts can stand for each other if these are the same.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Phrase<const NAMES: u64>(&'static str);

/// A text that is said with a number.
pub type Counted = Phrase<{ holes::set("n") }>;

impl<const NAMES: u64> Phrase<NAMES> {
    /// A text that [`phrase!`](crate::phrase) has looked through.
    #[doc(hidden)]
    pub const fn marked(english: &'static str) -> Self {
        Phrase(english)
    }

    /// The text in English.
    pub const fn english(self) -> &'static str {
        self.0
    }
}

/// A text with its holes filled: `names` has those of the values in their order,
/// with spaces between. Called by [`say!`](crate::say), which looks at the names.
#[doc(hidden)]
#[inline(never)]
pub fn filled(english: &'static str, names: &str, values: &[&str]) -> String {
    let mut filled = String::new();
    let mut rest = tr(english);
    while let Some((piece, after)) = rest.split_once('{') {
        filled.push_str(piece);
        let (hole, after) = after.split_once('}').unwrap_or((after, ""));
        let mut named = names.split(' ').zip(values);
        let value = named.find(|(name, _)| *name == hole);
        filled.push_str(value.map_or(hole, |(_, value)| value));
        rest = after;
    }
    filled.push_str(rest);
    filled
}

/// What [`plural!`](crate::plural) says.
#[doc(hidden)]
#[inline(never)]
pub fn counted(n: usize, one: Counted, more: Counted) -> String {
    let singular = n == 1 || n == 0 && tr(ONE) == UNDER_TWO;
    say!(if singular { one } else { more }, n = n.to_string())
}

/// What is asked of texts and of names while they are compiled. Names stand in one
/// text, with a space between.
pub mod holes {
    /// Panics unless the holes of a text are just these names.
    pub const fn all_filled(text: &str, names: &str) {
        none_other(text, names);
        let (text, names) = (text.as_bytes(), names.as_bytes());
        let mut at = 0;
        while at < names.len() {
            let end = find(names, at, b' ');
            let name = part(names, at, end);
            assert!(is_hole(name, text), "a value has no hole in the text");
            let before = part(names, 0, at);
            assert!(!is_among(name, before), "two values have the same name");
            at = end + 1;
        }
    }

    /// Panics unless the holes of a text are among these names.
    pub const fn none_other(text: &str, names: &str) {
        let (text, names) = (text.as_bytes(), names.as_bytes());
        let mut at = find(text, 0, b'{');
        while at < text.len() {
            let end = find(text, at, b'}');
            let hole = part(text, at + 1, end);
            assert!(is_among(hole, names), "a hole of the text has no value");
            at = find(text, end, b'{');
        }
    }

    /// A number for a set of names, whatever their order: the sum of their FNV-1a
    /// hashes.
    pub const fn set(names: &str) -> u64 {
        let names = names.as_bytes();
        let (mut sum, mut at) = (0_u64, 0);
        while at < names.len() {
            let end = find(names, at, b' ');
            let mut hash: u64 = 0xcbf2_9ce4_8422_2325;
            while at < end {
                hash = (hash ^ names[at] as u64).wrapping_mul(0x0100_0000_01b3);
                at += 1;
            }
            sum = sum.wrapping_add(hash);
            at = end + 1;
        }
        sum
    }

    const fn is_hole(name: &[u8], text: &[u8]) -> bool {
        let mut at = find(text, 0, b'{');
        while at < text.len() {
            let end = find(text, at, b'}');
            if same(name, part(text, at + 1, end)) {
                return true;
            }
            at = find(text, end, b'{');
        }
        false
    }

    const fn is_among(name: &[u8], names: &[u8]) -> bool {
        let mut at = 0;
        while at < names.len() {
            let end = find(names, at, b' ');
            if same(name, part(names, at, end)) {
                return true;
            }
            at = end + 1;
        }
        false
    }

    /// The first place of a sign, from a place on; the end where there is none.
    const fn find(text: &[u8], from: usize, sign: u8) -> usize {
        let mut at = from;
        while at < text.len() && text[at] != sign {
            at += 1;
        }
        at
    }

    const fn part(text: &[u8], from: usize, to: usize) -> &[u8] {
        text.split_at(to).0.split_at(from).1
    }

    const fn same(one: &[u8], other: &[u8]) -> bool {
        let mut at = 0;
        while at < one.len() && at < other.len() && one[at] == other[at] {
            at += 1;
        }
        at == one.len() && at == other.len()
    }
}

/// A move in SAN as it is shown: with the letters of the language, or with
/// figurines.
pub fn lettered(san: &str) -> String {
    let shown = match spoken().find(SIGNS) {
        Some(_) => SIGNS,
        None => tr(LETTERS),
    };
    respelt(san, LETTERS, shown)
}

/// A typed move with the piece letters of the language put into English ones.
pub fn unlettered(typed: &str) -> String {
    respelt(typed, tr(LETTERS), LETTERS)
}

/// A text with each of some letters, which spaces part, for its fellow; of two
/// that fit the first.
fn respelt(text: &str, from: &str, to: &str) -> String {
    let mut out = String::new();
    let mut rest = text;
    'text: while let Some(first) = rest.chars().next() {
        for (letter, fellow) in from.split(' ').zip(to.split(' ')) {
            if let Some(after) = rest.strip_prefix(letter) {
                out.push_str(fellow);
                rest = after;
                continue 'text;
            }
        }
        out.push(first);
        rest = &rest[first.len_utf8()..];
    }
    out
}

/// A number with its thousands set apart, as the language does: 34,512.
pub fn thousands(n: u64) -> String {
    let mark = between_digits(tr(THOUSANDS[usize::from(n >= 10_000)]));
    let digits = n.to_string();
    let mut text = String::new();
    for (i, digit) in digits.chars().enumerate() {
        if i > 0 && (digits.len() - i).is_multiple_of(3) {
            text.push_str(mark);
        }
        text.push(digit);
    }
    text
}

/// A number that is not whole, as the language writes it: -1.25.
pub fn decimal(number: &str) -> String {
    number.replace('.', between_digits(tr(HALF)))
}

fn between_digits(number: &str) -> &str {
    number.trim_matches(|c: char| c.is_ascii_digit())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn french() -> Tongue {
        let texts = [
            ("en", "fr"),
            ("{move} is right. Now {reply}.", "Après {reply} : {move}."),
            ("{n} move", "{n} coup"),
            ("{n} moves", "{n} coups"),
            (LETTERS, "R D T F C P"),
            (ONE, UNDER_TWO),
            ("1,000", "1 000"),
            ("10,000", "10 000"),
            (HALF, "0,5"),
        ];
        let find = move |english: &str| {
            let found = texts.iter().find(|(text, _)| *text == english);
            found.map(|(_, text)| *text)
        };
        Tongue::new(Box::new(find), &[texts[0], texts[2], texts[4]])
    }

    #[test]
    fn holes_are_filled_by_their_names() {
        let said = || say!("{move} is right. Now {reply}.", move = "a", reply = "b");
        assert_eq!(said(), "a is right. Now b.");
        assert_eq!(french().speaks(said), "Après b : a.");
        assert_eq!(say!("{move} or {move}?", move = "a"), "a or a?");
        // What a file has in place of a text need not fit.
        assert_eq!(filled("{move} or {x}", "move", &["a"]), "a or x");
        assert_eq!(filled("{open", "", &[]), "open");
    }

    #[test]
    fn what_is_spoken_ends_with_what_is_made() {
        french().speaks(|| assert_eq!(spoken().tag(), "fr"));
        assert_eq!(spoken().tag(), "en");
        assert_eq!(french().speaks(|| tr("Not there.")), "Not there.");
    }

    #[test]
    fn numbers_follow_the_language() {
        let moves = |n| plural!(n, "{n} move", "{n} moves");
        assert_eq!([0, 1, 2].map(moves), ["0 moves", "1 move", "2 moves"]);
        let french = |n| french().speaks(|| moves(n));
        assert_eq!([0, 1, 2].map(french), ["0 coup", "1 coup", "2 coups"]);
        assert_eq!(thousands(0), "0");
        assert_eq!(thousands(999), "999");
        assert_eq!(thousands(34_512), "34,512");
        assert_eq!(thousands(1_200_000), "1,200,000");
        assert_eq!(self::french().speaks(|| thousands(34_512)), "34 512");
        assert_eq!(decimal("-1.25"), "-1.25");
        assert_eq!(self::french().speaks(|| decimal("-1.25")), "-1,25");
    }

    #[test]
    fn letters_are_the_languages_own_in_both_directions() {
        for (san, shown) in [("Nxe8=Q#", "Cxe8=D#"), ("O-O-O+", "O-O-O+"), ("Kb1", "Rb1")] {
            french().speaks(|| {
                assert_eq!(lettered(san), shown);
                assert_eq!(unlettered(shown), san);
            });
            assert_eq!(lettered(san), san);
        }
        let signs = french().with_figurines();
        assert_eq!(signs.speaks(|| lettered("Nxe8=Q#")), "♘xe8=♕#");
        assert_eq!(signs.speaks(|| unlettered("Rb1")), "Kb1");
    }

    #[test]
    fn what_a_page_carries_comes_back_and_no_more() {
        let back = Tongue::read(french().carried());
        assert_eq!(back.tag(), "fr");
        assert_eq!(back.find("{n} move"), Some("{n} coup"));
        assert_eq!(back.find("{n} moves"), None);
        assert_eq!(Tongue::read("").tag(), "en");
        assert!(Tongue::ENGLISH.carried().is_empty());
        let signs = Tongue::read(Tongue::ENGLISH.with_figurines().carried());
        assert_eq!(signs.speaks(|| lettered("Qh5")), "♕h5");
    }
}
