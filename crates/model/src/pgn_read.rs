//! Reading PGN, leniently: many games, nested variations, comments anywhere,
//! glyphs, escape lines, any line ends, UTF-8 or Latin-1.
//!
//! One pass, no recursion. Nothing is dropped in silence: text that is no PGN
//! is kept as a comment where it stood, and a fault says where that is. Whether
//! a move is legal is not asked here.

use std::cmp::Ordering;

use crate::commands;
use crate::comment;
use crate::draft::{Draft, NodeId, RESULTS};
use crate::notation::{Place, TextFault, excerpt, moves};
use crate::short::has;
use crate::short::sort_by_key;
use crate::tongue::phrase;

/// One game of a file: the draft with all that could be read, and the faults
/// met on the way. Faulty text never takes the neighbouring games down.
#[derive(Clone, Debug)]
pub struct Game {
    /// What could be read.
    pub draft: Draft,
    /// What could not, in the order of the text.
    pub faults: Vec<TextFault>,
}

/// The most moves that are kept of a game, side lines included: a hundred times as many
/// as much annotated games have. Checked as a puzzle they take 150 MB.
pub const MOST_MOVES: usize = 100_000;
/// The most tags of a game: looking one up goes through all.
pub const MOST_TAGS: usize = 1_000;
/// The most variations inside each other, a thousand times as many as people write: a
/// hundred bytes are kept of each until it ends.
pub const MOST_DEPTH: usize = 20_000;
/// The most faults that are told of a game.
pub const MOST_FAULTS: usize = 1_000;

/// Decodes a file with or without a byte order mark: each line is UTF-8, or else
/// Latin-1, which is what the PGN standard asks for (4.1).
pub fn decode(bytes: &[u8]) -> String {
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    if let Ok(text) = std::str::from_utf8(bytes) {
        return text.to_owned();
    }
    let mut text = String::with_capacity(bytes.len());
    for line in bytes.split_inclusive(|byte| matches!(byte, b'\n' | b'\r')) {
        match std::str::from_utf8(line) {
            Ok(line) => text.push_str(line),
            Err(_) => text.extend(line.iter().map(|&byte| char::from(byte))),
        }
    }
    text
}

/// Reads all games of a text. A new game begins at a tag after moves or after
/// a result; in a file of games without moves, at an `Event` tag or a repeated
/// tag behind an empty line.
///
/// Comments are kept with their words: line ends become blanks, an empty line
/// stays. A comment that stands behind a variation goes to the move the
/// variation belongs to.
pub fn read(text: &str) -> Vec<Game> {
    let mut games = Vec::new();
    each(text, &mut |game| games.push(game));
    games
}

/// Reads all games of a text as [`read`] does and hands each out as soon as it
/// is read, so that a large collection is never held as a whole.
pub fn each(text: &str, take: &mut dyn FnMut(Game)) {
    each_so_far(text, &mut |game, _| take(game));
}

/// Does as [`each`], and tells with each game how many bytes of the text are
/// read.
pub fn each_so_far(text: &str, take: &mut dyn FnMut(Game, usize)) {
    let mut reader = Reader::new(text, Start::default());
    reader.read_all(&mut |read, _, so_far| take(read.game, so_far));
    reader.end_game();
    let games = reader.games.into_iter();
    games.for_each(|read| take(read.game, text.len()));
}

/// Where in a longer text a game starts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Start {
    /// Its line and column.
    pub place: Place,
    /// Whether nothing but blanks stands before it on its line.
    pub fresh: bool,
}

impl Default for Start {
    fn default() -> Start {
        Start {
            place: Place { line: 1, column: 1 },
            fresh: true,
        }
    }
}

/// Reads the next part of a longer text, which starts as `from` says and stops at the
/// end of a line. Handed out are the games that stay as they are whatever follows,
/// each with its start and the text it was read from. Given back is where reading goes
/// on, in bytes of `part` and as the start of the next part: all from there must stand
/// at the head of it.
pub fn each_whole(
    part: &str,
    from: Start,
    take: &mut dyn FnMut(Game, Start, &str),
) -> (usize, Start) {
    let mut reader = Reader::new(part, from);
    reader.read_all(&mut |read, end, _| take(read.game, read.start, &part[read.at..end]));
    match reader.games.first() {
        Some(last) => (last.at, last.start),
        None => (reader.begin, reader.start),
    }
}

/// Reads the last part of a text as [`each_whole`] reads those before.
pub fn each_left(part: &str, from: Start, take: &mut dyn FnMut(Game, Start, &str)) {
    let mut reader = Reader::new(part, from);
    reader.read_all(&mut |read, end, _| take(read.game, read.start, &part[read.at..end]));
    reader.end_game();
    let mut games = reader.games.into_iter().peekable();
    while let Some(read) = games.next() {
        let end = games.peek().map_or(part.len(), |next| next.at);
        take(read.game, read.start, &part[read.at..end]);
    }
}

/// A text and how far it is read.
struct Text<'a> {
    text: &'a str,
    at: usize,
    place: Place,
    /// Only blanks so far on this line.
    fresh: bool,
    /// Where the line ends that `line` last looked at.
    line_end: usize,
}

impl<'a> Text<'a> {
    fn new(text: &'a str, start: Start) -> Text<'a> {
        Text {
            text,
            at: 0,
            place: start.place,
            fresh: start.fresh,
            line_end: 0,
        }
    }

    fn rest(&self) -> &'a str {
        &self.text[self.at..]
    }

    fn peek(&self) -> Option<char> {
        self.rest().chars().next()
    }

    fn bump(&mut self) {
        let mut chars = self.rest().chars();
        let Some(c) = chars.next() else { return };
        self.at += c.len_utf8();
        if c == '\n' || c == '\r' && chars.next() != Some('\n') {
            self.place.line += 1;
            self.place.column = 1;
            self.fresh = true;
        } else if c != '\u{feff}' {
            self.place.column += u32::from(c != '\r');
            self.fresh &= c.is_whitespace();
        }
    }

