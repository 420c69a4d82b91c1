//! Games one by one from a text of any length, PGN or EPD: each is read, handed out
//! and forgotten.
//!
//! [`Games`] holds as much of the text as the game takes that is being read, and no
//! game may take more than [`MOST_BYTES`]. What comes out is what
//! [`pgn_read::read`] and [`epd::read`] make of the whole text, places included.

use std::collections::VecDeque;
use std::io::{self, BufRead};

use crate::epd;
use crate::notation::Place;
use crate::pgn_read::{self, Game, Start};

/// The most bytes that one game may take: a hundred times what a much annotated one
/// takes. A game is held as a whole while it is read, with about ten times its text.
pub const MOST_BYTES: usize = 4_000_000;
/// The most bytes that one line of EPD may take.
pub const MOST_RECORD: usize = 64_000;

/// What is read at a time. Games at the seam are read twice.
const PORTION: usize = 128_000;

/// How games are written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Form {
    /// Portable game notation.
    Pgn,
    /// A record a line.
    Epd,
}

/// One game of a stream.
#[derive(Debug)]
pub struct Streamed {
    /// As it was read.
    pub game: Game,
    /// Its number in the text, from 1; what was too long counts.
    pub index: usize,
    /// The line it starts in, from 1.
    pub line: u32,
    /// The text that it was read from.
    pub text: Box<str>,
    /// Bytes of text up to its end.
    pub end: u64,
}

/// Why a game does not come out of a stream.
#[derive(Debug)]
pub enum Trouble {
    /// The text cannot be read any further.
    Io(io::Error),
    /// A game is longer than may be, and is left out.
    TooLong {
        /// Its number in the text, from 1.
        index: usize,
        /// The line it starts in, from 1.
        line: u32,
        /// How many bytes it may have.
        most: usize,
    },
}

/// The games of a text, in their order.
#[derive(Debug)]
pub struct Games<R> {
    source: R,
    form: Form,
    portion: usize,
    most: usize,
    /// What was read behind the last line that ended.
    raw: Vec<u8>,
    /// Whole lines, decoded, that begin with a game.
    text: String,
    start: Start,
    /// Whether the source has ended.
    over: bool,
    skipping: Option<Skip>,
    ready: VecDeque<Result<Streamed, Trouble>>,
    games: usize,
    /// Bytes of text before `text`.
    before: u64,
    latin: Option<u32>,
}

/// On the way to the next game behind one that is too long.
#[derive(Clone, Copy, Debug)]
struct Skip {
    /// The line that comes next.
    line: u32,
    /// Whether what comes next is the rest of a line.
    within: bool,
    /// Whether the line before was empty.
    gap: bool,
}

impl<R: BufRead> Games<R> {
    /// The games of a source.
    pub fn new(source: R, form: Form) -> Games<R> {
        let most = match form {
            Form::Pgn => MOST_BYTES,
            Form::Epd => MOST_RECORD,
        };
        Games::sized(source, form, PORTION, most)
    }

    fn sized(source: R, form: Form, portion: usize, most: usize) -> Games<R> {
        Games {
            source,
            form,
            portion,
            most,
            raw: Vec::new(),
            text: String::new(),
            start: Start::default(),
            over: false,
            skipping: None,
            ready: VecDeque::new(),
            games: 0,
            before: 0,
            latin: None,
        }
    }

    /// The source.
    pub fn source(&self) -> &R {
        &self.source
    }

    /// Bytes of text that were taken from the source so far.
    pub fn taken(&self) -> u64 {
        self.before + (self.text.len() + self.raw.len()) as u64
    }

    /// The first line that is no UTF-8 and was read as Latin-1.
    pub fn latin(&self) -> Option<u32> {
        self.latin
    }

    /// Reads on until a game is ready or the text is over.
    fn read_on(&mut self) {
        while self.ready.is_empty() && !(self.over && self.text.is_empty()) {
            let filled = self.fill();
            if self.skipping.is_some() {
                self.skip();
            }
            if self.skipping.is_none() {
                match self.form {
                    Form::Pgn => self.read_games(),
                    Form::Epd => self.read_records(),
                }
            }
            // What stands before it and is whole was handed out.
            if let Err(fault) = filled {
                self.ready.push_back(Err(Trouble::Io(fault)));
                (self.over, self.skipping) = (true, None);
                self.text.clear();
            }
        }
    }

