//! EPD in and out (PGN standard 16.2): a position and what is said of it, one
//! record a line.
//!
//! A record becomes a puzzle: the moves of `bm` are its keys, those of `am` its
//! tries, `dm` makes it a mate in so many moves, `pv` is its main line, `id` its
//! title, `c0` to `c9` are the words before the first move. Every other
//! operation is kept in the tag `EPD`, and written back. Reading is lenient:
//! empty lines and lines that start with `#` or `%` are left out, and the last
//! semicolon may be missing. What a puzzle says beyond that (words at moves,
//! hints, answers to defences) has no place in a record.

use crate::aim::Aim;
use crate::resolved::Resolved;
use shakmaty::{Chess, EnPassantMode, Move, Position, fen::Epd};

use crate::draft::{Draft, Edit, NodeId};
use crate::notation::{Place, TextFault, excerpt, fen, moves};
use crate::pgn_read::Game;
use crate::puzzle::Stipulation;
use crate::tongue::{phrase, say};

/// An opcode with its operands; strings without their quotes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Operation {
    /// Its name: `bm`, `dm`, `id`.
    pub opcode: String,
    /// What follows the name, without quotes.
    pub operands: Vec<String>,
}

/// A line of an EPD file.
#[derive(Clone, Debug)]
pub struct Record {
    /// With the clocks of `hmvc` and `fmvn`, 0 and 1 where they are not given.
    pub position: Chess,
    /// What is said of it, in the order of the record.
    pub operations: Vec<Operation>,
}

/// The tag in which operations are kept that a puzzle has no place for.
const REST: &str = "EPD";
/// An opcode of our own: a stipulation that is neither `#n` nor `bm`.
const STIPULATION: &str = "stipulation";
/// The longest opcode (PGN standard 16.2.4).
const LONGEST_OPCODE: usize = 15;

impl Record {
    /// The operands of an opcode.
    pub fn operands(&self, opcode: &str) -> Option<&[String]> {
        let found = self.operations.iter().find(|o| o.opcode == opcode)?;
        Some(&found.operands)
    }

    /// Operands read as moves of this position.
    ///
    /// # Errors
    /// The first operand that is no legal move.
    pub fn moves(&self, opcode: &str) -> Result<Vec<Move>, String> {
        let texts = self.operands(opcode).unwrap_or(&[]);
        let read = |text: &String| moves::read(&self.position, text).map_err(|_| text.clone());
        texts.iter().map(read).collect()
    }

    /// The line of `pv`, up to the first move that is not legal.
    pub fn line(&self) -> Vec<Move> {
        let mut at = self.position.clone();
        let mut line = Vec::new();
        for text in self.operands("pv").unwrap_or(&[]) {
            let Ok(mv) = moves::read(&at, text) else {
                break;
            };
            at.play_unchecked(mv);
            line.push(mv);
        }
        line
    }
}

/// Reads one line.
///
/// # Errors
/// What was expected where, columns counted from 1.
pub fn record(line: &str, number: u32) -> Result<Record, TextFault> {
    let mut reader = Reader {
        line,
        at: 0,
        number,
    };
    let mut fields = Vec::new();
    for _ in 0..4 {
        reader.skip_blanks();
        let field = reader.take_while(|c| !c.is_whitespace() && c != ';');
        fields.push(field);
    }
    if fields.iter().any(|field| field.is_empty()) {
        return Err(reader.fault_at(
            0,
            phrase("the four fields of a position: men, side to move, castling, en passant"),
        ));
    }
    let operations = reader.operations()?;
    let number_of = |opcode: &str, usual: &str| {
        let found = operations.iter().find(|o: &&Operation| o.opcode == opcode);
        let number = found.and_then(|o| o.operands.first()).cloned();
        number
            .filter(|n| n.parse::<u32>().is_ok())
            .unwrap_or(usual.to_owned())
    };
    let text = format!(
        "{} {} {}",
        fields.join(" "),
        number_of("hmvc", "0"),
        number_of("fmvn", "1")
    );
    let position = fen::read(&text).map_err(|fault| {
        let reasons = fault.reasons().join(" ");
        reader.fault_at(0, &say!("a position ({reasons})", reasons = reasons))
    })?;
    Ok(Record {
        position,
        operations,
    })
}

