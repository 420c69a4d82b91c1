//! Moves as text: SAN, UCI, and lenient reading of what people type.
//!
//! A text is read in up to three ways (as it stands, with the first letter as
//! a piece, as a pawn move in small letters), and the first way that fits a
//! legal move counts. [`typed`] knows the piece letters of the language that is
//! spoken; files are in the standard's.

use shakmaty::{
    CastlingSide, Chess, Color, File, Move, Position, Rank, Role, Square, san::San, san::SanPlus,
    uci::UciMove,
};

use crate::short::{has, joined, sort_by_key};
use crate::tongue::{lettered, phrase, say, tr, unlettered};

/// A move in both notations.
#[derive(Clone, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Named {
    /// In UCI.
    pub uci: String,
    /// In SAN.
    pub san: String,
}

impl Named {
    /// A legal move of a position.
    pub fn new(position: &Chess, mv: Move) -> Named {
        Named {
            uci: uci(mv),
            san: san(position, mv),
        }
    }
}

/// Why a typed move cannot be played.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum MoveFault {
    /// The text is no move in any notation Keyproof reads.
    Unreadable,
    /// The text reads as a move that is not legal here. Holds the SAN of
    /// legal moves that come close (same piece or same square), best first.
    Illegal {
        /// Legal moves that come close, in SAN.
        near: Vec<String>,
    },
    /// The text fits several legal moves.
    Ambiguous {
        /// The moves it can mean, in SAN without the marks of check and mate: which of
        /// them mates is not told to who only has to say which he meant.
        fits: Vec<String>,
    },
}

impl MoveFault {
    /// Why the typed move cannot be played, in one or two sentences.
    pub fn sentence(&self, typed: &str) -> String {
        self.told(typed, None)
    }

    /// The same for a solver: whose move is asked, and none of those that come close,
    /// which may be the answer.
    pub fn to_solver(&self, typed: &str, asked: Color) -> String {
        self.told(typed, Some(asked))
    }

    fn told(&self, typed: &str, asked: Option<Color>) -> String {
        let typed: String = typed.chars().take(20).collect();
        let (text, what) = match (self, asked) {
            (MoveFault::Unreadable, _) => (
                phrase!(
                    "“{typed}” is not a move that can be read. Type it like {what} or e7e8q.",
                    "typed what"
                ),
                lettered("Nf3, exd5, O-O"),
            ),
            (MoveFault::Illegal { .. }, Some(side)) => (
                phrase!("“{typed}” is not a legal move of {what}.", "typed what"),
                side_name(side).to_owned(),
            ),
            (MoveFault::Illegal { near }, None) if near.is_empty() => (
                phrase!("“{typed}” is not legal here.", "typed what"),
                String::new(),
            ),
            (MoveFault::Illegal { near }, None) => (
                phrase!(
                    "“{typed}” is not legal here. Close to it: {what}.",
                    "typed what"
                ),
                lettered(&joined(&near[..near.len().min(4)], ", ")),
            ),
            (MoveFault::Ambiguous { fits }, _) => (
                phrase!("“{typed}” can mean {what}. Say which.", "typed what"),
                lettered(&joined(fits, tr(" or "))),
            ),
        };
        say!(text, typed = typed, what = what)
    }
}

/// Where the moved man ends: for castling, the king's square.
pub fn landing(mv: Move) -> Square {
    match (mv, mv.castling_side()) {
        (Move::Castle { king, .. }, Some(CastlingSide::KingSide)) => {
            Square::from_coords(File::G, king.rank())
        }
        (Move::Castle { king, .. }, Some(CastlingSide::QueenSide)) => {
            Square::from_coords(File::C, king.rank())
        }
        _ => mv.to(),
    }
}