    /// Takes in about as much as there is already, or what remains, and decodes the
    /// lines that are whole.
    fn fill(&mut self) -> io::Result<()> {
        let want = self.portion.max(self.text.len()).min(self.most);
        let (mut end, mut fault) = (None, Ok(()));
        while end.is_none_or(|end| end < want) && self.raw.len() < self.most {
            let more = match self.source.fill_buf() {
                Err(fault) if fault.kind() == io::ErrorKind::Interrupted => continue,
                Err(found) => {
                    fault = Err(found);
                    break;
                }
                Ok(more) => more,
            };
            if more.is_empty() {
                self.over = true;
                break;
            }
            let known = self.raw.len().saturating_sub(1);
            let taken = more.len().min(want);
            self.raw.extend_from_slice(&more[..taken]);
            self.source.consume(taken);
            end = line_end(&self.raw[known..]).map(|at| known + at).or(end);
        }
        // A line that is too long is cut.
        let long = self.raw.len() >= self.most;
        let end = match self.over || (long && end.is_none()) {
            true => self.raw.len(),
            false => end.unwrap_or(0),
        };
        let first = self.before == 0 && self.text.is_empty();
        let mark: &[u8] = b"\xef\xbb\xbf";
        let begin = if first && self.raw.starts_with(mark) {
            3
        } else {
            0
        };
        let lines = &self.raw[begin.min(end)..end];
        if self.latin.is_none()
            && let Err(fault) = std::str::from_utf8(lines)
        {
            let line = self
                .skipping
                .map_or(self.start.place.line, |skip| skip.line);
            let before = line_ends(self.text.as_bytes()) + line_ends(&lines[..fault.valid_up_to()]);
            self.latin = Some(line.saturating_add(before));
        }
        self.text.push_str(&pgn_read::decode(lines));
        self.raw.drain(..end);
        fault
    }

    /// Hands out the games in the text that are whole, and keeps the rest.
    fn read_games(&mut self) {
        let text = std::mem::take(&mut self.text);
        let mut read = Vec::new();
        let mut take = |game, start: Start, text: &str| read.push((game, start, text.into()));
        let (end, next) = match self.over {
            true => {
                pgn_read::each_left(&text, self.start, &mut take);
                (text.len(), self.start)
            }
            false => pgn_read::each_whole(&text, self.start, &mut take),
        };
        for (game, start, text) in read {
            self.hand_out(game, start.place, text);
        }
        self.text = text;
        self.forget(end);
        self.start = next;
        if !self.over && self.text.len() >= self.most {
            self.cut();
        }
    }

    /// Goes on although the text has become too long: one game in it does not end.
    fn cut(&mut self) {
        let text = std::mem::take(&mut self.text);
        let mut read: Vec<(Game, Start, Box<str>)> = Vec::new();
        let mut take = |game, start: Start, text: &str| read.push((game, start, text.into()));
        pgn_read::each_left(&text, self.start, &mut take);
        self.text = text;
        let last = read.pop();
        let first = read.is_empty();
        for (game, start, text) in read {
            self.hand_out(game, start.place, text);
        }
        match last {
            Some((_, start, text)) if text.trim_end().len() >= self.most => {
                self.leave_out(start.place.line);
            }
            // The others were in the way.
            Some((_, start, text)) if !first => {
                self.forget(self.text.len() - text.len());
                self.start = start;
            }
            // Blanks alone follow it.
            last => {
                if let Some((game, start, text)) = last {
                    self.hand_out(game, start.place, text);
                }
                let ends = line_ends(self.text.as_bytes());
                self.start = Start {
                    place: Place {
                        line: self.start.place.line.saturating_add(ends),
                        column: 1,
                    },
                    fresh: true,
                };
                self.forget(self.text.len());
            }
        }
    }

    /// Leaves out the game that starts at a line and does not end within the text.
    fn leave_out(&mut self, line: u32) {
        self.games += 1;
        self.ready.push_back(Err(Trouble::TooLong {
            index: self.games,
            line,
            most: self.most,
        }));
        let ends = line_ends(self.text.as_bytes());
        self.skipping = Some(Skip {
            line: self.start.place.line.saturating_add(ends),
            within: !self.text.ends_with(['\n', '\r']),
            gap: false,
        });
        self.forget(self.text.len());
    }