/// Reads all records of a text as puzzles. A line that cannot be read gives a
/// game without moves that carries the fault.
pub fn read(text: &str) -> Vec<Game> {
    let mut games = Vec::new();
    for (i, line) in text.lines().enumerate() {
        let number = u32::try_from(i + 1).unwrap_or(u32::MAX);
        games.extend(puzzle(line, number));
    }
    games
}

/// Reads one line as a puzzle, as [`read`] does; `None` for a line without a record.
pub fn puzzle(line: &str, number: u32) -> Option<Game> {
    if line.trim().is_empty() || line.starts_with(['#', '%']) {
        return None;
    }
    Some(match record(line, number) {
        Ok(record) => game(&record, line, number),
        Err(fault) => Game {
            draft: titled(line),
            faults: vec![fault],
        },
    })
}

/// Writes a puzzle as one record, without the line's end.
///
/// # Errors
/// A sentence that says why it has none.
pub fn write(resolved: &Resolved) -> Result<String, String> {
    let draft = resolved.draft();
    let start = resolved.start().map_err(|fault| {
        let reasons = fault.reasons().join(" ");
        say!("no legal position: {reasons}", reasons = reasons)
    })?;
    let mut operations: Vec<(String, String)> = Vec::new();
    let mut add = |opcode: &str, operands: String| {
        operations.push((opcode.to_owned(), operands));
    };
    let (best, avoid) = first_moves(resolved, start);
    let root = draft.node(NodeId::ROOT);
    let line = main_line(resolved);
    if line.len() > 1
        && best
            .first()
            .is_some_and(|b| moves::san(start, line[0]) == *b)
    {
        add("pv", spaced(start, &line));
    }
    for (opcode, mut sans) in [("bm", best), ("am", avoid)] {
        sans.sort();
        if !sans.is_empty() {
            add(opcode, sans.join(" "));
        }
    }
    match draft.tag("Stipulation").map(Stipulation::read) {
        Some(Some(Stipulation::Forced(Aim::Mate, n))) => add("dm", n.to_string()),
        Some(Some(Stipulation::Best)) | None => {}
        Some(_) => add(STIPULATION, quoted(draft.tag("Stipulation").unwrap_or(""))),
    }
    let title = title(draft).map(|title| plain(&title));
    if let Some(title) = title.filter(|title| is_told(title)) {
        add("id", quoted(&title));
    }
    let words = root.map_or(&[][..], |root| &root.after).iter();
    let words = words.map(|words| plain(&crate::comment::flow(words)));
    let words = words.map(|words| crate::commands::split(&words).0);
    for (i, words) in words.filter(|words| is_told(words)).take(10).enumerate() {
        add(&format!("c{i}"), quoted(&words));
    }
    if start.halfmoves() > 0 || start.fullmoves().get() > 1 {
        add("hmvc", start.halfmoves().to_string());
        add("fmvn", start.fullmoves().to_string());
    }
    let mut rest = Reader {
        line: draft.tag(REST).unwrap_or(""),
        at: 0,
        number: 1,
    };
    for kept in rest.operations().unwrap_or_default() {
        let operands: Vec<String> = kept
            .operands
            .iter()
            .map(|text| plain_or_quoted(text))
            .collect();
        add(&kept.opcode, operands.join(" "));
    }
    // The standard asks for the order of the opcodes' letters.
    operations.sort_by(|a, b| a.0.cmp(&b.0));
    operations.dedup_by(|a, b| a.0 == b.0);
    let mut text = Epd::from_position(start, EnPassantMode::Legal).to_string();
    for (opcode, operands) in operations {
        text.push(' ');
        text.push_str(&opcode);
        if !operands.is_empty() {
            text.push(' ');
            text.push_str(&operands);
        }
        text.push(';');
    }
    Ok(text)
}