    /// Reads as many bytes of the text.
    fn take(&mut self, length: usize) -> &'a str {
        let start = self.at;
        let end = self.text.len().min(start + length);
        while self.at < end {
            self.bump();
        }
        &self.text[start..self.at]
    }

    fn take_while(&mut self, mut keep: impl FnMut(char) -> bool) -> &'a str {
        let start = self.at;
        while self.peek().is_some_and(&mut keep) {
            self.bump();
        }
        &self.text[start..self.at]
    }

    /// Skips blanks, and says whether an empty line was among them.
    fn skip_blanks(&mut self) -> bool {
        let line = self.place.line;
        self.take_while(|c| c.is_whitespace() || c == '\u{feff}');
        self.place.line > line + 1
    }

    /// What is left of this line, its end not included.
    fn line(&mut self) -> &'a str {
        if self.line_end <= self.at {
            let rest = self.rest();
            self.line_end = self.at + rest.find(['\n', '\r']).unwrap_or(rest.len());
        }
        &self.text[self.at..self.line_end]
    }
}

struct Reader<'a> {
    text: Text<'a>,
    games: Vec<Read>,
    game: Pending,
    /// The byte at which that game begins.
    begin: usize,
    start: Start,
}

/// A game that was read.
struct Read {
    game: Game,
    /// The byte at which it begins.
    at: usize,
    start: Start,
}