    /// Goes on to the next game: in PGN to a tag that begins a line behind an empty
    /// one, in EPD to the next line.
    fn skip(&mut self) {
        let Some(mut skip) = self.skipping else {
            return;
        };
        let (mut at, mut found) = (0, false);
        for line in self.text.split_inclusive(['\n', '\r']) {
            let begins = match self.form {
                Form::Pgn => skip.gap && line.starts_with('[') && line.contains('"'),
                Form::Epd => true,
            };
            found = begins && !skip.within;
            if found {
                break;
            }
            let whole = line.ends_with(['\n', '\r']);
            let pair = line == "\n" && self.text[..at].ends_with('\r');
            skip.gap = whole && !skip.within && (skip.gap && pair || line.trim().is_empty());
            skip.line = skip.line.saturating_add(u32::from(whole && !pair));
            skip.within = !whole;
            at += line.len();
        }
        self.forget(at);
        self.skipping = Some(skip);
        if found || self.over {
            self.skipping = None;
            self.start.place = Place {
                line: skip.line,
                column: 1,
            };
            self.start.fresh = true;
        }
    }

    fn read_records(&mut self) {
        let text = std::mem::take(&mut self.text);
        for line in text.split_inclusive('\n') {
            let whole = line.ends_with('\n') || self.over;
            let number = self.start.place.line;
            if line.len() > self.most || !whole {
                // Only what is too long is cut.
                self.text = line.to_owned();
                self.leave_out(number);
                if whole {
                    self.skipping = None;
                    self.start.place.line = number.saturating_add(1);
                }
                continue;
            }
            let record = line.trim_end_matches(['\n', '\r']);
            if let Some(game) = epd::puzzle(record, number) {
                self.hand_out(game, self.start.place, record.into());
            }
            self.before += line.len() as u64;
            self.start.place.line = number.saturating_add(1);
        }
    }

    fn hand_out(&mut self, game: Game, place: Place, text: Box<str>) {
        self.games += 1;
        if text.trim_end().len() > self.most {
            self.ready.push_back(Err(Trouble::TooLong {
                index: self.games,
                line: place.line,
                most: self.most,
            }));
            return;
        }
        let end = match self.ready.back() {
            Some(Ok(last)) => last.end,
            _ => self.before,
        };
        self.ready.push_back(Ok(Streamed {
            game,
            index: self.games,
            line: place.line,
            end: end + text.len() as u64,
            text,
        }));
    }

    /// Drops the beginning of the text.
    fn forget(&mut self, bytes: usize) {
        self.text.drain(..bytes);
        self.before += bytes as u64;
    }
}

impl<R: BufRead> Iterator for Games<R> {
    type Item = Result<Streamed, Trouble>;

    fn next(&mut self) -> Option<Result<Streamed, Trouble>> {
        self.read_on();
        self.ready.pop_front()
    }
}

/// Behind the last line that has ended for sure: a `\r` at the end may be half of a
/// line's end.
fn line_end(bytes: &[u8]) -> Option<usize> {
    let inner = &bytes[..bytes.len().saturating_sub(1)];
    let feed = bytes.iter().rposition(|&byte| byte == b'\n');
    let single = || {
        let mut pairs = inner.iter().zip(&bytes[1..]);
        pairs.rposition(|(&byte, &next)| byte == b'\r' && next != b'\n')
    };
    feed.or_else(single).map(|at| at + 1)
}