/// The first moves that are best, and those to avoid, in SAN.
fn first_moves(resolved: &Resolved, start: &Chess) -> (Vec<String>, Vec<String>) {
    let draft = resolved.draft();
    let (mut best, mut avoid) = (Vec::new(), Vec::new());
    let root = draft.node(NodeId::ROOT);
    for (i, &child) in root.map_or(&[][..], |r| &r.children).iter().enumerate() {
        let (Some(step), Some(node)) = (resolved.step(child), draft.node(child)) else {
            continue;
        };
        let marked = |of: &[u8]| node.nags.iter().any(|nag| of.contains(nag));
        let (good, bad) = (marked(&[1, 3, 7, 8]), marked(&[2, 4, 6]));
        let san = moves::san(start, step.mv);
        match (i, good, bad) {
            (0, _, false) | (_, true, false) => best.push(san),
            (_, false, true) | (0, _, true) => avoid.push(san),
            _ => {}
        }
    }
    (best, avoid)
}

/// The puzzle that a record is.
fn game(record: &Record, line: &str, number: u32) -> Game {
    let mut faults = Vec::new();
    let mut read = |opcode: &str| {
        record.moves(opcode).unwrap_or_else(|text| {
            faults.push(TextFault {
                place: Place {
                    line: number,
                    column: column(line, &text),
                },
                text: excerpt(&text),
                expected: say!("a legal move after {opcode}", opcode = opcode),
            });
            Vec::new()
        })
    };
    let (best, avoid) = (read("bm"), read("am"));
    let mut draft = Draft::new();
    set(
        &mut draft,
        "Event",
        record.operands("id").map(|id| id.join(" ")),
    );
    let fen = Some(fen::write(&record.position));
    // An edit of tags and new lines cannot fail.
    let _ = draft.apply(&Edit::SetStart { fen });
    let mate = record.operands("dm").and_then(|n| n.first());
    let mate = mate
        .and_then(|n| n.parse().ok())
        .filter(|n| (1..=60).contains(n));
    let asked = record.operands(STIPULATION).and_then(|text| text.first());
    let stipulation = match (asked, mate) {
        (Some(text), _) => Some(text.clone()),
        (None, Some(n)) => Some(Stipulation::Forced(Aim::Mate, n).to_string()),
        (None, None) if best.len() + avoid.len() > 0 => Some(Stipulation::Best.to_string()),
        (None, None) => None,
    };
    let read = stipulation.as_deref().and_then(Stipulation::read);
    let forced = read.is_some_and(|s| s.forced().is_some());
    set(&mut draft, "Stipulation", stipulation);
    let pv = record.line();
    let leads = pv
        .first()
        .is_some_and(|first| best.contains(first) || best.is_empty());
    let claims_line = leads && (avoid.is_empty() || !best.is_empty());
    if claims_line && forced {
        add(&mut draft, &record.position, &pv, &[]);
    } else if claims_line {
        add(&mut draft, &record.position, &pv[..1], &[]);
    }
    for mv in best {
        let first = draft
            .node(NodeId::ROOT)
            .is_some_and(|root| root.children.is_empty());
        let there = claims_line && pv[0] == mv;
        add(
            &mut draft,
            &record.position,
            &[mv],
            if first || there { &[] } else { &[1] },
        );
    }
    for mv in avoid {
        add(&mut draft, &record.position, &[mv], &[2]);
    }
    let words: Vec<String> = (0..10)
        .filter_map(|i| record.operands(&format!("c{i}")))
        .map(|text| text.join(" "))
        .collect();
    let _ = draft.apply(&Edit::SetAfter {
        node: NodeId::ROOT,
        comments: words,
    });
    set(&mut draft, REST, rest(record, claims_line && forced));
    Game { draft, faults }
}