/// Reads a move as people type it: SAN with or without check marks, `0-0`,
/// `e7e8q`, `e8Q`, `e8(Q)`, `Ng1-f3`, `exd6e.p.`, figurines, and lower-case
/// piece letters where nothing else fits. The `x` of a capture may be missing;
/// an `x` where nothing is captured makes the move illegal.
///
/// # Errors
/// See [`MoveFault`]. A promotion that does not name its piece is ambiguous.
pub fn read(position: &Chess, text: &str) -> Result<Move, MoveFault> {
    let text = plain(text);
    let legal = position.legal_moves();
    let readings = readings(&text);
    if readings.is_empty() {
        return Err(MoveFault::Unreadable);
    }
    for reading in &readings {
        let fits: Vec<Move> = legal.iter().copied().filter(|&m| reading.fits(m)).collect();
        match fits[..] {
            [] => {}
            [mv] => return Ok(mv),
            _ => {
                return Err(MoveFault::Ambiguous {
                    fits: fits
                        .iter()
                        .map(|&m| San::from_move(position, m).to_string())
                        .collect(),
                });
            }
        }
    }
    Err(MoveFault::Illegal {
        near: near(position, &legal, &readings),
    })
}

/// Reads a move that somebody types: with the piece letters of the language, or
/// else as [`read`] does. In French, R is the king.
///
/// # Errors
/// As for [`read`]; where neither fits, about the second.
pub fn typed(position: &Chess, text: &str) -> Result<Move, MoveFault> {
    match read(position, &unlettered(text)) {
        Err(MoveFault::Illegal { .. } | MoveFault::Unreadable) => read(position, text),
        found => found,
    }
}

/// The move in SAN with its check or mate mark.
pub fn san(position: &Chess, mv: Move) -> String {
    if position.is_legal(mv) {
        SanPlus::from_move(position.clone(), mv).to_string()
    } else {
        San::from_move(position, mv).to_string()
    }
}

/// The move in UCI notation (`e1g1` for castling).
pub fn uci(mv: Move) -> String {
    UciMove::from_standard(mv).to_string()
}

/// Reads UCI; `None` if the text is no legal move of the position.
pub fn read_uci(position: &Chess, text: &str) -> Option<Move> {
    text.parse::<UciMove>().ok()?.to_move(position).ok()
}

/// Reads a line in UCI, a move for each text, up to the first that is not legal.
pub fn read_ucis(position: &Chess, line: &[String]) -> Vec<Move> {
    let mut at = position.clone();
    let mut read = Vec::with_capacity(line.len());
    for text in line {
        let Some(mv) = read_uci(&at, text) else {
            break;
        };
        at.play_unchecked(mv);
        read.push(mv);
    }
    read
}

/// The move in SAN as it is shown, in the letters of the language.
pub fn shown(position: &Chess, mv: Move) -> String {
    lettered(&san(position, mv))
}

/// A line of moves as they are shown, with move numbers: `1.Qh7+ Kf8 2.Qh8#`.
/// `first` is the number of the first move; stops at the first illegal one.
pub fn line(position: &Chess, line: &[Move], first: u32) -> String {
    let mut position = position.clone();
    let mut number = first;
    let mut out = String::new();
    for &mv in line {
        if !position.is_legal(mv) {
            break;
        }
        let white = position.turn().is_white();
        if !out.is_empty() {
            out.push(' ');
        }
        if white || out.is_empty() {
            out.push_str(&number.to_string());
            out.push_str(if white { "." } else { "..." });
        }
        if !white {
            number = number.saturating_add(1);
        }
        out.push_str(&shown(&position, mv));
        position.play_unchecked(mv);
    }
    out
}

/// Whether a text is meant as a move, so far as its form tells: also one with
/// a piece letter of another language (which [`read`] does not know yet), or
/// with a slip such as `Ra9`. Pawn captures without `x` and rank (`ed`) do not
/// count: they may be words.
pub(crate) fn has_form_of_move(text: &str) -> bool {
    if let Ok(San::Normal { .. } | San::Castle(_)) = San::from_ascii(text.as_bytes()) {
        return true;
    }
    let text = plain(text);
    let readings = readings(&text);
    if let [Reading::Castle(_), ..] = readings[..] {
        return true;
    }
    let digit = text.contains(|c: char| c.is_ascii_digit());
    if !readings.is_empty() {
        return digit || has(&text, 'x');
    }
    // A letter for the piece (in Cyrillic up to two), then nothing but what
    // moves are made of.
    let capital = |c: char| c.is_ascii_uppercase() || !c.is_ascii();
    let rest = text.strip_prefix(capital).unwrap_or(&text);
    let rest = rest.strip_prefix(|c: char| !c.is_ascii()).unwrap_or(rest);
    digit
        && (2..=8).contains(&text.chars().count())
        && rest.contains(|c| matches!(c, 'a'..='h'))
        && rest.starts_with(|c| matches!(c, 'a'..='h' | 'x' | '1'..='8'))
        && rest.chars().all(|c| has("abcdefghx-=()QRBN0123456789", c))
}

