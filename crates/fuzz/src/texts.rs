//! What is typed, pasted and opened: games, positions, records, moves, tags and words.

use keyproof::draft::{Draft, Edit, NodeId};
use keyproof::notation::pgn_read::{self, Game};
use keyproof::notation::stream::{Form, Games};
use keyproof::notation::{epd, fen, moves, pgn_write};
use keyproof::resolved::Resolved;
use keyproof::{lesson, marks, mention};
use shakmaty::{Chess, Position};

use crate::Choices;

const GAME: &str = "[Event \"Club evening\"]\n[White \"Windle, Marta\"]\n[Black \"Orme, Piet\"]\n[Moments \"2w bm, 3b + 2\"]\n\n{Before. Board: ring e4, arrow e2 to e4.} 1. e4 $1 {[%clk 0:10:00] After <move> and <reply>.} e5 (1... c5 $6 {other} 2. Nf3 (2. c3) d6) 2. Qh5 Nc6 3. Bc4 Nf6 $4 4. Qxf7# 1-0\n";

const PUZZLE: &str = "[Event \"The staircase\"]\n[SetUp \"1\"]\n[FEN \"6k1/8/8/8/8/6P1/R4PK1/1R6 w - - 0 1\"]\n[Stipulation \"#2\"]\n[Hint1 \"The last rank.\"]\n\n1. Ra7 (1. Ra8+ $2 Kf7) 1... Kf8 (1... Kh8 2. Rb8#) 2. Rb8# *\n";

const STARTS: [&str; 6] = [
    "rnbqkbnr/pppppppp/8/8/8/8/PPPPPPPP/RNBQKBNR w KQkq - 0 1",
    "r3k2r/8/8/8/8/8/8/R3K2R w KQkq - 0 1",
    "8/2p5/3p4/KP5r/1R3pPk/8/4P3/8 b - g3 0 30",
    "n1n5/PPPk4/8/8/8/8/4Kppp/5N1N b - - 7 12",
    "6k1/5ppp/8/8/8/8/8/R5K1 w - - 0 1",
    "7k/5Q2/6K1/8/8/8/8/8 b - - 0 1",
];

pub fn bytes(texts: &[&str]) -> Vec<Vec<u8>> {
    texts.iter().map(|text| text.as_bytes().to_vec()).collect()
}

pub fn games() -> Vec<Vec<u8>> {
    bytes(&[GAME, PUZZLE, &[GAME, PUZZLE, GAME].concat(), "1. e4 e5 *"])
}

/// Games of any text: written and read again they are the same, and everything that looks
/// at a game comes back.
pub fn pgn(data: &[u8]) {
    for game in pgn_read::read(&pgn_read::decode(data)) {
        reads_back(&game.draft);
        look_at(&game.draft);
    }
}

/// Whether all its moves can be played.
pub fn is_game(resolved: &Resolved) -> bool {
    resolved.start().is_ok() && resolved.faults().is_empty()
}

/// A draft that is written reads back as it was.
///
/// Moves that are not legal are kept as they were typed, and what looks like a glyph at
/// their end may be read as one: of those it is asked that they are all there.
pub fn reads_back(draft: &Draft) {
    let whole = is_game(&Resolved::of(draft));
    let written = pgn_write::write(draft);
    let mut again = pgn_read::read(&written);
    assert_eq!(again.len(), 1, "one game was written:\n{written}");
    let Some(Game { draft: read, .. }) = again.pop() else {
        return;
    };
    let once_more = pgn_write::write(&read);
    assert!(
        !whole || once_more == written,
        "it reads otherwise:\n{written}\n{once_more}"
    );
    assert!(
        !whole || read.walk().len() == draft.walk().len(),
        "a move was lost:\n{written}"
    );
}

fn look_at(draft: &Draft) {
    let resolved = Resolved::of(draft);
    let _ = resolved.puzzle();
    if lesson::is_lesson(draft) {
        let _ = lesson::moments(&resolved);
        let _ = lesson::excerpts(&resolved);
    }
    let _ = mention::filled(&resolved);
    let _ = marks::without(draft);
    let _ = epd::write(&resolved);
}

/// A stream gives the games of the whole text, wherever its portions end.
pub fn stream(data: &[u8]) {
    let whole = pgn_read::read(&pgn_read::decode(data));
    let source = std::io::BufReader::with_capacity(7, data);
    let mut streamed = Games::new(source, Form::Pgn);
    for game in whole {
        let next = streamed.next();
        let Some(Ok(next)) = next else {
            panic!("the stream ends early: {next:?}");
        };
        assert_eq!(next.game.draft, game.draft);
        assert_eq!(next.game.faults, game.faults);
    }
    assert!(streamed.next().is_none(), "the stream goes on");
}

pub fn fens() -> Vec<Vec<u8>> {
    bytes(&STARTS)
}

/// A position that can be read is written as the same position.
pub fn position(data: &[u8]) {
    let text = String::from_utf8_lossy(data);
    match fen::read(&text) {
        Ok(position) => {
            let written = fen::write(&position);
            let again = fen::read(&written);
            assert_eq!(again.ok().as_ref(), Some(&position), "{written}");
        }
        Err(fault) => assert!(!fault.reasons().is_empty(), "refused without a reason"),
    }
}