/// How many lines end in a text.
fn line_ends(bytes: &[u8]) -> u32 {
    let ends = |at: usize| match bytes[at] {
        b'\n' => true,
        b'\r' => bytes.get(at + 1) != Some(&b'\n'),
        _ => false,
    };
    u32::try_from((0..bytes.len()).filter(|&at| ends(at)).count()).unwrap_or(u32::MAX)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What is told of a stream, read in portions of so many bytes.
    fn told(text: &[u8], form: Form, portion: usize, most: usize) -> Vec<String> {
        let games = Games::sized(text, form, portion, most);
        let tell = |item| match item {
            Ok(Streamed {
                game, index, line, ..
            }) => format!("{index}: {line}: {:?}", Shown(&game)),
            Err(Trouble::TooLong { index, line, .. }) => format!("{index}: {line}: too long"),
            Err(Trouble::Io(fault)) => fault.to_string(),
        };
        games.map(tell).collect()
    }

    /// A game without what differs from one reading to the next.
    struct Shown<'a>(&'a Game);

    impl std::fmt::Debug for Shown<'_> {
        fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
            let draft = &self.0.draft;
            let nodes: Vec<_> = draft.walk().into_iter().map(|id| draft.node(id)).collect();
            let root = draft.node(crate::draft::NodeId::ROOT);
            write!(
                f,
                "{:?} {root:?} {nodes:?} {:?} {:?}",
                draft.tags(),
                draft.result,
                self.0.faults
            )
        }
    }

    fn whole(text: &[u8]) -> Vec<String> {
        let games = pgn_read::read(&pgn_read::decode(text));
        games
            .iter()
            .map(|game| format!("{:?}", Shown(game)))
            .collect()
    }

    /// Games of every kind of border: results, tags, words behind all, no tags, faults.
    const MIXED: &str = "{words} 1. e4 1-0 {first}\n\n1. d4 0-1\n[Event \"third\"]\n\n1. c4\n\
        [Event \"fourth\"]\n\n[Event \"fifth\"]\n{words}\n\n[Event \"sixth\"]\n* ; end\n{after all}\n\
        % hidden\n\n[Event \"a [b\"] [White \"x\n\n1. e4 {never ends\n\nand on\n\n[Event \"next\"]\n\n\
        1. e4 (1. d4 (1. c4\n\n[Event \"more\"]\n1. e4 * [Event \"same line\"]\n\n\n1. -- e5 *\n\n\
        1. e4 1-0 and more\n\n[Event \"Jos\u{e9}\"]\n\n{a\n} } ) ( { 1. Nf3 [sic\n* *\n*";

    #[test]
    fn a_stream_reads_what_is_read_of_the_whole() {
        for ends in ["\n", "\r\n", "\r"] {
            let text = MIXED.replace('\n', ends).repeat(3);
            let mut latin = text.clone().into_bytes();
            // A line in Latin-1 among others in UTF-8.
            latin.extend(b"\n\n[Event \"Ren\xe9\"]\n\n1. d4 {Jos\xc3\xa9} *\n");
            for bytes in [
                text.as_bytes(),
                &latin,
                b"",
                b"\xef\xbb\xbf1. e4 *",
                b" \n\n",
            ] {
                let expected = whole(bytes);
                for portion in [1, 2, 7, 40, 333, 100_000] {
                    let streamed = told(bytes, Form::Pgn, portion, 1_000_000);
                    let streamed: Vec<&str> = streamed
                        .iter()
                        .map(|line| line.splitn(3, ": ").last().expect("three parts"))
                        .collect();
                    assert_eq!(streamed, expected, "{ends:?} {portion}");
                }
            }
        }
    }

    #[test]
    fn games_are_numbered_and_placed_across_the_whole_text() {
        let text = "[Event \"a\"]\n\n1. e4 *\n\n".repeat(1000) + "[Event \"b\"]\n\n1. -- *\n";
        let games: Vec<_> = Games::sized(text.as_bytes(), Form::Pgn, 100, 10_000)
            .map(|game| game.expect("a game"))
            .collect();
        let last = games.last().expect("games");
        assert_eq!((last.index, last.line, games.len()), (1001, 4001, 1001));
        assert_eq!(
            last.game.faults[0].place,
            Place {
                line: 4003,
                column: 4
            }
        );
        assert_eq!(&*last.text, "[Event \"b\"]\n\n1. -- *\n");
        assert_eq!(last.end, text.len() as u64);
    }

    #[test]
    fn a_game_that_is_too_long_is_named_and_its_neighbours_are_read() {
        let good = "[Event \"good\"]\n\n1. e4 *\n\n";
        for long in [
            format!("[Event \"long\"]\n\n1. e4 {{{}}} *\n\n", "x".repeat(5000)),
            format!("[Event \"long\"]\n\n{}\n\n", "(1. d4\n".repeat(5000)),
            format!("[Event \"long\"]\n\n{{{}\n\n", "word ".repeat(5000)),
            format!("[Event \"{}\n\n", "[".repeat(5000)),
        ] {
            let text = format!("{good}{long}{good}");
            for portion in [1, 64, 1000, 100_000] {
                let streamed = told(text.as_bytes(), Form::Pgn, portion, 1000);
                let lines = 1 + text[..text.rfind("[Event").expect("a tag")]
                    .matches('\n')
                    .count();
                assert_eq!(streamed.len(), 3, "{portion}: {streamed:#?}");
                assert!(streamed[0].starts_with("1: 1: "), "{streamed:?}");
                assert_eq!(streamed[1], "2: 5: too long");
                assert!(
                    streamed[2].starts_with(&format!("3: {lines}: ")),
                    "{streamed:?}"
                );
            }
        }
        let endless = told("x".repeat(100_000).as_bytes(), Form::Pgn, 64, 1000);
        assert_eq!(endless, ["1: 1: too long"]);
        let blanks = format!("{good}{}{good}", "\n".repeat(5000));
        assert_eq!(told(blanks.as_bytes(), Form::Pgn, 64, 1000).len(), 2);
    }

    #[test]
    fn what_stands_before_a_fault_is_read() {
        struct Broken;
        impl io::Read for Broken {
            fn read(&mut self, _: &mut [u8]) -> io::Result<usize> {
                Err(io::Error::other("broken"))
            }
        }
        let text = "[Event \"a\"]\n\n1. e4 *\n\n".repeat(10);
        let source = io::BufReader::new(io::Read::chain(text.as_bytes(), Broken));
        let games: Vec<_> = Games::new(source, Form::Pgn).collect();
        // Nobody knows whether the last one is whole.
        let (last, games) = games.split_last().expect("a fault");
        assert!(matches!(last, Err(Trouble::Io(_))), "{last:?}");
        assert!(
            games.len() >= 8 && games.iter().all(Result::is_ok),
            "{games:?}"
        );
    }

    #[test]
    fn variations_without_end_take_no_more_than_their_text() {
        let text = format!("[Event \"a\"]\n\n{}\n", "(1. d4 \n".repeat(100_000));
        let streamed = told(text.as_bytes(), Form::Pgn, 10_000, 1_000_000);
        assert_eq!(streamed.len(), 1);
        assert!(streamed[0].contains("at most 20,000 variations"));
    }

    #[test]
    fn records_come_line_by_line() {
        let record = "6k1/5ppp/8/8/8/8/8/R5K1 w - - bm Ra8#;\n";
        let text = format!("{record}# none\n\n{record}{}\n{record}", "x".repeat(3000));
        for portion in [1, 50, 100_000] {
            let streamed = told(text.as_bytes(), Form::Epd, portion, 1000);
            let starts: Vec<&str> = streamed.iter().map(|line| &line[..6]).collect();
            assert_eq!(starts, ["1: 1: ", "2: 4: ", "3: 5: ", "4: 6: "]);
            assert_eq!(streamed[2], "3: 5: too long");
        }
    }

    #[test]
    fn what_is_no_utf_8_is_named() {
        let text = b"[Event \"a\"]\n\n1. e4 *\n\n[Event \"Ren\xe9\"]\n\n1. d4 *\n";
        let mut games = Games::sized(&text[..], Form::Pgn, 8, 1000);
        assert_eq!(games.by_ref().count(), 2);
        assert_eq!(games.latin(), Some(5));
    }

    #[test]
    fn more_than_may_be_is_told_and_kept_as_words() {
        let tags: String = (0..1200).map(|i| format!("[T{i} \"x\"]\n")).collect();
        let moves = "(1. e4) ".repeat(pgn_read::MOST_MOVES + 5);
        let text = format!("{tags}\n1. d4 {moves}*\n");
        let game = pgn_read::read(&text).remove(0);
        assert_eq!(game.draft.tags().len(), pgn_read::MOST_TAGS);
        assert_eq!(game.draft.walk().len(), pgn_read::MOST_MOVES);
        let told = |what: &str| {
            game.faults
                .iter()
                .any(|fault| fault.expected.contains(what))
        };
        assert!(
            told("1,000 tags") && told("100,000 moves"),
            "{:?}",
            game.faults
        );
        let root = game.draft.node(crate::draft::NodeId::ROOT).expect("a root");
        assert!(root.after.iter().any(|words| words.contains("T1199")));
        let game = pgn_read::read(&"$ ".repeat(5000)).remove(0);
        assert_eq!(game.faults.len(), pgn_read::MOST_FAULTS);
        assert!(game.faults[999].expected.contains("1,000 faults"));
    }
}