/// Splits what people write behind a move from it: the move with its check
/// marks, and the numeric glyphs. `None` if the marks make no sense.
pub(crate) fn split_marks(word: &str) -> Option<(String, Vec<u8>)> {
    let is_mark = |c: char| MARKS.iter().any(|(mark, _)| has(mark, c)) || has("+#†‡", c);
    let mv = word.trim_end_matches(is_mark);
    let mut text = mv.to_owned();
    let mut nags = Vec::new();
    let mut rest = &word[mv.len()..];
    while !rest.is_empty() {
        if let Some((mark, nag)) = MARKS.iter().find(|(mark, _)| rest.starts_with(mark)) {
            nags.push(*nag);
            rest = &rest[mark.len()..];
            if rest.starts_with(['!', '?']) && mark.ends_with(['!', '?']) {
                return None;
            }
        } else {
            let check = rest.chars().next().filter(|c| has("+#†‡", *c))?;
            text.push(check);
            rest = &rest[check.len_utf8()..];
        }
    }
    Some((text, nags))
}

/// The text without check marks, for comparing typed moves.
pub(crate) fn without_check(text: &str) -> &str {
    text.trim_end_matches(['+', '#', '†', '‡'])
}

/// The text without a move number and its dots in front.
pub(crate) fn without_number(text: &str) -> &str {
    let digits = text.trim_start_matches(|c: char| c.is_ascii_digit());
    match digits.trim_start_matches(['.', '…']) {
        rest if rest.len() < digits.len() => rest.trim_start(),
        _ => text,
    }
}

/// Marks behind a move and their numeric glyphs, longer ones first. The six
/// suffixes are those of the PGN standard (8.2.3.8); for the signs of judgement
/// the numbers are those of its table (10).
const MARKS: &[(&str, u8)] = &[
    ("!!", 3),
    ("!?", 5),
    ("?!", 6),
    ("??", 4),
    ("!", 1),
    ("?", 2),
    ("+/-", 16),
    ("-/+", 17),
    ("+/=", 14),
    ("=/+", 15),
    ("+-", 18),
    ("-+", 19),
    ("+=", 14),
    ("=+", 15),
    ("±", 16),
    ("∓", 17),
    ("⩲", 14),
    ("⩱", 15),
    ("∞", 13),
    ("=", 10),
    ("□", 7),
];

/// One way to read a text as a move.
#[derive(Debug, PartialEq, Eq)]
enum Reading {
    Castle(CastlingSide),
    Man {
        /// `None`: whatever stands on the square of departure.
        role: Option<Role>,
        squares: Squares,
    },
}

/// What a move's text says about squares.
#[derive(Debug, PartialEq, Eq)]
struct Squares {
    from_file: Option<File>,
    from_rank: Option<Rank>,
    takes: bool,
    file: File,
    /// `None` in short pawn captures such as `exd`.
    rank: Option<Rank>,
    /// As written; kings and pawns fit no legal move.
    promotion: Option<Role>,
}

impl Reading {
    fn fits(&self, mv: Move) -> bool {
        match (self, mv) {
            (Reading::Castle(side), _) => mv.castling_side() == Some(*side),
            (Reading::Man { role, squares }, Move::Castle { king, rook }) => {
                let named = role.is_some() || squares.from() == Some(king);
                named
                    && role.is_none_or(|r| r == Role::King)
                    && squares.from().is_none_or(|from| from == king)
                    && !squares.takes
                    && squares.promotion.is_none()
                    && squares.to().is_some_and(|to| {
                        let goal = mv.castling_side().map(|side| side.king_to_file());
                        Some(to.file()) == goal && to.rank() == king.rank()
                            || to == rook && squares.from().is_some()
                    })
            }
            (Reading::Man { role, squares }, _) => {
                let Some(from) = mv.from() else { return false };
                let to = mv.to();
                role.is_none_or(|r| r == mv.role())
                    && squares.from_file.is_none_or(|f| f == from.file())
                    && squares.from_rank.is_none_or(|r| r == from.rank())
                    && squares.file == to.file()
                    && squares.rank.is_none_or(|r| r == to.rank())
                    && (mv.is_capture() || !squares.takes)
                    && (squares.promotion == mv.promotion()
                        || squares.promotion.is_none() && mv.is_promotion())
                    && self.says_if_pawn_takes(mv)
            }
        }
    }