pub fn records() -> Vec<Vec<u8>> {
    bytes(&[
        "6k1/5ppp/8/8/8/8/8/R5K1 w - - dm 1; bm Ra8#; id \"a;b\"; c0 \"words\";",
        "7k/8/8/8/8/8/8/R3K3 w Q - bm O-O-O Ra7; am Ra2; acd 12;",
        "8/8/8/8/8/8/8/8 w - - noop;",
    ])
}

/// Lines of EPD: what is read and written reads as the same puzzle.
pub fn record(data: &[u8]) {
    let text = String::from_utf8_lossy(data);
    for line in text.lines() {
        if let Ok(record) = epd::record(line, 1) {
            let _ = (record.line(), record.moves("bm"), record.moves("pv"));
        }
    }
    for game in epd::read(&text) {
        look_at(&game.draft);
        reads_back(&game.draft);
        if let Ok(written) = epd::write(&Resolved::of(&game.draft)) {
            let again = epd::puzzle(&written, 1);
            let again = again.unwrap_or_else(|| panic!("is no record: {written}"));
            let rewritten = epd::write(&Resolved::of(&again.draft));
            assert_eq!(rewritten.as_ref(), Ok(&written));
        }
    }
}

pub fn typed_moves() -> Vec<Vec<u8>> {
    let typed = [
        "\0e4",
        "\u{1}O-O-O",
        "\u{2}fxg3 e.p.",
        "\u{3}bxa8=Q+",
        "\u{4}Ra8#",
        "\u{0}Sf3",
        "\u{1}e1g1",
        "\u{3}h2-h1N",
        "\u{0}1.e4!?",
    ];
    bytes(&typed)
}

/// A move as somebody types it: what is understood is legal, and its notation is
/// understood as the same move.
pub fn typed_move(data: &[u8]) {
    let mut choices = Choices::new(data);
    let start = STARTS[choices.below(STARTS.len())];
    let position: Chess = fen::read(start).unwrap_or_default();
    let text = String::from_utf8_lossy(choices.rest());
    for read in [moves::read, moves::typed] {
        match read(&position, &text) {
            Ok(mv) => {
                assert!(position.is_legal(mv), "{text} is understood as {mv:?}");
                let san = moves::san(&position, mv);
                assert_eq!(moves::read(&position, &san).ok(), Some(mv), "{san}");
                let uci = moves::uci(mv);
                assert_eq!(moves::read_uci(&position, &uci), Some(mv), "{uci}");
            }
            Err(fault) => assert!(!fault.sentence(&text).is_empty()),
        }
    }
}

/// The tags that say what a game is for.
const TAGS: [&str; 10] = [
    "Stipulation",
    "Moments",
    "Question",
    "Choices",
    "Hint1",
    "Event",
    "FEN",
    "Result",
    "Labels",
    "Side",
];

pub fn tag_values() -> Vec<Vec<u8>> {
    bytes(&[
        "\0#2",
        "\0gain 9 in 2",
        "\u{1}1w bm, 2b + 2, 3w # 3",
        "\u{1}1w, 1w x",
        "\u{2}threat",
        "\u{2}choice Ra7 Rb7",
        "\u{6}6k1/8/8/8/8/6P1/R4PK1/1R6 w - - 0 1",
    ])
}

/// Any value of each tag that has a meaning, in a game and in a puzzle.
pub fn tags(data: &[u8]) {
    let mut choices = Choices::new(data);
    let name = TAGS[choices.below(TAGS.len())].to_owned();
    let value = Some(String::from_utf8_lossy(choices.rest()).into_owned());
    for text in [GAME, PUZZLE] {
        for mut game in pgn_read::read(text) {
            let edit = Edit::SetTag {
                name: name.clone(),
                value: value.clone(),
            };
            if game.draft.apply(&edit).is_ok() {
                look_at(&game.draft);
                reads_back(&game.draft);
            }
        }
    }
}

pub fn comments() -> Vec<Vec<u8>> {
    bytes(&[
        "Look. Board: ring e4, arrow e2 to e4.",
        "After <move>, <key> and <line>, <3 and <before>. {}",
        "[%clk 0:10:00][%emt 3] words [%x",
        "Board: ring a1 dotted, arrow a1 to a1.",
    ])
}

/// Words of the author, with marks, placeholders and commands in them.
pub fn words(data: &[u8]) {
    let text = String::from_utf8_lossy(data).into_owned();
    let (words, found) = marks::split(std::slice::from_ref(&text));
    let joined = marks::joined(words.clone(), &found);
    let again = marks::split(&joined);
    assert_eq!(
        again.1, found,
        "marks that were written read otherwise: {joined:?}"
    );
    let mut draft = pgn_read::read(PUZZLE).remove(0).draft;
    let nodes = draft.walk();
    for node in [NodeId::ROOT].into_iter().chain(nodes) {
        let comments = vec![text.clone()];
        if draft.apply(&Edit::SetAfter { node, comments }).is_err() {
            return;
        }
    }
    look_at(&draft);
    reads_back(&draft);
}