/// The operations that a puzzle has no place for, as they are written.
fn rest(record: &Record, line_is_kept: bool) -> Option<String> {
    let told = |o: &&Operation| match o.opcode.as_str() {
        "bm" | "am" | "id" | "hmvc" | "fmvn" | STIPULATION => true,
        "dm" => o
            .operands
            .first()
            .is_some_and(|n| !n.starts_with('-') && n != "0"),
        "pv" => line_is_kept,
        opcode => opcode.len() == 2 && opcode.starts_with('c') && opcode != "ce",
    };
    let kept: Vec<String> = record
        .operations
        .iter()
        .filter(|o| !told(o))
        .map(|o| {
            let operands: Vec<String> = o.operands.iter().map(|t| plain_or_quoted(t)).collect();
            format!("{} {}", o.opcode, operands.join(" "))
                .trim_end()
                .to_owned()
                + ";"
        })
        .collect();
    (!kept.is_empty()).then(|| kept.join(" "))
}

fn add(draft: &mut Draft, position: &Chess, line: &[Move], nags: &[u8]) {
    let mut at = position.clone();
    let mut texts = Vec::new();
    for &mv in line {
        texts.push(moves::san(&at, mv));
        at.play_unchecked(mv);
    }
    let _ = draft.apply(&Edit::AddLine {
        at: NodeId::ROOT,
        moves: texts,
        nags: nags.to_vec(),
    });
}

fn set(draft: &mut Draft, name: &str, value: Option<String>) {
    if value.is_some() {
        let name = name.to_owned();
        let _ = draft.apply(&Edit::SetTag { name, value });
    }
}

/// A draft that keeps a line which could not be read.
fn titled(line: &str) -> Draft {
    let mut draft = Draft::new();
    let _ = draft.apply(&Edit::SetAfter {
        node: NodeId::ROOT,
        comments: vec![line.to_owned()],
    });
    draft
}

fn title(draft: &Draft) -> Option<String> {
    let tag = |name| {
        draft
            .tag(name)
            .map(str::trim)
            .filter(|v| !v.is_empty() && *v != "?")
    };
    let players = || Some(format!("{} - {}", tag("White")?, tag("Black")?));
    tag("Event").map(str::to_owned).or_else(players)
}

fn main_line(resolved: &Resolved) -> Vec<Move> {
    let line = resolved.main_line().into_iter();
    line.filter_map(|id| Some(resolved.step(id)?.mv)).collect()
}

fn spaced(position: &Chess, line: &[Move]) -> String {
    let mut at = position.clone();
    let mut sans = Vec::new();
    for &mv in line {
        sans.push(moves::san(&at, mv));
        at.play_unchecked(mv);
    }
    sans.join(" ")
}

/// Whether there is anything in a text to read.
fn is_told(text: &str) -> bool {
    text != "?" && text.contains(|c: char| !c.is_control() && !c.is_whitespace())
}

/// A text with one blank for control characters and what is blank around them, so that it
/// reads back as it was written.
fn plain(text: &str) -> String {
    if !text.contains(char::is_control) {
        return text.to_owned();
    }
    let parts = text.split(char::is_control).map(str::trim);
    let parts: Vec<&str> = parts.filter(|part| !part.is_empty()).collect();
    parts.join(" ")
}

/// A text as an operand.
fn quoted(text: &str) -> String {
    let mut out = String::from("\"");
    for c in plain(text).chars() {
        if c == '"' || c == '\\' {
            out.push('\\');
        }
        out.push(c);
    }
    out.push('"');
    out
}

fn plain_or_quoted(text: &str) -> String {
    let plain = |c: char| c.is_ascii_graphic() && !"\";\\".contains(c);
    match !text.is_empty() && text.chars().all(plain) {
        true => text.to_owned(),
        false => quoted(text),
    }
}

/// The column at which a text stands in a line, from 1.
fn column(line: &str, text: &str) -> u32 {
    let before = line.find(text).map_or(0, |at| line[..at].chars().count());
    u32::try_from(before + 1).unwrap_or(u32::MAX)
}

struct Reader<'a> {
    line: &'a str,
    /// In bytes.
    at: usize,
    number: u32,
}