    /// A bare `d5` is never a capture.
    fn says_if_pawn_takes(&self, mv: Move) -> bool {
        let Reading::Man { squares, .. } = self else {
            return true;
        };
        mv.role() != Role::Pawn || !mv.is_capture() || squares.takes || squares.from_file.is_some()
    }
}

impl Squares {
    fn from(&self) -> Option<Square> {
        Some(Square::from_coords(self.from_file?, self.from_rank?))
    }

    fn to(&self) -> Option<Square> {
        Some(Square::from_coords(self.file, self.rank?))
    }

    /// Reads `[file][rank][x]file rank[promotion]`, or `file[x]file`.
    fn read(text: &str) -> Option<Squares> {
        let (text, promotion) = split_promotion(text);
        let chars: Vec<char> = text.chars().collect();
        let takes = chars.contains(&'x');
        let separator = |c: &char| matches!(c, 'x' | '-');
        if chars.iter().filter(|c| separator(c)).count() > 1 {
            return None;
        }
        let (from, to) = match chars.iter().position(separator) {
            Some(at) => (&chars[..at], &chars[at + 1..]),
            None => chars.split_at(chars.len().saturating_sub(2)),
        };
        let (from, to) = match (from, to) {
            ([], [a, b]) if as_rank(*b).is_none() => {
                as_file(*a)?;
                (&to[..1], &to[1..])
            }
            split => split,
        };
        let (from_file, from_rank) = match from {
            [] => (None, None),
            [a] => match (as_file(*a), as_rank(*a)) {
                (None, None) => return None,
                found => found,
            },
            [a, b] => (Some(as_file(*a)?), Some(as_rank(*b)?)),
            _ => return None,
        };
        let (file, rank) = match to {
            [a] if from_rank.is_none() => {
                let (from, to) = (from_file?, as_file(*a)?);
                if from.distance(to) != 1 {
                    return None;
                }
                (to, None)
            }
            [a, b] => (as_file(*a)?, Some(as_rank(*b)?)),
            _ => return None,
        };
        Some(Squares {
            from_file,
            from_rank,
            takes,
            file,
            rank,
            promotion,
        })
    }
}

/// Strips blanks, move numbers, marks and decorations, and puts figurines,
/// dashes and signs of capture into plain letters.
fn plain(text: &str) -> String {
    let mut out: String = without_number(text.trim())
        .chars()
        .filter(|c| !c.is_whitespace() && *c != '\u{fe0e}' && *c != '\u{fe0f}')
        .map(|c| match c {
            '♔' | '♚' => 'K',
            '♕' | '♛' => 'Q',
            '♖' | '♜' => 'R',
            '♗' | '♝' => 'B',
            '♘' | '♞' => 'N',
            '♙' | '♟' => 'P',
            '×' | ':' | '✕' => 'x',
            '‐' | '‑' | '‒' | '–' | '—' | '−' => '-',
            c => c,
        })
        .collect();
    let strip = |out: &mut String| {
        let kept = out.trim_end_matches(['!', '?', '+', '#', '†', '‡']).len();
        out.truncate(kept);
    };
    strip(&mut out);
    for ending in ["e.p.", "e.p", "ep.", "ep"] {
        if out.len() > ending.len() && out.ends_with(ending) {
            out.truncate(out.len() - ending.len());
            break;
        }
    }
    strip(&mut out);
    out
}