impl<'a> Reader<'a> {
    fn new(text: &'a str, start: Start) -> Reader<'a> {
        Reader {
            text: Text::new(text, start),
            games: Vec::new(),
            game: Pending::default(),
            begin: 0,
            start,
        }
    }

    /// Reads all but the end of the last game. Hands out games with the byte at which
    /// the next one begins, and how far the text is read.
    fn read_all(&mut self, take: &mut dyn FnMut(Read, usize, usize)) {
        loop {
            // The last game stays: words behind it may still be its own.
            while self.games.len() > 1 {
                let read = self.games.remove(0);
                take(read, self.games[0].at, self.text.at);
            }
            self.game.after_gap |= self.text.skip_blanks();
            let place = self.text.place;
            let Some(next) = self.text.peek() else { break };
            if next == '%' && place.column == 1 {
                let line = self.text.line().len();
                self.text.take(line);
                continue;
            }
            if self.game.stage == Stage::Over && !(self.text.fresh || next == '[') {
                self.read_behind_result(next);
                continue;
            }
            if self.game.stage == Stage::Over {
                self.end_game();
            }
            self.read_token(next);
        }
    }

    fn read_token(&mut self, next: char) {
        let place = self.text.place;
        match next {
            '[' => self.read_bracket(),
            '{' => {
                let comment = self.read_comment();
                self.game.comment(&comment);
            }
            ';' => {
                let line = self.text.line().len();
                let comment = &self.text.take(line)[1..];
                self.game.comment(comment);
            }
            '(' => {
                self.text.bump();
                self.game.open(place);
            }
            ')' => {
                self.text.bump();
                self.game.close(place);
            }
            '$' => {
                self.text.bump();
                let digits = self.text.take_while(|c| c.is_ascii_digit());
                self.game.numeric_glyph(digits, place);
            }
            '}' | ']' => {
                self.text.bump();
                self.game.stray(&next.to_string(), place);
            }
            _ => self.read_word(),
        }
    }

    /// What stands on the line of the result belongs to the same game.
    fn read_behind_result(&mut self, next: char) {
        let place = self.text.place;
        if matches!(next, '{' | ';') {
            self.read_token(next);
            return;
        }
        let line = self.text.line();
        let length = line.find(['{', ';', '[']).unwrap_or(line.len());
        let words = self.text.take(length).trim_end();
        self.game.fault(
            place,
            words,
            phrase("nothing but a comment behind the result"),
        );
        self.game.comment(words);
    }

    fn read_bracket(&mut self) {
        let place = self.text.place;
        let line = self.text.line();
        let tag = read_tag(line);
        if self.game.stage == Stage::Moves {
            let begins_game = self.text.fresh && (tag.is_some() || resembles_tag(line));
            if !begins_game {
                let length = line.find(']').map_or(line.len(), |end| end + 1);
                let words = self.text.take(length);
                self.game.stray(words, place);
                return;
            }
            self.end_game();
        }
        if let Some(tag) = tag {
            if self.game.after_gap && self.game.is_new_header(tag.name) {
                self.end_game();
            }
            self.text.take(tag.length);
            self.game.tag(tag.name, tag.value, place);
        } else {
            self.read_faulty_tag();
        }
        self.game.after_gap = false;
    }

    /// Keeps name and value of a tag as far as they can be told.
    fn read_faulty_tag(&mut self) {
        let place = self.text.place;
        let line = self.text.line();
        let end = match line.find('"') {
            Some(_) => closing_quote(line),
            None => line.find(']').map(|end| end + 1),
        };
        let whole = self.text.take(end.unwrap_or(line.len()));
        let inside = whole[1..].trim_start();
        let name_end = inside.find(|c: char| c.is_whitespace() || has("\"[]", c));
        let (name, value) = inside.split_at(name_end.unwrap_or(inside.len()));
        if name.is_empty() {
            self.game
                .fault(place, whole, phrase("a tag such as [Event \"...\"]"));
            self.game.comment(whole);
            return;
        }
        let found = value.trim();
        let before = whole[..whole.len() - value.trim_start().len()]
            .chars()
            .count();
        let column = place.column + before as u32;
        let value = found.strip_suffix(']').unwrap_or(found).trim_end();
        let expected = match value.strip_prefix('"') {
            None => phrase("a tag value in quotes"),
            Some(rest) if !rest.ends_with('"') => {
                phrase("a \" and a ] that end this tag on its line")
            }
            Some(_) if found.ends_with(']') => phrase("a \\ before each quote inside the value"),
            Some(_) => phrase("a ] that ends this tag on its line"),
        };
        let value = value.strip_prefix('"').unwrap_or(value);
        let value = value.strip_suffix('"').unwrap_or(value);
        self.game.fault(Place { column, ..place }, found, expected);
        self.game.tag(name, unescaped(value), place);
    }

    /// Reads a brace comment. One that never ends is ended where a new game
    /// begins: at a tag that fills a line behind an empty one.
    fn read_comment(&mut self) -> String {
        let open = self.text.place;
        self.text.bump();
        let start = self.text.at;
        let mut empty_lines = 0;
        loop {
            let line = self.text.line();
            if let Some(end) = line.find('}') {
                self.text.take(end);
                let comment = self.text.text[start..self.text.at].to_owned();
                self.text.bump();
                return comment;
            }
            let begins_game = empty_lines > 0
                && line.starts_with('[')
                && read_tag(line).is_some_and(|tag| line[tag.length..].trim().is_empty());
            if begins_game || line.len() == self.text.rest().len() {
                if !begins_game {
                    self.text.take(line.len());
                }
                let comment = self.text.text[start..self.text.at].to_owned();
                let shown = format!("{{{comment}");
                self.game
                    .fault(open, &shown, phrase("a } that ends this comment"));
                return comment;
            }
            empty_lines = if line.trim().is_empty() {
                empty_lines + 1
            } else {
                0
            };
            self.text.take(line.len());
            let pair = self.text.rest().starts_with("\r\n");
            self.text.take(if pair { 2 } else { 1 });
        }
    }

    fn read_word(&mut self) {
        let place = self.text.place;
        let start = self.text.at;
        self.text
            .take_while(|c| !c.is_whitespace() && !has("{}()[];$\u{feff}", c));
        // `e8(Q)+` is one word.
        let on_last_rank = self.text.text[start..self.text.at].ends_with(['1', '8']);
        if let [b'(', piece, b')', ..] = self.text.rest().as_bytes()
            && on_last_rank
            && b"QRBNqrbn".contains(piece)
        {
            self.text.take(3);
            self.text.take_while(|c| has("!?+#", c));
        }
        let word = &self.text.text[start..self.text.at];
        let at_end = self.at_end_of_game();
        self.game.word(word, place, at_end);
    }

    /// Whether nothing or a tag follows.
    fn at_end_of_game(&self) -> bool {
        let rest = self.text.rest();
        let next = rest.trim_start();
        let blanks = &rest[..rest.len() - next.len()];
        next.is_empty() || next.starts_with('[') && blanks.contains(['\n', '\r'])
    }

    fn end_game(&mut self) {
        let mut game = std::mem::take(&mut self.game);
        let at = std::mem::replace(&mut self.begin, self.text.at);
        let next = Start {
            place: self.text.place,
            fresh: self.text.fresh,
        };
        let start = std::mem::replace(&mut self.start, next);
        if game.is_empty() {
            return;
        }
        game.finish();
        let words_only = !game.ended && game.draft.tags().is_empty() && !game.moved();
        match self.games.last_mut().filter(|_| words_only) {
            Some(Read { game: last, .. }) => {
                let words = game.draft.node(NodeId::ROOT).map(|n| n.after.clone());
                let end = end_of_main_line(&last.draft);
                if let Ok(node) = last.draft.node_mut(end) {
                    node.after.extend(words.unwrap_or_default());
                }
                last.faults.append(&mut game.faults);
            }
            None => self.games.push(Read {
                game: Game {
                    draft: game.draft,
                    faults: game.faults,
                },
                at,
                start,
            }),
        }
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
enum Stage {
    /// Tags, if any, and comments.
    #[default]
    Header,
    Moves,
    /// The result has been read.
    Over,
}

/// A line of moves that is being read.
#[derive(Default)]
struct Line {
    /// Where its parenthesis stands.
    open: Option<Place>,
    /// The last move, or where the line branches off.
    here: NodeId,
    /// Whether the line has a move of its own.
    moved: bool,
    /// Comments read before its first move.
    before: Vec<String>,
}

/// A game that is being read.
#[derive(Default)]
struct Pending {
    draft: Draft,
    faults: Vec<TextFault>,
    /// Moves in the draft.
    moves: usize,
    stage: Stage,
    line: Line,
    /// The lines around it, the main line first.
    around: Vec<Line>,
    /// Text that is no PGN, not yet put into a comment.
    stray: String,
    stray_place: Option<Place>,
    /// A move number that may yet turn out to be part of such text.
    number: String,
    number_place: Option<Place>,
    set_up: Option<Place>,
    after_gap: bool,
    ended: bool,
}

impl Pending {
    fn is_empty(&self) -> bool {
        let root = self.draft.node(NodeId::ROOT);
        self.draft.tags().is_empty()
            && !self.moved()
            && !self.ended
            && self.faults.is_empty()
            && self.stray.is_empty()
            && self.line.before.is_empty()
            && self.around.is_empty()
            && root.is_none_or(|n| n.after.is_empty())
    }

    fn moved(&self) -> bool {
        self.draft
            .node(NodeId::ROOT)
            .is_some_and(|n| !n.children.is_empty())
    }

    /// Whether a tag of this name behind an empty line begins another game.
    fn is_new_header(&self, name: &str) -> bool {
        !self.draft.tags().is_empty() && (name == "Event" || self.draft.tag(name).is_some())
    }

    fn tag(&mut self, name: &str, value: String, place: Place) {
        self.flush();
        let shown = format!("[{name} \"{value}\"]");
        if self.draft.tags().len() == MOST_TAGS {
            return self.faulty(place, &shown, phrase("at most 1,000 tags in a game"));
        }
        if self.draft.tag(name).is_some() {
            self.fault(place, &shown, phrase("each tag only once"));
        }
        if name == "SetUp" && value == "1" {
            self.set_up = Some(place);
        }
        self.draft.push_tag(name.to_owned(), value);
    }

    fn comment(&mut self, text: &str) {
        self.flush();
        let text = comment::flow(text);
        if text.is_empty() {
            return;
        }
        if self.line.open.is_some() && !self.line.moved {
            self.line.before.push(text);
        } else if let Ok(node) = self.draft.node_mut(self.line.here) {
            let words = commands::take(vec![text], &mut node.commands);
            node.after.extend(words);
        }
    }

    fn open(&mut self, place: Place) {
        self.flush();
        self.stage = Stage::Moves;
        if self.around.len() == MOST_DEPTH {
            let expected = phrase("at most 20,000 variations inside each other");
            return self.faulty(place, "(", expected);
        }
        let here = if self.line.moved {
            let node = self.draft.node(self.line.here);
            node.map_or(NodeId::ROOT, |n| n.parent)
        } else {
            self.fault(place, "(", phrase("a move before a variation"));
            self.line.here
        };
        // Words that wait for a move wait on.
        let line = Line {
            open: Some(place),
            here,
            before: std::mem::take(&mut self.line.before),
            ..Line::default()
        };
        self.around.push(std::mem::replace(&mut self.line, line));
    }

    fn close(&mut self, place: Place) {
        self.flush();
        let Some(outer) = self.around.pop() else {
            self.fault(place, ")", phrase("a ( before this )"));
            return;
        };
        let inner = std::mem::replace(&mut self.line, outer);
        self.leave(inner);
    }

    /// Keeps the words of a line without moves.
    fn leave(&mut self, mut line: Line) {
        let Some(open) = line.open.filter(|_| !line.moved) else {
            return;
        };
        self.fault(open, "(", phrase("a move in this variation"));
        if self.line.open.is_some() && !self.line.moved {
            if self.line.before.is_empty() {
                std::mem::swap(&mut self.line.before, &mut line.before);
            }
            return self.line.before.append(&mut line.before);
        }
        for words in line.before {
            self.comment(&words);
        }
    }

    fn numeric_glyph(&mut self, digits: &str, place: Place) {
        let shown = format!("${digits}");
        match digits.parse::<u8>() {
            Ok(nag) if self.line.moved => {
                self.flush();
                self.glyph(nag);
            }
            Ok(_) => self.faulty(place, &shown, phrase("a move before this glyph")),
            Err(_) => self.faulty(place, &shown, phrase("a number from 0 to 255 behind $")),
        }
    }

    fn glyph(&mut self, nag: u8) {
        if let Ok(node) = self.draft.node_mut(self.line.here) {
            node.nags.push(nag);
        }
    }

    fn word(&mut self, mut word: &str, mut place: Place, at_end: bool) {
        loop {
            if let Some(result) = as_result(word) {
                return self.result(word, result, place, at_end);
            }
            if matches!(word, "--" | "Z0" | "0000" | "@@@@") {
                return self.faulty(place, word, phrase("a move (a passed move cannot be read)"));
            }
            let number = move_number(word);
            if number.is_empty() {
                return self.move_or_words(word, place);
            }
            if !self.number.is_empty() {
                self.number.push(' ');
            }
            self.number.push_str(number);
            self.number_place.get_or_insert(place);
            word = &word[number.len()..];
            if word.is_empty() {
                return;
            }
            place.column += number.chars().count() as u32;
        }
    }

    fn move_or_words(&mut self, word: &str, place: Place) {
        if self.line.moved && matches!(word, "e.p." | "e.p" | "ep" | "ep.") {
            return self.flush();
        }
        if !word.starts_with(|c| matches!(c, '1'..='9'))
            && let Some((text, nags)) = moves::split_marks(word)
            && moves::has_form_of_move(&text)
        {
            self.push_move(text, place);
            nags.into_iter().for_each(|nag| self.glyph(nag));
            return;
        }
        // `1e4`: the number and its move without a dot.
        let unmarked = word.trim_end_matches([',', '.', ':']);
        let bare = unmarked.trim_start_matches(|c: char| c.is_ascii_digit());
        let unmarked = match bare.chars().next() {
            Some(c) if c.is_ascii_alphabetic() || !c.is_ascii() => bare,
            _ => unmarked,
        };
        match moves::split_marks(unmarked) {
            Some((text, nags)) if moves::has_form_of_move(&text) => {
                self.push_move(text, place);
                nags.into_iter().for_each(|nag| self.glyph(nag));
            }
            Some((text, nags)) if self.line.moved && is_marks_only(&text) && unmarked == word => {
                self.flush();
                if let Ok(node) = self.draft.node_mut(self.line.here) {
                    node.text.push_str(&text);
                }
                nags.into_iter().for_each(|nag| self.glyph(nag));
            }
            None => {
                let text = unmarked.trim_end_matches(['!', '?']);
                if moves::has_form_of_move(text) {
                    self.push_move(text.to_owned(), place);
                    let marks = &unmarked[text.len()..];
                    let column = place.column + text.chars().count() as u32;
                    self.faulty(
                        Place { column, ..place },
                        marks,
                        phrase("one of ! ? !! ?? !? ?!"),
                    );
                } else {
                    self.stray(word, place);
                }
            }
            Some(_) => self.stray(word, place),
        }
    }

    fn push_move(&mut self, text: String, place: Place) {
        self.number.clear();
        self.flush();
        self.stage = Stage::Moves;
        if self.moves == MOST_MOVES {
            return self.faulty(place, &text, phrase("at most 100,000 moves in a game"));
        }
        self.moves += 1;
        let id = self.draft.push_move(self.line.here, text, Some(place));
        if let Ok(node) = self.draft.node_mut(id) {
            let before = std::mem::take(&mut self.line.before);
            node.before = commands::take(before, &mut node.commands);
        }
        self.line.here = id;
        self.line.moved = true;
    }

    fn result(&mut self, word: &str, result: &str, place: Place, at_end: bool) {
        self.flush();
        if !self.around.is_empty() && !at_end {
            return self.faulty(
                place,
                word,
                phrase("a move or a ) (a result ends the whole game)"),
            );
        }
        let tag = self.draft.tag("Result").filter(|tag| RESULTS.contains(tag));
        match tag.map(str::to_owned) {
            Some(tag) if result == "*" => self.draft.result = tag,
            Some(tag) if tag != result && tag != "*" => {
                let expected = match tag.as_str() {
                    "1-0" => phrase("1-0, as the Result tag says"),
                    "0-1" => phrase("0-1, as the Result tag says"),
                    _ => phrase("1/2-1/2, as the Result tag says"),
                };
                self.fault(place, word, expected);
                self.draft.result = result.to_owned();
            }
            _ => self.draft.result = result.to_owned(),
        }
        self.close_open_lines();
        self.stage = Stage::Over;
        self.ended = true;
    }

    /// Text that is no PGN: words in a row make one comment and one fault.
    fn stray(&mut self, word: &str, place: Place) {
        for part in [std::mem::take(&mut self.number).as_str(), word] {
            if part.is_empty() {
                continue;
            }
            if !self.stray.is_empty() {
                self.stray.push(' ');
            }
            self.stray.push_str(part);
        }
        let place = self.number_place.take().unwrap_or(place);
        self.stray_place.get_or_insert(place);
    }

    /// Ends a run of stray words.
    fn flush(&mut self) {
        let number = std::mem::take(&mut self.number);
        self.number_place = None;
        if let Some(place) = self.stray_place.take() {
            let mut words = std::mem::take(&mut self.stray);
            if !number.is_empty() {
                words = words + " " + &number;
            }
            self.faulty(
                place,
                &words,
                phrase("a move, a comment in braces or a result"),
            );
        }
    }

    /// Keeps faulty text as a comment.
    fn faulty(&mut self, place: Place, text: &str, expected: &str) {
        self.flush();
        self.fault(place, text, expected);
        self.comment(text);
    }

    fn fault(&mut self, place: Place, text: &str, expected: &str) {
        let told = self.faults.len() + 1;
        let expected = match told.cmp(&MOST_FAULTS) {
            Ordering::Less => expected,
            Ordering::Equal => phrase("at most 1,000 faults in a game: no more are told"),
            Ordering::Greater => return,
        };
        self.faults.push(TextFault {
            place,
            text: excerpt(text),
            expected: expected.to_owned(),
        });
    }

    fn close_open_lines(&mut self) {
        while let Some(outer) = self.around.pop() {
            let inner = std::mem::replace(&mut self.line, outer);
            if let Some(open) = inner.open {
                self.fault(open, "(", phrase("a ) that ends this variation"));
            }
            self.leave(inner);
        }
    }

    fn finish(&mut self) {
        self.flush();
        self.close_open_lines();
        if !self.ended
            && let Some(tag) = self.draft.tag("Result").filter(|tag| RESULTS.contains(tag))
        {
            self.draft.result = tag.to_owned();
        }
        if let Some(place) = self.set_up.filter(|_| self.draft.start_fen().is_none()) {
            self.fault(
                place,
                "[SetUp \"1\"]",
                phrase("a FEN tag beside SetUp \"1\""),
            );
        }
        sort_by_key(&mut self.faults, |fault| fault.place);
    }
}

/// A tag pair that keeps to the standard.
struct Tag<'a> {
    name: &'a str,
    value: String,
    /// Bytes from `[` to `]`.
    length: usize,
}

/// Reads `[Name "value"]` from the start of a line.
fn read_tag(line: &str) -> Option<Tag<'_>> {
    let inside = line.strip_prefix('[')?.trim_start();
    let name_end = inside.find(|c: char| c.is_whitespace() || has("\"[]", c))?;
    let (name, rest) = inside
        .split_at_checked(name_end)
        .filter(|(name, _)| !name.is_empty())?;
    let value = rest.trim_start().strip_prefix('"')?;
    let mut escaped = false;
    let close = value.find(|c: char| {
        let closes = c == '"' && !escaped;
        escaped = c == '\\' && !escaped;
        closes
    })?;
    let rest = value[close + 1..].trim_start().strip_prefix(']')?;
    Some(Tag {
        name,
        value: unescaped(&value[..close]),
        length: line.len() - rest.len(),
    })
}

/// Whether a line among moves is a tag with something wrong in it: a name and
/// a quote.
fn resembles_tag(line: &str) -> bool {
    let inside = line.trim_start_matches('[').trim_start();
    // Unicode's tables of letters would be a fiftieth of the student's page.
    let in_name = |c: char| c.is_ascii_alphanumeric() || c == '_' || !c.is_ascii();
    let rest = inside.trim_start_matches(in_name);
    rest.len() < inside.len() && rest.trim_start().starts_with('"')
}

/// Where a tag with bare quotes in its value ends: behind the first `"]`.
fn closing_quote(line: &str) -> Option<usize> {
    let mut from = 0;
    while let Some(quote) = line[from..].find('"') {
        from += quote + 1;
        let rest = &line[from..];
        if let Some(after) = rest.trim_start().strip_prefix(']') {
            return Some(line.len() - after.len());
        }
    }
    None
}

fn unescaped(value: &str) -> String {
    let mut out = String::with_capacity(value.len());
    let mut chars = value.chars().peekable();
    while let Some(c) = chars.next() {
        match (c, chars.peek()) {
            ('\\', Some('"' | '\\')) => out.extend(chars.next()),
            _ => out.push(c),
        }
    }
    out
}

fn as_result(word: &str) -> Option<&'static str> {
    match word {
        "1-0" | "1–0" => Some("1-0"),
        "0-1" | "0–1" => Some("0-1"),
        "1/2-1/2" | "1/2–1/2" | "1/2" | "½-½" | "½–½" | "½" => Some("1/2-1/2"),
        "*" => Some("*"),
        _ => None,
    }
}