impl<'a> Reader<'a> {
    fn rest(&self) -> &'a str {
        &self.line[self.at..]
    }

    fn take_while(&mut self, keep: impl Fn(char) -> bool) -> &'a str {
        let rest = self.rest();
        let end = rest.find(|c| !keep(c)).unwrap_or(rest.len());
        self.at += end;
        &rest[..end]
    }

    fn skip_blanks(&mut self) {
        self.take_while(char::is_whitespace);
    }

    fn operations(&mut self) -> Result<Vec<Operation>, TextFault> {
        let mut operations = Vec::new();
        loop {
            self.take_while(|c| c.is_whitespace() || c == ';');
            if self.rest().is_empty() {
                return Ok(operations);
            }
            let start = self.at;
            let opcode = self
                .take_while(|c| !c.is_whitespace() && c != ';')
                .to_owned();
            let fits = |c: char| c.is_ascii_alphanumeric() || c == '_';
            let named = opcode.starts_with(|c: char| c.is_ascii_alphabetic());
            if !named || !opcode.chars().all(fits) || opcode.len() > LONGEST_OPCODE {
                return Err(self.fault_at(
                    start,
                    phrase("an opcode: a letter, then letters and digits"),
                ));
            }
            let operands = self.operands()?;
            operations.push(Operation { opcode, operands });
        }
    }

    fn operands(&mut self) -> Result<Vec<String>, TextFault> {
        let mut operands = Vec::new();
        loop {
            self.skip_blanks();
            match self.rest().chars().next() {
                None => return Ok(operands),
                Some(';') => {
                    self.at += 1;
                    return Ok(operands);
                }
                Some('"') => operands.push(self.string()?),
                Some(_) => {
                    let text = self.take_while(|c| !c.is_whitespace() && c != ';');
                    operands.push(text.to_owned());
                }
            }
        }
    }

    fn string(&mut self) -> Result<String, TextFault> {
        let start = self.at;
        let mut text = String::new();
        let mut chars = self.rest().char_indices().skip(1);
        while let Some((i, c)) = chars.next() {
            match c {
                '"' => {
                    self.at += i + 1;
                    return Ok(text);
                }
                '\\' => text.extend(chars.next().map(|(_, c)| c)),
                _ => text.push(c),
            }
        }
        Err(self.fault_at(start, phrase("a string that ends with a quotation mark")))
    }

    fn fault_at(&self, at: usize, expected: &str) -> TextFault {
        let column = self.line[..at].chars().count() + 1;
        TextFault {
            place: Place {
                line: self.number,
                column: u32::try_from(column).unwrap_or(u32::MAX),
            },
            text: excerpt(&self.line[at..]),
            expected: expected.to_owned(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn one(text: &str) -> Game {
        let mut games = read(text);
        assert_eq!(games.len(), 1);
        games.remove(0)
    }

    fn texts(draft: &Draft) -> Vec<(&str, &[u8])> {
        let ids = draft.walk();
        let nodes = ids.into_iter().map(|id| draft.node(id).unwrap());
        nodes
            .map(|n| (n.text.as_str(), n.nags.as_slice()))
            .collect()
    }

    /// The position is the README's.
    const STAIRCASE: &str = "6k1/8/8/8/8/6P1/R4PK1/1R6 w - - bm Ra7 Rb7; am Ra8+; dm 2; \
        id \"staircase\"; c0 \"Two rooks.\"; c1 \"One king; no more.\"; ce 32000; acn 12;";

    #[test]
    fn a_record_is_a_puzzle() {
        let game = one(STAIRCASE);
        assert_eq!(game.faults, []);
        let draft = game.draft;
        assert_eq!(draft.tag("Event"), Some("staircase"));
        assert_eq!(draft.tag("Stipulation"), Some("#2"));
        assert_eq!(
            draft.tag("FEN"),
            Some("6k1/8/8/8/8/6P1/R4PK1/1R6 w - - 0 1")
        );
        assert_eq!(draft.tag("EPD"), Some("ce 32000; acn 12;"));
        assert_eq!(
            texts(&draft),
            [("Ra7", &[][..]), ("Rb7", &[1]), ("Ra8+", &[2])]
        );
        let words = &draft.node(NodeId::ROOT).unwrap().after;
        assert_eq!(words[..], ["Two rooks.", "One king; no more."]);
    }

    #[test]
    fn a_puzzle_is_written_in_the_standards_order_and_read_back() {
        let draft = one(STAIRCASE).draft;
        let text = write(&Resolved::of(&draft)).unwrap();
        assert_eq!(
            text,
            "6k1/8/8/8/8/6P1/R4PK1/1R6 w - - acn 12; am Ra8+; bm Ra7 Rb7; c0 \"Two rooks.\"; \
             c1 \"One king; no more.\"; ce 32000; dm 2; id \"staircase\";"
        );
        let back = one(&text).draft;
        assert_eq!(write(&Resolved::of(&back)).unwrap(), text);
        assert_eq!(texts(&back), texts(&draft));
    }

    #[test]
    fn clocks_strings_and_lines_survive() {
        let text = "4k3/8/4K3/8/8/8/8/7R w - - bm Rh8#; c0 \"a \\\"word\\\" \\\\\"; fmvn 40; hmvc 7; \
            pv Rh8#; dm 1";
        let draft = one(text).draft;
        assert_eq!(draft.tag("FEN"), Some("4k3/8/4K3/8/8/8/8/7R w - - 7 40"));
        assert_eq!(draft.node(NodeId::ROOT).unwrap().after, ["a \"word\" \\"]);
        let written = write(&Resolved::of(&draft)).unwrap();
        assert!(
            written.contains("c0 \"a \\\"word\\\" \\\\\"; dm 1; fmvn 40; hmvc 7;"),
            "{written}"
        );
    }

    #[test]
    fn a_main_line_is_kept_with_a_mate() {
        let text = "3r2k1/1b3ppp/pqp5/8/3N4/8/PPP1QPPP/4R1K1 w - - dm 2; pv Qe8+ Rxe8 Rxe8#;";
        let draft = one(text).draft;
        assert_eq!(texts(&draft).len(), 3);
        assert!(
            write(&Resolved::of(&draft))
                .unwrap()
                .ends_with("bm Qe8+; dm 2; pv Qe8+ Rxe8 Rxe8#;")
        );
    }

    #[test]
    fn other_stipulations_have_an_opcode_of_their_own() {
        let text = "8/8/8/5Q2/8/8/6PP/2r1k2K w - - bm Qf2+; pv Qf2+ Kd1 Qd2+ Kxd2#; \
            stipulation \"s#2\";";
        let draft = one(text).draft;
        assert_eq!(draft.tag("Stipulation"), Some("s#2"));
        assert_eq!(texts(&draft).len(), 4);
        assert_eq!(write(&Resolved::of(&draft)).unwrap(), text);
    }

    #[test]
    fn mated_positions_claim_no_solution() {
        let draft = one("7k/8/8/8/8/8/8/KQ6 b - - dm -8;").draft;
        assert_eq!(draft.tag("Stipulation"), None);
        assert!(write(&Resolved::of(&draft)).unwrap().ends_with("dm -8;"));
    }

    #[test]
    fn faults_name_their_place_and_take_no_neighbour_down() {
        let text = "# a remark\n\n8/8 w\n6k1/8/8/8/8/6P1/R4PK1/1R6 w - - bm Rh7; id \"x\";\n\
            6k1/8/8/8/8/6P1/R4PK1/1R6 w - - id \"open;\n6k1/8/8/8/8/6P1/R4PK1/1R6 w - - 7up;\n\
            8/8/8/8/8/8/8/8 w - - bm Ra7;\n6k1/8/8/8/8/6P1/R4PK1/1R6 w - - bm Ra7;";
        let games = read(text);
        let places: Vec<_> = games
            .iter()
            .map(|g| g.faults.first().map(|f| (f.place.line, f.place.column)))
            .collect();
        assert_eq!(
            places,
            [
                Some((3, 1)),
                Some((4, 36)),
                Some((5, 36)),
                Some((6, 33)),
                Some((7, 1)),
                None
            ]
        );
        assert!(games[4].faults[0].expected.contains("king"));
    }
}