/// The ways to read a text, in the order in which they are tried.
fn readings(text: &str) -> Vec<Reading> {
    let castle: String = text
        .chars()
        .filter(|c| *c != '-')
        .map(|c| if matches!(c, '0' | 'o') { 'O' } else { c })
        .collect();
    match castle.as_str() {
        "OO" => return vec![Reading::Castle(CastlingSide::KingSide)],
        "OOO" => return vec![Reading::Castle(CastlingSide::QueenSide)],
        _ => {}
    }
    let Some(first) = text.chars().next().filter(char::is_ascii) else {
        return Vec::new();
    };
    let small = text.to_ascii_lowercase();
    let rest = &small[1..];
    let man = |role: Option<Role>, text: &str| {
        let squares = Squares::read(text)?;
        let role = if squares.from().is_some() {
            role
        } else {
            role.or(Some(Role::Pawn))
        };
        let short = squares.rank.is_none();
        let pawn = role == Some(Role::Pawn);
        // `exd` is for pawns; `bb5` with a pawn would be a push.
        if short && !pawn {
            return None;
        }
        if pawn && squares.from_rank.is_none() && squares.from_file == Some(squares.file) {
            return None;
        }
        Some(Reading::Man { role, squares })
    };
    let piece = |letter: char| Role::from_char(letter.to_ascii_lowercase());
    let as_it_stands = if first.is_ascii_uppercase() {
        piece(first).and_then(|role| man(Some(role), rest))
    } else {
        man(None, text)
    };
    let with_piece = piece(first).and_then(|role| man(Some(role), rest));
    let in_small = man(None, &small);
    let mut readings: Vec<Reading> = Vec::new();
    for reading in [as_it_stands, with_piece, in_small].into_iter().flatten() {
        if !readings.contains(&reading) {
            readings.push(reading);
        }
    }
    readings
}

/// Splits a promotion such as `=Q`, `q`, `(Q)` or `/Q` from the end.
fn split_promotion(text: &str) -> (&str, Option<Role>) {
    let inner = text.strip_suffix(')').unwrap_or(text);
    let Some((at, letter)) = inner.char_indices().next_back() else {
        return (text, None);
    };
    let head = &inner[..at];
    let bare = head.trim_end_matches(['=', '(', '/']);
    match Role::from_char(letter.to_ascii_lowercase()) {
        // `exb` ends in a file, `e8b` in a bishop.
        Some(role)
            if role != Role::Bishop
                || bare.ends_with(|c: char| c.is_ascii_digit())
                || bare.len() < head.len() =>
        {
            (bare, Some(role))
        }
        _ => (text, None),
    }
}

fn as_file(c: char) -> Option<File> {
    File::from_char(c)
}

fn as_rank(c: char) -> Option<Rank> {
    Rank::from_char(c)
}

/// At most this many moves are offered in place of an illegal one.
const MOST_OFFERED: usize = 5;

fn near(position: &Chess, legal: &[Move], readings: &[Reading]) -> Vec<String> {
    let mut scored: Vec<(u32, String)> = legal
        .iter()
        .filter_map(|&mv| {
            let distances = readings
                .iter()
                .filter_map(|reading| distance(position, reading, mv));
            Some((distances.min()?, san(position, mv)))
        })
        .collect();
    sort_by_key(&mut scored, |near| near.clone());
    scored.dedup();
    scored.truncate(MOST_OFFERED);
    scored.into_iter().map(|(_, san)| san).collect()
}

/// How far a legal move is from what was typed; `None` if nothing is shared.
fn distance(position: &Chess, reading: &Reading, mv: Move) -> Option<u32> {
    match reading {
        Reading::Castle(_) => match mv {
            Move::Castle { .. } => Some(0),
            _ => (mv.role() == Role::King).then_some(1),
        },
        Reading::Man { role, squares } => {
            let typed = role.or_else(|| position.board().role_at(squares.from()?));
            let same_role = typed == Some(mv.role());
            let same_from = squares
                .from_file
                .is_none_or(|f| Some(f) == mv.from().map(|s| s.file()))
                && squares
                    .from_rank
                    .is_none_or(|r| Some(r) == mv.from().map(|s| s.rank()));
            let same_to =
                squares.file == mv.to().file() && squares.rank.is_none_or(|r| r == mv.to().rank());
            let far = squares.to().map_or(0, |to| to.distance(mv.to()));
            match (same_role, same_to, same_from) {
                (true, true, true) => Some(0),
                (true, true, false) => Some(1),
                (false, true, _) => Some(12),
                (true, false, true) => Some(10 + far),
                (true, false, false) if mv.role() != Role::Pawn => Some(20 + far),
                (_, false, _) => None,
            }
        }
    }
}