/// The number in front of a move, with its dots; digits alone count, too.
fn move_number(word: &str) -> &str {
    let digits = word.trim_start_matches(|c: char| c.is_ascii_digit());
    let rest = digits.trim_start_matches(['.', '…']);
    let found = rest.len() < digits.len() || rest.is_empty();
    if found {
        &word[..word.len() - rest.len()]
    } else {
        ""
    }
}

fn is_marks_only(text: &str) -> bool {
    text.chars().all(|c| has("+#†‡", c))
}

fn end_of_main_line(draft: &Draft) -> NodeId {
    let mut here = NodeId::ROOT;
    while let Some(&next) = draft.node(here).and_then(|n| n.children.first()) {
        here = next;
    }
    here
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pgn_write;

    fn one(text: &str) -> Game {
        let mut games = read(text);
        assert_eq!(games.len(), 1, "{games:#?}");
        games.remove(0)
    }

    /// The tree in brackets: `e4 $1 {words} [d4] [e5]`.
    fn tree(draft: &Draft) -> String {
        let mut out = Vec::new();
        let root = draft.node(NodeId::ROOT).unwrap();
        out.extend(root.after.iter().map(|c| format!("{{{c}}}")));
        for id in draft.walk() {
            let node = draft.node(id).unwrap();
            let parent = draft.node(node.parent).unwrap();
            if parent.children[0] != id {
                let at = parent.children.iter().position(|&c| c == id).unwrap();
                let before = draft.node(parent.children[at - 1]).unwrap();
                out.push(format!("|{}:", before.text));
            }
            out.extend(node.before.iter().map(|c| format!("{{{c}}}<")));
            out.push(node.text.clone());
            out.extend(node.nags.iter().map(|nag| format!("${nag}")));
            out.extend(node.after.iter().map(|c| format!("{{{c}}}")));
        }
        out.join(" ")
    }

    fn faults(game: &Game) -> Vec<String> {
        let show = |f: &TextFault| {
            format!(
                "{}:{} `{}` expected {}",
                f.place.line, f.place.column, f.text, f.expected
            )
        };
        game.faults.iter().map(show).collect()
    }

    fn clean(text: &str) -> Game {
        let game = one(text);
        assert_eq!(faults(&game), [""; 0], "{text}");
        game
    }

    #[test]
    fn comments_glyphs_and_variations_stand_where_they_belong() {
        let game = clean(
            "{before} 1. e4! {after} (1. d4 $1 $14 d5) (1... {empty? no} c4) 1... e5 ({why} 1... c5?! 2. Nf3 \
             (2. c3 {deep})) {behind} 2. Nf3 ; to the end\n *",
        );
        assert_eq!(
            tree(&game.draft),
            "{before} e4 $1 {after} e5 {behind} Nf3 {to the end} |e5: {why}< c5 $6 Nf3 |Nf3: c3 {deep} \
             |e4: d4 $1 $14 d5 |d4: {empty? no}< c4"
        );
        assert_eq!(game.draft.result, "*");
    }

    #[test]
    fn glyphs_attached_or_apart() {
        // PGN standard 8.2.3.8: ! ? !! ?? !? ?! are $1 to $6.
        let game =
            clean("1. e4! e5 ? 2. Nf3!! Nc6?? 3. Bb5 !? a6?! 4. Ba4+!$14 b5 += 5. Bb3 $0$255");
        assert_eq!(
            tree(&game.draft),
            "e4 $1 e5 $2 Nf3 $3 Nc6 $4 Bb5 $5 a6 $6 Ba4+ $1 $14 b5 $14 Bb3 $0 $255"
        );
        let game = one("1. e4!!! $3 e5 $256 $ *");
        assert_eq!(tree(&game.draft), "e4 $3 {!!!} e5 {$256} {$}");
        assert_eq!(
            faults(&game),
            [
                "1:6 `!!!` expected one of ! ? !! ?? !? ?!",
                "1:16 `$256` expected a number from 0 to 255 behind $",
                "1:21 `$` expected a number from 0 to 255 behind $",
            ]
        );
        let game = one("$1 e4");
        assert_eq!(
            faults(&game),
            ["1:1 `$1` expected a move before this glyph"]
        );
    }

    #[test]
    fn move_numbers_of_any_form() {
        for text in [
            "1. e4 e5 2. Nf3",
            "1.e4 e5 2.Nf3",
            "1 e4 e5 2 Nf3",
            "1. e4 1... e5 2. Nf3",
            "1. e4 1. ... e5 2. Nf3",
            "e4 e5 Nf3",
            "1.e4 1…e5 2.Nf3",
            "1..... e4 ... e5 2 . Nf3",
            "1.e4 e5 2.Nf3 3.",
            "1e4 e5 2Nf3",
            "1. e4, e5; \n2. Nf3",
        ] {
            let game = clean(text);
            let texts: Vec<_> = game.draft.walk();
            let texts: Vec<_> = texts
                .iter()
                .map(|&id| &game.draft.node(id).unwrap().text)
                .collect();
            assert_eq!(texts, ["e4", "e5", "Nf3"], "{text}");
        }
    }

    #[test]
    fn any_line_ends_a_byte_order_mark_and_latin_1() {
        let text = "[Event \"Z\"]\n\n1. e4 {a\nb}\n(1. d4)\n1... e5 1-0\n";
        for ends in ["\n", "\r\n", "\r"] {
            let text = format!("\u{feff}{}", text.replace('\n', ends));
            let game = clean(&text);
            assert_eq!(game.draft.tag("Event"), Some("Z"));
            assert_eq!(tree(&game.draft), "e4 {a b} e5 |e4: d4");
            let d4 = game.draft.walk()[2];
            let place = game.draft.node(d4).unwrap().place;
            assert_eq!(place, Some(Place { line: 5, column: 5 }), "{ends:?}");
        }
        assert_eq!(decode(b"\xef\xbb\xbfJos\xc3\xa9"), "José");
        assert_eq!(decode(b"Jos\xe9"), "José");
        assert_eq!(decode(b""), "");
    }

    #[test]
    fn tags_with_escapes() {
        let game = clean(
            r#"[Event "a \"b\" \\ c"] [ Site"x" ]
[Stipulation	"\#2"]
*"#,
        );
        assert_eq!(game.draft.tag("Event"), Some(r#"a "b" \ c"#));
        assert_eq!(game.draft.tag("Site"), Some("x"));
        assert_eq!(game.draft.tag("Stipulation"), Some(r"\#2"));
    }

    #[test]
    fn faulty_tags_keep_what_can_be_told() {
        let text = "[Event \"The \"old\" one\"] [Round \"1\"]\n[White Smith]\n[Black \"Jones]\n[Site \"Here\"\n\
                    [Empty]\n[]\n[ECO \"A00\"]\n[ECO \"A01\"]\n\n1. e4 *";
        let game = one(text);
        assert_eq!(
            faults(&game),
            [
                "1:8 `\"The \"old\" one\"]` expected a \\ before each quote inside the value",
                "2:8 `Smith]` expected a tag value in quotes",
                "3:8 `\"Jones]` expected a \" and a ] that end this tag on its line",
                "4:7 `\"Here\"` expected a ] that ends this tag on its line",
                "5:7 `]` expected a tag value in quotes",
                "6:1 `[]` expected a tag such as [Event \"...\"]",
                "8:1 `[ECO \"A01\"]` expected each tag only once",
            ]
        );
        let tags: Vec<_> = game
            .draft
            .tags()
            .iter()
            .map(|(n, v)| format!("{n}={v}"))
            .collect();
        assert_eq!(
            tags,
            [
                "Event=The \"old\" one",
                "Round=1",
                "White=Smith",
                "Black=Jones",
                "Site=Here",
                "Empty=",
                "ECO=A00",
                "ECO=A01"
            ]
        );
        assert_eq!(tree(&game.draft), "{[]} e4");
    }

    #[test]
    fn escape_lines_are_hidden() {
        // PGN standard 6: a % in the first column hides the line.
        let game = clean("%1. d4\n[Event \"x\"]\n% [Site \"y\"]\n1. e4 {50\n% sure}\n%\n e5 *");
        assert_eq!(tree(&game.draft), "e4 {50 % sure} e5");
        assert_eq!(game.draft.tags().len(), 1);
        let game = one(" %1. d4");
        assert_eq!(
            faults(&game),
            ["1:2 `%1.` expected a move, a comment in braces or a result"]
        );
    }

    #[test]
    fn brace_comments_do_not_nest() {
        let game = one("1. e4 {a {b} c} e5");
        assert_eq!(tree(&game.draft), "e4 {a {b} {c }} e5");
        assert_eq!(
            faults(&game),
            ["1:14 `c }` expected a move, a comment in braces or a result"]
        );
        let game = clean("1. e4 {; ( [ $ } e5 ; { \n 2. Nf3");
        assert_eq!(tree(&game.draft), "e4 {; ( [ $} e5 {{} Nf3");
        let game = clean("{one\n\n\n two  three\r\n\r\nfour} *");
        assert_eq!(tree(&game.draft), "{one\n\ntwo three\n\nfour}");
    }

    #[test]
    fn many_games_with_and_without_tags_and_moves() {
        let games = read(
            "1. e4 1-0 {first}\n\n1. d4 0-1\n[Event \"third\"]\n\n1. c4\n[Event \"fourth\"]\n\n[Event \"fifth\"]\n\
             {words}\n\n[Event \"sixth\"]\n* ; end\n{after all}",
        );
        let all: Vec<_> = games
            .iter()
            .map(|g| {
                format!(
                    "{:?} {} {}",
                    g.draft.tag("Event"),
                    tree(&g.draft),
                    g.draft.result
                )
            })
            .collect();
        assert_eq!(
            all,
            [
                "None e4 {first} 1-0",
                "None d4 0-1",
                "Some(\"third\") c4 *",
                "Some(\"fourth\")  *",
                "Some(\"fifth\") {words} *",
                "Some(\"sixth\") {end} {after all} *",
            ]
        );
        assert!(games.iter().all(|g| g.faults.is_empty()));
        assert!(read("").is_empty());
        assert!(read(" \r\n\u{feff}\n% nothing").is_empty());
        assert_eq!(read("* *\n*").len(), 2);
        assert_eq!(tree(&one("{only words}").draft), "{only words}");
    }

    #[test]
    fn a_faulty_game_leaves_its_neighbours_alone() {
        let good = "[Event \"good\"]\n\n1. e4 {fine} e5 *\n\n";
        for (bad, expected) in [
            (
                "1. e4 {never ends\n\nand on\n\n",
                "3:7 `{never ends  and on  ` expected a } that ends this comment",
            ),
            (
                "1. e4 (1. d4 (1. c4\n\n",
                "3:7 `(` expected a ) that ends this variation",
            ),
            ("1. e4) *\n\n", "3:6 `)` expected a ( before this )"),
            (
                "1. e4 }\n\n",
                "3:7 `}` expected a move, a comment in braces or a result",
            ),
            (
                "1. e4 \"quoted\n\n",
                "3:7 `\"quoted` expected a move, a comment in braces or a result",
            ),
            (
                "1. -- e5 *\n\n",
                "3:4 `--` expected a move (a passed move cannot be read)",
            ),
            (
                "1. e4 1-0 and more\n\n",
                "3:11 `and more` expected nothing but a comment behind the result",
            ),
            (
                "1. e4 [sic\n\n",
                "3:7 `[sic` expected a move, a comment in braces or a result",
            ),
        ] {
            let text = format!("[Event \"bad\"]\n\n{bad}{good}");
            let games = read(&text);
            assert_eq!(games.len(), 2, "{bad}");
            assert_eq!(faults(&games[0])[0], expected, "{bad}");
            assert_eq!(faults(&games[1]), [""; 0], "{bad}");
            assert_eq!(tree(&games[1].draft), "e4 {fine} e5");
        }
    }

    #[test]
    fn unended_parts_keep_what_was_read() {
        let game = one("1. e4 (1. d4 {queen's (1. c4 pawn");
        assert_eq!(tree(&game.draft), "e4 |e4: d4 {queen's (1. c4 pawn}");
        assert_eq!(
            faults(&game),
            [
                "1:7 `(` expected a ) that ends this variation",
                "1:14 `{queen's (1. c4 pawn` expected a } that ends this comment",
            ]
        );
        let game = one("1. e4 (1. d4 (1. c4) 1-0");
        assert_eq!(game.draft.result, "1-0");
        assert_eq!(
            faults(&game),
            ["1:7 `(` expected a ) that ends this variation"]
        );
    }

    #[test]
    fn variations_without_a_place_or_without_moves() {
        let game = one("1. e4 ({words} ) () e5 *");
        assert_eq!(tree(&game.draft), "e4 {words} e5");
        assert_eq!(
            faults(&game),
            [
                "1:7 `(` expected a move in this variation",
                "1:18 `(` expected a move in this variation",
            ]
        );
        let game = one("(1. d4) 1. e4");
        assert_eq!(tree(&game.draft), "d4 |d4: e4");
        assert_eq!(
            faults(&game),
            ["1:1 `(` expected a move before a variation"]
        );
    }

    #[test]
    fn words_among_moves_become_comments() {
        let game = one("1. e4 a strong move, see game 12 (1. d4 as well) e5 not 3 of them");
        assert_eq!(
            tree(&game.draft),
            "e4 {a strong move, see game 12} e5 {not 3 of them} |e4: d4 {as well}"
        );
        assert_eq!(faults(&game).len(), 3);
        let game = one("1. nonsense e4");
        assert_eq!(
            faults(&game),
            ["1:1 `1. nonsense` expected a move, a comment in braces or a result"]
        );
        let game = one(&"word ".repeat(1000));
        assert_eq!(game.faults[0].text.chars().count(), 40);
    }

    #[test]
    fn results_end_a_game_and_agree_with_the_tag() {
        for (word, result) in [
            ("1-0", "1-0"),
            ("0-1", "0-1"),
            ("1/2-1/2", "1/2-1/2"),
            ("½-½", "1/2-1/2"),
            ("1/2", "1/2-1/2"),
            ("*", "*"),
        ] {
            assert_eq!(clean(&format!("1. e4 {word}")).draft.result, result);
        }
        assert_eq!(clean("[Result \"1-0\"]\n1. e4").draft.result, "1-0");
        assert_eq!(clean("[Result \"1-0\"]\n1. e4 *").draft.result, "1-0");
        let game = one("[Result \"1-0\"]\n1. e4 0-1");
        assert_eq!(game.draft.result, "0-1");
        assert_eq!(
            faults(&game),
            ["2:7 `0-1` expected 1-0, as the Result tag says"]
        );
        let game = one("1. e4 (1. d4 1-0) e5 0-1");
        assert_eq!(tree(&game.draft), "e4 e5 |e4: d4 {1-0}");
        assert_eq!(game.draft.result, "0-1");
        assert_eq!(
            faults(&game),
            ["1:14 `1-0` expected a move or a ) (a result ends the whole game)"]
        );
    }

    #[test]
    fn a_set_up_needs_its_position() {
        // PGN standard 9.7.1: SetUp "1" comes with a FEN tag.
        let game = one("[SetUp \"1\"]\n\n*");
        assert_eq!(
            faults(&game),
            ["1:1 `[SetUp \"1\"]` expected a FEN tag beside SetUp \"1\""]
        );
        clean("[FEN \"8/8/8/8/8/8/8/K1k5 w - - 0 1\"]\n\n*");
    }

    #[test]
    fn moves_are_kept_as_typed() {
        let text = "0-0 e7e8q e8(Q) exd6 e.p. Sf3 Крe2 Ra9 ♘f3 Qh7 # e8=Q+ Nb1-c3";
        let game = clean(text);
        assert_eq!(
            tree(&game.draft),
            "0-0 e7e8q e8(Q) exd6 Sf3 Крe2 Ra9 ♘f3 Qh7# e8=Q+ Nb1-c3"
        );
    }

    #[test]
    fn nesting_and_length_neither_recurse_nor_stall() {
        // Ten thousand nested variations, a comment of a million bytes and
        // other texts on which a careless reader recurses or goes quadratic.
        let nested = format!("{}{}", "1. e4 (".repeat(10_000), ")".repeat(10_000));
        let game = one(&nested);
        assert_eq!(game.draft.walk().len(), 10_000);
        assert_eq!(
            faults(&game),
            ["1:70000 `(` expected a move in this variation"]
        );
        let round = "Nf3 (Na3 Na6 Nb1 Nb8 ".repeat(10_000);
        let game = clean(&(round + &")".repeat(10_000)));
        assert_eq!(game.draft.walk().len(), 50_000);
        assert_eq!(game.draft.resolve().faults, []);
        let again = clean(&pgn_write::write(&game.draft));
        assert_eq!(again.draft, game.draft);
        let long = clean(&"Nf3 Nf6 Ng1 Ng8 ".repeat(10_000)).draft;
        assert_eq!(long.resolve().faults, []);
        assert_eq!(clean(&pgn_write::write(&long)).draft, long);
        let comment = "word ".repeat(200_000);
        let game = clean(&format!("1. e4 {{{comment}}} e5"));
        let e4 = game.draft.walk()[0];
        assert_eq!(game.draft.node(e4).unwrap().after[0].len(), 999_999);
        for text in [
            "{".repeat(1_000_000),
            "(".repeat(200_000),
            ")".repeat(200_000),
            "[".repeat(1_000_000),
            "1. e4 ".to_owned() + &"[]".repeat(200_000),
            "{}".repeat(200_000) + " e4",
            "1.".repeat(500_000) + "e4",
            "e4 ".repeat(100_000),
            "1. e4 {\n\n".repeat(50_000),
            "[Event \"x\"]\n\n1. e4 {\n\n".repeat(50_000),
            "[a \"".repeat(100_000),
            "x".repeat(1_000_000),
            "e4".to_owned() + &"+".repeat(1_000_000),
            "* ".repeat(100_000),
        ] {
            assert!(!read(&text).is_empty());
        }
    }
}