/// A side's name: "White".
pub fn side_name(side: Color) -> &'static str {
    tr(side.fold_wb(phrase("White"), phrase("Black")))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::notation::fen;

    fn reads(fen: &str, text: &str) -> String {
        let position = fen::read(fen).unwrap();
        match read(&position, text) {
            Ok(mv) => uci(mv),
            Err(MoveFault::Unreadable) => "unreadable".into(),
            Err(MoveFault::Illegal { near }) => format!("illegal, near {}", near.join(" ")),
            Err(MoveFault::Ambiguous { fits }) => format!("one of {}", fits.join(" ")),
        }
    }

    const START: &str = "rnbqkbnr/pppppppp/8/8/8/8/PPPPPPPP/RNBQKBNR w KQkq - 0 1";

    #[test]
    fn faults_say_what_is_wrong_and_what_comes_close() {
        assert!(
            MoveFault::Unreadable
                .sentence("zz")
                .starts_with("“zz” is not a move")
        );
        let near = vec!["Nf3".into(), "Nh3".into()];
        assert_eq!(
            MoveFault::Illegal { near }.sentence("Ng3"),
            "“Ng3” is not legal here. Close to it: Nf3, Nh3."
        );
        let fits = vec!["Nbd2".into(), "Nfd2".into()];
        assert_eq!(
            MoveFault::Ambiguous { fits }.sentence("Nd2"),
            "“Nd2” can mean Nbd2 or Nfd2. Say which."
        );
    }

    #[test]
    fn a_solver_is_named_no_move_that_was_not_typed() {
        let near = vec!["Ng3+".into()];
        assert_eq!(
            MoveFault::Illegal { near }.to_solver("Nf3", Color::Black),
            "“Nf3” is not a legal move of Black."
        );
        let position = fen::read("6k1/5ppp/8/8/8/8/8/R2R2K1 w - - 0 1").unwrap();
        assert_eq!(
            read(&position, "Rb1")
                .unwrap_err()
                .to_solver("Rb1", Color::White),
            "“Rb1” can mean Rab1 or Rdb1. Say which."
        );

        assert_eq!(
            reads("3n2k1/R6R/8/8/8/8/8/6K1 w - - 0 1", "Rg7"),
            "one of Rag7 Rhg7"
        );
    }

    #[test]
    fn moves_as_people_type_them() {
        for text in [
            "Nf3", "Nf3+", "Nf3!?", "Ng1f3", "Ng1-f3", "N1f3", "Ngf3", "g1f3", "g1-f3", "nf3",
            "NF3", "♘f3", "♞f3", "1.Nf3", "1. Nf3", "1... Nf3", "N f3", "Ng1–f3",
        ] {
            assert_eq!(reads(START, text), "g1f3", "{text}");
        }
        for text in [
            "e4", "e2e4", "e2-e4", "E4", "E2E4", "Pe4", "♙e4", "e4!!", "1.e4",
        ] {
            assert_eq!(reads(START, text), "e2e4", "{text}");
        }
    }

    #[test]
    fn castling_as_people_type_it() {
        let fen = "r3k2r/8/8/8/8/8/8/R3K2R w KQkq - 0 1";
        for text in [
            "O-O", "0-0", "o-o", "OO", "00", "O–O", "e1g1", "e1h1", "Kg1", "O-O+", "Ke1g1",
        ] {
            assert_eq!(reads(fen, text), "e1g1", "{text}");
        }
        for text in [
            "O-O-O", "0-0-0", "o-o-o", "000", "e1c1", "e1a1", "Kc1", "O-O-O#",
        ] {
            assert_eq!(reads(fen, text), "e1c1", "{text}");
        }
        assert_eq!(reads(fen, "Kh1"), "illegal, near O-O Kf1 Kf2 Ke2 Kd1");
        let blocked = "r3k2r/8/8/8/8/8/8/R3KB1R w KQkq - 0 1";
        assert!(reads(blocked, "O-O").starts_with("illegal, near O-O-O "));
    }

    #[test]
    fn promotions_name_their_piece() {
        let fen = "1n2k3/P7/8/8/8/8/8/4K3 w - - 0 1";
        for text in [
            "a8=Q", "a8Q", "a8q", "a8(Q)", "a8/Q", "a7a8q", "a7-a8=Q", "A8=Q", "a8=Q+", "a8♕",
        ] {
            assert_eq!(reads(fen, text), "a7a8q", "{text}");
        }
        for text in [
            "axb8=N", "ab8N", "axbN", "axb=N", "a7xb8=N", "a7b8n", "a:b8N",
        ] {
            assert_eq!(reads(fen, text), "a7b8n", "{text}");
        }
        assert_eq!(reads(fen, "a8"), "one of a8=Q a8=R a8=B a8=N");
        assert!(reads(fen, "a8=K").starts_with("illegal, near a8=B"));
    }

    #[test]
    fn en_passant_with_and_without_its_mark() {
        let fen = "4k3/8/8/3pP3/8/8/8/4K3 w - d6 0 1";
        for text in [
            "exd6",
            "exd6e.p.",
            "exd6 e.p.",
            "exd6ep",
            "exd",
            "ed",
            "ed6",
            "e5d6",
            "e:d6",
        ] {
            assert_eq!(reads(fen, text), "e5d6", "{text}");
        }
        assert_eq!(reads(fen, "d6"), "illegal, near exd6 e6");
    }

    #[test]
    fn a_small_b_is_a_pawn_before_it_is_a_bishop() {
        let both = "4k3/8/8/8/8/2n5/1P6/B3K3 w - - 0 1";
        assert_eq!(reads(both, "bxc3"), "b2c3");
        let bishop = "4k3/8/8/8/8/2n5/8/B3K3 w - - 0 1";
        assert_eq!(reads(bishop, "bxc3"), "a1c3");
        assert_eq!(reads(bishop, "bb2"), "a1b2");
    }

    #[test]
    fn pinned_pieces_need_no_disambiguation() {
        // The knight on e3 is pinned by the rook on e8 (PGN standard 8.2.3.4:
        // a piece that cannot legally move does not count).
        let fen = "4r1k1/8/8/8/8/4N3/8/N3K3 w - - 0 1";
        let position = fen::read(fen).unwrap();
        assert_eq!(reads(fen, "Nc2"), "a1c2");
        assert_eq!(san(&position, read(&position, "Nc2").unwrap()), "Nc2");
        let free = fen::read("6k1/8/8/8/8/4N3/8/N3K3 w - - 0 1").unwrap();
        assert_eq!(san(&free, read(&free, "a1c2").unwrap()), "Nac2");
        assert_eq!(
            reads("6k1/8/8/8/8/4N3/8/N3K3 w - - 0 1", "Nc2"),
            "one of Nac2 Nec2"
        );
    }

    #[test]
    fn disambiguation_by_file_then_rank_then_both() {
        // PGN standard 8.2.3.4.
        let position = fen::read("8/8/8/8/7k/Q7/8/Q1Q4K w - - 0 1").unwrap();
        let san_of = |uci: &str| san(&position, read(&position, uci).unwrap());
        assert_eq!(san_of("c1b1"), "Qcb1");
        assert_eq!(san_of("a3a2"), "Q3a2");
        assert_eq!(san_of("a1c3"), "Qa1c3");
    }

    #[test]
    fn illegal_moves_come_with_what_is_near() {
        assert_eq!(reads(START, "Nf4"), "illegal, near Nf3 Nh3 f4 Nc3 Na3");
        assert_eq!(reads(START, "Nxf3"), "illegal, near Nf3 Nh3 f3 Nc3 Na3");
        assert_eq!(reads(START, "Qf3"), "illegal, near Nf3 f3");
        assert_eq!(reads(START, "bd5"), "illegal, near b3 b4");
        for text in ["", "--", "Z0", "hello", "e9", "i4", "1.", "Nf", "x", "é4"] {
            assert_eq!(reads(START, text), "unreadable", "{text}");
        }
    }

    #[test]
    fn lines_carry_move_numbers() {
        let position = fen::read("5k2/8/8/8/8/8/8/KQ5R b - - 0 1").unwrap();
        let moves: Vec<Move> = {
            let mut at = position.clone();
            ["Kg7", "Qb7+", "Kg6"]
                .iter()
                .map(|text| {
                    let mv = read(&at, text).unwrap();
                    at.play_unchecked(mv);
                    mv
                })
                .collect()
        };
        assert_eq!(line(&position, &moves, 3), "3...Kg7 4.Qb7+ Kg6");
        assert_eq!(line(&position, &[moves[0], moves[0]], 1), "1...Kg7");
        assert_eq!(line(&position, &[], 1), "");
    }
}
